"""A day on the water as a screen shows it: its timeline, its entries, and the report of it."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Final

from fastapi import APIRouter, Query, Response
from typing_extensions import TypedDict

from towscope.answers.journal import Journal
from towscope.answers.journal_forms import DayReport
from towscope.effort.fished import present
from towscope.effort.timeline import DayTimeline
from towscope.errors import InputError, one_line
from towscope.journal.store import DayRow
from towscope.journal.times import day_at, parse_day
from towscope.sheets.daypage import DayPage
from towscope.web.answer_cache import kept_of
from towscope.web.context import AppContext, Here
from towscope.web.saying import SystemName
from towscope.words import shown_in

router = APIRouter(prefix="/api/days", tags=["days"])

LIVE_STEP_S: Final = 60.0


class Days(TypedDict):
    """The days there are, latest first; what "today" is on the boat's clock."""

    today: str
    days: list[DayRow]


class Report(DayPage):
    """A day's report, and which day it is of."""

    day: str


def journal_of(here: AppContext) -> Journal:
    """Give the journal aboard, with the engine for the tackle aboard."""
    return Journal(here.store, depths=kept_of(here).depths(here))


@router.get("")
def days(here: Here) -> Days:
    """List the days there are, latest first."""
    return {"today": day_at(present()[0]).isoformat(), "days": here.store.days()}


@router.get("/{day}")
def day(day: str, here: Here) -> DayTimeline:
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
    return kept.once(f"day {date_}", repr(mark), lambda: journal_of(here).timeline(date_))


def day_of(text: str, today: date) -> date:
    """Read a day, and refuse what no journal can hold."""
    found = parse_day(text, today)
    if not 1990 <= found.year <= 2100:
        raise InputError(f'"{one_line(text, 40)}": expected a day between 1990 and 2100')
    return found


def _date(here: AppContext, day: str) -> str:
    """Give the date that is meant; "last" is the latest day there is."""
    today = day_at(present()[0])
    if day == "last":
        return here.store.last_day() or today.isoformat()
    return day_of(day, today).isoformat()


def _report(here: AppContext, day: str, units: SystemName, map_px: float = 760.0) -> DayReport:
    shown_in(units)
    return journal_of(here).report(_date(here, day), units=units, map_px=map_px)


@router.get("/{day}/report")
def report(
    day: str,
    here: Here,
    units: SystemName = "us",
    map_px: Annotated[int, Query(ge=240, le=1600)] = 760,
) -> Report:
    """Give a day's report, to be shown in the page; its map is drawn so wide."""
    found = _report(here, day, units, map_px)
    return {"day": found.day, **found.page}


@router.get("/{day}/report.html", response_class=Response)
def report_html(
    day: str, here: Here, units: SystemName = "us", save: Annotated[bool, Query()] = True
) -> Response:
    """Give a day's report as one HTML file that asks for nothing else."""
    found = _report(here, day, units)
    data = found.to_html().encode()
    return _file(data, "text/html; charset=utf-8", f"day-{found.day}.html", save)


@router.get("/{day}/report.pdf", response_class=Response)
def report_pdf(
    day: str, here: Here, units: SystemName = "us", save: Annotated[bool, Query()] = True
) -> Response:
    """Give a day's report as a PDF, on the paper that goes with the units."""
    found = _report(here, day, units)
    return _file(found.to_pdf(), "application/pdf", f"day-{found.day}.pdf", save)


def _file(data: bytes, kind: str, name: str, save: bool) -> Response:
    way = "attachment" if save else "inline"
    headers = {"content-disposition": f'{way}; filename="{name}"'}
    if kind.startswith("text/html"):  # it carries its own style, and may fetch and run nothing
        headers["content-security-policy"] = (
            "default-src 'none'; style-src 'unsafe-inline'; sandbox"
        )
    return Response(data, media_type=kind, headers=headers)
