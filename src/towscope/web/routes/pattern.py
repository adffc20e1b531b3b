"""Pattern, how sure that is, and what each rod should run next."""

from __future__ import annotations

import json
import threading
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Annotated, Any, Final, Literal

from fastapi import APIRouter, Query
from pydantic import BaseModel, Field

from towscope.answers.journal_pattern import next_of, pattern_of
from towscope.effort.fished import live_now, present
from towscope.errors import InputError, NoAnswer
from towscope.files import home, write_whole
from towscope.journal.times import day_at
from towscope.pattern.answers import NextAnswer, PatternAnswer
from towscope.pattern.available import aboard_of
from towscope.pattern.binning import factors_of
from towscope.progress import Progress
from towscope.web.answer_cache import Standing, kept_of, mark_of
from towscope.web.context import Here
from towscope.web.routes.days import day_of, journal_of
from towscope.web.saying import SystemName
from towscope.words import shown_in

router = APIRouter(prefix="/api", tags=["pattern"])

State = Literal["fresh", "stale", "working", "failed", "stopped"]
MOST_HOURS: Final = 48.0


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


class PatternKept(Kept):
    """Pattern, or how far the working of it is."""

    answer: PatternAnswer | None = None


class NextKept(Kept):
    """What to run next, or how far the working of it is; and the rods that are locked."""

    answer: NextAnswer | None = None
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
    units: SystemName = "us",
    again: bool = False,
) -> PatternKept:
    """Say what works: rates with 90 % intervals, comparisons in words, what can't be known yet.

    Over one day, the last so many days, or (0) all there are, where days a year old count half.
    """
    names = factors_of(by)
    first, last = _span(day, days)
    asked = ("pattern", names, first, last, species, customs, units)

    def work(progress: Progress) -> PatternAnswer:
        shown_in(units)
        progress(0.1, "adding up what was fished")
        effort = journal_of(here).stints(first=first, last=last)
        progress(0.3, "weighing the fish")
        return pattern_of(effort, names, species=species, customs=customs)

    live = last is None or last == day_at(present()[0])
    standing = kept_of(here).ask(
        repr(asked), mark_of(here, live=live), "Pattern", work, again=again
    )
    return PatternKept(**how_it_stands(standing))


def _span(day: str, days: int) -> tuple[date | None, date | None]:
    today = day_at(present()[0])
    if day:
        one = day_of(day, today)
        return one, one
    return (today - timedelta(days=days - 1) if days else None), None


@router.get("/next")
def what_next(
    here: Here,
    hours_left: Annotated[float, Query(gt=0.0, le=MOST_HOURS)] = 3.0,
    light: Annotated[str, Query(max_length=40)] = "",
    water_c: Annotated[float | None, Query(ge=-2.0, le=45.0)] = None,
    species: Annotated[str, Query(max_length=80)] = "",
    units: SystemName = "us",
    again: bool = False,
) -> NextKept:
    """Say what each rod should run for the next half hour, and why; locked rods are left alone."""
    locks = _locks()
    asked = ("next", hours_left, light, water_c, species, units)
    mark = f"{mark_of(here, live=True)} {sorted(locks)}"

    def work(progress: Progress) -> NextAnswer:
        shown_in(units)
        progress(0.1, "adding up what was fished")
        effort, day = journal_of(here).stints(), here.store.last_day()
        if day is None:
            raise NoAnswer("no line was ever set: log the first one, and this begins to learn")
        standing = here.store.day(day)
        rods = {rod.name for rod in aboard_of(effort, standing).rods}
        progress(0.3, "weighing the lures")
        if rods <= set(locks):
            raise NoAnswer("every rod is locked: unlock one to see what to change")
        return next_of(
            effort, standing=standing, now_s=live_now(effort), lock=sorted(rods & set(locks)),
            left=hours_left * 3600.0, light=light, water=water_c, species=species,
        )  # fmt: skip

    standing = kept_of(here).ask(repr(asked), mark, "What to run next", work, again=again)
    return NextKept(**how_it_stands(standing), locks=locks)


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
