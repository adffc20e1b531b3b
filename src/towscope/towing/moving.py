"""Where does every towed line lie from second to second, behind any path of the rod tips.

Lines are followed in three dimensions and in time with the forces of the steady engine. Place is
[m] in a level frame that stands still over the ground: x to the east, y to the north, z up from
the surface of the water. A course is counted clockwise from north [rad].

The parts: `Lines` says what is towed (any number of rigs, each in any number of equally likely
versions, or draws), `State` where all of it is at one moment. `settled` gives the state of a tow
that has been going straight for long; `step` takes one state to the next, and leaves the old one
as it was, so that a state can be kept, or forked to look ahead; `run` follows a whole path.

Rows: the arrays of a state have one row for each draw of each line, line by line:
row = line * draws + draw.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from towscope.arrays import Array, Integers
from towscope.towing import moving_kernels as mk
from towscope.towing import settling_kernels as settling
from towscope.towing.cores import share_out
from towscope.towing.steady import DIAMETER, LENGTH
from towscope.towing.tow import SEED, Tow, draw

STIFF = 1e5  # [N]; pull over stretch where none is given: 0.01 % at 10 N
NO_BED = np.zeros((0, 0))
STILL = np.zeros((1, 3))
SHORTEST = 1.0  # [m]; least line out
LONGEST = 5.0  # [s]; longest step
NEAR = 0.5  # [m]; how far from the rod tip a path may start
LONG_STEPS = (0.5, 1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 64.0, 128.0, 256.0, 512.0, 1e3, 1e4)  # [s]


@dataclass(frozen=True)
class Bed:
    """Depth of the bottom on a square grid, bilinear between its points.

    Attributes
    ----------
    x, y : float
        Place of the first grid point [m].
    cell : float
        Distance between grid points [m].
    depth : (rows, columns) array
        Depth below the surface [m], rows to the north, columns to the east; NaN where not known.
    """

    x: float
    y: float
    cell: float
    depth: Array


@dataclass(frozen=True)
class Lines:
    """What is towed: lines, each in one or more draws of its uncertain figures.

    Attributes
    ----------
    tows : tuple of Tow
        One for each line.
    draws : int
        Rows for each line; 1 is the best estimate alone.
    mounts : (lines, 3) array
        Rod tip ahead and to starboard of the boat's place, and above the water [m].
    pieces : (rows, p, 8) array
        Pieces of line, columns as `towscope.towing.steady` names them; unused ones have length 0.
    lures : (rows, 3) array
        Drag area [m^2], dive area [m^2], weight in water [N].
    medium : (4,) array
        Density and kinematic viscosity of water, then of air.
    stiffness : (rows, p) array
        Pull over stretch of each piece [N].
    knots : (lines, k) array
        Length from the lure [m] of each node that can be let out, NaN past the end of the line.
    part : (lines, k) array of int
        Piece that each segment, from a knot to the next, is of.
    let_out_scale : (rows,) array
        Line truly out for each let-out that is read.
    drift : (rows, 2) array
        Water moving east and north [m/s] on top of the stated current.
    """

    tows: tuple[Tow, ...]
    draws: int
    mounts: Array
    pieces: Array
    lures: Array
    medium: Array
    stiffness: Array
    knots: Array
    part: Integers
    let_out_scale: Array
    drift: Array

    @property
    def rows(self) -> int:
        """Number of rows: lines times draws."""
        return int(self.lures.shape[0])

    @staticmethod
    def of(
        tows: Sequence[Tow],
        *,
        draws: int = 1,
        mounts: Array | None = None,
        segment: float = 1.0,
        seed: int | None = None,
        stiffness: Sequence[Array] | None = None,
    ) -> Lines:
        """Make ready lines for the engine.

        Parameters
        ----------
        tows : sequence of Tow
            One for each line.
        draws : int
            1 for the best estimate; more for that many draws of each tow's stated uncertainty.
        mounts : (lines, 3) array, optional
            Rod tips ahead and to starboard of the boat's place, and above the water [m];
            all at the boat's place at the tow's tip height if left out.
        segment : float
            Longest segment of line [m]; they are finer above the lure and above joins.
        seed : int, optional
            Seed of the draws.
        stiffness : sequence of (n,) arrays, optional
            Pull over stretch of each piece [N] of each tow; hardly any stretch if left out.

        Returns
        -------
        Lines
            The lines.
        """
        if not tows:
            raise ValueError("no lines; expected at least one tow")
        if draws < 1 or not segment > 0.0:
            raise ValueError(f"draws {draws}, segment {segment}; expected 1 or more, above 0")
        if any((tow.medium != tows[0].medium).any() for tow in tows):
            raise ValueError("lines in different water; expected one water for all")
        most = max(len(tow.pieces) for tow in tows)
        rows = len(tows) * draws
        pieces = np.zeros((rows, most, 8))
        pieces[:, :, DIAMETER] = 1e-3
        stretch = np.full((rows, most), STIFF)
        lures = np.empty((rows, 3))
        counter = np.ones(rows)
        drift = np.zeros((rows, 2))
        grids = [_knots(tow, segment) for tow in tows]
        width = max(len(knots) for knots, _ in grids) + 1
        knots = np.full((len(tows), width), np.nan)
        part = np.zeros((len(tows), width), dtype=np.int64)
        for i, (tow, grid) in enumerate(zip(tows, grids, strict=True)):
            own = slice(i * draws, (i + 1) * draws)
            n = len(tow.pieces)
            counter[own] = tow.counter_factor
            if draws == 1:
                pieces[own, :n], lures[own] = tow.pieces, tow.lure
            else:
                drawn = draw(tow, draws, SEED + i if seed is None else seed + i)
                pieces[own, :n], lures[own] = drawn.pieces, drawn.lures
                if drawn.let_out_scale.size:
                    counter[own] *= drawn.let_out_scale
            if stiffness is not None:
                stretch[own, :n] = stiffness[i]
            knots[i, : len(grid[0])] = grid[0]
            part[i, : len(grid[1])] = grid[1]
            part[i, len(grid[1]) :] = grid[1][-1]
        if mounts is None:
            mounts = np.array([[0.0, 0.0, tow.tip] for tow in tows])
        mounts = np.asarray(mounts, dtype=float).reshape(len(tows), 3)
        return Lines(
            tuple(tows),
            draws,
            mounts,
            pieces,
            lures,
            tows[0].medium.astype(float),
            stretch,
            knots,
            part,
            counter,
            drift,
        )

    @property
    def gear(self) -> mk.Gear:
        """What the kernels take."""
        return mk.Gear(
            self.knots,
            self.part,
            self.line_of(),
            self.pieces,
            self.stiffness,
            self.lures,
            self.drift,
        )

    def line_of(self) -> Integers:
        """Line of each row."""
        return np.repeat(np.arange(len(self.tows)), self.draws)

    def only(self, chosen: Integers) -> Lines:
        """Keep some draws of each line: (lines, n) of their numbers."""
        rows = _rows(self.draws, chosen)
        return replace(
            self,
            draws=chosen.shape[1],
            pieces=self.pieces[rows],
            lures=self.lures[rows],
            stiffness=self.stiffness[rows],
            let_out_scale=self.let_out_scale[rows],
            drift=self.drift[rows],
        )

    def pick(self, which: Sequence[int]) -> Lines:
        """Keep some of the lines, by their numbers."""
        rows = _rows_of(self.draws, which)
        own = list(which)
        return replace(
            self,
            tows=tuple(self.tows[i] for i in own),
            mounts=self.mounts[own],
            pieces=self.pieces[rows],
            lures=self.lures[rows],
            stiffness=self.stiffness[rows],
            knots=self.knots[own],
            part=self.part[own],
            let_out_scale=self.let_out_scale[rows],
            drift=self.drift[rows],
        )

    def true_let_out(self, read: Array | Sequence[float] | float) -> Array:
        """Line truly out in each row [m], from what is read on each line (lines,) or on all.

        Raises
        ------
        ValueError
            Where that is more line than there is, or less than 1 m.
        """
        each = np.broadcast_to(np.asarray(read, dtype=float), (len(self.tows),))
        true = np.repeat(each, self.draws) * self.let_out_scale
        for i, tow in enumerate(self.tows):
            own = true[i * self.draws : (i + 1) * self.draws]
            if each[i] * tow.counter_factor <= tow.length:  # a counter's error adds no line
                np.minimum(own, tow.length, out=own)
            if not (own.min() >= SHORTEST and own.max() <= tow.length * (1.0 + 1e-9)):
                raise ValueError(
                    f"let-out {each[i]:g} m on line {i + 1}; "
                    f"expected {SHORTEST:g} to {tow.length:g} m"
                )
        return true


@dataclass(frozen=True)
class State:
    """Where all lines are at one moment, and how they move.

    Attributes
    ----------
    time : float
        Time [s].
    place : (rows, k, 3) array
        Place of the nodes [m] from the lure up; `count` of them are in use, the last of which
        is at the rod tip.
    rate : (rows, k, 3) array
        Their mean velocity over the last step [m/s].
    pull : (rows, k) array
        Tension of the segment above each node [N].
    count : (rows,) array of int
        Nodes in use.
    let_out : (rows,) array
        Line truly past the rod tip [m].
    rod : (rows,) array
        Pull at the rod [N].
    last : float
        Length of the last step [s].
    """

    time: float
    place: Array
    rate: Array
    pull: Array
    count: Integers
    let_out: Array
    rod: Array
    last: float

    @property
    def lure(self) -> Array:
        """Place of each lure [m], (rows, 3)."""
        return self.place[:, 0]

    @property
    def depth(self) -> Array:
        """Depth of each lure [m], (rows,)."""
        return -self.place[:, 0, 2]

    @property
    def tip(self) -> Array:
        """Place of each rod tip [m], (rows, 3)."""
        return self.place[np.arange(len(self.count)), self.count - 1]

    def only(self, draws: int, chosen: Integers) -> State:
        """Keep some of the draws of each line: (lines, n) of their numbers."""
        return self._of(_rows(draws, chosen))

    def pick(self, draws: int, which: Sequence[int]) -> State:
        """Keep some of the lines, by their numbers."""
        return self._of(_rows_of(draws, which))

    def _of(self, rows: Integers) -> State:
        return State(
            self.time,
            self.place[rows],
            self.rate[rows],
            self.pull[rows],
            self.count[rows],
            self.let_out[rows],
            self.rod[rows],
            self.last,
        )

    def shape(self, row: int) -> Array:
        """Nodes of one row from the lure to the rod tip [m], (n, 3)."""
        return self.place[row, : self.count[row]]


@dataclass(frozen=True)
class Passage:
    """What a run showed.

    Attributes
    ----------
    time : (m,) array
        Moments shown [s].
    tip : (lines, m, 3) array
        Rod tips [m].
    lure : (rows, m, 3) array
        Lures [m].
    tension : (rows, m) array
        Pull at each rod [N].
    lowest : (rows, m, 3) array
        The deepest point of each line, lure included [m].
    clearance : (rows, m) array
        Least height of any part of the line above the bottom [m]; NaN where the bottom is not
        known anywhere below it.
    nearest : (rows, m, 3) array
        The point of the line where that is so [m].
    let_out : (rows, m) array
        Line truly past the rod tip [m].
    state : State
        State at the end.
    draws : int
        Rows for each line.
    unsettled : (rows,) array of int
        Steps that found no balance even when cut small, through which the line was carried along
        stiffly; none in any use seen so far.
    shapes : (rows, m, k, 3) array or None
        All nodes at every moment, NaN where not in use, if asked for.
    """

    time: Array
    tip: Array
    lure: Array
    tension: Array
    lowest: Array
    clearance: Array
    nearest: Array
    let_out: Array
    state: State
    draws: int
    unsettled: Integers
    shapes: Array | None = field(default=None, repr=False)

    @property
    def depth(self) -> Array:
        """Depth of each lure [m], (rows, m)."""
        return -self.lure[:, :, 2]

    def depth_band(self, line: int, level: float = 0.9) -> tuple[Array, Array, Array]:
        """Low, middle and high of one line's depth over its draws [m], three arrays (m,)."""
        own = self.depth[line * self.draws : (line + 1) * self.draws]
        low, mid, high = np.quantile(own, [0.5 - level / 2, 0.5, 0.5 + level / 2], axis=0)
        return low, mid, high


def settled(
    lines: Lines,
    let_out: Array | Sequence[float] | float,
    speed: float,
    course: float = 0.0,
    *,
    at: tuple[float, float] = (0.0, 0.0),
    current: Array | None = None,
    time: float = 0.0,
) -> State:
    """Give the state of a tow that has long been going straight.

    Parameters
    ----------
    lines : Lines
        What is towed.
    let_out : float or (lines,) array
        Line past the rod tip, as read [m].
    speed, course : float
        Of the boat over ground [m/s], [rad clockwise from north].
    at : tuple of float
        Place of the boat [m].
    current : (k, 3) array, optional
        Depth [m], speed of the water to the east and to the north [m/s]; still water if left out.
    time : float
        Time to start the clock at [s].

    Returns
    -------
    State
        The state.
    """
    velocity = speed * np.array([math.sin(course), math.cos(course), 0.0])
    true = lines.true_let_out(let_out)
    water = _current(current)
    # Seen from the boat everything stands still: long steps in that frame end at the answer.
    seen = water.copy()
    seen[:, 1:] -= velocity[:2]
    rows, width = lines.rows, lines.knots.shape[1] + 1
    chains = mk.Chains(
        np.empty((rows, width, 3)),
        np.empty((rows, width, 3)),
        np.empty((rows, width)),
        np.empty(rows, dtype=np.int64),
        np.empty(rows),
    )
    east, north = float(velocity[0]), float(velocity[1])
    going = settling.Straight(lines.mounts, true, east, north, float(course))
    settling.lay_out(lines.gear, lines.medium, seen[0, 1:].copy(), going, chains)
    state = State(
        time, chains.place, chains.rate, chains.pull, chains.used, true, chains.rods, math.inf
    )
    times = time + np.concatenate([[0.0], np.cumsum(LONG_STEPS)])
    tip = np.repeat(state.tip[:: lines.draws, None], len(times), axis=1)
    _travel(
        lines,
        state,
        times,
        tip,
        np.repeat(true[:, None], len(times), axis=1),
        seen,
        -velocity[:2],
        None,
        math.inf,
        1,
        False,
        fresh=True,
    )
    settling.set_going(chains, float(at[0]), float(at[1]), east, north)
    return state


def step(
    lines: Lines,
    state: State,
    tip: Array,
    dt: float,
    *,
    let_out: Array | Sequence[float] | float | None = None,
    current: Array | None = None,
) -> State:
    """Take all lines one step on.

    Parameters
    ----------
    lines : Lines
        What is towed.
    state : State
        Where it is now; left as it is.
    tip : (lines, 3) array
        Where the rod tips are at the end of the step [m].
    dt : float
        Length of the step [s]; 0.1 to 0.5 is the use, up to 2 works.
    let_out : float or (lines,) array, optional
        Line past the rod tip at the end of the step, as read [m]; unchanged if left out.
    current : (k, 3) array, optional
        Depth [m], speed of the water to the east and to the north [m/s].

    Returns
    -------
    State
        Where it is then.
    """
    if not 0.0 < dt <= LONGEST:
        raise ValueError(f"step of {dt:g} s; expected above 0, up to {LONGEST:g} s")
    tip = np.asarray(tip, dtype=float).reshape(len(lines.tows), 3)
    new = state.let_out if let_out is None else lines.true_let_out(let_out)
    start = state.tip[:: lines.draws]
    copy = State(
        state.time + dt,
        state.place.copy(),
        state.rate.copy(),
        state.pull.copy(),
        state.count.copy(),
        new,
        state.rod.copy(),
        dt,
    )
    _travel(
        lines,
        copy,
        np.array([0.0, dt]),
        np.stack([start, tip], axis=1),
        np.stack([state.let_out, new], axis=1),
        _current(current),
        np.zeros(2),
        None,
        math.inf,
        2,
        False,
        last=state.last,
    )
    return copy


def run(
    lines: Lines,
    state: State,
    time: Array,
    tip: Array,
    *,
    let_out: Array | None = None,
    current: Array | None = None,
    bed: Bed | None = None,
    longest_step: float = 0.25,
    every: int = 1,
    shapes: bool = False,
) -> Passage:
    """Follow all lines behind given paths of the rod tips.

    Parameters
    ----------
    lines : Lines
        What is towed.
    state : State
        Where it is at the first moment; left as it is.
    time : (m,) array
        Rising moments [s]; the first is the state's.
    tip : (lines, m, 3) array
        Where the rod tips are at each [m]; straight and even between them.
    let_out : (lines, m) array, optional
        Line past each rod tip, as read [m]; unchanged if left out.
    current : (k, 3) array, optional
        Depth [m], speed of the water to the east and to the north [m/s].
    bed : Bed, optional
        Depth of the bottom, for clearance.
    longest_step : float
        Longer intervals are gone through in equal steps no longer than this [s].
    every : int
        Show every so-manieth moment; the first is always shown.
    shapes : bool
        Keep all nodes at every moment shown.

    Returns
    -------
    Passage
        What it showed.
    """
    time = np.asarray(time, dtype=float)
    tip = np.asarray(tip, dtype=float).reshape(len(lines.tows), len(time), 3)
    if not (np.isfinite(time).all() and (np.diff(time) > 0.0).all()):
        raise ValueError("moments do not rise; expected rising seconds")
    if not np.isfinite(tip).all():
        raise ValueError("a rod tip is nowhere (not a number); expected metres")
    if bed is not None and min(bed.depth.shape) < 2:
        raise ValueError("bed of one row or column; expected at least 2 by 2 points")
    if not 0.0 < longest_step <= LONGEST:
        raise ValueError(f"step of {longest_step:g} s; expected above 0, up to {LONGEST:g} s")
    gap = float(np.abs(tip[:, 0] - state.tip[:: lines.draws]).max())
    if gap > NEAR:
        raise ValueError(f"the path starts {gap:.1f} m from where the rod tips are")
    if let_out is None:
        true = np.repeat(state.let_out[:, None], len(time), axis=1)
    else:
        read = np.asarray(let_out, dtype=float).reshape(len(lines.tows), len(time))
        lines.true_let_out(read.min(axis=1))
        lines.true_let_out(read.max(axis=1))
        true = np.repeat(read, lines.draws, axis=0) * lines.let_out_scale[:, None]
        true[:, 0] = state.let_out
    end = State(
        float(time[-1]),
        state.place.copy(),
        state.rate.copy(),
        state.pull.copy(),
        state.count.copy(),
        true[:, -1].copy(),
        state.rod.copy(),
        longest_step,
    )
    shown, kept, effort, last = _travel(
        lines,
        end,
        time,
        tip,
        true,
        _current(current),
        np.zeros(2),
        bed,
        longest_step,
        every,
        shapes,
        last=state.last,
    )
    end = replace(end, last=last)
    return Passage(
        time[::every],
        tip[:, ::every],
        shown[:, :, mk.LURE_X : mk.LURE_X + 3],
        shown[:, :, mk.PULL],
        shown[:, :, mk.LOWEST_X : mk.LOWEST_X + 3],
        shown[:, :, mk.CLEARANCE],
        shown[:, :, mk.NEAREST_X : mk.NEAREST_X + 3],
        shown[:, :, mk.OUT],
        end,
        lines.draws,
        effort[:, 2],
        kept if shapes else None,
    )


def _travel(
    lines: Lines,
    state: State,
    times: Array,
    tip: Array,
    true: Array,
    current: Array,
    air: Array,
    bed: Bed | None,
    longest: float,
    every: int,
    shapes: bool,
    *,
    last: float = math.inf,
    fresh: bool = False,
) -> tuple[Array, Array, Integers, float]:
    """Run the kernel on a state, which is replaced in place."""
    rows, width = state.pull.shape
    count = (len(times) + every - 1) // every
    shown = np.empty((rows, count, mk.SHOWN))
    kept = np.full((rows, count if shapes else 0, width, 3), np.nan)
    effort = np.zeros((rows, 3), dtype=np.int64)
    bed = bed or Bed(0.0, 0.0, 1.0, NO_BED)
    gear = lines.gear
    water = mk.Water(lines.medium, current, air)
    chains = mk.Chains(state.place, state.rate, state.pull, state.count, state.rod)
    course = mk.Course(
        np.ascontiguousarray(times),
        np.ascontiguousarray(tip),
        np.ascontiguousarray(true),
        float(longest),
        float(last),
        fresh,
    )
    ground = mk.Ground(
        np.ascontiguousarray(bed.depth, dtype=float), float(bed.x), float(bed.y), float(bed.cell)
    )
    filled = mk.Shown(int(every), shown, kept, effort)

    def some(first: int, beyond: int) -> None:
        space = mk.Space(np.empty((width, 3)), np.empty((width, mk.WORK)))
        mk.travel(first, beyond, gear, water, chains, course, ground, filled, space)

    share_out(some, rows, len(times))
    final = float(times[-1] - times[-2]) if len(times) > 1 else 0.0
    steps = max(1, math.ceil(final / longest - 1e-9))
    return shown, kept, effort, final / steps if final else last


def _rows(draws: int, chosen: Integers) -> Integers:
    lines = np.arange(len(chosen), dtype=np.int64)
    return (lines[:, None] * draws + chosen).ravel()


def _rows_of(draws: int, which: Sequence[int]) -> Integers:
    chosen = np.asarray(which, dtype=np.int64)
    return np.asarray((chosen[:, None] * draws + np.arange(draws)).ravel())


def together(parts: Sequence[tuple[Lines, State]]) -> tuple[Lines, State]:
    """Put lines that were followed each by itself into one tow, to be followed on together.

    Parameters
    ----------
    parts : sequence of (Lines, State)
        Each with as many draws, at the same moment.

    Returns
    -------
    tuple of Lines, State
        All of them, in that order.

    Raises
    ------
    ValueError
        Where moments or numbers of draws differ, or there is none.
    """
    if not parts:
        raise ValueError("no lines to put together; expected at least one")
    first, now = parts[0]
    if any(lines.draws != first.draws for lines, _ in parts):
        raise ValueError("lines of different draws; expected as many of each")
    if any(abs(state.time - now.time) > 1e-3 for _, state in parts):
        raise ValueError("lines at different moments; expected the same")
    if any((lines.medium != first.medium).any() for lines, _ in parts):
        raise ValueError("lines in different water; expected one water for all")

    def wide(arrays: Sequence[Array], fill: float | None = 0.0) -> Array:
        """Stack rows; those with fewer columns are filled up, None: with their last."""
        most = max(each.shape[1] for each in arrays)
        padded = []
        for each in arrays:
            room = [(0, 0), (0, most - each.shape[1])] + [(0, 0)] * (each.ndim - 2)
            if fill is None:
                padded.append(np.pad(each, room, mode="edge"))
            else:
                padded.append(np.pad(each, room, constant_values=fill))
        return np.concatenate(padded)

    def of_lines(name: str) -> list[Array]:
        return [getattr(lines, name) for lines, _ in parts]

    def of_states(name: str) -> list[Array]:
        return [getattr(state, name) for _, state in parts]

    pieces = wide(of_lines("pieces"))
    pieces[:, :, DIAMETER] = np.where(pieces[:, :, LENGTH] > 0.0, pieces[:, :, DIAMETER], 1e-3)
    lines = replace(
        first,
        tows=tuple(tow for lines, _ in parts for tow in lines.tows),
        mounts=np.concatenate(of_lines("mounts")),
        pieces=pieces,
        lures=np.concatenate(of_lines("lures")),
        stiffness=wide(of_lines("stiffness"), STIFF),
        knots=wide(of_lines("knots"), math.nan),
        part=wide(of_lines("part"), None).astype(np.int64),
        let_out_scale=np.concatenate(of_lines("let_out_scale")),
        drift=np.concatenate(of_lines("drift")),
    )
    state = State(
        now.time,
        wide(of_states("place")),
        wide(of_states("rate")),
        wide(of_states("pull"), 0.5),
        np.concatenate(of_states("count")),
        np.concatenate(of_states("let_out")),
        np.concatenate(of_states("rod")),
        now.last,
    )
    return lines, state


def _current(current: Array | None) -> Array:
    if current is None:
        return STILL
    rows = np.ascontiguousarray(current, dtype=float).reshape(-1, 3)
    if not (len(rows) and np.isfinite(rows).all() and (np.diff(rows[:, 0]) > 0.0).all()):
        raise ValueError("current; expected rows of depth, east and north, by rising depth")
    return rows


def _knots(tow: Tow, segment: float) -> tuple[Array, Integers]:
    """Lengths from the lure where nodes may be, and the piece of each segment."""
    none = np.empty(0)
    count = settling.knots_of(tow.pieces, tow.lure, segment, none, none.astype(np.int64))
    knots, part = np.empty(count), np.empty(count - 1, dtype=np.int64)
    settling.knots_of(tow.pieces, tow.lure, segment, knots, part)
    return knots, part
