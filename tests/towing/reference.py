"""An independent answer to the steady question: the equations in angle and tension, by DOP853.

Nothing of the engine's own integration is used here; its force laws are written out again.
"""

import math

import numpy as np
from scipy.integrate import solve_ivp

from towscope.towing.tow import Setting, Tow


def coefficients(piece: np.ndarray, across: float, along: float, nu: float) -> tuple[float, float]:
    """Cross-flow and friction coefficients of a piece, as `Cn` and `Cf` of the equations."""
    d = piece[1]
    re = max(abs(across) * d / nu, 1e-4)
    cn = piece[4]
    if cn < 0.0:
        cn = 1.18 + 6.8 * re**-0.89 + 1.96 * re**-0.5 - 0.0004 * re / (1.0 + 3.64e-7 * re**2)
    cf = piece[5]
    if cf < 0.0:
        taylor = 5.4 / math.pi * math.sqrt(nu / d * abs(across)) / max(abs(along), 1e-12)
        cf = math.hypot(taylor, 0.0075)
    return cn * piece[6], cf * piece[7]


def _slopes(piece: np.ndarray, w: float, rho: float, nu: float, v: float):
    d = piece[1]

    def slopes(_: float, y: np.ndarray) -> list[float]:
        phi, tension = y[2], y[3]
        across, along = v * math.sin(phi), v * math.cos(phi)
        cn, cf = coefficients(piece, across, along, nu)
        dt = w * math.sin(phi) + 0.5 * rho * math.pi * d * cf * along * abs(along)
        dphi = (w * math.cos(phi) - 0.5 * rho * d * cn * across * abs(across)) / tension
        return [math.cos(phi), math.sin(phi), dphi, dt]

    return slopes


def depth_for_let_out(
    tow: Tow, setting: Setting, wet: float, tolerance: float = 1e-10
) -> tuple[float, float, float, float]:
    """Depth, let-out, layback and pull at the rod where `wet` metres of line are in the water."""
    v = setting.speed
    rho, nu, rho_air, nu_air = tow.medium
    q = 0.5 * rho * v * v
    down = q * tow.lure[1] + tow.lure[2]
    drag = q * tow.lure[0]
    y = np.array([0.0, 0.0, math.atan2(down, drag), math.hypot(drag, down)])
    left = wet
    remaining: list[tuple[np.ndarray, float]] = []
    for piece in tow.pieces:
        span = min(left, piece[0])
        if span > 0.0:
            run = solve_ivp(
                _slopes(piece, piece[2], rho, nu, v),
                (0.0, span),
                y,
                method="DOP853",
                rtol=tolerance,
                atol=tolerance * 1e-2,
            )
            y = run.y[:, -1]
        left -= span
        remaining.append((piece, piece[0] - span))
    depth = y[1]
    let_out = wet

    def at_tip(_: float, state: np.ndarray) -> float:
        return float(state[1] - depth - tow.tip)

    at_tip.terminal = True  # type: ignore[attr-defined]
    for number, (piece, span) in enumerate(remaining):
        last = number == len(remaining) - 1  # taken to have no end, as the engine takes it
        if span <= 0.0 and not last:
            continue
        endless = 1e4 if last else span
        run = solve_ivp(
            _slopes(piece, piece[3], rho_air, nu_air, v),
            (0.0, endless),
            y,
            method="DOP853",
            rtol=tolerance,
            atol=tolerance * 1e-2,
            events=at_tip,
        )
        y = run.y[:, -1]
        let_out += float(run.t[-1])
        if run.status == 1:
            break
    return float(depth), let_out, float(y[0]), float(y[3])
