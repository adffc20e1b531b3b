"""Published formulas for the density and viscosity of fresh water at a temperature."""

from __future__ import annotations

import math
from dataclasses import dataclass

from towscope.constants import GRAVITY
from towscope.errors import InputError

LOW_C, HIGH_C = 0.0, 35.0
# Air at 20 degC and 101.325 kPa (US Standard Atmosphere 1976 relations); the few metres of line in
# the air feel so little of it that its temperature does not matter.
AIR_DENSITY = 1.204
AIR_KINEMATIC_VISCOSITY = 1.51e-5


@dataclass(frozen=True)
class Water:
    """Fresh water at one state.

    Attributes
    ----------
    density : float
        Density [kg/m^3].
    viscosity : float
        Dynamic viscosity [Pa s].
    temperature : float or None
        Temperature [degC], where the state was given by one.
    """

    density: float
    viscosity: float
    temperature: float | None = None

    @property
    def kinematic_viscosity(self) -> float:
        """Kinematic viscosity [m^2/s]."""
        return self.viscosity / self.density


def density(temperature: float) -> float:
    """Density of fresh water at atmospheric pressure.

    Parameters
    ----------
    temperature : float
        Water temperature [degC], 0 to 35.

    Returns
    -------
    float
        Density [kg/m^3].

    Raises
    ------
    InputError
        Where the temperature is outside 0 to 35 degC.

    References
    ----------
    Tanaka, Girard, Davis, Peuto & Bignell (2001), Metrologia 38:301-309, eq. 1.

    Examples
    --------
    How much lighter is a litre of August water (70 degF) than one at ice-out (39 degF)?

    >>> round(density(4.0) - density(21.1), 1)
    2.0
    """
    return density_at(_checked(temperature))


def viscosity(temperature: float) -> float:
    """Dynamic viscosity of fresh water at atmospheric pressure.

    Parameters
    ----------
    temperature : float
        Water temperature [degC], 0 to 35.

    Returns
    -------
    float
        Dynamic viscosity [Pa s].

    Raises
    ------
    InputError
        Where the temperature is outside 0 to 35 degC.

    References
    ----------
    Kestin, Sokolov & Wakeham (1978), J. Phys. Chem. Ref. Data 7:941-948, eq. 15.

    Examples
    --------
    >>> round(viscosity(20.0) * 1e3, 3)
    1.002
    """
    return viscosity_at(_checked(temperature))


def fresh_water(temperature: float = 20.0) -> Water:
    """Give fresh water at a temperature [degC].

    Examples
    --------
    >>> water = fresh_water(21.0)
    >>> round(water.density, 1), round(water.kinematic_viscosity * 1e6, 2)
    (998.0, 0.98)
    """
    return Water(density(temperature), viscosity(temperature), temperature)


# Plain figures in and out: the portable core is made from these very lines.


def density_at(t: float) -> float:
    """Density at a temperature that is known to be possible; see `density`."""
    return 999.974950 * (1.0 - (t - 3.983035) ** 2 * (t + 301.797) / (522528.9 * (t + 69.34881)))


def viscosity_at(t: float) -> float:
    """Viscosity at a temperature that is known to be possible; see `viscosity`."""
    below = 20.0 - t
    exponent = below / (t + 96.0) * (1.2364 - 1.37e-3 * below + 5.7e-6 * below**2)
    return 1.002e-3 * math.pow(10.0, exponent)


def weight_of_soaked(mass: float, diameter: float, solid: float, density: float) -> float:
    """Weight of line in water [N/m]: its mass [kg/m] less the water that it takes the place of.

    Parameters
    ----------
    mass, diameter : float
        Mass per length [kg/m] and outer diameter [m].
    solid : float
        Share of the cross-section that is line rather than water once soaked.
    density : float
        Of the water [kg/m^3].
    """
    displaced = density * math.pi / 4.0 * diameter**2 * solid
    return (mass - displaced) * GRAVITY


def _checked(temperature: float) -> float:
    if not LOW_C <= temperature <= HIGH_C:
        raise InputError(
            f"water at {temperature:g} degC; expected {LOW_C:g} to {HIGH_C:g} degC (32 to 95 degF)"
        )
    return float(temperature)
