"""A trolling hour to look at: an invented track on the invented lake Long Slate, made by rule."""

from __future__ import annotations

import math
from datetime import UTC, datetime
from typing import Final

import numpy as np

from towscope.boat.track import Fixes
from towscope.constants import MPH
from towscope.geodesy import Globe
from towscope.towing.lookahead import Boat, Manoeuvre, course

START: Final = datetime(2026, 8, 14, 12, 20, tzinfo=UTC)
PLACE: Final = (48.4018, -91.9020)  # over the western basin of Long Slate [degrees]
SECONDS: Final = 3600.0
WANDER, HISS = 0.03, 0.15  # [m]; a receiver's slow drift for each second, and its noise


def demo_fixes(seed: int = 1) -> Fixes:
    """Make up the hour: legs, two turns about, an S-curve, a slow spell, a faster one.

    Parameters
    ----------
    seed : int
        Another seed gives another receiver's noise.

    Returns
    -------
    Fixes
        A fix every second, some missing, as a receiver would have logged them.

    Examples
    --------
    >>> fixes = demo_fixes()
    >>> bool((fixes.time == demo_fixes().time).all()), len(fixes) > 3500
    (True, True)
    """
    rng = np.random.default_rng(seed)
    bend = math.radians(70.0)
    plan = [
        Manoeuvre(begin=700.0, turn=math.pi, radius=20.0),
        Manoeuvre(begin=1300.0, turn=bend, radius=30.0),
        Manoeuvre(begin=1380.0, turn=-2.0 * bend, radius=30.0),
        Manoeuvre(begin=1490.0, turn=bend, radius=30.0),
        Manoeuvre(begin=1900.0, speed=1.5 * MPH, acceleration=0.03),
        Manoeuvre(begin=2220.0, speed=2.0 * MPH, acceleration=0.03),
        Manoeuvre(begin=2600.0, turn=-math.pi, radius=15.0),
        Manoeuvre(begin=3000.0, speed=2.4 * MPH, acceleration=0.03),
        Manoeuvre(begin=3300.0, speed=2.0 * MPH, acceleration=0.03),
    ]
    begin = Boat(0.0, 0.0, 2.0 * MPH, math.radians(62.0))
    time, path = course(begin, plan, SECONDS, 1.0)
    drift = np.zeros((len(time), 2))
    for i in range(1, len(time)):
        drift[i] = 0.99 * drift[i - 1] + rng.normal(0.0, WANDER, 2)
    x, y = (path[:, :2] + drift + rng.normal(0.0, HISS, (len(time), 2))).T
    lat, lon = Globe(*PLACE).to_globe(x, y)
    kept = np.ones(len(time), dtype=bool)
    kept[2402:2430] = False  # the receiver lost the sky for half a minute
    kept[rng.integers(10, len(time) - 10, 25)] = False
    return Fixes(
        START.timestamp() + time[kept],
        np.round(lat[kept], 7),
        np.round(lon[kept], 7),
        on_globe=True,
        dated=True,
        source="demo",
    )
