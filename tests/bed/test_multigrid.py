"""The solver against a direct solution, and the surface against verde's exact spline."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.sparse as sp
import scipy.sparse.linalg

from towscope.bed.gridding import Frame, Plate, at, surface
from towscope.bed.multigrid import Hierarchy, _in_bands, apply, lower_grid, raise_grid, solve


def direct(weight, values, spacing, stiffness, tension):
    """The same minimum, from scipy's sparse direct solver and differences written out anew."""
    ny, nx = weight.shape

    def second(n):
        return sp.diags([1.0, -2.0, 1.0], [0, 1, 2], shape=(n - 2, n))

    def first(n):
        return sp.diags([-1.0, 1.0], [0, 1], shape=(n - 1, n))

    xx = sp.kron(sp.eye(ny), second(nx))
    yy = sp.kron(second(ny), sp.eye(nx))
    xy = sp.kron(first(ny), first(nx))
    x = sp.kron(sp.eye(ny), first(nx))
    y = sp.kron(first(ny), sp.eye(nx))
    plate = xx.T @ xx + 2 * xy.T @ xy + yy.T @ yy
    pull = x.T @ x + y.T @ y
    a = sp.diags(weight.ravel()) + stiffness / spacing**2 * plate + stiffness * tension**2 * pull
    b = weight.ravel() * values.ravel()
    return scipy.sparse.linalg.spsolve(a.tocsc(), b).reshape(weight.shape)


@pytest.mark.parametrize("shape", [(40, 57), (33, 90), (64, 64)])
@pytest.mark.parametrize("stiffness", [0.5, 50.0, 5e4])
def test_multigrid_finds_the_minimum_that_a_direct_solver_finds(shape, stiffness):
    rng = np.random.default_rng(1)
    weight = np.where(rng.random(shape) < 0.08, rng.integers(1, 5, shape), 0).astype(float)
    values = 5.0 + rng.normal(0.0, 1.0, shape)
    exact = direct(weight, values, 2.0, stiffness, 1 / 60.0)
    found, _ = solve(
        Hierarchy(weight, 2.0, stiffness, 1 / 60.0),
        values,
        np.full(shape, 5.0),
        tolerance=1e-7,
        most=400,
    )
    assert np.abs(found - exact).max() < 1e-5


def test_lowering_is_the_transpose_of_raising():
    # <P c, f> = <c, P' f> for every c and f, or the preconditioner would not be symmetric
    rng = np.random.default_rng(2)
    for shape in ((11, 14), (12, 13), (9, 9), (40, 10)):
        coarse = rng.normal(size=((shape[0] + 1) // 2, (shape[1] + 1) // 2))
        fine = rng.normal(size=shape)
        up, down = np.empty(shape), np.empty(coarse.shape)
        raise_grid(coarse, up, False)
        lower_grid(fine, down)
        assert np.vdot(up, fine) == pytest.approx(np.vdot(coarse, down), rel=1e-12)


def test_bands_of_rows_change_nothing():
    rng = np.random.default_rng(3)
    u, weight = rng.normal(size=(700, 600)), rng.random((700, 600))
    one, many = np.empty_like(u), np.empty_like(u)
    apply(u, weight, 2.0, 0.3, one, 0, 700)
    assert u.size > 300_000
    _in_bands(apply, u, weight, 2.0, 0.3, many)
    assert np.array_equal(one, many)


def test_a_plane_passes_through_unbent():
    # a thin plate without tension reproduces any plane exactly (Smith & Wessel 1990)
    rng = np.random.default_rng(4)
    x, y = rng.uniform(0, 200, (2, 300))
    frame = Frame(0.0, 0.0, 2.0, 101, 101)
    bed = surface(x, y, 3.0 + 0.05 * x - 0.02 * y, frame, Plate(10.0, 1e7), tolerance=1e-6)
    yy, xx = np.mgrid[0:202:2, 0:202:2]
    assert np.abs(bed - (3.0 + 0.05 * xx - 0.02 * yy)).max() < 2e-3


def test_the_surface_is_verdes_spline_where_the_plate_is_soft():
    # Outside reference: verde.Spline, the exact biharmonic spline through every datum
    # (Uieda 2018, J. Open Source Softw. 3:957; Sandwell 1987, Geophys. Res. Lett. 14:139-142).
    verde = pytest.importorskip("verde")
    rng = np.random.default_rng(5)
    x, y = rng.uniform(0, 300, (2, 150))
    z = 8.0 + 2.0 * np.sin(x / 60.0) * np.cos(y / 75.0)
    exact = verde.Spline().fit((x, y), z)
    frame = Frame.around(x, y, 1.5, 300.0)  # a wide margin: the exact plate has no rim
    bed = surface(x, y, z, frame, Plate(0.05, 1e7), tolerance=1e-5, most=400)
    at_x, at_y = rng.uniform(40, 260, (2, 400))
    off = at(bed, frame, at_x, at_y) - exact.predict((at_x, at_y))
    assert np.sqrt(np.mean(off**2)) < 0.02
