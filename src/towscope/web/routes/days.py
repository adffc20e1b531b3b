"""A day on the water as a screen shows it: its timeline, its entries, and the report of it."""

from __future__ import annotations

from datetime import UTC, date
from typing import Annotated, Any, Final, Literal

from fastapi import APIRouter, Query, Response
from pydantic import BaseModel

from towscope.effort.fished import present
from towscope.effort.timeline import entry_figures, timeline
from towscope.errors import InputError, NoAnswer, one_line
from towscope.fish import weigh
from towscope.journal.replay import Journal
from towscope.journal.times import day_at, parse_day
from towscope.sky import sun
from towscope.units import SYSTEMS
from towscope.web.answer_cache import kept_of
from towscope.web.context import Aboard, Here

router = APIRouter(prefix="/api/days", tags=["days"])

Units = Literal["us", "metric"]
LIVE_STEP_S: Final = 60.0


class DayRow(BaseModel):
    """One line of the list of days."""

    day: str
    entries: int
    catches: int
    track_points: int


class Days(BaseModel):
    """The days there are, latest first; what "today" is on the boat's clock."""

    today: str
    days: list[DayRow]


class Span(BaseModel):
    """A rod with a line out and nothing changed; times in unix seconds, all else in SI."""

    rod: str
    start_s: float
    end_s: float
    rig: str
    lure: str
    body: str
    colour: str
    size_m: float | None
    let_out_m: float | None
    open: bool
    depth_m: float | None
    rod_hours: float
    catches: int


class Spot(BaseModel):
    """A fish, missed strike, bottom hit or sonar mark; `weight_likely_kg` is from its length."""

    id: str
    kind: Literal["catch", "strike_missed", "bottom_hit", "sonar_mark"]
    at_s: float
    rod: str
    number: int
    lat: float | None
    lon: float | None
    lure: str
    colour: str
    let_out_m: float | None
    depth_m: float | None
    species: str
    length_m: float | None
    weight_kg: float | None
    weight_likely_kg: float | None
    kept: bool | None
    who: str


class Sky(BaseModel):
    """Sky and water as noted, from `at_s` on."""

    at_s: float
    sky: str | None
    wind_m_s: float | None
    wind_from: str | None
    surface_temp_c: float | None
    clarity_m: float | None


class Noted(BaseModel):
    """A note."""

    at_s: float
    text: str


class Profile(BaseModel):
    """Water depth under the boat, its speed and the surface temperature along the day."""

    at_s: list[float | None]
    water_depth_m: list[float | None]
    speed_m_s: list[float | None]
    surface_temp_c: list[float | None]


class Effort(BaseModel):
    """What was fished with one lure of one colour."""

    lure: str
    colour: str
    hours: float
    catches: int
    strikes_missed: int
    mean_depth_m: float | None


class CheckOn(BaseModel):
    """Something about an entry that the crew should see."""

    code: str
    text: str


class Light(BaseModel):
    """The sun over the day where the boat was, in unix seconds; low light as spans."""

    sunrise_s: float | None
    sunset_s: float | None
    low_light: list[tuple[float, float]]


class Day(BaseModel):
    """A day: its timeline, what was fished, its entries as they stand and what is odd about them.

    Attributes
    ----------
    live : bool
        Whether lines are still out.
    utc_offset_s : float
        The boat's clock against UTC that day [s].
    running : list of pair
        When the boat ran between spots: in no effort.
    in_no_rate : int
        Fish that no line explains.
    """

    day: str
    live: bool
    utc_offset_s: float
    rods: list[str]
    spans: list[Span]
    spots: list[Spot]
    skies: list[Sky]
    notes: list[Noted]
    running: list[tuple[float, float]]
    profile: Profile
    light: Light | None
    rod_hours: float
    running_s: float
    catches: int
    kept: int
    in_no_rate: int
    effort: list[Effort]
    entries: list[dict[str, Any]]
    day_checks: list[CheckOn]
    undone: list[str]
    track_points: int


class Report(BaseModel):
    """A day's report as plain text, tables and two drawings (SVG)."""

    day: str
    title: str
    lead: str
    map: str | None
    timeline: str | None
    catches: list[list[str]]
    catch_heads: list[str]
    effort: list[list[str]]
    effort_heads: list[str]
    notes: list[str]
    checks: list[str]
    cautions: list[str]
    foot: str


@router.get("")
def days(here: Here) -> Days:
    """List the days there are, latest first."""
    return Days(
        today=day_at(present()[0]).isoformat(),
        days=[
            DayRow(day=r.day, entries=r.entries, catches=r.catches, track_points=r.points)
            for r in here.store.days()
        ],
    )


@router.get("/{day}")
def day(day: str, here: Here) -> Day:
    """Give a day: "today", "yesterday", "last" or its date."""
    kept = kept_of(here)
    now = present()[0]
    date_ = _date(here, day)
    # lines still out fish on: what was made for one minute of it does for that minute
    mark = (
        here.store.fingerprints().get(date_),
        kept.depths(here).fingerprint(),
        now.timestamp() // LIVE_STEP_S if date_ == day_at(now).isoformat() else 0,
    )
    return kept.once(f"day {date_}", repr(mark), lambda: _day(here, date_))


def _day(here: Aboard, day: str) -> Day:
    date_, state, until = _state(here, day)
    track = here.store.track(date_)
    figures = timeline(
        state, track, depth_at=kept_of(here).depths(here), until_s=until, weigh=weigh
    )
    return Day(
        day=date_,
        live=until is not None,
        light=_light(date_, state, figures),
        entries=[entry_figures(event, state) for event in state.events],
        day_checks=[CheckOn(code=m.code, text=m.text) for m in state.checks if not m.event],
        undone=list(state.undone),
        track_points=here.store.points(date_),
        **figures,
    )


def day_of(text: str, today: date) -> date:
    """Read a day, and refuse what no journal can hold."""
    found = parse_day(text, today)
    if not 1990 <= found.year <= 2100:
        raise InputError(f'"{one_line(text, 40)}": expected a day between 1990 and 2100')
    return found


def _date(here: Aboard, day: str) -> str:
    """Give the date that is meant; "last" is the latest day there is."""
    today = day_at(present()[0])
    if day == "last":
        return here.store.last_day() or today.isoformat()
    return day_of(day, today).isoformat()


def _state(here: Aboard, day: str) -> tuple[str, Journal, float | None]:
    """Give a day's date and entries, and the present where its lines are still out."""
    now = present()[0]
    date_ = _date(here, day)
    state = here.store.day(date_)
    if not state.events:
        raise NoAnswer(f"nothing was logged on {date_}")
    live = day_at(now).isoformat() == date_ and bool(state.out())
    return date_, state, now.timestamp() if live else None


def _light(day: str, state: Journal, figures: dict[str, Any]) -> Light | None:
    """Give the sun for where the first entry with a place was made."""
    at = next(((s["lat"], s["lon"]) for s in figures["spots"] if s["lat"] is not None), None)
    at = at or next(((e.lat, e.lon) for e in state.events if e.lat is not None), None)
    if at is None or at[1] is None:
        return None
    found = sun.day(at[0], at[1], date.fromisoformat(day), state.events[0].at.tzinfo or UTC)
    return Light(
        sunrise_s=found.sunrise.timestamp() if found.sunrise else None,
        sunset_s=found.sunset.timestamp() if found.sunset else None,
        low_light=[(a.timestamp(), b.timestamp()) for a, b in found.low_light],
    )


def _page(here: Aboard, day: str, units: str, map_px: float = 760.0) -> tuple[str, dict[str, Any]]:
    from towscope.sheets.daypage import day_page

    date_, state, until = _state(here, day)
    track = here.store.track(date_)
    shown = SYSTEMS[units]
    depths = kept_of(here).depths(here)
    made = day_page(date_, state, track, shown, depth_at=depths, until_s=until, map_px=map_px)
    return date_, made


@router.get("/{day}/report")
def report(
    day: str,
    here: Here,
    units: Units = "us",
    map_px: Annotated[int, Query(ge=240, le=1600)] = 760,
) -> Report:
    """Give a day's report, to be shown in the page; its map is drawn so wide."""
    date_, page = _page(here, day, units, map_px)
    return Report(day=date_, **page)


@router.get("/{day}/report.html", response_class=Response)
def report_html(
    day: str, here: Here, units: Units = "us", save: Annotated[bool, Query()] = True
) -> Response:
    """Give a day's report as one HTML file that asks for nothing else."""
    from towscope.sheets.daypage import to_html

    date_, page = _page(here, day, units)
    return _file(to_html(page).encode(), "text/html; charset=utf-8", f"day-{date_}.html", save)


@router.get("/{day}/report.pdf", response_class=Response)
def report_pdf(
    day: str, here: Here, units: Units = "us", save: Annotated[bool, Query()] = True
) -> Response:
    """Give a day's report as a PDF, on the paper that goes with the units."""
    from towscope.sheets.daypage import to_pdf

    date_, page = _page(here, day, units)
    data = to_pdf(page, SYSTEMS[units])
    return _file(data, "application/pdf", f"day-{date_}.pdf", save)


def _file(data: bytes, kind: str, name: str, save: bool) -> Response:
    way = "attachment" if save else "inline"
    headers = {"content-disposition": f'{way}; filename="{name}"'}
    if kind.startswith("text/html"):  # it carries its own style, and may fetch and run nothing
        headers["content-security-policy"] = (
            "default-src 'none'; style-src 'unsafe-inline'; sandbox"
        )
    return Response(data, media_type=kind, headers=headers)
