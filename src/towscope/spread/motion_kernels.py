"""How do a board and the line behind it get from one moment to the next, each pulling the other.

At the end of each step the board's place p (level; it floats) makes the forces on it balance:

    G(p) = pull of the rod's line + water on the board + pull of the line behind - mass times
           acceleration = 0,

with velocities by the same two-step backward formula (BDF2) as the engine's. The pull of the line
behind is what the engine's own step gives when its top is at p: each look at G is such a step from
the same start. Newton's method solves it; the two-by-two slope of the rod's and the water's part
is taken afresh each time (it is cheap), that of the line behind by differences once and corrected
as it goes (Broyden).

References
----------
Broyden (1965), Math. Comp. 19:577-593.
"""

from __future__ import annotations

import math

import numpy as np

from towscope.arrays import Array, Integers
from towscope.spread.board import DRAG, HOLD, LIFT, MASS, SIDE, straight_line_pull, water_on_board
from towscope.towing.drag import line_force
from towscope.towing.jit import kernel
from towscope.towing.moving_kernels import stretch_of_time
from towscope.towing.steady import (
    AIR_WEIGHT,
    DIAMETER,
    FRICTION,
    FRICTION_SCALE,
    NORMAL,
    NORMAL_SCALE,
    WATER_WEIGHT,
    stream,
)

NEAR = 5e-4
"""A step of p below this [m] is the last."""
TRIES = 12
HALVINGS = 5
NUDGE, NUDGED = 2e-3, 1e-6
"""How far p is moved [m] to see how the line behind answers, and how rod and water do."""
CATCH_UP = 0.75
"""Speed [m/s] at which the top of a line is brought from the board to the rod tip, or a board is
let down to the water."""
# Columns of what is shown of each row: pull at the rod [N]; greatest share of its strength that a
# piece bears; speed of the board through the water [m/s]; pull down on it, less what the rod holds
# up [N]; deepest point of the line [m]; line past the board or tip [m]; depth of the lure [m].
ROD, BORNE, SPEED, LOAD, DEEPEST, OUT, DEPTH = range(7)
SHOWN = 7


@kernel
def _balance(
    px: float,
    py: float,
    z: float,
    tip: Array,
    length: float,
    board: Array,
    vx: float,
    vy: float,
    jump_x: float,
    jump_y: float,
    dt: float,
    wx: float,
    wy: float,
    density: float,
) -> tuple[float, float]:
    """Level force on a board of its rod, the water and its mass [N], the line behind left out.

    `vx, vy` is its velocity, `jump_x, jump_y` what it gains over the step before.
    """
    dx, dy, dz = tip[0] - px, tip[1] - py, tip[2] - z
    d = max(math.sqrt(dx * dx + dy * dy + dz * dz), 1e-6)
    pull = straight_line_pull(d, length)
    held = pull / (pull + HOLD)
    fx, fy = water_on_board(wx - vx, wy - vy, board[SIDE], board[LIFT] * held, board[DRAG], density)
    swing = board[MASS] / dt
    return fx + pull * dx / d - swing * jump_x, fy + pull * dy / d - swing * jump_y


@kernel
def pull_at_top(
    part: Integers,
    pieces: Array,
    medium: Array,
    current: Array,
    drift: Array,
    place: Array,
    rate: Array,
    pull: Array,
    count: int,
    answer: Array,
) -> float:
    """Pull of a line on what holds its top, filled in east, north, up; and its size [N].

    The tension of the topmost segment, and the half of that segment's own load that is the top's
    to bear.
    """
    j = count - 2
    p = part[j]
    ex = place[j + 1, 0] - place[j, 0]
    ey = place[j + 1, 1] - place[j, 1]
    ez = place[j + 1, 2] - place[j, 2]
    length = max(math.sqrt(ex * ex + ey * ey + ez * ez), 1e-9)
    tx, ty, tz = ex / length, ey / length, ez / length
    middle = 0.5 * (place[j, 2] + place[j + 1, 2])
    if middle < 0.0:
        wx, wy = stream(current, -middle)
        wx, wy = wx + drift[0], wy + drift[1]
        density, nu, weight = medium[0], medium[1], pieces[p, WATER_WEIGHT]
    else:
        wx = wy = 0.0
        density, nu, weight = medium[2], medium[3], pieces[p, AIR_WEIGHT]
    fx, fy, fz = line_force(
        wx - 0.5 * (rate[j, 0] + rate[j + 1, 0]),
        wy - 0.5 * (rate[j, 1] + rate[j + 1, 1]),
        -0.5 * (rate[j, 2] + rate[j + 1, 2]),
        tx,
        ty,
        tz,
        pieces[p, DIAMETER],
        pieces[p, NORMAL],
        pieces[p, FRICTION],
        pieces[p, NORMAL_SCALE],
        pieces[p, FRICTION_SCALE],
        density,
        nu,
    )
    half = 0.5 * length
    answer[0] = half * fx - pull[j] * tx
    answer[1] = half * fy - pull[j] * ty
    answer[2] = half * (fz - weight) - pull[j] * tz
    return math.sqrt(answer[0] ** 2 + answer[1] ** 2 + answer[2] ** 2)


@kernel
def _note(
    place: Array,
    pull: Array,
    count: int,
    part: Integers,
    strength: Array,
    rod: float,
    rod_strength: float,
    speed: float,
    load: float,
    out: float,
    shown: Array,
) -> None:
    """Fill one row of what is shown."""
    share = rod / rod_strength
    deepest = 0.0
    for i in range(count):
        deepest = max(deepest, -place[i, 2])
        if i < count - 1:
            share = max(share, pull[i] / strength[part[i]])
    shown[ROD], shown[BORNE], shown[SPEED], shown[LOAD] = rod, share, speed, load
    shown[DEEPEST], shown[OUT], shown[DEPTH] = deepest, out, -place[0, 2]


@kernel
def follow(
    first: int,
    beyond: int,
    knots: Array,
    part: Integers,
    line_of: Integers,
    pieces: Array,
    stiffness: Array,
    lures: Array,
    medium: Array,
    current: Array,
    drift: Array,
    place: Array,
    rate: Array,
    pull: Array,
    count: Integers,
    boards: Array,
    ridden: Array,
    strength: Array,
    rod_strength: Array,
    times: Array,
    tips: Array,
    let_outs: Array,
    board_lines: Array,
    every: int,
    shown: Array,
    shapes: Array,
    counts: Integers,
    effort: Integers,
) -> None:
    """Take rows through all moments, with boards where there are any.

    Rows do not touch each other, and the lock of the interpreter is not held.

    Parameters
    ----------
    first, beyond : int
        The rows.
    knots, part, line_of, pieces, stiffness, lures, medium, current, drift
        As `towscope.towing.moving.Lines` has them.
    place, rate, pull, count : array
        The state, replaced. The last node in use is the rod tip, or the board.
    boards : (rows, 4) array
        Figures of the boards.
    ridden : (rows, 2) array
        Velocity of the boards over ground at the start [m/s].
    strength : (rods, p) array
        Of each piece [N], infinite where not known.
    rod_strength : (rods,) array
        Of the line at the rod tip [N].
    times : (m,) array
        Moments [s].
    tips : (rods, m, 3) array
        Rod tips [m].
    let_outs : (rows, m) array
        Line past the rod tip, or behind the board [m].
    board_lines : (rods, m) array
        Line from rod tip to board [m]; NaN while there is no board on it.
    every : int
        Show every so-manieth moment.
    shown : (rows, shown moments, 7) array
        Filled.
    shapes : (rows, shown moments, k + 1, 3) array
        Filled with the nodes, and the rod tip past a board.
    counts : (rows, shown moments) array of int
        Filled: nodes in use, the rod tip past a board included.
    effort : (rows, 2) array of int
        Looks at a board's balance, and steps that did not settle: added to.
    """
    k = knots.shape[1]
    before = np.empty((k, 3))
    work = np.empty((k, 16))
    kept = np.empty((k, 7))
    top = np.empty(3)
    tip = np.empty(3)
    air = np.zeros(2)
    answer = np.empty(3)
    other = np.empty(3)
    for r in range(first, beyond):
        line = line_of[r]
        nodes = count[r]
        answer[0] = answer[1] = answer[2] = 0.0
        last = math.inf
        own_last = math.inf
        vx, vy = ridden[r, 0], ridden[r, 1]
        a00 = a01 = a10 = a11 = 0.0  # slope of the line behind
        known = False
        rod = pull_at_top(
            part[line],
            pieces[r],
            medium,
            current,
            drift[r],
            place[r],
            rate[r],
            pull[r],
            nodes,
            answer,
        )
        load = math.nan
        speed = math.nan
        row = 0
        ending = 0
        for m in range(times.shape[0]):
            boarded = not math.isnan(board_lines[line, m])
            for c in range(3):
                tip[c] = tips[line, m, c]
            wx, wy = stream(current, 0.0)
            wx += drift[r, 0]
            wy += drift[r, 1]
            if m > 0:
                dt = times[m] - times[m - 1]
                ratio = dt / own_last
                c1 = (1.0 + 2.0 * ratio) / (1.0 + ratio) / dt
                c0 = ratio / (1.0 + ratio)
                out, new_out = let_outs[r, m - 1], let_outs[r, m]
                hx, hy, hz = place[r, nodes - 1, 0], place[r, nodes - 1, 1], place[r, nodes - 1, 2]
                start, was_last = nodes, last
                for i in range(start):
                    kept[i, 6] = pull[r, i]
                    for c in range(3):
                        kept[i, c] = place[r, i, c]
                        kept[i, 3 + c] = rate[r, i, c]
                length = board_lines[line, m]
                if boarded:
                    top[0], top[1] = hx + vx * dt, hy + vy * dt
                    top[2] = max(hz - CATCH_UP * dt, 0.0) if hz > 0.0 else 0.0
                else:
                    # Brought to the tip no faster than by hand.
                    gx = hx - tips[line, m - 1, 0]
                    gy = hy - tips[line, m - 1, 1]
                    gz = hz - tips[line, m - 1, 2]
                    gap = math.sqrt(gx * gx + gy * gy + gz * gz)
                    left = max(gap - CATCH_UP * dt, 0.0) / max(gap, 1e-9)
                    top[0], top[1], top[2] = (
                        tip[0] + left * gx,
                        tip[1] + left * gy,
                        tip[2] + left * gz,
                    )
                    known = False
                # Each look steps the line from the same start to another place of its top. The
                # first one is where the board would get to unhindered; where the slope is not
                # known two more follow beside it, the first again, and then Newton's.
                px, py = top[0], top[1]
                first_x, first_y = px, py
                probe = -1 if known or not boarded else 0
                trial = 0
                settled = not boarded
                mx = my = 0.0
                while True:
                    if trial > 0 or probe > 0:
                        nodes, last = start, was_last
                        for i in range(start):
                            pull[r, i] = kept[i, 6]
                            for c in range(3):
                                place[r, i, c] = kept[i, c]
                                rate[r, i, c] = kept[i, 3 + c]
                    top[0], top[1] = px, py
                    was_x, was_y = answer[0], answer[1]
                    nodes, last, newton, _ = stretch_of_time(
                        knots[line],
                        part[line],
                        pieces[r],
                        stiffness[r],
                        lures[r],
                        medium,
                        current,
                        drift[r],
                        air,
                        place[r],
                        rate[r],
                        pull[r],
                        nodes,
                        out,
                        last,
                        top,
                        new_out,
                        dt,
                        before,
                        work,
                    )
                    effort[r, 0] += 1
                    size = pull_at_top(
                        part[line],
                        pieces[r],
                        medium,
                        current,
                        drift[r],
                        place[r],
                        rate[r],
                        pull[r],
                        nodes,
                        answer,
                    )
                    if not boarded:
                        rod = size
                        if newton < 0:
                            effort[r, 1] += 1
                        break
                    if probe >= 0:
                        if probe == 0:
                            other[0], other[1] = answer[0], answer[1]
                            px = first_x + NUDGE
                        elif probe == 1:
                            a00 = (answer[0] - other[0]) / NUDGE
                            a10 = (answer[1] - other[1]) / NUDGE
                            px, py = first_x, first_y + NUDGE
                        elif probe == 2:
                            a01 = (answer[0] - other[0]) / NUDGE
                            a11 = (answer[1] - other[1]) / NUDGE
                            known = True
                            px, py = first_x, first_y
                        probe += 1
                        if probe < 4:
                            continue
                        probe = -1
                    square = mx * mx + my * my
                    if square > NEAR * NEAR:
                        ex = (answer[0] - was_x - a00 * mx - a01 * my) / square
                        ey = (answer[1] - was_y - a10 * mx - a11 * my) / square
                        a00 += ex * mx
                        a01 += ex * my
                        a10 += ey * mx
                        a11 += ey * my
                    if settled or trial == TRIES:
                        break
                    trial += 1
                    # ---- a Newton step, its slope of rod and water by differences
                    slope_x = slope_y = 0.0
                    gx = gy = j00 = j01 = j10 = j11 = 0.0
                    for look in range(3):
                        qx = px + (NUDGED if look == 1 else 0.0)
                        qy = py + (NUDGED if look == 2 else 0.0)
                        fx, fy = _balance(
                            qx,
                            qy,
                            top[2],
                            tip,
                            length,
                            boards[r],
                            c1 * (qx - hx) - c0 * vx,
                            c1 * (qy - hy) - c0 * vy,
                            (qx - hx) / dt - vx,
                            (qy - hy) / dt - vy,
                            dt,
                            wx,
                            wy,
                            medium[0],
                        )
                        if look == 0:
                            slope_x, slope_y = fx, fy
                            gx, gy = fx + answer[0], fy + answer[1]
                        elif look == 1:
                            j00 = (fx - slope_x) / NUDGED + a00
                            j10 = (fy - slope_y) / NUDGED + a10
                        else:
                            j01 = (fx - slope_x) / NUDGED + a01
                            j11 = (fy - slope_y) / NUDGED + a11
                    det = j00 * j11 - j01 * j10
                    sx = -(gx * j11 - gy * j01) / det
                    sy = -(gy * j00 - gx * j10) / det
                    size = math.sqrt(sx * sx + sy * sy)
                    if not size < 1e6:
                        trial = TRIES
                        break
                    if size < NEAR:
                        # Too small to look at the line again; the pull on the rod is still taken
                        # where it leads to, for it is steep.
                        settled = True
                        mx, my = sx, sy
                        break
                    # No further in one go than a metre a second would take it, and back where the
                    # balance gets worse: a line going taut is a sharp corner.
                    scale = min(1.0, dt / size)
                    worst = math.sqrt(gx * gx + gy * gy)
                    for half in range(HALVINGS):
                        mx, my = scale * sx, scale * sy
                        qx, qy = px + mx, py + my
                        fx, fy = _balance(
                            qx,
                            qy,
                            top[2],
                            tip,
                            length,
                            boards[r],
                            c1 * (qx - hx) - c0 * vx,
                            c1 * (qy - hy) - c0 * vy,
                            (qx - hx) / dt - vx,
                            (qy - hy) / dt - vy,
                            dt,
                            wx,
                            wy,
                            medium[0],
                        )
                        fx += answer[0] + a00 * mx + a01 * my
                        fy += answer[1] + a10 * mx + a11 * my
                        if math.sqrt(fx * fx + fy * fy) < worst or half == HALVINGS - 1:
                            break
                        scale *= 0.5
                    px += mx
                    py += my
                if boarded:
                    if not settled:
                        effort[r, 1] += 1
                        known = False
                        mx = my = 0.0
                    bx = c1 * (px - hx) - c0 * vx
                    by = c1 * (py - hy) - c0 * vy
                    dx, dy, dz = tip[0] - px - mx, tip[1] - py - my, tip[2] - top[2]
                    d = max(math.sqrt(dx * dx + dy * dy + dz * dz), 1e-6)
                    rod = straight_line_pull(d, length)
                    load = -answer[2] - rod * dz / d
                    speed = math.sqrt((wx - bx) * (wx - bx) + (wy - by) * (wy - by))
                else:
                    load = speed = math.nan
                vx = (place[r, nodes - 1, 0] - hx) / dt
                vy = (place[r, nodes - 1, 1] - hy) / dt
                own_last = dt
            elif boarded:
                bx, by = place[r, nodes - 1, 0], place[r, nodes - 1, 1]
                bz = place[r, nodes - 1, 2]
                dx, dy, dz = tip[0] - bx, tip[1] - by, tip[2] - bz
                rod = straight_line_pull(
                    math.sqrt(dx * dx + dy * dy + dz * dz), board_lines[line, 0]
                )
                speed = math.sqrt((wx - vx) * (wx - vx) + (wy - vy) * (wy - vy))
            if m % every == 0:
                _note(
                    place[r],
                    pull[r],
                    nodes,
                    part[line],
                    strength[line],
                    rod,
                    rod_strength[line],
                    speed,
                    load,
                    let_outs[r, m],
                    shown[r, row],
                )
                ending = nodes
                for i in range(nodes):
                    for c in range(3):
                        shapes[r, row, i, c] = place[r, i, c]
                if boarded:
                    for c in range(3):
                        shapes[r, row, nodes, c] = tip[c]
                    ending = nodes + 1
                counts[r, row] = ending
                row += 1
        count[r] = nodes
