"""What is printed or drawn."""
