"""How much line, how deep, and how sure: each question asked of a tow and of all its versions.

A question is one `reach` or `settle` of the tow as stated, and one of each of its equally likely
versions; the middle of those by order is the interval. What a small change does is a difference of
two settled depths.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from towscope.arrays import Cube, Matrix, Vector
from towscope.towing.jit import kernel
from towscope.towing.steady import (
    ANSWER,
    DEEPEST,
    DEPTH,
    LENGTH,
    LET_OUT,
    RELATIVE,
    TENSION,
    WET,
    Room,
    Towed,
    pull_at,
    reach,
    settle,
    shape,
)

LEVEL = 0.90
# Error allowed in one step of a version drawn: it shifts an end of an interval by less than a
# thousandth of the depth, where the interval itself is a tenth of it or more.
DRAWN = 1e-5
CLOSE = 1e-6  # of a let-out, where a version's depth is looked for in a current by depth
TRIES = 12
# What is found, past the columns of an answer: greatest share of its strength that a piece bears,
# ends of the intervals of depth and of let-out, depth gained by speed and by line, share of the
# versions for which there was an answer.
SHARE, DEPTH_LOW, DEPTH_HIGH, LET_OUT_LOW, LET_OUT_HIGH, PER_SPEED, PER_LINE, WITHIN = range(7, 15)
FOUND = 15


class Versions(NamedTuple):
    """Equally likely versions of a tow.

    Attributes
    ----------
    pieces : (m, n, 8) array
        Pieces of each.
    lures : (m, 3) array
        Lure of each.
    speed_scale, let_out_scale : (m,) array
        True speed for each that is read, and true let-out; empty where all are 1.
    along : (m,) array
        Current with the boat that nobody stated [m/s]; empty where there is none.
    """

    pieces: Cube
    lures: Matrix
    speed_scale: Vector
    let_out_scale: Vector
    along: Vector


class Rig(NamedTuple):
    """What is asked about: the tow as stated, its versions, and what its line bears.

    Attributes
    ----------
    towed : Towed
        The tow as stated, at the speed asked.
    versions : Versions
        Versions of it.
    strength : (n,) array
        Strength of each piece [N], NaN where it is not known.
    """

    towed: Towed
    versions: Versions
    strength: Vector


class Desk(NamedTuple):
    """Room to work in.

    Attributes
    ----------
    room : Room
        The engine's.
    flow, drawn : (k, 3) array
        Water past the tow at another speed, and past a version.
    values, ordered : (m,) array
        What the versions come to.
    """

    room: Room
    flow: Matrix
    drawn: Matrix
    values: Vector
    ordered: Vector


@kernel
def all_line(pieces: Matrix) -> float:
    """All line on a rig [m]."""
    total = 0.0
    for i in range(pieces.shape[0]):
        total += pieces[i, LENGTH]
    return total


@kernel
def at_speed(towed: Towed, speed: float, flow: Matrix) -> Towed:
    """Give the same tow at another speed [m/s]; `flow` is filled and becomes its water."""
    for i in range(flow.shape[0]):
        flow[i, 0] = towed.flow[i, 0]
        flow[i, 1] = towed.flow[i, 1] + (speed - towed.air_speed)
        flow[i, 2] = towed.flow[i, 2]
    return Towed(towed.pieces, towed.lure, towed.medium, flow, speed, towed.tip)


@kernel
def version_of(towed: Towed, versions: Versions, j: int, flow: Matrix) -> Towed:
    """Give one version of a tow; `flow` is filled and becomes its water."""
    extra = 0.0
    if versions.speed_scale.shape[0] > 0:
        extra += (versions.speed_scale[j] - 1.0) * towed.air_speed
    if versions.along.shape[0] > 0:
        extra -= versions.along[j]
    for i in range(flow.shape[0]):
        flow[i, 0] = towed.flow[i, 0]
        flow[i, 1] = towed.flow[i, 1] + extra
        flow[i, 2] = towed.flow[i, 2]
    return Towed(
        versions.pieces[j], versions.lures[j], towed.medium, flow, towed.air_speed, towed.tip
    )


@kernel
def let_outs_drawn(
    towed: Towed, versions: Versions, depth: float, room: Room, flow: Matrix, needed: Vector
) -> None:
    """Fill in the let-out, as it is read, that each version needs for a depth [m].

    NaN where it never gets there; `flow` is room to work in.
    """
    out = np.empty(ANSWER)
    for j in range(needed.shape[0]):
        reach(version_of(towed, versions, j, flow), depth, DRAWN, room, out)
        needed[j] = out[LET_OUT]
        if versions.let_out_scale.shape[0] > 0:
            needed[j] /= versions.let_out_scale[j]


@kernel
def _depth_near(towed: Towed, let_out: float, guess: float, room: Room, out: Vector) -> float:
    """Depth at a let-out by secants from a guess; NaN where they do not lead there."""
    if not guess > 0.0:
        return math.nan
    depth, last, last_gap = guess, 0.0, towed.tip - let_out
    for _ in range(TRIES):
        reach(towed, depth, DRAWN, room, out)
        gap = out[LET_OUT] - let_out
        if abs(gap) <= CLOSE * let_out:
            return depth
        if not (math.isfinite(gap) and gap != last_gap):
            break
        rate = (depth - last) / (gap - last_gap)
        last, last_gap = depth, gap
        depth -= gap * rate
        if not depth > 0.0:
            break
    return math.nan


@kernel
def depths_drawn(
    towed: Towed, versions: Versions, let_out: float, room: Room, flow: Matrix, depths: Vector
) -> None:
    """Fill in the depth that each version runs at with a let-out, as it is read [m].

    `flow` is room to work in.
    """
    out = np.empty(ANSWER)
    length = all_line(towed.pieces)
    guess = math.nan
    for j in range(depths.shape[0]):
        version = version_of(towed, versions, j, flow)
        goal = let_out
        if versions.let_out_scale.shape[0] > 0:
            goal *= versions.let_out_scale[j]
        goal = min(goal, length)
        found = math.nan
        if flow.shape[0] > 1:  # the depth is looked for: begin where the last version's was
            found = _depth_near(version, goal, guess, room, out)
        if not math.isfinite(found):
            settle(version, goal, DRAWN, room, out)
            found = out[DEPTH]
        depths[j] = guess = found


@kernel
def _sift(values: Vector, top: int, beyond: int) -> None:
    """Let a value sink to its place in a heap of which it is the top."""
    value = values[top]
    at = top
    while 2 * at + 1 < beyond:
        child = 2 * at + 1
        if child + 1 < beyond and values[child + 1] > values[child]:
            child += 1
        if not values[child] > value:
            break
        values[at] = values[child]
        at = child
    values[at] = value


@kernel
def _sort(values: Vector, count: int) -> None:
    """Put so many values in order, the least first: heapsort."""
    for i in range(count // 2):
        _sift(values, count // 2 - 1 - i, count)
    for i in range(count - 1):
        last = count - 1 - i
        value = values[last]
        values[last] = values[0]
        values[0] = value
        _sift(values, 0, last)


@kernel
def middle_span(values: Vector, ordered: Vector) -> tuple[float, float]:
    """Middle 90 % of values, by their order; those that are missing (NaN) are left out.

    `ordered` is room to work in.
    """
    count = 0
    for i in range(values.shape[0]):
        if not math.isnan(values[i]):
            ordered[count] = values[i]
            count += 1
    if count == 0:
        return math.nan, math.nan
    _sort(ordered, count)
    tail = 0.5 * (1.0 - LEVEL)
    low = round(tail * (count - 1))
    high = round((1.0 - tail) * (count - 1))
    return ordered[low], ordered[high]


@kernel
def let_out_span(values: Vector, length: float, ordered: Vector) -> tuple[float, float, float]:
    """Middle 90 % of the let-outs that versions need, and the share of them that line enough has.

    A version that never gets there needs more line than there is: its value is replaced so.
    """
    within = 0
    for j in range(values.shape[0]):
        if values[j] <= length:
            within += 1
        else:
            values[j] = math.inf
    low, high = middle_span(values, ordered)
    return low, min(high, length), within / max(values.shape[0], 1)


@kernel
def greatest_share(rig: Rig, room: Room, n: int, found: Vector) -> float:
    """Greatest part of its strength that a piece carries, at its upper end; NaN: none known."""
    greatest = math.nan
    start = 0.0
    for i in range(rig.strength.shape[0]):
        if start >= found[LET_OUT]:
            break
        end = start + rig.towed.pieces[i, LENGTH]
        pull = pull_at(room.path, n, end) if end < found[WET] else found[TENSION]
        share = pull / rig.strength[i]
        if math.isfinite(share) and not share <= greatest:
            greatest = share
        start = end
    return greatest


@kernel
def _levers(rig: Rig, desk: Desk, found: Vector) -> None:
    """Fill in the interval of the depth at the let-out found, and what a small change does."""
    towed, room = rig.towed, desk.room
    let_out, speed = found[LET_OUT], towed.air_speed
    depths_drawn(towed, rig.versions, let_out, room, desk.drawn, desk.values)
    found[DEPTH_LOW], found[DEPTH_HIGH] = middle_span(desk.values, desk.ordered)
    out = np.empty(ANSWER)
    dv = 0.02 * speed
    settle(at_speed(towed, speed + dv, desk.flow), let_out, RELATIVE, room, out)
    faster = out[DEPTH]
    settle(at_speed(towed, speed - dv, desk.flow), let_out, RELATIVE, room, out)
    found[PER_SPEED] = (faster - out[DEPTH]) / (2.0 * dv)
    shorter_by = min(0.5, 0.02 * let_out)
    longer_by = min(shorter_by, all_line(towed.pieces) - let_out)
    settle(towed, let_out + longer_by, RELATIVE, room, out)
    longer = out[DEPTH]
    settle(towed, let_out - shorter_by, RELATIVE, room, out)
    found[PER_LINE] = (longer - out[DEPTH]) / (longer_by + shorter_by)


@kernel
def let_out_for(rig: Rig, depth: float, desk: Desk, found: Vector) -> bool:
    """Answer how much line puts the lure at a depth [m], with all that goes with it.

    Parameters
    ----------
    rig : Rig
        What is asked about.
    depth : float
        Depth of the lure [m].
    desk : Desk
        Room to work in.
    found : (15,) array
        Filled; columns as the constants above.

    Returns
    -------
    bool
        False where the rig does not get there.
    """
    towed, room = rig.towed, desk.room
    length = all_line(towed.pieces)
    n = reach(towed, depth, RELATIVE, room, found)
    if n == 0 or not found[LET_OUT] <= length:
        return False
    found[DEEPEST] = max(found[DEEPEST], found[DEPTH])
    found[SHARE] = greatest_share(rig, room, n, found)
    let_outs_drawn(towed, rig.versions, depth, room, desk.drawn, desk.values)
    low, high, within = let_out_span(desk.values, length, desk.ordered)
    found[LET_OUT_LOW], found[LET_OUT_HIGH], found[WITHIN] = low, high, within
    _levers(rig, desk, found)
    return True


@kernel
def depth_of(rig: Rig, let_out: float, desk: Desk, found: Vector) -> bool:
    """Answer how deep the lure runs on a let-out [m], with all that goes with it.

    Parameters
    ----------
    rig, desk, found
        As `let_out_for` takes them; the interval of the let-out is left without numbers.
    let_out : float
        Line past the rod tip [m].

    Returns
    -------
    bool
        False where the lure stays at the surface, or the line is not that long.
    """
    if not where_at(rig, let_out, desk.room, found):
        return False
    found[LET_OUT_LOW] = found[LET_OUT_HIGH] = math.nan
    found[WITHIN] = 1.0
    _levers(rig, desk, found)
    return True


@kernel
def where_at(rig: Rig, let_out: float, room: Room, found: Vector) -> bool:
    """Answer where the tow as stated runs on a let-out [m]; False as `depth_of` gives it."""
    settle(rig.towed, let_out, RELATIVE, room, found)
    if not found[DEPTH] > 0.0:
        return False
    fresh = np.empty(ANSWER)
    n = reach(rig.towed, found[DEPTH], RELATIVE, room, fresh)  # for its path
    found[DEEPEST] = max(found[DEEPEST], found[DEPTH])
    found[SHARE] = greatest_share(rig, room, max(n, 1), found)
    return True


@kernel
def table(
    rig: Rig,
    depths: Vector,
    speeds: Vector,
    desk: Desk,
    let_out: Matrix,
    low: Matrix,
    high: Matrix,
) -> None:
    """Fill in the let-out for every depth at every speed, and its interval [m].

    Parameters
    ----------
    rig, desk
        As `let_out_for` takes them; the speed of the tow does not matter.
    depths, speeds : (n,), (m,) array
        What is asked [m, m/s].
    let_out, low, high : (n, m) array
        Filled; NaN where the rig does not get there.
    """
    out = np.empty(ANSWER)
    length = all_line(rig.towed.pieces)
    for j in range(speeds.shape[0]):
        towed = at_speed(rig.towed, speeds[j], desk.flow)
        for i in range(depths.shape[0]):
            let_out[i, j] = low[i, j] = high[i, j] = math.nan
            n = reach(towed, depths[i], RELATIVE, desk.room, out)
            if n == 0 or not out[LET_OUT] <= length:
                continue
            let_out[i, j] = out[LET_OUT]
            let_outs_drawn(towed, rig.versions, depths[i], desk.room, desk.drawn, desk.values)
            least, most, _ = let_out_span(desk.values, length, desk.ordered)
            low[i, j], high[i, j] = least, most


@kernel
def line(towed: Towed, depth: float, wet: float, room: Room, points: Matrix) -> None:
    """Points of the line in the water, with the lure at a depth [m].

    Parameters
    ----------
    towed : Towed
        What is towed.
    depth : float
        Depth of the lure [m].
    wet : float
        Length of the line in the water [m], as `where_at` found it.
    room : Room
        Room to work in.
    points : (count, 4) array
        Filled as `towscope.towing.steady.shape` fills it.
    """
    out = np.empty(ANSWER)
    steps = reach(towed, depth, RELATIVE, room, out)
    shape(room.path, steps, min(wet, out[WET]), points)
