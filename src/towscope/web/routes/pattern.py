"""Pattern, how sure that is, and what each rod should run next."""

from __future__ import annotations

import json
import threading
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Final, Literal

from fastapi import APIRouter, Query
from pydantic import BaseModel, Field

from towscope.effort.fished import effort_of, live_now, present
from towscope.errors import InputError, NoAnswer
from towscope.files import home, write_whole
from towscope.journal.times import day_at
from towscope.pattern.answers import HALF_LIFE_DAYS, outlook_figures, pattern_figures, priors_of
from towscope.units import SYSTEMS, System
from towscope.web.answer_cache import Standing, kept_of, mark_of
from towscope.web.context import Aboard, Here
from towscope.web.jobs import Report
from towscope.web.routes.days import Units, day_of

if TYPE_CHECKING:
    from towscope.pattern.binning import Grain

router = APIRouter(prefix="/api", tags=["pattern"])

Interval = tuple[float, float]
State = Literal["fresh", "stale", "working", "failed", "stopped"]
MOST_HOURS: Final = 48.0


class Level(BaseModel):
    """One lure, size, colour, depth ... and what it catches, see `towscope pattern --json`."""

    level: str
    low_si: float | None
    high_si: float | None
    catches: int
    rod_hours: float
    raw_per_rod_hour: float
    raw_interval_90: Interval
    per_rod_hour: float
    interval_90: Interval
    probability_best: float


class Comparison(BaseModel):
    """How one level stands against another, with the words for it."""

    by: str
    better: str
    worse: str
    probability: float
    ratio: float
    ratio_interval_90: Interval
    text: str


class Custom(BaseModel):
    """A rule of thumb, and how likely it holds here: before any fish, and now."""

    text: str
    probability_before: float
    probability: float


class Pattern(BaseModel):
    """Pattern, as far as the journal knows; rates in fish per rod-hour."""

    catches: int
    rod_hours: float
    days: int
    per_rod_hour: float
    per_rod_hour_interval_90: Interval
    clump: float
    clump_interval_90: Interval
    by: dict[str, list[Level]]
    comparisons: list[Comparison]
    customs: list[Custom]
    cannot_know: list[str]


class Kept(BaseModel):
    """How an answer stands.

    Attributes
    ----------
    state : str
        "fresh"; "stale": it was worked out before the journal changed, and a new one is under way;
        "working": there is none yet; "failed" or "stopped".
    as_of : datetime or None
        When what is given was worked out.
    job : str
        The task that is at it, for ``/api/jobs``; "" for none.
    why : str
        Why there is no answer, in words.
    """

    state: State
    as_of: datetime | None = None
    job: str = ""
    why: str = ""


class PatternAnswer(Kept):
    """Pattern, or how far the working of it is."""

    answer: Pattern | None = None


class RodNext(BaseModel):
    """What one rod should run for the next half hour, and why."""

    rod: str
    lure: str | None
    running: str
    change: bool
    locked: bool
    reason: str
    per_rod_hour: float
    interval_90: Interval


class LureNext(BaseModel):
    """What one lure aboard is thought to be worth now [fish per rod-hour]."""

    lure: str
    per_rod_hour: float
    interval_90: Interval
    probability_best: float


class Look(BaseModel):
    """How a lure is to be entered when it goes on: its rig as last used, and what it looks like."""

    rig: str
    body: str
    size_m: float | None
    colour: str


class Next(BaseModel):
    """What each rod should run for the next half hour.

    Attributes
    ----------
    span_s : float
        How long that is [s].
    fish_expected : float
        Fish to expect in it on all rods.
    looks : dict of str to Look
        Lures aboard, as the journal knows them.
    """

    rods: list[RodNext]
    lures: list[LureNext]
    fish_expected: float
    span_s: float
    looks: dict[str, Look]


class NextAnswer(Kept):
    """What to run next, or how far the working of it is; and the rods that are locked."""

    answer: Next | None = None
    locks: list[str] = []


class Locks(BaseModel):
    """Rods whose lures the crew wants left alone."""

    rods: Annotated[list[str], Field(max_length=64)]


def how_it_stands(standing: Standing) -> dict[str, Any]:
    """Give an answer's standing as the fields of `Kept`, and the answer."""
    job = standing.job
    state: State = "fresh"
    why = ""
    if not standing.fresh:
        state = "working" if standing.answer is None else "stale"
        if job is not None and job.state in ("failed", "stopped"):
            state = "failed" if job.state == "failed" else "stopped"
            why = job.error
    return {
        "state": state,
        "as_of": standing.as_of,
        "job": job.id if job is not None and job.state == "going" else "",
        "why": why,
        "answer": standing.answer,
    }


@router.get("/pattern")
def pattern(
    here: Here,
    by: Annotated[str, Query(max_length=200)] = "lure,size,colour,depth",
    day: Annotated[str, Query(max_length=20)] = "",
    days: Annotated[int, Query(ge=0, le=36_500)] = 0,
    species: Annotated[str, Query(max_length=80)] = "",
    customs: bool = True,
    units: Units = "us",
    again: bool = False,
) -> PatternAnswer:
    """Say what works: rates with 90 % intervals, comparisons in words, what can't be known yet.

    Over one day, the last so many days, or (0) all there are, where days a year old count half.
    """
    from towscope.pattern.binning import FACTORS

    shown = SYSTEMS[units]
    names = [name.strip() for name in by.split(",") if name.strip()]
    names = list(dict.fromkeys("colour" if n == "color" else n for n in names))
    wrong = next((n for n in names if n not in FACTORS), None)
    if wrong is not None or not names:
        raise InputError(f'by "{wrong or by}": expected any of {", ".join(FACTORS)}')
    first, last = _span(day, days)
    asked = ("pattern", names, first, last, species, customs, units)

    def work(report: Report) -> Pattern:
        from towscope.pattern.compare import pattern as find

        report(0.1, "adding up what was fished")
        effort = effort_of(here.store, kept_of(here).depths(here), first=first, last=last)
        if not any(s.hours > 0.0 or s.catches for s in effort):
            raise NoAnswer("no line was in the water in that time, so there is no pattern to show")
        report(0.3, "weighing the fish")
        found = find(
            effort,
            names,
            grain=_grain(shown),
            species=species or None,
            priors=priors_of(HALF_LIFE_DAYS, customs=customs),
        )
        return Pattern(**pattern_figures(found, shown))

    live = last is None or last == day_at(present()[0])
    standing = kept_of(here).ask(
        repr(asked), mark_of(here, live=live), "Pattern", work, again=again
    )
    return PatternAnswer(**how_it_stands(standing))


def _span(day: str, days: int) -> tuple[date | None, date | None]:
    today = day_at(present()[0])
    if day:
        one = day_of(day, today)
        return one, one
    return (today - timedelta(days=days - 1) if days else None), None


def _grain(shown: System) -> Grain:
    from towscope.pattern.binning import METRIC_GRAIN, US_GRAIN

    return METRIC_GRAIN if shown.name == "metric" else US_GRAIN


@router.get("/next")
def what_next(
    here: Here,
    hours_left: Annotated[float, Query(gt=0.0, le=MOST_HOURS)] = 3.0,
    light: Annotated[str, Query(max_length=40)] = "",
    water_c: Annotated[float | None, Query(ge=-2.0, le=45.0)] = None,
    species: Annotated[str, Query(max_length=80)] = "",
    units: Units = "us",
    again: bool = False,
) -> NextAnswer:
    """Say what each rod should run for the next half hour, and why; locked rods are left alone."""
    locks = _locks()
    asked = ("next", hours_left, light, water_c, species, units)
    mark = f"{mark_of(here, live=True)} {sorted(locks)}"

    def work(report: Report) -> Next:
        return _next(here, report, locks, hours_left, light, water_c, species, SYSTEMS[units])

    standing = kept_of(here).ask(repr(asked), mark, "What to run next", work, again=again)
    return NextAnswer(**how_it_stands(standing), locks=locks)


def _next(
    here: Aboard,
    report: Report,
    locks: list[str],
    hours_left: float,
    light: str,
    water_c: float | None,
    species: str,
    shown: System,
) -> Next:
    from towscope.pattern.available import aboard_of
    from towscope.pattern.next import suggest, with_lock

    report(0.1, "adding up what was fished")
    effort = effort_of(here.store, kept_of(here).depths(here))
    day = here.store.last_day()
    if day is None:
        raise NoAnswer("no line was ever set: log the first one, and this begins to learn")
    crew = aboard_of(effort, here.store.day(day))
    held = [rod.name for rod in crew.rods if rod.name in locks]
    report(0.3, "weighing the lures")
    if len(held) == len(crew.rods):
        raise NoAnswer("every rod is locked: unlock one to see what to change")
    outlook = suggest(
        effort,
        with_lock(crew, held),
        hours_left=hours_left,
        now_s=live_now(effort),
        light=light or None,
        temp_c=water_c,
        grain=_grain(shown),
        species=species or None,
        priors=priors_of(),
    )
    figures = outlook_figures(outlook)
    running = {rod.name: rod.lure for rod in crew.rods}
    for one in figures["rods"]:
        one["running"] = running[one["rod"]]
        one["locked"] = one["rod"] in held
    rigs = {s.lure: s.rig for s in effort}  # in order of time: the last stays
    figures["looks"] = {
        x.name: Look(rig=rigs.get(x.name, ""), body=x.body, size_m=x.size_m, colour=x.colour)
        for x in crew.lures
    }
    return Next(**figures)


@router.put("/next/locks")
def lock(locks: Locks, here: Here) -> Locks:
    """Lock these rods and no others."""
    names = sorted({name.strip() for name in locks.rods if name.strip()})
    if any(len(name) > 80 for name in names):
        raise InputError("a rod's name has at most 80 letters")
    with _LOCK:
        path = _locks_path()
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, json.dumps({"rods": names}, ensure_ascii=False).encode() + b"\n")
    return Locks(rods=names)


_LOCK = threading.Lock()


def _locks_path() -> Path:
    return home() / "locked-rods.json"


def _locks() -> list[str]:
    try:
        kept = json.loads(_locks_path().read_text(encoding="utf-8"))
        return [str(name) for name in kept["rods"]]
    except (OSError, ValueError, KeyError, TypeError):
        return []
