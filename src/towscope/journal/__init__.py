"""What happened on the water: events, the boat's track, and the effort computed from both."""
