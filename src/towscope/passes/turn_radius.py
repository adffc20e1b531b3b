"""A floor and a share of the layback: how wide a boat must turn with lines out."""

from __future__ import annotations

from typing import Final

RADIUS: Final = 30.0
"""[m]; the tightest turn in which lures on different sides still work (common practice)."""
SWING: Final = 0.8
"""Of the layback: a lure far behind cannot be swung through a tighter bend (common practice)."""


def wide_turn(layback: float) -> float:
    """Give the least radius of a turn with lines out.

    Parameters
    ----------
    layback : float
        How far back the farthest lure runs [m].

    Returns
    -------
    float
        Radius [m].

    Examples
    --------
    The farthest lure runs 150 ft back: how many feet wide must a turn be?

    >>> round(wide_turn(150 * 0.3048) / 0.3048)
    120
    """
    return max(RADIUS, SWING * layback)
