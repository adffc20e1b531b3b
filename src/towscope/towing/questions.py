"""How much line for this depth, how deep with this line, how fast for both: answers with intervals.

Each question is one call on the engine or an inversion of it, asked once for the tow as stated
and again for many equally likely versions of it. Figures are SI throughout.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from towscope.arrays import Array
from towscope.errors import NoAnswer
from towscope.towing import question_kernels as qk
from towscope.towing import search_kernels as sk
from towscope.towing.runner import run
from towscope.towing.steady import (
    ANSWER,
    DEEPEST,
    DEPTH,
    LAYBACK,
    LET_OUT,
    RELATIVE,
    SIDE,
    TENSION,
    WET,
    room_for,
    settle,
    sweep,
)
from towscope.towing.tow import Draws, Setting, Tow, draw

Pair = tuple[float, float]

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
    draws = draw(tow) if draws is None else draws
    found = np.empty(qk.FOUND)
    rig, desk = _rig(tow, setting, draws), _desk(tow, setting, draws)
    if not run(qk.let_out_for, rig, depth, desk, found):
        raise NoAnswer(_out_of_reach(tow, depth, setting))
    return _answer(found, setting)


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
    _enough_line(tow, let_out)
    draws = draw(tow) if draws is None else draws
    found = np.empty(qk.FOUND)
    rig, desk = _rig(tow, setting, draws), _desk(tow, setting, draws)
    if not run(qk.depth_of, rig, let_out, desk, found):
        raise NoAnswer(_at_the_surface(let_out, setting))
    return _answer(found, setting)


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
    draws = draw(tow) if draws is None else draws
    found = np.empty(qk.FOUND)
    layers = max(1, len(setting.current))
    search = sk.Search(
        np.empty(sk.SEARCHED),
        np.empty(sk.SPEEDS),
        np.empty((layers, 3)),
        np.empty((sk.NEAR, len(draws))),
    )
    still = setting.at_speed(0.0)
    rig, desk = _rig(tow, still, draws), _desk(tow, setting, draws)
    many = run(sk.speed_for, rig, let_out, depth, setting.speed, desk, search, found)
    speed = float(search.given[sk.SPEED])
    if many == 0:
        raise NoAnswer(
            f"no speed runs this lure {depth:.1f} m deep on {let_out:.1f} m of line; nearest is "
            f"{found[DEPTH]:.1f} m at {speed:.2f} m/s"
        )
    setting = setting.at_speed(speed)
    if many < 0:
        raise NoAnswer(_at_the_surface(let_out, setting))
    return replace(
        _answer(found, setting),
        speed_90=(float(search.given[sk.SPEED_LOW]), float(search.given[sk.SPEED_HIGH])),
        other_speeds=tuple(search.others[: many - 1].tolist()),
        within=float(search.given[sk.SPEED_WITHIN]),
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
    middle, low, high = (np.empty((len(depths), len(speeds))) for _ in range(3))
    rig, desk = _rig(tow, setting, draws), _desk(tow, setting, draws)
    run(qk.table, rig, depths, speeds, desk, middle, low, high)
    return Table(depths, speeds, middle, low, high)


def where_at(tow: Tow, let_out: float, setting: Setting) -> Where:
    """Where the tow as stated runs with a let-out, no intervals.

    Raises
    ------
    NoAnswer
        Where the rig has not that much line, or the lure does not sink on it.
    """
    _enough_line(tow, let_out)
    found = np.empty(qk.FOUND)
    rig = qk.Rig(tow.towed(setting), NO_DRAWS, tow.strength)
    if not run(qk.where_at, rig, let_out, room_for(len(tow.pieces)), found):
        raise NoAnswer(_at_the_surface(let_out, setting))
    return _where(found)


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
    towed = tow.towed(setting)
    if len(towed.flow) == 1:
        run(sweep, towed, let_outs, RELATIVE, room_for(len(tow.pieces)), answers)
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
    points = np.empty((max(2, math.ceil(where.wet / spacing) + 1), 4))
    room = room_for(len(tow.pieces))
    run(qk.line, tow.towed(setting), where.depth, where.wet, room, points)
    line = np.column_stack(
        [
            points[:, 0],
            where.layback - points[:, 1],
            points[:, 2] + where.side,
            where.depth - points[:, 3],
        ]
    )
    return np.vstack([line, [let_out, 0.0, 0.0, -tow.tip]])


NO_DRAWS = Draws(np.empty((0, 0, 8)), np.empty((0, 3))).versions


def _rig(tow: Tow, setting: Setting, draws: Draws) -> qk.Rig:
    return qk.Rig(tow.towed(setting), draws.versions, tow.strength)


def _desk(tow: Tow, setting: Setting, draws: Draws) -> qk.Desk:
    layers = max(1, len(setting.current))
    return qk.Desk(
        room_for(len(tow.pieces)),
        np.empty((layers, 3)),
        np.empty((layers, 3)),
        np.empty(len(draws)),
        np.empty(len(draws)),
    )


def _settled(tow: Tow, let_out: float, setting: Setting) -> Array:
    out = np.empty(ANSWER)
    run(settle, tow.towed(setting), let_out, RELATIVE, room_for(len(tow.pieces)), out)
    return out


def _where(found: Array) -> Where:
    return Where(
        let_out=float(found[LET_OUT]),
        depth=float(found[DEPTH]),
        deepest=float(found[DEEPEST]),
        layback=float(found[LAYBACK]),
        side=float(found[SIDE]),
        tension=float(found[TENSION]),
        wet=float(found[WET]),
        share=float(found[qk.SHARE]),
    )


def _answer(found: Array, setting: Setting) -> Answer:
    return Answer(
        where=_where(found),
        speed=setting.speed,
        depth_90=(float(found[qk.DEPTH_LOW]), float(found[qk.DEPTH_HIGH])),
        let_out_90=(float(found[qk.LET_OUT_LOW]), float(found[qk.LET_OUT_HIGH])),
        per_speed=float(found[qk.PER_SPEED]),
        per_line=float(found[qk.PER_LINE]),
        within=float(found[qk.WITHIN]),
    )


def _enough_line(tow: Tow, let_out: float) -> None:
    if let_out > tow.length * (1.0 + 1e-9):
        raise NoAnswer(
            f"the rig holds {_both(tow.length)} of line; {_both(let_out)} cannot be let out"
        )


def _at_the_surface(let_out: float, setting: Setting) -> str:
    return f"the lure stays at the surface with {let_out:.1f} m of line at {setting.speed:.2f} m/s"


def deepest(tow: Tow, setting: Setting) -> tuple[float, float]:
    """Greatest depth that the rig reaches at a speed, and the let-out for it [m, m]."""
    goals, answers = np.empty(sk.GOALS), np.empty((sk.GOALS, ANSWER))
    room = room_for(len(tow.pieces))
    most, let_out = run(sk.deepest, tow.towed(setting), goals, answers, room)
    return float(most), float(let_out)


def _out_of_reach(tow: Tow, depth: float, setting: Setting) -> str:
    most, let_out = deepest(tow, setting)
    text = (
        f"this rig does not reach {_both(depth)} at {setting.speed:.2f} m/s; deepest is "
        f"{_both(most)} with {_both(let_out)} of line out"
    )
    goals, answers = np.empty(sk.GOALS), np.empty((sk.GOALS, ANSWER))
    still, room = tow.towed(setting.at_speed(0.0)), room_for(len(tow.pieces))
    flow = np.empty_like(still.flow)
    nearest = run(sk.speed_that_reaches, still, depth, setting.speed, goals, answers, flow, room)
    if not math.isfinite(nearest):
        return f"{text}, and at no speed can it"
    how = "slower" if nearest < setting.speed else "faster"
    return f"{text}; it could at {nearest:.2f} m/s or {how}"


def _both(metres: float) -> str:
    return f"{metres:.1f} m ({metres / FEET:.0f} ft)"
