"""Moving-line simulation up to a reading: where the lure was, and how deep against settled.

A bottom hit is where the lure is, not the boat: behind it, and after a turn inside its wake;
and a lure that has just come out of a turn, or slowed down, does not yet run where it will.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from towscope.arrays import Array
from towscope.calibration.readings import Reading
from towscope.errors import InputError
from towscope.towing.lookahead import tips
from towscope.towing.moving import SHORTEST, Lines, run, settled
from towscope.towing.tow import Tow

LOOK_BACK = 300.0  # [s]; a line forgets what the boat did before that
STEP = 1.0  # [s]
SEGMENT = 2.0  # [m]
SPEED_OVER = 30.0  # [s]; the speed of a reading is the mean over so long before it
UNSURE = 0.3  # share of how far it ran from settled that is not trusted
SLOWEST = 0.15  # [m/s]


@dataclass(frozen=True)
class LurePosition:
    """Where the lure was at one reading.

    Attributes
    ----------
    x, y : float
        Place of the lure, in the track's metres.
    depth, settled : float
        How deep it ran, and how deep it would have run at that speed long settled [m].
    speed, course : float
        Of the boat [m/s], [deg from north].
    """

    x: float
    y: float
    depth: float
    settled: float
    speed: float
    course: float


def behind(
    tow: Tow,
    let_out: float,
    way: Callable[[Array], tuple[Array, Array, Array, Array]],
    at: float,
    begun: float,
    mount: tuple[float, float] = (0.0, 0.0),
) -> LurePosition:
    """Follow the lure up to a reading.

    Parameters
    ----------
    tow : Tow
        The rig.
    let_out : float
        Line past the rod tip, as read [m].
    way : callable
        Gives x, y [m] and their rates [m/s] of the boat at moments [s].
    at, begun : float
        Moment of the reading, and from when on the way is known [s].
    mount : tuple of float
        Rod tip ahead and to starboard of where the fixes are taken [m].

    Returns
    -------
    LurePosition
        Where the lure was.

    Raises
    ------
    InputError
        Where the boat hardly moved.
    """
    first = max(begun, at - LOOK_BACK)
    count = max(2, math.ceil((at - first) / STEP) + 1)
    moments = np.linspace(first, max(at, first + 0.5), count)
    x, y, vx, vy = way(moments)
    speed, course = np.hypot(vx, vy), np.unwrap(np.arctan2(vx, vy))
    late = moments >= at - SPEED_OVER
    mean_speed = float(speed[late].mean())
    if mean_speed < SLOWEST:
        raise InputError(f"the boat stood still ({mean_speed:.2f} m/s); expected it under way")
    place = np.array([[mount[0], mount[1], tow.tip]])
    lines = Lines.of([tow], segment=SEGMENT, mounts=place)
    out = max(let_out, SHORTEST)
    path = np.column_stack([x, y, course, speed])
    start = settled(
        lines, out, max(float(speed[0]), SLOWEST), float(course[0]), at=(float(x[0]), float(y[0])),
        time=float(moments[0]),
    )  # fmt: skip
    passage = run(lines, start, moments, tips(lines.mounts, path), longest_step=STEP, every=1)
    long_settled = settled(lines, out, mean_speed, float(course[-1]))
    lure = passage.lure[0, -1]
    return LurePosition(
        float(lure[0]), float(lure[1]), float(-lure[2]), float(long_settled.depth[0]), mean_speed,
        math.degrees(float(course[-1])) % 360.0,
    )  # fmt: skip


def under_lure(
    reading: Reading,
    found: LurePosition,
    bottom: Callable[[float, float], tuple[float, float, float]] | None,
    *,
    own_speed: bool = False,
) -> Reading:
    """Give a reading its place under the lure.

    Parameters
    ----------
    reading : Reading
        As read; speed NaN where the track is to give it.
    found : LurePosition
        Where the lure was.
    bottom : callable, optional
        Gives depth of the bottom, its standard error [m] and its slope [m/m] at a place [m].
    own_speed : bool
        Whether the reading's own speed stands, where it has one.

    Returns
    -------
    Reading
        With the bottom under the lure, the boat's speed and course, and how deep the lure ran
        against settled.

    Raises
    ------
    InputError
        Where the bed knows no bottom there.
    """
    ratio = found.depth / found.settled if found.settled > 0.3 and found.depth > 0.0 else 1.0
    unsure = UNSURE * abs(found.depth - found.settled)
    speed = reading.speed if own_speed and math.isfinite(reading.speed) else found.speed
    water = reading.water and own_speed and math.isfinite(reading.speed)
    new = replace(
        reading, speed=speed, water=water, course=found.course, ratio=min(max(ratio, 0.4), 2.5)
    )
    error = math.hypot(reading.error, unsure)
    if bottom is None or reading.kind in ("recorder", "sonar mark"):
        return replace(new, error=error)
    depth, sd, slope = bottom(found.x, found.y)
    if not math.isfinite(depth):
        raise InputError(f"{reading.where}: the lake's bed knows no bottom under the lure there")
    # the lure's own place is known to some metres, which matters where the bottom slopes
    placed = slope * 3.0
    return replace(new, depth=max(depth, 0.3), error=math.hypot(math.hypot(error, sd), placed))
