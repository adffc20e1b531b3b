"""Routes for the day ahead: where it is, what was noted, the water's layers, safety."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Annotated, Final

from fastapi import APIRouter, Query
from pydantic import BaseModel, Field
from typing_extensions import TypedDict

from towscope.answers import sky
from towscope.bed import store
from towscope.effort.fished import present
from towscope.errors import InputError
from towscope.journal.replay import weather
from towscope.retold import retold
from towscope.sheets.cautions import ON_THE_WATER
from towscope.sky import thermocline
from towscope.web.context import AppContext, Here
from towscope.web.routes.days import day_of
from towscope.web.saying import SystemName
from towscope.words import shown_in

router = APIRouter(prefix="/api/plan", tags=["plan"])

NOTED_LATELY_S: Final = 18 * 3600.0  # wind and water noted longer ago say nothing about today


class WaterNoted(TypedDict):
    """Sky, wind and water as last noted, and when."""

    at: datetime
    sky: str | None
    wind_m_s: float | None
    wind_from: str | None
    surface_temp_c: float | None
    clarity_m: float | None


class Plan(TypedDict):
    """The day ahead.

    Attributes
    ----------
    place : str
        Where it is: a lake's name, "where the boat last was", or "" where no place is known.
    lat, lon : float or None
        That place [degrees]; the pages work its sun and moon out.
    lakes : list of str
        Lakes that are kept, to choose from.
    noted : WaterNoted or None
        What was noted within the last hours, to begin from.
    cautions : list of str
        What can hurt somebody.
    """

    day: str
    place: str
    lat: float | None
    lon: float | None
    lakes: list[str]
    noted: WaterNoted | None
    cautions: list[str]


class TemperatureAt(BaseModel):
    """The temperature [degC] at a depth [m]."""

    depth_m: Annotated[float, Field(ge=0.0, le=300.0)]
    temperature_c: Annotated[float, Field(ge=-2.0, le=45.0)]


class Readings(BaseModel):
    """A temperature profile typed in, and where the lure is to run [m]."""

    readings: Annotated[list[TemperatureAt], Field(max_length=200)]
    lure_depth_m: Annotated[float | None, Field(ge=0.0, le=300.0)] = None
    units: SystemName = "us"


@router.get("")
def plan(
    here: Here,
    lake: Annotated[str, Query(max_length=80)] = "",
    day: Annotated[str, Query(max_length=20)] = "today",
    lat: Annotated[float | None, Query(ge=-90.0, le=90.0)] = None,
    lon: Annotated[float | None, Query(ge=-180.0, le=180.0)] = None,
) -> Plan:
    """Give the day ahead at a lake, at a place, or else where the boat is or last was."""
    now = present()[0]
    on = day_of(day, now.date())
    place, at = _place(here, lake, lat, lon)
    return {
        "day": on.isoformat(),
        "place": place,
        "lat": at[0] if at else None,
        "lon": at[1] if at else None,
        "lakes": store.names(),
        "noted": _noted(here, now),
        "cautions": list(ON_THE_WATER),
    }


def _place(
    here: AppContext, lake: str, lat: float | None, lon: float | None
) -> tuple[str, tuple[float, float] | None]:
    if (lat is None) != (lon is None):
        raise InputError("a place has both lat and lon, or neither")
    if lat is not None and lon is not None:
        return f"{lat:.4f}, {lon:.4f}", (lat, lon)
    name = lake or here.lake
    if name:
        facts = store.facts(name)
        return str(facts["name"]), (float(facts["latitude"]), float(facts["longitude"]))
    last = here.store.last_day()
    if last is not None:
        track = here.store.track(last)
        if len(track):
            return "where the boat last was", (float(track.lat[-1]), float(track.lon[-1]))
        for event in reversed(here.store.day(last).events):
            if event.lat is not None and event.lon is not None:
                return "where the last entry was made", (event.lat, event.lon)
    return "", None


def _noted(here: AppContext, now: datetime) -> WaterNoted | None:
    last = here.store.last_day()
    told = weather(here.store.day(last).events) if last is not None else []
    if not told or now.timestamp() - told[-1][0] > NOTED_LATELY_S:
        return None
    at, known = told[-1]
    return WaterNoted(
        at=datetime.fromtimestamp(at, now.tzinfo),
        sky=known.sky,
        wind_m_s=known.wind_m_s,
        wind_from=known.wind_from,
        surface_temp_c=known.surface_temp_c,
        clarity_m=known.clarity_m,
    )


@router.post("/column")
def layers(told: Readings) -> thermocline.Layers:
    """Find the thermocline in temperatures typed in, and warn where the lure would be below it."""
    shown_in(told.units)
    found = sky.thermocline(
        [(r.depth_m, r.temperature_c) for r in told.readings], told.lure_depth_m
    )
    return replace(found, warning=retold(found.warning or "", told.units) or None)
