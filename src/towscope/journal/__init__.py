"""Append-only entries and the boat's track: what happened on the water."""
