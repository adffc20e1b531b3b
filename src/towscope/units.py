"""Quantities with units, read as people write them, and shown as they would.

Every figure that enters or leaves towscope as text passes here; inside, all is SI. The unit
definitions are a short list of our own (`towscope.unit_table`).
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache
from typing import Final

from towscope.constants import GRAVITY
from towscope.errors import InputError, one_line
from towscope.unit_table import Unit, read_unit
from towscope.words import feet


@dataclass(frozen=True)
class Kind:
    """One kind of quantity: its SI unit, examples for messages, and what is physically sane."""

    name: str
    si: str
    examples: str
    low: float
    high: float


KINDS: Final[dict[str, Kind]] = {
    k.name: k
    for k in (
        Kind("length", "meter", '"31 ft", "52 yd" or "9.5 m"', -1e5, 1e6),
        Kind("speed", "meter / second", '"1.9 mph", "3 km/h" or "0.9 m/s"', -30.0, 30.0),
        Kind("temperature", "degC", '"70 degF" or "21 degC"', -60.0, 60.0),
        Kind("force", "newton", '"18 lb" or "80 N"', -1e5, 1e5),
        Kind("mass_per_length", "kilogram / meter", '"2.3 g/m" or "11 gr/ft"', 0.0, 10.0),
        Kind("force_per_length", "newton / meter", '"0.02 N/m"', -10.0, 10.0),
        Kind("area", "meter ** 2", '"4 cm^2"', -1e12, 1e12),
        Kind("volume", "meter ** 3", '"30 cm^3"', 0.0, 1e12),
        Kind("mass", "kilogram", '"12 g" or "0.4 oz"', 0.0, 1e6),
        Kind("density", "kilogram / meter ** 3", '"998.2 kg/m^3"', 0.0, 3e4),
        Kind("viscosity", "pascal * second", '"1.0e-3 Pa*s"', 0.0, 10.0),
        Kind("time", "second", '"10 min" or "1 s"', -1e10, 1e10),
        Kind("angle", "degree", '"30 deg"', -720.0, 720.0),
        Kind("ratio", "", '"15 %" or "0.15"', -1e9, 1e9),
    )
}

_NUMBER: Final = r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?"
_UNIT: Final = r"(?:['\"′″]|[A-Za-zµ°%][A-Za-z0-9µ°%/*^·.-]*)"
_TERM: Final = re.compile(rf"\s*({_NUMBER})\s*({_UNIT}(?:\s+per\s+{_UNIT})?)?\s*")
_COLOURS: Final = re.compile(rf"\s*({_NUMBER})\s*(?:colou?rs?)\s*", re.IGNORECASE)
# What people write that a units library spells otherwise; matched on the whole unit.
_SPELLINGS: Final[dict[str, str]] = {
    "'": "ft",
    '"': "in",
    "′": "ft",
    "″": "in",
    "ft.": "ft",
    "in.": "in",
    "f": "degF",
    "c": "degC",
    "°f": "degF",
    "°c": "degC",
    "deg f": "degF",
    "deg c": "degC",
    "%": "percent",
    "km/hr": "km/h",
    "mi/h": "mph",
    "°": "degree",
}
MAX_TEXT: Final = 200


@cache
def _si(kind: str) -> Unit:
    """Give the unit that figures of a kind are held in."""
    unit = read_unit(KINDS[kind].si) if KINDS[kind].si else Unit(1.0, (0, 0, 0, 0, 0))
    assert unit is not None, kind
    return unit


def _factor(text: str, kind: str) -> tuple[float, float]:
    """Scale and offset that take a figure in a unit to SI, or raise InputError."""
    spec, si = KINDS[kind], _si(kind)
    spelled = _SPELLINGS.get(text.lower(), text)
    unit = read_unit(spelled) or read_unit(spelled.lower())
    if unit is None:
        raise InputError(
            f'unknown unit "{one_line(text, 40)}"; expected {spec.name.replace("_", " ")} '
            f"such as {spec.examples}"
        )
    if kind == "force" and unit.dimension == _si("mass").dimension:
        # what strength and drag are given in: 18 lb of pull, 8 kg of pull
        return unit.scale * GRAVITY / si.scale, 0.0
    if unit.dimension != si.dimension:
        raise InputError(
            f'"{one_line(text, 40)}" is no unit of {spec.name.replace("_", " ")}; '
            f"expected for example {spec.examples}"
        )
    return unit.scale / si.scale, (unit.offset - si.offset) / si.scale


def parse(text: object, kind: str, *, color_length_m: float | None = None) -> float:
    """Read a quantity as people write it.

    Parameters
    ----------
    text : str
        A number and its unit: ``"31 ft"``, ``"1.9 mph"``, ``"5 ft 6 in"``, ``"4.5 colors"``.
    kind : str
        What it should be, a key of `KINDS`.
    color_length_m : float, optional
        Length of one colour [m] where a coded line defines it; without it colours are refused.

    Returns
    -------
    float
        The figure in SI (temperatures in degC, angles in degrees, ratios as a fraction).

    Raises
    ------
    InputError
        Where the unit is missing, unknown or of another kind, or the figure is absurd.

    Examples
    --------
    >>> round(parse("31 ft", "length"), 4)
    9.4488
    >>> round(parse("4.5 colors", "length", color_length_m=9.144), 3)
    41.148
    >>> parse("70 degF", "temperature") - parse("0 degF", "temperature") > 38.8
    True
    >>> parse("31", "length")  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    towscope.errors.InputError: "31" has no unit; expected length such as "31 ft", ...
    """
    spec = KINDS[kind]
    expected = f"{spec.name.replace('_', ' ')} such as {spec.examples}"
    if not isinstance(text, str):
        raise InputError(f"{one_line(repr(text), 40)} is not text with a unit; expected {expected}")
    shown = f'"{one_line(text, 40)}"'
    if not text.strip():
        raise InputError(f"empty; expected {expected}")
    if len(text) > MAX_TEXT:
        raise InputError(f"{shown} is far too long; expected {expected}")
    value = _value(text.replace("−", "-"), shown, spec, expected, color_length_m)
    if not math.isfinite(value):
        raise InputError(f"{shown} is not a finite number; expected {expected}")
    if not spec.low <= value <= spec.high:
        raise InputError(f"{shown} is out of all reason; expected {expected}")
    return value


def parse_wind(text: str) -> float:
    """Read a wind's speed: as `parse` does, or as a force of Beaufort's scale.

    Parameters
    ----------
    text : str
        ``"8 mph"``, ``"3 bft"``, ``"force 3"``.

    Returns
    -------
    float
        Speed [m/s]; of a force, the middle of its range.

    Raises
    ------
    InputError
        As `parse` says, or where there is no such force.

    References
    ----------
    World Meteorological Organization (1970), Reports on Marine Science Affairs 3, "The Beaufort
    scale of wind force": 0.836 times the force to the power 3/2 (from memory).

    Examples
    --------
    >>> round(parse_wind("3 bft"), 1), round(parse_wind("8 mph"), 1)
    (4.3, 3.6)
    """
    match = _BEAUFORT.fullmatch(text.strip())
    if match is None:
        return parse(text, "speed")
    force = int(match[1] or match[2])
    if force > 12:
        raise InputError(f'"{one_line(text, 40)}": Beaufort\'s scale ends at 12')
    return 0.836 * float(force**1.5)


def _value(text: str, shown: str, spec: Kind, expected: str, color_length_m: float | None) -> float:
    if spec.name == "length" and (match := _COLOURS.fullmatch(text)):
        if color_length_m is None:
            raise InputError(
                f"{shown}: colours count only on a colour-coded line; expected ft, yd or m"
            )
        return _number(match[1]) * color_length_m
    total, position, terms = 0.0, 0, 0
    while position < len(text):
        match = _TERM.match(text, position)
        if match is None:
            raise InputError(f"cannot read {shown}; expected {expected}")
        unit = (match[2] or "").strip()
        # "2 deg F" and "3 m / s" hold a space inside the unit
        tail = re.match(rf"\s*([/*]\s*{_UNIT}|[FCfc]\b)", text[match.end() :]) if unit else None
        end = match.end() + (tail.end() if tail else 0)
        unit = f"{unit} {tail[1]}".replace(" /", "/").replace("/ ", "/") if tail else unit
        if not unit:
            if spec.name != "ratio":
                raise InputError(f"{shown} has no unit; expected {expected}")
            unit = "dimensionless"
        scale, offset = (
            (1.0, 0.0)
            if unit == "dimensionless"
            else _factor(unit.replace(" per ", "/"), spec.name)
        )
        total += _number(match[1]) * scale + offset
        position, terms = end, terms + 1
    if terms > 1 and spec.name not in ("length", "mass", "time"):
        raise InputError(f"cannot read {shown}; expected {expected}")
    return total


def _number(text: str) -> float:
    if re.fullmatch(r"[+-]?\d+,\d{3}", text):  # 1,000: a thousand here, one and no more there
        raise InputError(f'"{text}" can be read two ways; write {text.replace(",", "")} or 1.5')
    return float(text.replace(",", "."))


_BEAUFORT = re.compile(
    r"(?:force|f|bft|beaufort)\s*(\d{1,2})|(\d{1,2})\s*(?:bft|beaufort|bf)", re.IGNORECASE
)


@dataclass(frozen=True)
class System:
    """How figures are shown: one unit and number of decimals for each kind.

    Attributes
    ----------
    name : str
        ``"us"`` or ``"metric"``.
    units : dict
        Kind to (unit as the library reads it, unit as shown, decimals).
    """

    name: str
    units: dict[str, tuple[str, str, int]]

    def convert(self, value: float, kind: str) -> float:
        """Give an SI figure in this system's unit.

        >>> round(US.convert(9.4488, "length"), 3)
        31.0
        """
        scale, offset = self.factor(kind)
        return (value - offset) / scale

    def factor(self, kind: str) -> tuple[float, float]:
        """Give scale and offset that take a figure in this system's unit to SI."""
        return _factor(self.units[kind][0], kind)

    def to_si(self, value: float, kind: str) -> float:
        """Give a figure in this system's unit in SI."""
        scale, offset = self.factor(kind)
        return value * scale + offset

    def label(self, kind: str) -> str:
        """Give the unit as it is shown."""
        return self.units[kind][1]

    def show(self, value: float, kind: str, decimals: int | None = None) -> str:
        """Write an SI figure as people write it.

        >>> US.show(9.4488, "length"), METRIC.show(9.4488, "length")
        ('31 ft', '9.4 m')
        >>> US.show(0.894, "speed")
        '2.0 mph'
        """
        places = self.units[kind][2] if decimals is None else decimals
        figure = round(self.convert(value, kind), places) + 0.0  # no "-0"
        return f"{figure:.{places}f} {self.label(kind)}"

    def given(self, value: float, kind: str) -> str:
        """Write an SI figure as it was given: with one decimal more where the usual ones cut it.

        >>> US.given(10.5156, "length"), US.given(9.144, "length")
        ('34.5 ft', '30 ft')
        """
        usual, figure = self.units[kind][2], self.convert(value, kind)
        more = round(figure, usual + 1) != round(figure, usual)
        return self.show(value, kind, usual + more)

    def range(self, low: float, high: float, kind: str, decimals: int | None = None) -> str:
        """Write two SI figures as one span.

        >>> US.range(8.2, 9.1, "length")
        '27 to 30 ft'
        """
        places = self.units[kind][2] if decimals is None else decimals
        a, b = (round(self.convert(v, kind), places) + 0.0 for v in (low, high))
        return f"{a:.{places}f} to {b:.{places}f} {self.label(kind)}"


US: Final = System(
    "us",
    {
        "length": ("foot", "ft", 0),
        "speed": ("mph", "mph", 1),
        "temperature": ("degF", "°F", 0),
        "force": ("lbf", "lb", 1),
        "mass": ("pound", "lb", 1),
        "mass_per_length": ("grain / foot", "gr/ft", 1),
        "area": ("acre", "acres", 0),
        "angle": ("degree", "°", 0),
        "ratio": ("percent", "%", 0),
    },
)
METRIC: Final = System(
    "metric",
    {
        "length": ("meter", "m", 1),
        "speed": ("km/h", "km/h", 1),
        "temperature": ("degC", "°C", 0),
        "force": ("newton", "N", 0),
        "mass": ("kilogram", "kg", 2),
        "mass_per_length": ("gram / meter", "g/m", 2),
        "area": ("hectare", "ha", 1),
        "angle": ("degree", "°", 0),
        "ratio": ("percent", "%", 0),
    },
)
SYSTEMS: Final = {"us": US, "metric": METRIC}


def shown_units(name: str | None = None) -> System:
    """Give the unit system of that name, else the one that this answer is shown in.

    >>> shown_units("metric").name, shown_units().name
    ('metric', 'us')
    """
    return SYSTEMS[name or ("us" if feet() else "metric")]
