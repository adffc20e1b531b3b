"""The kernels' own logarithm takes numbers apart as the C library's frexp does."""

from __future__ import annotations

import math

import numpy as np

from towscope.towing.elementary import ROOT_HALF, exponential, logarithm, parted

EDGES = (
    1.0, 0.5, 2.0, ROOT_HALF, math.nextafter(ROOT_HALF, 0.0), math.nextafter(ROOT_HALF, 1.0),
    1e-300, 1e300, 5e-324, 1e-310, 1.7e308,
)  # fmt: skip


def test_a_number_is_taken_apart_exactly() -> None:
    spread = 10.0 ** np.random.default_rng(5).uniform(-305.0, 305.0, 2000)
    for x in (*EDGES, *spread.tolist()):
        m, e = parted(x)
        assert ROOT_HALF <= m < 2.0 * ROOT_HALF
        half, power = math.frexp(x)  # ISO C 7.12.6.4
        assert (m, e) == ((2.0 * half, power - 1) if half < ROOT_HALF else (half, power))


def test_what_is_no_number_stays_none() -> None:
    assert math.isnan(logarithm(math.nan))
    assert math.isnan(exponential(math.nan))
