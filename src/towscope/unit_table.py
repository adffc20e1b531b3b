"""Unit texts read by a short grammar over a list of names: "km/h", "kg/m^3", "mile per hour".

Nothing is evaluated: a unit text is at most six names from the list, each with a power of one
digit, joined by ``*``, ``/`` or "per". It gives a factor to SI, an offset (temperatures alone have
one) and a dimension.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from towscope.constants import FOOT, GRAVITY, KNOT, NAUTICAL_MILE, POUND

Dimension = tuple[int, int, int, int, int]  # powers of metre, kilogram, second, kelvin, radian

_NONE: Final[Dimension] = (0, 0, 0, 0, 0)
_LENGTH: Final[Dimension] = (1, 0, 0, 0, 0)
_MASS: Final[Dimension] = (0, 1, 0, 0, 0)
_TIME: Final[Dimension] = (0, 0, 1, 0, 0)
_TEMPERATURE: Final[Dimension] = (0, 0, 0, 1, 0)
_ANGLE: Final[Dimension] = (0, 0, 0, 0, 1)
_SPEED: Final[Dimension] = (1, 0, -1, 0, 0)
_FORCE: Final[Dimension] = (1, 1, -2, 0, 0)
_PRESSURE: Final[Dimension] = (-1, 1, -2, 0, 0)
_VISCOSITY: Final[Dimension] = (-1, 1, -1, 0, 0)
_VOLUME: Final[Dimension] = (3, 0, 0, 0, 0)
_AREA: Final[Dimension] = (2, 0, 0, 0, 0)


@dataclass(frozen=True)
class Unit:
    """What a unit text means: SI = figure * `scale` + `offset`, and of what dimension."""

    scale: float
    dimension: Dimension
    offset: float = 0.0


# Exact by definition: international yard and pound (1959), nautical mile (1929), standard gravity
# (3rd CGPM, 1901), as listed in NIST SP 811, appendix B. Temperatures come out in kelvin.
_NAMES: Final[tuple[tuple[str, Unit], ...]] = (
    ("m meter meters metre metres", Unit(1.0, _LENGTH)),
    ("s sec second seconds", Unit(1.0, _TIME)),
    ("g gram grams", Unit(1e-3, _MASS)),
    ("K kelvin", Unit(1.0, _TEMPERATURE)),
    ("rad radian radians", Unit(1.0, _ANGLE)),
    ("deg degree degrees °", Unit(math.pi / 180.0, _ANGLE)),
    ("percent pct %", Unit(0.01, _NONE)),
    ("min minute minutes", Unit(60.0, _TIME)),
    ("h hr hour hours", Unit(3600.0, _TIME)),
    ("in inch inches", Unit(FOOT / 12, _LENGTH)),
    ("ft foot feet", Unit(FOOT, _LENGTH)),
    ("yd yard yards yds", Unit(3 * FOOT, _LENGTH)),
    ("mi mile miles", Unit(5280 * FOOT, _LENGTH)),
    ("nmi nautical_mile nautical_miles", Unit(NAUTICAL_MILE, _LENGTH)),
    ("fathom fathoms", Unit(6 * FOOT, _LENGTH)),
    ("mph mile_per_hour", Unit(5280 * FOOT / 3600, _SPEED)),
    ("kph kmh kilometer_per_hour", Unit(1000 / 3600, _SPEED)),
    ("kn kt kts knot knots", Unit(KNOT, _SPEED)),
    ("N newton newtons", Unit(1.0, _FORCE)),
    ("lb lbs pound pounds", Unit(POUND, _MASS)),
    ("oz ounce ounces", Unit(POUND / 16, _MASS)),
    ("gr grain grains", Unit(POUND / 7000, _MASS)),
    ("lbf pound_force", Unit(POUND * GRAVITY, _FORCE)),
    ("ozf ounce_force", Unit(POUND * GRAVITY / 16, _FORCE)),
    ("kgf kilogram_force", Unit(GRAVITY, _FORCE)),
    ("Pa pascal pascals", Unit(1.0, _PRESSURE)),
    ("P poise", Unit(0.1, _VISCOSITY)),
    ("l L liter liters litre litres", Unit(1e-3, _VOLUME)),
    ("ha hectare hectares", Unit(1e4, _AREA)),
    ("acre acres", Unit(4840 * (3 * FOOT) ** 2, _AREA)),
    ("degC celsius °C", Unit(1.0, _TEMPERATURE, 273.15)),
    ("degF fahrenheit °F", Unit(5 / 9, _TEMPERATURE, 273.15 - 160 / 9)),
)
_UNITS: Final = {name: unit for names, unit in _NAMES for name in names.split()}
_PREFIXES: Final = (
    (
        {"n": 1e-9, "µ": 1e-6, "u": 1e-6, "m": 1e-3, "c": 1e-2, "h": 1e2, "k": 1e3},
        "m s g N Pa P l L",
    ),
    (
        {"nano": 1e-9, "micro": 1e-6, "milli": 1e-3, "centi": 1e-2, "hecto": 1e2, "kilo": 1e3},
        "meter meters metre metres second seconds gram grams newton newtons pascal pascals "
        "poise liter liters litre litres",
    ),
)
# A name that stands in the list itself wins over a prefix and a name ("min" is no milli-inch).
UNITS: Final = {
    **{
        prefix + name: Unit(factor * _UNITS[name].scale, _UNITS[name].dimension)
        for factors, names in _PREFIXES
        for prefix, factor in factors.items()
        for name in names.split()
    },
    **_UNITS,
}

MOST_FACTORS: Final = 6
_FACTOR: Final = re.compile(r"\s*([^\W\d]+|%|°[CF]?)\s*(?:(?:\^|\*\*)\s*(-?[1-9])(?!\d))?\s*")
_JOIN: Final = re.compile(r"per\b|[*·/]|(?=[^\W\d])")


@lru_cache(maxsize=512)
def read_unit(text: str) -> Unit | None:
    """Read a unit text; None where it is none.

    Parameters
    ----------
    text : str
        As people write it, no longer than a figure's text may be.

    Returns
    -------
    Unit or None
        Factor, offset and dimension.

    Examples
    --------
    >>> read_unit("kg/m^3").dimension
    (-3, 1, 0, 0, 0)
    >>> read_unit("miles per hour").scale
    0.44704
    >>> read_unit("m^9^9^9") is None
    True
    """
    scale, powers, offset = 1.0, [0] * 5, 0.0
    position, sign, count = 0, 1, 0
    while True:
        match = _FACTOR.match(text, position)
        unit = UNITS.get(match[1]) if match else None
        if match is None or unit is None or (count := count + 1) > MOST_FACTORS:
            return None
        power = sign * int(match[2] or 1)
        scale *= unit.scale**power
        powers = [have + power * of for have, of in zip(powers, unit.dimension, strict=True)]
        offset, position = offset or unit.offset, match.end()
        if position == len(text):
            break
        join = _JOIN.match(text, position)
        if join is None:
            return None
        sign, position = (-1 if join[0] in ("/", "per") else 1), join.end()
    if offset and (count > 1 or powers != list(unit.dimension)):
        return None  # a degree of a scale with its own zero stands alone
    lengths, masses, times, temperatures, angles = powers
    return Unit(scale, (lengths, masses, times, temperatures, angles), offset)
