"""Rigs, paths and an independent steady circle for the tests of the moving engine."""

import math

import numpy as np
from hypothesis import strategies as st
from reference import coefficients
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from towscope.towing.lookahead import Boat, Manoeuvre, course, tips
from towscope.towing.moving import Lines
from towscope.towing.tow import Doubt, Tow
from towscope.water import fresh_water

WATER = fresh_water(20.0)
MEDIUM = np.array([WATER.density, WATER.kinematic_viscosity, 1.204, 1.51e-5])
G = 9.80665
SPEED = 0.894  # [m/s]; 2 mph
HALF_TURN = Manoeuvre(turn=math.pi, radius=20.0)


def make(pieces, lure, tip=0.9) -> Tow:
    """Make a tow of pieces [length, diameter, kg/m, Cn, Cf], a negative coefficient for the law."""
    rows = []
    for length, d, mass, cn, cf in pieces:
        weight = (mass - WATER.density * math.pi / 4 * d * d) * G
        rows.append([length, d, weight, mass * G, cn, cf, 1.0, 1.0])
    n = len(rows)
    return Tow(
        np.array(rows),
        np.array(lure, dtype=float),
        MEDIUM,
        tip,
        tuple(f"line-{i}" for i in range(n)),
        np.full(n, np.nan),
        np.full(n, 100.0),
        Doubt(np.arange(n), np.full(n, 0.1), np.full(n, 0.3), np.full(n, 0.05), 0.3, 0.2, 0.003),
    )


def thin_core(tip=0.9, lure=(1.5e-4, 0.0, 0.02), law=True) -> Tow:
    """A small sinking lure on 30 ft of leader and thin core."""
    cn, cf = (-1.0, -1.0) if law else (1.4, 0.01)
    return make([[9.144, 0.26e-3, 9.45e-5, cn, cf], [100.0, 0.6e-3, 2.34e-3, cn, cf]], lure, tip)


@st.composite
def rigs(draw) -> Tow:
    """Any rig that trollers might pull: leader, core of any thickness, perhaps backing."""
    law = draw(st.booleans())
    cn = -1.0 if law else draw(st.floats(1.1, 1.8))
    cf = -1.0 if law else draw(st.floats(0.004, 0.03))
    d = draw(st.floats(0.5e-3, 1.5e-3))
    solid = math.pi / 4 * d * d * WATER.density
    core = [draw(st.floats(10.0, 100.0)), d, solid + draw(st.floats(1.2e-3, 2.5e-3)), cn, cf]
    leader = [draw(st.floats(1.0, 15.0)), draw(st.floats(0.15e-3, 0.4e-3)), 0.0, cn, cf]
    leader[2] = math.pi / 4 * leader[1] ** 2 * draw(st.floats(1050.0, 1800.0))
    backing = [200.0, draw(st.floats(0.2e-3, 0.4e-3)), 0.0, cn, cf]
    backing[2] = math.pi / 4 * backing[1] ** 2 * draw(st.floats(1000.0, 1200.0))
    lure = [
        draw(st.floats(5e-5, 1e-3)),
        draw(st.floats(0.0, 8e-4)),
        draw(st.floats(-0.02, 0.1)),
    ]
    return make([leader, core, backing], lure, draw(st.floats(0.0, 2.0)))


def behind(lines: Lines, boat: Boat, plan, seconds: float, step: float):
    """Moments and rod tips of a plan."""
    times, path = course(boat, plan, seconds, step)
    return times, tips(lines.mounts, path)


def steady_circle(tow: Tow, let_out: float, speed: float, radius: float) -> tuple[float, float]:
    """Depth and radius of the lure when the rod tip, at the surface, goes round for ever.

    In the frame that turns with the tip nothing moves: dr/ds = t, dF/ds = w z - f(u, t) + m a with
    the water coming at u = -(turning rate) x r, from the lure's circle up; that circle's radius is
    whatever brings the upper end to the tip's. Integrated by DOP853, with the force laws of
    `reference`; nothing of the engine is used.
    """
    rate = speed / radius
    rho, nu = tow.medium[:2]

    def slopes(piece):
        def of(_, y):
            force = y[3:]
            t = force / np.linalg.norm(force)
            u = np.array([rate * y[1], -rate * y[0], 0.0])
            along = float(u @ t)
            across = u - along * t
            c = float(np.linalg.norm(across))
            cn, cf = coefficients(piece, c, along, nu)
            pull = 0.5 * rho * piece[1] * (cn * c * across + math.pi * cf * abs(along) * along * t)
            # what it takes to keep line, and the water it moves aside, on their circle
            inward = -rate * rate * np.array([y[0], y[1], 0.0])
            aside = rho * math.pi / 4 * piece[1] ** 2 * (inward - float(inward @ t) * t)
            turn = piece[3] / G * inward + aside
            return np.concatenate([t, np.array([0.0, 0.0, piece[2]]) - pull + turn])

        return of

    def climb(own: float):
        v = rate * own
        q = 0.5 * rho * v * v
        # at (own, 0) going towards +y: the water comes towards -y
        y = np.array([own, 0.0, 0.0, 0.0, q * tow.lure[0], q * tow.lure[1] + tow.lure[2]])
        left = let_out
        for piece in tow.pieces:
            span = min(left, piece[0])
            if span > 0.0:
                run = solve_ivp(slopes(piece), (0.0, span), y, "DOP853", rtol=1e-9, atol=1e-9)
                y = run.y[:, -1]
            left -= span
        return y

    own = brentq(lambda a: math.hypot(*climb(a)[:2]) - radius, 0.02 * radius, radius, xtol=1e-7)
    return float(climb(own)[2]), own
