"""A plan turned into paths: of the boat, of its rod tips, of the line out; and what comes nearest.

A plan is rows by rising moment of what is begun then; of two that change the same thing the later
begun holds. What is held is not a number.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from towscope.arrays import Cube, Matrix, Vector
from towscope.towing.jit import kernel

# Columns of a plan: when it begins [s], speed to come to [m/s] and how briskly [m/s^2], angle to
# turn through [rad, to starboard] and on which radius [m], how fast line goes out or in [m/s].
BEGIN, SPEED, BRISKLY, TURN, RADIUS, LINE_SPEED = range(6)
PLAN = 6
EASY = 0.15  # [m/s^2]; how briskly a troller is sped up or slowed: estimated from memory
JOIN = 4.0  # [s]; in which rod tips are brought to where the boat has them
FARTHEST_OFF = 10.0  # [m]; by which they may be off: more is another boat


class Departure(NamedTuple):
    """The boat at one moment: place [m], course [rad from north] and speed [m/s]."""

    x: float
    y: float
    course: float
    speed: float


@kernel
def boat_path(start: Departure, plan: Matrix, times: Vector, path: Matrix) -> None:
    """Fill in the boat's path through a plan.

    Parameters
    ----------
    start : Departure
        Where it is at the first moment.
    plan : (k, 6) array
        What is done; columns as the constants above.
    times : (m,) array
        Moments from 0 [s].
    path : (m, 4) array
        Filled: x, y [m], course [rad] and speed [m/s].
    """
    x, y, heading, speed = start.x, start.y, start.course, start.speed
    path[0, 0], path[0, 1], path[0, 2], path[0, 3] = x, y, heading, speed
    waiting = 0
    goal, acceleration = speed, EASY
    left, curve = 0.0, 0.0
    for i in range(times.shape[0] - 1):
        now, end = times[i], times[i + 1]
        while now < end - 1e-12:
            while waiting < plan.shape[0] and plan[waiting, BEGIN] <= now + 1e-9:
                if not math.isnan(plan[waiting, SPEED]):
                    goal, acceleration = plan[waiting, SPEED], plan[waiting, BRISKLY]
                if plan[waiting, TURN] != 0.0:
                    left = abs(plan[waiting, TURN])
                    curve = math.copysign(1.0 / plan[waiting, RADIUS], plan[waiting, TURN])
                waiting += 1
            span = end - now
            if waiting < plan.shape[0]:
                span = min(span, plan[waiting, BEGIN] - now)
            rate = math.copysign(acceleration, goal - speed) if goal != speed else 0.0
            if rate != 0.0:
                span = min(span, (goal - speed) / rate)
            distance = (speed + 0.5 * rate * span) * span
            if left > 0.0 and distance * abs(curve) > left:
                # the turn ends within this span
                distance = left / abs(curve)
                disc = math.sqrt(max(speed * speed + 2.0 * rate * distance, 0.0))
                span = 2.0 * distance / (speed + disc)
            angle = distance * curve if left > 0.0 else 0.0
            chord = distance * (math.sin(0.5 * angle) / (0.5 * angle) if angle != 0.0 else 1.0)
            x += chord * math.sin(heading + 0.5 * angle)
            y += chord * math.cos(heading + 0.5 * angle)
            heading += angle
            left = max(left - abs(angle), 0.0) if abs(left - abs(angle)) > 1e-12 else 0.0
            speed += rate * span
            if abs(speed - goal) < 1e-12:
                speed = goal
            now += max(span, 1e-9)
        path[i + 1, 0], path[i + 1, 1] = x, y
        path[i + 1, 2], path[i + 1, 3] = heading, speed


@kernel
def tip_paths(mounts: Matrix, path: Matrix, tips: Cube) -> None:
    """Fill in the paths of rod tips (lines, m, 3) [m] on a boat's path (m, 3 or more).

    Mounts (lines, 3) are ahead and to starboard of the boat's place, and above the water [m].
    """
    for m in range(path.shape[0]):
        s, c = math.sin(path[m, 2]), math.cos(path[m, 2])
        for i in range(mounts.shape[0]):
            along, side = mounts[i, 0], mounts[i, 1]
            tips[i, m, 0] = path[m, 0] + along * s + side * c
            tips[i, m, 1] = path[m, 1] + along * c - side * s
            tips[i, m, 2] = mounts[i, 2]


@kernel
def lead_tips(now: Matrix, times: Vector, tips: Cube) -> None:
    """Bring rod tips that are a little off their paths (lines, 3) to them within seconds.

    Where they are farther off than that can be, the paths are left as they are.
    """
    for i in range(now.shape[0]):
        for c in range(3):
            if abs(now[i, c] - tips[i, 0, c]) > FARTHEST_OFF:
                return
    for i in range(now.shape[0]):
        for c in range(3):
            off = now[i, c] - tips[i, 0, c]
            for m in range(times.shape[0]):
                tips[i, m, c] += off * min(max(1.0 - times[m] / JOIN, 0.0), 1.0)


@kernel
def _out_at(times: Vector, let_outs: Matrix, i: int, moment: float) -> float:
    """Line out at a moment, straight between the moments given [m]."""
    last = times.shape[0] - 1
    if moment >= times[last]:
        out: float = let_outs[i, last]
        return out
    m = 0
    while times[m + 1] <= moment:
        m += 1
    slope = (let_outs[i, m + 1] - let_outs[i, m]) / (times[m + 1] - times[m])
    between: float = slope * (moment - times[m]) + let_outs[i, m]
    return between


@kernel
def line_out(start: Vector, plan: Matrix, goals: Matrix, times: Vector, let_outs: Matrix) -> None:
    """Fill in the line out at each moment, as read.

    Parameters
    ----------
    start : (lines,) array
        Line out at the first [m].
    plan, goals : (k, 6), (k, lines) array
        What is done, and line to have out [m]; not a number where it is held.
    times : (m,) array
        Moments from 0 [s].
    let_outs : (lines, m) array
        Filled [m].
    """
    for i in range(start.shape[0]):
        for m in range(times.shape[0]):
            let_outs[i, m] = start[i]
        for k in range(plan.shape[0]):
            new = goals[k, i]
            if math.isnan(new):
                continue
            begin = plan[k, BEGIN]
            had = _out_at(times, let_outs, i, begin)
            way = math.copysign(1.0, new - had)
            for m in range(times.shape[0]):
                if times[m] >= begin:
                    since = max(times[m] - begin, 0.0)
                    moved = min(plan[k, LINE_SPEED] * since, abs(new - had))
                    let_outs[i, m] = had + way * moved


@kernel
def nearest_bottom(
    figures: Cube, column: int, first: int, draws: int, rank: int, least: Vector
) -> tuple[int, int, float]:
    """Find where a line comes nearest to the bottom, by the draw of a rank.

    Parameters
    ----------
    figures : (rows, m, f) array
        Figures of each row at each moment.
    column : int
        Which of them is the clearance [m]; not a number where the bottom is not known.
    first, draws : int
        The line's rows.
    rank : int
        Which of its draws counts, from the least clear up.
    least : (draws,) array
        Filled with each draw's least clearance [m], infinite where the bottom is not known.

    Returns
    -------
    tuple
        The row, the moment (-1 where the bottom is not known), and the clearance [m].
    """
    for j in range(draws):
        least[j] = math.inf
        for m in range(figures.shape[1]):
            if figures[first + j, m, column] < least[j]:
                least[j] = figures[first + j, m, column]
    row = first
    for j in range(draws):
        before = 0
        for k in range(draws):
            if least[k] < least[j] or (least[k] == least[j] and k < j):
                before += 1
        if before == rank:
            row = first + j
    gap = least[row - first]
    if math.isinf(gap):
        return row, -1, math.nan
    moment = 0
    while figures[row, moment, column] != gap:
        moment += 1
    return row, moment, gap
