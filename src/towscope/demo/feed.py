"""The feed that is written "demo": Ada and Tor's boat on the demo day."""

from __future__ import annotations

from towscope.demo.boat import SimulatedFeed


def demo_feed(begin: float | None = None, pace: float = 1.0) -> SimulatedFeed:
    """Give the made-up boat.

    Parameters
    ----------
    begin : float, optional
        Where in the made-up day to begin [unix s on its own day].
    pace : float
        How many times faster than it was.
    """
    from towscope.demo.day import demo_day  # the made-up day is the journal's

    return SimulatedFeed(demo_day().track, begin=begin, pace=pace)
