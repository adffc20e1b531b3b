"""The commands, one module for each room; heavy imports wait until a command runs."""
