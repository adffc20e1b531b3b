"""Kalman filter and Rauch-Tung-Striebel smoother of scattered fixes: the boat's likeliest way.

A boat's velocity wanders: its acceleration is taken as white noise, and each fix as its place plus
scatter. The best estimate of place and velocity at every fix then is a Kalman filter run forward
and a smoother run backward. How much the fixes scatter is read from how far they lie off a cubic
through their neighbours, how much the boat accelerates from the likelihood of the whole track.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from towscope.arrays import Array, Flags, Matrix, Vector
from towscope.towing.jit import kernel

LEAST_SCATTER = 0.01  # [m]; exact metres stay as they are to a millimetre
USUAL_SCATTER = 0.5  # [m]; where too few fixes stand to tell: estimated from memory
GATE = 30.0  # squared standard errors off the expected place that no honest fix is
NEAR = 5.0  # [m]; fixes nearer the expected place than this are always believed
MOST_IN_A_ROW = 3  # fixes disbelieved; after that the boat really is there
FIRST_SPEED = 100.0  # [m/s]; standard error of the speed before the first fix: not known at all
AGILITY = tuple(10.0**k for k in np.arange(-5.0, 0.51, 0.5))  # [m^2/s^3]
CENTRAL_90 = 0.789  # root mean square of the middle 90 % of a normal spread
EXPECT_X, EXPECT_VX, EXPECT_Y, EXPECT_VY = range(4)


@dataclass(frozen=True)
class Smoothed:
    """A stretch made smooth.

    Attributes
    ----------
    x, y : (n,) array
        Place [m].
    vx, vy : (n,) array
        Velocity [m/s].
    sd : (n,) array
        Standard error of each coordinate [m].
    doubted : (n,) array of bool
        Fixes that lay too far off to be believed.
    """

    x: Array
    y: Array
    vx: Array
    vy: Array
    sd: Array
    doubted: Flags


def scatter(time: Array, x: Array, y: Array) -> float:
    """Give the standard deviation by which single fixes lie off the boat's way.

    Parameters
    ----------
    time : (n,) array
        Rising moments [s].
    x, y : (n,) array
        Places [m].

    Returns
    -------
    float
        Standard deviation of each coordinate [m].

    Notes
    -----
    Each fix is compared with the cubic through the two before and the two after it, which follows
    a turn of 20 m radius at walking speed to centimetres even at ten seconds between fixes.
    """
    if len(time) < 12:
        return USUAL_SCATTER
    step = np.diff(time)
    usual = float(np.median(step))
    around = [0, 1, 3, 4]
    t = np.stack([time[k : len(time) - 4 + k] for k in range(5)])
    even = np.stack([step[k : len(step) - 3 + k] for k in range(4)]).max(axis=0) < 4.0 * usual
    weights = []
    for i in around:
        w = np.ones(t.shape[1])
        for j in around:
            if j != i:
                w *= (t[2] - t[j]) / (t[i] - t[j])
        weights.append(w)
    norm = np.sqrt(1.0 + sum(w**2 for w in weights))
    off = []
    for place in (x, y):
        cubic = sum(w * place[k : len(place) - 4 + k] for w, k in zip(weights, around, strict=True))
        off.append(((place[2:-2] - cubic) / norm)[even])
    size = np.sort(np.abs(np.concatenate(off)))
    middle = size[: int(0.9 * size.size)]
    if middle.size < 8:
        return USUAL_SCATTER
    return max(float(np.sqrt((middle**2).mean())) / CENTRAL_90, LEAST_SCATTER)


def smooth(time: Array, x: Array, y: Array, spread: float, agility: float) -> Smoothed:
    """Give the likeliest places and velocities at every fix.

    Parameters
    ----------
    time : (n,) array
        Rising moments [s].
    x, y : (n,) array
        Fixes [m].
    spread : float
        Standard deviation of a fix [m].
    agility : float
        Spectral density of the boat's acceleration [m^2/s^3].

    Returns
    -------
    Smoothed
        The way.

    References
    ----------
    Rauch, Tung & Striebel (1965), AIAA Journal 3:1445-1450; Bar-Shalom, Li & Kirubarajan (2001),
    Estimation with Applications to Tracking and Navigation, sec. 6.2.2 (white acceleration).
    """
    n = len(time)
    state, cover = np.empty((n, 4)), np.empty((n, 3))
    expected, expected_cover = np.empty((n, 4)), np.empty((n, 3))
    doubted = np.zeros(n, dtype=np.bool_)
    _forward(time, x, y, spread**2, agility, state, cover, expected, expected_cover, doubted)
    smooth_back(time, state, cover, expected, expected_cover)
    return Smoothed(
        state[:, 0].copy(),
        state[:, 2].copy(),
        state[:, 1].copy(),
        state[:, 3].copy(),
        np.sqrt(cover[:, 0]),
        doubted,
    )


def agility(stretches: list[tuple[Array, Array, Array]], spread: float) -> float:
    """Give how much the boat accelerates: the value under which its fixes are likeliest.

    Parameters
    ----------
    stretches : list of (time, x, y)
        Moments [s] and fixes [m], (n,) each.
    spread : float
        Standard deviation of a fix [m].

    Returns
    -------
    float
        Spectral density of acceleration [m^2/s^3].
    """
    best, found = -np.inf, AGILITY[len(AGILITY) // 2]
    for candidate in AGILITY:
        likely = 0.0
        for time, x, y in stretches:
            n = len(time)
            room = (np.empty((n, 4)), np.empty((n, 3)), np.empty((n, 4)), np.empty((n, 3)))
            likely += _forward(time, x, y, spread**2, candidate, *room, np.zeros(n, np.bool_))
        if likely > best:
            best, found = likely, candidate
    return float(found)


@kernel
def _forward(
    time: Array,
    x: Array,
    y: Array,
    variance: float,
    agility: float,
    state: Array,
    cover: Array,
    expected: Array,
    expected_cover: Array,
    doubted: Flags,
) -> float:
    """Filter forward; gives the log likelihood. East and north share one covariance."""
    px, vx, py, vy = x[0], 0.0, y[0], 0.0
    a, b, c = variance, 0.0, FIRST_SPEED**2
    likely = 0.0
    in_a_row = 0
    for i in range(len(time)):
        if i > 0:
            h = time[i] - time[i - 1]
            px += h * vx
            py += h * vy
            a += h * (2.0 * b + h * c) + agility * h**3 / 3.0
            b += h * c + agility * h * h / 2.0
            c += agility * h
        expected[i, 0], expected[i, 1], expected[i, 2], expected[i, 3] = px, vx, py, vy
        expected_cover[i, 0], expected_cover[i, 1], expected_cover[i, 2] = a, b, c
        if i > 0:
            s = a + variance
            ex, ey = x[i] - px, y[i] - py
            away = ex * ex + ey * ey
            doubt = away > GATE * s and away > NEAR * NEAR and in_a_row < MOST_IN_A_ROW
            doubted[i] = doubt
            if doubt:
                in_a_row += 1
                likely -= 0.5 * GATE + np.log(s)
            else:
                in_a_row = 0
                if i > 1:
                    likely -= 0.5 * away / s + np.log(s)
                ka, kb = a / s, b / s
                px += ka * ex
                vx += kb * ex
                py += ka * ey
                vy += kb * ey
                a, b, c = a * (1.0 - ka), b * (1.0 - ka), c - kb * b
        state[i, 0], state[i, 1], state[i, 2], state[i, 3] = px, vx, py, vy
        cover[i, 0], cover[i, 1], cover[i, 2] = a, b, c
    return likely


@kernel
def smooth_back(
    time: Vector, state: Matrix, cover: Matrix, expected: Matrix, expected_cover: Matrix
) -> None:
    """Smooth backward, in place."""
    for i in range(time.shape[0] - 2, -1, -1):
        h = time[i + 1] - time[i]
        a, b, c = cover[i, 0], cover[i, 1], cover[i, 2]
        pa, pb, pc = expected_cover[i + 1, 0], expected_cover[i + 1, 1], expected_cover[i + 1, 2]
        over = 1.0 / (pa * pc - pb * pb)
        # gain = P F' inverse(P expected)
        fa, fb, fc, fd = a + h * b, b, b + h * c, c
        g00, g01 = (fa * pc - fb * pb) * over, (fb * pa - fa * pb) * over
        g10, g11 = (fc * pc - fd * pb) * over, (fd * pa - fc * pb) * over
        for axis in range(2):
            k = 2 * axis
            dp = state[i + 1, k] - expected[i + 1, k]
            dv = state[i + 1, k + 1] - expected[i + 1, k + 1]
            state[i, k] += g00 * dp + g01 * dv
            state[i, k + 1] += g10 * dp + g11 * dv
        da, db, dc = cover[i + 1, 0] - pa, cover[i + 1, 1] - pb, cover[i + 1, 2] - pc
        cover[i, 0] = max(a + g00 * (g00 * da + g01 * db) + g01 * (g00 * db + g01 * dc), 0.0)
        cover[i, 1] = b + g10 * (g00 * da + g01 * db) + g11 * (g00 * db + g01 * dc)
        cover[i, 2] = max(c + g10 * (g10 * da + g11 * db) + g11 * (g10 * db + g11 * dc), 0.0)
