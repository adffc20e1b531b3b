"""Will a lure or its line touch the bottom, when and where, and what little change avoids it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from towscope.towing.lookahead import (
    HOLD,
    Boat,
    Manoeuvre,
    Plan,
    _as_list,
    ahead,
    begun_at,
    read_let_out,
)
from towscope.towing.moving import SHORTEST, Bed, Lines, Passage, State

Array = npt.NDArray[np.float64]

SEARCH_STEP = 1.0  # [s]; steps of the search, good to a centimetre or two
SPEED_GRAIN, REEL_GRAIN, TIME_GRAIN = 0.02, 0.3, 1.0  # how finely is searched: m/s, m, s
AROUND = 4  # draws on either side of the one that counts, for searching
TURNS = tuple(math.radians(angle) for angle in (15, 30, 45, 60, 90, 120, 180))


@dataclass(frozen=True)
class Closest:
    """Where one line comes nearest to the bottom.

    Attributes
    ----------
    clearance : float
        Height above the bottom [m] at the closest; negative is below it; NaN: bottom not known.
        With draws, the low end of what is likely.
    time : float
        When [s].
    place : tuple of float
        Where: x, y, z [m] of the nearest point of the line.
    by_lure : bool
        Whether it is the lure that is nearest.
    """

    clearance: float
    time: float
    place: tuple[float, float, float]
    by_lure: bool


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
    latest : float
        Latest moment to begin, from now [s].
    clearance : float
        Least clearance when begun at once [m].
    """

    kind: Literal["speed", "reel", "turn"]
    manoeuvre: Manoeuvre
    amount: float
    latest: float
    clearance: float


def closest(lines: Lines, passage: Passage, level: float = 0.9) -> list[Closest]:
    """Find where each line comes nearest to the bottom in a run that was given a bed.

    Parameters
    ----------
    lines : Lines
        What is towed.
    passage : Passage
        The run.
    level : float
        With draws: so many of them stay at least so clear.

    Returns
    -------
    list of Closest
        One for each line.
    """
    return [_closest(passage, i, _rank(level, lines.draws)) for i in range(len(lines.tows))]


def _rank(level: float, draws: int) -> int:
    """Which draw counts, from the least clear up."""
    return math.floor((1.0 - level) * draws + 1e-9) if draws > 1 else 0


def _least(passage: Passage, line: int) -> Array:
    """Least clearance of each draw of a line [m], infinite where the bottom is not known."""
    own = passage.clearance[line * passage.draws : (line + 1) * passage.draws]
    return np.asarray(np.where(np.isnan(own), np.inf, own).min(axis=1))


def _closest(passage: Passage, line: int, rank: int) -> Closest:
    row = line * passage.draws + int(np.argsort(_least(passage, line), kind="stable")[rank])
    clearance = np.where(np.isnan(passage.clearance[row]), np.inf, passage.clearance[row])
    m = int(clearance.argmin())
    if math.isinf(clearance[m]):
        return Closest(math.nan, math.nan, (math.nan,) * 3, False)
    x, y, z = (float(value) for value in passage.nearest[row, m])
    by_lure = bool((passage.lure[row, m] == (x, y, z)).all())
    return Closest(float(clearance[m]), float(passage.time[m]), (x, y, z), by_lure)


def levers(
    lines: Lines,
    state: State,
    boat: Boat,
    bed: Bed,
    *,
    plan: Plan = HOLD,
    want: float = 0.6,
    seconds: float = 120.0,
    top_speed: float = 2.0,
    reel_speed: float = 0.5,
    radius: float = 20.0,
    level: float = 0.9,
    current: Array | None = None,
) -> list[Lever]:
    """Find the smallest single changes that keep every line clear of the bottom.

    Parameters
    ----------
    lines, state, boat, bed, current
        As `towscope.towing.lookahead.ahead` takes them.
    plan : Manoeuvre or sequence of Manoeuvre
        What is meant to be done.
    want : float
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

    Returns
    -------
    list of Lever
        Those that do it, smallest change first (each as a share of the speed, of the line out, of
        half a turn); none where the plan is clear as it is, or where none of them can do it.
    """
    planned = _as_list(plan)

    def follow(those: Lines, state: State, changed: list[Manoeuvre]) -> Passage:
        return ahead(
            those, state, boat, changed, seconds, current=current, bed=bed, step=SEARCH_STEP
        )

    whole = follow(lines, state, planned)
    rank = _rank(level, lines.draws)
    now = [_closest(whole, i, rank) for i in range(len(lines.tows))]
    tight = [i for i, c in enumerate(now) if c.clearance < want]
    if not tight:
        return []
    # The draws about the one that counts stand for all while searching; all are asked at the end.
    low = min(max(rank - AROUND, 0), max(lines.draws - 2 * AROUND - 1, 0))
    high = min(low + 2 * AROUND + 1, lines.draws)
    chosen = np.array(
        [np.argsort(_least(whole, i), kind="stable")[low:high] for i in range(len(lines.tows))]
    )
    few, few_state = lines.only(chosen), state.only(lines.draws, chosen)

    def least(changed: list[Manoeuvre], everything: bool = False) -> float:
        # Where the bottom is not known nothing is said against it.
        passage = follow(*((lines, state) if everything else (few, few_state)), changed)
        counts = rank if everything else rank - low
        return min(float(np.sort(_least(passage, i))[counts]) for i in range(len(lines.tows)))

    trouble = min(now[i].time for i in tight) - state.time

    def with_speed(speed: float, begin: float) -> list[Manoeuvre]:
        # It outlasts what the plan does with the speed, unless the plan slows down on its own.
        kept = [replace(m, speed=None) for m in planned]
        return [*kept, Manoeuvre(speed=speed, begin=begin)]

    def with_reel(by: float, begin: float) -> list[Manoeuvre]:
        kept = [replace(m, let_out=None) for m in planned]
        return [*kept, reel(by, begin)]

    out = read_let_out(lines, state)

    def reel(by: float, begin: float) -> Manoeuvre:
        goal = tuple(
            float(max(o - by, SHORTEST)) if i in tight else float(o) for i, o in enumerate(out)
        )
        return Manoeuvre(let_out=goal, line_speed=reel_speed, begin=begin)

    found: list[tuple[float, Lever]] = []

    def add(
        kind: Literal["speed", "reel", "turn"],
        share: float,
        amount: float,
        change: Manoeuvre,
        build: Callable[[float], list[Manoeuvre]],
    ) -> bool:
        clear = least(build(0.0), everything=True)
        if clear < want:
            return False
        latest = _latest(lambda begin: least(build(begin)) >= want, trouble)
        while latest > 0.0 and least(build(latest), everything=True) < want:
            latest = max(latest - TIME_GRAIN, 0.0)
        found.append((share, Lever(kind, change, amount, latest, clear)))
        return True

    def search(
        low: float, high: float, grain: float, build: Callable[[float, float], list[Manoeuvre]]
    ) -> float | None:
        """Smallest change that does it for all draws; a little more where the few were too few."""
        value = _smallest(lambda v: least(build(v, 0.0)) >= want, low, high, grain)
        while value is not None and least(build(value, 0.0), everything=True) < want:
            if value >= high:
                return None
            value = min(value + grain, high)
        return value

    base = max([boat.speed, *(m.speed for m in planned if m.speed is not None)])
    if top_speed > base:
        speed = search(base, top_speed, SPEED_GRAIN, with_speed)
        if speed is not None:
            add(
                "speed",
                speed / base - 1.0 if base > 0.0 else 1.0,
                speed,
                Manoeuvre(speed=speed),
                lambda begin: with_speed(speed, begin),
            )
    most = float(min(out[i] for i in tight)) - SHORTEST
    by = search(0.0, most, REEL_GRAIN, with_reel)
    if by is not None:
        add(
            "reel",
            by / float(out[tight].max()),
            by,
            reel(by, 0.0),
            lambda begin: with_reel(by, begin),
        )
    turns = [m for m in planned if m.turn != 0.0]
    straight = [replace(m, turn=0.0) for m in planned]
    if turns:
        other = replace(turns[-1], turn=-turns[-1].turn, speed=None, let_out=None)
        candidates = [other]
    else:
        candidates = [
            Manoeuvre(turn=side * angle, radius=radius) for angle in TURNS for side in (1.0, -1.0)
        ]
    for change in candidates:

        def turned(begin: float, change: Manoeuvre = change) -> list[Manoeuvre]:
            return [*straight, begun_at(change, change.begin + begin)]

        share = abs(change.turn) / math.pi if math.isfinite(change.turn) else 2.0
        if least(turned(0.0)) >= want and add("turn", share, change.turn, change, turned):
            break
    return [lever for _, lever in sorted(found, key=lambda pair: pair[0])]


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


def _latest(good: Callable[[float], bool], trouble: float) -> float:
    """Find the latest good moment to begin, given that 0 is good and earlier is better."""
    low, high = 0.0, max(trouble, TIME_GRAIN)
    while high - low > TIME_GRAIN:
        middle = 0.5 * (low + high)
        if good(middle):
            low = middle
        else:
            high = middle
    return low
