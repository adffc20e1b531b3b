"""What the page needs to know first: version, whether this is the made-up day, and the units."""

from __future__ import annotations

from datetime import UTC, datetime

from fastapi import APIRouter
from pydantic import BaseModel

from towscope import __version__
from towscope.units import SYSTEMS, System
from towscope.web.aboard import Here

router = APIRouter(prefix="/api", tags=["hello"])


class Unit(BaseModel):
    """How one kind of figure is shown: ``(si - offset) / scale``, with decimals and a label."""

    scale: float
    offset: float
    label: str
    decimals: int


class Hello(BaseModel):
    """What the page needs to know first.

    Attributes
    ----------
    units : dict
        System ("us", "metric") to kind ("length", "speed", ...) to how it is shown.
    now : datetime
        The clock of the server.
    """

    version: str
    demo: bool
    lake: str
    units: dict[str, dict[str, Unit]]
    now: datetime


def _unit(system: System, kind: str) -> Unit:
    zero, one = system.to_si(0.0, kind), system.to_si(1.0, kind)
    return Unit(
        scale=one - zero, offset=zero, label=system.label(kind), decimals=system.units[kind][2]
    )


@router.get("/hello")
def hello(here: Here) -> Hello:
    """Say who answers, and in what units people may have it."""
    return Hello(
        version=__version__,
        demo=here.demo,
        lake=here.lake,
        units={
            name: {kind: _unit(system, kind) for kind in system.units}
            for name, system in SYSTEMS.items()
        },
        now=datetime.now(UTC),
    )
