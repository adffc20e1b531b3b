"""All lines of a spread simulated together: settled in a straight run, then second by second."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from towscope.arrays import Array, Integers
from towscope.errors import InputError
from towscope.spreads import board as boards
from towscope.spreads import motion_kernels as mk
from towscope.spreads.plan import Board, SpreadPlan
from towscope.towing.cores import share_out
from towscope.towing.moving import STILL, Lines, State, settled
from towscope.towing.moving_kernels import WORK, Chains, Space, Water
from towscope.towing.steady import ANSWER, RELATIVE, TENSION, Towed, room_for, settle
from towscope.towing.tow import SEED

Places = npt.NDArray[np.float32]


@dataclass(frozen=True)
class Spread:
    """A plan made ready for the engine.

    Attributes
    ----------
    plan : SpreadPlan
        The plan.
    lines : Lines
        Its lines, from each lure to the rod tip, or to the board; rows as the engine has them.
    boards : (rows, 4) array
        Figures of the boards, as `towscope.spreads.board` names them; zeros where there is none.
    strength : (rods, p) array
        Of each piece of line [N], infinite where not known.
    rod_strength : (rods,) array
        Of the line at each rod tip [N], infinite where not known.
    """

    plan: SpreadPlan
    lines: Lines
    boards: Array
    strength: Array
    rod_strength: Array

    @property
    def draws(self) -> int:
        """Rows for each rod."""
        return self.lines.draws

    def rows_of(self, rod: int) -> slice:
        """Rows of a rod."""
        return slice(rod * self.draws, (rod + 1) * self.draws)

    def board_line(self, rod: int) -> float:
        """Line from rod tip to board [m], NaN where there is no board."""
        here = self.plan.rods[rod]
        return math.nan if here.board is None else here.board.line * here.tow.counter_factor


@dataclass(frozen=True)
class LongRun:
    """A spread that has long been going straight to the north, the boat at 0, 0.

    Attributes
    ----------
    state : State
        Its lines.
    velocity : (rows, 2) array
        Of the boards over ground [m/s].
    rides : tuple of list of Ride or None
        For each rod with a board where it rides, for each draw.
    """

    state: State
    velocity: Array
    rides: tuple[list[boards.Ride] | None, ...]


@dataclass(frozen=True)
class ShownRun:
    """What a run showed.

    Attributes
    ----------
    time : (m,) array
        Moments shown [s].
    shapes : (rows, m, k, 3) array
        Nodes from the lure up [m]; past a board, the rod tip too.
    counts : (rows, m) array of int
        Nodes in use.
    shown : (rows, m, 7) array
        What `towscope.spreads.motion_kernels` names.
    draws : int
        Rows for each rod.
    restless : int
        Steps of any row that did not settle.
    """

    time: Array
    shapes: Places
    counts: Integers
    shown: Array
    draws: int
    restless: int

    def figure(self, column: int) -> Array:
        """One of the figures shown, (rows, m)."""
        return self.shown[:, :, column]

    def shape(self, row: int, moment: int) -> Array:
        """Nodes of a row at a moment, from the lure up, (n, 3)."""
        return self.shapes[row, moment, : self.counts[row, moment]].astype(float)


def ready(plan: SpreadPlan, draws: int = 1, segment: float = 1.0) -> Spread:
    """Make a plan ready.

    Parameters
    ----------
    plan : SpreadPlan
        The plan.
    draws : int
        1 for the best estimate; more for that many draws of what is not sure.
    segment : float
        Longest segment of line [m].

    Returns
    -------
    Spread
        Ready.
    """
    mounts = plan.mounts
    for i, rod in enumerate(plan.rods):
        if rod.board is not None:
            mounts[i, 2] = 0.0  # the line behind begins at the surface
    tows = [rod.tow for rod in plan.rods]
    lines = Lines.of(tows, draws=draws, mounts=mounts, segment=segment, seed=SEED)
    _share_draws(lines)
    figures = np.zeros((lines.rows, boards.FIGURES))
    for i, rod in enumerate(plan.rods):
        if rod.board is not None:
            own = slice(i * draws, (i + 1) * draws)
            figures[own] = boards.drawn(rod.board, rod.side, draws, boards.SEED + i)
    most = lines.pieces.shape[1]
    strength = np.full((len(tows), most), np.inf)
    for i, tow in enumerate(tows):
        strength[i, : len(tow.strength)] = np.where(np.isfinite(tow.strength), tow.strength, np.inf)
    at_rod = np.array([rod.strength_at(rod.out) for rod in plan.rods])
    return Spread(plan, lines, figures, strength, np.where(np.isfinite(at_rod), at_rod, np.inf))


def _share_draws(lines: Lines) -> None:
    """Let rods with the same line err together: what is not sure is the make, not the spool.

    Lures keep draws of their own, each of them being bent a little its own way; but what readings
    have taught of line and lure belongs together.
    """
    draws = lines.draws
    if draws == 1:
        return
    for i, tow in enumerate(lines.tows):
        for j, first in enumerate(lines.tows[:i]):
            if tow.names != first.names or not np.array_equal(tow.pieces, first.pieces):
                continue
            own, other = (slice(k * draws, (k + 1) * draws) for k in (i, j))
            lines.pieces[own] = lines.pieces[other]
            if tow.learnt is not None and first.learnt is not None:
                lines.lures[own] = lines.lures[other]
                lines.let_out_scale[own] = lines.let_out_scale[other]
            break


def straight(spread: Spread, let_outs: Array | None = None) -> LongRun:
    """Settle a spread in a straight run.

    Parameters
    ----------
    spread : Spread
        The spread.
    let_outs : (rods,) array, optional
        Line behind each board or rod tip, as read [m]; the plan's if left out.

    Returns
    -------
    LongRun
        Where it all rides.
    """
    plan, lines, draws = spread.plan, spread.lines, spread.draws
    out = np.array([rod.let_out for rod in plan.rods]) if let_outs is None else let_outs
    try:
        state = settled(lines, out, plan.speed, current=plan.current)
    except ValueError as error:
        raise InputError(str(error)) from None
    velocity = np.zeros((lines.rows, 2))
    velocity[:, 1] = plan.speed
    water = plan.current if plan.current is not None else STILL
    rides: list[list[boards.Ride] | None] = []
    for i, rod in enumerate(plan.rods):
        if rod.board is None:
            rides.append(None)
            continue
        own: list[boards.Ride] = []
        for r in range(i * draws, (i + 1) * draws):
            figures = Board(
                rod.board.kind,
                spread.board_line(i),
                spread.boards[r, boards.LIFT],
                spread.boards[r, boards.DRAG],
            )
            past = (
                float(water[0, 1] + lines.drift[r, 0]),
                float(water[0, 2] + lines.drift[r, 1] - plan.speed),
            )
            density = float(lines.medium[0])
            at = boards.ride(
                figures, rod.side, rod.height, _pull_behind(spread, state, r), past, density
            )
            state.place[r, : state.count[r]] += np.array([at.across, -at.aft, 0.0])
            own.append(at)
        rides.append(own)
    return LongRun(state, velocity, tuple(rides))


def _pull_behind(spread: Spread, state: State, row: int) -> Array:
    """Pull of a settled line on what holds its top [N]: the steady engine's, in its direction."""
    lines = spread.lines
    shape = state.shape(row)
    along = shape[-1] - shape[-2]
    along /= np.linalg.norm(along)
    out = np.empty(ANSWER)
    speed = float(spread.plan.speed)
    towed = Towed(
        lines.pieces[row],
        lines.lures[row],
        lines.medium,
        spread.plan.setting.flow(),
        speed,
        0.0,
    )
    settle(towed, float(state.let_out[row]), RELATIVE, room_for(lines.pieces.shape[1]), out)
    pull = float(out[TENSION])
    if not math.isfinite(pull):  # a lure at the surface
        pull = float(state.pull[row, state.count[row] - 2])
    return np.asarray(-pull * along)


def follow(
    spread: Spread,
    start: LongRun,
    time: Array,
    tips: Array,
    *,
    let_outs: Array | None = None,
    board_lines: Array | None = None,
    every: int = 1,
) -> ShownRun:
    """Follow a spread behind given paths of its rod tips.

    Parameters
    ----------
    spread, start : Spread, LongRun
        What is towed, and where it is at the first moment; both left as they are.
    time : (m,) array
        Moments [s].
    tips : (rods, m, 3) array
        Rod tips [m].
    let_outs : (rods, m) array, optional
        Line behind each board or rod tip, as read [m]; unchanged if left out.
    board_lines : (rods, m) array, optional
        Line from rod tip to board [m], NaN while there is none; unchanged if left out.
    every : int
        Show every so-manieth moment.

    Returns
    -------
    ShownRun
        What it showed.
    """
    lines, state = spread.lines, start.state
    rods, moments = len(spread.plan.rods), len(time)
    if let_outs is None:
        true = np.repeat(state.let_out[:, None], moments, axis=1)
    else:
        true = np.repeat(let_outs, spread.draws, axis=0) * lines.let_out_scale[:, None]
    if board_lines is None:
        board_lines = np.repeat([[spread.board_line(i)] for i in range(rods)], moments, axis=1)
    shown_moments = (moments + every - 1) // every
    width = lines.knots.shape[1] + 2
    shown = np.full((lines.rows, shown_moments, mk.SHOWN), np.nan)
    shapes = np.full((lines.rows, shown_moments, width, 3), np.nan, dtype=np.float32)
    counts = np.zeros((lines.rows, shown_moments), dtype=np.int64)
    effort = np.zeros((lines.rows, 2), dtype=np.int64)
    water = STILL if spread.plan.current is None else np.ascontiguousarray(spread.plan.current)
    gear = lines.gear
    around = Water(lines.medium, water, np.zeros(2))
    chains = Chains(
        state.place.copy(),
        state.rate.copy(),
        state.pull.copy(),
        state.count.copy(),
        state.rod.copy(),
    )
    held = mk.Boards(spread.boards, start.velocity, spread.strength, spread.rod_strength)
    done = mk.Rods(
        np.ascontiguousarray(time, dtype=float),
        np.ascontiguousarray(tips, dtype=float),
        np.ascontiguousarray(true),
        np.ascontiguousarray(board_lines, dtype=float),
    )
    filled = mk.SpreadTrace(int(every), shown, shapes, counts, effort)

    def some(first: int, beyond: int) -> None:
        space = Space(np.empty((width, 3)), np.empty((width, WORK)))
        desk = mk.SpreadDesk(space, np.empty((width, 7)), np.empty(3), np.empty(3), np.empty(3))
        mk.follow(first, beyond, gear, around, chains, held, done, filled, desk)

    share_out(some, lines.rows, moments)
    return ShownRun(
        np.asarray(time[::every], dtype=float),
        shapes,
        counts,
        shown,
        spread.draws,
        int(effort[:, 1].sum()),
    )
