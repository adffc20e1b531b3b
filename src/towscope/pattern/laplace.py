"""Newton's peak of a clumped-count likelihood with Gaussian effects, and draws about it.

The kernels of the regression: a count of fish in each cell of effort, the log of its expected
value linear in Gaussian effects. Two shapes of chance are known. *Poisson*: fish come one by one.
*Clumped*: schools are met as a Poisson process and each meeting gives a logarithmic number of
fish, so that the variance is ``(1 + clump)`` times the mean (negative binomial with its size in
proportion to the mean). The second is the one over-dispersion that does not change when spans of
effort are put together or taken apart, which is what lets a whole season shrink to cells.

Effects of single days meet each other only through the rest, so they are eliminated one by one
(a Schur complement) and 2,000 days cost no more than 2,000 small outer products.
"""

from __future__ import annotations

import math

import numpy as np

from towscope.arrays import Array, Flags, Integers
from towscope.towing.jit import kernel

_TOLERANCE = 1e-9
_EXPLICIT = 12  # terms of the digamma sum taken one by one before its asymptote is good to 1e-10


@kernel
def count_terms(eta: float, y: float, clump: float) -> tuple[float, float, float, float]:
    """Log probability of a count, its slope and curvatures in the log of its expected value.

    Parameters
    ----------
    eta : float
        Log of the expected count [ln fish].
    y : float
        The count [fish].
    clump : float
        Variance over mean, less one; 0 is Poisson.

    Returns
    -------
    tuple of float
        Log probability, its first derivative, minus its second derivative (may be negative
        where clumped), and minus the second derivative's expected value.

    References
    ----------
    Cameron & Trivedi, *Regression Analysis of Count Data*, 2nd ed. (2013), section 3.3 (the
    "NB1" variance function). Digamma and trigamma asymptotes: Abramowitz & Stegun 6.3.18, 6.4.12.
    """
    mu = math.exp(min(eta, 30.0))
    if clump <= 0.0:
        constant = math.lgamma(y + 1.0) if y > 1.0 else 0.0
        return y * eta - mu - constant, y - mu, mu, mu
    r = mu / clump
    c = math.log1p(clump)
    total, slope, bend = 0.0, 0.0, 0.0
    n = int(y)
    for j in range(min(n, _EXPLICIT)):
        q = r / (r + j)
        total += math.log(r + j)
        slope += q
        bend += q * (1.0 - q)
    if n > _EXPLICIT:
        a, b = r + _EXPLICIT, r + n
        total += math.lgamma(b) - math.lgamma(a)
        da = math.log(a) - 0.5 / a - 1.0 / (12.0 * a * a) + 1.0 / (120.0 * a**4)
        db = math.log(b) - 0.5 / b - 1.0 / (12.0 * b * b) + 1.0 / (120.0 * b**4)
        ta = 1.0 / a + 0.5 / (a * a) + 1.0 / (6.0 * a**3) - 1.0 / (30.0 * a**5)
        tb = 1.0 / b + 0.5 / (b * b) + 1.0 / (6.0 * b**3) - 1.0 / (30.0 * b**5)
        slope += r * (db - da)
        bend += r * (db - da) - r * r * (ta - tb)
    value = total - (y + r) * c
    if n > 0:
        value += y * math.log(clump)
    if n > 1:
        value -= math.lgamma(y + 1.0)
    return value, slope - r * c, r * c - bend, mu / (1.0 + clump)


@kernel
def _assemble(
    idx: Integers,
    val: Array,
    local: Integers,
    y: Array,
    log_hours: Array,
    weight: Array,
    day_ptr: Integers,
    col_ptr: Integers,
    cols: Integers,
    u: Array,
    g: Array,
    apart: Flags,
    day_precision: float,
    clump: float,
    gu: Array,
    gg: Array,
    dd: Array,
    bb: Array,
    s: Array,
) -> float:
    """Add the data's part of the log posterior, its slope and its Schur-reduced curvature."""
    total = 0.0
    k_per_row = idx.shape[1]
    days = day_ptr.shape[0] - 1
    widest = 0
    for d in range(days):
        widest = max(widest, col_ptr[d + 1] - col_ptr[d])
    a = np.zeros((widest, widest))
    for d in range(days):
        c0 = col_ptr[d]
        nc = col_ptr[d + 1] - c0
        for p in range(nc):
            bb[c0 + p] = 0.0
            for q in range(p + 1):
                a[p, q] = 0.0
        sum_slope, sum_curve = 0.0, 0.0
        for i in range(day_ptr[d], day_ptr[d + 1]):
            eta = log_hours[i] + g[d]
            for k in range(k_per_row):
                eta += val[i, k] * u[idx[i, k]]
            value, slope, observed, expected = count_terms(eta, y[i], clump)
            total += weight[i] * value
            slope *= weight[i]
            sum_slope += slope
            # any positive curvature gives a valid step and a valid proposal to weigh later
            w = weight[i] * max(observed, 0.25 * expected)
            sum_curve += w
            for k in range(k_per_row):
                if val[i, k] == 0.0:
                    continue
                gu[idx[i, k]] += slope * val[i, k]
                wv = w * val[i, k]
                lk = local[i, k]
                bb[c0 + lk] += wv
                for m in range(k + 1):
                    if val[i, m] != 0.0:
                        lm = local[i, m]
                        a[max(lk, lm), min(lk, lm)] += wv * val[i, m]
        inverse = 0.0
        if apart[d]:
            gg[d] = sum_slope - day_precision * g[d]
            dd[d] = day_precision + sum_curve
            inverse = 1.0 / dd[d]
        else:
            gg[d] = 0.0
            dd[d] = 1.0
        for p in range(nc):
            cp = cols[c0 + p]  # columns rise within a day, so this is the lower triangle
            for q in range(p + 1):
                s[cp, cols[c0 + q]] += a[p, q] - bb[c0 + p] * bb[c0 + q] * inverse
        if not apart[d]:
            for p in range(nc):
                bb[c0 + p] = 0.0
    return total


@kernel
def log_data(
    idx: Integers,
    val: Array,
    y: Array,
    log_hours: Array,
    weight: Array,
    day_ptr: Integers,
    u: Array,
    g: Array,
    clump: float,
) -> float:
    """Log probability of all the counts for given effects."""
    total = 0.0
    for d in range(day_ptr.shape[0] - 1):
        for i in range(day_ptr[d], day_ptr[d + 1]):
            eta = log_hours[i] + g[d]
            for k in range(idx.shape[1]):
                eta += val[i, k] * u[idx[i, k]]
            total += weight[i] * count_terms(eta, y[i], clump)[0]
    return total


@kernel
def dispersion(
    idx: Integers, val: Array, y: Array, log_hours: Array, weight: Array, day: Integers,
    u: Array, g: Array,
) -> float:  # fmt: skip
    """Give variance over mean of the counts about their expectation (Pearson's statistic)."""
    total, share = 0.0, 0.0
    for i in range(idx.shape[0]):
        eta = log_hours[i] + g[day[i]]
        for k in range(idx.shape[1]):
            eta += val[i, k] * u[idx[i, k]]
        mu = math.exp(eta)
        total += weight[i] * (y[i] - mu) ** 2
        share += weight[i] * mu
    return total / share


@kernel
def factor(s: Array, first: Integers) -> None:
    """Turn the lower triangle of a matrix into its Cholesky factor, in place.

    Row `i` is zero before column ``first[i]`` and stays so (the envelope method), which is what
    makes effects that only meet few others cheap.

    References
    ----------
    George & Liu (1981), *Computer Solution of Large Sparse Positive Definite Systems*, ch. 4.
    """
    for i in range(s.shape[0]):
        for j in range(first[i], i + 1):
            x = s[i, j]
            for k in range(max(first[i], first[j]), j):
                x -= s[i, k] * s[j, k]
            s[i, j] = math.sqrt(max(x, 1e-12)) if i == j else x / s[j, j]


@kernel
def _forward(lower: Array, first: Integers, b: Array) -> None:
    for i in range(b.shape[0]):
        k = first[i]
        b[i] = (b[i] - np.dot(lower[i, k:i], b[k:i])) / lower[i, i]


@kernel
def _backward(lower: Array, first: Integers, b: Array) -> None:
    for i in range(b.shape[0] - 1, -1, -1):
        b[i] /= lower[i, i]
        x = b[i]
        for j in range(first[i], i):
            b[j] -= lower[i, j] * x


@kernel
def spreads(lower: Array, first: Integers, unit_precision: Array) -> Array:
    """Give each effect's part of the trace of prior precision times posterior covariance (p,)."""
    p = lower.shape[0]
    inverse = np.zeros((p, p))  # row c holds column c of the factor's inverse
    for c in range(p):
        inverse[c, c] = 1.0
        for i in range(c, p):
            x = inverse[c, i]
            for j in range(max(first[i], c), i):
                x -= lower[i, j] * inverse[c, j]
            inverse[c, i] = x / lower[i, i]
    out = np.zeros(p)
    for i in range(p):
        for j in range(p):
            if unit_precision[i, j] != 0.0:
                x = 0.0
                for k in range(max(i, j), p):
                    x += inverse[i, k] * inverse[j, k]
                out[i] += unit_precision[i, j] * x
    return out


@kernel
def _square(q: Array, x: Array, out: Array) -> float:
    """Multiply a symmetric matrix by a vector; give the quadratic form."""
    total = 0.0
    for i in range(x.shape[0]):
        out[i] = np.dot(q[i], x)
        total += out[i] * x[i]
    return total


@kernel
def peak(
    idx: Integers,
    val: Array,
    local: Integers,
    y: Array,
    log_hours: Array,
    weight: Array,
    day_ptr: Integers,
    col_ptr: Integers,
    cols: Integers,
    first: Integers,
    apart: Flags,
    unit_precision: Array,
    mean: Array,
    sigma: Array,
    day_sigma: float,
    clump: float,
    most: int,
    u: Array,
    g: Array,
    lower: Array,
    dd: Array,
    bb: Array,
) -> tuple[float, float, int]:
    """Climb to the peak of the posterior of the effects for given scales, by Newton's method.

    Parameters
    ----------
    idx, val, local : ndarray (cells, terms)
        Which effects each cell has, by what factor, and their place among its day's effects.
    y, log_hours, weight : ndarray (cells,)
        Catches, ln of rod-hours, and how much each cell counts.
    day_ptr, col_ptr, cols : ndarray
        Where each day's cells begin; where its effects begin in `cols`.
    first : ndarray (p,)
        First effect each meets, see `factor`.
    apart : ndarray (days,)
        Which days have an effect of their own that is eliminated.
    unit_precision, mean, sigma : ndarray (p, p), (p,), (p,)
        The prior of the effects: ``precision[i, j] = unit[i, j] / (sigma[i] sigma[j])``.
    day_sigma : float
        Scale of the day effects; 0 for none.
    clump : float
        Variance over mean, less one.
    most : int
        Steps to take at most.
    u, g : ndarray (p,), (days,)
        Where to begin; holds the peak afterwards.
    lower, dd, bb : ndarray
        Filled with the Cholesky factor of the reduced curvature, the days' own curvature, and
        the curvature between days and effects.

    Returns
    -------
    tuple
        Log of prior times likelihood at the peak (the prior without its constants), log
        determinant of the curvature, and the steps taken (negative: did not settle).
    """
    p = u.shape[0]
    days = g.shape[0]
    q = np.empty((p, p))
    for i in range(p):
        for j in range(p):
            q[i, j] = unit_precision[i, j] / (sigma[i] * sigma[j])
    day_precision = 1.0 / (day_sigma * day_sigma) if day_sigma > 0.0 else 0.0
    for d in range(days):
        if not apart[d]:
            g[d] = 0.0
    gu = np.empty(p)
    gg = np.empty(days)
    away = np.empty(p)
    work = np.empty(p)
    trial_u = np.empty(p)
    trial_g = np.empty(days)
    step = np.empty(p)
    step_g = np.zeros(days)
    objective, value, logdet = 0.0, 0.0, 0.0
    steps = 0
    settled = False
    while steps < most:
        steps += 1
        away[:] = u - mean
        objective = -0.5 * _square(q, away, gu)
        for i in range(p):
            gu[i] = -gu[i]
            for j in range(i + 1):
                lower[i, j] = q[i, j]
        for d in range(days):
            objective -= 0.5 * day_precision * g[d] * g[d]
        objective += _assemble(
            idx, val, local, y, log_hours, weight, day_ptr, col_ptr, cols,
            u, g, apart, day_precision, clump, gu, gg, dd, bb, lower,
        )  # fmt: skip
        factor(lower, first)
        step[:] = gu
        for d in range(days):
            if apart[d]:
                x = gg[d] / dd[d]
                for c in range(col_ptr[d], col_ptr[d + 1]):
                    step[cols[c]] -= bb[c] * x
        _forward(lower, first, step)
        _backward(lower, first, step)
        decrement = 0.0
        for i in range(p):
            decrement += step[i] * gu[i]
        for d in range(days):
            if apart[d]:
                x = gg[d]
                for c in range(col_ptr[d], col_ptr[d + 1]):
                    x -= bb[c] * step[cols[c]]
                step_g[d] = x / dd[d]
                decrement += step_g[d] * gg[d]
        if decrement < _TOLERANCE:
            settled = True
            break
        scale = 1.0
        better = False
        for _ in range(30):
            trial_u[:] = u + scale * step
            trial_g[:] = g + scale * step_g
            away[:] = trial_u - mean
            value = -0.5 * _square(q, away, work)
            for d in range(days):
                value -= 0.5 * day_precision * trial_g[d] * trial_g[d]
            value += log_data(idx, val, y, log_hours, weight, day_ptr, trial_u, trial_g, clump)
            if value > objective + 1e-4 * scale * decrement:
                better = True
                break
            scale *= 0.5
        if not better:
            settled = decrement < 1e-5  # no better within rounding
            break
        u[:] = trial_u
        g[:] = trial_g
        if decrement < 1e-5 and scale == 1.0:
            # Newton squares its error: the next step would be under 1e-9, so the curvature of
            # the last point serves
            objective = value
            settled = True
            break
    for i in range(p):
        logdet += 2.0 * math.log(lower[i, i])
    for d in range(days):
        if apart[d]:
            logdet += math.log(dd[d])
    return objective, logdet, steps if settled else -steps


@kernel
def draw(
    idx: Integers,
    val: Array,
    y: Array,
    log_hours: Array,
    weight: Array,
    day_ptr: Integers,
    col_ptr: Integers,
    cols: Integers,
    first: Integers,
    apart: Flags,
    unit_precision: Array,
    mean: Array,
    sigmas: Array,
    day_sigmas: Array,
    clumps: Array,
    us: Array,
    gs: Array,
    lowers: Array,
    dds: Array,
    bbs: Array,
    which: Integers,
    z: Array,
    zg: Array,
    weigh: bool,
    out: Array,
    out_g: Array,
) -> Array:
    """Draw effects from the Gaussians at the peaks and say by how much each draw is off.

    Parameters
    ----------
    which : ndarray (draws,)
        The set of scales of each draw.
    z, zg : ndarray (draws, p), (draws, days)
        Standard normal numbers.
    weigh : bool
        Whether to work out the weights at all.
    out, out_g : ndarray (draws, p), (draws, days)
        Filled with the draws.

    Returns
    -------
    ndarray (draws,)
        Log of prior (without constants) times likelihood, plus half the squared length of the
        standard normals: up to a constant of the scales, the log importance weight.
    """
    draws, p = z.shape
    days = zg.shape[1]
    result = np.empty(draws)
    step = np.empty(p)
    away = np.empty(p)
    for n in range(draws):
        j = which[n]
        day_precision = 1.0 / day_sigmas[j] ** 2 if day_sigmas[j] > 0.0 else 0.0
        step[:] = z[n]
        _backward(lowers[j], first, step)
        out[n, :] = us[j] + step
        squares, value = 0.0, 0.0
        if weigh:
            for i in range(p):
                squares += z[n, i] * z[n, i]
                away[i] = (out[n, i] - mean[i]) / sigmas[j, i]
            value = -0.5 * _square(unit_precision, away, step)
            step[:] = out[n] - us[j]
        for d in range(days):
            out_g[n, d] = 0.0
            if apart[d]:
                x = 0.0
                for c in range(col_ptr[d], col_ptr[d + 1]):
                    x += bbs[j, c] * step[cols[c]]
                g = gs[j, d] + (zg[n, d] / math.sqrt(dds[j, d]) - x / dds[j, d])
                out_g[n, d] = g
                value -= 0.5 * day_precision * g**2
                squares += zg[n, d] ** 2
        if weigh:
            value += log_data(idx, val, y, log_hours, weight, day_ptr, out[n], out_g[n], clumps[j])
        result[n] = value + 0.5 * squares
    return result


@kernel
def peaks(
    idx: Integers,
    val: Array,
    local: Integers,
    y: Array,
    log_hours: Array,
    weight: Array,
    day_ptr: Integers,
    col_ptr: Integers,
    cols: Integers,
    first: Integers,
    apart: Flags,
    unit_precision: Array,
    mean: Array,
    sigmas: Array,
    day_sigmas: Array,
    clumps: Array,
    most: int,
    us: Array,
    gs: Array,
    lowers: Array,
    dds: Array,
    bbs: Array,
) -> Array:
    """Find the peak for each of several sets of scales; see `peak`.

    Returns
    -------
    ndarray (2, sets)
        Objectives and log determinants.
    """
    sets = sigmas.shape[0]
    out = np.empty((2, sets))
    for j in range(sets):
        out[0, j], out[1, j], _ = peak(
            idx, val, local, y, log_hours, weight, day_ptr, col_ptr, cols, first, apart,
            unit_precision, mean, sigmas[j], day_sigmas[j], clumps[j], most,
            us[j], gs[j], lowers[j], dds[j], bbs[j],
        )  # fmt: skip
    return out
