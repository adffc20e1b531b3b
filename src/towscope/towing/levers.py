"""What little change keeps lures off the bottom, or lifts one off it: each tried by simulating it.

What the crew does with line and throttle comes first. A turn is named last, and only where the
boat's own new way is known to be deep enough with room to every side, and where through it every
line keeps off the bottom and off every other line.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from towscope.arrays import Array
from towscope.towing.clearance import Closest, closest_of, least, rank
from towscope.towing.gaps import gaps
from towscope.towing.lookahead import (
    HOLD,
    Boat,
    Manoeuvre,
    Plan,
    _as_list,
    ahead,
    begun_at,
    course,
    read_let_out,
)
from towscope.towing.moving import SHORTEST, Bed, Lines, Passage, State

SEARCH_STEP = 1.0  # [s]; steps of the search, good to a centimetre or two
SPEED_GRAIN, REEL_GRAIN, TIME_GRAIN = 0.02, 0.3, 1.0  # how finely is searched: m/s, m, s
AROUND = 4  # draws on either side of the one that counts, for searching
TURNS = tuple(math.radians(angle) for angle in (30, 60, 90))  # farther round nobody is sent
LIFTING = 20.0  # [s]; after the line is in, for the lure to come up: estimated from memory
HELM = 8.0  # [s]; a turn must still be good begun so much later, for nobody is to be hurried
ROOM, SHALLOWEST = 15.0, 2.0  # [m]; about the boat, and depth of water that she needs in a turn
APART = 1.0  # [m]; what lines keep from each other in a turn


@dataclass(frozen=True)
class Lever:
    """One single change that keeps the clearance, checked by simulating it.

    Attributes
    ----------
    kind : str
        "speed", "reel", or "turn" (the other way, or away).
    manoeuvre : Manoeuvre
        What to do, begun at once.
    amount : float
        New speed [m/s], line to reel in [m], or angle to turn [rad], positive to starboard.
    latest : float or None
        Latest moment to begin, from now [s]; None of a turn, which is never hurried.
    clearance : float
        Least clearance when begun at once [m]; once it is lifted, where it lifts.
    lines : tuple of int
        Numbers of the lines that are reeled in; none for what is done with the boat.
    lifts : bool
        Whether it lifts a lure that touches before anything could keep it off.
    """

    kind: Literal["speed", "reel", "turn"]
    manoeuvre: Manoeuvre
    amount: float
    latest: float | None
    clearance: float
    lines: tuple[int, ...] = ()
    lifts: bool = False


def levers(
    lines: Lines,
    state: State,
    boat: Boat,
    bed: Bed,
    *,
    plan: Plan = HOLD,
    want: float | Array = 0.6,
    seconds: float = 120.0,
    top_speed: float = 2.0,
    reel_speed: float = 0.5,
    radius: float = 20.0,
    level: float = 0.9,
    current: Array | None = None,
    water: Bed | None = None,
    time_grain: float = TIME_GRAIN,
) -> list[Lever]:
    """Find the smallest single changes that keep every line clear of the bottom.

    Parameters
    ----------
    lines, state, boat, bed, current
        As `towscope.towing.lookahead.ahead` takes them: all lines that are out.
    plan : Manoeuvre or sequence of Manoeuvre
        What is meant to be done.
    want : float or (lines,) array
        Clearance to keep [m].
    seconds : float
        How far to look ahead.
    top_speed : float
        Fastest that may be gone [m/s].
    reel_speed : float
        How fast line comes in [m/s].
    radius : float
        Radius to turn away on where the plan has no turn [m].
    level : float
        With draws, how sure it must be.
    water : Bed, optional
        Depth of water that the boat may go by, NaN where it is not known or land; without it no
        turn is named. More speed is named only where her way on lies over it.
    time_grain : float
        How finely the latest moment is looked for [s].

    Returns
    -------
    list of Lever
        Those that do it: line and speed, the smaller change first (as a share of the line out, of
        the speed), then a turn. None where the plan is clear as it is. Where a line touches, now
        or before anything keeps it off, what lifts it: line alone, for a snag at speed loads the
        rod.
    """
    asked = _Asked(
        lines,
        state,
        boat,
        bed,
        _as_list(plan),
        np.broadcast_to(np.asarray(want, dtype=float), (len(lines.tows),)),
        seconds,
        reel_speed,
        level,
        current,
        water,
    )
    if not asked.tight:
        return []
    found = [lever for lever in (_reel(asked, time_grain),) if lever is not None]
    if found and found[0].lifts:
        return found
    faster = _speed(asked, top_speed, time_grain)
    if faster is not None:
        line = found[0].amount / float(asked.out[list(asked.tight)].max()) if found else math.inf
        share = faster.amount / asked.pace - 1.0 if asked.pace > 0.0 else 1.0
        found.insert(0 if share < line else len(found), faster)
    turn = _turn(asked, radius)
    return [*found, turn] if turn is not None else found


class _Asked:
    """The question, and what simulating a change comes to."""

    def __init__(
        self,
        lines: Lines,
        state: State,
        boat: Boat,
        bed: Bed,
        planned: list[Manoeuvre],
        want: Array,
        seconds: float,
        reel_speed: float,
        level: float,
        current: Array | None,
        water: Bed | None,
    ) -> None:
        self.lines, self.state, self.boat, self.bed = lines, state, boat, bed
        self.planned, self.want, self.seconds = planned, want, seconds
        self.reel_speed, self.current, self.water = reel_speed, current, water
        self.out = read_let_out(lines, state)
        self.pace = max([boat.speed, *(m.speed for m in planned if m.speed is not None)])
        self.rank = rank(level, lines.draws)
        count = range(len(lines.tows))
        whole = self.follow(lines, state, planned)
        self.now: list[Closest] = [closest_of(whole, i, self.rank) for i in count]
        self.tight = tuple(i for i in count if self.now[i].clearance < want[i])
        self.touching = tuple(
            i for i in self.tight if float(np.sort(self._first(whole, i))[self.rank]) <= 0.0
        )
        # The draws about the one that counts stand for all while searching; all are asked at the
        # end.
        low = min(max(self.rank - AROUND, 0), max(lines.draws - 2 * AROUND - 1, 0))
        high = min(low + 2 * AROUND + 1, lines.draws)
        self.chosen = np.array(
            [np.argsort(least(whole, i), kind="stable")[low:high] for i in count]
        )
        self.few_rank = self.rank - low

    @staticmethod
    def _first(passage: Passage, line: int) -> Array:
        """Clearance of each draw of a line at the first moment [m]."""
        own = passage.clearance[line * passage.draws : (line + 1) * passage.draws, 0]
        return np.asarray(np.where(np.isnan(own), np.inf, own))

    def follow(
        self, lines: Lines, state: State, changed: list[Manoeuvre], shapes: bool = False
    ) -> Passage:
        return ahead(
            lines, state, self.boat, changed, self.seconds,
            current=self.current, bed=self.bed, step=SEARCH_STEP, shapes=shapes,
        )  # fmt: skip

    @property
    def trouble(self) -> float:
        """When the first line comes too near, from now [s]."""
        return min(self.now[i].time for i in self.tight) - self.state.time

    def spare(
        self,
        which: Sequence[int],
        changed: list[Manoeuvre],
        everything: bool = False,
        since: float = 0.0,
    ) -> float:
        """Give by how much all of some lines keep more than is wanted, from a moment on [m].

        Where the bottom is not known nothing is said against it.
        """
        lines, state = self.lines, self.state
        if not everything and self.lines.draws > 1:
            lines, state = lines.only(self.chosen), state.only(self.lines.draws, self.chosen)
        state = state.pick(lines.draws, which)
        passage = self.follow(lines.pick(which), state, changed)
        late = passage.time - self.state.time >= since - 1e-9
        passage = replace(passage, clearance=passage.clearance[:, late])
        counts = self.rank if everything or self.lines.draws == 1 else self.few_rank
        return min(
            float(np.sort(least(passage, k))[counts] - self.want[i]) for k, i in enumerate(which)
        )

    def surely(
        self, value: float, high: float, grain: float, good: Callable[[float], bool]
    ) -> float | None:
        """Give a value good for all draws: a little more where the few were too few."""
        if self.lines.draws == 1:
            return value
        while not good(value):
            if value >= high:
                return None
            value = min(value + grain, high)
        return value


class _Reeling:
    """So much line in on the lines in trouble."""

    def __init__(self, asked: _Asked) -> None:
        self.asked = asked
        self._kept = [replace(m, let_out=None) for m in asked.planned]

    def plan(self, which: Sequence[int], by: float, begin: float = 0.0) -> list[Manoeuvre]:
        out, pace = self.asked.out, self.asked.reel_speed
        goal = tuple(max(float(out[i]) - by, SHORTEST) for i in which)
        return [*self._kept, Manoeuvre(let_out=goal, line_speed=pace, begin=begin)]

    def up(self, by: float) -> float:
        """From when on it must be clear: line takes its time to come in, and lures to rise [s]."""
        return min(by / self.asked.reel_speed + LIFTING, self.asked.seconds)

    def needed(self, line: int, lift: bool) -> float | None:
        """How much keeps one line off, or lifts it [m]; None where not even all of it does."""
        most = float(self.asked.out[line]) - SHORTEST

        def good(by: float, everything: bool = False) -> bool:
            since = self.up(by) if lift else 0.0
            return self.asked.spare([line], self.plan([line], by), everything, since) >= 0.0

        by = _smallest(good, 0.0, most, REEL_GRAIN)
        return (
            None if by is None else self.asked.surely(by, most, REEL_GRAIN, lambda v: good(v, True))
        )


def _reel(asked: _Asked, time_grain: float) -> Lever | None:
    """Find how much line in, the same on each line in trouble, keeps them off or lifts them."""
    reeling = _Reeling(asked)
    amounts, lifts = [], False
    for i in asked.tight:
        by = None if i in asked.touching else reeling.needed(i, False)
        if by is None:
            lifts = True
            by = reeling.needed(i, True)
        # not even all of it: bring that line in
        amounts.append(float(asked.out[i]) - SHORTEST if by is None else by)
    by = max(amounts)
    if by <= 0.0:
        return None
    tight, several = asked.tight, asked.lines.draws > 1
    since = reeling.up(by) if lifts else 0.0
    clear = asked.spare(tight, reeling.plan(tight, by), several, since)

    def good_at(begin: float, everything: bool = False) -> bool:
        return asked.spare(tight, reeling.plan(tight, by, begin), everything) >= 0.0

    latest = 0.0 if lifts else _latest_for_all(asked, good_at, time_grain)
    goal = tuple(
        max(float(out) - by, SHORTEST) if i in tight else float(out)
        for i, out in enumerate(asked.out)
    )
    change = Manoeuvre(let_out=goal, line_speed=asked.reel_speed)
    return Lever("reel", change, by, latest, clear + _least_want(asked), tight, lifts)


def _latest_for_all(
    asked: _Asked, good_at: Callable[[float, bool], bool], time_grain: float
) -> float:
    latest = _latest(lambda begin: good_at(begin, False), asked.trouble, time_grain)
    while asked.lines.draws > 1 and latest > 0.0 and not good_at(latest, True):
        latest = max(latest - time_grain, 0.0)
    return latest


def _least_want(asked: _Asked) -> float:
    return float(min(asked.want[i] for i in asked.tight))


def _speed(asked: _Asked, top_speed: float, time_grain: float) -> Lever | None:
    """Find how much faster keeps them off, and sends none of the other lures too far down."""
    if top_speed <= asked.pace:
        return None
    # It outlasts what the plan does with the speed, unless the plan slows down on its own.
    kept = [replace(m, speed=None) for m in asked.planned]

    def faster(speed: float, begin: float = 0.0) -> list[Manoeuvre]:
        return [*kept, Manoeuvre(speed=speed, begin=begin)]

    def good(speed: float, everything: bool = False) -> bool:
        return asked.spare(asked.tight, faster(speed), everything) >= 0.0

    speed = _smallest(good, asked.pace, top_speed, SPEED_GRAIN)
    if speed is not None:
        speed = asked.surely(speed, top_speed, SPEED_GRAIN, lambda v: good(v, True))
    if speed is None:
        return None
    every = range(len(asked.lines.tows))
    clear = asked.spare(every, faster(speed), True)
    if clear < 0.0:
        return None
    if asked.water is not None and not afloat(
        course(asked.boat, faster(speed), asked.seconds, SEARCH_STEP)[1], asked.water, room=0.0
    ):
        return None

    def good_at(begin: float, everything: bool = False) -> bool:
        return asked.spare(asked.tight, faster(speed, begin), everything) >= 0.0

    latest = _latest_for_all(asked, good_at, time_grain)
    return Lever("speed", Manoeuvre(speed=speed), speed, latest, clear + _least_want(asked))


def _turn(asked: _Asked, radius: float) -> Lever | None:
    """Find a turn that keeps them off and that the boat can make, now or some seconds later."""
    if asked.water is None:
        return None
    turns = [m for m in asked.planned if m.turn != 0.0]
    straight = [replace(m, turn=0.0) for m in asked.planned]
    if turns:
        candidates = [replace(turns[-1], turn=-turns[-1].turn, speed=None, let_out=None)]
    else:
        candidates = [
            Manoeuvre(turn=side * angle, radius=radius) for angle in TURNS for side in (1.0, -1.0)
        ]
    every = range(len(asked.lines.tows))
    for change in candidates:
        plans = [[*straight, begun_at(change, change.begin + late)] for late in (0.0, HELM)]
        ways = (course(asked.boat, plan, asked.seconds, SEARCH_STEP)[1] for plan in plans)
        if not all(afloat(way, asked.water) for way in ways):
            continue
        if any(asked.spare(asked.tight, plan) < 0.0 for plan in plans):
            continue
        clear = min(_through(asked, plan) for plan in plans)
        if clear >= 0.0:
            return Lever("turn", change, change.turn, None, clear + float(asked.want[every].min()))
    return None


def _through(asked: _Asked, plan: list[Manoeuvre]) -> float:
    """Give what all lines keep to spare through a turn [m]; less than nothing where any may not."""
    passage = asked.follow(asked.lines, asked.state, plan, shapes=True)
    draws = asked.lines.draws
    lure = passage.lure.reshape(-1, 3)
    if np.isnan(depths(asked.bed, lure[:, 0], lure[:, 1])).any():
        return -math.inf
    spare = min(
        float(np.sort(least(passage, i))[asked.rank] - asked.want[i])
        for i in range(len(asked.lines.tows))
    )
    count = len(asked.lines.tows)
    pairs = np.array(
        [
            (i * draws + d, j * draws + d)
            for i in range(count)
            for j in range(i + 1, count)
            for d in range(draws)
        ],
        dtype=np.int64,
    )
    if spare < 0.0 or not len(pairs):
        return spare
    assert passage.shapes is not None
    shapes = passage.shapes.astype(np.float32)
    counts = np.isfinite(shapes[..., 0]).sum(axis=2).astype(np.int64)
    near, _ = gaps(shapes, counts, pairs, crossings=False, least_only=True)
    return spare if float(near[:, :, 0].min()) >= APART else -math.inf


def depths(bed: Bed, x: Array, y: Array) -> Array:
    """Give the depth of a gridded bottom at places, bilinear; NaN where it is not known.

    Parameters
    ----------
    bed : Bed
        The bottom.
    x, y : (n,) array
        Places [m].

    Returns
    -------
    (n,) array
        Depths [m].
    """
    rows, columns = bed.depth.shape
    gx, gy = (np.asarray(x) - bed.x) / bed.cell, (np.asarray(y) - bed.y) / bed.cell
    inside = (gx >= 0.0) & (gx <= columns - 1.0) & (gy >= 0.0) & (gy <= rows - 1.0)
    j = np.clip(np.nan_to_num(gx).astype(int), 0, columns - 2)
    i = np.clip(np.nan_to_num(gy).astype(int), 0, rows - 2)
    fx, fy = gx - j, gy - i
    south = (1.0 - fx) * bed.depth[i, j] + fx * bed.depth[i, j + 1]
    north = (1.0 - fx) * bed.depth[i + 1, j] + fx * bed.depth[i + 1, j + 1]
    return np.asarray(np.where(inside, (1.0 - fy) * south + fy * north, np.nan))


def afloat(path: Array, water: Bed, *, room: float = ROOM, shallowest: float = SHALLOWEST) -> bool:
    """Tell whether a boat's way, with room to every side, is known to be deep enough.

    Parameters
    ----------
    path : (m, 2 or more) array
        x, y [m] of the boat.
    water : Bed
        Depth of water, NaN where it is not known or land.
    room : float
        How far about the boat it must be so [m].
    shallowest : float
        Depth that is needed [m].

    Returns
    -------
    bool
        Whether all of it is known and deep enough.

    Examples
    --------
    Straight north over 5 m of water of which the chart ends after 100 m:

    >>> chart = Bed(-50.0, -50.0, 10.0, np.full((16, 11), 5.0))
    >>> way = np.column_stack([np.zeros(90), np.arange(90.0)])
    >>> afloat(way[:80], chart), afloat(way, chart)
    (True, False)
    """
    x, y = path[:, 0], path[:, 1]
    if room > 0.0:
        angle = np.arange(8) * (0.25 * math.pi)
        east = np.concatenate([[0.0], 0.5 * room * np.cos(angle), room * np.cos(angle)])
        north = np.concatenate([[0.0], 0.5 * room * np.sin(angle), room * np.sin(angle)])
        x, y = (x[:, None] + east).ravel(), (y[:, None] + north).ravel()
    return bool((depths(water, x, y) >= shallowest).all())


def _smallest(good: Callable[[float], bool], low: float, high: float, grain: float) -> float | None:
    """Find the smallest good value to a grain, given that larger is better; None if none is."""
    if high <= low or not good(high):
        return None
    while high - low > grain:
        middle = 0.5 * (low + high)
        if good(middle):
            high = middle
        else:
            low = middle
    return high


def _latest(good: Callable[[float], bool], trouble: float, grain: float) -> float:
    """Find the latest good moment to begin, given that 0 is good and earlier is better."""
    low, high = 0.0, max(trouble, grain)
    while high - low > grain:
        middle = 0.5 * (low + high)
        if good(middle):
            low = middle
        else:
            high = middle
    return low
