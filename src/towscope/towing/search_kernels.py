"""Questions answered by looking through many speeds or let-outs: how fast, and how deep at most.

Depth falls with speed for a lure that sinks and may rise with it for one that dives: all speeds
that a boat tows at are looked through, and each crossing of the wanted depth is closed in on by
Ridders' method, which keeps it between two speeds and squares the error at each turn.

References
----------
Ridders (1979), IEEE Trans. Circuits and Systems 26:979-980 (from memory).
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from towscope.arrays import Matrix, Vector
from towscope.towing.jit import kernel
from towscope.towing.question_kernels import (
    Desk,
    Rig,
    all_line,
    at_speed,
    depth_of,
    depths_drawn,
    middle_span,
)
from towscope.towing.steady import ANSWER, DEPTH, RELATIVE, Room, Towed, settle, sweep

SLOWEST, FASTEST = 0.2, 4.5  # [m/s]; half a mile per hour to ten: what a boat tows at
SPEEDS = 87  # looked through for crossings
NEAR = 29  # of a version, about the speed found
STEP = 0.05  # [m/s]; between speeds tried for a depth that is out of reach
GOALS = 50  # let-outs tried for the deepest
SURE = 1e-10  # [m/s]; how near to it a speed is looked for
TURNS = 60
# What a search gives beside the answer: speed, ends of its interval, share of the versions that
# have one, and how many further speeds there are.
SPEED, SPEED_LOW, SPEED_HIGH, SPEED_WITHIN, OTHERS = range(5)
SEARCHED = 5


class Search(NamedTuple):
    """What a search for a speed gives, and its room.

    Attributes
    ----------
    given : (5,) array
        Filled; columns as the constants above.
    others : (86,) array
        Filled with further speeds that do it, rising [m/s].
    flow : (k, 3) array
        Room: water past the tow at the speed found.
    grid : (29, m) array
        Room: depth of each version at speeds about it.
    """

    given: Vector
    others: Vector
    flow: Matrix
    grid: Matrix


@kernel
def _spread(low: float, high: float, i: int, count: int) -> float:
    """Give the i-th of so many figures spread evenly from one to another."""
    if i == count - 1:
        return high
    return i * ((high - low) / (count - 1)) + low


@kernel
def _depth_at(
    still: Towed, let_out: float, speed: float, flow: Matrix, room: Room, out: Vector
) -> float:
    """Depth of the tow with a let-out at a speed [m]."""
    settle(at_speed(still, speed, flow), let_out, RELATIVE, room, out)
    depth: float = out[DEPTH]
    return depth


@kernel
def _speed_between(
    still: Towed,
    let_out: float,
    depth: float,
    low: float,
    high: float,
    low_gap: float,
    high_gap: float,
    flow: Matrix,
    room: Room,
) -> float:
    """Speed at which the depth is met, between two at which it is too shallow and too deep."""
    out = np.empty(ANSWER)
    if low_gap == 0.0:
        return low
    found = high
    for _ in range(TURNS):
        middle = 0.5 * (low + high)
        gap = _depth_at(still, let_out, middle, flow, room, out) - depth
        if gap == 0.0:
            return middle
        size = math.sqrt(gap * gap - low_gap * high_gap)
        sign = 1.0 if low_gap > high_gap else -1.0
        before, found = found, middle + (middle - low) * sign * gap / size
        if abs(found - before) < SURE:
            return found
        new_gap = _depth_at(still, let_out, found, flow, room, out) - depth
        if new_gap == 0.0:
            return found
        if gap * new_gap < 0.0:
            if middle < found:
                low, low_gap, high, high_gap = middle, gap, found, new_gap
            else:
                low, low_gap, high, high_gap = found, new_gap, middle, gap
        elif low_gap * new_gap < 0.0:
            high, high_gap = found, new_gap
        else:
            low, low_gap = found, new_gap
        if high - low < SURE:
            break
    return found


@kernel
def _crossing(low: float, high: float, grid: Matrix, j: int, depth: float, near: float) -> float:
    """Speed at which a version's depths cross the wanted one, the nearest to `near`; NaN: none."""
    best = math.nan
    for k in range(NEAR - 1):
        gap, next_gap = grid[k, j] - depth, grid[k + 1, j] - depth
        if not gap * next_gap <= 0.0:
            continue
        here, there = _spread(low, high, k, NEAR), _spread(low, high, k + 1, NEAR)
        rise = next_gap - gap if next_gap != gap else 1.0
        found = here - gap * (there - here) / rise
        if not abs(found - near) >= abs(best - near):
            best = found
    return best


@kernel
def speed_for(
    still: Rig,
    let_out: float,
    depth: float,
    near: float,
    desk: Desk,
    search: Search,
    found: Vector,
) -> int:
    """Answer how fast to go for a depth on a let-out, with all that goes with it.

    Parameters
    ----------
    still : Rig
        What is asked about, at no speed: its water is the current alone.
    let_out, depth : float
        Line past the rod tip, and wanted depth [m].
    near : float
        Of several speeds the nearest to this is the answer [m/s].
    desk : Desk
        Room to work in.
    search : Search
        Filled.
    found : (15,) array
        Filled as `towscope.towing.question_kernels.depth_of` does, at that speed.

    Returns
    -------
    int
        How many speeds do it. 0: none; the speed that comes nearest, and its depth, are filled in.
        -1: the lure stays at the surface.
    """
    towed, room, given = still.towed, desk.room, search.given
    out = np.empty(ANSWER)
    roots = 0
    chosen = 0
    least = math.inf
    last = 0.0
    last_gap = math.nan
    for i in range(SPEEDS):
        speed = _spread(SLOWEST, FASTEST, i, SPEEDS)
        gap = _depth_at(towed, let_out, speed, desk.flow, room, out) - depth
        if abs(gap) < least:
            least = abs(gap)
            given[SPEED], found[DEPTH] = speed, out[DEPTH]
        if i > 0 and (last_gap == 0.0 or last_gap * gap < 0.0):
            search.others[roots] = _speed_between(
                towed, let_out, depth, last, speed, last_gap, gap, desk.flow, room
            )
            roots += 1
        last, last_gap = speed, gap
    if roots == 0:
        return 0
    for i in range(1, roots):
        if abs(search.others[i] - near) < abs(search.others[chosen] - near):
            chosen = i
    speed = search.others[chosen]
    for i in range(chosen, roots - 1):
        search.others[i] = search.others[i + 1]
    given[SPEED] = speed
    given[OTHERS] = roots - 1
    own = Rig(at_speed(towed, speed, search.flow), still.versions, still.strength)
    if not depth_of(own, let_out, desk, found):
        return -1
    low, high = max(SLOWEST, 0.5 * speed), min(FASTEST, 1.6 * speed)
    for k in range(NEAR):
        there = at_speed(towed, _spread(low, high, k, NEAR), desk.flow)
        depths_drawn(there, still.versions, let_out, room, desk.drawn, search.grid[k])
    within = 0
    for j in range(desk.values.shape[0]):
        desk.values[j] = _crossing(low, high, search.grid, j, depth, speed)
        if math.isfinite(desk.values[j]):
            within += 1
    given[SPEED_LOW], given[SPEED_HIGH] = middle_span(desk.values, desk.ordered)
    given[SPEED_WITHIN] = within / max(desk.values.shape[0], 1)
    return roots


@kernel
def deepest(towed: Towed, goals: Vector, answers: Matrix, room: Room) -> tuple[float, float]:
    """Greatest depth that a rig reaches at a speed, and the let-out for it [m, m].

    Parameters
    ----------
    towed : Towed
        What is towed.
    goals, answers : (50,), (50, 7) array
        Room for the let-outs tried and where each runs.
    room : Room
        Room to work in.
    """
    length = all_line(towed.pieces)
    for i in range(GOALS):
        goals[i] = _spread(0.02, 1.0, i, GOALS) * length
    if towed.flow.shape[0] == 1:
        sweep(towed, goals, RELATIVE, room, answers)
    else:
        for i in range(GOALS):
            settle(towed, goals[i], RELATIVE, room, answers[i])
    best = -1
    for i in range(GOALS):
        depth = answers[i, DEPTH]
        if math.isfinite(depth) and (best < 0 or depth > answers[best, DEPTH]):
            best = i
    if best < 0:
        return math.nan, math.nan
    return answers[best, DEPTH], goals[best]


@kernel
def speed_that_reaches(
    still: Towed,
    depth: float,
    near: float,
    goals: Vector,
    answers: Matrix,
    flow: Matrix,
    room: Room,
) -> float:
    """Speed nearest to one at which the rig can reach a depth at all [m/s]; NaN where none can.

    Parameters
    ----------
    still : Towed
        What is towed, at no speed.
    depth, near : float
        Wanted depth [m], and the speed to be near to [m/s].
    goals, answers, room
        As `deepest` takes them.
    flow : (k, 3) array
        Room for the water past the tow.
    """
    best = math.nan
    i = 0
    while SLOWEST + i * STEP < FASTEST:
        speed = SLOWEST + i * STEP
        i += 1
        if abs(speed - near) >= abs(best - near):
            continue
        most, _ = deepest(at_speed(still, speed, flow), goals, answers, room)
        if most >= depth:
            best = speed
    return best
