"""How does one line get from one moment to the next.

A line is a chain of segments. Their joints (nodes) sit at fixed lengths from the lure, so that a
node stays with the same bit of line; line that is let out or reeled in changes only the topmost
segment, which is cut in two, or joined to the next, when it gets long or short.

At the end of each step drag, weight, tension and the little inertia there is balance at each node:

    sum over its segments of (+-T t + l / 2 (f(U - v, t) - w z - m a)) = 0,

while each segment keeps its length l but for

    |r' - r| = l (1 + T / EA - c / T).

The last term lets a limp segment shorten, as folds that are too small to follow would make it,
instead of pushing; it is nothing where there is any pull to speak of, and it keeps T positive, so
that the equations always have a stable answer. Velocities are those of the two-step backward
difference formula (BDF2), of second order and stable for any stiffness. Newton's method solves for
the places and tensions together; tensions are eliminated, which leaves one block-tridiagonal
system with blocks of 3 by 3, set up and eliminated in one walk from the lure to the rod.

References
----------
Ablow & Schechter (1983), Ocean Engineering 10:443-457, for the implicit treatment of towed cable.
Gear (1971), Numerical Initial Value Problems in Ordinary Differential Equations, ch. 11, for BDF.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from towscope.arrays import Block, Cube, IntegerMatrix, IntegerVector, Matrix, Vector
from towscope.towing.blocks import Nine, Three, factored, less, plus, solved, times
from towscope.towing.drag import (
    AXIAL_FRICTION,
    TAYLOR_FRICTION,
    Fluid,
    Skin,
    cross_flow_coefficient,
)
from towscope.towing.jit import inlined, kernel
from towscope.towing.steady import AIR_WEIGHT, WATER_WEIGHT, skin_of, stream

GRAVITY = 9.80665
LIMP = 1e-6
"""c above [N]: a pull of a thousandth of a newton lets a segment be 0.1 % short."""
SPLASH = 0.01
"""Half the height [m] over which a level bit of line goes from water to air."""
LURE_SPLASH = 0.02
"""The same of a lure."""
LURE_BULK = 0.1
"""Weight [N] that a lure gains out of the water, on top of twice its weight in it: 10 g of water
displaced, estimated."""
CLOSE = 1e-4
"""A Newton step below this [m] is the last; the next would be its square."""
COUPLE = 0.1
"""Share of the couple that a straight segment which turns would feel from the water. A line that
runs along a curve feels none; a little of it keeps neighbouring nodes from going different ways."""
CLOSE_ENOUGH = 2e-3
"""The same [m] after many: limp line at the surface may go to and fro between air and water."""
EASY_TRIES, TRIES = 8, 32
FAR = 0.5  # [m]; the longest Newton step
CUTS = 6
INSERT, DROP = 0.35, 0.15  # of a segment's length, when a topmost one is cut off or joined
# Columns of what is shown: lure, pull at the rod, lowest point, clearance, nearest point, let-out.
LURE_X, PULL, LOWEST_X, CLEARANCE, NEAREST_X, OUT = 0, 3, 4, 7, 8, 11
SHOWN = 12
# A row of the room of one node: what its place follows from the next one's (9), how far it goes
# (3), how much its segment is too long [m] and how much that gives [m/N], its pull before [N].
FOLLOWS, GOES, GAP, GIVE, PULLED = 0, 9, 12, 13, 14
WORK = 16


class Line(NamedTuple):
    """One line.

    Attributes
    ----------
    knots : (k,) array
        Length from the lure [m] of each node that can be let out, NaN past the end of the line.
    part : (k,) array of int
        Piece that each segment, from a knot to the next, is of.
    pieces : (p, 8) array
        Pieces, columns as `towscope.towing.steady` names them.
    stiffness : (p,) array
        Pull over stretch of each piece [N].
    lure : (3,) array
        Drag area [m^2], dive area [m^2], weight in water [N].
    """

    knots: Vector
    part: IntegerVector
    pieces: Matrix
    stiffness: Vector
    lure: Vector


class Around(NamedTuple):
    """What is around a line.

    Attributes
    ----------
    medium : (4,) array
        Density [kg/m^3] and kinematic viscosity [m^2/s] of water, then of air.
    current : (k, 3) array
        Depth [m], speed of the water to the east and to the north over ground [m/s].
    drift, air : (2,) array
        Water on top of the current, and wind [m/s].
    """

    medium: Vector
    current: Matrix
    drift: Vector
    air: Vector


class Chain(NamedTuple):
    """Where one line is, and how it moves.

    Attributes
    ----------
    place, rate : (k, 3) array
        Places of the nodes from the lure up [m], and mean velocities over the last step [m/s].
    pull : (k,) array
        Tension of the segment above each node [N].
    """

    place: Matrix
    rate: Matrix
    pull: Vector


class Space(NamedTuple):
    """Room to work in: places before the step (k, 3), and figures of each node (k, 16)."""

    before: Matrix
    work: Matrix


class Span(NamedTuple):
    """One step in time.

    Attributes
    ----------
    dt, last : float
        Length of it and of the one before [s]; infinite where nothing is known of before.
    let_out : float
        Line past the rod tip at its end [m].
    line_rate : float
        Line let out per second [m/s].
    """

    dt: float
    last: float
    let_out: float
    line_rate: float


class Rates(NamedTuple):
    """The backward formula of a step: v = now (place - before) - then rate, and of inertia.

    Acceleration is (mean velocity now - before) / half of both steps: `turn` times that
    difference; `swing` is its slope by place.
    """

    now: float
    then: float
    turn: float
    swing: float
    dt: float


class Link(NamedTuple):
    """A segment: its length when slack and as it lies [m], 1 / the latter, and its direction."""

    length: float
    chord: float
    inverse: float
    t: Three


class Stuff(NamedTuple):
    """What a segment is made of: its skin, and its weight per length in water and in air [N/m]."""

    skin: Skin
    water_weight: float
    air_weight: float


class Flows(NamedTuple):
    """Water and wind past a segment at rest, east and north [m/s], and what they are."""

    water_x: float
    water_y: float
    air_x: float
    air_y: float
    water: Fluid
    air: Fluid


class Push(NamedTuple):
    """What water, air and weight do to a segment.

    Attributes
    ----------
    low, top : Three
        Force on its lower and on its upper end [N].
    drag, turned : Nine
        How the force per length changes with velocity, and half the segment's with its direction.
    risen : Three
        How the force on either end changes with the height of either [N/m].
    share : float
        Share of it that is in the water.
    """

    low: Three
    top: Three
    drag: Nine
    turned: Nine
    risen: Three
    share: float


class Gear(NamedTuple):
    """All lines that are towed; rows as `towscope.towing.moving.Lines` has them.

    Attributes
    ----------
    knots, part : (lines, k) array
        As `Line` has them.
    line_of : (rows,) array of int
        Line of each row.
    pieces, stiffness, lures : (rows, p, 8), (rows, p), (rows, 3) array
        As `Line` has them.
    drift : (rows, 2) array
        As `Around` has it.
    """

    knots: Matrix
    part: IntegerMatrix
    line_of: IntegerVector
    pieces: Cube
    stiffness: Matrix
    lures: Matrix
    drift: Matrix


class Water(NamedTuple):
    """Medium (4,), current (k, 3) and air (2,), as `Around` has them."""

    medium: Vector
    current: Matrix
    air: Vector


class Chains(NamedTuple):
    """Where all lines are: as `Chain`, for each row, with nodes in use and pull at each rod [N]."""

    place: Cube
    rate: Cube
    pull: Matrix
    used: IntegerVector
    rods: Vector


class Course(NamedTuple):
    """What the rods do.

    Attributes
    ----------
    times : (m,) array
        Moments [s].
    tips : (lines, m, 3) array
        Rod tips [m].
    let_outs : (rows, m) array
        Line truly out at each moment [m].
    longest : float
        Longer intervals are gone through in equal steps no longer than this [s].
    last : float
        Length of the step before [s].
    fresh : bool
        Forget before each step how fast the line moved: for long steps towards a standstill.
    """

    times: Vector
    tips: Cube
    let_outs: Matrix
    longest: float
    last: float
    fresh: bool


class Ground(NamedTuple):
    """Depth of the bottom (rows, columns) [m], place of its first point and its spacing [m]."""

    bed: Matrix
    x0: float
    y0: float
    cell: float


class Shown(NamedTuple):
    """What is shown.

    Attributes
    ----------
    every : int
        Show every so-manieth moment.
    figures : (rows, shown moments, 12) array
        Filled.
    shapes : (rows, shown moments or 0, k, 3) array
        Filled where it has room.
    effort : (rows, 3) array of int
        Steps, Newton steps, and intervals that never settled: added to.
    """

    every: int
    figures: Cube
    shapes: Block
    effort: IntegerMatrix


@inlined
def line_slopes(
    ux: float,
    uy: float,
    uz: float,
    tx: float,
    ty: float,
    tz: float,
    skin: Skin,
    fluid: Fluid,
) -> tuple[float, float, float, float, float, float, float]:
    """Give the force of `towscope.towing.drag.line_force` and how it changes.

    Returns
    -------
    tuple of float
        With n the part of u across the line, along = u t, the force is across_rate n +
        along_rate along t. Seven numbers: along, the two rates, then nn, tt, tn, nt, such that

            df/du = across_rate I + tt t t' + nn n n' + tn t n'
            df/dt = (along_rate - across_rate) along I + nt t n' - along nn n n'

        for changes of t across the line.
    """
    along = ux * tx + uy * ty + uz * tz
    nx, ny, nz = ux - along * tx, uy - along * ty, uz - along * tz
    across = math.sqrt(nx * nx + ny * ny + nz * nz)
    half = 0.5 * fluid.density * skin.diameter
    if skin.normal >= 0.0:
        cn = skin.normal
        slope = skin.normal
    else:
        re = max(across * skin.diameter / fluid.nu, 1e-4)
        cn = cross_flow_coefficient(re)
        root = 1.96 / math.sqrt(re)
        fast = 1.0 + 3.64e-7 * re * re
        slow = 0.0004 * re / fast
        # Re d(Cn)/d(Re), whose power term is what the others leave of Cn
        slope = cn - 0.89 * (cn - 1.18 - root + slow) - 0.5 * root - slow * (2.0 / fast - 1.0)
    across_rate = half * skin.normal_scale * cn * across
    inverse = 1.0 / max(across, 1e-9)
    nn = half * skin.normal_scale * slope * inverse
    if skin.friction >= 0.0:
        along_rate = half * skin.friction_scale * math.pi * skin.friction * abs(along)
        along_slope = along_rate
        by_across = 0.0
    else:
        thin = TAYLOR_FRICTION * TAYLOR_FRICTION * fluid.nu / skin.diameter
        thick = math.pi * AXIAL_FRICTION
        thick *= thick * along
        root = math.sqrt(thin * across + thick * along)
        along_rate = half * skin.friction_scale * root
        scale = half * skin.friction_scale / max(root, 1e-9)
        along_slope = scale * thick * along
        by_across = 0.5 * scale * thin
    tt = along_rate + along_slope - across_rate
    tn = along * by_across * inverse
    return along, across_rate, along_rate, nn, tt, tn, tt - along * tn


@inlined
def wet_share(z_low: float, z_high: float) -> tuple[float, float, float]:
    """How much of a straight segment is under water.

    Parameters
    ----------
    z_low, z_high : float
        Height of its ends above the surface [m].

    Returns
    -------
    tuple of float
        Share in the water; how far the middle of that share, and of the rest, lies from the
        segment's middle towards its second end, times that share, over its length (they are
        opposite: one number); and how fast the share falls with height [1/m].
    """
    rise = z_high - z_low
    middle = 0.5 * (z_low + z_high)
    spread = math.sqrt(rise * rise + 4.0 * SPLASH * SPLASH)
    share = 0.5 - middle / spread
    if share >= 1.0:
        return 1.0, 0.0, 0.0
    if share <= 0.0:
        return 0.0, 0.0, 0.0
    return share, -0.5 * rise / spread * share * (1.0 - share), 1.0 / spread


@kernel
def bottom(ground: Ground, x: float, y: float) -> float:
    """Depth of the bottom at a place [m], bilinear; NaN outside the grid."""
    bed = ground.bed
    rows, columns = bed.shape[0], bed.shape[1]
    gx, gy = (x - ground.x0) / ground.cell, (y - ground.y0) / ground.cell
    if not (0.0 <= gx <= columns - 1.0 and 0.0 <= gy <= rows - 1.0):
        return math.nan
    i, j = min(int(gx), columns - 2), min(int(gy), rows - 2)
    fx, fy = gx - i, gy - j
    south = (1.0 - fx) * bed[j, i] + fx * bed[j, i + 1]
    north = (1.0 - fx) * bed[j + 1, i] + fx * bed[j + 1, i + 1]
    depth: float = (1.0 - fy) * south + fy * north
    return depth


@inlined
def _velocity(place: Matrix, before: Matrix, rate: Matrix, j: int, rates: Rates) -> Three:
    """Velocity of a node at the end of the step [m/s]."""
    return Three(
        rates.now * (place[j, 0] - before[j, 0]) - rates.then * rate[j, 0],
        rates.now * (place[j, 1] - before[j, 1]) - rates.then * rate[j, 1],
        rates.now * (place[j, 2] - before[j, 2]) - rates.then * rate[j, 2],
    )


@inlined
def _jump(place: Matrix, before: Matrix, rate: Matrix, j: int, rates: Rates) -> Three:
    """Acceleration of a node over the step [m/s^2]."""
    return Three(
        rates.turn * ((place[j, 0] - before[j, 0]) / rates.dt - rate[j, 0]),
        rates.turn * ((place[j, 1] - before[j, 1]) / rates.dt - rate[j, 1]),
        rates.turn * ((place[j, 2] - before[j, 2]) / rates.dt - rate[j, 2]),
    )


@inlined
def _resistance(a: Three, t: Three, mass: float, bulk: float) -> Three:
    """Force that it takes to speed up line of a mass, and water of a bulk across it only [N]."""
    along = a.x * t.x + a.y * t.y + a.z * t.z
    return Three(
        (mass + bulk) * a.x - bulk * along * t.x,
        (mass + bulk) * a.y - bulk * along * t.y,
        (mass + bulk) * a.z - bulk * along * t.z,
    )


@inlined
def _water_at(around: Around, depth: float) -> tuple[float, float]:
    """Speed of the water over ground at a depth, to the east and to the north [m/s]."""
    x, y = stream(around.current, depth)
    return x + around.drift[0], y + around.drift[1]


@inlined
def _lure_load(lure: Vector, around: Around, z: float, v: Three, now: float) -> tuple[Three, Nine]:
    """Force on a lure at a height, moving so [N], and its slope by place, sign changed [N/m]."""
    sx, sy = _water_at(around, -z)
    ux, uy, uz = sx - v.x, sy - v.y, -v.z
    speed = math.sqrt(ux * ux + uy * uy + uz * uz)
    bulk = 2.0 * abs(lure[2]) + LURE_BULK
    share = min(max(0.5 - 0.5 * z / LURE_SPLASH, 0.0), 1.0)
    leave = 3.0 * share * (1.0 - share) / LURE_SPLASH  # share lost per height
    share *= share * (3.0 - 2.0 * share)
    density = around.medium[0]
    q = 0.5 * density * share
    drag, dive = q * lure[0], q * lure[1]
    # Drag along the flow; the dive force stands across it, so that it does no work.
    force = Three(
        (drag * speed + dive * uz) * ux,
        (drag * speed + dive * uz) * uy,
        drag * speed * uz - dive * (ux * ux + uy * uy) - lure[2] - (1.0 - share) * bulk,
    )
    inverse = 1.0 / max(speed, 1e-9)
    a = now * (drag * speed + dive * uz)
    b = now * drag * inverse
    d = now * dive
    # what leaving the water takes away; a lure that is only held under by its speed has no
    # place of balance half out, and is left without that slope
    fast = 0.5 * density * leave
    side = fast * (lure[0] * speed + lure[1] * uz)
    down = lure[0] * speed * uz - lure[1] * (ux * ux + uy * uy)
    return force, Nine(
        a + b * ux * ux,
        b * ux * uy,
        b * ux * uz + d * ux + side * ux,
        b * uy * ux,
        a + b * uy * uy,
        b * uy * uz + d * uy + side * uy,
        b * uz * ux - 2.0 * d * ux,
        b * uz * uy - 2.0 * d * uy,
        a + b * uz * uz - d * uz + max(leave * bulk + fast * down, 0.0),
    )


@inlined
def _link(place: Matrix, j: int, length: float) -> Link:
    """Give the segment from a node to the next."""
    ex = place[j + 1, 0] - place[j, 0]
    ey = place[j + 1, 1] - place[j, 1]
    ez = place[j + 1, 2] - place[j, 2]
    chord = math.sqrt(ex * ex + ey * ey + ez * ez)
    inverse = 1.0 / max(chord, 1e-9)
    return Link(length, chord, inverse, Three(ex * inverse, ey * inverse, ez * inverse))


@inlined
def _drag_slopes(
    u: Three, t: Three, skin: Skin, fluid: Fluid, share: float, lever: float
) -> tuple[Three, Nine, Nine]:
    """Force per length of the water [N/m], and slopes of what it does to a segment.

    By velocity, for the share of it that is wet; by direction, times a lever [m].
    """
    along, cross, skin_rate, nn, tt, tn, nt = line_slopes(u.x, u.y, u.z, t.x, t.y, t.z, skin, fluid)
    nx, ny, nz = u.x - along * t.x, u.y - along * t.y, u.z - along * t.z
    tx, ty, tz = t.x, t.y, t.z
    force = Three(
        cross * nx + skin_rate * along * tx,
        cross * ny + skin_rate * along * ty,
        cross * nz + skin_rate * along * tz,
    )
    drag = Nine(
        share * (cross + tt * tx * tx + nn * nx * nx + tn * tx * nx),
        share * (tt * tx * ty + nn * nx * ny + tn * tx * ny),
        share * (tt * tx * tz + nn * nx * nz + tn * tx * nz),
        share * (tt * ty * tx + nn * ny * nx + tn * ty * nx),
        share * (cross + tt * ty * ty + nn * ny * ny + tn * ty * ny),
        share * (tt * ty * tz + nn * ny * nz + tn * ty * nz),
        share * (tt * tz * tx + nn * nz * nx + tn * tz * nx),
        share * (tt * tz * ty + nn * nz * ny + tn * tz * ny),
        share * (cross + tt * tz * tz + nn * nz * nz + tn * tz * nz),
    )
    e = (skin_rate - cross) * along
    an = along * nn
    turned = Nine(
        lever * (e * (1.0 - tx * tx) + nt * tx * nx - an * nx * nx),
        lever * (-e * tx * ty + nt * tx * ny - an * nx * ny),
        lever * (-e * tx * tz + nt * tx * nz - an * nx * nz),
        lever * (-e * ty * tx + nt * ty * nx - an * ny * nx),
        lever * (e * (1.0 - ty * ty) + nt * ty * ny - an * ny * ny),
        lever * (-e * ty * tz + nt * ty * nz - an * ny * nz),
        lever * (-e * tz * tx + nt * tz * nx - an * nz * nx),
        lever * (-e * tz * ty + nt * tz * ny - an * nz * ny),
        lever * (e * (1.0 - tz * tz) + nt * tz * nz - an * nz * nz),
    )
    return force, drag, turned


@inlined
def _air_drag(u: Three, t: Three, skin: Skin, fluid: Fluid) -> tuple[Three, float]:
    """Force per length of the air [N/m], and its part along a change of velocity.

    The air's pull is a thousandth of the line's weight: that part is enough of a slope.
    """
    along, cross, skin_rate, _, _, _, _ = line_slopes(u.x, u.y, u.z, t.x, t.y, t.z, skin, fluid)
    return (
        Three(
            cross * (u.x - along * t.x) + skin_rate * along * t.x,
            cross * (u.y - along * t.y) + skin_rate * along * t.y,
            cross * (u.z - along * t.z) + skin_rate * along * t.z,
        ),
        cross,
    )


@inlined
def _push(
    stuff: Stuff, flows: Flows, link: Link, z_low: float, z_high: float, a: Three, b: Three
) -> Push:
    """Give what water, air and weight do to a segment whose ends move so."""
    t, length, skin = link.t, link.length, stuff.skin
    mx, my, mz = 0.5 * (a.x + b.x), 0.5 * (a.y + b.y), 0.5 * (a.z + b.z)
    share, offset, fall = wet_share(z_low, z_high)
    wet, dry = Three(0.0, 0.0, 0.0), Three(0.0, 0.0, 0.0)  # force per length on either part
    drag = Nine(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    turned = Nine(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    if share > 0.0:
        u = Three(flows.water_x - mx, flows.water_y - my, -mz)
        lever = 0.5 * length * link.inverse * share
        wet, drag, turned = _drag_slopes(u, t, skin, flows.water, share, lever)
    if share < 1.0:
        u = Three(flows.air_x - mx, flows.air_y - my, -mz)
        dry, cross = _air_drag(u, t, skin, flows.air)
        more = (1.0 - share) * cross
        drag = Nine(
            drag.xx + more, drag.xy, drag.xz,
            drag.yx, drag.yy + more, drag.yz,
            drag.zx, drag.zy, drag.zz + more,
        )  # fmt: skip
    hx, hy, hz = wet.x, wet.y, wet.z - stuff.water_weight
    qx, qy, qz = dry.x, dry.y, dry.z - stuff.air_weight
    half = 0.5 * length
    # Each end takes half, moved by where the wet part lies and a little by its velocity.
    c = 0.5 * COUPLE
    couple = times(drag, Three(c * (b.x - a.x), c * (b.y - a.y), c * (b.z - a.z)))
    moved = length * offset
    low_wet, low_dry = half * share - moved, half * (1.0 - share) + moved
    top_wet, top_dry = half * share + moved, half * (1.0 - share) - moved
    # what rising out of the water takes away at either end, for a rise of either
    c = 0.5 * half * fall
    return Push(
        Three(
            low_wet * hx + low_dry * qx + half * couple.x,
            low_wet * hy + low_dry * qy + half * couple.y,
            low_wet * hz + low_dry * qz + half * couple.z,
        ),
        Three(
            top_wet * hx + top_dry * qx - half * couple.x,
            top_wet * hy + top_dry * qy - half * couple.y,
            top_wet * hz + top_dry * qz - half * couple.z,
        ),
        drag,
        turned,
        Three(c * (hx - qx), c * (hy - qy), max(c * (hz - qz), 0.0)),
        share,
    )


@inlined
def _tension_slope(tension: float, stiff: float, link: Link) -> Nine:
    """Slope of a segment's pull by the place of either end [N/m]."""
    side = tension * link.inverse
    axial = stiff - side
    tx, ty, tz = link.t.x, link.t.y, link.t.z
    xy, xz, yz = axial * tx * ty, axial * tx * tz, axial * ty * tz
    return Nine(
        side + axial * tx * tx, xy, xz,
        xy, side + axial * ty * ty, yz,
        xz, yz, side + axial * tz * tz,
    )  # fmt: skip


@inlined
def _end_slope(drag: Nine, share: float, free: float, added: float, t: Three) -> Nine:
    """Slope of drag and inertia at an end by its own place [N/m]."""
    return Nine(
        share * drag.xx + free - added * t.x * t.x,
        share * drag.xy - added * t.x * t.y,
        share * drag.xz - added * t.x * t.z,
        share * drag.yx - added * t.y * t.x,
        share * drag.yy + free - added * t.y * t.y,
        share * drag.yz - added * t.y * t.z,
        share * drag.zx - added * t.z * t.x,
        share * drag.zy - added * t.z * t.y,
        share * drag.zz + free - added * t.z * t.z,
    )


@inlined
def _across(s: Nine, g: Nine, sign: float, drag: Nine, share: float, risen: Three) -> Nine:
    """Slope at one end by the place of the other, sign changed: S +- G - D, less what rises."""
    return Nine(
        s.xx + sign * g.xx - share * drag.xx,
        s.xy + sign * g.xy - share * drag.xy,
        s.xz + sign * g.xz - share * drag.xz - risen.x,
        s.yx + sign * g.yx - share * drag.yx,
        s.yy + sign * g.yy - share * drag.yy,
        s.yz + sign * g.yz - share * drag.yz - risen.y,
        s.zx + sign * g.zx - share * drag.zx,
        s.zy + sign * g.zy - share * drag.zy,
        s.zz + sign * g.zz - share * drag.zz - risen.z,
    )


@inlined
def _with_rise(k: Nine, risen: Three) -> Nine:
    """Add what rising changes to the column of heights."""
    return Nine(
        k.xx, k.xy, k.xz + risen.x,
        k.yx, k.yy, k.yz + risen.y,
        k.zx, k.zy, k.zz + risen.z,
    )  # fmt: skip


@inlined
def _walk_up(
    line: Line, around: Around, chain: Chain, count: int, span: Span, rates: Rates, space: Space
) -> float:
    """Set up and eliminate the balance of all nodes from the lure to the rod; gives its pull [N].

    Fills, for each node, how it follows the next one, and what its segment lacks.
    """
    place, rate, before, work = chain.place, chain.rate, space.before, space.work
    knots, pieces, medium, air = line.knots, line.pieces, around.medium, around.air
    water, wind = Fluid(medium[0], medium[1]), Fluid(medium[2], medium[3])
    n = count - 1  # unknown nodes; the n-th is the rod tip
    a = _velocity(place, before, rate, 0, rates)
    r, k = _lure_load(line.lure, around, place[0, 2], a, rates.now)
    for j in range(n):
        end = j == n - 1
        link = _link(place, j, span.let_out - knots[j] if end else knots[j + 1] - knots[j])
        t = link.t
        p = line.part[j]
        b = _velocity(place, before, rate, j + 1, rates)
        if end:  # the line at the rod tip comes off the reel
            out = span.line_rate
            b = Three(b.x - out * t.x, b.y - out * t.y, b.z - out * t.z)
        z_low, z_high = place[j, 2], place[j + 1, 2]
        sx, sy = _water_at(around, -0.5 * (z_low + z_high))
        stuff = Stuff(skin_of(pieces, p), pieces[p, WATER_WEIGHT], pieces[p, AIR_WEIGHT])
        flows = Flows(sx, sy, air[0], air[1], water, wind)
        push = _push(stuff, flows, link, z_low, z_high, a, b)
        half = 0.5 * link.length
        # ---- inertia: the line, the water in it, the water it moves aside
        diameter = stuff.skin.diameter
        bulk = water.density * 0.25 * math.pi * diameter * diameter * push.share
        buoyed = push.share * (stuff.air_weight - stuff.water_weight) / GRAVITY
        mass = stuff.air_weight / GRAVITY + max(bulk - buoyed, 0.0)
        # ---- tension
        tension = chain.pull[j]
        ea = line.stiffness[p]
        give = link.length * (1.0 / ea + LIMP / (tension * tension))
        gap = link.chord - link.length * (1.0 + tension / ea - LIMP / tension)
        stiff = 1.0 / give
        work[j, GAP], work[j, GIVE] = gap, give
        force = tension + gap * stiff
        s = _tension_slope(tension, stiff, link)
        # ---- node j is complete: eliminate it
        low = _resistance(_jump(place, before, rate, j, rates), t, mass, bulk)
        r = Three(
            r.x + (push.low.x - half * low.x + force * t.x),
            r.y + (push.low.y - half * low.y + force * t.y),
            r.z + (push.low.z - half * low.z + force * t.z),
        )
        added = half * bulk * rates.swing
        free = half * mass * rates.swing + added
        own = 0.5 * (1.0 + COUPLE) * half * rates.now
        other = 0.5 * (1.0 - COUPLE) * half * rates.now
        d = _end_slope(push.drag, own, free, added, t)
        ds = plus(d, s)
        lu = factored(plus(k, _with_rise(plus(ds, push.turned), push.risen)))
        r = solved(lu, r)
        work[j, GOES], work[j, GOES + 1], work[j, GOES + 2] = r.x, r.y, r.z
        top = Three(push.top.x - force * t.x, push.top.y - force * t.y, push.top.z - force * t.z)
        if end:
            return math.sqrt(top.x * top.x + top.y * top.y + top.z * top.z)
        up = _across(s, push.turned, 1.0, push.drag, other, push.risen)
        cx = solved(lu, Three(up.xx, up.yx, up.zx))
        cy = solved(lu, Three(up.xy, up.yy, up.zy))
        cz = solved(lu, Three(up.xz, up.yz, up.zz))
        work[j, 0], work[j, 1], work[j, 2] = cx.x, cy.x, cz.x
        work[j, 3], work[j, 4], work[j, 5] = cx.y, cy.y, cz.y
        work[j, 6], work[j, 7], work[j, 8] = cx.z, cy.z, cz.z
        # ---- the next node, less what goes through node j
        down = _across(s, push.turned, -1.0, push.drag, other, push.risen)
        high = _resistance(_jump(place, before, rate, j + 1, rates), t, mass, bulk)
        through = times(down, r)
        r = Three(
            top.x - half * high.x + through.x,
            top.y - half * high.y + through.y,
            top.z - half * high.z + through.z,
        )
        bx, by, bz = times(down, cx), times(down, cy), times(down, cz)
        k = less(
            _with_rise(less(ds, push.turned), push.risen),
            Nine(bx.x, by.x, bz.x, bx.y, by.y, bz.y, bx.z, by.z, bz.z),
        )
        a = b
    return 0.0


@inlined
def _walk_down(work: Matrix, n: int) -> float:
    """Fill in how far each node goes, from the rod back down; gives the farthest, squared [m^2]."""
    worst = 0.0
    dx = dy = dz = 0.0
    for j in range(n - 1, -1, -1):
        nx, ny, nz = work[j, GOES], work[j, GOES + 1], work[j, GOES + 2]
        if j < n - 1:
            nx += work[j, 0] * dx + work[j, 1] * dy + work[j, 2] * dz
            ny += work[j, 3] * dx + work[j, 4] * dy + work[j, 5] * dz
            nz += work[j, 6] * dx + work[j, 7] * dy + work[j, 8] * dz
        work[j, GOES], work[j, GOES + 1], work[j, GOES + 2] = nx, ny, nz
        dx, dy, dz = nx, ny, nz
        worst = max(worst, nx * nx + ny * ny + nz * nz)
    return worst


@inlined
def _go(chain: Chain, work: Matrix, n: int, part_way: float) -> bool:
    """Move the nodes part of the way; tells whether a pull fell by all that it may in one go."""
    place, pull = chain.place, chain.pull
    rough = False
    dx = dy = dz = 0.0
    for j in range(n - 1, -1, -1):
        ex = place[j + 1, 0] - part_way * dx - place[j, 0]
        ey = place[j + 1, 1] - part_way * dy - place[j, 1]
        ez = place[j + 1, 2] - part_way * dz - place[j, 2]
        inverse = 1.0 / max(math.sqrt(ex * ex + ey * ey + ez * ez), 1e-9)
        nx, ny, nz = work[j, GOES], work[j, GOES + 1], work[j, GOES + 2]
        stretch = ((dx - nx) * ex + (dy - ny) * ey + (dz - nz) * ez) * inverse
        change = part_way * (stretch + work[j, GAP]) / work[j, GIVE]
        tension = pull[j]
        if change < -0.8 * tension:
            change = -0.8 * tension
            rough = True
        pull[j] = tension + change
        place[j, 0] += part_way * nx
        place[j, 1] += part_way * ny
        place[j, 2] += part_way * nz
        dx, dy, dz = nx, ny, nz
    return rough


@kernel
def advance(
    line: Line, around: Around, chain: Chain, count: int, span: Span, space: Space
) -> tuple[int, float]:
    """Solve for the places and tensions at the end of one step.

    Parameters
    ----------
    line, around : Line, Around
        The line, and what is around it.
    chain : Chain
        Its `rate` is of the step before; `place` and `pull` are a first guess, replaced by the
        answer; the rod tip is given.
    count : int
        Nodes in use.
    span : Span
        The step.
    space : Space
        Has the places at the start.

    Returns
    -------
    tuple
        Newton steps taken (0 where they did not settle), and the pull at the rod [N].
    """
    ratio = span.dt / span.last
    turn = 2.0 * ratio / ((1.0 + ratio) * span.dt)
    rates = Rates(
        (1.0 + 2.0 * ratio) / (1.0 + ratio) / span.dt,
        ratio / (1.0 + ratio),
        turn,
        turn / span.dt,
        span.dt,
    )
    n = count - 1
    rod = 0.0
    for attempt in range(TRIES):
        rod = _walk_up(line, around, chain, count, span, rates, space)
        worst = _walk_down(space.work, n)
        if not worst < 1e12:  # also where it is not a number
            return 0, rod
        # all of the way or, where that is far or the last steps went to and fro, a part
        part_way = 1.0 if attempt < EASY_TRIES else 0.5 if attempt < 2 * EASY_TRIES else 0.25
        if worst > FAR * FAR:
            part_way = min(part_way, FAR / math.sqrt(worst))
        rough = _go(chain, space.work, n, part_way)
        close = CLOSE if attempt < 2 * EASY_TRIES else CLOSE_ENOUGH
        if worst < close * close and not rough:
            return attempt + 1, rod
    return 0, rod


@inlined
def _drop_nodes(knots: Vector, chain: Chain, count: int, let_out: float) -> int:
    """Let line that will be gone take its node with it; gives the nodes left."""
    while count > 2:
        top = knots[count - 2]
        if let_out - top >= DROP * (top - knots[count - 3]):
            break
        for c in range(3):
            chain.place[count - 2, c] = chain.place[count - 1, c]
            chain.rate[count - 2, c] = chain.rate[count - 1, c]
        count -= 1
    return count


@inlined
def _insert_nodes(knots: Vector, chain: Chain, count: int, let_out: float, line_rate: float) -> int:
    """Give nodes to line that has come out; gives how many there are."""
    place, rate = chain.place, chain.rate
    while count < knots.shape[0]:
        here = knots[count - 1]
        top = knots[count - 2]
        if not let_out - here > INSERT * (here - top):
            break
        f = (here - top) / (let_out - top)
        ex = place[count - 1, 0] - place[count - 2, 0]
        ey = place[count - 1, 1] - place[count - 2, 1]
        ez = place[count - 1, 2] - place[count - 2, 2]
        slip = f * line_rate / max(math.sqrt(ex * ex + ey * ey + ez * ez), 1e-9)
        for c in range(3):
            place[count, c] = place[count - 1, c]
            rate[count, c] = rate[count - 1, c]
        for c in range(3):
            e = place[count, c] - place[count - 2, c]
            place[count - 1, c] = place[count - 2, c] + f * e
            rate[count - 1, c] = (
                rate[count - 2, c] + f * (rate[count, c] - rate[count - 2, c]) - slip * e
            )
        chain.pull[count - 1] = chain.pull[count - 2]
        count += 1
    return count


@kernel
def stretch_of_time(
    line: Line,
    around: Around,
    chain: Chain,
    count: int,
    let_out: float,
    last: float,
    tip: Vector,
    new_let_out: float,
    dt: float,
    space: Space,
) -> tuple[int, float, int, float]:
    """Take one line through an interval in one step, or in smaller ones where that fails.

    Parameters
    ----------
    line, around, chain, count
        As `advance` takes them; the chain is replaced.
    let_out, new_let_out : float
        Line past the rod tip at the start and at the end [m].
    last : float
        Length of the step before [s].
    tip : (3,) array
        Where the rod tip gets to [m].
    dt : float
        Length of the interval [s].
    space : Space
        Room to work in.

    Returns
    -------
    tuple
        Nodes in use, length of the last step [s], Newton steps (negative where some step never
        settled), pull at the rod [N].
    """
    place, rate, pull = chain.place, chain.rate, chain.pull
    before, work = space.before, space.work
    done = 0.0
    size = dt
    total = 0
    rod = 0.0
    failed = False
    line_rate = (new_let_out - let_out) / dt
    x0, y0, z0 = place[count - 1, 0], place[count - 1, 1], place[count - 1, 2]
    out = let_out
    while done < dt:
        final = size >= (dt - done) * (1.0 - 1e-9)
        if final:
            size = dt - done
        f = 1.0 if final else (done + size) / dt
        target = new_let_out if final else out + line_rate * size
        count = _drop_nodes(line.knots, chain, count, target)
        n = count - 1
        for i in range(count):
            work[i, PULLED] = pull[i]
            for c in range(3):
                before[i, c] = place[i, c]
                if i < n:
                    place[i, c] += size * rate[i, c]
        place[n, 0] = x0 + f * (tip[0] - x0)
        place[n, 1] = y0 + f * (tip[1] - y0)
        place[n, 2] = z0 + f * (tip[2] - z0)
        steps, rod = advance(line, around, chain, count, Span(size, last, target, line_rate), space)
        if steps == 0:
            bad = size <= dt * 0.5**CUTS
            for i in range(count):
                pull[i] = max(work[i, PULLED], 1e-3)
                for c in range(3):
                    place[i, c] = before[i, c]
            total += TRIES
            if not bad:
                size *= 0.5
                continue
            # The line is carried along stiffly for so long, rather than lost.
            failed = True
            for i in range(count):
                place[i, 0] += size / dt * (tip[0] - x0)
                place[i, 1] += size / dt * (tip[1] - y0)
                place[i, 2] += size / dt * (tip[2] - z0)
        total += steps
        for i in range(count):
            for c in range(3):
                rate[i, c] = (place[i, c] - before[i, c]) / size
        out = target
        last = size
        done = dt if final else done + size
        size *= 2.0
        count = _insert_nodes(line.knots, chain, count, out, line_rate)
    return count, last, -total if failed else total, rod


@kernel
def show(chain: Chain, count: int, rod: float, let_out: float, ground: Ground, out: Vector) -> None:
    """Fill one row of what is shown."""
    place = chain.place
    low = 0
    least, at = math.inf, -1
    for i in range(count):
        if place[i, 2] < place[low, 2]:
            low = i
        if ground.bed.shape[0] > 1 and place[i, 2] < 0.0:
            gap = place[i, 2] + bottom(ground, place[i, 0], place[i, 1])
            if gap < least:
                least, at = gap, i
    for c in range(3):
        out[LURE_X + c] = place[0, c]
        out[LOWEST_X + c] = place[low, c]
        out[NEAREST_X + c] = place[at, c] if at >= 0 else math.nan
    out[PULL] = rod
    out[CLEARANCE] = least if at >= 0 else math.nan
    out[OUT] = let_out


@kernel
def line_of_row(gear: Gear, r: int) -> Line:
    """Give the line of a row."""
    line = gear.line_of[r]
    return Line(gear.knots[line], gear.part[line], gear.pieces[r], gear.stiffness[r], gear.lures[r])


@kernel
def _keep_shape(place: Matrix, nodes: int, shape: Matrix) -> None:
    """Fill in the nodes of a line; those not in use are not numbers."""
    for i in range(shape.shape[0]):
        for c in range(3):
            shape[i, c] = place[i, c] if i < nodes else math.nan


@kernel
def _travel_row(
    r: int,
    gear: Gear,
    water: Water,
    chains: Chains,
    course: Course,
    ground: Ground,
    shown: Shown,
    space: Space,
) -> None:
    """Take one row through all moments."""
    line, which = line_of_row(gear, r), gear.line_of[r]
    around = Around(water.medium, water.current, gear.drift[r], water.air)
    chain = Chain(chains.place[r], chains.rate[r], chains.pull[r])
    times, tips, let_outs = course.times, course.tips, course.let_outs
    tip = np.empty(3)
    last = course.last
    nodes = chains.used[r]
    rod = chains.rods[r]
    row = 0
    for m in range(times.shape[0]):
        steps = 0
        span = 0.0
        if m > 0:
            span = times[m] - times[m - 1]
            steps = max(1, math.ceil(span / course.longest - 1e-9))
        for q in range(steps):
            if course.fresh:
                last = math.inf
                for i in range(chain.rate.shape[0]):
                    for c in range(3):
                        chain.rate[i, c] = 0.0
            f, g = (q + 1.0) / steps, q / steps
            for c in range(3):
                start = tips[which, m - 1, c]
                tip[c] = start + f * (tips[which, m, c] - start)
            change = let_outs[r, m] - let_outs[r, m - 1]
            out = let_outs[r, m - 1] + g * change
            new_out = let_outs[r, m - 1] + f * change
            nodes, last, newton, rod = stretch_of_time(
                line, around, chain, nodes, out, last, tip, new_out, span / steps, space
            )
            shown.effort[r, 0] += 1
            shown.effort[r, 1] += abs(newton)
            if newton < 0:
                shown.effort[r, 2] += 1
        if m % shown.every == 0:
            show(chain, nodes, rod, let_outs[r, m], ground, shown.figures[r, row])
            if shown.shapes.shape[1] > 0:
                _keep_shape(chain.place, nodes, shown.shapes[r, row])
            row += 1
    chains.used[r] = nodes
    chains.rods[r] = rod


@kernel
def travel(
    first: int,
    beyond: int,
    gear: Gear,
    water: Water,
    chains: Chains,
    course: Course,
    ground: Ground,
    shown: Shown,
    space: Space,
) -> None:
    """Take rows through all moments.

    Rows do not touch each other, and the lock of the interpreter is not held: several calls may
    share the arrays and the cores, each with room of its own.

    Parameters
    ----------
    first, beyond : int
        The rows.
    gear, water : Gear, Water
        What is towed, and in what.
    chains : Chains
        The state, replaced.
    course : Course
        What the rods do.
    ground : Ground
        Depth of the bottom; of no rows where it is not known.
    shown : Shown
        Filled.
    space : Space
        Room to work in, for the nodes of one line.
    """
    for r in range(first, beyond):
        _travel_row(r, gear, water, chains, course, ground, shown, space)
