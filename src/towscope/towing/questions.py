"""How much line for this depth, how deep with this line, how fast for both: answers with intervals.

Each question is one call on the engine or an inversion of it, asked once for the tow as stated
and again for many equally likely versions of it. Figures are SI throughout.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from towscope.arrays import Array
from towscope.errors import NoAnswer
from towscope.towing.steady import (
    ANSWER,
    DEEPEST,
    DEPTH,
    LAYBACK,
    LENGTH,
    LET_OUT,
    MAX_STEPS,
    RELATIVE,
    ROW,
    SIDE,
    TENSION,
    WET,
    reach,
    settle,
    shape,
    sweep,
)
from towscope.towing.tow import Draws, Setting, Tow, draw

Pair = tuple[float, float]

SLOWEST, FASTEST = 0.2, 4.5  # [m/s]; half a mile per hour to ten: what a boat tows at
LEVEL = 0.90
# Error allowed in one step of a version drawn: it shifts an end of an interval by less than a
# thousandth of the depth, where the interval itself is a tenth of it or more.
DRAWN = 1e-5
CLOSE = 1e-6  # of a let-out, where a version's depth is looked for in a current by depth
TRIES = 12
FEET = 0.3048
MPH = 0.44704


@dataclass(frozen=True)
class Where:
    """Where one tow runs at one setting.

    Attributes
    ----------
    let_out : float
        Line past the rod tip [m].
    depth, deepest : float
        Depth of the lure, and of the deepest point of lure and line [m].
    layback, side : float
        How far the lure runs behind the rod tip, and to starboard of it [m].
    tension : float
        Pull at the rod tip [N].
    wet : float
        Line in the water [m].
    share : float
        Greatest part of its strength that any piece of line carries; NaN where none is known.
    """

    let_out: float
    depth: float
    deepest: float
    layback: float
    side: float
    tension: float
    wet: float
    share: float


@dataclass(frozen=True)
class Answer:
    """Where a tow runs, how sure that is, and what a small change does.

    Attributes
    ----------
    where : Where
        The tow as stated.
    speed : float
        Speed of the boat over ground [m/s].
    depth_90, let_out_90, speed_90 : tuple of float
        Spans that hold the depth at this let-out, the let-out for this depth, and the speed for
        both, with 90 % probability [m, m, m/s]; NaN where the question does not ask.
    per_speed : float
        Depth gained for each unit of speed, mostly negative [m per m/s].
    per_line : float
        Depth gained for each unit of line [m per m].
    other_speeds : tuple of float
        Further speeds that answer the same question [m/s].
    within : float
        Share of the draws for which the question had an answer.
    """

    where: Where
    speed: float
    depth_90: Pair
    let_out_90: Pair = (np.nan, np.nan)
    speed_90: Pair = (np.nan, np.nan)
    per_speed: float = np.nan
    per_line: float = np.nan
    other_speeds: tuple[float, ...] = field(default_factory=tuple)
    within: float = 1.0


def let_out_for(tow: Tow, depth: float, setting: Setting, draws: Draws | None = None) -> Answer:
    """Answer "how much line puts this lure at this depth at this speed".

    Parameters
    ----------
    tow : Tow
        The rig.
    depth : float
        Wanted depth of the lure [m].
    setting : Setting
        Speed and current.
    draws : Draws, optional
        Versions of the tow to take the intervals from; by default its stated uncertainty.

    Returns
    -------
    Answer
        With `depth_90` for that let-out and `let_out_90` for that depth.

    Raises
    ------
    NoAnswer
        Where the rig does not reach the depth at that speed; says what it reaches, and when.
    """
    path, out = _room()
    steps = _reach(tow, depth, setting, path, out)
    if steps == 0 or not out[LET_OUT] <= tow.length:
        raise NoAnswer(_out_of_reach(tow, depth, setting))
    where = _where(tow, out, path, steps)
    draws = draw(tow) if draws is None else draws
    needed = _draw_let_outs(tow, depth, setting, draws)
    reached = needed <= tow.length
    # A version that never gets there needs more line than there is.
    span = _span(np.where(reached, needed, np.inf))
    return _with_levers(
        tow,
        setting,
        where,
        draws,
        let_out_90=(span[0], min(span[1], tow.length)),
        within=float(np.mean(reached)),
    )


def depth_of(tow: Tow, let_out: float, setting: Setting, draws: Draws | None = None) -> Answer:
    """Answer "how deep does it run with this much line at this speed".

    Parameters
    ----------
    tow : Tow
        The rig.
    let_out : float
        Line past the rod tip [m].
    setting : Setting
        Speed and current.
    draws : Draws, optional
        Versions of the tow to take the interval from.

    Returns
    -------
    Answer
        With `depth_90`.

    Raises
    ------
    NoAnswer
        Where the rig has not that much line, or the lure does not sink on it.
    """
    where = where_at(tow, let_out, setting)
    return _with_levers(tow, setting, where, draw(tow) if draws is None else draws)


def speed_for(
    tow: Tow, let_out: float, depth: float, setting: Setting, draws: Draws | None = None
) -> Answer:
    """Answer "how fast must I go to run this deep on this much line".

    Parameters
    ----------
    tow : Tow
        The rig.
    let_out, depth : float
        Line past the rod tip, and wanted depth [m].
    setting : Setting
        The current; its speed is only where the search starts from, and of several answers the
        nearest to it is given first.
    draws : Draws, optional
        Versions of the tow to take the intervals from.

    Returns
    -------
    Answer
        With `speed_90` for that depth, and `depth_90` at that speed.

    Raises
    ------
    NoAnswer
        Where no speed does it.
    """
    _enough_line(tow, let_out)
    speeds = np.linspace(SLOWEST, FASTEST, 87)
    depths = np.array([_settled(tow, let_out, setting.at_speed(v))[DEPTH] for v in speeds])
    gaps = depths - depth
    roots = [
        _speed_between(tow, let_out, depth, setting, speeds[i], speeds[i + 1])
        for i in range(len(speeds) - 1)
        if gaps[i] == 0.0 or gaps[i] * gaps[i + 1] < 0.0
    ]
    if not roots:
        best = int(np.argmin(np.abs(gaps)))
        raise NoAnswer(
            f"no speed runs this lure {depth:.1f} m deep on {let_out:.1f} m of line; nearest is "
            f"{depths[best]:.1f} m at {speeds[best]:.2f} m/s"
        )
    roots.sort(key=lambda v: abs(v - setting.speed))
    speed = roots[0]
    draws = draw(tow) if draws is None else draws
    answer = _with_levers(
        tow, setting.at_speed(speed), where_at(tow, let_out, setting.at_speed(speed)), draws
    )
    near = np.linspace(max(SLOWEST, 0.5 * speed), min(FASTEST, 1.6 * speed), 29)
    grid = np.column_stack([_draw_depths(tow, let_out, setting.at_speed(v), draws) for v in near])
    found = np.array([_crossing(near, row, depth, speed) for row in grid])
    return Answer(
        answer.where,
        speed,
        answer.depth_90,
        answer.let_out_90,
        _span(found),
        answer.per_speed,
        answer.per_line,
        tuple(sorted(roots[1:])),
        float(np.mean(np.isfinite(found))),
    )


@dataclass(frozen=True)
class Table:
    """Let-outs by depth and speed.

    Attributes
    ----------
    depths, speeds : (n,), (m,) array
        What was asked [m, m/s].
    let_out : (n, m) array
        Line to let out [m]; NaN where the rig does not get there.
    low, high : (n, m) array
        The 90 % interval of it [m].
    """

    depths: Array
    speeds: Array
    let_out: Array
    low: Array
    high: Array


def table(
    tow: Tow,
    depths: npt.ArrayLike,
    speeds: npt.ArrayLike,
    setting: Setting,
    draws: Draws | None = None,
) -> Table:
    """Answer `let_out_for` for every depth at every speed.

    Parameters
    ----------
    tow : Tow
        The rig.
    depths, speeds : (n,), (m,) array_like
        Depths of the lure [m], speeds over ground [m/s].
    setting : Setting
        The current.
    draws : Draws, optional
        Versions of the tow to take the intervals from.

    Returns
    -------
    Table
        The let-outs.
    """
    depths, speeds = np.asarray(depths, float), np.asarray(speeds, float)
    draws = draw(tow) if draws is None else draws
    shape_ = (len(depths), len(speeds))
    middle, low, high = np.full(shape_, np.nan), np.full(shape_, np.nan), np.full(shape_, np.nan)
    path, out = _room()
    for j, speed in enumerate(speeds):
        at = setting.at_speed(float(speed))
        for i, depth in enumerate(depths):
            if _reach(tow, depth, at, path, out) == 0 or not out[LET_OUT] <= tow.length:
                continue
            middle[i, j] = out[LET_OUT]
            needed = _draw_let_outs(tow, float(depth), at, draws)
            needed = np.where(needed <= tow.length, needed, np.inf)
            low[i, j], high[i, j] = _span(needed)
    return Table(depths, speeds, middle, low, np.minimum(high, tow.length))


def where_at(tow: Tow, let_out: float, setting: Setting) -> Where:
    """Where the tow as stated runs with a let-out, no intervals.

    Raises
    ------
    NoAnswer
        Where the rig has not that much line, or the lure does not sink on it.
    """
    _enough_line(tow, let_out)
    out = _settled(tow, let_out, setting)
    if not out[DEPTH] > 0.0:
        raise NoAnswer(
            f"the lure stays at the surface with {let_out:.1f} m of line at {setting.speed:.2f} m/s"
        )
    path, fresh = _room()
    steps = _reach(tow, float(out[DEPTH]), setting, path, fresh)
    return _where(tow, out, path, steps)


def depths_by_let_out(tow: Tow, let_outs: npt.ArrayLike, setting: Setting) -> Array:
    """Depth of the lure for every let-out, in one sweep where the current is even.

    Parameters
    ----------
    tow : Tow
        The rig.
    let_outs : (n,) array_like
        Line past the rod tip, rising [m].
    setting : Setting
        Speed and current.

    Returns
    -------
    (n, 7) array
        Answers, columns as `towscope.towing.steady` names them.
    """
    let_outs = np.ascontiguousarray(let_outs, float)
    answers = np.empty((len(let_outs), ANSWER))
    flow = setting.flow()
    if len(flow) == 1 and len(let_outs) > 1:
        sweep(
            tow.pieces,
            tow.lure,
            tow.medium,
            flow,
            setting.speed,
            tow.tip,
            let_outs,
            RELATIVE,
            answers,
        )
    else:
        for row, let_out in zip(answers, let_outs, strict=True):
            row[:] = _settled(tow, float(let_out), setting)
    return answers


def line_shape(tow: Tow, let_out: float, setting: Setting, spacing: float = 0.5) -> Array:
    """Points of the line from the lure to the rod tip.

    Parameters
    ----------
    tow : Tow
        The rig.
    let_out : float
        Line past the rod tip [m].
    setting : Setting
        Speed and current.
    spacing : float
        Distance between points along the line [m], about.

    Returns
    -------
    (n, 4) array
        Length from the lure, distance behind the rod tip, to starboard of it, and depth below the
        surface [m]; the last point is the rod tip.

    Raises
    ------
    NoAnswer
        Where the rig has not that much line, or the lure does not sink on it.
    """
    where = where_at(tow, let_out, setting)
    path, out = _room()
    steps = _reach(tow, where.depth, setting, path, out)
    points = shape(tow.pieces, path, steps, min(where.wet, float(out[WET])), spacing)
    line = np.column_stack(
        [
            points[:, 0],
            where.layback - points[:, 1],
            points[:, 2] + where.side,
            where.depth - points[:, 3],
        ]
    )
    return np.vstack([line, [let_out, 0.0, 0.0, -tow.tip]])


def _room() -> tuple[Array, Array]:
    return np.empty((MAX_STEPS, ROW)), np.empty(ANSWER)


def _reach(tow: Tow, depth: float, setting: Setting, path: Array, out: Array) -> int:
    return reach(
        tow.pieces,
        tow.lure,
        tow.medium,
        setting.flow(),
        setting.speed,
        tow.tip,
        depth,
        RELATIVE,
        path,
        out,
    )


def _settled(tow: Tow, let_out: float, setting: Setting) -> Array:
    path, out = _room()
    settle(
        tow.pieces,
        tow.lure,
        tow.medium,
        setting.flow(),
        setting.speed,
        tow.tip,
        let_out,
        RELATIVE,
        path,
        out,
    )
    return out


# The draws are gone through one by one: a call costs a tenth of what it computes, and a kernel of
# its own for many at once would have to be loaded by every short command.


def _draw_let_outs(tow: Tow, depth: float, setting: Setting, draws: Draws) -> Array:
    """Let-out, as it is read, that each draw needs for a depth; NaN where it never gets there."""
    path, out = _room()
    needed = np.empty(len(draws))
    for j, flow in enumerate(draws.flows(setting)):
        _reach_drawn(tow, draws, j, flow, setting.speed, depth, path, out)
        needed[j] = out[LET_OUT]
    return needed / draws.let_out_scale if draws.let_out_scale.size else needed


def _draw_depths(tow: Tow, let_out: float, setting: Setting, draws: Draws) -> Array:
    """Depth that each draw runs at with a let-out, as it is read."""
    path, out = _room()
    depths = np.empty(len(draws))
    outs = let_out * (draws.let_out_scale if draws.let_out_scale.size else np.ones(len(draws)))
    guess = float("nan")
    for j, flow in enumerate(draws.flows(setting)):
        goal = min(float(outs[j]), tow.length)
        if len(flow) > 1:  # the depth is looked for: begin where the last version's was
            found = _depth_near(tow, draws, j, flow, setting.speed, goal, guess, path, out)
            if np.isfinite(found):
                depths[j] = guess = found
                continue
        settle(
            draws.pieces[j],
            draws.lures[j],
            tow.medium,
            flow,
            setting.speed,
            tow.tip,
            goal,
            DRAWN,
            path,
            out,
        )
        depths[j] = guess = out[DEPTH]
    return depths


def _depth_near(
    tow: Tow,
    draws: Draws,
    j: int,
    flow: Array,
    speed: float,
    let_out: float,
    guess: float,
    path: Array,
    out: Array,
) -> float:
    """Depth of a draw at a let-out by secants from a guess; NaN where they do not lead there."""
    if not guess > 0.0:
        return float("nan")
    depth, last, last_gap = guess, 0.0, tow.tip - let_out
    for _ in range(TRIES):
        _reach_drawn(tow, draws, j, flow, speed, depth, path, out)
        gap = float(out[LET_OUT]) - let_out
        if abs(gap) <= CLOSE * let_out:
            return depth
        if not (np.isfinite(gap) and gap != last_gap):
            break
        depth, last, last_gap = depth - gap * (depth - last) / (gap - last_gap), depth, gap
        if not depth > 0.0:
            break
    return float("nan")


def _reach_drawn(
    tow: Tow,
    draws: Draws,
    j: int,
    flow: Array,
    speed: float,
    depth: float,
    path: Array,
    out: Array,
) -> int:
    return reach(
        draws.pieces[j],
        draws.lures[j],
        tow.medium,
        flow,
        speed,
        tow.tip,
        depth,
        DRAWN,
        path,
        out,
    )


def _where(tow: Tow, out: Array, path: Array, steps: int) -> Where:
    return Where(
        let_out=float(out[LET_OUT]),
        depth=float(out[DEPTH]),
        deepest=float(max(out[DEEPEST], out[DEPTH])),
        layback=float(out[LAYBACK]),
        side=float(out[SIDE]),
        tension=float(out[TENSION]),
        wet=float(out[WET]),
        share=_share(tow, out, path, steps),
    )


def _share(tow: Tow, out: Array, path: Array, steps: int) -> float:
    """Greatest part of its strength that a piece carries, at its upper end."""
    wet = float(out[WET])
    points = shape(tow.pieces, path, max(steps, 1), wet, max(wet / 400.0, 1e-3))
    shares = []
    start = 0.0
    for length, strength in zip(tow.pieces[:, LENGTH], tow.strength, strict=True):
        if start >= out[LET_OUT]:
            break
        end = start + length
        pull = (
            float(np.interp(end, points[:, 0], points[:, 4])) if end < wet else float(out[TENSION])
        )
        shares.append(pull / float(strength))
        start = end
    known = [share for share in shares if np.isfinite(share)]
    return max(known) if known else float("nan")


def _span(values: Array) -> Pair:
    """Middle 90 % of draws, by their order; draws that are missing are left out."""
    known = np.sort(values[~np.isnan(values)])
    if len(known) == 0:
        return float("nan"), float("nan")
    tail = 0.5 * (1.0 - LEVEL)
    position = np.array([tail, 1.0 - tail]) * (len(known) - 1)
    low, high = (known[round(p)] for p in position)
    return float(low), float(high)


def _with_levers(
    tow: Tow,
    setting: Setting,
    where: Where,
    draws: Draws,
    let_out_90: Pair = (np.nan, np.nan),
    within: float = 1.0,
) -> Answer:
    depths = _draw_depths(tow, where.let_out, setting, draws)
    dv, dl = 0.02 * setting.speed, min(0.5, 0.02 * where.let_out)
    faster = _settled(tow, where.let_out, setting.at_speed(setting.speed + dv))[DEPTH]
    slower = _settled(tow, where.let_out, setting.at_speed(setting.speed - dv))[DEPTH]
    longer_by = min(dl, tow.length - where.let_out)
    longer = _settled(tow, where.let_out + longer_by, setting)[DEPTH]
    shorter = _settled(tow, where.let_out - dl, setting)[DEPTH]
    return Answer(
        where=where,
        speed=setting.speed,
        depth_90=_span(depths),
        let_out_90=let_out_90,
        per_speed=float(faster - slower) / (2.0 * dv),
        per_line=float(longer - shorter) / (longer_by + dl),
        within=within,
    )


def _enough_line(tow: Tow, let_out: float) -> None:
    if let_out > tow.length * (1.0 + 1e-9):
        raise NoAnswer(
            f"the rig holds {tow.length:.1f} m ({tow.length / FEET:.0f} ft) of line; "
            f"{let_out:.1f} m ({let_out / FEET:.0f} ft) cannot be let out"
        )


def _speed_between(
    tow: Tow, let_out: float, depth: float, setting: Setting, low: float, high: float
) -> float:
    from scipy.optimize import brentq

    return float(
        brentq(
            lambda v: _settled(tow, let_out, setting.at_speed(v))[DEPTH] - depth,
            low,
            high,
            xtol=1e-7,
        )
    )


def _crossing(speeds: Array, depths: Array, depth: float, near: float) -> float:
    """Speed at which a draw's depths cross the wanted one, the crossing nearest to `near`."""
    gaps = depths - depth
    at = np.flatnonzero(gaps[:-1] * gaps[1:] <= 0.0)
    if len(at) == 0:
        return float("nan")
    found = speeds[at] - gaps[at] * (speeds[at + 1] - speeds[at]) / np.where(
        gaps[at + 1] == gaps[at], 1.0, gaps[at + 1] - gaps[at]
    )
    return float(found[np.argmin(np.abs(found - near))])


def deepest(tow: Tow, setting: Setting) -> tuple[float, float]:
    """Greatest depth that the rig reaches at a speed, and the let-out for it [m, m]."""
    let_outs = np.linspace(0.02, 1.0, 50) * tow.length
    depths = depths_by_let_out(tow, let_outs, setting)[:, DEPTH]
    best = int(np.nanargmax(depths))
    return float(depths[best]), float(let_outs[best])


def _out_of_reach(tow: Tow, depth: float, setting: Setting) -> str:
    most, let_out = deepest(tow, setting)
    text = (
        f"this rig does not reach {_both(depth)} at {setting.speed:.2f} m/s; deepest is "
        f"{_both(most)} with {_both(let_out)} of line out"
    )
    speeds = np.arange(SLOWEST, FASTEST, 0.05)
    can = [v for v in speeds if deepest(tow, setting.at_speed(float(v)))[0] >= depth]
    if not can:
        return f"{text}, and at no speed can it"
    nearest = min(can, key=lambda v: abs(v - setting.speed))
    how = "or slower" if nearest < setting.speed else "or faster"
    return f"{text}; it could at {nearest:.2f} m/s {how}"


def _both(metres: float) -> str:
    return f"{metres:.1f} m ({metres / FEET:.0f} ft)"
