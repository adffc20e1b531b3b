"""What came of all the days there are."""

from __future__ import annotations

from typing import Annotated, Final

from fastapi import APIRouter, Query
from pydantic import BaseModel

from towscope.constants import FOOT
from towscope.effort.fished import effort_of
from towscope.effort.seasons import lengths, seasons
from towscope.errors import NoAnswer
from towscope.pattern.rates import rate
from towscope.web.answer_cache import kept_of, mark_of
from towscope.web.context import Here
from towscope.web.jobs import Report
from towscope.web.routes.days import Units
from towscope.web.routes.pattern import Interval, Kept, how_it_stands

router = APIRouter(prefix="/api/seasons", tags=["seasons"])

STEPS: Final = {
    "us": {"depth": 5 * FOOT, "temperature": 2 / 1.8, "hour": 1.0},
    "metric": {"depth": 1.5, "temperature": 1.0, "hour": 1.0},
}
MOST_FISH: Final = 20_000


class Spell(BaseModel):
    """A day, a month or a year: what was fished and caught, and the exact interval of its rate.

    Rates leave out fish that no line explains.
    """

    when: str
    days: int
    rod_hours: float
    catches: int
    kept: int
    longest_m: float | None
    per_rod_hour: float | None
    interval_90: Interval | None


class Group(BaseModel):
    """One lure, size, depth ...: plain catch over hours, nothing made fair."""

    key: str
    low_si: float | None
    high_si: float | None
    catches: int
    rod_hours: float
    per_rod_hour: float | None
    interval_90: Interval | None


class Fish(BaseModel):
    """A fish that was measured."""

    day: str
    species: str
    length_m: float
    kept: bool | None


class Caught(BaseModel):
    """How many of a kind; "" where it was not said."""

    species: str
    catches: int


class Seasons(BaseModel):
    """All days added up."""

    days: list[Spell]
    months: list[Spell]
    years: list[Spell]
    by: dict[str, list[Group]]
    species: list[Caught]
    fish: list[Fish]


class SeasonsAnswer(Kept):
    """All days added up, or how far the adding is."""

    answer: Seasons | None = None


@router.get("")
def all_seasons(
    here: Here, units: Units = "us", again: Annotated[bool, Query()] = False
) -> SeasonsAnswer:
    """Add all days up: rod-hours, fish and rates by day, month, year and what was fished."""

    def work(report: Report) -> Seasons:
        report(0.1, "adding up what was fished")
        effort = effort_of(here.store, kept_of(here).depths(here))
        report(0.7, "measuring the fish")
        fish = lengths(here.store)
        if not effort and not fish:
            raise NoAnswer("nothing fished yet; the first day's figures will show here")
        found = seasons(effort, fish, rate, STEPS[units])
        found["fish"] = found["fish"][-MOST_FISH:]
        return Seasons(**found)

    standing = kept_of(here).ask(
        f"seasons {units}", mark_of(here, live=True), "Seasons", work, again=again
    )
    return SeasonsAnswer(**how_it_stands(standing))
