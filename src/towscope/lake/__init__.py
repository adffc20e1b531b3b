"""The lake: from soundings to its bed, from the bed to edges, from edges to passes."""
