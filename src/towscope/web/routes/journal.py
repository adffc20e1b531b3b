"""The log: entries made on a phone come in, the day as it stands goes out."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query
from pydantic import AwareDatetime, BaseModel, ConfigDict, Field

from towscope import clock
from towscope.effort.fished import present
from towscope.effort.timeline import CheckOn
from towscope.journal.sync import MOST, SyncAnswer, take_entries
from towscope.journal.times import day_at, parse_day
from towscope.web.context import Here
from towscope.web.logbook import aboard, completing, day_of

router = APIRouter(prefix="/api/journal", tags=["journal"])


class LogSent(BaseModel):
    """Entries that a phone sends.

    Attributes
    ----------
    events : list
        Entries, objects as `towscope.journal.events` has them, each with the id that the phone
        gave it.
    sent_at : datetime or None
        When they are sent, by the phone's own clock.
    """

    model_config = ConfigDict(extra="forbid")

    events: Annotated[list[Any], Field(max_length=MOST)]  # one bad shape must not block others
    sent_at: AwareDatetime | None = None


class LogTaken(BaseModel):
    """What became of the entries sent.

    Attributes
    ----------
    answers : list
        One for each, in order.
    ahead_s : float or None
        How far the phone's clock runs ahead of the boat's time [s].
    """

    answers: list[SyncAnswer]
    ahead_s: float | None = None


class ClockNow(BaseModel):
    """The boat's time.

    Attributes
    ----------
    now : datetime
        The time.
    source : str
        "gps" where a receiver tells it, else "computer".
    computer_behind_s : float
        How far the computer's own clock is behind it [s]; negative where ahead.
    """

    now: datetime
    source: Literal["gps", "computer"]
    computer_behind_s: float


class LogEntry(BaseModel):
    """An entry as it stands.

    Attributes
    ----------
    words : dict
        What it says, by system of units: "us", "metric".
    fields : dict
        What it holds, SI.
    """

    id: str
    kind: str
    at: datetime
    rod: str
    device: str
    words: dict[str, str]
    fields: dict[str, Any]
    checks: list[CheckOn]


class LogUndone(LogEntry):
    """An entry that was taken back; taking `undo` back brings it back."""

    undo: str


class RodNow(BaseModel):
    """A rod with what is out on it, or, where nothing is, what was last.

    Attributes
    ----------
    size_m, let_out_m : float or None
        Length of the lure, and line out [m].
    """

    rod: str
    out: bool
    rig: str
    lure: str
    body: str
    colour: str
    size_m: float | None
    let_out_m: float | None


class LogDay(BaseModel):
    """A day's log.

    Attributes
    ----------
    today : str
        The date now on the boat's clock.
    came : list of RodNow
        Rods whose line was out as the day began.
    known : list of str
        Ids of all entries that the journal has of the day, those that mend others too.
    """

    day: str
    today: str
    entries: list[LogEntry]
    undone: list[LogUndone]
    checks: list[CheckOn]
    rods: list[RodNow]
    came: list[RodNow]
    known: list[str]


class RigAboard(BaseModel):
    """A rig to choose.

    Attributes
    ----------
    title : str
        Its name as the crew wrote it.
    own : bool
        Whether it is the crew's, not one of the stock's examples.
    color_m, before_color_m : float or None
        Length of one colour, and of the line before the first [m]; None without coded line.
    """

    name: str
    title: str
    own: bool
    lure: str
    color_m: float | None
    before_color_m: float | None


class LureAboard(BaseModel):
    """A lure to choose: its body, its length [m], and the colour it had last."""

    name: str
    body: str
    size_m: float | None
    colour: str


class AboardNow(BaseModel):
    """What there is to choose from, what the crew used last (fish and crew: most) first."""

    rods: list[RodNow]
    rigs: list[RigAboard]
    lures: list[LureAboard]
    colours: list[str]
    species: list[str]
    hooks: list[str]
    skies: list[str]
    crew: list[str]


@router.post("/events")
def take(sent: LogSent, here: Here) -> LogTaken:
    """Take entries into the journal; each any number of times, and none keeps another out.

    What is answered "taken" or "had" is on the disk.
    """
    live = here.live
    now = ahead = None
    if sent.sent_at is not None:
        here.clock.hear((sent.sent_at - clock.now()).total_seconds())
        now = here.clock.now()
        ahead = round((sent.sent_at - now).total_seconds(), 1)
    answers = take_entries(
        here.store, sent.events, completing(live, here.shelf, now), ahead_s=ahead
    )
    if live is not None and any(each.state == "taken" for each in answers):
        live.journal_changed()
    return LogTaken(answers=answers, ahead_s=ahead)


@router.get("/clock")
def boat_time(
    here: Here,
    now: Annotated[
        AwareDatetime | None, Query(description="the phone's time as it asks, by its own clock")
    ] = None,
) -> ClockNow:
    """Give the boat's time, by which a phone sets right what it logs."""
    if now is not None:
        here.clock.hear((now - clock.now()).total_seconds())
    told = here.clock.told()
    return ClockNow(now=told.now, source=told.source, computer_behind_s=round(told.behind_s, 1))


@router.get("/day")
def day(
    here: Here, day: Annotated[str, Query(description='"today", "2026-08-14"', max_length=40)] = ""
) -> LogDay:
    """Give a day's log as it stands: entries in words, checks, rods with what is out."""
    now = here.clock.now()
    today = day_at(now.astimezone(present()[0].tzinfo))
    date = parse_day(day, today) if day else today
    return LogDay.model_validate(
        {
            "today": today.isoformat(),
            **day_of(here.store, date.isoformat(), now.timestamp(), called=here.shelf().title),
        }
    )


@router.get("/aboard")
def aboard_now(here: Here) -> AboardNow:
    """Give rods, rigs, lures, colours and fish to choose from."""
    return AboardNow.model_validate(aboard(here.store, here.shelf()))
