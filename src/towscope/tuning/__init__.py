"""What do touches of the bottom, and other marks, teach about this line and this lure."""
