"""Distances between lines, against a bounded least-squares solver and plain brute force."""

import math

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy.optimize import lsq_linear

from towscope.towing.gaps import BUNDLE, cut, gaps, line_gap, plan_crossing, segment_gap

figures = st.floats(-10.0, 10.0, allow_nan=False, width=32)
segments = arrays(np.float64, (4, 3), elements=figures)


def room(n: int) -> list[np.ndarray]:
    return [np.empty((n // BUNDLE + 2, 3)) for _ in range(4)]


def by_least_squares(ends: np.ndarray) -> float:
    """Box-constrained least squares, scipy's: the same problem in another form."""
    a, b, c, d = ends
    matrix = np.column_stack([b - a, c - d])
    best = lsq_linear(matrix, c - a, bounds=(0.0, 1.0), tol=1e-14)
    return float(np.linalg.norm(matrix @ best.x - (c - a)))


@given(segments)
@settings(max_examples=150)
def test_segments_against_scipy(ends):
    squared, s, t = segment_gap(*ends.ravel())
    assert 0.0 <= s <= 1.0
    assert 0.0 <= t <= 1.0
    a, b, c, d = ends
    assert math.isclose(
        squared, float(((a + s * (b - a) - c - t * (d - c)) ** 2).sum()), abs_tol=1e-9
    )
    assert math.sqrt(squared) <= by_least_squares(ends) + 1e-5
    # and it can't be less than the least
    assert math.sqrt(squared) >= by_least_squares(ends) - 1e-5


def test_segments_that_are_awkward():
    # parallel, beside each other; on one line; shrunk to points; touching
    assert segment_gap(0, 0, 0, 4, 0, 0, 1, 2, 0, 3, 2, 0)[0] == 4.0
    assert segment_gap(0, 0, 0, 1, 0, 0, 3, 0, 0, 5, 0, 0)[0] == 4.0
    assert segment_gap(0, 0, 0, 0, 0, 0, 3, 4, 0, 3, 4, 0)[0] == 25.0
    assert segment_gap(0, 0, 0, 2, 0, 0, 1, -1, 0, 1, 1, 0)[0] == 0.0


def wander(rng: np.random.Generator, n: int) -> np.ndarray:
    return np.cumsum(rng.normal(size=(n, 3)), axis=0) + rng.normal(size=3) * 3.0


def test_lines_against_every_pair_of_segments():
    rng = np.random.default_rng(11)
    for n, m in ((1, 1), (1, 5), (2, 2), (9, 8), (17, 40), (60, 33)):
        for _ in range(5):
            a, b = wander(rng, n), wander(rng, m)
            brute = min(
                segment_gap(*a[i], *a[min(i + 1, n - 1)], *b[j], *b[min(j + 1, m - 1)])[0]
                for i in range(max(n - 1, 1))
                for j in range(max(m - 1, 1))
            )
            found, at_a, at_b = line_gap(a, n, b, m, *room(max(n, m)), math.inf)
            assert math.isclose(found, math.sqrt(brute), abs_tol=1e-12)
            i, j = min(int(at_a), n - 1), min(int(at_b), m - 1)
            p = a[i] + (at_a - i) * (a[min(i + 1, n - 1)] - a[i])
            q = b[j] + (at_b - j) * (b[min(j + 1, m - 1)] - b[j])
            assert math.isclose(float(np.linalg.norm(p - q)), found, abs_tol=1e-9)


def test_a_bound_leaves_out_only_what_is_further():
    rng = np.random.default_rng(5)
    a, b = wander(rng, 30), wander(rng, 30) + 6.0
    found, *_ = line_gap(a, 30, b, 30, *room(30), math.inf)
    assert line_gap(a, 30, b, 30, *room(30), 1.01 * found)[0] == found
    assert line_gap(a, 30, b, 30, *room(30), 0.99 * found)[0] == math.inf


def test_crossings_from_above_against_shapely():
    """Shapely (the GEOS library) counts the points where the same lines meet in the plane."""
    from shapely import LineString, get_num_geometries

    rng = np.random.default_rng(3)
    counts = []
    for _ in range(30):
        a, b = wander(rng, 12), wander(rng, 15)
        meet = LineString(a[:, :2]).intersection(LineString(b[:, :2]))
        theirs = 0 if meet.is_empty else int(get_num_geometries(meet))
        height, ours = plan_crossing(a, 12, b, 15)
        assert ours == theirs
        assert math.isnan(height) == (theirs == 0)
        counts.append(theirs)
    assert max(counts) > 1


def test_height_where_lines_cross():
    over = np.array([[-1.0, 0.0, -2.0], [1.0, 0.0, -4.0]])
    under = np.array([[0.0, -1.0, -5.0], [0.0, 1.0, -5.0]])
    assert plan_crossing(over, 2, under, 2) == (2.0, 1)
    assert plan_crossing(under, 2, over, 2) == (-2.0, 1)


def test_the_first_metres_at_the_rod_are_left_out():
    line = np.array([[0, 0, -5], [0, 4, -3], [0, 6, -3], [0, 8, -3]], dtype=np.float32)
    out = np.empty((4, 3))
    assert cut(line, 4, 3.0, out) == 3
    np.testing.assert_allclose(out[2], [0, 5, -3], atol=1e-6)
    assert cut(line, 4, 100.0, out) == 1  # never less than the lure


def test_all_pairs_over_time_and_the_quick_way_agree():
    rng = np.random.default_rng(8)
    shapes = np.cumsum(rng.normal(size=(3, 25, 20, 3)), axis=2).astype(np.float32)
    counts = rng.integers(5, 21, size=(3, 25))
    pairs = np.array([[0, 1], [0, 2], [1, 2]])
    full, crossed = gaps(shapes, counts, pairs)
    quick, none = gaps(shapes, counts, pairs, crossings=False, least_only=True)
    np.testing.assert_array_equal(full[:, :, 0].min(axis=1), quick[:, :, 0].min(axis=1))
    assert crossed.shape == (3, 25)
    assert none.shape == (3, 0)
