"""BDF2 steps of a board and the line behind it, each pulling the other.

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
from typing import NamedTuple

from towscope.arrays import Cube, IntegerMatrix, Matrix, SingleBlock, Vector
from towscope.spreads.board import DRAG, HOLD, LIFT, MASS, SIDE, straight_line_pull, water_on_board
from towscope.towing.drag import Fluid, line_force
from towscope.towing.jit import kernel
from towscope.towing.moving_kernels import (
    Around,
    Chain,
    Chains,
    Gear,
    Line,
    Space,
    Water,
    line_of_row,
    stretch_of_time,
)
from towscope.towing.steady import AIR_WEIGHT, WATER_WEIGHT, skin_of, stream

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


class Boards(NamedTuple):
    """Boards, and what the lines bear.

    Attributes
    ----------
    figures : (rows, 4) array
        Of the boards, columns as `towscope.spreads.board` names them.
    ridden : (rows, 2) array
        Velocity over ground at the start [m/s].
    strength : (rods, p) array
        Of each piece [N], infinite where not known.
    rod_strength : (rods,) array
        Of the line at the rod tip [N].
    """

    figures: Matrix
    ridden: Matrix
    strength: Matrix
    rod_strength: Vector


class Rods(NamedTuple):
    """What the rods do.

    Attributes
    ----------
    times : (m,) array
        Moments [s].
    tips : (rods, m, 3) array
        Rod tips [m].
    let_outs : (rows, m) array
        Line past the rod tip, or behind the board [m].
    board_lines : (rods, m) array
        Line from rod tip to board [m]; NaN while there is no board on it.
    """

    times: Vector
    tips: Cube
    let_outs: Matrix
    board_lines: Matrix


class SpreadTrace(NamedTuple):
    """What is shown.

    Attributes
    ----------
    every : int
        Show every so-manieth moment.
    figures : (rows, shown moments, 7) array
        Filled; columns as the constants above.
    shapes : (rows, shown moments, k + 1, 3) array
        Filled with the nodes, and the rod tip past a board.
    counts : (rows, shown moments) array of int
        Filled: nodes in use, the rod tip past a board included.
    effort : (rows, 2) array of int
        Looks at a board's balance, and steps that did not settle: added to.
    """

    every: int
    figures: Cube
    shapes: SingleBlock
    counts: IntegerMatrix
    effort: IntegerMatrix


class SpreadDesk(NamedTuple):
    """Room to work in: the engine's, a line as it was (k, 7), and three vectors (3,)."""

    space: Space
    kept: Matrix
    top: Vector
    tip: Vector
    answer: Vector


class Behind(NamedTuple):
    """How the pull of the line behind changes with the place of its top [N/m], where known."""

    xx: float
    xy: float
    yx: float
    yy: float
    known: bool


class Held(NamedTuple):
    """A step of a board.

    Attributes
    ----------
    x, y, vx, vy : float
        Where the board was [m], and its mean velocity over the step before [m/s].
    now, then : float
        Its velocity is `now` times its way, less `then` times the mean velocity before.
    dt : float
        Length of the step [s].
    length : float
        Line to the board [m].
    wx, wy, density : float
        Water at the surface [m/s], [kg/m^3].
    """

    x: float
    y: float
    vx: float
    vy: float
    now: float
    then: float
    dt: float
    length: float
    wx: float
    wy: float
    density: float


class Leg(NamedTuple):
    """The same step of the line behind: its nodes, last step, and line out before and after."""

    nodes: int
    last: float
    out: float
    new_out: float


@kernel
def _balance(
    px: float, py: float, z: float, tip: Vector, board: Vector, held: Held
) -> tuple[float, float]:
    """Level force on a board of its rod, the water and its mass [N], the line behind left out."""
    dx, dy, dz = tip[0] - px, tip[1] - py, tip[2] - z
    d = max(math.sqrt(dx * dx + dy * dy + dz * dz), 1e-6)
    pull = straight_line_pull(d, held.length)
    share = pull / (pull + HOLD)
    vx = held.now * (px - held.x) - held.then * held.vx
    vy = held.now * (py - held.y) - held.then * held.vy
    fx, fy = water_on_board(
        held.wx - vx, held.wy - vy, board[SIDE], board[LIFT] * share, board[DRAG], held.density
    )
    swing = board[MASS] / held.dt
    jump_x, jump_y = (px - held.x) / held.dt - held.vx, (py - held.y) / held.dt - held.vy
    return fx + pull * dx / d - swing * jump_x, fy + pull * dy / d - swing * jump_y


@kernel
def pull_at_top(line: Line, around: Around, chain: Chain, count: int, answer: Vector) -> float:
    """Pull of a line on what holds its top, filled in east, north, up; and its size [N].

    The tension of the topmost segment, and the half of that segment's own load that is the top's
    to bear.
    """
    place, rate, pull = chain.place, chain.rate, chain.pull
    j = count - 2
    p = line.part[j]
    ex = place[j + 1, 0] - place[j, 0]
    ey = place[j + 1, 1] - place[j, 1]
    ez = place[j + 1, 2] - place[j, 2]
    length = max(math.sqrt(ex * ex + ey * ey + ez * ez), 1e-9)
    tx, ty, tz = ex / length, ey / length, ez / length
    middle = 0.5 * (place[j, 2] + place[j + 1, 2])
    medium = around.medium
    if middle < 0.0:
        wx, wy = stream(around.current, -middle)
        wx, wy = wx + around.drift[0], wy + around.drift[1]
        fluid, weight = Fluid(medium[0], medium[1]), line.pieces[p, WATER_WEIGHT]
    else:
        wx = wy = 0.0
        fluid, weight = Fluid(medium[2], medium[3]), line.pieces[p, AIR_WEIGHT]
    fx, fy, fz = line_force(
        wx - 0.5 * (rate[j, 0] + rate[j + 1, 0]),
        wy - 0.5 * (rate[j, 1] + rate[j + 1, 1]),
        -0.5 * (rate[j, 2] + rate[j + 1, 2]),
        tx,
        ty,
        tz,
        skin_of(line.pieces, p),
        fluid,
    )
    half = 0.5 * length
    answer[0] = half * fx - pull[j] * tx
    answer[1] = half * fy - pull[j] * ty
    answer[2] = half * (fz - weight) - pull[j] * tz
    return math.sqrt(answer[0] ** 2 + answer[1] ** 2 + answer[2] ** 2)


@kernel
def _note(
    chain: Chain,
    count: int,
    line: Line,
    strength: Vector,
    rod_share: float,
    rod: float,
    speed: float,
    load: float,
    out: float,
    shown: Vector,
) -> None:
    """Fill one row of what is shown."""
    share = rod_share
    deepest = 0.0
    for i in range(count):
        deepest = max(deepest, -chain.place[i, 2])
        if i < count - 1:
            share = max(share, chain.pull[i] / strength[line.part[i]])
    shown[ROD], shown[BORNE], shown[SPEED], shown[LOAD] = rod, share, speed, load
    shown[DEEPEST], shown[OUT], shown[DEPTH] = deepest, out, -chain.place[0, 2]


@kernel
def _keep(chain: Chain, count: int, kept: Matrix) -> None:
    """Keep a line as it is."""
    for i in range(count):
        kept[i, 6] = chain.pull[i]
        for c in range(3):
            kept[i, c] = chain.place[i, c]
            kept[i, 3 + c] = chain.rate[i, c]


@kernel
def _put_back(chain: Chain, count: int, kept: Matrix) -> None:
    """Put a line back as it was kept."""
    for i in range(count):
        chain.pull[i] = kept[i, 6]
        for c in range(3):
            chain.place[i, c] = kept[i, c]
            chain.rate[i, c] = kept[i, 3 + c]


@kernel
def _look(
    line: Line,
    around: Around,
    chain: Chain,
    leg: Leg,
    px: float,
    py: float,
    dt: float,
    desk: SpreadDesk,
) -> tuple[int, float, int, float]:
    """Step the line from the same start to a place of its top, and see how it pulls there.

    Gives nodes in use, length of the last step [s], Newton steps as `stretch_of_time` has them,
    and the size of the pull [N].
    """
    _put_back(chain, leg.nodes, desk.kept)
    desk.top[0], desk.top[1] = px, py
    nodes, last, newton, _ = stretch_of_time(
        line, around, chain, leg.nodes, leg.out, leg.last, desk.top, leg.new_out, dt, desk.space
    )
    return nodes, last, newton, pull_at_top(line, around, chain, nodes, desk.answer)


@kernel
def _feel(
    line: Line,
    around: Around,
    chain: Chain,
    leg: Leg,
    px: float,
    py: float,
    dt: float,
    desk: SpreadDesk,
) -> Behind:
    """Find by differences how the line behind answers when its top is moved."""
    answer = desk.answer
    _look(line, around, chain, leg, px, py, dt, desk)
    x, y = answer[0], answer[1]
    _look(line, around, chain, leg, px + NUDGE, py, dt, desk)
    xx, yx = (answer[0] - x) / NUDGE, (answer[1] - y) / NUDGE
    _look(line, around, chain, leg, px, py + NUDGE, dt, desk)
    return Behind(xx, (answer[0] - x) / NUDGE, yx, (answer[1] - y) / NUDGE, True)


@kernel
def _corrected(behind: Behind, mx: float, my: float, gx: float, gy: float) -> Behind:
    """Correct the slope by a step and what it really gained (Broyden)."""
    square = mx * mx + my * my
    if not square > NEAR * NEAR:
        return behind
    ex = (gx - behind.xx * mx - behind.xy * my) / square
    ey = (gy - behind.yx * mx - behind.yy * my) / square
    return Behind(
        behind.xx + ex * mx, behind.xy + ex * my, behind.yx + ey * mx, behind.yy + ey * my, True
    )


@kernel
def _newton(
    px: float, py: float, board: Vector, held: Held, behind: Behind, desk: SpreadDesk
) -> tuple[float, float]:
    """Give Newton's step towards balance, its slope of rod and water by differences."""
    z, tip, answer = desk.top[2], desk.tip, desk.answer
    fx, fy = _balance(px, py, z, tip, board, held)
    east_x, east_y = _balance(px + NUDGED, py, z, tip, board, held)
    north_x, north_y = _balance(px, py + NUDGED, z, tip, board, held)
    gx, gy = fx + answer[0], fy + answer[1]
    j00 = (east_x - fx) / NUDGED + behind.xx
    j10 = (east_y - fy) / NUDGED + behind.yx
    j01 = (north_x - fx) / NUDGED + behind.xy
    j11 = (north_y - fy) / NUDGED + behind.yy
    det = j00 * j11 - j01 * j10
    return -(gx * j11 - gy * j01) / det, -(gy * j00 - gx * j10) / det


@kernel
def _shortened(
    px: float,
    py: float,
    sx: float,
    sy: float,
    board: Vector,
    held: Held,
    behind: Behind,
    desk: SpreadDesk,
) -> tuple[float, float]:
    """Give as much of a step as makes the balance better.

    No further in one go than a metre a second would take it, and back where the balance gets
    worse: a line going taut is a sharp corner.
    """
    z, tip, answer = desk.top[2], desk.tip, desk.answer
    fx, fy = _balance(px, py, z, tip, board, held)
    gx, gy = fx + answer[0], fy + answer[1]
    worst = math.sqrt(gx * gx + gy * gy)
    scale = min(1.0, held.dt / math.sqrt(sx * sx + sy * sy))
    mx = my = 0.0
    for _ in range(HALVINGS):
        mx, my = scale * sx, scale * sy
        fx, fy = _balance(px + mx, py + my, z, tip, board, held)
        fx += answer[0] + behind.xx * mx + behind.xy * my
        fy += answer[1] + behind.yx * mx + behind.yy * my
        if math.sqrt(fx * fx + fy * fy) < worst:
            break
        scale *= 0.5
    return mx, my


@kernel
def _ride(
    line: Line,
    around: Around,
    chain: Chain,
    leg: Leg,
    board: Vector,
    held: Held,
    behind: Behind,
    desk: SpreadDesk,
) -> tuple[int, float, int, bool, Behind, float, float]:
    """Find where a board gets to in one step.

    Gives nodes in use, length of the last step [s], looks taken, whether it settled, how the line
    behind answers, and where the board is [m]. The first look is where it would get to unhindered.
    """
    dt = held.dt
    px, py = desk.top[0], desk.top[1]
    looks = 1
    if not behind.known:
        behind = _feel(line, around, chain, leg, px, py, dt, desk)
        looks += 3
    nodes, last, _, _ = _look(line, around, chain, leg, px, py, dt, desk)
    for _ in range(TRIES):
        sx, sy = _newton(px, py, board, held, behind, desk)
        size = math.sqrt(sx * sx + sy * sy)
        if not size < 1e6:
            break
        if size < NEAR:
            # Too small to look at the line again; the pull on the rod is still taken where it
            # leads to, for it is steep.
            return nodes, last, looks, True, behind, px + sx, py + sy
        mx, my = _shortened(px, py, sx, sy, board, held, behind, desk)
        px += mx
        py += my
        was_x, was_y = desk.answer[0], desk.answer[1]
        nodes, last, _, _ = _look(line, around, chain, leg, px, py, dt, desk)
        looks += 1
        gained_x, gained_y = desk.answer[0] - was_x, desk.answer[1] - was_y
        behind = _corrected(behind, mx, my, gained_x, gained_y)
    return nodes, last, looks, False, Behind(0.0, 0.0, 0.0, 0.0, False), px, py


@kernel
def _towards_tip(
    hx: float, hy: float, hz: float, before: Vector, dt: float, desk: SpreadDesk
) -> None:
    """Bring the top of a line without a board to the rod tip, no faster than by hand."""
    top, tip = desk.top, desk.tip
    gx, gy, gz = hx - before[0], hy - before[1], hz - before[2]
    gap = math.sqrt(gx * gx + gy * gy + gz * gz)
    left = max(gap - CATCH_UP * dt, 0.0) / max(gap, 1e-9)
    top[0], top[1], top[2] = tip[0] + left * gx, tip[1] + left * gy, tip[2] + left * gz


@kernel
def _distance(tip: Vector, x: float, y: float, z: float) -> float:
    """How far a place is from the rod tip [m]."""
    dx, dy, dz = tip[0] - x, tip[1] - y, tip[2] - z
    return math.sqrt(dx * dx + dy * dy + dz * dz)


@kernel
def _follow_row(
    r: int,
    gear: Gear,
    water: Water,
    chains: Chains,
    boards: Boards,
    rods: Rods,
    track: SpreadTrace,
    desk: SpreadDesk,
) -> None:
    """Take one row through all moments."""
    line, which = line_of_row(gear, r), gear.line_of[r]
    around = Around(water.medium, water.current, gear.drift[r], water.air)
    chain = Chain(chains.place[r], chains.rate[r], chains.pull[r])
    place, board = chain.place, boards.figures[r]
    top, tip, answer = desk.top, desk.tip, desk.answer
    nodes = chains.used[r]
    answer[0] = answer[1] = answer[2] = 0.0
    last = own_last = math.inf
    vx, vy = boards.ridden[r, 0], boards.ridden[r, 1]
    behind = Behind(0.0, 0.0, 0.0, 0.0, False)
    rod = pull_at_top(line, around, chain, nodes, answer)
    wx, wy = stream(water.current, 0.0)
    wx += gear.drift[r, 0]
    wy += gear.drift[r, 1]
    load = math.nan
    speed = math.nan
    row = 0
    for m in range(rods.times.shape[0]):
        length = rods.board_lines[which, m]
        boarded = not math.isnan(length)
        for c in range(3):
            tip[c] = rods.tips[which, m, c]
        hx, hy, hz = place[nodes - 1, 0], place[nodes - 1, 1], place[nodes - 1, 2]
        if m == 0:
            if boarded:
                rod = straight_line_pull(_distance(tip, hx, hy, hz), length)
                speed = math.sqrt((wx - vx) * (wx - vx) + (wy - vy) * (wy - vy))
        else:
            dt = rods.times[m] - rods.times[m - 1]
            leg = Leg(nodes, last, rods.let_outs[r, m - 1], rods.let_outs[r, m])
            _keep(chain, nodes, desk.kept)
            if boarded:
                ratio = dt / own_last
                now, then = (1.0 + 2.0 * ratio) / (1.0 + ratio) / dt, ratio / (1.0 + ratio)
                held = Held(hx, hy, vx, vy, now, then, dt, length, wx, wy, water.medium[0])
                top[0], top[1] = hx + vx * dt, hy + vy * dt
                top[2] = max(hz - CATCH_UP * dt, 0.0) if hz > 0.0 else 0.0
                nodes, last, looks, settled, behind, px, py = _ride(
                    line, around, chain, leg, board, held, behind, desk
                )
                track.effort[r, 0] += looks
                if not settled:
                    track.effort[r, 1] += 1
                bx = now * (top[0] - hx) - then * vx
                by = now * (top[1] - hy) - then * vy
                d = max(_distance(tip, px, py, top[2]), 1e-6)
                rod = straight_line_pull(d, length)
                load = -answer[2] - rod * (tip[2] - top[2]) / d
                speed = math.sqrt((wx - bx) * (wx - bx) + (wy - by) * (wy - by))
            else:
                _towards_tip(hx, hy, hz, rods.tips[which, m - 1], dt, desk)
                nodes, last, newton, rod = _look(line, around, chain, leg, top[0], top[1], dt, desk)
                track.effort[r, 0] += 1
                if newton < 0:
                    track.effort[r, 1] += 1
                behind = Behind(0.0, 0.0, 0.0, 0.0, False)
                load = speed = math.nan
            vx = (place[nodes - 1, 0] - hx) / dt
            vy = (place[nodes - 1, 1] - hy) / dt
            own_last = dt
        if m % track.every == 0:
            rod_share = rod / boards.rod_strength[which]
            _note(
                chain,
                nodes,
                line,
                boards.strength[which],
                rod_share,
                rod,
                speed,
                load,
                rods.let_outs[r, m],
                track.figures[r, row],
            )
            ending = nodes
            for i in range(nodes):
                for c in range(3):
                    track.shapes[r, row, i, c] = place[i, c]
            if boarded:
                for c in range(3):
                    track.shapes[r, row, nodes, c] = tip[c]
                ending = nodes + 1
            track.counts[r, row] = ending
            row += 1
    chains.used[r] = nodes


@kernel
def follow(
    first: int,
    beyond: int,
    gear: Gear,
    water: Water,
    chains: Chains,
    boards: Boards,
    rods: Rods,
    track: SpreadTrace,
    desk: SpreadDesk,
) -> None:
    """Take rows through all moments, with boards where there are any.

    Rows do not touch each other, and the lock of the interpreter is not held: several calls may
    share the arrays and the cores, each with room of its own.

    Parameters
    ----------
    first, beyond : int
        The rows.
    gear, water : Gear, Water
        What is towed, and in what.
    chains : Chains
        The state, replaced. The last node in use is the rod tip, or the board.
    boards : Boards
        The boards.
    rods : Rods
        What the rods do.
    track : SpreadTrace
        Filled.
    desk : SpreadDesk
        Room to work in, for the nodes of one line.
    """
    for r in range(first, beyond):
        _follow_row(r, gear, water, chains, boards, rods, track, desk)
