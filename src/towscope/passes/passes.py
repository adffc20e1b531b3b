"""Boat's ways and let-outs solved for stretches of edge: passes that put the lure on it.

For each chosen stretch of edge: the boat's way and the let-outs that keep the lure, not the boat,
over the edge at the wanted height above the bottom; the way round to the next; and the risk of
touching, at the errors of bottom, line and helm.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from towscope.arrays import Array
from towscope.bed.bed import LakeBed
from towscope.bed.edges import resample
from towscope.constants import FOOT, MPH
from towscope.errors import InputError, NoAnswer
from towscope.passes import bottom_risk
from towscope.passes.bottom_risk import BottomRisk, risk
from towscope.passes.candidates import SHORTEST, Stretch, steerable
from towscope.passes.let_out_schedule import DEEPER, change_cost, let_outs, wanted_depths
from towscope.passes.safe_water import ON_EDGE, over_water
from towscope.passes.steering import (
    KNOT,
    SEGMENT,
    STEP,
    CourseLine,
    FollowedWay,
    Hand,
    Response,
    SteeredWay,
    Steps,
    on_line,
    responses,
)
from towscope.passes.turns import LEAVING, FollowedTurn, Pose, Ways, shortest
from towscope.progress import Detail, Progress, details, unheard
from towscope.towing.moving import Bed as Bottom
from towscope.towing.moving import Lines, State
from towscope.towing.questions import let_out_for
from towscope.towing.tow import Setting, Tow

ROUNDS = 3  # of let-outs
BENDS = (0.0, 1 / 150.0, -1 / 150.0, 1 / 75.0, -1 / 75.0)  # [1/m]; of run-in and run-out
TRIM = 10.0  # [m]; by which a stretch is cut where the boat could not go on
ROOM = 35.0  # [m]; past run-in and run-out, to come round in
MARGIN = 40.0  # [m]; of bottom kept round a pass
SAFE = 0.10  # a pass with a bottom hit likelier than this is not called safe
AROUND = 320.0  # [m]; how far off its ends a way round is looked for
LEAST_BAND, BAND_SHARE = 1.0, 0.5  # [m], of the height asked; farther off it is no pass
RAISES = 7  # tries at a higher clearance
BAND = 0.3 * MPH  # [m/s]; how much faster the boat may go in turns
PREPARING, LEADING = 0.05, 0.30  # where asking and finding ways end, of two plans timed

"""Called with the share done (0 to 1) and what is being done; may raise to stop it."""


@dataclass(frozen=True)
class Wishes:
    """What is asked of the passes.

    Attributes
    ----------
    clearance : float
        Height of the lure above the bottom [m].
    speed : float
        Speed over ground [m/s].
    most_out : float
        Most line past the rod tip [m].
    grain : float
        Let-outs are multiples of this [m].
    band : float
        How much faster the boat may go in turns [m/s].
    steering, speed_error : float
        What the boat keeps within of her way [m] and of her speed [m/s] nine times in ten.
    limit : float
        A bottom hit likelier than this is not called safe.
    lower_risk : bool
        Whether to raise the lure until it is safe.
    draws : int
        Versions that the risk is taken from.
    outside : float
        How far to the deep side of the edge the lure is to run, no deeper than over it [m].
    hand : Hand
        How boat and line are worked.
    """

    clearance: float
    speed: float
    most_out: float = math.inf
    grain: float = 5.0 * FOOT
    band: float = BAND
    steering: float = bottom_risk.STEERING
    speed_error: float = bottom_risk.SPEED
    limit: float = SAFE
    lower_risk: bool = False
    draws: int = bottom_risk.DRAWS
    outside: float = 0.0
    hand: Hand = field(default_factory=Hand)

    def __post_init__(self) -> None:
        if not 0.05 <= self.clearance <= 100.0:
            raise InputError(f"{self.clearance:g} m off bottom; expected 0.05 to 100 m")
        if not 0.0 < self.limit < 1.0:
            raise InputError(f"a risk of {self.limit:.0%}; expected above 0 and below 100 %")


@dataclass(frozen=True)
class Pass:
    """One pass.

    Attributes
    ----------
    stretch : Stretch
        The stretch of edge, as it is run: it may have been cut at its ends.
    trial : FollowedWay
        The boat's way along it, and the lure behind it, by best estimate.
    clearance : float
        Height above the bottom that it was planned for [m].
    aim : (m,) array
        Depth at which the lure should run at each moment, where it then is [m].
    height : (m,) array
        Height of the lure above the bottom at each moment [m].
    link : FollowedTurn or None
        The way round to the next pass; None where there is none with the lines out.
    risk : BottomRisk
        Of the pass: run-in, stretch and run-out.
    link_risk : BottomRisk or None
        Of the way round.
    cut : float
        How much was cut off the stretch because the boat could not go on [m].
    """

    stretch: Stretch
    trial: FollowedWay
    clearance: float
    aim: Array
    height: Array
    link: FollowedTurn | None
    risk: BottomRisk
    link_risk: BottomRisk | None
    cut: float

    @property
    def on_stretch(self) -> npt.NDArray[np.bool_]:
        """Moments at which the lure is on the stretch."""
        return self.trial.on_stretch()

    @property
    def heights(self) -> tuple[float, float]:
        """Least and greatest height of the lure above the bottom on the stretch [m]."""
        mine = self.height[self.on_stretch]
        return float(mine.min()), float(mine.max())

    @property
    def depths(self) -> tuple[float, float]:
        """Least and greatest depth of the lure on the stretch [m]."""
        mine = self.trial.passage.depth[0][self.on_stretch]
        return float(mine.min()), float(mine.max())

    @property
    def within(self) -> float:
        """Share of the stretch on which the lure is within 0.3 m (a foot) of the planned height."""
        mine = self.on_stretch
        off = self.aim[mine] - self.trial.passage.depth[0][mine]
        return float(np.mean(np.abs(off) <= 0.3))


@dataclass(frozen=True)
class _Plan:
    """A pass while it is made."""

    stretch: Stretch
    line: CourseLine
    u: Array
    cut: float
    lines: Lines
    swing: Response
    sinking: Response
    out: float


def plan(
    bed: LakeBed,
    tow: Tow,
    stretches: list[Stretch],
    wishes: Wishes,
    *,
    progress: Progress = unheard,
    length: Callable[[float], str] = "{:.1f} m".format,
) -> tuple[list[Pass], list[str]]:
    """Plan passes along stretches of edge, the first as given, each next the nearest left.

    Parameters
    ----------
    bed : LakeBed
        The bottom.
    tow : Tow
        The rig.
    stretches : list of Stretch
        What to run along.
    wishes : Wishes
        What is asked.
    progress : callable, optional
        Called with the share done and a line on what is being done; may raise to stop it.
    length : callable
        Writes a length for the messages.

    Returns
    -------
    tuple
        The passes in the order to run them; and what was left out, and why, in plain words.

    Raises
    ------
    NoAnswer
        Where no stretch can be run so.
    """
    left_out: list[str] = []
    ready: list[_Plan] = []
    for k, stretch in enumerate(stretches):
        share = PREPARING * k / len(stretches)
        progress(share, f"stretch {k + 1} of {len(stretches)}: asking the engine")
        try:
            ready.append(_prepare(bed, tow, stretch, wishes, length))
        except NoAnswer as why:
            left_out.append(f"a stretch of {length(stretch.length)}: {why}")
    if not ready:
        raise NoAnswer(left_out[0] if left_out else "no stretch of edge to run along")
    ready = _in_order(ready)
    bottoms = [_bottom(bed, each.line) for each in ready]
    done: list[tuple[FollowedWay, float]] = []
    for k, each in enumerate(ready):
        line = f"pass {k + 1} of {len(ready)}: finding the boat's way"
        first_share = PREPARING + (LEADING - PREPARING) * k / len(ready)
        done.append(_led(bed, bottoms[k], each, wishes, details(progress, first_share, line)))
    kept = []
    for each, bottom, (trial, clearance) in zip(ready, bottoms, done, strict=True):
        why_not = _no_pass(bed, each, trial, clearance, wishes, length)
        if why_not:
            left_out.append(f"a stretch of {length(each.stretch.length)}: {why_not}")
        else:
            kept.append((each, bottom, (trial, clearance)))
    if not kept:
        raise NoAnswer(left_out[0])
    ready, bottoms, done = ([part[k] for part in kept] for k in range(3))  # type: ignore[assignment]
    found: list[Pass] = []
    state: State | None = None
    first = done[0][0]
    for k, (each, (trial, clearance)) in enumerate(zip(ready, done, strict=True)):
        if state is not None:  # as it really begins: behind the turn before it
            trial = on_line(each.lines, trial.way, wishes.hand, bottoms[k], each.swing, state=state)
        share = LEADING + (1.0 - LEADING) * k / len(ready)
        line = f"pass {k + 1} of {len(ready)}: the way round, and the risk"
        progress(share, line)
        after = done[k + 1][0] if k + 1 < len(done) else first
        own = _risk_of(bed, bottoms[k], tow, trial, wishes)
        need = max(wishes.clearance, own.best - own.corners + 0.2)
        round_, turn = _round(bed, tow, trial, after, need, wishes, details(progress, share, line))
        state = round_.state if round_ is not None and k + 1 < len(done) else None
        aim = _aims(bed, trial, clearance, _deepest(each.stretch, wishes))
        height = heights(bed, trial)
        found.append(Pass(each.stretch, trial, clearance, aim, height, round_, own, turn, each.cut))
    return found, left_out


def band(clearance: float) -> float:
    """Give how far off the height that was asked a pass may be for half of its way [m]."""
    return max(LEAST_BAND, BAND_SHARE * clearance)


def _no_pass(
    bed: LakeBed,
    each: _Plan,
    trial: FollowedWay,
    clearance: float,
    wishes: Wishes,
    length: Callable[[float], str],
) -> str:
    """Say why this is no pass, and what can be reached there; nothing where it is one."""
    if not over_water(bed, trial.path[:, 0], trial.path[:, 1], ON_EDGE, 0.0):
        return "the boat would have to leave the water that is known and deep enough for her"
    mine = trial.on_stretch()
    if not mine.any():
        return "the lure does not come onto it"
    off = _aims(bed, trial, clearance, _deepest(each.stretch, wishes))[mine]
    off = off - trial.passage.depth[0][mine]  # too high is positive
    if float(np.median(np.abs(off))) <= band(clearance):
        return ""
    height, depth = heights(bed, trial)[mine], trial.passage.depth[0][mine]
    outs = trial.way.out.value
    low, high = float(height.min()), float(height.max())
    least = f"{length(low) if low > 0.0 else 'on the bottom'} to {length(high)} off it"
    if trial.astray > 0.5 * band(clearance) + 5.0:
        cause = (
            f"the lure strays {length(trial.astray)} off the line, which bends too tightly for it"
        )
    elif float(np.median(off)) > 0.0 and float(outs.max()) >= wishes.most_out - wishes.grain:
        cause = f"it would take more line than the {length(wishes.most_out)} that may be out"
    else:
        low, high = np.quantile(height + depth, [0.05, 0.95])
        cause = (
            f"the bottom under it changes from {length(float(low))} to {length(float(high))} "
            "faster than line can be changed"
        )
    return (
        f"no pass: asked {length(clearance)} off bottom, within {length(band(clearance))} of that "
        f"for half of its way. What can be reached there: {least}, lure "
        f"{length(float(depth.min()))} to {length(float(depth.max()))} deep, because {cause}"
    )


def _prepare(
    bed: LakeBed, tow: Tow, stretch: Stretch, wishes: Wishes, length: Callable[[float], str]
) -> _Plan:
    """Ask the engine what is needed, and find a run-in and run-out that float the boat."""
    setting = Setting(wishes.speed)
    height = wishes.clearance
    if wishes.outside:
        stretch = _moved_out(stretch, wishes.outside)
    depths = bed.sample(stretch.x, stretch.y)[:, 0] - height
    middle = float(np.median(np.minimum(depths, _deepest(stretch, wishes))))
    if middle <= 0.3:
        raise NoAnswer(
            f"{length(height)} off bottom over {length(middle + height)} of water "
            f"leaves the lure "
            "no depth to run at"
        )
    where = let_out_for(tow, middle, setting).where
    if where.let_out > min(wishes.most_out, tow.length):
        raise NoAnswer(
            f"a depth of {length(middle)} takes {length(where.let_out)} of line; at most "
            f"{length(min(wishes.most_out, tow.length))} may be out"
        )
    out = max(round(where.let_out / wishes.grain), 1) * wishes.grain
    lay = where.layback
    run_in, run_out = 0.5 * lay + 20.0, lay + 8.0
    cut = 0.0
    x, y = stretch.x, stretch.y
    while True:
        head = _best_end(bed, x[::-1], y[::-1], run_in + ROOM, run_in + lay)
        tail = _best_end(bed, x, y, run_out + ROOM, 0.0)
        if head is not None and tail is not None:
            break
        drop = max(round(TRIM / float(np.hypot(x[1] - x[0], y[1] - y[0]))), 1)
        first, last = (drop if head is None else 0), (drop if tail is None else 0)
        cut += TRIM * ((head is None) + (tail is None))
        x, y = x[first : len(x) - last], y[first : len(y) - last]
        if len(x) < 4 or float(np.hypot(np.diff(x), np.diff(y)).sum()) < SHORTEST:
            raise NoAnswer(
                f"the boat has no water to run in and out on ({length(run_in)} before it and "
                f"{length(run_out)} after it)"
            )
    line = CourseLine.through(x, y, run_in + lay + 40.0, run_out + 60.0, -head, tail)
    u: Array = -run_in + KNOT * np.arange(
        math.ceil((run_in + line.length + run_out) / KNOT) + 1, dtype=np.float64
    )
    lines = Lines.of([tow], segment=SEGMENT, mounts=np.array([[*wishes.hand.mount, tow.tip]]))
    swing, sinking = responses(lines, out, wishes.speed, wishes.hand)
    return _Plan(replace(stretch, x=x, y=y), line, u, cut, lines, swing, sinking, out)


def _moved_out(stretch: Stretch, outside: float) -> Stretch:
    """Move the line of a stretch to the deep side."""
    tx, ty = np.gradient(stretch.x), np.gradient(stretch.y)
    size = np.maximum(np.hypot(tx, ty), 1e-9)
    by = outside if stretch.deeper_side == "port" else -outside
    x, y = stretch.x - by * ty / size, stretch.y + by * tx / size
    x, y = steerable(*resample(x, y, 2.0), max(0.9 * min(stretch.radius, 1e3), 10.0))
    return replace(stretch, x=x, y=y)


def _deepest(stretch: Stretch, wishes: Wishes) -> float:
    """Give the greatest depth wanted [m]: off the edge the lure runs as deep as over it."""
    return stretch.depth - wishes.clearance if wishes.outside else math.inf


def _best_end(bed: LakeBed, x: Array, y: Array, boat: float, lure: float) -> float | None:
    """Give the bend of a run-on past a line's end that keeps the boat afloat; None without one.

    Of those that do, the one with the deepest bottom for so much of the way as the lure runs on
    it, up to the depth of the edge itself; straight is better than bent.
    """
    best: tuple[float, float] | None = None
    here = float(bed.sample(x[-1:], y[-1:])[0, 0])
    for bend in BENDS:
        line = CourseLine.through(x, y, 1.0, max(boat, lure), 0.0, bend)
        past = line.u - line.length
        own = (past > 0.0) & (past <= boat)
        if not over_water(bed, line.x[own], line.y[own], ON_EDGE, 0.0):
            continue
        under = own if lure == 0.0 else (past > 0.0) & (past <= lure)
        depth = bed.sample(line.x[under], line.y[under])[:, 0]
        worth = float(np.minimum(depth / max(here, 0.1), 1.0).mean()) - 20.0 * abs(bend)
        if best is None or worth > best[0]:
            best = worth, bend
    return None if best is None else best[1]


def _in_order(ready: list[_Plan]) -> list[_Plan]:
    """Put passes one after the other so that little is run between them."""
    left = ready[1:]
    order = [ready[0]]
    while left:
        a = _pose(order[-1].line, float(order[-1].u[-1]))
        ways = [shortest(a, _pose(p.line, float(p.u[0])), 35.0) for p in left]
        far = [sum(w[0][1]) if w else math.inf for w in ways]
        order.append(left.pop(int(np.argmin(far))))
    return order


def _pose(line: CourseLine, u: float) -> Pose:
    x, y, tx, ty = (float(v[0]) for v in line.on(np.array([u])))
    return x, y, math.atan2(tx, ty)


def _bottom(bed: LakeBed, *ways: CourseLine | Array) -> Bottom:
    """Cut the bottom about some ways out, as the engine takes it."""
    f = bed.frame
    xs = np.concatenate([w.x if isinstance(w, CourseLine) else w[:, 0] for w in ways])
    ys = np.concatenate([w.y if isinstance(w, CourseLine) else w[:, 1] for w in ways])

    def span(v: Array, low: float, count: int) -> slice:
        a = int((v.min() - MARGIN - low) / f.cell)
        b = int((v.max() + MARGIN - low) / f.cell) + 2
        a = min(max(a, 0), count - 2)
        return slice(a, max(min(b, count), a + 2))

    rows, columns = span(ys, f.south, f.rows), span(xs, f.west, f.columns)
    depth = np.ascontiguousarray(bed.surface[rows, columns], dtype=float)
    return Bottom(f.west + columns.start * f.cell, f.south + rows.start * f.cell, f.cell, depth)


def _led(
    bed: LakeBed, bottom: Bottom, each: _Plan, wishes: Wishes, detail: Detail
) -> tuple[FollowedWay, float]:
    """Find way and let-outs; higher above the bottom where the risk must be lower."""
    clearance = wishes.clearance
    trial: FollowedWay | None = None
    for _ in range(RAISES if wishes.lower_risk else 1):
        trial = _at_height(bed, bottom, each, wishes, clearance, trial, detail)
        if not wishes.lower_risk:
            break
        detail("weighing the risk at this height" if clearance == wishes.clearance else "higher up")
        more = _risk_of(bed, bottom, each.lines.tows[0], trial, wishes).short_of(wishes.limit)
        if more == 0.0:
            break
        clearance += 1.15 * more + 0.1
    assert trial is not None
    return trial, clearance


def _at_height(
    bed: LakeBed,
    bottom: Bottom,
    each: _Plan,
    wishes: Wishes,
    clearance: float,
    warm: FollowedWay | None,
    detail: Detail,
) -> FollowedWay:
    def beat(_: str) -> None:  # by it the work can be stopped; what it says is of no use here
        detail("")

    tow = each.lines.tows[0]
    way = SteeredWay(
        each.line, each.u, np.zeros(len(each.u)), Steps.held(wishes.speed), Steps.held(each.out)
    )
    if warm is not None:
        way = warm.way
    trial = on_line(each.lines, way, wishes.hand, bottom, each.swing, detail=beat)
    places = np.arange(each.u[0] - 200.0, each.line.length + 10.0, KNOT)
    places = places[places >= each.line.u[0]]
    deepest, change = _deepest(each.stretch, wishes), change_cost(clearance)
    wanted = np.minimum(wanted_depths(bed, each.line, places, clearance), deepest)
    leader = float(tow.pieces[0, 0]) if len(tow.names) > 1 else 3.0
    most = min(wishes.most_out, tow.length, _enough(tow, float(wanted.max()), wishes))
    best = trial, _unevenness(trial, _aims(bed, trial, clearance, deepest), change)
    for _ in range(ROUNDS):
        steps = let_outs(trial, wanted, places, each.sinking, wishes.grain, leader, most, change)
        now = trial.way.out
        if len(steps.value) == len(now.value) and np.allclose(steps.value, now.value) and (
            np.allclose(steps.at[1:], now.at[1:], atol=2.0 * KNOT)
        ):  # fmt: skip
            break
        way = replace(trial.way, out=steps)
        trial = on_line(each.lines, way, wishes.hand, bottom, each.swing, detail=beat)
        worth = _unevenness(trial, _aims(bed, trial, clearance, deepest), change)
        if worth < best[1]:
            best = trial, worth
    return best[0]


def _enough(tow: Tow, depth: float, wishes: Wishes) -> float:
    """Give the let-out for the greatest depth wanted, rounded up: more is only a hurry."""
    try:
        out = let_out_for(tow, depth, Setting(wishes.speed)).where.let_out
    except NoAnswer:
        return math.inf
    return math.ceil(out / wishes.grain) * wishes.grain


def _unevenness(trial: FollowedWay, aim: Array, change: float) -> float:
    """Judge a way: squared errors of height, and its changes of line [m^3].

    On the stretch too low counts more than too high; off it only too low counts at all.
    """
    off = aim - trial.passage.depth[0]
    mine = trial.on_stretch()
    before = trial.lure_u < 0.0
    off = np.where(off < 0.0, DEEPER * off, np.where(mine, off, 0.0))
    each = float(np.median(np.diff(trial.lure_u)))
    total = float((off[mine | before] ** 2).sum()) * each
    return total + change * trial.way.out.changes


def _aims(bed: LakeBed, trial: FollowedWay, clearance: float, deepest: float) -> Array:
    """Give the depth at which the lure should run where it is at each moment [m]."""
    depth = trial.passage.depth[0] + heights(bed, trial)
    return np.asarray(np.minimum(depth - clearance, deepest))


def heights(bed: LakeBed, trial: FollowedWay) -> Array:
    """Give the lure's height above the bottom at each moment [m]."""
    lure = trial.passage.lure[0]
    return np.asarray(bed.sample(lure[:, 0], lure[:, 1])[:, 0] + lure[:, 2])


def _round(
    bed: LakeBed,
    tow: Tow,
    trial: FollowedWay,
    after: FollowedWay,
    need: float,
    wishes: Wishes,
    detail: Detail,
) -> tuple[FollowedTurn | None, BottomRisk | None]:
    """Find a way round that is safe: nothing is gained near the bottom there."""
    a, b = _end(trial.path[-1]), _end(after.path[0])
    corners = np.array([[a[0], a[1]], [b[0], b[1]]])
    bottom = _bottom(bed, np.vstack([corners - AROUND, corners + AROUND]))
    outs = read_outs(trial)
    leader = float(tow.pieces[0, 0]) if len(tow.names) > 1 else 3.0
    ways = Ways(
        bed, bottom, tow, trial.passage.state, a, b,
        (float(outs[-1]), float(after.way.out.value[0])),
        wishes.speed, wishes.band, wishes.clearance, wishes.grain, leader, wishes.hand,
    )  # fmt: skip
    found: FollowedTurn | None = None
    judged: BottomRisk | None = None
    more = 0.0
    for _ in range(RAISES):
        detail("")
        way = ways.best(need)
        if way is None:
            break
        if way is not found:
            found = way
            judged, more = _risk_round(bed, bottom, tow, trial, way, outs, wishes)
        if more == 0.0:
            break
        need += more + 0.05
    return found, judged


def _risk_round(
    bed: LakeBed,
    bottom: Bottom,
    tow: Tow,
    trial: FollowedWay,
    way: FollowedTurn,
    outs: Array,
    wishes: Wishes,
) -> tuple[BottomRisk, float]:
    """Judge a way round; give also how much more clearance would make it safe [m]."""
    # it begins behind the last of the pass, so that the line is bent as it will be
    lead = max(len(trial.path) - round(80.0 / STEP), 0)
    time = np.concatenate([trial.passage.time[lead:], trial.passage.time[-1] + way.time[1:]])
    path = np.vstack([trial.path[lead:], way.path[1:]])
    path[:, 2] = np.unwrap(path[:, 2])
    done = float(np.hypot(*np.diff(trial.path[lead:, :2], axis=0).T).sum())
    judged, later = risk(
        bed, bottom, tow, path, time, np.concatenate([outs[lead:], way.out[1:]]),
        wishes.hand.mount, current=wishes.hand.current, draws=wishes.draws,
        steering=wishes.steering, speed=wishes.speed_error,
        parts=(done, done + LEAVING),
    )  # fmt: skip
    return judged, later.short_of(wishes.limit)


def _end(boat: Array) -> Pose:
    return float(boat[0]), float(boat[1]), float(boat[2])


def read_outs(trial: FollowedWay) -> Array:
    """Give the line out as read at each moment [m]."""
    true = trial.passage.let_out[0]
    return np.asarray(true * (float(trial.way.out.value[0]) / true[0]))


def _risk_of(
    bed: LakeBed, bottom: Bottom, tow: Tow, trial: FollowedWay, wishes: Wishes
) -> BottomRisk:
    (judged,) = risk(
        bed, bottom, tow, trial.path, trial.passage.time, read_outs(trial), wishes.hand.mount,
        current=wishes.hand.current, draws=wishes.draws, steering=wishes.steering,
        speed=wishes.speed_error,
    )  # fmt: skip
    return judged
