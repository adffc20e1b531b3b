"""Gauss-Newton peaks, importance weights and Hamiltonian steps: belief once readings are in.

The highest points of the posterior are found by damped Gauss-Newton steps from several starts; a
normal about each, weighed by its evidence, proposes; importance weights, smoothed in their tail,
choose among the proposals; and some Hamiltonian steps, in the measure of the first normal, take
each chosen draw onward, so that what the normals miss of the posterior's shape is made good.

References
----------
Vehtari, Simpson, Gelman, Yao & Gabry (2024), J. Mach. Learn. Res. 25(72), for the smoothed weights
and their diagnostic. Neal (2011), Handbook of Markov Chain Monte Carlo, chapter 5, for the steps.
Zhang & Stephens (2009), Technometrics 51:316-325, for the fit of the tail.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import scipy

from towscope.arrays import Array
from towscope.calibration import kernels
from towscope.calibration.model import DepthTable, Evidence
from towscope.errors import InputError

DRAWS = 1024
SEED = 7_117
STARTS = 4
FAR = 0.12  # [1]; a step of any local figure that makes the table worth doing again
MOST_TABLES = 5
MOVES, LEAPS, STRIDE = 6, 5, 0.3
MOST_MOVES = 4  # times as many, where strides must be found first
FEWER = 512
WIDE, BROADER = 1.15, 1.8  # times the normal's own width
BROAD, BEFORE = 0.2, 0.1  # shares of the proposals
FEW_FREE = 0.05
UNEVEN = 0.7  # shape of the tail above which importance weights are not to be trusted
MANY = 400  # readings; with so many there is one mode, and proposals are dear


@dataclass(frozen=True)
class Mode:
    """One high point of the posterior.

    Attributes
    ----------
    z : (p,) array
        Where it is.
    root : (p, p) array
        Lower Cholesky factor of the precision there.
    evidence : float
        Logarithm of the marginal likelihood, by the normal about it.
    """

    z: Array
    root: Array
    evidence: float


@dataclass(frozen=True)
class Posterior:
    """Equally likely versions of every unsure figure.

    Attributes
    ----------
    problem : Evidence
        The readings.
    table : DepthTable
        Depths about the highest point.
    z, x : (m, p) array
        Draws, as standard normal figures and as physical ones.
    modes : list of Mode
        High points, the likeliest first.
    tail : float
        Shape of the importance weights' tail; below 0.7 the weights alone would do.
    moved : float
        Share of the Hamiltonian proposals that were taken.
    """

    problem: Evidence
    table: DepthTable
    z: Array
    x: Array
    modes: list[Mode]
    tail: float
    moved: float

    @property
    def evidence(self) -> float:
        """Logarithm of the marginal likelihood of the readings."""
        return float(scipy.special.logsumexp([m.evidence for m in self.modes]))

    def of(self, name: str) -> Array | None:
        """Draws (m,) of one figure; None where no reading hangs on it."""
        at = self.problem.at(name)
        return None if at is None else self.x[:, at]


def infer(problem: Evidence, *, draws: int = DRAWS, seed: int = SEED) -> Posterior:
    """Find the posterior.

    Parameters
    ----------
    problem : Evidence
        The readings and what they hang on; the errors of its readings are settled on the way.
    draws : int
        How many versions.
    seed : int
        The same seed gives the same draws.

    Returns
    -------
    Posterior
        The versions.
    """
    if not problem.readings:
        raise InputError("no readings; expected one at least")
    rng = np.random.Generator(np.random.PCG64(seed))
    if len(problem.readings) > MANY:  # as many as are kept; the posterior is near normal then
        draws = min(draws, FEWER)
    table, modes = search(problem, rng)
    z, tail = _propose(problem, table, modes, draws, rng)
    z, moved = _move(problem, table, modes[0], z, rng, more=2 if tail > UNEVEN else 1)
    x, _ = problem.to_x(z)
    return Posterior(problem, table, z, x, modes, tail, moved)


def search(problem: Evidence, rng: np.random.Generator) -> tuple[DepthTable, list[Mode]]:
    """Find the high points, and the table of depths about the highest.

    The table is made anew where the highest point is far from where it was made; the errors of the
    read depths are settled on the way.
    """
    p = len(problem.figures)
    best = np.zeros((1, p))
    for _ in range(MOST_TABLES):
        x, _rate = problem.to_x(best[0])
        table = problem.tabulate(x)
        problem.settle_errors(x, table)
        modes = _modes(problem, table, best, None)  # near enough to see where to look
        new, _rate = problem.to_x(modes[0].z)
        step = np.abs(problem.local(new) - table.at)
        step[:, kernels.DOWN] *= 0.3
        best = np.array([m.z for m in modes])
        if float(step.max()) < FAR:
            break
    assert table is not None
    problem.settle_errors(new, table)
    return table, _modes(problem, table, best, rng)


def climb_from(problem: Evidence, table: DepthTable, start: Array) -> list[Mode]:
    """Find the high points from one start and from an eased one, by a table that is near enough."""
    return _modes(problem, table, start[None], None)


def _modes(
    problem: Evidence, table: DepthTable, starts: Array, rng: np.random.Generator | None
) -> list[Mode]:
    found: list[tuple[float, Array]] = []
    p = len(problem.figures)
    # a start that takes every reading for half right first, so that no wrong one leads astray
    eased = np.zeros(p)
    for soften, wrong in ((4.0, 0.3), (2.0, 0.15)):
        eased = _climb(problem, table, eased, soften, wrong)
    tries = [eased, *starts]
    if rng is not None and len(problem.readings) <= MANY and problem.customs.wrong > 0.0:
        tries += list(rng.standard_normal((STARTS, p)))
    for start in tries:
        z = _climb(problem, table, start)
        height = float(problem.density(z, table)[0][0])
        if math.isfinite(height):
            found.append((height, z))
    found.sort(key=lambda each: -each[0])
    modes: list[Mode] = []
    for height, z in found:
        if height < found[0][0] - 12.0:
            break
        if any(np.sum((m.root.T @ (z - m.z)) ** 2) < 0.5 for m in modes):
            continue
        root = _root(problem, table, z)
        evidence = height - float(np.log(np.diag(root)).sum())
        modes.append(Mode(z, root, evidence))
    modes.sort(key=lambda m: -m.evidence)
    return modes


def _weights(
    problem: Evidence, depth: Array, soften: float = 1.0, wrong: float | None = None
) -> tuple[Array, Array]:
    """Slope and (positive) bend of each reading's log likelihood by its depth."""
    share = problem.customs.wrong if wrong is None else wrong
    out = np.empty((len(depth), 2))
    kernels.bends(depth, problem.read(share, soften), out)
    return out[:, 0], out[:, 1]


def _root(problem: Evidence, table: DepthTable, z: Array) -> Array:
    """Give the Cholesky factor of the precision at a high point."""
    x, rate = problem.to_x(z)
    depth, jacobian = problem.slopes(x, table)
    _, bend = _weights(problem, depth)
    scaled = jacobian * rate
    for bends in (bend, np.maximum(bend, 0.0)):
        try:
            # readings held for wrong bend the other way; left out only where nothing else will do
            root: Array = scipy.linalg.cholesky(
                np.eye(z.size) + scaled.T @ (bends[:, None] * scaled), lower=True
            )
        except scipy.linalg.LinAlgError:
            continue
        return root
    raise AssertionError("a sum of squares and the unit matrix has a Cholesky factor")


def _climb(
    problem: Evidence,
    table: DepthTable,
    z: Array,
    soften: float = 1.0,
    wrong: float | None = None,
) -> Array:
    """Go up from a start by damped Gauss-Newton steps."""
    share = problem.customs.wrong if wrong is None else wrong
    damp = 1e-3
    height = float(problem.density(z, table, share, soften)[0][0])
    for _ in range(60):
        x, rate = problem.to_x(z)
        depth, jacobian = problem.slopes(x, table)
        slope, bend = _weights(problem, depth, soften, share)
        scaled = jacobian * rate
        gradient = scaled.T @ slope - z
        matrix = np.eye(z.size) + scaled.T @ (np.maximum(bend, 0.0)[:, None] * scaled)
        better = False
        for _ in range(12):
            step = np.linalg.solve(matrix + damp * np.diag(np.diag(matrix)), gradient)
            trial = np.clip(z + step, -7.0, 7.0)
            found = float(problem.density(trial, table, share, soften)[0][0])
            if found >= height:
                better = True
                break
            damp *= 8.0
        if not better:
            break
        gain, z, height = found - height, trial, found
        damp = max(damp * 0.2, 1e-6)
        if gain < 1e-9 and float(np.abs(step).max()) < 1e-5:
            break
    return z


def _propose(
    problem: Evidence, table: DepthTable, modes: list[Mode], draws: int, rng: np.random.Generator
) -> tuple[Array, float]:
    """Draw from the normals about the modes, and choose by smoothed importance weights."""
    p = len(problem.figures)
    count = draws * (2 if len(problem.readings) > MANY else 4)
    log_share = np.array([m.evidence for m in modes])
    log_share = np.logaddexp(log_share - scipy.special.logsumexp(log_share), math.log(0.02))
    share = np.exp(log_share - scipy.special.logsumexp(log_share))
    # each normal twice, the second much wider, and what was believed before: no weight is huge
    flat = Mode(np.zeros(p), np.eye(p), 0.0)
    parts = [(m, WIDE if p <= 30 else 1.0 + 1.0 / p, (1.0 - BROAD - BEFORE) * f)
             for m, f in zip(modes, share, strict=True)]  # fmt: skip
    parts += [(m, BROADER, BROAD * f) for m, f in zip(modes, share, strict=True)]
    parts.append((flat, 1.0, BEFORE))
    which = rng.choice(len(parts), count, p=[f for _, _, f in parts])
    normal = rng.standard_normal((count, p))
    z = np.empty((count, p))
    for k, (mode, wide, _) in enumerate(parts):
        own = which == k
        inverse = scipy.linalg.solve_triangular(mode.root, np.eye(p), lower=True)
        z[own] = mode.z + wide * normal[own] @ inverse
    z = np.clip(z, -7.4, 7.4)
    heights = np.empty((len(parts), count))
    for k, (mode, wide, part) in enumerate(parts):
        off = (z - mode.z) @ mode.root / wide
        heights[k] = (
            math.log(part)
            - 0.5 * (off**2).sum(1)
            + float(np.log(np.diag(mode.root)).sum())
            - p * math.log(wide)
        )
    height, _, _ = problem.density(z, table)
    log_weight = height - scipy.special.logsumexp(heights, axis=0)
    weight, tail = smooth(log_weight)
    free = weight.sum() ** 2 / (weight**2).sum()
    if free < FEW_FREE * draws:  # the weights would leave a few only: let the moves do it all
        return z[which < len(modes)][:draws], tail
    # systematic choice: as even as the weights allow
    edges = np.cumsum(weight) / weight.sum()
    chosen = np.searchsorted(edges, (np.arange(draws) + rng.random()) / draws)
    return z[np.minimum(chosen, count - 1)], tail


def smooth(log_weight: Array) -> tuple[Array, float]:
    """Smooth the largest importance weights by the Pareto tail fitted to them.

    Parameters
    ----------
    log_weight : (n,) array
        Logarithms of raw weights.

    Returns
    -------
    tuple
        Weights (n,), and the tail's shape.

    References
    ----------
    Vehtari et al. (2024); Zhang & Stephens (2009).
    """
    weight = np.exp(log_weight - log_weight.max())
    n = weight.size
    tail = int(min(0.2 * n, 3.0 * math.sqrt(n)))
    if tail < 5:
        return weight, math.inf
    order = np.argsort(weight)
    largest = order[-tail:]
    cut = weight[order[-tail - 1]]
    over = weight[largest] - cut
    if not over[-1] > 0.0:
        return weight, 0.0
    shape, scale = _pareto(np.maximum(over, over[-1] * 1e-14))
    at = (np.arange(tail) + 0.5) / tail
    if abs(shape) < 1e-6:
        level = -scale * np.log1p(-at)
    else:
        level = scale / shape * np.expm1(-shape * np.log1p(-at))
    smoothed = weight.copy()
    smoothed[largest] = np.minimum(cut + level, weight.max())
    return smoothed, shape


def _pareto(x: Array) -> tuple[float, float]:
    """Shape and scale of a generalised Pareto tail, rising `x`; Zhang & Stephens (2009)."""
    n = x.size
    m = 30 + int(math.sqrt(n))
    quarter = x[int(n / 4 + 0.5) - 1]
    b = 1.0 / x[-1] + (1.0 - np.sqrt(m / (np.arange(1, m + 1) - 0.5))) / (3.0 * quarter)
    k = np.log1p(-b[:, None] * x).mean(1)
    fit = n * (np.log(-b / k) - k - 1.0)
    weight = np.exp(fit - scipy.special.logsumexp(fit))
    middle = float((b * weight).sum())
    shape = float(np.log1p(-middle * x).mean())
    scale = -shape / middle
    return (n * shape + 5.0) / (n + 10.0), scale


def _move(
    problem: Evidence,
    table: DepthTable,
    mode: Mode,
    z: Array,
    rng: np.random.Generator,
    more: int = 1,
) -> tuple[Array, float]:
    """Take every draw onward by some Hamiltonian steps in the measure of the mode."""
    # the inverse once: a product is far cheaper than as many solutions
    inverse: Array = scipy.linalg.solve_triangular(mode.root, np.eye(z.shape[1]), lower=True)

    def back(v: Array) -> Array:
        return v @ inverse

    def into(g: Array) -> Array:
        return g @ inverse.T

    stride = STRIDE if z.shape[1] <= 30 else STRIDE * (30 / z.shape[1]) ** 0.25
    height, gradient, _ = problem.density(z, table)
    taken: list[float] = []
    moves = more * (MOVES if len(problem.readings) <= MANY else MOVES // 2)
    # moves that hardly any draw takes count for nothing: shorter strides, and on
    while sum(taken) < 0.5 * moves or len(taken) < moves:
        if len(taken) >= MOST_MOVES * moves:
            break
        speed = rng.standard_normal(z.shape)
        energy = height - 0.5 * (speed**2).sum(1)
        trial, slope, now = z, gradient, height
        own = stride * (0.8 + 0.4 * rng.random())
        for _ in range(LEAPS):
            speed = speed + 0.5 * own * into(slope)
            trial = np.clip(trial + own * back(speed), -50.0, 50.0)
            now, slope, _ = problem.density(trial, table)
            speed = speed + 0.5 * own * into(slope)
        new = now - 0.5 * (speed**2).sum(1)
        good = (np.log(rng.random(len(z))) < new - energy) & (np.abs(trial) < 7.4).all(1)
        z = np.where(good[:, None], trial, z)
        gradient = np.where(good[:, None], slope, gradient)
        height = np.where(good, now, height)
        taken.append(float(good.mean()))
        stride *= 1.1 if taken[-1] > 0.9 else 1.0 if taken[-1] > 0.6 else 0.7
        stride *= 0.4 if taken[-1] < 0.2 else 1.0
    return z, float(np.mean(taken))
