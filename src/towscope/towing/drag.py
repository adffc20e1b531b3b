"""How hard does the water pull on a piece of line or on a lure.

The cross-flow and the along-flow on a line are taken apart (the cross-flow, or independence,
principle): each gives its own force per length, from the part of the velocity in its direction.
All SI: lengths [m], speeds [m/s], forces [N], forces per length [N/m].
"""

from __future__ import annotations

import math
from typing import NamedTuple

from towscope.towing.elementary import power
from towscope.towing.jit import inlined, kernel

AXIAL_FRICTION = 0.0075
"""Skin friction coefficient of a long thin line lying exactly along the flow, where no cross-flow
thins the boundary layer: White's law for a turbulent layer on a long cylinder, at half a metre per
second to two, 30 to 60 m of line 0.3 to 1 mm thick, gives 0.006 to 0.009.
White (1972), J. Basic Eng. 94:200-206 (from memory)."""

TAYLOR_FRICTION = 5.4
"""Constant of the along-flow force on a yawed smooth cylinder with a laminar boundary layer.
Taylor (1952), Proc. R. Soc. Lond. A 214:158-183 (from memory)."""


class Skin(NamedTuple):
    """What the water feels of a line.

    Attributes
    ----------
    diameter : float
        Diameter of the line [m].
    normal, friction : float
        Fixed coefficients (on diameter; on wetted surface), or a negative number for the laws.
    normal_scale, friction_scale : float
        Factors on either, for rough sheath and for what calibration has learnt.
    """

    diameter: float
    normal: float
    friction: float
    normal_scale: float
    friction_scale: float


class Fluid(NamedTuple):
    """Water or air: density [kg/m^3] and kinematic viscosity [m^2/s]."""

    density: float
    nu: float


@inlined
def cross_flow_coefficient(reynolds: float) -> float:
    """Drag coefficient of a smooth circular cylinder across the flow, on its diameter.

    Parameters
    ----------
    reynolds : float
        Cross-flow speed times diameter over kinematic viscosity, 1e-4 to 2e5.

    Returns
    -------
    float
        Drag coefficient.

    References
    ----------
    Sucker & Brauer (1975), Waerme- und Stoffuebertragung 8:149-158 (from memory).

    Examples
    --------
    Thin core at 2 mph and 14 degrees meets the water across it at about Re 130:

    >>> round(cross_flow_coefficient(130.0), 2)
    1.39
    """
    re = max(reynolds, 1e-4)
    return (
        1.18
        + 6.8 * power(re, -0.89)
        + 1.96 / math.sqrt(re)
        - 0.0004 * re / (1.0 + 3.64e-7 * re * re)
    )


@inlined
def line_force(
    ux: float,
    uy: float,
    uz: float,
    tx: float,
    ty: float,
    tz: float,
    skin: Skin,
    fluid: Fluid,
) -> tuple[float, float, float]:
    """Force of the water on a line, per length.

    Parameters
    ----------
    ux, uy, uz : float
        Velocity of the water past the line [m/s].
    tx, ty, tz : float
        Unit vector along the line.
    skin : Skin
        The line.
    fluid : Fluid
        The water.

    Returns
    -------
    tuple of float
        Force per length [N/m], three components.

    References
    ----------
    Cross-flow: `cross_flow_coefficient`. Along-flow: Taylor (1952), 5.4 sqrt(nu / d) times the
    root of the cross-flow speed times the along-flow speed, joined in quadrature with the friction
    of a line lying along the flow (`AXIAL_FRICTION`), which alone is left where no cross-flow is.
    """
    along = ux * tx + uy * ty + uz * tz
    nx, ny, nz = ux - along * tx, uy - along * ty, uz - along * tz
    across = math.sqrt(nx * nx + ny * ny + nz * nz)
    half = 0.5 * fluid.density * skin.diameter
    cn = skin.normal
    if not cn >= 0.0:
        cn = cross_flow_coefficient(across * skin.diameter / fluid.nu)
    fn = half * skin.normal_scale * cn * across
    if skin.friction >= 0.0:
        ft = half * skin.friction_scale * math.pi * skin.friction * abs(along)
    else:
        thin = TAYLOR_FRICTION * TAYLOR_FRICTION * fluid.nu / skin.diameter * across
        thick = math.pi * AXIAL_FRICTION * along
        ft = half * skin.friction_scale * math.sqrt(thin + thick * thick)
    ft *= along
    return fn * nx + ft * tx, fn * ny + ft * ty, fn * nz + ft * tz


@kernel
def lure_force(
    ux: float, uy: float, drag_area: float, dive_area: float, weight: float, density: float
) -> tuple[float, float, float]:
    """Force of water and weight on a lure.

    Parameters
    ----------
    ux, uy : float
        Level velocity of the water past the lure [m/s].
    drag_area, dive_area : float
        Areas that, times the dynamic pressure, give drag and downward force [m^2].
    weight : float
        Weight in water [N]; negative floats.
    density : float
        Density of the water [kg/m^3].

    Returns
    -------
    tuple of float
        Force [N] along x, y and up.
    """
    speed = math.sqrt(ux * ux + uy * uy)
    q = 0.5 * density * speed
    return q * drag_area * ux, q * drag_area * uy, -(q * speed * dive_area + weight)
