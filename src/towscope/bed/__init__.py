"""The bed of a lake: from soundings to a grid with its error, and the edges found on it."""
