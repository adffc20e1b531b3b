"""Ninety in a hundred must be ninety: the small version of bench/pattern_calibration.py."""

from __future__ import annotations

import numpy as np

from pattern_calibration import Tally, by_own_priors


def test_intervals_hold_and_probabilities_are_right() -> None:
    # simulation-based calibration (Talts et al. 2018, arXiv:1804.06788); with 20 days the share
    # of intervals that hold is known to some 3 %, hence the wider bounds than the 87 to 93 % that
    # the full run of 500 days is held to
    names = ("lures", "sizes", "colours", "bodies", "base rate")
    tallies = {f"own: {x}": Tally() for x in names}
    for number in range(20):
        by_own_priors(11, number, tallies)
    lures = tallies["own: lures"]
    share, error = lures.coverage()
    assert error < 0.04
    assert 0.81 < share < 0.98
    for said, was, spread, count in lures.reliability(np.array([0.5, 0.65, 0.8, 1.0001])):
        assert count > 30
        assert abs(said - was) < 3.0 * spread + 0.02


def test_the_tally_would_notice_overconfidence() -> None:
    # the check itself: the same truth with intervals a third too narrow must fail it
    rng = np.random.default_rng(0)
    honest, bold = Tally(), Tally()
    for _ in range(300):
        middle = rng.normal(size=4)
        truth = middle + rng.normal(size=4)
        honest.add(middle + rng.normal(size=(500, 4)), truth, rng)
        bold.add(middle + 0.67 * rng.normal(size=(500, 4)), truth, rng)
    assert 0.87 < honest.coverage()[0] < 0.93
    assert bold.coverage()[0] < 0.80
