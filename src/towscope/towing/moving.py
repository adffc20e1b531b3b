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

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from towscope.towing.tow import Tow

Array = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]


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
        raise NotImplementedError


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
    last : float
        Length of the last step [s].
    """

    time: float
    place: Array
    rate: Array
    pull: Array
    count: Integers
    let_out: Array
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
    raise NotImplementedError


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
    raise NotImplementedError


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
    raise NotImplementedError


_ = replace
