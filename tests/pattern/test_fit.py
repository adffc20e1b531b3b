"""The regression against others' work: scipy's distributions, statsmodels' GLM, a long MCMC run."""

from __future__ import annotations

import math

import emcee
import numpy as np
import pytest
import statsmodels.api as sm
from scipy import stats
from scipy.special import gammaln
from tests.chains import quantile_noise, worth

from towscope.pattern import laplace
from towscope.pattern.fit import Design, Term, alike, fit, given

DRAWS = 4000


@pytest.mark.parametrize("clump", [0.02, 0.3, 2.0])
@pytest.mark.parametrize("y", [0, 1, 5, 12, 13, 60])
def test_count_probability_is_scipys(y: int, clump: float) -> None:
    # scipy.stats.nbinom(n, p) with n = mean / clump, p = 1 / (1 + clump)
    for mean in (0.05, 0.7, 8.0, 90.0):
        value, slope, bend, _ = laplace.count_terms(math.log(mean), float(y), clump)
        expected = stats.nbinom.logpmf(y, mean / clump, 1 / (1 + clump))
        assert value == pytest.approx(expected, rel=1e-9, abs=1e-9)
        h = 1e-4
        up, down = (
            stats.nbinom.logpmf(y, mean * math.exp(s) / clump, 1 / (1 + clump)) for s in (h, -h)
        )
        assert slope == pytest.approx((up - down) / (2 * h), rel=1e-5, abs=1e-5)
        assert bend == pytest.approx(-(up - 2 * expected + down) / h**2, rel=1e-3, abs=1e-4)


def test_putting_spans_together_changes_nothing() -> None:
    # two half hours with 2 and 1 fish: the sum of the chances over all ways to have 3 in the hour
    together = math.exp(laplace.count_terms(math.log(2.0), 3.0, 0.6)[0])
    apart = sum(
        math.exp(laplace.count_terms(0.0, float(k), 0.6)[0])
        * math.exp(laplace.count_terms(0.0, float(3 - k), 0.6)[0])
        for k in range(4)
    )
    assert together == pytest.approx(apart, rel=1e-12)


def test_flat_prior_is_the_glm() -> None:
    # statsmodels GLM, Poisson family, log link, offset ln(hours)
    rng = np.random.default_rng(5)
    n = 400
    level, x = rng.integers(0, 3, n), rng.normal(size=n)
    hours = rng.uniform(0.3, 2.0, n)
    y = rng.poisson(hours * np.exp(0.2 + np.array([0, 0.7, -0.5])[level] + 0.3 * x)).astype(float)
    columns = np.column_stack([np.ones(n), level == 1, level == 2, x]).astype(float)
    reference = sm.GLM(y, columns, family=sm.families.Poisson(), offset=np.log(hours)).fit()
    terms = tuple(given(f"b{i}", 0.0, 1e4) for i in range(4))
    design = Design(
        terms,
        np.tile(np.arange(4), (n, 1)),
        columns,
        y,
        hours,
        np.ones(n),
        np.zeros(n, dtype=np.int64),
        clump_scale=0.0,
    )
    posterior = fit(design, draws=8000, tries=1)
    assert posterior.effects.mean(axis=0) == pytest.approx(reference.params, abs=0.006)
    assert posterior.effects.std(axis=0) == pytest.approx(reference.bse, rel=0.03)


def few_fish() -> Design:
    """One day, six lures, 20 half hours, a handful of fish, Poisson."""
    rng = np.random.default_rng(11)
    n, lures = 20, 6
    k = np.arange(n) % lures
    y = rng.poisson(0.5 * np.exp(-0.4 + rng.normal(0, 0.7, lures)[k])).astype(float)
    terms = (given("base", math.log(0.5), 1.0), alike("lure", range(lures), 0.6))
    idx = np.column_stack([np.zeros(n, dtype=np.int64), 1 + k])
    return Design(
        terms, idx, np.ones((n, 2)), y, np.full(n, 0.5), np.ones(n), np.zeros(n, dtype=np.int64),
        clump_scale=0.0,
    )  # fmt: skip


def clumped_days() -> Design:
    """Five days, four lures, clumped fish and effects of single days."""
    rng = np.random.default_rng(12)
    days, lures, each = 5, 4, 8
    day = np.repeat(np.arange(days), each)
    k = rng.integers(0, lures, days * each)
    mean = np.exp(0.1 + np.array([0.6, 0.0, -0.5, 0.2])[k] + rng.normal(0, 0.5, days)[day])
    y = rng.negative_binomial(mean / 0.6, 1 / 1.6).astype(float)
    terms = (given("base", math.log(0.5), 1.0), alike("lure", range(lures), 0.6))
    idx = np.column_stack([np.zeros(days * each, dtype=np.int64), 1 + k])
    n = days * each
    return Design(
        terms, idx, np.ones((n, 2)), y, np.ones(n), np.ones(n), day, day_scale=0.5, clump_scale=0.5
    )


def much_data() -> Design:
    """Three colours, a slope, and a wandering bite over eight hours; about 150 fish."""
    rng = np.random.default_rng(13)
    hours, colours = 8, 3
    t = np.repeat(np.arange(hours), 6)
    k = rng.integers(0, colours, len(t))
    x = rng.normal(size=len(t))
    bite = np.cumsum(rng.normal(0, 0.3, hours))
    y = rng.poisson(2.0 * np.exp(0.2 + np.array([0.5, 0, -0.6])[k] + 0.3 * x + bite[t]))
    at = np.arange(hours)
    smooth = np.linalg.inv(np.exp(-np.abs(at[:, None] - at) / 2.0))
    terms = (
        given("base", math.log(0.5), 1.0),
        alike("colour", range(colours), 0.6),
        given("slope", 0.1, 0.25),
        Term("bite", tuple(range(hours)), smooth, 0.5),
    )
    idx = np.column_stack([np.zeros_like(t), 1 + k, np.full_like(t, 4), 5 + t])
    val = np.ones(idx.shape)
    val[:, 2] = x
    n = len(t)
    return Design(
        terms, idx, val, y.astype(float), np.full(n, 2.0), np.ones(n), np.zeros(n, dtype=np.int64),
        clump_scale=0.0,
    )  # fmt: skip


def by_mcmc(design: Design, steps: int) -> tuple[np.ndarray, np.ndarray]:
    """Sample the same posterior with emcee, written anew from scipy's distributions.

    All effects are standard normals times their scales here, the scales |normal|, so that the
    walkers see no funnel.
    """
    days = int(design.day[-1]) + 1 if design.day_scale else 0
    shapes = []
    at = 0
    for term in design.terms:
        size = len(term.labels)
        root = np.linalg.cholesky(np.linalg.inv(term.unit_precision))
        shapes.append((at, at + size, term, root))
        at += size
    p = at
    learnt = [t for t in design.terms if not t.fixed]
    n_scales = len(learnt) + (1 if days else 0) + (1 if design.clump_scale else 0)
    dims = p + days + n_scales

    def unpack(x: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        scales = np.abs(x[:, p + days :])
        effects = np.empty((len(x), p))
        i = 0
        for start, stop, term, root in shapes:
            sd: np.ndarray | float = term.scale
            if not term.fixed:
                sd = (term.scale * scales[:, i])[:, None]
                i += 1
            effects[:, start:stop] = term.mean + sd * (x[:, start:stop] @ root.T)
        day = np.zeros((len(x), 0))
        if days:
            day = design.day_scale * scales[:, i : i + 1] * x[:, p : p + days]
            i += 1
        clump = design.clump_scale * scales[:, i] if design.clump_scale else np.zeros(len(x))
        return effects, day, clump

    def log_probability(x: np.ndarray) -> np.ndarray:
        effects, day, clump = unpack(x)
        eta = np.log(design.hours) + (effects[:, design.idx] * design.val).sum(axis=2)
        if days:
            eta = eta + day[:, design.day]
        mean = np.exp(np.clip(eta, -30, 12))
        if design.clump_scale:
            c = np.maximum(clump, 1e-6)[:, None]
            size = mean / c  # scipy's own formula of nbinom, without its checks
            likelihood = gammaln(design.y + size) - gammaln(size) - size * np.log1p(c)
            likelihood = likelihood + design.y * np.log(c / (1 + c))
        else:
            likelihood = design.y * eta - mean
        value = likelihood.sum(axis=1) - 0.5 * (x**2).sum(axis=1)
        return np.where(np.isfinite(value), value, -np.inf)

    walkers = 8 * ((2 * dims + 15) // 8)
    rng = np.random.default_rng(3)
    moves = [(emcee.moves.DEMove(), 0.7), (emcee.moves.DESnookerMove(), 0.1),
             (emcee.moves.StretchMove(), 0.2)]  # fmt: skip
    sampler = emcee.EnsembleSampler(walkers, dims, log_probability, vectorize=True, moves=moves)
    sampler.random_state = np.random.RandomState(3).get_state()
    sampler.run_mcmc(0.5 * rng.standard_normal((walkers, dims)), steps)
    chain = sampler.get_chain(discard=steps // 4, thin=10)
    effects, _, clump = unpack(chain.reshape(-1, dims))
    return effects.reshape(*chain.shape[:2], p), clump.reshape(chain.shape[:2])


@pytest.mark.parametrize("make", [few_fish, clumped_days, much_data])
def test_posterior_is_that_of_a_long_mcmc_run(make) -> None:  # type: ignore[no-untyped-def]
    # emcee (Foreman-Mackey et al. 2013, PASP 125:306), an independent sampler. Where another
    # processor rounds otherwise, its chain is another one: each bound is what our method may be
    # off by, and four standard errors of what both have drawn, of n draws from a normal one: the
    # mean's 1/sqrt(n), the spread's 1/sqrt(2n), a tail's sqrt(q (1 - q) / n) over its density.
    # Ours runs with more sets of scales than usual, to check the method rather than its noise; a
    # longer run against the usual number is in docs/bench/pattern.md.
    design = make()
    chain, clump = by_mcmc(design, 3000)
    reference = chain.reshape(-1, chain.shape[2])
    posterior = fit(design, draws=DRAWS, points=1000)
    sd = reference.std(axis=0)
    n = worth(chain)
    assert np.min(n) > 600, "the reference is too short to tell anything"
    noise = 4.0 * np.sqrt(1.0 / n + 1.0 / DRAWS)
    off = np.abs(posterior.effects.mean(axis=0) - reference.mean(axis=0)) / sd
    assert np.all(off < 0.05 + noise)
    assert np.all(np.abs(posterior.effects.std(axis=0) / sd - 1.0) < 0.05 + noise / np.sqrt(2.0))
    for q in (5, 95):
        a, b = (np.percentile(x, q, axis=0) for x in (posterior.effects, reference))
        assert np.all(np.abs(a - b) / sd < 0.1 + quantile_noise(0.05) * noise)
    if design.clump_scale:
        error = 4.0 * clump.std() / clump.mean() / np.sqrt(worth(clump[:, :, None])[0])
        assert error < 0.1
        assert posterior.scales["clump"].mean() == pytest.approx(clump.mean(), rel=0.02 + error)
