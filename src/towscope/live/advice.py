"""Single changes tried by simulation: what brings a lure to its depth or keeps it off bottom."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, Literal, TypeVar

import numpy as np

from towscope.arrays import Array
from towscope.constants import HALF_OF_90
from towscope.errors import NoAnswer, one_line
from towscope.live.follower import Seen
from towscope.live.lines_out import Out
from towscope.live.models import Change, LineNow
from towscope.towing.levers import Lever, levers
from towscope.towing.lookahead import Boat
from towscope.towing.moving import Bed, together
from towscope.towing.questions import let_out_for, where_at
from towscope.towing.search_kernels import FASTEST, SLOWEST
from towscope.towing.tow import Setting, Tow, draw

NEAR_ENOUGH: Final = 0.3  # [m]; from the wanted depth, that nobody would reel for
SPEED_GRAIN: Final = 0.02  # [m/s]; as finely is speed told apart
TOP_SPEED: Final = 1.6  # [m/s]; faster than 3.5 mph no lure here is pulled
RADIUS: Final = 30.0  # [m]; of a turn that is named: tighter, lines cross and lures sink
BARELY, MOST_DOUBT = 0.1, 3.0  # [m]; clearance that a way out must keep
TIME_GRAIN: Final = 4.0  # [s]; nobody at a reel counts finer
CLEAR_BY, LEAST_LIFT = 0.6, 1.5  # [m]; over a bottom known only in places: rule of thumb
MOST_KEPT: Final = 500

K = TypeVar("K")
V = TypeVar("V")


class Advice:
    """Answers from the steady engine, each asked once for each rig, let-out or depth, and speed."""

    def __init__(self) -> None:
        self._depths: dict[tuple[int, float, int], tuple[Tow, float]] = {}
        self._changes: dict[tuple[int, float, int], tuple[Tow, Change]] = {}

    def settled_depth(self, tow: Tow, let_out: float, speed: float) -> float:
        """Give the depth that a lure comes to [m].

        Parameters
        ----------
        tow : Tow
            The rig.
        let_out : float
            Line out, as read [m].
        speed : float
            Through the water [m/s].
        """
        grain = round(_towable(speed) / SPEED_GRAIN)
        key = (id(tow), round(let_out, 1), grain)
        known = self._depths.get(key)
        if known is None or known[0] is not tow:
            true = min(let_out * tow.counter_factor, tow.length)
            try:
                depth = where_at(tow, true, Setting(grain * SPEED_GRAIN)).depth
            except NoAnswer:  # it stays at the surface
                depth = 0.0
            known = (tow, depth)
            _keep(self._depths, key, known)
        return known[1]

    def change(self, tow: Tow, let_out: float, speed: float, wanted: float) -> Change:
        """Say what to do with the line so that the lure comes to the wanted depth.

        Parameters
        ----------
        tow : Tow
            The rig.
        let_out : float
            Line out, as read [m].
        speed : float
            Through the water [m/s].
        wanted : float
            Depth [m].
        """
        if abs(self.settled_depth(tow, let_out, speed) - wanted) <= NEAR_ENOUGH:
            return Change(kind="none", let_out_m=let_out, by_m=0.0)
        grain = round(_towable(speed) / SPEED_GRAIN)
        key = (id(tow), round(wanted, 2), grain)
        known = self._changes.get(key)
        if known is None or known[0] is not tow:
            known = (tow, _asked(tow, wanted, grain * SPEED_GRAIN))
            _keep(self._changes, key, known)
        found = known[1]
        if found.let_out_m is None:
            return found
        by = found.let_out_m - let_out
        kind: Literal["let out", "reel"] = "let out" if by > 0.0 else "reel"
        return Change(kind=kind, let_out_m=found.let_out_m, by_m=by)

    def lift(self, lines: Sequence[tuple[Out, LineNow]], speed: float) -> Change:
        """Say how much line in brings lures over the least depth that is known before them.

        Parameters
        ----------
        lines : sequence of (Out, LineNow)
            The lines in trouble.
        speed : float
            Through the water [m/s].
        """
        by = 0.0
        for out, line in lines:
            known = [d for d in (line.bottom_m, *line.ahead.bottom_m) if d is not None]
            goal = min(known, default=0.0) - CLEAR_BY
            change = self.change(out.tow, line.let_out_m, speed, goal) if goal > 0.0 else None
            if change is None or change.by_m is None:
                by = max(by, line.let_out_m)  # bring it in
            else:
                by = max(by, -change.by_m, LEAST_LIFT)
        own = [out.span.rod for out, _ in lines]
        left = max(lines[0][1].let_out_m - by, 0.0) if len(lines) == 1 else None
        return Change(kind="reel", rods=own, by_m=-by, let_out_m=left, latest_s=0.0, lifts=True)


def _keep(known: dict[K, V], key: K, value: V) -> None:
    if len(known) >= MOST_KEPT:
        known.clear()
    known[key] = value


def _towable(speed: float) -> float:
    return min(max(speed, SLOWEST), FASTEST)


def _asked(tow: Tow, wanted: float, speed: float) -> Change:
    try:
        answer = let_out_for(tow, wanted, Setting(speed), draw(tow, 2))
    except NoAnswer as no:
        return Change(kind="none", why=one_line(no))
    return Change(kind="let out", let_out_m=answer.where.let_out / tow.counter_factor)


def chance_low(clearance: Array, depth: Array, high: Array, sd: Array, z: float) -> Array:
    """Give the clearance that is kept but for the chance `z` stands for.

    Parameters
    ----------
    clearance : (m,) array
        Likeliest clearance [m].
    depth, high : (m,) array
        Depth of the lure, and the deep end of its 90 % span [m].
    sd : (m,) array
        Standard error of the bottom [m].
    z : float
        Standard errors.
    """
    line = (high - depth) / HALF_OF_90
    return np.asarray(clearance - z * np.sqrt(line**2 + sd**2))


def ways_out(
    seen: Sequence[Seen],
    boat: Boat,
    bed: Bed,
    water: Bed | None,
    margins: Array,
    seconds: float,
    current: Array | None,
) -> list[Lever]:
    """Find the single changes that keep lines off the bottom, all lines tried together.

    Parameters
    ----------
    seen : sequence of Seen
        All lines that are out, as they are now.
    boat : Boat
        The boat now.
    bed : Bed
        The bottom.
    water : Bed or None
        Where the boat may go, as `towscope.towing.levers.levers` takes it.
    margins : (n,) array
        Clearance to keep of each line's likeliest path [m]: the doubt about line and bottom.
    seconds : float
        How far to look ahead [s].
    current : (k, 3) array or None
        As the engine takes it.
    """
    lines, state = together([(each.lines, each.state) for each in seen])

    def found(want: Array) -> list[Lever]:
        return levers(
            lines,
            state,
            boat,
            bed,
            want=want,
            seconds=seconds,
            top_speed=max(TOP_SPEED, boat.speed),
            radius=RADIUS,
            current=current,
            water=water,
            time_grain=TIME_GRAIN,
        )

    ways = found(margins)
    touching = any(bool(each.ahead.clearance[0, 0] <= 0.0) for each in seen)
    if not touching and (margins > BARELY).any() and any(way.lifts for way in ways):
        # what keeps it off by less, all the way, is better than a lure to be lifted
        barely = found(np.minimum(margins, BARELY))
        if not any(way.lifts for way in barely):
            return barely or ways
    return ways


def as_changes(ways: Sequence[Lever], rods: Sequence[str], out: Sequence[float]) -> list[Change]:
    """Say ways out as things to do, the first to be done first.

    Where several lines are in trouble one hand on the throttle is quicker than a hand at each
    reel.

    Parameters
    ----------
    ways : sequence of Lever
        What `ways_out` found.
    rods : sequence of str
        The lines' rods.
    out : sequence of float
        Their line out, as read [m].
    """
    several = any(len(way.lines) > 1 for way in ways)
    order = ("speed", "reel", "turn") if several else None
    ranked = sorted(ways, key=lambda way: order.index(way.kind)) if order else list(ways)
    return [_as_change(way, rods, out) for way in ranked]


def _as_change(lever: Lever, rods: Sequence[str], out: Sequence[float]) -> Change:
    if lever.kind == "reel":
        own = lever.lines
        return Change(
            kind="reel",
            rods=[rods[i] for i in own],
            by_m=-lever.amount,
            let_out_m=max(out[own[0]] - lever.amount, 0.0) if len(own) == 1 else None,
            latest_s=lever.latest,
            lifts=lever.lifts,
        )
    if lever.kind == "speed":
        return Change(kind="speed", speed_m_s=lever.amount, latest_s=lever.latest)
    return Change(kind="turn", turn_deg=math.degrees(lever.amount))
