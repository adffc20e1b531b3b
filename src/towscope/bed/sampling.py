"""Bicubic convolution of the bed: depth, slope and standard error at many points, quickly.

Kernels to be called from other kernels (a pass planner asks millions of times). All take the bed
as bare figures: the depth and standard-error grids, the place of node (0, 0) and the spacing.
Depth is positive down; x runs east and y north, in the lake's own metres.

References
----------
Keys (1981), IEEE Trans. ASSP 29:1153-1160 (cubic convolution, a = -1/2: exact for quadratics).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from towscope.arrays import Array
from towscope.towing.jit import kernel

Grid = npt.NDArray[np.floating]


@kernel
def depth_and_slope(
    depth: Grid, west: float, south: float, cell: float, x: float, y: float
) -> tuple[float, float, float]:
    """Give depth and its gradient at a point.

    Parameters
    ----------
    depth : (rows, columns) array
        Depth at the nodes [m].
    west, south : float
        Where node (0, 0) lies [m].
    cell : float
        Node spacing [m].
    x, y : float
        The point [m]; outside the grid the nearest point of its rim answers.

    Returns
    -------
    tuple of float
        Depth [m], and how it grows eastward and northward [m/m]; NaN where a node it needs is.
    """
    rows, columns = depth.shape
    u = min(max((x - west) / cell, 0.0), columns - 1.0)
    v = min(max((y - south) / cell, 0.0), rows - 1.0)
    j, i = min(int(u), columns - 2), min(int(v), rows - 2)
    fx, fy = u - j, v - i
    wx0, wx1, wx2, wx3, dx0, dx1, dx2, dx3 = _keys(fx)
    wy0, wy1, wy2, wy3, dy0, dy1, dy2, dy3 = _keys(fy)
    value, east, north = 0.0, 0.0, 0.0
    for a in range(4):
        r = i - 1 + a
        # beyond the rim, straight on
        k, m = r, r
        if r < 0:
            k, m = 0, 1
        elif r > rows - 1:
            k, m = rows - 1, rows - 2
        wy = wy0 if a == 0 else wy1 if a == 1 else wy2 if a == 2 else wy3
        dy = dy0 if a == 0 else dy1 if a == 1 else dy2 if a == 2 else dy3
        b, c = _across(depth, k, j, wx0, wx1, wx2, wx3), _across(depth, k, j, dx0, dx1, dx2, dx3)
        if m != k:
            b = 2.0 * b - _across(depth, m, j, wx0, wx1, wx2, wx3)
            c = 2.0 * c - _across(depth, m, j, dx0, dx1, dx2, dx3)
        value += wy * b
        east += wy * c
        north += dy * b
    return value, east / cell, north / cell


@kernel
def _keys(f: float) -> tuple[float, float, float, float, float, float, float, float]:
    """Give the four weights of cubic convolution, and their derivatives."""
    f2 = f * f
    f3 = f2 * f
    return (
        -0.5 * f + f2 - 0.5 * f3,
        1.0 - 2.5 * f2 + 1.5 * f3,
        0.5 * f + 2.0 * f2 - 1.5 * f3,
        -0.5 * f2 + 0.5 * f3,
        -0.5 + 2.0 * f - 1.5 * f2,
        -5.0 * f + 4.5 * f2,
        0.5 + 4.0 * f - 4.5 * f2,
        -f + 1.5 * f2,
    )


@kernel
def _across(depth: Grid, i: int, j: int, w0: float, w1: float, w2: float, w3: float) -> float:
    columns = depth.shape[1]
    b, c = float(depth[i, j]), float(depth[i, j + 1])
    a = float(depth[i, j - 1]) if j > 0 else 2.0 * b - c
    d = float(depth[i, j + 2]) if j + 2 < columns else 2.0 * c - b
    return w0 * a + w1 * b + w2 * c + w3 * d


@kernel
def linear(grid: Grid, west: float, south: float, cell: float, x: float, y: float) -> float:
    """Give a grid's value at a point, linearly between the four nodes around it."""
    rows, columns = grid.shape
    u = min(max((x - west) / cell, 0.0), columns - 1.0)
    v = min(max((y - south) / cell, 0.0), rows - 1.0)
    j, i = min(int(u), columns - 2), min(int(v), rows - 2)
    fx, fy = u - j, v - i
    low = grid[i, j] * (1.0 - fx) + grid[i, j + 1] * fx
    high = grid[i + 1, j] * (1.0 - fx) + grid[i + 1, j + 1] * fx
    return float(low * (1.0 - fy) + high * fy)


@kernel
def cubic(
    depth: Grid, west: float, south: float, cell: float, x: Array, y: Array, out: Array
) -> None:
    """Give depth at many points."""
    for k in range(x.size):
        out[k] = depth_and_slope(depth, west, south, cell, x[k], y[k])[0]


@kernel
def sample(
    depth: Grid,
    sd: Grid,
    west: float,
    south: float,
    cell: float,
    x: Array,
    y: Array,
    out: Array,
) -> None:
    """Give depth, slope and standard error at many points.

    Parameters
    ----------
    depth, sd : (rows, columns) array
        Depth and its standard error at the nodes [m].
    west, south, cell : float
        Where node (0, 0) lies, and the spacing [m].
    x, y : (n,) array
        The points [m].
    out : (n, 4) array
        Filled with depth [m], its growth eastward and northward [m/m], and standard error [m].
    """
    for k in range(x.size):
        d, gx, gy = depth_and_slope(depth, west, south, cell, x[k], y[k])
        out[k, 0], out[k, 1], out[k, 2] = d, gx, gy
        out[k, 3] = linear(sd, west, south, cell, x[k], y[k])
