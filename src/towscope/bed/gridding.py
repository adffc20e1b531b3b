"""Soundings gathered on nodes and solved from coarse to fine: the bed between them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from towscope.arrays import Array
from towscope.bed.multigrid import COARSEST, Hierarchy, raise_grid, solve
from towscope.bed.sampling import cubic
from towscope.progress import Detail
from towscope.towing.jit import kernel


@dataclass(frozen=True)
class Frame:
    """Where the nodes of a grid lie: node (row, column) is at x = west + column * cell [m].

    Rows run northward.
    """

    west: float
    south: float
    cell: float
    rows: int
    columns: int

    @property
    def shape(self) -> tuple[int, int]:
        """Give (rows, columns)."""
        return self.rows, self.columns

    def coarser(self) -> Frame:
        """Give the grid of every second node."""
        return Frame(
            self.west, self.south, 2.0 * self.cell, (self.rows + 1) // 2, (self.columns + 1) // 2
        )

    @classmethod
    def around(cls, x: Array, y: Array, cell: float, margin: float) -> Frame:
        """Give the grid that holds the points and a margin around them [m]."""
        margin = max(margin, 4.0 * cell)
        west, south = float(x.min()) - margin, float(y.min()) - margin
        columns = int(np.ceil((float(x.max()) + margin - west) / cell)) + 1
        rows = int(np.ceil((float(y.max()) + margin - south) / cell)) + 1
        return cls(west, south, cell, max(rows, COARSEST), max(columns, COARSEST))


@dataclass(frozen=True)
class Plate:
    """The two constants of the surface.

    Attributes
    ----------
    stiffness : float
        How strongly bending is resisted against one sounding [m^2].
    reach : float
        Length over which tension takes over from bending [m].
    """

    stiffness: float
    reach: float


@kernel
def _bin(
    x: Array, y: Array, z: Array, weight: Array, west: float, south: float, cell: float, sums: Array
) -> None:
    """Add each sounding to its nearest node: weight, depth, and how far off the node it lies."""
    rows, columns = sums.shape[1], sums.shape[2]
    for k in range(x.size):
        j = min(max(int(np.floor((x[k] - west) / cell + 0.5)), 0), columns - 1)
        i = min(max(int(np.floor((y[k] - south) / cell + 0.5)), 0), rows - 1)
        w = weight[k]
        sums[0, i, j] += w
        sums[1, i, j] += w * z[k]
        sums[2, i, j] += w * (x[k] - (west + j * cell))
        sums[3, i, j] += w * (y[k] - (south + i * cell))


@kernel
def _to_nodes(sums: Array, guess: Array, cell: float, value: Array) -> None:
    """Give each node's mean depth, moved along the slope from its soundings to the node."""
    rows, columns = guess.shape
    for i in range(rows):
        for j in range(columns):
            w = sums[0, i, j]
            if w == 0.0:
                value[i, j] = guess[i, j]
                continue
            a, b = max(j - 1, 0), min(j + 1, columns - 1)
            gx = (guess[i, b] - guess[i, a]) / ((b - a) * cell)
            a, b = max(i - 1, 0), min(i + 1, rows - 1)
            gy = (guess[b, j] - guess[a, j]) / ((b - a) * cell)
            value[i, j] = (sums[1, i, j] - gx * sums[2, i, j] - gy * sums[3, i, j]) / w


def gather(x: Array, y: Array, z: Array, frame: Frame, weight: Array | None = None) -> Array:
    """Gather soundings on nodes.

    Returns
    -------
    (4, rows, columns) array
        Weight, weighted depth [m], and weighted offsets east and north of the node [m].
    """
    sums = np.zeros((4, frame.rows, frame.columns))
    _bin(
        x,
        y,
        z,
        np.ones(x.size) if weight is None else weight,
        frame.west,
        frame.south,
        frame.cell,
        sums,
    )
    return sums


def means(sums: Array, frame: Frame) -> Array:
    """Give each node's soundings as one: x, y, depth, weight."""
    i, j = np.nonzero(sums[0])
    w, wz, wx, wy = sums[:, i, j]
    return np.column_stack(
        [frame.west + j * frame.cell + wx / w, frame.south + i * frame.cell + wy / w, wz / w, w]
    )


def surface(
    x: Array,
    y: Array,
    z: Array,
    frame: Frame,
    plate: Plate,
    *,
    weight: Array | None = None,
    start: Array | None = None,
    tolerance: float = 1e-3,
    most: int = 60,
    detail: Detail | None = None,
) -> Array:
    """Give the depth at every node of a grid.

    Parameters
    ----------
    x, y : (n,) array
        Soundings' places [m].
    z : (n,) array
        Their depths [m].
    frame : Frame
        The grid.
    plate : Plate
        The surface's constants.
    weight : (n,) array, optional
        How much each counts; 1 where not given.
    start : (rows, columns) array, optional
        A first guess [m]; without it, coarser grids are solved first.
    tolerance : float
        How near to the exact minimum to come [m].
    most : int
        Most steps of the solver on the finest grid.
    detail : callable, optional
        Called with a line on what is being done.

    Returns
    -------
    (rows, columns) array
        Depth [m], positive down.
    """
    if start is None:
        if min(frame.shape) <= 2 * COARSEST:
            start = np.full(frame.shape, float(np.average(z, weights=weight)))
        else:
            below = _below(x, y, z, frame, plate, weight, 4.0 * tolerance, detail)
            start = np.empty(frame.shape)
            raise_grid(below, start, False)
            del below
    if detail is not None:
        detail(f"{frame.columns:,} x {frame.rows:,} nodes")
    sums = gather(x, y, z, frame, weight)
    values = np.empty(frame.shape)
    _to_nodes(sums, start, frame.cell, values)
    grids = Hierarchy(np.ascontiguousarray(sums[0]), frame.cell, plate.stiffness, 1.0 / plate.reach)
    bed, _ = solve(grids, values, start, tolerance=tolerance, most=most)
    return bed


def _below(
    x: Array,
    y: Array,
    z: Array,
    frame: Frame,
    plate: Plate,
    weight: Array | None,
    tolerance: float,
    detail: Detail | None,
) -> Array:
    """Solve on the next coarser grid, from the means on it where they are fewer."""
    coarse = frame.coarser()
    if x.size > coarse.rows * coarse.columns // 2:
        x, y, z, weight = (
            np.ascontiguousarray(c) for c in means(gather(x, y, z, coarse, weight), coarse).T
        )
    return surface(
        x, y, z, coarse, plate, weight=weight, tolerance=tolerance, most=20, detail=detail
    )


def at(bed: Array, frame: Frame, x: Array, y: Array) -> Array:
    """Give the surface at points, by cubic interpolation between nodes.

    Parameters
    ----------
    bed : (rows, columns) array
        Depth at the nodes [m].
    frame : Frame
        Where the nodes lie.
    x, y : (n,) array
        Where [m].

    Returns
    -------
    (n,) array
        Depth [m].
    """
    out = np.empty(x.size)
    cubic(bed, frame.west, frame.south, frame.cell, x, y, out)
    return out
