"""What will the lure do in the next minutes if the boat, or the line let out, changes so or so.

A `Manoeuvre` is what somebody at the helm or at a rod may do from one moment on; a plan is one of
them, or several. `course` turns a plan into the boat's path, `tips` that into the paths of the rod
tips, and `ahead` follows the lines through it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from towscope.arrays import Array
from towscope.towing import lookahead_kernels as lk
from towscope.towing.lookahead_kernels import EASY
from towscope.towing.moving import Bed, Lines, Passage, State, run

STEP = 0.5  # [s]
LONGEST_WAIT = 3600.0  # [s]; what has not settled by then is taken not to


@dataclass(frozen=True)
class Boat:
    """The boat at one moment: place [m] east and north, speed [m/s], course [rad from north]."""

    x: float
    y: float
    speed: float
    course: float


@dataclass(frozen=True)
class Manoeuvre:
    """What is done from one moment on; what is left out is held.

    Attributes
    ----------
    speed : float or None
        Speed over ground to come to [m/s]; 0 stops the boat.
    acceleration : float
        How fast the speed changes [m/s^2].
    turn : float
        Angle to turn through [rad], positive to starboard; infinite goes on in a circle.
    radius : float
        Radius of the turn at the boat's place [m].
    let_out : tuple of float or None
        Line to have out past each rod tip, as read [m].
    line_speed : float
        How fast line is let out or reeled in [m/s].
    begin : float
        How long to hold on before any of it [s].
    """

    speed: float | None = None
    acceleration: float = EASY
    turn: float = 0.0
    radius: float = math.inf
    let_out: tuple[float, ...] | None = None
    line_speed: float = 0.5
    begin: float = 0.0

    def __post_init__(self) -> None:
        if self.turn != 0.0 and not 0.0 < self.radius < math.inf:
            raise ValueError(f"turn of radius {self.radius:g} m; expected above 0 and finite")
        if self.speed is not None and not 0.0 <= self.speed < 50.0:
            raise ValueError(f"speed {self.speed:g} m/s; expected 0 to 50")
        if not (self.acceleration > 0.0 and self.line_speed > 0.0 and self.begin >= 0.0):
            raise ValueError("acceleration and line speed must be above 0, begin 0 or more")


Plan = Manoeuvre | Sequence[Manoeuvre]
HOLD = Manoeuvre()


def _as_list(plan: Plan) -> list[Manoeuvre]:
    several = [plan] if isinstance(plan, Manoeuvre) else list(plan)
    return sorted(several, key=lambda each: each.begin)


def _rows(several: Sequence[Manoeuvre]) -> Array:
    """Give what is done as the kernels take it."""
    rows = np.empty((len(several), lk.PLAN))
    for row, each in zip(rows, several, strict=True):
        speed = math.nan if each.speed is None else each.speed
        row[:] = (
            each.begin, speed, each.acceleration, each.turn, each.radius, each.line_speed,
        )  # fmt: skip
    return rows


def course(boat: Boat, plan: Plan, seconds: float, step: float = STEP) -> tuple[Array, Array]:
    """Path of the boat through a plan.

    Parameters
    ----------
    boat : Boat
        Where it starts.
    plan : Manoeuvre or sequence of Manoeuvre
        What is done; of two that change the same thing the later begun holds.
    seconds : float
        How long to follow it.
    step : float
        Time between the moments given [s].

    Returns
    -------
    tuple
        Moments from 0 [s], (m,); and x, y [m], course [rad] and speed [m/s] at each, (m, 4).

    Examples
    --------
    Half a turn to starboard on 20 m, at 0.9 m/s from heading north, ends 40 m to the east:

    >>> half = Manoeuvre(turn=math.pi, radius=20.0)
    >>> time, path = course(Boat(0.0, 0.0, 0.9, 0.0), half, math.pi * 20.0 / 0.9, 0.1)
    >>> round(float(path[-1, 0]), 1)
    40.0
    """
    count = max(1, math.ceil(seconds / step - 1e-9))
    times: Array = np.arange(count + 1, dtype=np.float64) * step
    path = np.empty((count + 1, 4))
    start = lk.Departure(float(boat.x), float(boat.y), float(boat.course), float(boat.speed))
    lk.boat_path(start, _rows(_as_list(plan)), times, path)
    return times, path


def tips(mounts: Array, path: Array) -> Array:
    """Paths of rod tips on a boat.

    Parameters
    ----------
    mounts : (lines, 3) array
        Rod tips ahead and to starboard of the boat's place, and above the water [m].
    path : (m, 3 or more) array
        x, y [m] and course [rad] of the boat.

    Returns
    -------
    (lines, m, 3) array
        Their places [m].

    Examples
    --------
    Heading east, where is the tip of a rod 2 m out to starboard?  To the south:

    >>> tips(np.array([[0.0, 2.0, 1.0]]), np.array([[0.0, 0.0, math.pi / 2]])).round(3)[0, 0] + 0.0
    array([ 0., -2.,  1.])
    """
    found = np.empty((len(mounts), len(path), 3))
    lk.tip_paths(
        np.ascontiguousarray(mounts, dtype=float), np.ascontiguousarray(path, dtype=float), found
    )
    return found


def let_outs(start: Array, plan: Plan, times: Array) -> Array:
    """Line out at each moment.

    Parameters
    ----------
    start : (lines,) array
        Line out at the first, as read [m].
    plan : Manoeuvre or sequence of Manoeuvre
        What is done.
    times : (m,) array
        Moments [s], from 0.

    Returns
    -------
    (lines, m) array
        Line out, as read [m].
    """
    start, times = np.ascontiguousarray(start, dtype=float), np.asarray(times, dtype=float)
    out = np.empty((len(start), len(times)))
    several = _as_list(plan)
    goals = np.full((len(several), len(start)), np.nan)
    for goal, change in zip(goals, several, strict=True):
        if change.let_out is None:
            continue
        if len(change.let_out) != len(start):
            raise ValueError(
                f"{len(change.let_out)} let-outs for {len(start)} lines; expected one for each"
            )
        goal[:] = change.let_out
    lk.line_out(start, _rows(several), goals, times, out)
    return out


def read_let_out(lines: Lines, state: State) -> Array:
    """Line out on each line, as read [m], (lines,)."""
    return (state.let_out / lines.let_out_scale)[:: lines.draws]


def ahead(
    lines: Lines,
    state: State,
    boat: Boat,
    plan: Plan = HOLD,
    seconds: float = 120.0,
    *,
    current: Array | None = None,
    bed: Bed | None = None,
    shapes: bool = False,
    step: float = STEP,
) -> Passage:
    """Follow all lines through a plan.

    Parameters
    ----------
    lines : Lines
        What is towed.
    state : State
        Where it is now; left as it is.
    boat : Boat
        Where the boat is now; its mounts say where the rod tips are. Tips that are a little off (a
        course told from fixes lags in a turn) are brought there within the first seconds.
    plan : Manoeuvre or sequence of Manoeuvre
        What is done from now on; hold speed and course if left out.
    seconds : float
        How far to look.
    current : (k, 3) array, optional
        Depth [m], speed of the water to the east and to the north [m/s].
    bed : Bed, optional
        Depth of the bottom, for clearance.
    shapes : bool
        Keep all nodes.
    step : float
        Length of a step [s].

    Returns
    -------
    Passage
        What will happen.

    Raises
    ------
    ValueError
        Where the rod tips are farther off than that can be.

    Examples
    --------
    A small minnow on 170 ft of thin core at 2 mph. How many feet deep does it run, and sink to in
    a half turn on 20 m?

    >>> from towscope.tackle.shelf import stock
    >>> from towscope.towing.moving import settled
    >>> lines = Lines.of([stock().tow("demo")])
    >>> boat = Boat(0.0, 0.0, 0.894, 0.0)
    >>> now = settled(lines, 51.8, boat.speed, boat.course)
    >>> turn = ahead(lines, now, boat, Manoeuvre(turn=math.pi, radius=20.0), 120.0)
    >>> [round(float(depth) / 0.3048) for depth in (now.depth[0], turn.depth.max())]
    [31, 42]
    """
    times, path = course(boat, plan, seconds, step)
    rods = tips(lines.mounts, path)
    lk.lead_tips(np.ascontiguousarray(state.tip[:: lines.draws]), times, rods)
    return run(
        lines,
        state,
        state.time + times,
        rods,
        let_out=let_outs(read_let_out(lines, state), plan, times),
        current=current,
        bed=bed,
        longest_step=step,
        shapes=shapes,
    )


def settling_time(
    lines: Lines,
    state: State,
    boat: Boat,
    plan: Plan,
    *,
    within: float = 0.15,
    current: Array | None = None,
) -> tuple[Array, Array]:
    """How long until each lure runs at its new depth.

    Parameters
    ----------
    lines, state, boat, plan, current
        As `ahead` takes them.
    within : float
        How near the new depth counts as there [m].

    Returns
    -------
    tuple
        Seconds from now (rows,), infinite where it does not settle within an hour; and the depth
        it comes to [m].
    """
    quiet = 60.0
    look = 240.0
    while True:
        passage = ahead(lines, state, boat, plan, look, current=current)
        since = passage.time - state.time
        depth = passage.depth
        late = depth[:, since >= since[-1] - quiet]
        still = np.ptp(late, axis=1) < 0.25 * within
        if still.all() or look >= LONGEST_WAIT:
            break
        look *= 2.0
    new = depth[:, -1]
    away = np.abs(depth - new[:, None]) > within
    last = np.where(away.any(axis=1), away.shape[1] - 1 - away[:, ::-1].argmax(axis=1), -1)
    seconds = np.where(last < 0, 0.0, since[np.minimum(last + 1, len(since) - 1)])
    return np.where(still, seconds, np.inf), new


def begun_at(manoeuvre: Manoeuvre, begin: float) -> Manoeuvre:
    """Give the same manoeuvre begun at another moment [s]."""
    return replace(manoeuvre, begin=begin)
