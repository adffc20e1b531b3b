"""The boat's units: one choice for all phones, so that all read what the helm reads."""

from __future__ import annotations

import json

from fastapi import APIRouter
from pydantic import BaseModel

from towscope.files import home, write_whole
from towscope.web.context import Here
from towscope.web.saying import KEPT, UnitsName, boat_units

router = APIRouter(prefix="/api", tags=["units"])


class BoatUnits(BaseModel):
    """The boat's units.

    Attributes
    ----------
    units : str or None
        "us" (feet, mph), "us-knots", "metric" (metres, km/h) or "metric-knots"; None where nobody
        has chosen yet.
    """

    units: UnitsName | None


class Chosen(BaseModel):
    """What was chosen.

    Attributes
    ----------
    first : bool
        Whether it counts only where nobody has chosen yet.
    """

    units: UnitsName
    first: bool = False


@router.get("/units")
def units() -> BoatUnits:
    """Give the boat's units."""
    return BoatUnits(units=boat_units())


@router.put("/units")
def choose(chosen: Chosen, here: Here) -> BoatUnits:
    """Take the boat's units, and tell all phones."""
    before = boat_units()
    if chosen.first and before is not None:
        return BoatUnits(units=before)
    home().mkdir(parents=True, exist_ok=True)
    write_whole(home() / KEPT, json.dumps({"units": chosen.units}).encode() + b"\n")
    told = BoatUnits(units=chosen.units)
    if here.live is not None:
        here.live.listeners.tell("units", told.model_dump_json().encode())
    return told
