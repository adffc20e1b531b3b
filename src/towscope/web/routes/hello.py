"""Route for what the page needs first: version, whether this is the demo, and the units."""

from __future__ import annotations

from datetime import datetime
from functools import cache

from fastapi import APIRouter
from pydantic import BaseModel

from towscope import __version__, clock
from towscope.units import KINDS, SYSTEMS, System, parse
from towscope.web.context import Here
from towscope.web.saying import UnitsName, boat_units

router = APIRouter(prefix="/api", tags=["hello"])

# Short things (lures, fish) are told in small units: a kind of its own on the page.
_SMALL = {
    "us": System("us", {"length": ("in", "in", 1)}),
    "metric": System("metric", {"length": ("cm", "cm", 1)}),
}
# And ways over the water in large ones.
_FAR = {
    "us": System("us", {"length": ("mile", "mi", 1)}),
    "metric": System("metric", {"length": ("km", "km", 1)}),
}
# What the hand feels at the rod, as drags are set.
_PULL = {
    "us": System("us", {"force": ("lbf", "lb", 1)}),
    "metric": System("metric", {"force": ("kgf", "kg", 1)}),
}
_KNOTS = System("knots", {"speed": ("knots", "kn", 1)})
# Units that people may type into a field, for each kind; the first spelling of a unit is its own.
_TYPED = {
    "length": ("ft", "'", "foot", "feet", "m", "yd", "in", '"', "cm", "mm", "fathom", "fathoms"),
    "size": ("in", '"', "inch", "inches", "cm", "mm", "ft", "'", "m"),
    "speed": ("mph", "km/h", "kmh", "kph", "kn", "kt", "knots", "m/s"),
    "temperature": ("degF", "F", "°F", "degC", "C", "°C"),
    "force": ("lb", "lbs", "lbf", "N", "kg", "kgf", "oz", "ozf"),
    "mass": ("lb", "lbs", "oz", "kg", "g"),
    "mass_per_length": ("gr/ft", "g/m"),
    "area": ("acres", "acre", "ha", "km^2"),
    "angle": ("°", "deg", "degrees"),
    "ratio": ("%", "percent"),
}


class ShownUnit(BaseModel):
    """How one kind of figure is shown: ``(si - offset) / scale``, with decimals and a label."""

    scale: float
    offset: float
    label: str
    decimals: int


class Typed(BaseModel):
    """What a unit that people type comes to: ``si = figure * scale + offset``."""

    scale: float
    offset: float


class Tables(BaseModel):
    """How figures are shown and read.

    Attributes
    ----------
    units : dict
        System ("us", "us-knots", "metric", "metric-knots") to kind ("length", "speed", ...) to how
        it is shown; "size" is the length of short things, "distance" that of ways over the water.
    typed : dict
        Kind to each unit that may be typed, and what it comes to.
    """

    units: dict[str, dict[str, ShownUnit]]
    typed: dict[str, dict[str, Typed]]


class Hello(Tables):
    """What the page needs to know first.

    Attributes
    ----------
    now : datetime
        The clock of the server.
    boat_units : str or None
        The boat's units; None where nobody has chosen yet.
    """

    version: str
    demo: bool
    lake: str
    now: datetime
    boat_units: UnitsName | None


def _unit(system: System, kind: str) -> ShownUnit:
    scale, offset = system.factor(kind)
    return ShownUnit(
        scale=scale, offset=offset, label=system.label(kind), decimals=system.units[kind][2]
    )


@cache
def tables() -> Tables:
    """Give the units that figures are shown and read in."""
    shown = {
        name: {kind: _unit(system, kind) for kind in system.units}
        | {
            "size": _unit(_SMALL[name], "length"),
            "distance": _unit(_FAR[name], "length"),
            "force": _unit(_PULL[name], "force"),
        }
        for name, system in SYSTEMS.items()
    }
    shown |= {
        f"{name}-knots": {**kinds, "speed": _unit(_KNOTS, "speed")} for name, kinds in shown.items()
    }
    return Tables(
        units=shown,
        typed={
            kind: {unit: _typed(unit, kind) for unit in names} for kind, names in _TYPED.items()
        },
    )


def _typed(unit: str, kind: str) -> Typed:
    kind = kind if kind in KINDS else "length"
    zero, one = parse(f"0 {unit}", kind), parse(f"1 {unit}", kind)
    return Typed(scale=one - zero, offset=zero)


@router.get("/hello")
def hello(here: Here) -> Hello:
    """Say who answers, and in what units people may have it."""
    return Hello(
        version=__version__,
        demo=here.demo,
        lake=here.lake,
        boat_units=boat_units(),
        now=clock.now(),
        units=tables().units,
        typed=tables().typed,
    )
