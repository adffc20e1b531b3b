"""What do bottom hits, and other readings, teach about this line and this lure."""
