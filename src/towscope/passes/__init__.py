"""Passes: from stretches of edge to ways a boat can steer so that the lure follows, with risk."""
