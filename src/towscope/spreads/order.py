"""Each line let out by simulation past those out: an order to set and to bring in.

While the boat goes straight the lines that are out stand still behind it, so that setting one line
concerns one other line at a time: each is let out once by simulation (lure first, then, on a board,
the board out to its place), and its least distance from every other line that might already be out
is noted. Where it comes too near, it has to go first. Fetching likewise, the other way.

Among the orders that this leaves, common practice (no source) chooses: lines furthest out to the
side first, so that none is carried out past another; of those equally far out the longest first,
so that the next is let out beside a line that already runs deep. They are fetched in the opposite
order, nearest and shortest first.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from towscope.arrays import Array
from towscope.spreads.motion import LongRun, ShownRun, follow, ready, straight
from towscope.spreads.plan import SpreadPlan
from towscope.towing.gaps import gaps
from towscope.towing.lookahead import Boat, Manoeuvre, course, tips

LET_OUT_SPEED, FETCH_SPEED = 0.5, 0.7  # [m/s]; by thumb and by reel, estimated from memory
FIRST_OUT = 2.0  # [m] of line out when a lure is in the water
CLIP = 1.0  # [m] more than the height of the tip: line to a board when it is put in
PAUSE = 5.0  # [s] to take a board off
SETTLE = 1.5  # times as long as the boat takes to go the line's length, for it to come to its place
STEP, SHOWN = 0.5, 1.0
ALIKE = 0.5  # [m]; reaches to the side nearer than this count as the same


@dataclass(frozen=True)
class OrderReason:
    """Why a rod stands where it does in an order.

    Attributes
    ----------
    kind : str
        "must" (before `other`, or the two would come too near), "outermost" or "inside" (of those
        left), "longest" or "shortest" (of those as far out), "alike", or "last".
    other : str
        The other rod, where there is one.
    amount : float
        How far out to the side, how long, or how near [m].
    """

    kind: str
    other: str
    amount: float


@dataclass(frozen=True)
class Order:
    """An order to set or to fetch in.

    Attributes
    ----------
    names : tuple of str
        The rods in order; where no order will do, as good a one as there is.
    reasons : tuple of OrderReason
        Why each stands where it does.
    clashes : tuple of (str, str, float)
        Which line, while it is moved, comes too near which other that is out, and how near [m], in
        this order; none where it works.
    apart : (rods, rods) array
        Least distance of the line that is moved (first) from the one that is out [m].
    seconds : float
        How long it takes, one line after the other [s].
    """

    names: tuple[str, ...]
    reasons: tuple[OrderReason, ...]
    clashes: tuple[tuple[str, str, float], ...]
    apart: Array
    seconds: float

    @property
    def works(self) -> bool:
        """Whether no two lines come too near in this order."""
        return not self.clashes


def orders(plan: SpreadPlan) -> tuple[Order, Order]:
    """Find the order to set the lines in, and the one to fetch them in.

    Parameters
    ----------
    plan : SpreadPlan
        The spread.

    Returns
    -------
    tuple of Order
        To set, to fetch.
    """
    spread = ready(plan, 1, 1.5)
    start = straight(spread)
    standing = follow(spread, start, np.array([0.0]), plan.mounts[:, None])
    setting, set_seconds = _distances(plan, standing, fetch=False)
    fetching, fetch_seconds = _distances(plan, standing, fetch=True)
    reach = [abs(r.starboard) + _board_out(start, i) for i, r in enumerate(plan.rods)]
    # Lines that stand too near each other when all are out cannot be blamed on the order.
    pairs = np.array([[i, j] for i in range(len(reach)) for j in range(len(reach))])
    near, _ = gaps(standing.shapes, standing.counts, pairs, crossings=False)
    limit = np.minimum(plan.apart, 0.9 * near[:, 0, 0].reshape(setting.shape))
    preference = sorted(
        range(len(reach)), key=lambda i: (-round(reach[i] / ALIKE), -plan.rods[i].let_out, i)
    )
    return (
        _order(plan, setting, limit, preference, reach, set_seconds, fetch=False),
        _order(plan, fetching, limit, preference[::-1], reach, fetch_seconds, fetch=True),
    )


def _board_out(start: LongRun, rod: int) -> float:
    rides = start.rides[rod]
    return abs(rides[0].across) if rides is not None else 0.0


def _order(
    plan: SpreadPlan,
    apart: Array,
    limit: Array,
    preference: Sequence[int],
    reach: Sequence[float],
    seconds: float,
    *,
    fetch: bool,
) -> Order:
    """Take always the first by preference of those that may be moved now.

    What is set now will be out while the rest are set: each of them must be able to pass it. What
    is fetched now passes the rest, which are still out. No clash between two lines is then left,
    unless they clash both ways round, or in a ring.
    """
    close = apart < limit
    left = list(preference)
    names, reasons, clashes = [], [], []
    while left:
        free = [
            i
            for i in left
            if not any(close[i, j] if fetch else close[j, i] for j in left if j != i)
        ]
        chosen = (free or left)[0]
        rest = [i for i in left if i != chosen]
        for j in rest:
            moved, out = (chosen, j) if fetch else (j, chosen)
            if close[moved, out]:
                clashes.append(
                    (plan.rods[moved].name, plan.rods[out].name, float(apart[moved, out]))
                )
        reasons.append(_reason(plan, apart, close, chosen, left, reach, fetch))
        names.append(plan.rods[chosen].name)
        left = rest
    return Order(tuple(names), tuple(reasons), tuple(clashes), apart, seconds)


def _reason(
    plan: SpreadPlan,
    apart: Array,
    close: npt.NDArray[np.bool_],
    chosen: int,
    left: Sequence[int],
    reach: Sequence[float],
    fetch: bool,
) -> OrderReason:
    rods = plan.rods
    rest = [i for i in left if i != chosen]
    # The nearest of those that it would clash with if they came before it.
    clash = [
        (float(apart[(j, chosen) if fetch else (chosen, j)]), j)
        for j in rest
        if close[(j, chosen) if fetch else (chosen, j)]
    ]
    if clash:
        near, other = min(clash)
        return OrderReason("must", rods[other].name, near)
    if not rest:
        return OrderReason("last", "", reach[chosen])
    same = [i for i in rest if round(reach[i] / ALIKE) == round(reach[chosen] / ALIKE)]
    if len(same) == len(rest):
        longer = all(rods[chosen].let_out >= rods[i].let_out for i in same)
        shorter = all(rods[chosen].let_out <= rods[i].let_out for i in same)
        if longer and shorter:
            return OrderReason("alike", "", reach[chosen])
        return OrderReason("shortest" if fetch else "longest", "", rods[chosen].let_out)
    return OrderReason("inside" if fetch else "outermost", "", reach[chosen])


def _distances(plan: SpreadPlan, standing: ShownRun, *, fetch: bool) -> tuple[Array, float]:
    """Least distance of each line while it is moved from every other that is out [m]."""
    count = len(plan.rods)
    apart = np.full((count, count), np.inf)
    total = 0.0
    for i in range(count):
        track, seconds = moved(plan, i, fetch=fetch)
        total += seconds
        moments = track.shapes.shape[1]
        width = max(track.shapes.shape[2], standing.shapes.shape[2])
        shapes = np.zeros((count + 1, moments, width, 3), dtype=np.float32)
        counts = np.zeros((count + 1, moments), dtype=np.int64)
        shapes[0, :, : track.shapes.shape[2]] = track.shapes[0]
        shapes[0, :, :, 1] -= (plan.speed * track.time)[:, None]
        counts[0] = track.counts[0]
        shapes[1:, :, : standing.shapes.shape[2]] = standing.shapes
        counts[1:] = standing.counts
        others = [j for j in range(count) if j != i]
        if not others:
            continue
        near, _ = gaps(
            shapes,
            counts,
            np.array([[0, j + 1] for j in others]),
            crossings=False,
            least_only=True,
        )
        apart[i, others] = near[:, :, 0].min(axis=1)
    return apart, total


def moved(plan: SpreadPlan, rod: int, *, fetch: bool) -> tuple[ShownRun, float]:
    """Simulate one line being let out, or fetched, with the boat going straight to the north.

    Parameters
    ----------
    plan : SpreadPlan
        The spread.
    rod : int
        Which.
    fetch : bool
        Fetch it, not set it.

    Returns
    -------
    tuple
        What it showed, over the ground, and how long it took until the line was out or in [s].
    """
    line = plan.rods[rod]
    alone = replace(plan, rods=(line,))
    spread = ready(alone, 1, 1.5)
    first = min(FIRST_OUT, line.let_out)
    speed = FETCH_SPEED if fetch else LET_OUT_SPEED
    lure_time = (line.let_out - first) / speed
    board_time, clip, full = 0.0, 0.0, 0.0
    if line.board is not None:
        full = spread.board_line(0)
        clip = min(line.height + CLIP, full)
        board_time = (full - clip) / speed
    if fetch:
        start = straight(spread)
        seconds = board_time + lure_time + (PAUSE if line.board is not None else 0.0)
    else:
        bare = ready(replace(alone, rods=(replace(line, board=None),)), 1, 1.5)
        start = straight(bare, np.array([first]))
        seconds = lure_time + board_time
    rest = 0.0 if fetch else SETTLE * line.out / plan.speed
    time, path = course(Boat(0.0, 0.0, plan.speed, 0.0), Manoeuvre(), seconds + rest, STEP)
    if fetch:
        since = np.maximum(time - seconds + lure_time, 0.0)
        out = np.maximum(line.let_out - speed * since, first)
        boards = np.where(time <= board_time, full - speed * time, math.nan)
    else:
        out = np.minimum(first + speed * time, line.let_out)
        boards = np.where(
            time > lure_time, np.minimum(clip + speed * (time - lure_time), full), math.nan
        )
    if line.board is None:
        boards[:] = math.nan
    every = round(SHOWN / STEP)
    track = follow(
        spread,
        start,
        time,
        tips(alone.mounts, path),
        let_outs=out[None],
        board_lines=boards[None],
        every=every,
    )
    return track, seconds
