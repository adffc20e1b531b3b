"""Bisection of the let-out: the most line that kept off bottom all along a track."""

from __future__ import annotations

import numpy as np

from towscope.arrays import Array
from towscope.boat.track import BoatTrack
from towscope.follow.lure_path import follow
from towscope.towing.moving import SHORTEST, Bed
from towscope.towing.tow import Tow

GRAIN = 0.3  # [m]; a foot of line


def most_line(
    tow: Tow,
    track: BoatTrack,
    let_out: float,
    want: float,
    bed: Bed,
    *,
    current: Array | None = None,
    mount: tuple[float, float] = (0.0, 0.0),
) -> float | None:
    """Give the most line, up to a let-out, that keeps a clearance all along a track.

    Parameters
    ----------
    tow, track, bed, current, mount
        As `towscope.follow.lure_path.follow` takes them.
    let_out : float
        Most line to try [m].
    want : float
        Clearance to keep [m], by best estimate.

    Returns
    -------
    float or None
        Line past the rod tip [m]; None where even a metre of it comes too near.
    """

    def good(out: float) -> bool:
        way = follow(tow, track, out, every=2.0, current=current, bed=bed, mount=mount, draws=1)
        known = way.clearance[np.isfinite(way.clearance) & way.trolling]
        return not known.size or float(known.min()) >= want

    if good(let_out):
        return let_out
    low, high = SHORTEST, let_out
    if not good(low):
        return None
    while high - low > GRAIN:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if good(middle) else (low, middle)
    return low
