"""What do the catches say about every effect at once, and how sure is that.

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

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from scipy.special import ndtr, ndtri

from towscope.pattern import laplace
from towscope.pattern.laplace import Floats, Ints


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
    unit_precision: Floats
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
    clump_scale : float
        Half-normal scale of the clumping; 0 for plain Poisson.
    """

    terms: tuple[Term, ...]
    idx: Ints
    val: Floats
    y: Floats
    hours: Floats
    weight: Floats
    day: Ints
    day_scale: float = 0.0
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
class Posterior:
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
    effects: Floats
    day_effects: Floats
    scales: dict[str, Floats]
    effective: float

    def effect(self, name: str) -> Floats:
        """Give the draws of one term's effects (draws, k) [ln]."""
        return self.effects[:, self.design.columns(name)]


@dataclass
class _Work:
    """The design as the kernels take it, with the scales' own coordinates."""

    design: Design
    local: Ints = field(init=False)
    day_ptr: Ints = field(init=False)
    col_ptr: Ints = field(init=False)
    cols: Ints = field(init=False)

    def __post_init__(self) -> None:
        d = self.design
        n, width = d.idx.shape
        days = int(d.day[-1]) + 1 if n else 1
        self.day_ptr = np.searchsorted(d.day, np.arange(days + 1)).astype(np.int64)
        p = sum(len(t.labels) for t in d.terms)
        key = (d.day[:, None] * p + d.idx).ravel()
        unique, inverse = np.unique(key, return_inverse=True)
        self.cols = np.ascontiguousarray(unique % p, dtype=np.int64)
        self.col_ptr = np.searchsorted(unique // p, np.arange(days + 1)).astype(np.int64)
        first = np.repeat(self.col_ptr[d.day], width)
        self.local = (inverse.ravel() - first).reshape(n, width).astype(np.int64)
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
            else:
                self.owner[start:stop] = len(self.learnt)
                self.learnt.append(number)
            start = stop
        self.sizes = np.array([len(d.terms[i].labels) for i in self.learnt], dtype=float)
        self.names = [d.terms[i].name for i in self.learnt]
        prior = [d.terms[i].scale for i in self.learnt]
        self.n_terms = len(prior)
        self.day_at = self.clump_at = -1
        if d.day_scale > 0.0:
            self.day_at = len(prior)
            prior.append(d.day_scale)
            self.names.append("day")
        if d.clump_scale > 0.0:
            self.clump_at = len(prior)
            prior.append(d.clump_scale)
            self.names.append("clump")
        self.prior = np.array(prior)
        self.lower = np.empty((p, p))
        self.dd = np.empty(days)
        self.bb = np.empty(len(self.cols))

    def scales(self, z: Floats) -> Floats:
        """Turn standard normal scores into half-normal scales."""
        return np.maximum(-self.prior * ndtri(0.5 * ndtr(-z)), 1e-4 * self.prior)

    def split(self, scales: Floats) -> tuple[Floats, float, float]:
        sigma = np.where(
            self.owner < 0, self.fixed_sigma, np.append(scales, 0.0)[np.maximum(self.owner, 0)]
        )
        day = float(scales[self.day_at]) if self.day_at >= 0 else 0.0
        clump = float(scales[self.clump_at]) if self.clump_at >= 0 else 0.0
        return sigma, day, clump

    def peak(self, scales: Floats, u: Floats, g: Floats) -> tuple[float, float]:
        """Find the peak in place; give its objective and the log evidence up to a constant."""
        d = self.design
        sigma, day, clump = self.split(scales)
        objective, logdet, _ = laplace.peak(
            d.idx, d.val, self.local, d.y, self.log_hours, d.weight,
            self.day_ptr, self.col_ptr, self.cols, self.unit, self.mean, sigma, day, clump,
            u, g, self.lower, self.dd, self.bb,
        )  # fmt: skip
        constant = -float(self.sizes @ np.log(scales[: self.n_terms]))
        if self.day_at >= 0:
            constant -= self.days * float(np.log(day))
        return objective, objective + constant - 0.5 * logdet

    def draw(
        self, scales: Floats, u: Floats, g: Floats, z: Floats, zg: Floats
    ) -> tuple[Floats, Floats, Floats]:
        """Draw at the peak last found."""
        d = self.design
        sigma, day, clump = self.split(scales)
        out, out_g = np.empty_like(z), np.empty_like(zg)
        weights = laplace.draw(
            d.idx, d.val, d.y, self.log_hours, d.weight, self.day_ptr, self.col_ptr, self.cols,
            self.unit, self.mean, sigma, day, clump, u, g, self.lower, self.dd, self.bb,
            z, zg, out, out_g,
        )  # fmt: skip
        return out, out_g, weights


_GRID = np.linspace(-3.0, 4.0, 141)


def fit(design: Design, *, draws: int = 1000, points: int = 64, seed: int = 1) -> Posterior:
    """Fit the regression.

    Parameters
    ----------
    design : Design
        Cells and terms; at least one cell.
    draws : int
        How many draws to give.
    points : int
        How many sets of scales to try.
    seed : int
        Of the random numbers: the same data give the same answer.

    Returns
    -------
    Posterior
        Draws of effects and scales.
    """
    work = _Work(design)
    rng = np.random.default_rng(seed)
    u, g = work.mean.copy(), np.zeros(work.days)
    centre, spread = _where(work, u, g)
    zs = centre + spread * _even(points, len(centre), rng)
    log_weight, modes, days = _evaluate(work, zs, centre, spread, u, g)
    for _ in range(2):
        weight = _normal(log_weight)
        if len(centre) == 0 or 1.0 / float(weight @ weight) > 0.2 * len(zs):
            break
        # the scales lie elsewhere than thought: move there and try as many again
        centre = weight @ zs
        spread = np.sqrt(weight @ (zs - centre) ** 2 + 0.02) * 1.2
        zs = centre + spread * _even(points, len(centre), rng)
        best = int(np.argmax(log_weight))
        u, g = modes[best].copy(), days[best].copy()
        log_weight, modes, days = _evaluate(work, zs, centre, spread, u, g)
    return _drawn(work, zs, _normal(log_weight), modes, days, draws, rng)


def _evaluate(
    work: _Work, zs: Floats, centre: Floats, spread: Floats, u: Floats, g: Floats
) -> tuple[Floats, Floats, Floats]:
    log_weight = np.empty(len(zs))
    modes = np.empty((len(zs), work.p))
    days = np.empty((len(zs), work.days))
    for j, z in enumerate(zs):
        modes[j], days[j] = u, g
        _, evidence = work.peak(work.scales(z), modes[j], days[j])
        log_weight[j] = evidence - 0.5 * z @ z + 0.5 * np.sum(((z - centre) / spread) ** 2)
    return log_weight, modes, days


def _drawn(
    work: _Work,
    zs: Floats,
    weight: Floats,
    modes: Floats,
    days: Floats,
    draws: int,
    rng: np.random.Generator,
) -> Posterior:
    counts = np.bincount(_systematic(weight, draws, rng), minlength=len(zs))
    effects, day_effects = np.empty((draws, work.p)), np.empty((draws, work.days))
    scales, off = np.empty((draws, len(work.prior))), np.empty(draws)
    start = 0
    for j in np.flatnonzero(counts):
        n = int(counts[j])
        half = rng.standard_normal(((n + 1) // 2, work.p))
        half_g = rng.standard_normal(((n + 1) // 2, work.days))
        z = np.concatenate([half, -half])[:n]  # mirrored draws: means twice as sharp for nothing
        zg = np.concatenate([half_g, -half_g])[:n]
        here = work.scales(zs[j])
        objective, _ = work.peak(here, modes[j], days[j])
        part = slice(start, start + n)
        effects[part], day_effects[part], log_w = work.draw(here, modes[j], days[j], z, zg)
        off[part] = log_w - objective
        scales[part] = here
        start += n
    w = np.exp(off - off.max())
    w = np.minimum(w, w.mean() * np.sqrt(draws))
    w /= w.sum()
    keep = rng.permutation(_systematic(w, draws, rng))
    return Posterior(
        work.design,
        effects[keep],
        day_effects[keep],
        {name: scales[keep, i] for i, name in enumerate(work.names)},
        effective=float(1.0 / (w @ w)) / max(1.0, float(weight @ weight) * len(zs)),
    )


def _where(work: _Work, u: Floats, g: Floats) -> tuple[Floats, Floats]:
    """Find roughly where the scales lie, and how widely: expectation-maximisation with priors."""
    size = len(work.prior)
    z = np.zeros(size)
    spread = np.ones(size)
    if size == 0:
        return z, spread
    grid = work.scales(np.tile(_GRID[:, None], (1, size)))
    for turn in range(8):
        before = z.copy()
        work.peak(work.scales(z), u, g)
        squares, trace = _second_moments(work, u, g, work.scales(z))
        sizes = np.append(work.sizes, work.days) if work.day_at >= 0 else work.sizes
        for i in range(len(sizes)):
            sigma = grid[:, i]
            value = -sizes[i] * np.log(sigma) - 0.5 * squares[i] / sigma**2 - 0.5 * _GRID**2
            z[i] = _GRID[int(np.argmax(value))]
            known = 1.0 - trace[i] / sizes[i]  # share of each effect's spread the data pin down
            slope = _log_slope(work, z, i)
            spread[i] = 1.0 / np.sqrt(1.0 + slope**2 * 2.0 * sizes[i] * max(known, 0.0) ** 2)
        if work.clump_at >= 0 and turn in (0, 3):
            _clump(work, z, spread, u, g)
        if turn > 3 and np.max(np.abs(z - before)) < 0.1:
            break
    return z, np.minimum(1.15 * spread, 1.0)


def _log_slope(work: _Work, z: Floats, i: int) -> float:
    up, down = z.copy(), z.copy()
    up[i] += 0.05
    down[i] -= 0.05
    return float((np.log(work.scales(up)[i]) - np.log(work.scales(down)[i])) / 0.1)


def _second_moments(
    work: _Work, u: Floats, g: Floats, scales: Floats
) -> tuple[list[float], list[float]]:
    """Give each term's expected squared length at scale 1, and the posterior's share of it."""
    inverse = np.linalg.inv(work.lower)
    covariance = inverse.T @ inverse
    squares, trace = [], []
    start = 0
    learnt = 0
    for term in work.design.terms:
        stop = start + len(term.labels)
        if not term.fixed:
            x = u[start:stop] - term.mean
            spread = float(np.sum(term.unit_precision * covariance[start:stop, start:stop]))
            squares.append(float(x @ term.unit_precision @ x) + spread)
            trace.append(spread / float(scales[learnt]) ** 2)
            learnt += 1
        start = stop
    if work.day_at >= 0:
        spread = float(np.sum(1.0 / work.dd))  # a little short: the effects' own doubt left out
        squares.append(float(g @ g) + spread)
        trace.append(spread / float(scales[work.day_at]) ** 2)
    return squares, trace


def _clump(work: _Work, z: Floats, spread: Floats, u: Floats, g: Floats) -> None:
    """Find the clumping by its profile."""
    nodes = np.array([-2.0, -1.0, 0.0, 1.0, 2.0])
    value = np.empty(len(nodes))
    for k, node in enumerate(nodes):
        z[work.clump_at] = node
        value[k] = work.peak(work.scales(z), u, g)[1] - 0.5 * node**2
    fine = np.linspace(-3.0, 3.0, 121)
    curve = np.polynomial.Polynomial.fit(nodes, value, 4)(fine)
    density = np.exp(curve - curve.max())
    density /= density.sum()
    middle = float(density @ fine)
    z[work.clump_at] = middle
    spread[work.clump_at] = max(float(np.sqrt(density @ (fine - middle) ** 2)), 0.1)


def _even(points: int, dims: int, rng: np.random.Generator) -> Floats:
    """Spread standard normal points evenly: an additive recurrence, shifted at random.

    References
    ----------
    Niederreiter (1992), *Random Number Generation and Quasi-Monte Carlo Methods*, section 5.1
    (Kronecker sequences); the step is the root of ``x^(d+1) = x + 1``, which makes the points
    spread evenly in any number of dimensions.
    """
    root = 2.0
    for _ in range(60):
        root = (1.0 + root) ** (1.0 / (dims + 1.0))
    steps = (1.0 / root) ** np.arange(1, dims + 1)
    at = (rng.random(dims) + np.arange(1, points + 1)[:, None] * steps) % 1.0
    return np.asarray(ndtri(np.clip(at, 1e-6, 1.0 - 1e-6)))


def _normal(log_weight: Floats) -> Floats:
    weight = np.exp(log_weight - log_weight.max())
    return np.asarray(weight / weight.sum())


def _systematic(weight: Floats, draws: int, rng: np.random.Generator) -> Ints:
    at = (rng.random() + np.arange(draws)) / draws
    return np.minimum(np.searchsorted(np.cumsum(weight), at), len(weight) - 1).astype(np.int64)
