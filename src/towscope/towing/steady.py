"""Where does a towed line lie at steady speed, for every length let out.

The line is followed from the lure up. Its state is its place (x ahead, y to starboard, z up, from
the lure) and the tension as a vector F; with t = F / |F| the unit vector along the line,

    dr/ds = t,    dF/ds = w z - f(u, t),

where w is the weight per length and f the force of the water: the same equations as in angle and
tension, without their angles, so that they hold in three dimensions and for any slope. Going up
from the lure is stable, and in a uniform stream one sweep holds every let-out: wherever the line
is cut by the surface, the part below it is the answer for that length. Above the surface the same
equations run on in air to the rod tip.

The integrator is the Dormand-Prince pair of orders 5 and 4 with local extrapolation and its
fourth-order continuous extension, with steps of its own choice that never straddle a join.

Kernels take what is towed as one `Towed`, and room to work in as one `Room`; SI throughout.

References
----------
Dormand & Prince (1980), J. Comput. Appl. Math. 6:19-26. Shampine (1986), Math. Comp. 46:135-150.
Pode (1951), David Taylor Model Basin report 687, for the cable equations in angle and tension.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from towscope.arrays import Matrix, Vector
from towscope.towing.drag import Fluid, Skin, line_force, lure_force
from towscope.towing.elementary import power
from towscope.towing.jit import inlined, kernel

# Columns of a piece.
LENGTH, DIAMETER, WATER_WEIGHT, AIR_WEIGHT, NORMAL, FRICTION, NORMAL_SCALE, FRICTION_SCALE = range(
    8
)
# Columns of an answer: depth of the lure, deepest line below the surface, layback, how far to
# starboard of the rod tip, pull at the rod, length in the water, let-out.
DEPTH, DEEPEST, LAYBACK, SIDE, TENSION, WET, LET_OUT = range(7)
ANSWER = 7

RELATIVE = 1e-7
NEAR = 2e-5  # [m]; how near to its let-out an answer of a sweep is found before the last correction
FOUND = 1e-9  # of a let-out; how near to it the depth in a current by depth is looked for
MAX_STEPS = 2000
# A row of the path: where a step starts, how long it is, its piece, state at its start, and the
# four coefficients of the continuous extension for each of the six components.
START, STEP, PIECE, STATE, COEFFICIENTS = 0, 1, 2, 3, 9
ROW = 33

_A = np.array(
    [
        [0.0, 0.0, 0.0, 0.0, 0.0, 0.0],
        [1 / 5, 0.0, 0.0, 0.0, 0.0, 0.0],
        [3 / 40, 9 / 40, 0.0, 0.0, 0.0, 0.0],
        [44 / 45, -56 / 15, 32 / 9, 0.0, 0.0, 0.0],
        [19372 / 6561, -25360 / 2187, 64448 / 6561, -212 / 729, 0.0, 0.0],
        [9017 / 3168, -355 / 33, 46732 / 5247, 49 / 176, -5103 / 18656, 0.0],
        [35 / 384, 0.0, 500 / 1113, 125 / 192, -2187 / 6784, 11 / 84],
    ]
)
_E = np.array([-71 / 57600, 0.0, 71 / 16695, -71 / 1920, 17253 / 339200, -22 / 525, 1 / 40])
_P = np.array(
    [
        [
            1.0,
            -8048581381 / 2820520608,
            8663915743 / 2820520608,
            -12715105075 / 11282082432,
        ],
        [0.0, 0.0, 0.0, 0.0],
        [
            0.0,
            131558114200 / 32700410799,
            -68118460800 / 10900136933,
            87487479700 / 32700410799,
        ],
        [
            0.0,
            -1754552775 / 470086768,
            14199869525 / 1410260304,
            -10690763975 / 1880347072,
        ],
        [
            0.0,
            127303824393 / 49829197408,
            -318862633887 / 49829197408,
            701980252875 / 199316789632,
        ],
        [0.0, -282668133 / 205662961, 2019193451 / 616988883, -1453857185 / 822651844],
        [0.0, 40617522 / 29380423, -110615467 / 29380423, 69997945 / 29380423],
    ]
)


class Towed(NamedTuple):
    """A rig and how it is run, as the kernels take them.

    Attributes
    ----------
    pieces : (n, 8) array
        One row for each piece of line from the lure up, columns as the constants above.
    lure : (3,) array
        Drag area [m^2], dive area [m^2], weight in water [N].
    medium : (4,) array
        Density [kg/m^3] and kinematic viscosity [m^2/s] of water, then of air.
    flow : (k, 3) array
        Depth [m], speed of the water past the tow from ahead, and from port [m/s].
    air_speed : float
        Speed of the air past the rod from ahead [m/s].
    tip : float
        Height of the rod tip above the water [m].
    """

    pieces: Matrix
    lure: Vector
    medium: Vector
    flow: Matrix
    air_speed: float
    tip: float


class Above(NamedTuple):
    """What is above the water: the air, its speed from ahead [m/s], height of the rod tip [m]."""

    air: Fluid
    air_speed: float
    tip: float


class Room(NamedTuple):
    """Room to work in: the steps of the path (m, 33), and where each piece ends (n,) [m]."""

    path: Matrix
    ends: Vector


def room_for(pieces: int) -> Room:
    """Give room for a line of so many pieces."""
    return Room(np.empty((MAX_STEPS, ROW)), np.empty(pieces))


@inlined
def _above(towed: Towed) -> Above:
    """Give what is above the water: plain figures, which cost less to hand on than arrays."""
    return Above(Fluid(towed.medium[2], towed.medium[3]), towed.air_speed, towed.tip)


@inlined
def skin_of(pieces: Matrix, i: int) -> Skin:
    """Give what the water feels of a piece of line."""
    return Skin(
        pieces[i, DIAMETER],
        pieces[i, NORMAL],
        pieces[i, FRICTION],
        pieces[i, NORMAL_SCALE],
        pieces[i, FRICTION_SCALE],
    )


@inlined
def stream(flow: Matrix, depth: float) -> tuple[float, float]:
    """Speed of the water past the tow at a depth, from ahead and from port [m/s]."""
    n = flow.shape[0]
    if n == 1 or depth <= flow[0, 0]:
        return flow[0, 1], flow[0, 2]
    for k in range(1, n):
        if depth <= flow[k, 0]:
            f = (depth - flow[k - 1, 0]) / (flow[k, 0] - flow[k - 1, 0])
            return (
                flow[k - 1, 1] + f * (flow[k, 1] - flow[k - 1, 1]),
                flow[k - 1, 2] + f * (flow[k, 2] - flow[k - 1, 2]),
            )
    return flow[n - 1, 1], flow[n - 1, 2]


@kernel
def _slope(
    state: Vector,
    k: Matrix,
    stage: int,
    flow: Matrix,
    water: Fluid,
    skin: Skin,
    weight: float,
    lure_depth: float,
) -> None:
    """Fill a row of `k` with how the state changes along a line of so much weight per length."""
    fx, fy, fz = state[3], state[4], state[5]
    inverse = 1.0 / math.sqrt(fx * fx + fy * fy + fz * fz)
    tx, ty, tz = fx * inverse, fy * inverse, fz * inverse
    ahead, port = stream(flow, lure_depth - state[2])
    dx, dy, dz = line_force(-ahead, port, 0.0, tx, ty, tz, skin, water)
    k[stage, 0], k[stage, 1], k[stage, 2] = tx, ty, tz
    k[stage, 3], k[stage, 4], k[stage, 5] = -dx, -dy, weight - dz


@inlined
def _try_step(
    state: Vector,
    trial: Vector,
    k: Matrix,
    h: float,
    flow: Matrix,
    water: Fluid,
    skin: Skin,
    weight: float,
    lure_depth: float,
) -> None:
    """Fill the stages of a step, whose first is there, and the state that it leads to."""
    for c in range(6):
        trial[c] = state[c] + h * (_A[1, 0] * k[0, c])
    _slope(trial, k, 1, flow, water, skin, weight, lure_depth)
    for c in range(6):
        trial[c] = state[c] + h * (_A[2, 0] * k[0, c] + _A[2, 1] * k[1, c])
    _slope(trial, k, 2, flow, water, skin, weight, lure_depth)
    for c in range(6):
        trial[c] = state[c] + h * (_A[3, 0] * k[0, c] + _A[3, 1] * k[1, c] + _A[3, 2] * k[2, c])
    _slope(trial, k, 3, flow, water, skin, weight, lure_depth)
    for c in range(6):
        trial[c] = state[c] + h * (
            _A[4, 0] * k[0, c] + _A[4, 1] * k[1, c] + _A[4, 2] * k[2, c] + _A[4, 3] * k[3, c]
        )
    _slope(trial, k, 4, flow, water, skin, weight, lure_depth)
    for c in range(6):
        trial[c] = state[c] + h * (
            _A[5, 0] * k[0, c]
            + _A[5, 1] * k[1, c]
            + _A[5, 2] * k[2, c]
            + _A[5, 3] * k[3, c]
            + _A[5, 4] * k[4, c]
        )
    _slope(trial, k, 5, flow, water, skin, weight, lure_depth)
    for c in range(6):
        trial[c] = state[c] + h * (
            _A[6, 0] * k[0, c]
            + _A[6, 2] * k[2, c]
            + _A[6, 3] * k[3, c]
            + _A[6, 4] * k[4, c]
            + _A[6, 5] * k[5, c]
        )
    _slope(trial, k, 6, flow, water, skin, weight, lure_depth)


@inlined
def _error(k: Matrix, h: float, pull: float, s: float) -> float:
    """Greatest error of a step, relative to tension and to length."""
    worst = 0.0
    for c in range(6):
        error = (
            _E[0] * k[0, c]
            + _E[2] * k[2, c]
            + _E[3] * k[3, c]
            + _E[4] * k[4, c]
            + _E[5] * k[5, c]
            + _E[6] * k[6, c]
        )
        size = pull if c >= 3 else 1.0 + s
        worst = max(worst, abs(error * h) / size)
    return worst


@inlined
def _keep_step(
    path: Matrix, n: int, s: float, h: float, piece: int, state: Vector, k: Matrix
) -> None:
    """Fill a row of the path with a step: its start and its continuous extension."""
    path[n, START], path[n, STEP], path[n, PIECE] = s, h, piece
    for c in range(6):
        path[n, STATE + c] = state[c]
        for p in range(4):
            path[n, COEFFICIENTS + 4 * c + p] = h * (
                _P[0, p] * k[0, c]
                + _P[2, p] * k[2, c]
                + _P[3, p] * k[3, c]
                + _P[4, p] * k[4, c]
                + _P[5, p] * k[5, c]
                + _P[6, p] * k[6, c]
            )


@kernel
def climb(
    towed: Towed, lure_depth: float, stop: float, relative: float, path: Matrix
) -> tuple[int, float]:
    """Follow the line in the water from the lure up.

    Parameters
    ----------
    towed : Towed
        What is towed.
    lure_depth : float
        Depth of the lure [m]; it matters only where the flow changes with depth.
    stop : float
        Height above the lure [m] at which to stop; the step that passes it is kept whole.
    relative : float
        Error allowed in one step, relative to tension and to length.
    path : (m, 33) array
        Filled with the steps.

    Returns
    -------
    tuple
        Number of steps, and the length followed [m]; no steps where `path` was too short.
    """
    pieces, lure, flow = towed.pieces, towed.lure, towed.flow
    water = Fluid(towed.medium[0], towed.medium[1])
    state = np.empty(6)
    trial = np.empty(6)
    k = np.empty((7, 6))
    ahead, port = stream(flow, lure_depth)
    lx, ly, lz = lure_force(-ahead, port, lure[0], lure[1], lure[2], water.density)
    state[0] = state[1] = state[2] = 0.0
    state[3], state[4], state[5] = -lx, -ly, -lz
    n = 0
    s = 0.0
    for i in range(pieces.shape[0]):
        skin, weight = skin_of(pieces, i), pieces[i, WATER_WEIGHT]
        end = s + pieces[i, LENGTH]
        left = pieces[i, LENGTH]
        _slope(state, k, 0, flow, water, skin, weight, lure_depth)
        pull = math.sqrt(state[3] ** 2 + state[4] ** 2 + state[5] ** 2)
        change = math.sqrt(k[0, 3] ** 2 + k[0, 4] ** 2 + k[0, 5] ** 2)
        h = min(left, 0.2 * pull / (change + 1e-12) + 1e-6)
        while left > 1e-12:
            last = h >= left * (1.0 - 1e-12)
            if last:
                h = left
            _try_step(state, trial, k, h, flow, water, skin, weight, lure_depth)
            pull = math.sqrt(trial[3] ** 2 + trial[4] ** 2 + trial[5] ** 2)
            worst = _error(k, h, pull, s)
            if worst > relative:
                h *= max(0.2, 0.9 * power(relative / worst, 0.2))
                continue
            if n == path.shape[0]:
                return 0, s
            _keep_step(path, n, s, h, i, state, k)
            for c in range(6):
                state[c] = trial[c]
                k[0, c] = k[6, c]
            n += 1
            s = end if last else s + h
            left = end - s
            if state[2] > stop:
                return n, s
            h *= min(5.0, 0.9 * power(relative / (worst + 1e-30), 0.2))
    return n, s


@inlined
def _at(path: Matrix, row: int, s: float, out: Vector) -> None:
    """State at length s from the lure, which lies in that row's step."""
    q = (s - path[row, START]) / path[row, STEP]
    for c in range(6):
        b = COEFFICIENTS + 4 * c
        out[c] = path[row, STATE + c] + q * (
            path[row, b] + q * (path[row, b + 1] + q * (path[row, b + 2] + q * path[row, b + 3]))
        )


@inlined
def _row_of(path: Matrix, n: int, s: float, row: int) -> int:
    """Row whose step holds s, looked for from a nearby row on."""
    while row > 0 and path[row, START] > s:
        row -= 1
    while row < n - 1 and path[row + 1, START] <= s:
        row += 1
    return row


@inlined
def air_leg(
    fx: float,
    fy: float,
    fz: float,
    pieces: Matrix,
    above: Above,
    i: int,
    left: float,
) -> tuple[float, float, float, float]:
    """Follow the line from the surface through the air to the rod tip.

    Each piece is gone through in steps sized by its catenary, which has a closed form and is the
    whole answer but for the drag of the air; what that leaves is taken up at the end.
    The last piece is taken to have no end: whether the line suffices is for the caller to see.

    Parameters
    ----------
    fx, fy, fz : float
        Tension at the surface [N].
    pieces, above : (n, 8) array, Above
        The line, and what is above the water.
    i, left : int, float
        Piece that is cut by the surface, and how much of it is left above [m].

    Returns
    -------
    tuple of float
        Length [m], how far ahead and to starboard [m], tension at the tip [N]; the length is
        negative where the line does not rise out of the water at all.
    """
    air, air_speed, tip = above.air, above.air_speed, above.tip
    x = y = z = length = 0.0
    if tip <= 0.0:
        return 0.0, 0.0, 0.0, math.sqrt(fx * fx + fy * fy + fz * fz)
    if fz <= 0.0:
        return -1.0, 0.0, 0.0, 0.0
    piece = i
    for _ in range(pieces.shape[0] + 8):
        w = pieces[piece, AIR_WEIGHT]
        pull = math.sqrt(fx * fx + fy * fy + fz * fz)
        rise = tip - z
        top = pull + w * rise
        vertical = math.sqrt(max(top * top - fx * fx - fy * fy, 0.0))
        need = (2.0 * pull + w * rise) * rise / (vertical + fz)
        there = piece == pieces.shape[0] - 1 or need <= left
        span = need if there else left
        # As many steps as keep the bend in each small, the weight's and the air's.
        blown = 0.5 * air.density * pieces[piece, DIAMETER] * air_speed * air_speed
        steps = 1 + min(63, int((6.0 * w + 300.0 * blown) * span / pull))
        h = span / steps if steps > 1 else span
        a0 = 1.0 / pull
        for _ in range(steps):
            # The air pulls a thousandth as hard as the line weighs: its force is taken once a
            # step, at the slope that the weight alone gives half way.
            mz = fz + 0.5 * h * w
            inverse = 1.0 / math.sqrt(fx * fx + fy * fy + mz * mz)
            dx, dy, dz = line_force(
                -air_speed,
                0.0,
                0.0,
                fx * inverse,
                fy * inverse,
                mz * inverse,
                skin_of(pieces, piece),
                air,
            )
            ex, ey, ez = -h * dx, -h * dy, h * (w - dz)
            # Simpson's rule on the unit tangent, whose force is linear along the step: what the
            # Runge-Kutta step of order four comes to here.
            gx, gy, gz = fx + 0.5 * ex, fy + 0.5 * ey, fz + 0.5 * ez
            a1 = 4.0 / math.sqrt(gx * gx + gy * gy + gz * gz)
            hx, hy, hz = fx + ex, fy + ey, fz + ez
            a2 = 1.0 / math.sqrt(hx * hx + hy * hy + hz * hz)
            x += h / 6.0 * (a0 * fx + a1 * gx + a2 * hx)
            y += h / 6.0 * (a0 * fy + a1 * gy + a2 * hy)
            z += h / 6.0 * (a0 * fz + a1 * gz + a2 * hz)
            fx, fy, fz, a0 = hx, hy, hz, a2
        length += span
        if there:
            # The air holds a slack line down: what is still missing is gone through again.
            if tip - z < 1e-3 * tip:
                break
            left -= span
        else:
            piece += 1
            left = pieces[piece, LENGTH]
    pull = math.sqrt(fx * fx + fy * fy + fz * fz)
    rest = (tip - z) / fz
    return length + rest * pull, x + rest * fx, y + rest * fy, pull


@inlined
def _surface(
    pieces: Matrix,
    above: Above,
    room: Room,
    n: int,
    row: int,
    s: float,
    state: Vector,
    out: Vector,
) -> int:
    """Answer for the surface cutting the line at s; gives the row, or -1 if it does not rise."""
    path, ends = room.path, room.ends
    row = _row_of(path, n, s, row)
    _at(path, row, s, state)
    i = int(path[row, PIECE])
    while i < ends.shape[0] - 1 and s >= ends[i]:
        i += 1
    length, dx, dy, pull = air_leg(state[3], state[4], state[5], pieces, above, i, ends[i] - s)
    if length < 0.0:
        return -1
    out[DEPTH] = state[2]
    out[DEEPEST] = state[2]
    out[LAYBACK] = state[0] + dx
    out[SIDE] = -state[1] - dy
    out[TENSION] = pull
    out[WET] = s
    out[LET_OUT] = s + length
    return row


@kernel
def _fill_ends(pieces: Matrix, ends: Vector) -> float:
    """Fill in where each piece ends, from the lure up [m]; gives the last: all the line."""
    s = 0.0
    for i in range(pieces.shape[0]):
        s += pieces[i, LENGTH]
        ends[i] = s
    return s


@kernel
def _afloat(let_out: float, tip: float, out: Vector) -> None:
    """Answer for a lure at the surface: the line goes straight to it, pull unknown."""
    for c in range(ANSWER):
        out[c] = 0.0
    out[LAYBACK] = math.sqrt(max(let_out * let_out - tip * tip, 0.0))
    out[WET] = max(let_out - tip, 0.0)
    out[TENSION] = np.nan
    out[LET_OUT] = let_out


@kernel
def _no_answer(depth: float, out: Vector) -> None:
    """Fill an answer with nothing but a depth."""
    for c in range(ANSWER):
        out[c] = np.nan
    out[DEPTH] = depth


@inlined
def _sinks_at(path: Matrix, n: int, total: float, state: Vector) -> float:
    """Length of line at which the lure first runs under: 0 unless it floats up from the line."""
    if path[0, STATE + 5] > 0.0:
        return 0.0
    for row in range(n):
        end = path[row, START] + path[row, STEP]
        _at(path, row, end, state)
        if state[2] > 0.0:
            low, high = path[row, START], end
            for _ in range(60):
                s = 0.5 * (low + high)
                _at(path, row, s, state)
                if state[2] > 0.0:
                    high = s
                else:
                    low = s
            return float(high)
    return total


@inlined
def _meet(
    pieces: Matrix,
    above: Above,
    room: Room,
    n: int,
    row: int,
    goal: float,
    span: tuple[float, float],
    s: float,
    rate: float,
    state: Vector,
    out: Vector,
) -> tuple[int, float, float]:
    """Find where the surface must cut the line for a let-out, from a guess, within a span.

    Gives the row, by how much let-out is still missed [m], and how fast it grows with the length
    in the water; the gap is infinite where the line rises nowhere.
    """
    low, high = span
    before_s, before_gap = -1.0, 0.0
    gap = np.inf
    for _ in range(60):
        hit = _surface(pieces, above, room, n, row, s, state, out)
        if hit < 0:
            # the line does not rise here: only further from the lure can it
            low = s
            if high - low < 1e-9 * (1.0 + goal):
                break
            s = 0.5 * (low + high)
            before_s = -1.0
            continue
        row = hit
        gap = out[LET_OUT] - goal
        if before_s >= 0.0 and s != before_s:
            rate = (gap - before_gap) / (s - before_s)
            if rate < 0.1:
                rate = 1.0
        if abs(gap) <= NEAR:
            break
        if gap > 0.0:
            high = s
        else:
            low = s
        before_s, before_gap = s, gap
        guess = s - gap / rate
        if not low <= guess <= high:
            guess = 0.5 * (low + high)
        if guess == s:
            break
        s = guess
    return row, gap, rate


@kernel
def sweep(towed: Towed, let_outs: Vector, relative: float, room: Room, answers: Matrix) -> bool:
    """Answer for many let-outs at one speed, in a stream that does not change with depth.

    Parameters
    ----------
    towed : Towed
        What is towed.
    let_outs : (n,) array
        Line past the rod tip [m], rising.
    relative : float
        Error allowed in one step.
    room : Room
        Room to work in.
    answers : (n, 7) array
        Filled with the answers. A let-out too short to sink the lure gives depth 0 and no pull;
        one longer than the line gives no number (NaN).

    Returns
    -------
    bool
        False where the path had too many steps to be followed.
    """
    pieces, above = towed.pieces, _above(towed)
    path, tip = room.path, towed.tip
    total = _fill_ends(pieces, room.ends)
    state = np.empty(6)
    out = np.empty(ANSWER)
    n, _ = climb(towed, 0.0, np.inf, relative, path)
    if n == 0:
        for target in range(let_outs.shape[0]):
            _no_answer(np.nan, answers[target])
        return False
    row = 0
    # Length in the air as a line through the last two answers: the next guess is nearly right.
    air, last_goal, air_rate = tip, 0.0, 0.0
    lowest = 0.0  # how far the line hangs below the lure, where the lure floats
    seen = 0
    floor = _sinks_at(path, n, total, state)
    shortest = np.inf
    if _surface(pieces, above, room, n, row, floor, state, out) >= 0:
        shortest = out[LET_OUT]
    for target in range(let_outs.shape[0]):
        goal = let_outs[target]
        if goal > total * (1.0 + 1e-12):
            for c in range(ANSWER):
                answers[target, c] = np.nan
            answers[target, LET_OUT] = goal
            continue
        if goal <= shortest:
            _afloat(goal, tip, answers[target])
            continue
        guess = min(max(goal - air - air_rate * (goal - last_goal), floor), goal)
        rate = 1.0 / (1.0 - air_rate) if air_rate < 0.5 else 1.0
        row, gap, rate = _meet(
            pieces, above, room, n, row, goal, (floor, goal), guess, rate, state, out
        )
        if abs(gap) > NEAR or out[DEPTH] <= 0.0:
            _afloat(goal, tip, answers[target])
            continue
        # The last hair's breadth along the line is taken in its own direction.
        back = gap / rate
        pull = math.sqrt(state[3] ** 2 + state[4] ** 2 + state[5] ** 2)
        out[WET] -= back
        out[DEPTH] -= back * state[5] / pull
        out[LAYBACK] -= gap * state[3] / pull
        out[SIDE] += gap * state[4] / pull
        now = goal - out[WET]
        if target > 0 and goal > last_goal and last_goal > 0.0:
            air_rate = (now - air) / (goal - last_goal)
        air, last_goal = now, goal
        while seen < n and path[seen, START] <= out[WET]:
            lowest = min(lowest, path[seen, STATE + 2])
            seen += 1
        for c in range(ANSWER):
            answers[target, c] = out[c]
        answers[target, DEEPEST] = answers[target, DEPTH] - lowest
        answers[target, LET_OUT] = goal
    return True


@kernel
def _rises_to(path: Matrix, row: int, depth: float, state: Vector) -> float:
    """Length from the lure [m] at which the line is so far above it, within a step that passes."""
    low, high = path[row, START], path[row, START] + path[row, STEP]
    s = 0.5 * (low + high)
    for _ in range(60):
        _at(path, row, s, state)
        gap = state[2] - depth
        if gap > 0.0:
            high = s
        else:
            low = s
        pull = math.sqrt(state[3] ** 2 + state[4] ** 2 + state[5] ** 2)
        rise = state[5] / pull
        guess = s - gap / rise if rise > 1e-6 else 0.5 * (low + high)
        if not low <= guess <= high:
            guess = 0.5 * (low + high)
        if abs(guess - s) <= 1e-12 * (1.0 + s):
            break
        s = guess
    return float(s)


@kernel
def reach(towed: Towed, depth: float, relative: float, room: Room, out: Vector) -> int:
    """Let out just enough line to put the lure at a depth.

    Parameters
    ----------
    towed : Towed
        What is towed; the flow may change with depth.
    depth : float
        Depth of the lure [m].
    relative : float
        Error allowed in one step.
    room : Room
        Room to work in; its path is the line's afterwards.
    out : (7,) array
        Filled with the answer; where the line never rises that far above the lure, with the
        greatest height it came to as its depth.

    Returns
    -------
    int
        Number of steps of the path; 0 where there is no answer.
    """
    pieces, above = towed.pieces, _above(towed)
    path = room.path
    state = np.empty(6)
    _fill_ends(pieces, room.ends)
    n, _ = climb(towed, depth, depth, relative, path)
    if n == 0:
        _no_answer(np.nan, out)
        return 0
    _at(path, n - 1, path[n - 1, START] + path[n - 1, STEP], state)
    if state[2] < depth:
        _no_answer(state[2], out)
        return 0
    s = _rises_to(path, n - 1, depth, state)
    if _surface(pieces, above, room, n, n - 1, s, state, out) < 0:
        _no_answer(depth, out)
        return 0
    lowest = 0.0
    for row in range(n):
        lowest = min(lowest, path[row, STATE + 2])
    out[DEPTH] = depth
    out[DEEPEST] = depth - lowest
    return n


@kernel
def settle(towed: Towed, let_out: float, relative: float, room: Room, out: Vector) -> None:
    """Depth at one let-out, in a stream that may change with depth.

    Where it does, the depth of the lure is what is looked for: let-out rises with it, and the
    depth whose let-out is the given one is bracketed and closed in on (regula falsi, Illinois).

    Parameters
    ----------
    towed : Towed
        What is towed.
    let_out : float
        Line past the rod tip [m].
    relative : float
        Error allowed in one step.
    room : Room
        Room to work in.
    out : (7,) array
        Filled with the answer.
    """
    tip = towed.tip
    if towed.flow.shape[0] == 1:
        one = np.empty((1, ANSWER))
        goal = np.empty(1)
        goal[0] = let_out
        sweep(towed, goal, relative, room, one)
        for c in range(ANSWER):
            out[c] = one[0, c]
        return
    low, high = 0.0, max(let_out - tip, 0.0)
    low_gap, high_gap = tip - let_out, np.inf
    depth = 0.25 * high
    for _ in range(200):
        n = reach(towed, depth, relative, room, out)
        gap = out[LET_OUT] - let_out if n > 0 else np.inf
        if abs(gap) <= FOUND * (1.0 + let_out):
            return
        if high - low < FOUND * (1.0 + let_out):
            break
        if gap > 0.0:
            high, high_gap = depth, gap
            low_gap *= 0.5
        else:
            low, low_gap = depth, gap
            high_gap *= 0.5
        if math.isfinite(high_gap) and low > 0.0:
            depth = (low * high_gap - high * low_gap) / (high_gap - low_gap)
            if not low < depth < high:
                depth = 0.5 * (low + high)
        else:
            depth = 0.5 * (low + high)
    if low <= 1e-6:
        _afloat(let_out, tip, out)


@kernel
def shape(path: Matrix, n: int, wet: float, points: Matrix) -> None:
    """Points along the part of a followed line that is in the water.

    Parameters
    ----------
    path : (m, 33) array
        As `climb` filled it.
    n : int
        Number of steps.
    wet : float
        Length in the water [m].
    points : (count, 4) array
        Filled: length from the lure, place ahead of, to starboard of and above the lure [m]; at
        even lengths, from the lure to the surface.
    """
    count = points.shape[0]
    state = np.empty(6)
    row = 0
    for p in range(count):
        s = wet * p / (count - 1)
        row = _row_of(path, n, s, row)
        _at(path, row, s, state)
        points[p, 0] = s
        points[p, 1], points[p, 2], points[p, 3] = state[0], state[1], state[2]


@kernel
def pull_at(path: Matrix, n: int, s: float) -> float:
    """Tension [N] of a followed line at a length from the lure [m]."""
    state = np.empty(6)
    _at(path, _row_of(path, n, s, 0), s, state)
    return math.sqrt(state[3] ** 2 + state[4] ** 2 + state[5] ** 2)
