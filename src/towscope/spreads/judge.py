"""Least distances and pulls over a simulated run: whether the lines get through.

A manoeuvre begins in a straight run to the north, the boat at 0, 0; after the turn the boat goes
on straight until the longest line has come round.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from towscope.arrays import Array
from towscope.spreads import motion_kernels as mk
from towscope.spreads.motion import LongRun, ShownRun, Spread, follow, ready, straight
from towscope.spreads.plan import SpreadPlan, Turn
from towscope.towing.gaps import gaps, point_at
from towscope.towing.lookahead import Boat, Manoeuvre, course, tips

LEAD = 4.0  # [s] straight before the turn
TANGLE = 0.10
"""Lines nearer than this [m] are taken to touch: a lure with its hooks is half as wide again, and
it wags. Estimated."""
SURE = 0.9
"""Share of the draws that must get through for a spread to be called clear."""
MOST_PULL = 1.0 / 3.0
"""Share of its strength that a line may bear while towed: a drag is set to slip at a quarter to a
third of it. Common practice, no source."""
STALLED = 0.25
"""A board stalls where the pull on its own line falls below this share of that in the straight
run: estimated."""


class Fineness(NamedTuple):
    """How finely to simulate: time between steps, and moments looked at [s]; segments [m]."""

    step: float
    shown: float
    segment: float


FINE = Fineness(0.25, 0.5, 1.0)
ROUGH = Fineness(1.0, 1.0, 2.0)
"""For draws and searches: least distances then differ by 5 cm, by 15 where a board goes slack."""


@dataclass(frozen=True)
class SimulatedRun:
    """A manoeuvre as it was simulated.

    Attributes
    ----------
    plan, turn : SpreadPlan, Turn or None
        What was asked.
    time : (m,) array
        Moments [s].
    path : (m, 4) array
        Boat: x, y [m], course [rad], speed [m/s].
    spread, start, track : Spread, LongRun, ShownRun
        What was towed, from where, and where it went.
    """

    plan: SpreadPlan
    turn: Turn | None
    time: Array
    path: Array
    spread: Spread
    start: LongRun
    track: ShownRun

    @property
    def draws(self) -> int:
        """Rows for each rod."""
        return self.track.draws


@dataclass(frozen=True)
class LinePair:
    """How near two lines come.

    Attributes
    ----------
    a, b : str
        The rods.
    apart : float
        Least distance over the whole run [m].
    time : float
        When [s], from the beginning of the turn.
    part_a, part_b : str
        What of each line is there: "lure", "line", "board" or "board line".
    depth_a, depth_b : float
        How deep either is there [m].
    apart_90 : (float, float)
        Middle 90 % of the least distance over the draws [m].
    too_near : float
        Share of the draws in which they come nearer than they are to stay.
    tangling : float
        Share of the draws in which they tangle.
    crossings : tuple of (begin, end, height)
        When they cross as seen from above [s], and the least height of the first over the second
        then [m].
    straight : float
        Least distance in the straight run [m].
    """

    a: str
    b: str
    apart: float
    time: float
    part_a: str
    part_b: str
    depth_a: float
    depth_b: float
    apart_90: tuple[float, float]
    too_near: float
    tangling: float
    crossings: tuple[tuple[float, float, float], ...]
    straight: float


@dataclass(frozen=True)
class RodFate:
    """What one rod and its line go through.

    Attributes
    ----------
    name : str
        The rod.
    depth, depth_90 : float, (float, float)
        Of the lure in the straight run, and its middle 90 % [m].
    shallowest, deepest : float
        Of the lure over the whole run [m].
    shallowest_90, deepest_90 : (float, float)
        Their middle 90 % [m].
    line_deepest : float
        Deepest point of lure or line [m].
    clearance : float
        Least height of any of it above the bottom [m], NaN where no bottom was given.
    hits_bottom : float
        Share of the draws in which it hits the bottom.
    pull, pull_time : float
        Greatest pull at the rod [N], and when [s].
    straight_pull : float
        Pull in the straight run [N].
    share : float
        Greatest share of its strength that any piece bears.
    layback : float
        Of the lure behind the rod tip in the straight run [m].
    board_out, board_aft : float
        Of the board from the rod tip in the straight run [m], NaN without one.
    board_slowest, board_fastest : float
        Speed of the board through the water [m/s].
    board_stalls : tuple of float or None
        First and last moment at which its own line is slack [s].
    board_load : float
        Share of its buoyancy that the greatest pull down on it takes.
    """

    name: str
    depth: float
    depth_90: tuple[float, float]
    shallowest: float
    deepest: float
    shallowest_90: tuple[float, float]
    deepest_90: tuple[float, float]
    line_deepest: float
    clearance: float
    hits_bottom: float
    pull: float
    pull_time: float
    straight_pull: float
    share: float
    layback: float
    board_out: float = math.nan
    board_aft: float = math.nan
    board_slowest: float = math.nan
    board_fastest: float = math.nan
    board_stalls: tuple[float, float] | None = None
    board_load: float = math.nan


@dataclass(frozen=True)
class Fault:
    """One thing that goes wrong.

    Attributes
    ----------
    kind : str
        "tangle" or "near" (a pair), "bottom", "sunk" (a board goes under) or "pull" (a rod).
    rods : tuple of str
        Whose.
    amount : float
        Distance, clearance [m], or share.
    time : float
        When [s], from the beginning of the turn.
    """

    kind: str
    rods: tuple[str, ...]
    amount: float
    time: float


@dataclass(frozen=True)
class Verdict:
    """What a run comes to.

    Attributes
    ----------
    pairs : tuple of LinePair
        Every two rods.
    rods : tuple of RodFate
        Every rod.
    faults : tuple of Fault
        What goes wrong by the best estimate.
    chance : float
        Share of the draws in which all goes right; NaN where there is one draw only.
    """

    pairs: tuple[LinePair, ...]
    rods: tuple[RodFate, ...]
    faults: tuple[Fault, ...]
    chance: float = math.nan

    @property
    def clear(self) -> bool:
        """Whether it gets through by the best estimate, and in nine draws of ten."""
        return not self.faults and not self.chance < SURE

    @property
    def word(self) -> str:
        """Say "clear", "doubtful" (by the best estimate, not in nine of ten) or "fails"."""
        if self.faults:
            return "fails"
        return "doubtful" if self.chance < SURE else "clear"


def simulate(
    plan: SpreadPlan,
    turn: Turn | None = None,
    *,
    draws: int = 1,
    fineness: Fineness = FINE,
) -> SimulatedRun:
    """Simulate a straight run, or a turn.

    Parameters
    ----------
    plan : SpreadPlan
        What is towed, and how fast.
    turn : Turn, optional
        The turn; a short straight run if left out.
    draws : int
        1 for the best estimate; more for that many draws of what is not sure.
    fineness : Fineness
        How finely.

    Returns
    -------
    SimulatedRun
        What it was.
    """
    spread = ready(plan, draws, fineness.segment)
    start = straight(spread)
    if turn is None:
        seconds, manoeuvre = 10.0, Manoeuvre()
    else:
        after = 1.5 * plan.longest / plan.speed + 20.0
        seconds = LEAD + turn.seconds(plan.speed) + after
        manoeuvre = Manoeuvre(turn=turn.through, radius=turn.radius, begin=LEAD)
    time, path = course(Boat(0.0, 0.0, plan.speed, 0.0), manoeuvre, seconds, fineness.step)
    every = max(1, round(fineness.shown / fineness.step))
    track = follow(spread, start, time, tips(plan.mounts, path), every=every)
    return SimulatedRun(plan, turn, time[::every], path[::every], spread, start, track)


def drawn(plan: SpreadPlan, turn: Turn | None, draws: int) -> tuple[SimulatedRun, SimulatedRun]:
    """Simulate the best estimate and draws in the long steps that a search needs."""
    return simulate(plan, turn, fineness=ROUGH), simulate(plan, turn, draws=draws, fineness=ROUGH)


def judge(
    best: SimulatedRun, many: SimulatedRun | None = None, bottom: float | None = None
) -> Verdict:
    """Judge a run.

    Parameters
    ----------
    best : SimulatedRun
        One draw, the best estimate.
    many : SimulatedRun, optional
        The same with draws.
    bottom : float, optional
        Depth of the water [m].

    Returns
    -------
    Verdict
        What it comes to.
    """
    rods = len(best.plan.rods)
    order = [(i, j) for i in range(rods) for j in range(i + 1, rods)]
    wrong = np.zeros(many.draws if many is not None else 0, dtype=bool)
    pairs = _pairs(best, many, order, wrong)
    fates = tuple(_fate(best, many, i, bottom, wrong) for i in range(rods))
    faults = [
        Fault("tangle" if p.apart < TANGLE else "near", (p.a, p.b), p.apart, p.time)
        for p in pairs
        if p.apart < best.plan.apart
    ]
    for fate in fates:
        if fate.clearance < 0.0:
            when = _bottom_time(best, fate.name, bottom or 0.0)
            faults.append(Fault("bottom", (fate.name,), fate.clearance, when))
        if fate.board_load > 1.0:
            faults.append(Fault("sunk", (fate.name,), fate.board_load, fate.pull_time))
        if fate.share > MOST_PULL:
            faults.append(Fault("pull", (fate.name,), fate.share, fate.pull_time))
    chance = 1.0 - float(wrong.mean()) if many is not None and many.draws > 1 else math.nan
    return Verdict(pairs, fates, tuple(faults), chance)


def gets_through(plan: SpreadPlan, turn: Turn | None, bottom: float | None = None) -> Verdict:
    """Judge by the best estimate alone, in the long steps that a search needs."""
    return judge(simulate(plan, turn, fineness=ROUGH), None, bottom)


def _pairs(
    best: SimulatedRun,
    many: SimulatedRun | None,
    order: Iterable[tuple[int, int]],
    wrong: npt.NDArray[np.bool_],
) -> tuple[LinePair, ...]:
    order = list(order)
    if not order:
        return ()
    near, crossed = gaps(best.track.shapes, best.track.counts, np.array(order))
    drawn = None
    if many is not None:
        n = many.draws
        rows = np.array([[i * n + d, j * n + d] for i, j in order for d in range(n)])
        drawn, _ = gaps(
            many.track.shapes, many.track.counts, rows, crossings=False, least_only=True
        )
        drawn = drawn[:, :, 0].min(axis=1).reshape(len(order), n)
        wrong |= (drawn < best.plan.apart).any(axis=0)
    found = []
    for p, (i, j) in enumerate(order):
        at = int(near[p, :, 0].argmin())
        least = float(near[p, at, 0])
        own = drawn[p] if drawn is not None else np.array([least])
        parts = [_part(best, row, at, float(near[p, at, 1 + k])) for k, row in enumerate((i, j))]
        low, high = np.quantile(own, [0.05, 0.95])
        found.append(
            LinePair(
                best.plan.rods[i].name,
                best.plan.rods[j].name,
                least,
                float(best.time[at]) - LEAD,
                parts[0][0],
                parts[1][0],
                parts[0][1],
                parts[1][1],
                (float(low), float(high)),
                float((own < best.plan.apart).mean()),
                float((own < TANGLE).mean()),
                _spans(best.time - LEAD, crossed[p]),
                float(near[p, 0, 0]),
            )
        )
    return tuple(found)


def _part(run: SimulatedRun, row: int, moment: int, where: float) -> tuple[str, float]:
    """Say what of a line is at a place on it, and how deep."""
    shape = run.track.shape(row, moment)
    depth = max(0.0, -float(point_at(shape, where)[2]))
    if where < 0.5:
        return "lure", depth
    if run.plan.rods[row].board is not None:
        board = len(shape) - 2
        if abs(where - board) < 0.02:
            return "board", 0.0
        if where > board:
            return "board line", 0.0
    return "line", depth


def _spans(time: Array, crossed: Array) -> tuple[tuple[float, float, float], ...]:
    """Stretches of time in which two lines cross, with the least height in each."""
    spans = []
    on = np.isfinite(crossed)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], on.astype(int), [0]])))
    for first, beyond in zip(edges[::2], edges[1::2], strict=True):
        inside = crossed[first:beyond]
        least = float(inside[np.abs(inside).argmin()])
        spans.append((float(time[first]), float(time[beyond - 1]), least))
    return tuple(spans)


def _fate(
    best: SimulatedRun,
    many: SimulatedRun | None,
    rod: int,
    bottom: float | None,
    wrong: npt.NDArray[np.bool_],
) -> RodFate:
    track, line = best.track, best.plan.rods[rod]
    depth = track.figure(mk.DEPTH)[rod]
    pulls = track.figure(mk.ROD)[rod]
    low = float(track.figure(mk.DEEPEST)[rod].max())
    at = int(pulls.argmax())
    drawn = track.figure(mk.DEPTH)[rod : rod + 1]
    touches = 0.0
    if many is not None:
        own = many.spread.rows_of(rod)
        drawn = many.track.figure(mk.DEPTH)[own]
        if bottom is not None:
            hits = many.track.figure(mk.DEEPEST)[own].max(axis=1) > bottom
            wrong |= hits
            touches = float(hits.mean())
        load = many.track.figure(mk.LOAD)[own]
        if line.board is not None:
            wrong |= np.nanmax(load, axis=1) > line.board.buoyancy
    lure, tip = track.shape(rod, 0)[0], track.shape(rod, 0)[-1]
    fate = RodFate(
        name=line.name,
        depth=float(depth[0]),
        depth_90=_band(drawn[:, 0]),
        shallowest=float(depth.min()),
        deepest=float(depth.max()),
        shallowest_90=_band(drawn.min(axis=1)),
        deepest_90=_band(drawn.max(axis=1)),
        line_deepest=low,
        clearance=bottom - low if bottom is not None else math.nan,
        hits_bottom=touches,
        pull=float(pulls[at]),
        pull_time=float(best.time[at]) - LEAD,
        straight_pull=float(pulls[0]),
        share=float(track.figure(mk.BORNE)[rod].max()),
        layback=float(tip[1] - lure[1]),
    )
    ride = best.start.rides[rod]
    if line.board is None or ride is None:
        return fate
    speed = track.figure(mk.SPEED)[rod]
    slack = np.flatnonzero(pulls < STALLED * ride[0].pull)
    return replace(
        fate,
        board_out=abs(ride[0].across),
        board_aft=ride[0].aft,
        board_slowest=float(np.nanmin(speed)),
        board_fastest=float(np.nanmax(speed)),
        board_stalls=(
            (float(best.time[slack[0]]) - LEAD, float(best.time[slack[-1]]) - LEAD)
            if len(slack)
            else None
        ),
        board_load=float(np.nanmax(track.figure(mk.LOAD)[rod])) / line.board.buoyancy,
    )


def _band(values: Array) -> tuple[float, float]:
    low, high = np.quantile(values, [0.05, 0.95])
    return float(low), float(high)


def _bottom_time(best: SimulatedRun, name: str, bottom: float) -> float:
    low = best.track.figure(mk.DEEPEST)[best.plan.index(name)]
    return float(best.time[int((low > bottom).argmax())]) - LEAD
