"""Quadratic table of log depth about one guess: each reading's depth and fit, in nanoseconds.

The engine is asked a few dozen times for each reading, around one guess; between, the logarithm
of the depth is a quadratic in the logarithms of what governs it, which is near exact because a
towed line's depth goes nearly as powers of let-out, speed, weight and drag. Sampling then costs a
few nanoseconds where the engine would cost tens of microseconds.

Local figures of a reading, in order: the lure's downward force over dynamic pressure, in units of
its stated drag area; logarithms of its drag area [1], of speed through the water [m/s] and of line
out [m]; and for each line of the rig the logarithms of its drag, friction and weight factors.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from towscope.arrays import Cube, IntegerMatrix, IntegerVector, Matrix, Vector
from towscope.towing.jit import kernel
from towscope.towing.steady import (
    ANSWER,
    FRICTION_SCALE,
    LENGTH,
    MAX_STEPS,
    NORMAL_SCALE,
    ROW,
    WATER_WEIGHT,
    Room,
    Towed,
    sweep,
)

DOWN, DRAG, SPEED, OUT, LINES = range(5)
SHELF = 0.3  # [m]; keeps the logarithm of a depth finite for a lure at the surface
STEP, DOWN_STEP = 0.06, 0.15
PRECISION = 1e-6
CLEAR = 1


class RigArrays(NamedTuple):
    """Rigs as the readings had them.

    Attributes
    ----------
    pieces, group : (r, p, 8), (r, p) array
        Pieces, and the line that each is of.
    used : (r,) array of int
        Pieces in use.
    medium : (r, 4) array
        As `towscope.towing.steady.Towed` has it.
    tip, area : (r,) array
        Height of the rod tip [m], drag area of the lure as stated [m^2].
    """

    pieces: Cube
    group: IntegerMatrix
    used: IntegerVector
    medium: Matrix
    tip: Vector
    area: Vector


class Given(NamedTuple):
    """Readings, and what of the global figures each hangs on.

    Attributes
    ----------
    figures : (n, 8) array
        Of each: speed and let-out as read [m/s, m], shares of the day's two currents that go
        along, dive area and drag area stated [m^2], weight in water [N], density [kg/m^3].
    ratio : (n,) array
        Depth of what was read for each depth of the lure.
    where : (n, 8) array of int
        Places in `x` of the lure's drag, dive, weight and trim, of counter, speed and the day's
        two currents; -1 for none.
    lines : (n, g) array of int
        Place in `x` of the first of the three factors of each line; -1 for none.
    """

    figures: Matrix
    ratio: Vector
    where: IntegerMatrix
    lines: IntegerMatrix


class Near(NamedTuple):
    """Log depth of each reading about a point.

    Attributes
    ----------
    at : (n, d) array
        The point, in local figures.
    value, slope, curve : (n,), (n, d), (n, d, d) array
        Log depth there, its slopes and its curvatures.
    active : (n, d + 1) array of int
        How many figures have curvature, and which.
    """

    at: Matrix
    value: Vector
    slope: Matrix
    curve: Cube
    active: IntegerMatrix


class Read(NamedTuple):
    """What was read.

    Attributes
    ----------
    kind : (n,) array of int
        `CLEAR` where the lure was above the bottom; else it was at that depth.
    depth, error : (n,) array
        Depth read and its standard error [m].
    wrong : float
        Share of wrong readings.
    room : (n,) array
        Depths over which a wrong reading may lie [m].
    """

    kind: IntegerVector
    depth: Vector
    error: Vector
    wrong: float
    room: Vector


@kernel
def _log_depth(y: Vector, rigs: RigArrays, r: int, own: Matrix, room: Room) -> float:
    """Log depth by the engine for a rig's local figures; `own` is room for its pieces."""
    for i in range(own.shape[0]):
        for c in range(own.shape[1]):
            own[i, c] = rigs.pieces[r, i, c]
        k = LINES + 3 * rigs.group[r, i]
        if own[i, LENGTH] > 0.0:
            own[i, NORMAL_SCALE] *= math.exp(y[k])
            own[i, FRICTION_SCALE] *= math.exp(y[k + 1])
            own[i, WATER_WEIGHT] *= math.exp(y[k + 2])
    speed = math.exp(y[SPEED])
    flow = np.empty((1, 3))
    flow[0, 0], flow[0, 1], flow[0, 2] = 0.0, speed, 0.0
    lure = np.empty(3)
    lure[0], lure[1], lure[2] = rigs.area[r] * math.exp(y[DRAG]), rigs.area[r] * y[DOWN], 0.0
    answer = np.empty((1, ANSWER))
    out = np.empty(1)
    out[0] = math.exp(y[OUT])
    sweep(Towed(own, lure, rigs.medium[r], flow, speed, rigs.tip[r]), out, PRECISION, room, answer)
    depth = answer[0, 0]
    return math.log(max(depth, 0.0) + SHELF) if math.isfinite(depth) else np.nan


@kernel
def tabulate(
    first: int,
    beyond: int,
    rigs: RigArrays,
    rig: IntegerVector,
    spread: Matrix,
    least: float,
    near: Near,
) -> None:
    """Tabulate log depth, its slopes and curvatures about a point, for readings first to beyond.

    Parameters
    ----------
    first, beyond : int
        The readings.
    rigs : RigArrays
        The rigs.
    rig : (n,) array of int
        Rig of each reading.
    spread : (n, d) array
        How far each local figure may vary; what moves log depth by less than `least` over that
        gets no curvature.
    least : float
        As said.
    near : Near
        Has the point; the rest of it is filled.
    """
    at, value, slope, curve, active = near.at, near.value, near.slope, near.curve, near.active
    path = np.empty((MAX_STEPS, ROW))
    size = at.shape[1]
    up = np.empty(size)
    down = np.empty(size)
    for i in range(first, beyond):
        r = rig[i]
        own = np.empty((rigs.used[r], rigs.pieces.shape[2]))
        room = Room(path, np.empty(rigs.used[r]))
        y = at[i].copy()
        middle = _log_depth(y, rigs, r, own, room)
        value[i] = middle
        slope[i, :] = 0.0
        curve[i, :, :] = 0.0
        n = 0
        for j in range(size):
            if spread[i, j] <= 0.0:
                continue
            h = DOWN_STEP if j == DOWN else STEP
            y[j] = at[i, j] + h
            up[j] = _log_depth(y, rigs, r, own, room)
            y[j] = at[i, j] - h
            down[j] = _log_depth(y, rigs, r, own, room)
            y[j] = at[i, j]
            slope[i, j] = (up[j] - down[j]) / (2.0 * h)
            if abs(slope[i, j]) * spread[i, j] > least:
                curve[i, j, j] = (up[j] - 2.0 * middle + down[j]) / (h * h)
                active[i, 1 + n] = j
                n += 1
        active[i, 0] = n
        for a in range(n):
            for b in range(a):
                j, k = active[i, 1 + a], active[i, 1 + b]
                h = DOWN_STEP if j == DOWN else STEP
                step = DOWN_STEP if k == DOWN else STEP
                y[j], y[k] = at[i, j] + h, at[i, k] + step
                both = _log_depth(y, rigs, r, own, room)
                y[j], y[k] = at[i, j] - h, at[i, k] - step
                neither = _log_depth(y, rigs, r, own, room)
                y[j], y[k] = at[i, j], at[i, k]
                mixed = both + neither - up[j] - down[j] - up[k] - down[k] + 2.0 * middle
                curve[i, j, k] = curve[i, k, j] = mixed / (2.0 * h * step)


@kernel
def localise(x: Vector, i: int, given: Given, y: Vector, steep: Vector) -> None:
    """Give a reading's local figures for one set of global ones.

    Parameters
    ----------
    x : (p,) array
        Global figures, as differences from what is stated.
    i : int
        The reading.
    given : Given
        The readings.
    y : (d,) array
        Filled with local figures.
    steep : (6,) array
        Filled with slopes of the local figures that are not just one of the global: of log speed
        by the log of its scale and by the current, of the downward force by log dive, weight,
        trim and log speed.
    """
    lines = given.lines
    f, w = given.figures[i], given.where[i]
    along = 0.0
    if w[6] >= 0:
        along += f[2] * x[w[6]]
    if w[7] >= 0:
        along += f[3] * x[w[7]]
    read = f[0] * math.exp(x[w[5]])
    speed = max(read - along, 0.05)
    free = speed > 0.05
    q = 0.5 * f[7] * speed * speed
    dive = f[4] * math.exp(x[w[1]])
    weight = (f[6] + x[w[2]]) / q
    y[DOWN] = (dive + x[w[3]] + weight) / f[5]
    y[DRAG] = x[w[0]]
    y[SPEED] = math.log(speed)
    y[OUT] = math.log(f[1]) + x[w[4]]
    steep[0] = read / speed if free else 0.0
    steep[1] = -1.0 / speed if free else 0.0
    steep[2] = dive / f[5]
    steep[3] = 1.0 / (q * f[5])
    steep[4] = 1.0 / f[5]
    steep[5] = -2.0 * weight / f[5]
    for g in range(lines.shape[1]):
        k = lines[i, g]
        for c in range(3):
            y[LINES + 3 * g + c] = x[k + c] if k >= 0 else 0.0


@kernel
def _globalise(s: Vector, i: int, given: Given, steep: Vector, g: Vector) -> None:
    """Add slopes by local figures `s`, times nothing, to slopes by global ones `g`."""
    figures, w, lines = given.figures, given.where[i], given.lines
    speed = s[SPEED] + s[DOWN] * steep[5]
    g[w[0]] += s[DRAG]
    g[w[1]] += s[DOWN] * steep[2]
    g[w[2]] += s[DOWN] * steep[3]
    g[w[3]] += s[DOWN] * steep[4]
    g[w[4]] += s[OUT]
    g[w[5]] += speed * steep[0]
    if w[6] >= 0:
        g[w[6]] += speed * steep[1] * figures[i, 2]
    if w[7] >= 0:
        g[w[7]] += speed * steep[1] * figures[i, 3]
    for line in range(lines.shape[1]):
        k = lines[i, line]
        if k >= 0:
            for c in range(3):
                g[k + c] += s[LINES + 3 * line + c]


@kernel
def _near(i: int, y: Vector, near: Near, s: Vector) -> float:
    """Give log depth by the table, and its slopes by the local figures."""
    at, value, slope, curve, active = near.at, near.value, near.slope, near.curve, near.active
    size = at.shape[1]
    f = value[i]
    for j in range(size):
        s[j] = slope[i, j]
        f += slope[i, j] * (y[j] - at[i, j])
    n = active[i, 0]
    for a in range(n):
        j = active[i, 1 + a]
        total = 0.0
        for b in range(n):
            k = active[i, 1 + b]
            total += curve[i, j, k] * (y[k] - at[i, k])
        s[j] += total
        f += 0.5 * total * (y[j] - at[i, j])
    return float(f)


@kernel
def depths(first: int, beyond: int, x: Matrix, given: Given, near: Near, depth: Matrix) -> None:
    """Give the depth of every reading for sets of global figures first to beyond, by the table."""
    size = near.at.shape[1]
    y, s, steep = np.empty(size), np.empty(size), np.empty(6)
    for k in range(first, beyond):
        for i in range(given.figures.shape[0]):
            localise(x[k], i, given, y, steep)
            f = _near(i, y, near, s)
            depth[k, i] = (math.exp(f) - SHELF) * given.ratio[i]


@kernel
def slopes(x: Vector, given: Given, near: Near, depth: Vector, jacobian: Matrix) -> None:
    """Give depths (n,) and their slopes (n, p) by the global figures, for one set of them."""
    size, ratio = near.at.shape[1], given.ratio
    y, s, steep = np.empty(size), np.empty(size), np.empty(6)
    jacobian[:, :] = 0.0
    for i in range(given.figures.shape[0]):
        localise(x, i, given, y, steep)
        e = math.exp(_near(i, y, near, s)) * ratio[i]
        depth[i] = e - SHELF * ratio[i]
        for j in range(s.size):
            s[j] *= e
        _globalise(s, i, given, steep, jacobian[i])


@kernel
def fit_of(
    depth: float, kind: int, read: float, error: float, wrong: float, room: float
) -> tuple[float, float]:
    """Log likelihood of one reading, and its slope by the lure's depth.

    Parameters
    ----------
    depth : float
        How deep the lure runs [m].
    kind : int
        `CLEAR` where it was above the bottom; else it was at that depth.
    read, error : float
        Depth read and its standard error [m].
    wrong : float
        Share of wrong readings.
    room : float
        Depths over which a wrong reading may lie [m].
    """
    u = (read - depth) / error
    if kind == CLEAR:
        inside = 0.5 * math.erfc(-u / math.sqrt(2.0))
        total = (1.0 - wrong) * inside + 0.5 * wrong + 1e-300
        slope = -(1.0 - wrong) * math.exp(-0.5 * u * u) / (math.sqrt(2.0 * math.pi) * error)
        return math.log(total), slope / total
    log_right = -0.5 * u * u - math.log(error * math.sqrt(2.0 * math.pi))
    if wrong <= 0.0:
        return log_right, u / error
    right = (1.0 - wrong) * math.exp(log_right)
    total = right + wrong / room
    return math.log(total), right / total * u / error


@kernel
def _fit(depth: float, read: Read, i: int) -> tuple[float, float]:
    """Log likelihood of one of the readings, and its slope by the lure's depth [m]."""
    return fit_of(depth, read.kind[i], read.depth[i], read.error[i], read.wrong, read.room[i])


@kernel
def bends(depth: Vector, read: Read, out: Matrix) -> None:
    """Slope and bend (second derivative, sign changed) of each reading's fit by depth, (n, 2)."""
    h = 1e-4
    for i in range(depth.size):
        out[i, 0] = _fit(depth[i], read, i)[1]
        up, down = _fit(depth[i] + h, read, i)[1], _fit(depth[i] - h, read, i)[1]
        out[i, 1] = -(up - down) / (2.0 * h)


@kernel
def density(
    first: int,
    beyond: int,
    x: Matrix,
    given: Given,
    near: Near,
    read: Read,
    total: Vector,
    gradient: Matrix,
) -> None:
    """Log likelihood of all readings, its gradient, for sets of global figures first to beyond."""
    size, ratio = near.at.shape[1], given.ratio
    y, s, steep = np.empty(size), np.empty(size), np.empty(6)
    for k in range(first, beyond):
        total[k] = 0.0
        gradient[k, :] = 0.0
        for i in range(given.figures.shape[0]):
            localise(x[k], i, given, y, steep)
            e = math.exp(_near(i, y, near, s)) * ratio[i]
            fit, by_depth = _fit(e - SHELF * ratio[i], read, i)
            total[k] += fit
            for j in range(s.size):
                s[j] *= e * by_depth
            _globalise(s, i, given, steep, gradient[k])
