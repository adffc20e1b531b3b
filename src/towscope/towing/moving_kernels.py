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

import numpy as np

from towscope.arrays import Array, Integers
from towscope.towing.drag import AXIAL_FRICTION, TAYLOR_FRICTION, cross_flow_coefficient
from towscope.towing.jit import kernel
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


@kernel
def line_slopes(
    ux: float,
    uy: float,
    uz: float,
    tx: float,
    ty: float,
    tz: float,
    diameter: float,
    normal: float,
    friction: float,
    normal_scale: float,
    friction_scale: float,
    density: float,
    nu: float,
) -> tuple[float, ...]:
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
    half = 0.5 * density * diameter
    if normal >= 0.0:
        cn = normal
        slope = normal
    else:
        re = max(across * diameter / nu, 1e-4)
        cn = cross_flow_coefficient(re)
        root = 1.96 / math.sqrt(re)
        fast = 1.0 + 3.64e-7 * re * re
        slow = 0.0004 * re / fast
        # Re d(Cn)/d(Re), whose power term is what the others leave of Cn
        slope = cn - 0.89 * (cn - 1.18 - root + slow) - 0.5 * root - slow * (2.0 / fast - 1.0)
    across_rate = half * normal_scale * cn * across
    inverse = 1.0 / max(across, 1e-9)
    nn = half * normal_scale * slope * inverse
    if friction >= 0.0:
        along_rate = half * friction_scale * math.pi * friction * abs(along)
        along_slope = along_rate
        by_across = 0.0
    else:
        thin = TAYLOR_FRICTION * TAYLOR_FRICTION * nu / diameter
        thick = math.pi * AXIAL_FRICTION
        thick *= thick * along
        root = math.sqrt(thin * across + thick * along)
        along_rate = half * friction_scale * root
        scale = half * friction_scale / max(root, 1e-9)
        along_slope = scale * thick * along
        by_across = 0.5 * scale * thin
    tt = along_rate + along_slope - across_rate
    tn = along * by_across * inverse
    return along, across_rate, along_rate, nn, tt, tn, tt - along * tn


@kernel
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
def bottom(bed: Array, x0: float, y0: float, cell: float, x: float, y: float) -> float:
    """Depth of the bottom at a place [m], bilinear; NaN outside the grid."""
    rows, columns = bed.shape
    gx, gy = (x - x0) / cell, (y - y0) / cell
    if not (0.0 <= gx <= columns - 1.0 and 0.0 <= gy <= rows - 1.0):
        return math.nan
    i, j = min(int(gx), columns - 2), min(int(gy), rows - 2)
    fx, fy = gx - i, gy - j
    south = (1.0 - fx) * bed[j, i] + fx * bed[j, i + 1]
    north = (1.0 - fx) * bed[j + 1, i] + fx * bed[j + 1, i + 1]
    depth: float = (1.0 - fy) * south + fy * north
    return depth


@kernel
def advance(
    knots: Array,
    part: Integers,
    pieces: Array,
    stiffness: Array,
    lure: Array,
    medium: Array,
    current: Array,
    drift: Array,
    air: Array,
    before: Array,
    rate: Array,
    place: Array,
    pull: Array,
    count: int,
    let_out: float,
    line_rate: float,
    dt: float,
    last: float,
    work: Array,
) -> tuple[int, float]:
    """Solve for the places and tensions at the end of one step.

    Parameters
    ----------
    knots, part, pieces, stiffness, lure, medium, current
        One row of those of `towscope.towing.moving.Lines`; `current` over ground.
    drift, air : (2,) array
        Water on top of the current, and wind [m/s].
    before, rate : (k, 3) array
        Places at the start, mean velocities over the step before.
    place, pull : (k, 3), (k,) array
        A first guess, replaced by the answer; the rod tip is given.
    count : int
        Nodes in use.
    let_out : float
        Line past the rod tip at the end [m].
    line_rate : float
        Line let out per second [m/s].
    dt, last : float
        Length of this step and the one before [s]; infinite where nothing is known of before.
    work : (k, 16) array
        Room to work in.

    Returns
    -------
    tuple
        Newton steps taken (0 where they did not settle), and the pull at the rod [N].
    """
    ratio = dt / last
    c1 = (1.0 + 2.0 * ratio) / (1.0 + ratio) / dt
    c0 = ratio / (1.0 + ratio)
    # Inertia: acceleration = (mean velocity now - before) / half of both steps.
    turn = 2.0 * ratio / ((1.0 + ratio) * dt)
    swing = turn / dt
    density, nu = medium[0], medium[1]
    air_density, air_nu = medium[2], medium[3]
    n = count - 1  # unknown nodes; the n-th is the rod tip
    rod = 0.0
    for attempt in range(TRIES):
        # ---- the lure
        vx = c1 * (place[0, 0] - before[0, 0]) - c0 * rate[0, 0]
        vy = c1 * (place[0, 1] - before[0, 1]) - c0 * rate[0, 1]
        vz = c1 * (place[0, 2] - before[0, 2]) - c0 * rate[0, 2]
        z = place[0, 2]
        sx, sy = stream(current, -z)
        ux, uy, uz = sx + drift[0] - vx, sy + drift[1] - vy, -vz
        speed = math.sqrt(ux * ux + uy * uy + uz * uz)
        bulk = 2.0 * abs(lure[2]) + LURE_BULK
        share = min(max(0.5 - 0.5 * z / LURE_SPLASH, 0.0), 1.0)
        leave = 3.0 * share * (1.0 - share) / LURE_SPLASH  # share lost per height
        share *= share * (3.0 - 2.0 * share)
        q = 0.5 * density * share
        drag, dive = q * lure[0], q * lure[1]
        # Drag along the flow; the dive force stands across it, so that it does no work.
        rx = (drag * speed + dive * uz) * ux
        ry = (drag * speed + dive * uz) * uy
        rz = drag * speed * uz - dive * (ux * ux + uy * uy) - lure[2] - (1.0 - share) * bulk
        inverse = 1.0 / max(speed, 1e-9)
        a = c1 * (drag * speed + dive * uz)
        b = c1 * drag * inverse
        d = c1 * dive
        k00, k01, k02 = a + b * ux * ux, b * ux * uy, b * ux * uz + d * ux
        k10, k11, k12 = b * uy * ux, a + b * uy * uy, b * uy * uz + d * uy
        k20, k21 = b * uz * ux - 2.0 * d * ux, b * uz * uy - 2.0 * d * uy
        k22 = a + b * uz * uz - d * uz
        # what leaving the water takes away; a lure that is only held under by its speed has no
        # place of balance half out, and is left without that slope
        fast = 0.5 * density * leave
        k02 += fast * (lure[0] * speed + lure[1] * uz) * ux
        k12 += fast * (lure[0] * speed + lure[1] * uz) * uy
        down = lure[0] * speed * uz - lure[1] * (ux * ux + uy * uy)
        k22 += max(leave * bulk + fast * down, 0.0)
        ax, ay, az = vx, vy, vz
        for j in range(n):
            # ---- the segment from node j to the next
            end = j == n - 1
            length = let_out - knots[j] if end else knots[j + 1] - knots[j]
            p = part[j]
            diameter = pieces[p, DIAMETER]
            bx = c1 * (place[j + 1, 0] - before[j + 1, 0]) - c0 * rate[j + 1, 0]
            by = c1 * (place[j + 1, 1] - before[j + 1, 1]) - c0 * rate[j + 1, 1]
            bz = c1 * (place[j + 1, 2] - before[j + 1, 2]) - c0 * rate[j + 1, 2]
            ex = place[j + 1, 0] - place[j, 0]
            ey = place[j + 1, 1] - place[j, 1]
            ez = place[j + 1, 2] - place[j, 2]
            chord = math.sqrt(ex * ex + ey * ey + ez * ez)
            inverse = 1.0 / max(chord, 1e-9)
            tx, ty, tz = ex * inverse, ey * inverse, ez * inverse
            if end:  # the line at the rod tip comes off the reel
                bx -= line_rate * tx
                by -= line_rate * ty
                bz -= line_rate * tz
            mx, my, mz = 0.5 * (ax + bx), 0.5 * (ay + by), 0.5 * (az + bz)
            # ---- water and weight
            z_low, z_high = place[j, 2], place[j + 1, 2]
            share, offset, fall = wet_share(z_low, z_high)
            w_water, w_air = pieces[p, WATER_WEIGHT], pieces[p, AIR_WEIGHT]
            hx = hy = hz = 0.0  # force per length on the wet part, then on the dry one
            f00 = f01 = f02 = f10 = f11 = f12 = f20 = f21 = f22 = 0.0
            g00 = g01 = g02 = g10 = g11 = g12 = g20 = g21 = g22 = 0.0
            if share > 0.0:
                sx, sy = stream(current, -0.5 * (z_low + z_high))
                ux, uy, uz = sx + drift[0] - mx, sy + drift[1] - my, -mz
                along, cross, skin, nn, tt, tn, nt = line_slopes(
                    ux,
                    uy,
                    uz,
                    tx,
                    ty,
                    tz,
                    diameter,
                    pieces[p, NORMAL],
                    pieces[p, FRICTION],
                    pieces[p, NORMAL_SCALE],
                    pieces[p, FRICTION_SCALE],
                    density,
                    nu,
                )
                nx, ny, nz = ux - along * tx, uy - along * ty, uz - along * tz
                hx = cross * nx + skin * along * tx
                hy = cross * ny + skin * along * ty
                hz = cross * nz + skin * along * tz
                f00 = share * (cross + tt * tx * tx + nn * nx * nx + tn * tx * nx)
                f01 = share * (tt * tx * ty + nn * nx * ny + tn * tx * ny)
                f02 = share * (tt * tx * tz + nn * nx * nz + tn * tx * nz)
                f10 = share * (tt * ty * tx + nn * ny * nx + tn * ty * nx)
                f11 = share * (cross + tt * ty * ty + nn * ny * ny + tn * ty * ny)
                f12 = share * (tt * ty * tz + nn * ny * nz + tn * ty * nz)
                f20 = share * (tt * tz * tx + nn * nz * nx + tn * tz * nx)
                f21 = share * (tt * tz * ty + nn * nz * ny + tn * tz * ny)
                f22 = share * (cross + tt * tz * tz + nn * nz * nz + tn * tz * nz)
                e = (skin - cross) * along
                s = 0.5 * length * inverse * share
                an = along * nn
                g00 = s * (e * (1.0 - tx * tx) + nt * tx * nx - an * nx * nx)
                g01 = s * (-e * tx * ty + nt * tx * ny - an * nx * ny)
                g02 = s * (-e * tx * tz + nt * tx * nz - an * nx * nz)
                g10 = s * (-e * ty * tx + nt * ty * nx - an * ny * nx)
                g11 = s * (e * (1.0 - ty * ty) + nt * ty * ny - an * ny * ny)
                g12 = s * (-e * ty * tz + nt * ty * nz - an * ny * nz)
                g20 = s * (-e * tz * tx + nt * tz * nx - an * nz * nx)
                g21 = s * (-e * tz * ty + nt * tz * ny - an * nz * ny)
                g22 = s * (e * (1.0 - tz * tz) + nt * tz * nz - an * nz * nz)
            qx = qy = qz = 0.0
            if share < 1.0:
                ux, uy, uz = air[0] - mx, air[1] - my, -mz
                along, cross, skin, nn, tt, tn, nt = line_slopes(
                    ux,
                    uy,
                    uz,
                    tx,
                    ty,
                    tz,
                    diameter,
                    pieces[p, NORMAL],
                    pieces[p, FRICTION],
                    pieces[p, NORMAL_SCALE],
                    pieces[p, FRICTION_SCALE],
                    air_density,
                    air_nu,
                )
                qx = cross * (ux - along * tx) + skin * along * tx
                qy = cross * (uy - along * ty) + skin * along * ty
                qz = cross * (uz - along * tz) + skin * along * tz
                # The air's pull is a thousandth of the line's weight: its part along a change of
                # velocity is enough of a slope.
                f00 += (1.0 - share) * cross
                f11 += (1.0 - share) * cross
                f22 += (1.0 - share) * cross
            hz -= w_water
            qz -= w_air
            half = 0.5 * length
            # Each end takes half, moved by where the wet part lies and a little by its velocity.
            c = 0.5 * COUPLE
            dx, dy, dz = c * (bx - ax), c * (by - ay), c * (bz - az)
            cx = f00 * dx + f01 * dy + f02 * dz
            cy = f10 * dx + f11 * dy + f12 * dz
            cz = f20 * dx + f21 * dy + f22 * dz
            moved = length * offset
            low_wet, low_dry = half * share - moved, half * (1.0 - share) + moved
            top_wet, top_dry = half * share + moved, half * (1.0 - share) - moved
            lx = low_wet * hx + low_dry * qx + half * cx
            ly = low_wet * hy + low_dry * qy + half * cy
            lz = low_wet * hz + low_dry * qz + half * cz
            ox = top_wet * hx + top_dry * qx - half * cx
            oy = top_wet * hy + top_dry * qy - half * cy
            oz = top_wet * hz + top_dry * qz - half * cz
            # what rising out of the water takes away at either end, for a rise of either
            c = 0.5 * half * fall
            px, py, pz = c * (hx - qx), c * (hy - qy), max(c * (hz - qz), 0.0)
            # ---- inertia: the line, the water in it, the water it moves aside
            bulk = density * 0.25 * math.pi * diameter * diameter * share
            mass = w_air / GRAVITY + max(bulk - share * (w_air - w_water) / GRAVITY, 0.0)
            own = half * mass * swing
            added = half * bulk * swing
            ix = turn * ((place[j, 0] - before[j, 0]) / dt - rate[j, 0])
            iy = turn * ((place[j, 1] - before[j, 1]) / dt - rate[j, 1])
            iz = turn * ((place[j, 2] - before[j, 2]) / dt - rate[j, 2])
            it = ix * tx + iy * ty + iz * tz
            lx -= half * ((mass + bulk) * ix - bulk * it * tx)
            ly -= half * ((mass + bulk) * iy - bulk * it * ty)
            lz -= half * ((mass + bulk) * iz - bulk * it * tz)
            # ---- tension
            tension = pull[j]
            ea = stiffness[p]
            give = length * (1.0 / ea + LIMP / (tension * tension))
            gap = chord - length * (1.0 + tension / ea - LIMP / tension)
            stiff = 1.0 / give
            work[j, 12], work[j, 13] = gap, give
            force = tension + gap * stiff
            lx += force * tx
            ly += force * ty
            lz += force * tz
            ox -= force * tx
            oy -= force * ty
            oz -= force * tz
            side = tension * inverse
            axial = stiff - side
            s00, s01, s02 = side + axial * tx * tx, axial * tx * ty, axial * tx * tz
            s11, s12, s22 = side + axial * ty * ty, axial * ty * tz, side + axial * tz * tz
            # ---- drag and inertia at an end
            hc = 0.5 * (1.0 + COUPLE) * half * c1
            ho = 0.5 * (1.0 - COUPLE) * half * c1
            free = own + added
            d00 = hc * f00 + free - added * tx * tx
            d01 = hc * f01 - added * tx * ty
            d02 = hc * f02 - added * tx * tz
            d10 = hc * f10 - added * ty * tx
            d11 = hc * f11 + free - added * ty * ty
            d12 = hc * f12 - added * ty * tz
            d20 = hc * f20 - added * tz * tx
            d21 = hc * f21 - added * tz * ty
            d22 = hc * f22 + free - added * tz * tz
            # ---- node j is complete: eliminate it
            rx += lx
            ry += ly
            rz += lz
            k00 += d00 + s00 + g00
            k01 += d01 + s01 + g01
            k02 += d02 + s02 + g02 + px
            k10 += d10 + s01 + g10
            k11 += d11 + s11 + g11
            k12 += d12 + s12 + g12 + py
            k20 += d20 + s02 + g20
            k21 += d21 + s12 + g21
            k22 += d22 + s22 + g22 + pz
            # K = L U without pivots: the blocks are dominated by their symmetric positive part.
            i0 = 1.0 / k00
            m10, m20 = k10 * i0, k20 * i0
            k11 -= m10 * k01
            k12 -= m10 * k02
            k21 -= m20 * k01
            k22 -= m20 * k02
            i1 = 1.0 / k11
            m21 = k21 * i1
            k22 -= m21 * k12
            i2 = 1.0 / k22
            ry -= m10 * rx
            rz -= m20 * rx + m21 * ry
            rz *= i2
            ry = (ry - k12 * rz) * i1
            rx = (rx - k01 * ry - k02 * rz) * i0
            work[j, 9], work[j, 10], work[j, 11] = rx, ry, rz
            if end:
                rod = math.sqrt(ox * ox + oy * oy + oz * oz)
                break
            # right-hand columns: -K(j, j+1) = S + G - D
            x0 = s00 + g00 - ho * f00
            x1 = s01 + g10 - ho * f10
            x2 = s02 + g20 - ho * f20
            x1 -= m10 * x0
            x2 -= m20 * x0 + m21 * x1
            w20 = x2 * i2
            w10 = (x1 - k12 * w20) * i1
            w00 = (x0 - k01 * w10 - k02 * w20) * i0
            x0 = s01 + g01 - ho * f01
            x1 = s11 + g11 - ho * f11
            x2 = s12 + g21 - ho * f21
            x1 -= m10 * x0
            x2 -= m20 * x0 + m21 * x1
            w21 = x2 * i2
            w11 = (x1 - k12 * w21) * i1
            w01 = (x0 - k01 * w11 - k02 * w21) * i0
            x0 = s02 + g02 - ho * f02 - px
            x1 = s12 + g12 - ho * f12 - py
            x2 = s22 + g22 - ho * f22 - pz
            x1 -= m10 * x0
            x2 -= m20 * x0 + m21 * x1
            w22 = x2 * i2
            w12 = (x1 - k12 * w22) * i1
            w02 = (x0 - k01 * w12 - k02 * w22) * i0
            row = work[j]
            row[0], row[1], row[2] = w00, w01, w02
            row[3], row[4], row[5] = w10, w11, w12
            row[6], row[7], row[8] = w20, w21, w22
            # ---- the next node, less what goes through node j: -K(j+1, j) = S - G - D
            b00 = s00 - g00 - ho * f00
            b01 = s01 - g01 - ho * f01
            b02 = s02 - g02 - ho * f02 - px
            b10 = s01 - g10 - ho * f10
            b11 = s11 - g11 - ho * f11
            b12 = s12 - g12 - ho * f12 - py
            b20 = s02 - g20 - ho * f20
            b21 = s12 - g21 - ho * f21
            b22 = s22 - g22 - ho * f22 - pz
            ix = turn * ((place[j + 1, 0] - before[j + 1, 0]) / dt - rate[j + 1, 0])
            iy = turn * ((place[j + 1, 1] - before[j + 1, 1]) / dt - rate[j + 1, 1])
            iz = turn * ((place[j + 1, 2] - before[j + 1, 2]) / dt - rate[j + 1, 2])
            it = ix * tx + iy * ty + iz * tz
            ox -= half * ((mass + bulk) * ix - bulk * it * tx)
            oy -= half * ((mass + bulk) * iy - bulk * it * ty)
            oz -= half * ((mass + bulk) * iz - bulk * it * tz)
            k00 = d00 + s00 - g00 - (b00 * w00 + b01 * w10 + b02 * w20)
            k01 = d01 + s01 - g01 - (b00 * w01 + b01 * w11 + b02 * w21)
            k02 = d02 + s02 - g02 + px - (b00 * w02 + b01 * w12 + b02 * w22)
            k10 = d10 + s01 - g10 - (b10 * w00 + b11 * w10 + b12 * w20)
            k11 = d11 + s11 - g11 - (b10 * w01 + b11 * w11 + b12 * w21)
            k12 = d12 + s12 - g12 + py - (b10 * w02 + b11 * w12 + b12 * w22)
            k20 = d20 + s02 - g20 - (b20 * w00 + b21 * w10 + b22 * w20)
            k21 = d21 + s12 - g21 - (b20 * w01 + b21 * w11 + b22 * w21)
            k22 = d22 + s22 - g22 + pz - (b20 * w02 + b21 * w12 + b22 * w22)
            rx = ox + b00 * work[j, 9] + b01 * work[j, 10] + b02 * work[j, 11]
            ry = oy + b10 * work[j, 9] + b11 * work[j, 10] + b12 * work[j, 11]
            rz = oz + b20 * work[j, 9] + b21 * work[j, 10] + b22 * work[j, 11]
            ax, ay, az = bx, by, bz
        # ---- back down to the lure: how far each node goes, then all of it or, where that is far
        # or the last steps went to and fro, a part
        worst = 0.0
        dx = dy = dz = 0.0
        for j in range(n - 1, -1, -1):
            row = work[j]
            nx, ny, nz = row[9], row[10], row[11]
            if j < n - 1:
                nx += row[0] * dx + row[1] * dy + row[2] * dz
                ny += row[3] * dx + row[4] * dy + row[5] * dz
                nz += row[6] * dx + row[7] * dy + row[8] * dz
            row[9], row[10], row[11] = nx, ny, nz
            dx, dy, dz = nx, ny, nz
            worst = max(worst, nx * nx + ny * ny + nz * nz)
        if not worst < 1e12:  # also where it is not a number
            return 0, rod
        part_way = 1.0 if attempt < EASY_TRIES else 0.5 if attempt < 2 * EASY_TRIES else 0.25
        if worst > FAR * FAR:
            part_way = min(part_way, FAR / math.sqrt(worst))
        rough = False
        dx = dy = dz = 0.0
        for j in range(n - 1, -1, -1):
            row = work[j]
            ex = place[j + 1, 0] - part_way * dx - place[j, 0]
            ey = place[j + 1, 1] - part_way * dy - place[j, 1]
            ez = place[j + 1, 2] - part_way * dz - place[j, 2]
            inverse = 1.0 / max(math.sqrt(ex * ex + ey * ey + ez * ez), 1e-9)
            nx, ny, nz = row[9], row[10], row[11]
            stretch = ((dx - nx) * ex + (dy - ny) * ey + (dz - nz) * ez) * inverse
            change = part_way * (stretch + row[12]) / row[13]
            tension = pull[j]
            if change < -0.8 * tension:
                change = -0.8 * tension
                rough = True
            pull[j] = tension + change
            place[j, 0] += part_way * nx
            place[j, 1] += part_way * ny
            place[j, 2] += part_way * nz
            dx, dy, dz = nx, ny, nz
        close = CLOSE if attempt < 2 * EASY_TRIES else CLOSE_ENOUGH
        if worst < close * close and not rough:
            return attempt + 1, rod
    return 0, rod


@kernel
def stretch_of_time(
    knots: Array,
    part: Integers,
    pieces: Array,
    stiffness: Array,
    lure: Array,
    medium: Array,
    current: Array,
    drift: Array,
    air: Array,
    place: Array,
    rate: Array,
    pull: Array,
    count: int,
    let_out: float,
    last: float,
    tip: Array,
    new_let_out: float,
    dt: float,
    before: Array,
    work: Array,
) -> tuple[int, float, int, float]:
    """Take one line through an interval in one step, or in smaller ones where that fails.

    Parameters
    ----------
    place, rate, pull : array
        The line, replaced.
    tip : (3,) array
        Where the rod tip gets to [m].
    new_let_out : float
        Line past the rod tip at the end [m].

    Returns
    -------
    tuple
        Nodes in use, length of the last step [s], Newton steps (negative where some step never
        settled), pull at the rod [N].
    """
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
        # Line that will be gone by the end takes its node with it.
        while count > 2:
            top = knots[count - 2]
            if target - top >= DROP * (top - knots[count - 3]):
                break
            for c in range(3):
                place[count - 2, c] = place[count - 1, c]
                rate[count - 2, c] = rate[count - 1, c]
            count -= 1
        n = count - 1
        for i in range(count):
            work[i, 14] = pull[i]
            for c in range(3):
                before[i, c] = place[i, c]
                if i < n:
                    place[i, c] += size * rate[i, c]
        place[n, 0] = x0 + f * (tip[0] - x0)
        place[n, 1] = y0 + f * (tip[1] - y0)
        place[n, 2] = z0 + f * (tip[2] - z0)
        steps, rod = advance(
            knots,
            part,
            pieces,
            stiffness,
            lure,
            medium,
            current,
            drift,
            air,
            before,
            rate,
            place,
            pull,
            count,
            target,
            line_rate,
            size,
            last,
            work,
        )
        if steps == 0:
            bad = size <= dt * 0.5**CUTS
            for i in range(count):
                pull[i] = max(work[i, 14], 1e-3)
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
        # Line that has come out gets nodes.
        while count < knots.shape[0]:
            here = knots[count - 1]
            top = knots[count - 2]
            if not out - here > INSERT * (here - top):
                break
            f = (here - top) / (out - top)
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
            pull[count - 1] = pull[count - 2]
            count += 1
    return count, last, -total if failed else total, rod


@kernel
def show(
    place: Array,
    count: int,
    rod: float,
    let_out: float,
    bed: Array,
    x0: float,
    y0: float,
    cell: float,
    out: Array,
) -> None:
    """Fill one row of what is shown."""
    low = 0
    least, at = math.inf, -1
    for i in range(count):
        if place[i, 2] < place[low, 2]:
            low = i
        if bed.shape[0] > 1 and place[i, 2] < 0.0:
            gap = place[i, 2] + bottom(bed, x0, y0, cell, place[i, 0], place[i, 1])
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
def travel(
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
    air: Array,
    place: Array,
    rate: Array,
    pull: Array,
    count: Integers,
    rods: Array,
    last: float,
    fresh: bool,
    times: Array,
    tips: Array,
    let_outs: Array,
    longest: float,
    every: int,
    bed: Array,
    x0: float,
    y0: float,
    cell: float,
    shown: Array,
    shapes: Array,
    effort: Integers,
) -> None:
    """Take rows through all moments; arrays as `towscope.towing.moving.run` has them.

    Rows do not touch each other, and the lock of the interpreter is not held: several calls may
    share the arrays and the cores.

    Parameters
    ----------
    first, beyond : int
        The rows.
    place, rate, pull, count, rods : array
        The state, replaced.
    fresh : bool
        Forget before each step how fast the line moved: for long steps towards a standstill.
    let_outs : (rows, m) array
        Line truly out at each moment [m].
    shown : (rows, shown moments, 12) array
        Filled.
    shapes : (rows, shown moments or 0, k, 3) array
        Filled where it has room.
    effort : (rows, 3) array of int
        Steps, Newton steps, and intervals that never settled: added to.
    """
    for r in range(first, beyond):
        line = line_of[r]
        k = knots.shape[1]
        before = np.empty((k, 3))
        work = np.empty((k, 16))
        tip = np.empty(3)
        own_last = last
        nodes = count[r]
        rod = rods[r]
        row = 0
        for m in range(times.shape[0]):
            if m > 0:
                span = times[m] - times[m - 1]
                steps = max(1, math.ceil(span / longest - 1e-9))
                for q in range(steps):
                    if fresh:
                        own_last = math.inf
                        rate[r] = 0.0
                    f, g = (q + 1.0) / steps, q / steps
                    for c in range(3):
                        tip[c] = tips[line, m - 1, c] + f * (
                            tips[line, m, c] - tips[line, m - 1, c]
                        )
                    change = let_outs[r, m] - let_outs[r, m - 1]
                    out = let_outs[r, m - 1] + g * change
                    new_out = let_outs[r, m - 1] + f * change
                    nodes, own_last, newton, rod = stretch_of_time(
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
                        own_last,
                        tip,
                        new_out,
                        span / steps,
                        before,
                        work,
                    )
                    effort[r, 0] += 1
                    effort[r, 1] += abs(newton)
                    if newton < 0:
                        effort[r, 2] += 1
            if m % every == 0:
                show(place[r], nodes, rod, let_outs[r, m], bed, x0, y0, cell, shown[r, row])
                if shapes.shape[1] > 0:
                    for i in range(nodes):
                        for c in range(3):
                            shapes[r, row, i, c] = place[r, i, c]
                    for i in range(nodes, k):
                        for c in range(3):
                            shapes[r, row, i, c] = math.nan
                row += 1
        count[r] = nodes
        rods[r] = rod
