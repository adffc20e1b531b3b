"""What the day ahead looks like: sun and low light, the water's layers, what to mind."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated, Any, Final

import numpy as np
from fastapi import APIRouter, Query
from pydantic import BaseModel, Field

from towscope.bed import store
from towscope.effort.fished import present
from towscope.errors import InputError
from towscope.journal.replay import Weather, weather
from towscope.sheets.cautions import ON_THE_WATER
from towscope.sky import beaufort, sun, thermocline
from towscope.units import SYSTEMS
from towscope.web.context import Aboard, Here
from towscope.web.routes.days import Units, day_of

router = APIRouter(prefix="/api/plan", tags=["plan"])

Span = tuple[datetime, datetime]
NOTED_LATELY_S: Final = 18 * 3600.0  # wind and water noted longer ago say nothing about today


class Sun(BaseModel):
    """Sun and moon of a day on the boat's clock; None and no times for what does not happen.

    Attributes
    ----------
    sun_grazes : bool
        Whether the sun only just touches the horizon, so that the air decides when it shows.
    """

    dawn: datetime | None
    sunrise: datetime | None
    noon: datetime
    sunset: datetime | None
    dusk: datetime | None
    low_light: list[Span]
    moonrises: list[datetime]
    moonsets: list[datetime]
    moon_age_days: float
    moon_phase: str
    moon_always: str | None
    sun_always: str | None
    sun_grazes: bool


class Water(BaseModel):
    """Sky, wind and water as last noted, and when."""

    at: datetime
    sky: str | None
    wind_m_s: float | None
    wind_from: str | None
    surface_temp_c: float | None
    clarity_m: float | None


class Plan(BaseModel):
    """The day ahead.

    Attributes
    ----------
    place : str
        Whose sun this is: a lake's name, "where the boat last was", or "" where no place is known.
    sun : Sun or None
        None where no place is known.
    lakes : list of str
        Lakes that are kept, to choose from.
    noted : Water or None
        What was noted within the last hours, to begin from.
    cautions : list of str
        What can hurt somebody.
    """

    day: str
    place: str
    lat: float | None
    lon: float | None
    sun: Sun | None
    lakes: list[str]
    noted: Water | None
    cautions: list[str]


class Reading(BaseModel):
    """The temperature [degC] at a depth [m]."""

    depth_m: Annotated[float, Field(ge=0.0, le=300.0)]
    temperature_c: Annotated[float, Field(ge=-2.0, le=45.0)]


class Readings(BaseModel):
    """A temperature profile typed in, and where the lure is to run [m]."""

    readings: Annotated[list[Reading], Field(max_length=200)]
    lure_depth_m: Annotated[float | None, Field(ge=0.0, le=300.0)] = None
    units: Units = "us"


class Layers(BaseModel):
    """How the water is layered, and the warning where the lure would run below it."""

    thermocline_m: float | None
    metalimnion_m: tuple[float, float] | None
    steepest_degc_per_m: float
    surface_degc: float
    method: str
    depth_m: float | None
    below_thermocline: bool
    warning: str | None


class Wind(BaseModel):
    """A wind on Beaufort's scale: what the water does, and what that means for a small boat."""

    number: int
    name: str
    water: str
    caution: str


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
    found = sun.day(*at, on, now.tzinfo or UTC) if at is not None else None
    return Plan(
        day=on.isoformat(),
        place=place,
        lat=at[0] if at else None,
        lon=at[1] if at else None,
        sun=Sun(**sun.figures(found)) if found is not None else None,
        lakes=store.names(),
        noted=_noted(here, now),
        cautions=list(ON_THE_WATER),
    )


def _place(
    here: Aboard, lake: str, lat: float | None, lon: float | None
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


def _noted(here: Aboard, now: datetime) -> Water | None:
    last = here.store.last_day()
    told = weather(here.store.day(last).events) if last is not None else []
    if not told or now.timestamp() - told[-1][0] > NOTED_LATELY_S:
        return None
    at, known = told[-1]
    figures: dict[str, Any] = {name: getattr(known, name) for name in Weather.__dataclass_fields__}
    return Water(at=datetime.fromtimestamp(at, now.tzinfo), **figures)


@router.post("/column")
def layers(told: Readings) -> Layers:
    """Find the thermocline in temperatures typed in, and warn where the lure would be below it."""
    rows = sorted((r.depth_m, r.temperature_c) for r in told.readings)
    typed = thermocline.Column(
        np.array([depth for depth, _ in rows]), np.array([temp for _, temp in rows])
    )
    found = thermocline.layers(typed)
    figures = thermocline.figures(typed, found, told.lure_depth_m)
    if told.lure_depth_m is not None:
        figures["warning"] = thermocline.warning_in(found, told.lure_depth_m, SYSTEMS[told.units])
    return Layers(**figures)


@router.get("/wind")
def wind(wind_m_s: Annotated[float, Query(ge=0.0, le=60.0)]) -> Wind:
    """Say what a wind does to the water, and what that means for a small boat with lines out."""
    found = beaufort.force(wind_m_s)
    return Wind(number=found.number, name=found.name, water=found.water, caution=found.caution)
