"""Multigrid solution of a thin plate under tension: the smooth surface nearest the soundings.

The bed u(x, y) on a grid of nodes minimises

    sum_i n_i (z_i - u_i)^2 + stiffness * integral( u_xx^2 + 2 u_xy^2 + u_yy^2
                                                    + tension^2 (u_x^2 + u_y^2) ) dx dy

with n_i soundings of mean depth z_i near node i. Both constants are physical, so that they mean
the same on a coarse grid as on a fine one: they can be chosen on the coarse one. The ends are
free (natural), so the bed runs on beyond the outermost soundings as a bent plate would.

The normal equations are solved by conjugate gradients, each step preconditioned by one multigrid
V-cycle with Chebyshev smoothing and cubic interpolation between grids; the whole is started from
the solution of the next coarser grid. The work grows in proportion to the number of nodes.

References
----------
Smith & Wessel (1990), Geophysics 55:293-305 (minimum curvature under tension). Briggs, Henson &
McCormick (2000), A Multigrid Tutorial, 2nd ed., SIAM. Adams, Brezina, Hu & Tuminaro (2003),
J. Comput. Phys. 188:593-610 (polynomial smoothers). Tatebe (1993), NASA CP-3224 (multigrid as a
preconditioner).
"""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from functools import cache
from itertools import pairwise
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from towscope.arrays import Array, Singles
from towscope.towing.jit import kernel

Grid = npt.NDArray[Any]

COARSEST = 9  # nodes on the short side below which a direct solve is cheaper than another grid
SMOOTHING = 4  # degree of the Chebyshev smoother; odd degrees did worse on dense tracks
BAND = 30.0  # the smoother damps the upper 29/30 of the spectrum
# Largest eigenvalue of the scaled plate: its stencil sums to 64 in size over a centre of 20.
LARGEST = 64.0 / 20.0
BANDED = 300_000  # nodes from which several threads pay
ONE: Any = np.uint64(1)
TWO: Any = np.uint64(2)


def _chebyshev(degree: int) -> list[tuple[float, float]]:
    """Give, for each step, how much of the last step to keep and of the residual to take."""
    high = 1.05 * LARGEST
    low = high / BAND
    middle, half = 0.5 * (high + low), 0.5 * (high - low)
    sigma = middle / half
    rho = 1.0 / sigma
    steps = [(0.0, 1.0 / middle)]
    for _ in range(degree - 1):
        following = 1.0 / (2.0 * sigma - rho)
        steps.append((following * rho, 2.0 * following / half))
        rho = following
    return steps


_CHEBYSHEV: Final = _chebyshev(SMOOTHING)


# In one direction the bending of a free plate is K = D'D with D the second difference, its tension
# L = G'G with G the first; in two, K along each direction and twice the product of both L.


@kernel
def _bend(i: int, n: int) -> tuple[float, float, float, float, float]:
    """Give row i of K for n >= 5 nodes, from node i - 2 to node i + 2."""
    if i == 0:
        return 0.0, 0.0, 1.0, -2.0, 1.0
    if i == 1:
        return 0.0, -2.0, 5.0, -4.0, 1.0
    if i == n - 1:
        return 1.0, -2.0, 1.0, 0.0, 0.0
    if i == n - 2:
        return 1.0, -4.0, 5.0, -2.0, 0.0
    return 1.0, -4.0, 6.0, -4.0, 1.0


@kernel
def _stretch(i: int, n: int) -> tuple[float, float, float]:
    """Give row i of L, from node i - 1 to node i + 1."""
    if i == 0:
        return 0.0, 1.0, -1.0
    if i == n - 1:
        return -1.0, 1.0, 0.0
    return -1.0, 2.0, -1.0


@kernel
def _rim(u: Grid, plate: float, pull: float, out: Grid, first: int, last: int) -> None:
    """Give plate and tension at the two outermost rings of nodes, where stencils are cut short."""
    ny, nx = u.shape
    for i in range(first, last):
        whole = i < 2 or i >= ny - 2
        h, g, e, d = max(i - 2, 0), max(i - 1, 0), min(i + 1, ny - 1), min(i + 2, ny - 1)
        m0, m1, m2, m3, m4 = _bend(i, ny)
        b0, b1, b2 = _stretch(i, ny)
        for n in range(nx if whole else 4):
            j = n if whole or n < 2 else nx - 4 + n
            p, q, s, t = max(j - 2, 0), max(j - 1, 0), min(j + 1, nx - 1), min(j + 2, nx - 1)
            k0, k1, k2, k3, k4 = _bend(j, nx)
            a0, a1, a2 = _stretch(j, nx)
            along = a0 * u[i, q] + a1 * u[i, j] + a2 * u[i, s]
            above = a0 * u[e, q] + a1 * u[e, j] + a2 * u[e, s]
            under = a0 * u[g, q] + a1 * u[g, j] + a2 * u[g, s]
            bent = k0 * u[i, p] + k1 * u[i, q] + k2 * u[i, j] + k3 * u[i, s] + k4 * u[i, t]
            bent += m0 * u[h, j] + m1 * u[g, j] + m2 * u[i, j] + m3 * u[e, j] + m4 * u[d, j]
            bent += 2.0 * (b0 * under + b1 * along + b2 * above)
            up = b0 * u[g, j] + b1 * u[i, j] + b2 * u[e, j]
            out[i, j] = plate * bent + pull * (along + up)


@kernel
def apply(
    u: Array, weight: Array, plate: float, pull: float, out: Array, first: int, last: int
) -> None:
    """Give the normal equations' left side for u, in rows from the first to before the last."""
    ny, nx = u.shape
    near = -8.0 * plate - pull
    centre = 20.0 * plate + 4.0 * pull
    _rim(u, plate, pull, out, first, last)
    for i in range(first, last):
        rim = i < 2 or i >= ny - 2
        for k in range(nx if rim else 4):
            j = k if rim or k < 2 else nx - 4 + k
            out[i, j] += weight[i, j] * u[i, j]
        if rim:
            continue
        a, b, c, d, e = u[i - 2], u[i - 1], u[i], u[i + 1], u[i + 2]
        w, row = weight[i], out[i]
        # Unsigned indices cannot be negative, so the loop is vectorised.
        for j in range(TWO, np.uint64(nx) - TWO):
            row[j] = (
                (w[j] + centre) * c[j]
                + near * (c[j - ONE] + c[j + ONE] + b[j] + d[j])
                + 2.0 * plate * (b[j - ONE] + b[j + ONE] + d[j - ONE] + d[j + ONE])
                + plate * (a[j] + e[j] + c[j - TWO] + c[j + TWO])
            )


@kernel
def _first(
    x: Singles,
    rhs: Singles,
    weight: Singles,
    step: Singles,
    plate: float,
    pull: float,
    take: float,
    first: int,
    last: int,
) -> None:
    """Take the first smoothing step from nothing."""
    ny, nx = x.shape
    middle = np.float32(1.0 / take)
    inside = np.float32(20.0 * plate + 4.0 * pull)
    for i in range(first, last):
        r, w, s, t = rhs[i], weight[i], step[i], x[i]
        rim = i < 2 or i >= ny - 2
        for j in range(nx):
            v = r[j] / (middle * (w[j] + inside))
            s[j] = v
            t[j] = v
        for k in range(nx if rim else 4):
            j = k if rim or k < 2 else nx - 4 + k
            v = r[j] / (middle * (w[j] + _centre(i, j, ny, nx, plate, pull)))
            s[j] = v
            t[j] = v


@kernel
def _centre(i: int, j: int, ny: int, nx: int, plate: float, pull: float) -> np.float32:
    """Give the part of the diagonal that the soundings do not make."""
    a, b = _stretch(i, ny)[1], _stretch(j, nx)[1]
    return np.float32(plate * (_bend(i, ny)[2] + _bend(j, nx)[2] + 2.0 * a * b) + pull * (a + b))


@kernel
def _sweep(
    x: Singles,
    to: Singles,
    rhs: Singles,
    weight: Singles,
    step: Singles,
    plate: float,
    pull: float,
    keep: float,
    take: float,
    first: int,
    last: int,
) -> None:
    """Take one Chebyshev step: ``to = x + keep * step + take * (rhs - A x) / diagonal``."""
    ny, nx = x.shape
    p, q = np.float32(keep), np.float32(take)
    near = np.float32(-8.0 * plate - pull)
    centre = np.float32(20.0 * plate + 4.0 * pull)
    one, two = np.float32(plate), np.float32(2.0 * plate)
    _rim(x, plate, pull, to, first, last)
    for i in range(first, last):
        rim = i < 2 or i >= ny - 2
        for k in range(nx if rim else 4):
            j = k if rim or k < 2 else nx - 4 + k
            whole = weight[i, j] + _centre(i, j, ny, nx, plate, pull)
            v = p * step[i, j] + q * (rhs[i, j] - to[i, j] - weight[i, j] * x[i, j]) / whole
            step[i, j] = v
            to[i, j] = x[i, j] + v
        if rim:
            continue
        a, b, c, d, e = x[i - 2], x[i - 1], x[i], x[i + 1], x[i + 2]
        r, w, s, t = rhs[i], weight[i], step[i], to[i]
        for j in range(TWO, np.uint64(nx) - TWO):
            whole = w[j] + centre
            left = (
                whole * c[j]
                + near * (c[j - ONE] + c[j + ONE] + b[j] + d[j])
                + two * (b[j - ONE] + b[j + ONE] + d[j - ONE] + d[j + ONE])
                + one * (a[j] + e[j] + c[j - TWO] + c[j + TWO])
            )
            v = p * s[j] + q * (r[j] - left) / whole
            s[j] = v
            t[j] = c[j] + v


@kernel
def _expand(coarse: Grid, fine: Grid, add: bool) -> None:
    """Interpolate one coarse row to a fine one: cubic between four nodes, linear at the ends."""
    cx, nx = coarse.size, fine.size
    one = fine.dtype.type
    near, far, half = one(0.5625), one(0.0625), one(0.5)
    if not add:
        fine[:] = one(0.0)
    for c in range(cx):
        fine[2 * c] += coarse[c]
    for c in range(1, cx - 2):
        fine[2 * c + 1] += near * (coarse[c] + coarse[c + 1]) - far * (
            coarse[c - 1] + coarse[c + 2]
        )
    fine[1] += half * (coarse[0] + coarse[1])
    if cx > 2:
        fine[2 * cx - 3] += half * (coarse[cx - 2] + coarse[cx - 1])
    if nx == 2 * cx:  # past the last coarse node: straight on
        fine[nx - 1] += one(1.5) * coarse[cx - 1] - half * coarse[cx - 2]


@kernel
def _gather(fine: Grid, coarse: Grid) -> None:
    """Gather one fine row on a coarse one: the transpose of `_expand`."""
    cx, nx = coarse.size, fine.size
    one = fine.dtype.type
    near, far, half = one(0.5625), one(0.0625), one(0.5)
    for c in range(cx):
        coarse[c] += fine[2 * c]
    for c in range(1, cx - 2):
        v = fine[2 * c + 1]
        coarse[c - 1] -= far * v
        coarse[c] += near * v
        coarse[c + 1] += near * v
        coarse[c + 2] -= far * v
    coarse[0] += half * fine[1]
    coarse[1] += half * fine[1]
    if cx > 2:
        coarse[cx - 2] += half * fine[2 * cx - 3]
        coarse[cx - 1] += half * fine[2 * cx - 3]
    if nx == 2 * cx:
        coarse[cx - 1] += one(1.5) * fine[nx - 1]
        coarse[cx - 2] -= half * fine[nx - 1]


@kernel
def _rows(i: int, cy: int, at: npt.NDArray[np.int64], share: Grid) -> int:
    """Give the coarse rows that fine row i lies between, and their shares in it."""
    one = share.dtype.type
    c = i // 2
    if i % 2 == 0:
        at[0], share[0] = c, one(1.0)
        return 1
    if c + 1 >= cy:
        at[0], at[1] = c - 1, c
        share[0], share[1] = one(-0.5), one(1.5)
        return 2
    if c == 0 or c + 2 >= cy:
        at[0], at[1] = c, c + 1
        share[0], share[1] = one(0.5), one(0.5)
        return 2
    for k in range(4):
        at[k] = c - 1 + k
    share[0], share[1], share[2], share[3] = one(-0.0625), one(0.5625), one(0.5625), one(-0.0625)
    return 4


@kernel
def raise_grid(coarse: Grid, fine: Grid, add: bool) -> None:
    """Interpolate a coarse grid to a fine one, or add it there."""
    cy, cx = coarse.shape
    at = np.zeros(4, np.int64)
    share = np.zeros(4, fine.dtype)
    row = np.zeros(cx, fine.dtype)
    for i in range(fine.shape[0]):
        n = _rows(i, cy, at, share)
        row[:] = share[0] * coarse[at[0]]
        for k in range(1, n):
            row += share[k] * coarse[at[k]]
        _expand(row, fine[i], add)


@kernel
def lower_grid(fine: Grid, coarse: Grid) -> None:
    """Gather a fine grid on a coarse one: the transpose of `raise_grid`."""
    cy, cx = coarse.shape
    at = np.zeros(4, np.int64)
    share = np.zeros(4, fine.dtype)
    row = np.zeros(cx, fine.dtype)
    coarse[:] = 0.0
    for i in range(fine.shape[0]):
        n = _rows(i, cy, at, share)
        row[:] = 0.0
        _gather(fine[i], row)
        for k in range(n):
            coarse[at[k]] += share[k] * row


@kernel
def _share(fine: Grid, coarse: Grid) -> None:
    """Share each fine weight among the coarse nodes around it, linearly: all stay positive."""
    cy, cx = coarse.shape
    ny, nx = fine.shape
    coarse[:] = 0.0
    for i in range(ny):
        for j in range(nx):
            v = fine[i, j]
            if v == 0.0:
                continue
            v *= fine.dtype.type(0.25)
            a, b = i // 2, j // 2
            a1 = min(a + i % 2, cy - 1)
            b1 = min(b + j % 2, cx - 1)
            coarse[a, b] += v
            coarse[a1, b] += v
            coarse[a, b1] += v
            coarse[a1, b1] += v


def _in_bands(kernel_: Callable[..., Any], grid: Grid, *rest: Any) -> list[Any]:
    """Run a kernel over a grid: bands of rows side by side where the grid is large.

    Plain threads, because the kernels let go of the interpreter and numba's own threads may not be
    entered from several at once, as a web server would.
    """
    rows = grid.shape[0]
    if grid.size < BANDED:
        return [kernel_(grid, *rest, 0, rows)]
    bands = min(os.cpu_count() or 1, 8)
    cuts = [rows * k // bands for k in range(bands + 1)]
    jobs = [_pool().submit(kernel_, grid, *rest, a, b) for a, b in pairwise(cuts)]
    return [job.result() for job in jobs]


@cache
def _pool() -> ThreadPoolExecutor:
    return ThreadPoolExecutor(min(os.cpu_count() or 1, 8), thread_name_prefix="bed")


@dataclass
class _Level:
    weight: Singles
    plate: float
    pull: float
    x: Singles
    rhs: Singles
    work: Singles
    step: Singles


@dataclass
class Hierarchy:
    """The grids of one solve, finest first.

    Parameters
    ----------
    weight : (ny, nx) array
        Soundings at each node.
    spacing : float
        Node spacing [m].
    stiffness : float
        Weight of the plate's bending [m^2].
    tension : float
        Reciprocal of the length over which tension outweighs bending [1/m].
    """

    weight: Array
    spacing: float
    stiffness: float
    tension: float
    levels: list[_Level] = field(init=False)
    inverse: Array = field(init=False)

    def __post_init__(self) -> None:
        self.levels = []
        # The cycle is only a preconditioner: single precision halves what it has to carry.
        weight: Singles = self.weight.astype(np.float32)
        spacing = self.spacing
        while True:
            plate = self.stiffness / spacing**2
            pull = self.stiffness * self.tension**2
            fresh = (np.empty(weight.shape, np.float32) for _ in range(4))
            self.levels.append(_Level(weight, plate, pull, *fresh))
            if min(weight.shape) <= COARSEST:
                break
            coarse = np.empty(((weight.shape[0] + 1) // 2, (weight.shape[1] + 1) // 2), np.float32)
            _share(weight, coarse)
            weight, spacing = coarse, 2.0 * spacing
        # The coarsest grid has some hundred nodes: its inverse is soon made, and multiplying by it
        # wakes no threads of the linear algebra library, which cost more than they bring here.
        self.inverse = np.linalg.inv(_dense(self.levels[-1])).astype(np.float64)

    def cycle(self, depth: int = 0) -> None:
        """Improve ``levels[depth].x`` from nothing, given its ``rhs``, by one V-cycle."""
        level = self.levels[depth]
        plate, pull = level.plate, level.pull
        if depth == len(self.levels) - 1:
            _multiply(self.inverse, level.rhs, level.x)
            return
        grids = (level.rhs, level.weight, level.step, plate, pull)
        _in_bands(_first, level.x, *grids, _CHEBYSHEV[0][1])
        for keep, take in _CHEBYSHEV[1:]:
            _in_bands(_sweep, level.x, level.work, *grids, keep, take)
            level.x, level.work = level.work, level.x
        _in_bands(_rest, level.x, level.work, level.rhs, level.weight, plate, pull)
        lower_grid(level.work, self.levels[depth + 1].rhs)
        self.cycle(depth + 1)
        raise_grid(self.levels[depth + 1].x, level.x, True)
        for keep, take in _CHEBYSHEV:
            _in_bands(_sweep, level.x, level.work, *grids, keep, take)
            level.x, level.work = level.work, level.x


@kernel
def _multiply(matrix: Array, rhs: Singles, out: Singles) -> None:
    columns = out.shape[1]
    for k in range(out.size):
        total = 0.0
        for m in range(out.size):
            total += matrix[k, m] * rhs[m // columns, m % columns]
        out[k // columns, k % columns] = total


def _dense(level: _Level) -> Array:
    n = level.weight.size
    matrix = np.empty((n, n))
    weight = level.weight.astype(np.float64)
    unit, column = np.zeros(weight.shape), np.empty(weight.shape)
    for k in range(n):
        unit.flat[k] = 1.0
        apply(unit, weight, level.plate, level.pull, column, 0, weight.shape[0])
        matrix[k] = column.ravel()
        unit.flat[k] = 0.0
    matrix = 0.5 * (matrix + matrix.T)
    # Without tension and with fewer than three soundings the plate could tilt freely: hold it.
    matrix[np.diag_indices(n)] += 1e-9 * np.abs(np.diag(matrix)).max()
    return matrix


def solve(
    grids: Hierarchy,
    values: Array,
    start: Array,
    *,
    tolerance: float = 1e-3,
    most: int = 60,
) -> tuple[Array, int]:
    """Solve for the bed on the finest grid.

    Parameters
    ----------
    grids : Hierarchy
        The grids.
    values : (ny, nx) array
        Mean depth of the soundings at each node [m]; any figure where there are none.
    start : (ny, nx) array
        First guess [m].
    tolerance : float
        Stop where two steps running have moved no node farther than this [m].
    most : int
        Most steps.

    Returns
    -------
    bed : (ny, nx) array
        The surface [m].
    steps : int
        Steps taken.
    """
    top = grids.levels[0]
    weight, plate, pull = grids.weight, top.plate, top.pull
    x = start.copy()
    residual = np.empty_like(x)
    _in_bands(apply, x, weight, plate, pull, residual)
    np.subtract(weight * values, residual, out=residual)
    product = np.empty_like(x)
    direction = np.zeros_like(x)
    before = 0.0
    quiet = 0
    for step in range(1, most + 1):
        top.rhs[:] = residual
        grids.cycle()
        now = sum(_in_bands(_inner, residual, top.x))
        if now <= 0.0:
            return x, step
        _in_bands(_ahead, direction, top.x, now / before if before else 0.0)
        _in_bands(apply, direction, weight, plate, pull, product)
        length = now / sum(_in_bands(_inner, direction, product))
        change = max(_in_bands(_advance, x, residual, direction, product, length))
        quiet = quiet + 1 if change < tolerance else 0
        if quiet >= 2:
            return x, step
        before = now
    return x, most


@kernel
def _inner(a: Array, b: Grid, first: int, last: int) -> float:
    total = 0.0
    for i in range(first, last):
        row = 0.0
        for j in range(a.shape[1]):
            row += a[i, j] * b[i, j]
        total += row
    return total


@kernel
def _rest(
    x: Singles,
    to: Singles,
    rhs: Singles,
    weight: Singles,
    plate: float,
    pull: float,
    first: int,
    last: int,
) -> None:
    """Give what is left of the right side: ``to = rhs - A x``."""
    ny, nx = x.shape
    near = np.float32(-8.0 * plate - pull)
    centre = np.float32(20.0 * plate + 4.0 * pull)
    one, two = np.float32(plate), np.float32(2.0 * plate)
    _rim(x, plate, pull, to, first, last)
    for i in range(first, last):
        rim = i < 2 or i >= ny - 2
        for k in range(nx if rim else 4):
            j = k if rim or k < 2 else nx - 4 + k
            to[i, j] = rhs[i, j] - to[i, j] - weight[i, j] * x[i, j]
        if rim:
            continue
        a, b, c, d, e = x[i - 2], x[i - 1], x[i], x[i + 1], x[i + 2]
        r, w, t = rhs[i], weight[i], to[i]
        for j in range(TWO, np.uint64(nx) - TWO):
            t[j] = r[j] - (
                (w[j] + centre) * c[j]
                + near * (c[j - ONE] + c[j + ONE] + b[j] + d[j])
                + two * (b[j - ONE] + b[j + ONE] + d[j - ONE] + d[j + ONE])
                + one * (a[j] + e[j] + c[j - TWO] + c[j + TWO])
            )


@kernel
def _ahead(direction: Array, x: Singles, beta: float, first: int, last: int) -> None:
    for i in range(first, last):
        for j in range(x.shape[1]):
            direction[i, j] = x[i, j] + beta * direction[i, j]


@kernel
def _advance(
    x: Array,
    residual: Array,
    direction: Array,
    product: Array,
    length: float,
    first: int,
    last: int,
) -> float:
    most = 0.0
    for i in range(first, last):
        for j in range(x.shape[1]):
            d = length * direction[i, j]
            x[i, j] += d
            residual[i, j] -= length * product[i, j]
            most = max(most, abs(d))
    return most
