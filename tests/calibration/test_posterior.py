"""The posterior against what it must come to: the closed form, a long run of a general sampler."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from calibration_reference import depths_of, log_posterior, long_run
from scipy import stats
from tests.chains import quantile_noise, worth

from towscope.calibration.model import Customs, Evidence, student
from towscope.calibration.posterior import infer, smooth
from towscope.calibration.readings import Reading
from towscope.tackle.shelf import stock
from towscope.towing.tow import Tow

FT, MPH = 0.3048, 0.44704
KEY = ("rig", "small-minnow")


def reading(
    out: float,
    mph: float,
    depth: float,
    kind: str = "bottom hit",
    day: str = "a",
    error: float = 0.5,
) -> Reading:
    return Reading("rig", out * FT, mph * MPH, depth * FT, kind, error * FT, KEY[1], None, day)


def core_only() -> Tow:
    return stock().stack([("thin-core-18", 91.44)], KEY[1], 0.9144)


MIXED = [
    reading(120, 1.8, 23.0), reading(170, 2.1, 30.0), reading(160, 2.0, 12.0),
    reading(140, 1.7, 30.0, "miss"), reading(190, 2.3, 31.0, "recorder"),
]  # fmt: skip


def test_students_quantiles() -> None:
    """Against scipy's own Student's t with 4 degrees of freedom."""
    z = np.linspace(-6.0, 6.0, 1201)
    t, rate = student(z)
    assert np.allclose(t, stats.t.ppf(stats.norm.cdf(z), 4), rtol=1e-6, atol=1e-8)
    assert np.allclose(np.gradient(t, z)[5:-5], rate[5:-5], rtol=1e-3)


def test_smoothed_weights_fit_a_known_tail() -> None:
    """Weights with a Pareto tail of shape 0.4 (Vehtari et al. 2024): the shape is found again."""
    rng = np.random.default_rng(2)
    raw = np.log(stats.genpareto.rvs(0.4, size=20_000, random_state=rng) + 1.0)
    weight, shape = smooth(raw)
    assert shape == pytest.approx(0.4, abs=0.12)
    assert weight.sum() == pytest.approx(np.exp(raw - raw.max()).sum(), rel=0.05)
    assert smooth(np.zeros(500))[1] == 0.0


def test_linear_normal_limit_is_the_closed_form() -> None:
    """Small doubts and small errors leave a linear problem with normal errors.

    Its posterior is that of Bayesian linear regression (Gelman et al., Bayesian Data Analysis, 3rd
    ed., section 14.8; from memory), with the slopes taken from the engine by differences here.
    """
    tow = core_only()
    d = tow.doubt
    small = replace(
        d, drag=d.drag * 0.02, friction=d.friction * 0.02, weight=d.weight * 0.02,
        lure_drag=d.lure_drag * 0.02, lure_dive=d.lure_dive * 0.02,
        lure_weight=d.lure_weight * 0.02, lure_dive_area=d.lure_dive_area * 0.02,
    )  # fmt: skip
    tow = replace(tow, doubt=small)
    customs = Customs(0.0006, 0.0008, 0.002 * MPH, 0.0, 0.002 * MPH, 0.006, heavy=False, doubt=1.0)
    rng = np.random.default_rng(4)
    readings = [
        replace(reading(out, v, 1.0, day=day), error=0.003)
        for out, v, day in ((110, 1.6, "a"), (150, 1.9, "a"), (200, 2.2, "b"), (170, 2.5, "b"))
    ]
    bare = Evidence(readings, {KEY: tow}, customs)
    p = len(bare.figures)
    truth = rng.standard_normal(p)
    depths = depths_of(bare, {KEY: tow}, truth) + 0.003 * rng.standard_normal(4)
    readings = [replace(m, depth=float(y)) for m, y in zip(readings, depths, strict=True)]
    problem = Evidence(readings, {KEY: tow}, customs)
    post = infer(problem, draws=4096)

    h = 0.5
    middle = depths_of(problem, {KEY: tow}, np.zeros(p))
    slopes = np.empty((4, p))
    for j in range(p):
        e = h * np.eye(p)[j]
        slopes[:, j] = (depths_of(problem, {KEY: tow}, e) - depths_of(problem, {KEY: tow}, -e)) / (
            2 * h
        )
    weight = np.diag(1.0 / problem.error**2)
    covariance = np.linalg.inv(np.eye(p) + slopes.T @ weight @ slopes)
    mean = covariance @ slopes.T @ weight @ (depths - middle)
    sd = np.sqrt(np.diag(covariance))
    assert np.abs((post.z.mean(0) - mean) / sd).max() < 0.08
    assert np.abs(post.z.std(0) / sd - 1.0).max() < 0.06
    # and the evidence is that of the marginal normal
    whole = np.diag(problem.error**2) + slopes @ slopes.T
    evidence = stats.multivariate_normal(middle, whole).logpdf(depths)
    assert post.evidence == pytest.approx(evidence, abs=0.1)


def test_table_stands_for_the_engine() -> None:
    """Depths by the quadratic table against the engine itself, at draws of the posterior."""
    tows = {KEY: core_only()}
    problem = Evidence(MIXED, tows, Customs())
    post = infer(problem)
    chosen = post.z[:60]
    exact = np.array([depths_of(problem, tows, z) for z in chosen])
    table = problem.depths(post.x[:60], post.table)
    assert np.sqrt(((table - exact) ** 2).mean(0)).max() < 0.2 * problem.error.min()
    heights = problem.density(chosen, post.table)[0]
    other = np.array([log_posterior(z, problem, tows) for z in chosen])
    assert (heights - other).std() < 0.3


def test_slopes_are_those_of_the_height() -> None:
    problem = Evidence(MIXED, {KEY: core_only()}, Customs())
    table = problem.tabulate(np.zeros(len(problem.figures)))
    z = np.full(len(problem.figures), 0.2)
    _, gradient, _ = problem.density(z, table)
    for j in range(z.size):
        e = 1e-5 * np.eye(z.size)[j]
        up, down = (problem.density(z + s * e, table)[0][0] for s in (1.0, -1.0))
        assert gradient[0, j] == pytest.approx((up - down) / 2e-5, abs=1e-6)


def test_two_readings_at_odds_leave_two_peaks_in_the_right_shares() -> None:
    """A bottom hit, and a clear run that only a much lighter line, or a slip, explains.

    Against plain importance weights on draws from before the readings, with the engine itself: slow
    and without any choice of ours in it.
    """
    tows = {KEY: core_only()}
    readings = [reading(150, 2.0, 22.0), reading(200, 1.8, 30.0, "miss")]
    problem = Evidence(readings, tows, Customs(current=0.0))
    post = infer(problem, draws=4096)
    assert len(post.modes) == 2
    z = np.random.default_rng(1).standard_normal((20_000, len(problem.figures)))
    log_weight = np.array([log_posterior(q, problem, tows) + 0.5 * q @ q for q in z])
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    assert 1.0 / (weight**2).sum() > 200.0
    mean = weight @ z
    sd = np.sqrt(weight @ z**2 - mean**2)
    assert np.abs((post.z.mean(0) - mean) / sd).max() < 0.2
    assert np.abs(post.z.std(0) / sd - 1.0).max() < 0.15


def test_posterior_is_that_of_a_long_run() -> None:
    """Against an ensemble sampler (emcee) over the engine itself, with no table and no normals."""
    tows = {KEY: core_only()}
    problem = Evidence(MIXED, tows, Customs(current=0.0))
    post = infer(problem, draws=4096)
    steps = 500
    run = long_run(problem, tows, post.z[:48], steps)
    chain = run.get_chain(discard=50, flat=True)
    spread = chain.std(0)
    assert np.abs((post.z.mean(0) - chain.mean(0)) / spread).max() < 0.2
    assert np.abs(post.z.std(0) / spread - 1.0).max() < 0.15
    there = problem.depths(problem.to_x(chain[::10])[0], post.table)
    here = problem.depths(post.x, post.table)
    # what our method may be off by, and four standard errors of what both have drawn: on another
    # processor, or for another lure, the reference is another chain
    n = worth(run.get_chain(discard=50)).min()
    assert n > 300, "the reference is too short to tell anything"
    noise = 4.0 * math.sqrt(1.0 / n + 1.0 / len(here))
    for level in (0.05, 0.5, 0.95):
        gap = np.quantile(here, level, axis=0) - np.quantile(there, level, axis=0)
        assert np.abs(gap / there.std(0)).max() < 0.1 + quantile_noise(level) * noise
    assert math.isfinite(post.tail)


def test_one_wrong_reading_does_not_spoil_the_rest() -> None:
    """Fifteen bottom hits of one line, one of them off by 20 ft: it is found, and left aside."""
    tows = {KEY: core_only()}
    rng = np.random.default_rng(5)
    readings = [reading(out, 2.0, 1.0) for out in np.linspace(110, 200, 15)]
    bare = Evidence(readings, tows, Customs())
    depths = depths_of(bare, tows, np.zeros(len(bare.figures))) + 0.15 * rng.standard_normal(15)
    good = [replace(m, depth=float(d)) for m, d in zip(readings, depths, strict=True)]
    bad = [*good[:7], replace(good[7], depth=good[7].depth + 20 * FT), *good[8:]]
    clean, spoilt = (infer(Evidence(m, tows, Customs())) for m in (good, bad))
    a, b = (p.problem.depths(p.x, p.table)[:, -1] for p in (clean, spoilt))
    assert abs(a.mean() - b.mean()) < 0.35 * a.std()
