"""Rates and their intervals against scipy and the published table."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from towscope.errors import InputError
from towscope.pattern.rates import fish_to_tell, interval, rate

# Garwood (1936), Biometrika 28:437-442, 95 % limits; figures from memory of the table as reprinted
# in textbooks of epidemiology, to its decimals
GARWOOD_95 = {
    0: (0.0, 3.69),
    1: (0.0253, 5.57),
    2: (0.242, 7.22),
    3: (0.619, 8.77),
    5: (1.62, 11.67),
    10: (4.80, 18.39),
}


@pytest.mark.parametrize("count", GARWOOD_95)
def test_interval_is_the_published_one(count: int) -> None:
    low, high = interval(count, 0.95)
    assert low == pytest.approx(GARWOOD_95[count][0], abs=0.005)
    assert high == pytest.approx(GARWOOD_95[count][1], abs=0.006)


@given(st.integers(0, 2000), st.floats(0.5, 0.999))
def test_interval_is_scipys(count: int, confidence: float) -> None:
    # scipy.stats.chi2: the limits are half of chi-squared quantiles
    low, high = interval(count, confidence)
    tail = (1 - confidence) / 2
    assert high == pytest.approx(stats.chi2.ppf(1 - tail, 2 * count + 2) / 2, rel=1e-9)
    assert low == pytest.approx(stats.chi2.ppf(tail, 2 * count) / 2 if count else 0.0, rel=1e-9)


@pytest.mark.parametrize("count", [0, 3, 17])
def test_interval_ends_are_where_the_tails_say(count: int) -> None:
    # the definition: at the ends the count is just at the edge of what scipy's Poisson allows
    low, high = interval(count)
    assert stats.poisson.cdf(count, high) == pytest.approx(0.05, abs=1e-9)
    if count:
        assert stats.poisson.sf(count - 1, low) == pytest.approx(0.05, abs=1e-9)


def test_telling_takes_the_fish_it_says() -> None:
    # simulated with the stated number: a lure twice as good leads in about nine of ten trials
    n = fish_to_tell(2.0)
    leads = 1 - stats.binom.cdf(n // 2, n, 2 / 3) + 0.5 * stats.binom.pmf(n // 2, n, 2 / 3)
    assert 0.87 < leads < 0.97


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: rate(3, 0.0), "rod-hours"),
        (lambda: rate(3, float("nan")), "rod-hours"),
        (lambda: rate(-1, 2.0), "catches"),
        (lambda: interval(1, 1.0), "confidence"),
        (lambda: fish_to_tell(1.0), "ratio"),
    ],
)
def test_nonsense_is_named(call, words: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError, match=words):
        call()
