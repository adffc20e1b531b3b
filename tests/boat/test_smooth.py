"""The smoother against a smoothing spline, which it is under another name."""

import numpy as np
import pytest
from scipy.interpolate import make_smoothing_spline

from towscope.boat.smooth import agility, scatter, smooth


# Reference: scipy.interpolate.make_smoothing_spline (Woltring 1986). Under white acceleration of
# density q and scatter r the likeliest way is the cubic spline with penalty r / q on its second
# derivative (Wahba 1978, J. R. Statist. Soc. B 40:364-372).
@pytest.mark.parametrize("penalty", [0.3, 10.0, 1000.0])
def test_is_the_smoothing_spline(penalty):
    rng = np.random.default_rng(4)
    t = np.cumsum(rng.uniform(0.4, 3.0, 300))
    x, y = 40.0 * np.sin(t / 60.0) + rng.normal(0, 0.5, 300), 0.9 * t + rng.normal(0, 0.5, 300)
    found = smooth(t, x, y, 0.5, 0.25 / penalty)
    for place, rate, given in ((found.x, found.vx, x), (found.y, found.vy, y)):
        spline = make_smoothing_spline(t, given, lam=penalty)
        # the ends feel the prior on speed, 10 m/s, which a spline does not have
        assert place == pytest.approx(spline(t), abs=2e-3)
        assert rate == pytest.approx(spline.derivative()(t), abs=2e-3)


def test_scatter_is_found_on_a_turning_track():
    rng = np.random.default_rng(5)
    t = np.arange(0.0, 4000.0, 2.0)
    for spread in (0.1, 1.0, 4.0):
        x = 20.0 * np.sin(0.045 * t) + rng.normal(0, spread, t.size)
        y = 20.0 * np.cos(0.045 * t) + rng.normal(0, spread, t.size)
        assert scatter(t, x, y) == pytest.approx(spread, rel=0.1)


def test_standard_errors_are_true():
    rng = np.random.default_rng(6)
    t = np.arange(4000.0)
    speed = np.cumsum(rng.normal(0, np.sqrt(0.01), (t.size, 2)), axis=0)
    true = np.cumsum(speed, axis=0)
    seen = true + rng.normal(0, 2.0, true.shape)
    spread = scatter(t, *seen.T)
    found = smooth(t, *seen.T, spread, agility([(t, *seen.T)], spread))
    off = np.column_stack([found.x, found.y]) - true
    assert np.sqrt((off**2).mean()) == pytest.approx(found.sd.mean(), rel=0.15)
    assert np.sqrt((off**2).mean()) < 1.0  # half of what a single fix is off


def test_a_spike_is_not_followed():
    t = np.arange(200.0)
    x = 0.9 * t
    x[100] += 40.0
    found = smooth(t, x, 0 * t, 0.3, 0.01)
    assert found.doubted.tolist() == [i == 100 for i in range(200)]
    assert found.x == pytest.approx(0.9 * t, abs=1e-3)
