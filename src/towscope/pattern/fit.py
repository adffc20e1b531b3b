"""Nested Laplace with importance weights for a pooled count regression: every effect at once.

The posterior of a count regression with partially pooled Gaussian effects. For given scales (how
far lures, sizes, depths ... differ among themselves) the effects' posterior is nearly Gaussian;
the scales are few. So: spread a few dozen sets of scales over where they can be, find the peak for
each, draw effects from the Gaussian at that peak, and weigh every draw by what the exact posterior
says of it. The last step makes the answer right, not just close; the earlier ones make it fast.

References
----------
Rue, Martino & Chopin (2009), "Approximate Bayesian inference for latent Gaussian models by using
integrated nested Laplace approximations", J. R. Stat. Soc. B 71:319-392: the nested peaks.
Gelman (2006), "Prior distributions for variance parameters in hierarchical models", Bayesian
Analysis 1:515-533: half-normal scales. Ionides (2008), "Truncated importance sampling",
J. Comput. Graph. Stat. 17:295-311: the cut at the heaviest weights.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field

import numpy as np
import scipy

from towscope.arrays import Array, Integers
from towscope.pattern import laplace


@dataclass(frozen=True)
class Term:
    """One family of effects drawn from one Gaussian.

    Attributes
    ----------
    name : str
        "lure", "depth" ...
    labels : tuple
        What each effect belongs to.
    unit_precision : ndarray (k, k)
        Inverse covariance of the effects at scale 1.
    scale : float
        Half-normal scale of the effects' scale [ln], or the scale itself where `fixed`.
    fixed : bool
        Whether the scale is given rather than learnt.
    mean : float
        Prior mean of the effects [ln].
    """

    name: str
    labels: tuple[object, ...]
    unit_precision: Array
    scale: float
    fixed: bool = False
    mean: float = 0.0


def alike(name: str, labels: Sequence[object], scale: float) -> Term:
    """Make a term whose effects are exchangeable: no one nearer to another than to a third."""
    return Term(name, tuple(labels), np.eye(len(labels)), scale)


def given(name: str, mean: float, sd: float) -> Term:
    """Make a term of one effect with a known prior."""
    return Term(name, (name,), np.eye(1), sd, fixed=True, mean=mean)


@dataclass(frozen=True)
class Design:
    """Cells of effort, their catches, and which effects act on each; cells lie day by day.

    Attributes
    ----------
    terms : tuple of Term
        The families of effects; their columns follow each other in this order.
    idx, val : ndarray (cells, n)
        Columns that act on each cell, and by what factor (0 where nothing acts).
    y, hours, weight : ndarray (cells,)
        Catches [fish], effort [rod-hours], how much each cell counts.
    day : ndarray (cells,)
        Number of the day each cell belongs to, rising from 0.
    day_scale : float
        Half-normal scale of the day effects [ln]; 0 for none.
    days_within : int
        How many of the last days have their effect in a term named "day", whose scale is shared;
        the days before them are eliminated one by one.
    clump_scale : float
        Half-normal scale of the clumping; 0 for plain Poisson.
    """

    terms: tuple[Term, ...]
    idx: Integers
    val: Array
    y: Array
    hours: Array
    weight: Array
    day: Integers
    day_scale: float = 0.0
    days_within: int = 0
    clump_scale: float = 0.5

    def columns(self, name: str) -> slice:
        """Give the columns of a term."""
        start = 0
        for term in self.terms:
            if term.name == name:
                return slice(start, start + len(term.labels))
            start += len(term.labels)
        raise KeyError(name)

    def has(self, name: str) -> bool:
        """Say whether there is such a term."""
        return any(term.name == name for term in self.terms)


@dataclass(frozen=True)
class RatePosterior:
    """Equally likely draws of everything, and how well they were got.

    Attributes
    ----------
    design : Design
        What was fitted.
    effects : ndarray (draws, p)
        The effects [ln].
    day_effects : ndarray (draws, days)
        The effects of single days [ln].
    scales : dict of str to ndarray (draws,)
        The scale of each term [ln]; "day" and "clump" among them where learnt.
    effective : float
        Number of independent draws these are worth.
    """

    design: Design
    effects: Array
    day_effects: Array
    scales: dict[str, Array]
    effective: float

    def effect(self, name: str) -> Array:
        """Give the draws of one term's effects (draws, k) [ln]."""
        return self.effects[:, self.design.columns(name)]


@dataclass
class _FitWork:
    """The design as the kernels take it, with the scales' own coordinates."""

    design: Design
    local: Integers = field(init=False)
    day_ptr: Integers = field(init=False)
    col_ptr: Integers = field(init=False)
    cols: Integers = field(init=False)

    def __post_init__(self) -> None:
        d = self.design
        n, width = d.idx.shape
        days = int(d.day[-1]) + 1 if n else 1
        self.day_ptr = np.searchsorted(d.day, np.arange(days + 1)).astype(np.int64)
        p = sum(len(t.labels) for t in d.terms)
        met = np.zeros((days, p), dtype=np.bool_)
        for k in range(width):
            met[d.day, d.idx[:, k]] = True
        self.cols = np.nonzero(met)[1].astype(np.int64)
        self.col_ptr = np.concatenate([[0], np.cumsum(met.sum(axis=1))]).astype(np.int64)
        place = np.cumsum(met, axis=1, dtype=np.int64) - 1
        self.local = np.ascontiguousarray(place[d.day[:, None], d.idx])
        self.log_hours = np.log(d.hours)
        self.days = days
        self.p = p
        self.unit = np.zeros((p, p))
        self.mean = np.zeros(p)
        self.owner = np.zeros(p, dtype=np.int64)
        self.fixed_sigma = np.zeros(p)
        self.learnt: list[int] = []
        start = 0
        for number, term in enumerate(d.terms):
            stop = start + len(term.labels)
            self.unit[start:stop, start:stop] = term.unit_precision
            self.mean[start:stop] = term.mean
            if term.fixed:
                self.owner[start:stop] = -1
                self.fixed_sigma[start:stop] = term.scale
            elif term.name == "day":
                self.owner[start:stop] = -2
            else:
                self.owner[start:stop] = len(self.learnt)
                self.learnt.append(number)
            start = stop
        self.sizes = np.array([len(d.terms[i].labels) for i in self.learnt], dtype=float)
        self.names = [d.terms[i].name for i in self.learnt]
        prior = [d.terms[i].scale for i in self.learnt]
        self.n_terms = len(prior)
        self.day_at = self.clump_at = -1
        self.apart = np.zeros(days, dtype=np.bool_)
        self.n_days = 0.0
        if d.day_scale > 0.0:
            self.day_at = len(prior)
            self.owner[self.owner == -2] = self.day_at
            self.apart[: days - d.days_within] = True
            self.n_days = float(days)
            prior.append(d.day_scale)
            self.names.append("day")
        if d.clump_scale > 0.0:
            self.clump_at = len(prior)
            prior.append(d.clump_scale)
            self.names.append("clump")
        self.prior = np.array(prior)
        self.first = self._first()

    def _first(self) -> Integers:
        """Find the first effect each effect meets: in the prior, in a cell, or in a day apart."""
        d = self.design
        first = np.argmax(self.unit != 0.0, axis=1).astype(np.int64)
        on = d.val != 0.0
        lowest = np.where(on, d.idx, self.p).min(axis=1)
        by_day = np.minimum.reduceat(lowest, self.day_ptr[:-1]) if len(lowest) else lowest
        lowest = np.where(self.apart[d.day], by_day[d.day], lowest)
        np.minimum.at(first, d.idx[on], np.repeat(lowest, on.sum(axis=1)))
        return np.asarray(np.minimum(first, np.arange(self.p)), dtype=np.int64)

    def scales(self, z: Array) -> Array:
        """Turn standard normal scores into half-normal scales."""
        return np.maximum(
            -self.prior * scipy.special.ndtri(0.5 * scipy.special.ndtr(-z)), 1e-4 * self.prior
        )

    def split(self, scales: Array) -> tuple[Array, Array, Array]:
        """Give the prior scale of every effect, of days, and the clumping, for sets of scales."""
        sets = len(scales)
        padded = np.concatenate([scales, np.zeros((sets, 1))], axis=1)
        sigma = np.where(self.owner < 0, self.fixed_sigma, padded[:, np.maximum(self.owner, 0)])
        day = scales[:, self.day_at] if self.day_at >= 0 else np.zeros(sets)
        clump = scales[:, self.clump_at] if self.clump_at >= 0 else np.zeros(sets)
        return sigma, np.ascontiguousarray(day), np.ascontiguousarray(clump)

    def peaks(self, z: Array, u: Array, g: Array, most: int = 60) -> _Peaks:
        """Find the peaks for sets of scale scores (sets, scales), all begun at u and g."""
        d = self.design
        sets = len(z)
        scales = self.scales(z)
        sigma, day, clump = self.split(scales)
        found = _Peaks(
            scales, sigma, day, clump, np.tile(u, (sets, 1)), np.tile(g, (sets, 1)),
            np.empty((sets, self.p, self.p)), np.empty((sets, self.days)),
            np.empty((sets, len(self.cols))), np.empty(sets), np.empty(sets),
        )  # fmt: skip

        def some(part: slice) -> None:
            objective, logdet = laplace.peaks(
                d.idx, d.val, self.local, d.y, self.log_hours, d.weight,
                self.day_ptr, self.col_ptr, self.cols, self.first, self.apart,
                self.unit, self.mean, sigma[part], day[part], clump[part], most,
                found.u[part], found.g[part], found.lower[part], found.dd[part], found.bb[part],
            )  # fmt: skip
            constant = -np.log(scales[part, : self.n_terms]) @ self.sizes
            if self.day_at >= 0:
                constant -= self.n_days * np.log(day[part])
            found.objective[part] = objective
            found.evidence[part] = objective + constant - 0.5 * logdet

        _shared(some, sets, len(d.y) * d.idx.shape[1])
        return found

    def draw(
        self, at: _Peaks, which: Integers, z: Array, zg: Array, weigh: bool
    ) -> tuple[Array, Array, Array]:
        """Draw from the Gaussians at the peaks; give effects, day effects and log weights."""
        d = self.design
        out, out_g = np.empty_like(z), np.empty_like(zg)
        off = np.empty(len(which))

        def some(part: slice) -> None:
            off[part] = laplace.draw(
                d.idx, d.val, d.y, self.log_hours, d.weight, self.day_ptr, self.col_ptr,
                self.cols, self.first, self.apart, self.unit, self.mean, at.sigma, at.day,
                at.clump, at.u, at.g, at.lower, at.dd, at.bb,
                which[part], z[part], zg[part], weigh, out[part], out_g[part],
            )  # fmt: skip

        _shared(some, len(which), len(d.y) * d.idx.shape[1])
        return out, out_g, off - at.objective[which]


@dataclass
class _Peaks:
    """The peaks of several sets of scales, with all a draw needs."""

    scales: Array
    sigma: Array
    day: Array
    clump: Array
    u: Array
    g: Array
    lower: Array
    dd: Array
    bb: Array
    objective: Array
    evidence: Array


def _shared(some: Callable[[slice], None], count: int, work: int) -> None:
    """Do a job in two halves at once where it is large; the kernels let each other run."""
    if work < 20_000 or count < 2 or (os.cpu_count() or 1) < 2:
        some(slice(0, count))
        return
    with ThreadPoolExecutor(2) as pool:
        list(pool.map(some, (slice(0, count // 2), slice(count // 2, count))))


_GRID = np.linspace(-3.0, 4.0, 141)
LARGE = 200_000  # cells times effects each, from which on a fit is made at once


def fit(
    design: Design,
    *,
    draws: int = 2000,
    points: int | None = None,
    tries: int | None = None,
    seed: int = 1,
) -> RatePosterior:
    """Fit the regression.

    Parameters
    ----------
    design : Design
        Cells and terms; at least one cell.
    draws : int
        How many draws to give.
    points : int, optional
        How many sets of scales to try; as many as the size of the problem allows if not given.
    tries : int, optional
        How many draws to make for each that is kept; likewise.
    seed : int
        Of the random numbers: the same data give the same answer.

    Returns
    -------
    RatePosterior
        Draws of effects and scales.
    """
    size = design.idx.size
    if points is None:
        points = 256 if size < 20_000 else 64 if size < 100_000 else 16
    if tries is None:
        tries = 4 if size < 20_000 else 1
    work = _FitWork(design)
    rng = np.random.default_rng(seed)
    if size > LARGE:
        return _at_once(work, draws, rng)
    centre, spread, u, g = _where(work)
    zs, peaks, log_weight = _tried(work, centre, spread, u, g, points, rng)
    for _ in range(2):
        weight = _normal(log_weight)
        if len(centre) == 0 or 1.0 / float(weight @ weight) > 0.2 * len(zs):
            break
        # the scales lie elsewhere than thought: move there and try as many again
        centre = weight @ zs
        spread = np.sqrt(weight @ (zs - centre) ** 2 + 0.02) * 1.2
        best = int(np.argmax(log_weight))
        zs, peaks, log_weight = _tried(
            work, centre, spread, peaks.u[best], peaks.g[best], points, rng
        )
    return _drawn(work, peaks, _normal(log_weight), draws, max(tries, 1) * draws, rng)


def _tried(
    work: _FitWork,
    centre: Array,
    spread: Array,
    u: Array,
    g: Array,
    points: int,
    rng: np.random.Generator,
) -> tuple[Array, _Peaks, Array]:
    scores = _even(points, len(centre), rng)
    zs = centre + spread * scores
    peaks = work.peaks(zs, u, g)
    return zs, peaks, peaks.evidence + 0.5 * np.sum(scores**2 - zs**2, axis=1)


def _drawn(
    work: _FitWork,
    peaks: _Peaks,
    weight: Array,
    draws: int,
    made: int,
    rng: np.random.Generator,
) -> RatePosterior:
    which = _systematic(weight, made, rng)
    # mirrored neighbours: means twice as sharp for nothing
    z = np.repeat(rng.standard_normal(((made + 1) // 2, work.p)), 2, axis=0)[:made]
    zg = np.repeat(rng.standard_normal(((made + 1) // 2, work.days)), 2, axis=0)[:made]
    z[1::2] *= -1.0
    zg[1::2] *= -1.0
    effects, day_effects, off = work.draw(peaks, which, z, zg, True)
    w = _tempered(off)
    keep = rng.permutation(_systematic(w, draws, rng))
    scales = peaks.scales[which[keep]]
    return RatePosterior(
        work.design,
        effects[keep],
        day_effects[keep],
        {name: scales[:, i] for i, name in enumerate(work.names)},
        effective=float(1.0 / (w @ w)) / max(1.0, float(weight @ weight) * len(peaks.scales)),
    )


def _at_once(work: _FitWork, draws: int, rng: np.random.Generator) -> RatePosterior:
    """Fit seasons: the scales where they are likeliest, and the Gaussian at the peak as it is.

    With some ten thousand fish the scales are known to a few percent, and an effect that few fish
    bear on is bounded by its scale; what is left out is small against the intervals.
    """
    centre, _, u, g = _where(work, quick=True)
    peaks = work.peaks(centre[None], u, g)
    some = min(draws, 600)
    z = rng.standard_normal((some, work.p))
    zg = rng.standard_normal((some, work.days))
    which = np.zeros(some, dtype=np.int64)
    effects, day_effects, _ = work.draw(peaks, which, z, zg, False)
    scales = np.repeat(peaks.scales, some, axis=0)
    named = {name: scales[:, i] for i, name in enumerate(work.names)}
    return RatePosterior(work.design, effects, day_effects, named, float(some))


def _tempered(off: Array) -> Array:
    """Weigh the draws exactly where they bear it, and less where few would carry all the weight.

    With thousands of effects (a season's days) no Gaussian matches all of them at once and exact
    weights would be noise; the Gaussians are then left nearly as they are, which at that much
    data is close.
    """
    power = 1.0
    while True:
        w = np.exp(power * (off - off.max()))
        w = np.minimum(w, w.mean() * np.sqrt(len(w)))
        w /= w.sum()
        if 1.0 / float(w @ w) > 0.1 * len(w) or power < 1e-3:
            return np.asarray(w)
        power *= 0.7


def _where(work: _FitWork, *, quick: bool = False) -> tuple[Array, Array, Array, Array]:
    """Find roughly where the scales lie, and how widely: expectation-maximisation with priors."""
    size = len(work.prior)
    z, spread = np.zeros(size), np.ones(size)
    u, g = work.mean.copy(), np.zeros(work.days)
    if size == 0:
        return z, spread, u, g
    grid = work.scales(np.tile(_GRID[:, None], (1, size)))
    sizes = np.append(work.sizes, work.n_days) if work.day_at >= 0 else work.sizes
    for turn in range(4 if quick else 8):
        before = z.copy()
        # with much data the scales settle long before the peak does: one step each is enough
        here = work.peaks(z[None], u, g, 1 if quick and turn else 60)
        u, g = here.u[0], here.g[0]
        squares, trace = _second_moments(work, here)
        for i in range(len(sizes)):
            sigma = grid[:, i]
            value = -sizes[i] * np.log(sigma) - 0.5 * squares[i] / sigma**2 - 0.5 * _GRID**2
            z[i] = _GRID[int(np.argmax(value))]
            known = 1.0 - trace[i] / sizes[i]  # share of each effect's spread the data pin down
            slope = _log_slope(work, z, i)
            spread[i] = 1.0 / np.sqrt(1.0 + slope**2 * 2.0 * sizes[i] * max(known, 0.0) ** 2)
        if work.clump_at >= 0 and quick:
            d = work.design
            over = laplace.dispersion(d.idx, d.val, d.y, work.log_hours, d.weight, d.day, u, g)
            z[work.clump_at] = np.interp(over - 1.0, grid[:, work.clump_at], _GRID)
        elif work.clump_at >= 0 and turn in (0, 3):
            _clump(work, z, spread, u, g)
        if turn >= 3 and np.max(np.abs(z - before)) < 0.15:
            break
    return z, np.minimum(1.15 * spread, 1.0), u, g


def _log_slope(work: _FitWork, z: Array, i: int) -> float:
    both = np.tile(z, (2, 1))
    both[:, i] += (0.05, -0.05)
    up, down = work.scales(both)[:, i]
    return float(np.log(up / down) / 0.1)


def _second_moments(work: _FitWork, at: _Peaks) -> tuple[list[float], list[float]]:
    """Give each term's expected squared length at scale 1, and the posterior's share of it."""
    spread = laplace.spreads(at.lower[0], work.first, work.unit)
    squares: list[float] = []
    trace: list[float] = []
    within, within_spread = 0.0, 0.0
    start = 0
    for term in work.design.terms:
        stop = start + len(term.labels)
        x = at.u[0, start:stop] - term.mean
        share = float(spread[start:stop].sum())
        if term.name == "day":
            within, within_spread = float(x @ x), share
        elif not term.fixed:
            squares.append(float(x @ term.unit_precision @ x) + share)
            trace.append(share / float(at.scales[0, len(trace)]) ** 2)
        start = stop
    if work.day_at >= 0:
        # a little short, the effects' own doubt being left out: this only says where to look
        share = within_spread + float(np.sum(1.0 / at.dd[0][work.apart]))
        squares.append(within + float(at.g[0] @ at.g[0]) + share)
        trace.append(share / float(at.day[0]) ** 2)
    return squares, trace


def _clump(work: _FitWork, z: Array, spread: Array, u: Array, g: Array) -> None:
    """Find the clumping by its profile."""
    nodes = np.array([-2.0, -1.0, 0.0, 1.0, 2.0])
    zs = np.tile(z, (len(nodes), 1))
    zs[:, work.clump_at] = nodes
    value = work.peaks(zs, u, g).evidence - 0.5 * nodes**2
    fine = np.linspace(-3.0, 3.0, 121)
    curve = np.polynomial.Polynomial.fit(nodes, value, 4)(fine)
    density = np.exp(curve - curve.max())
    density /= density.sum()
    middle = float(density @ fine)
    z[work.clump_at] = middle
    spread[work.clump_at] = max(float(np.sqrt(density @ (fine - middle) ** 2)), 0.1)


def _even(points: int, dims: int, rng: np.random.Generator) -> Array:
    """Spread standard normal points evenly in each direction: a Latin hypercube.

    References
    ----------
    McKay, Beckman & Conover (1979), "A comparison of three methods for selecting values of input
    variables ...", Technometrics 21:239-245.
    """
    order = np.argsort(rng.random((points, dims)), axis=0)
    at = (order + rng.random((points, dims))) / points
    return np.asarray(scipy.special.ndtri(np.clip(at, 1e-9, 1.0 - 1e-9)))


def _normal(log_weight: Array) -> Array:
    weight = np.exp(log_weight - log_weight.max())
    return np.asarray(weight / weight.sum())


def _systematic(weight: Array, draws: int, rng: np.random.Generator) -> Integers:
    at = (rng.random() + np.arange(draws)) / draws
    return np.minimum(np.searchsorted(np.cumsum(weight), at), len(weight) - 1).astype(np.int64)
