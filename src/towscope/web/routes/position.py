"""Routes for a phone's own place, and for how the feeds are."""

from __future__ import annotations

import time
from typing import Annotated

from fastapi import APIRouter, Body, Request
from pydantic import AwareDatetime, BaseModel, Field

from towscope.errors import NoAnswer
from towscope.web.context import Here

router = APIRouter(prefix="/api", tags=["position"])

MOST = 600
HELD = 10.0  # [s]; what was said longer ago is not used any more


class PhoneFix(BaseModel):
    """A place as a phone tells it.

    Attributes
    ----------
    time : datetime
        When it was, by the phone's clock: ISO 8601 with its zone, or unix time [s or ms].
    lat, lon : float
        Place [degrees].
    accuracy_m : float
        How sure it is [m].
    speed_m_s : float or None
        Over ground [m/s].
    course_deg : float or None
        Over ground, from true north [degrees].
    """

    time: AwareDatetime
    lat: float = Field(ge=-90.0, le=90.0)
    lon: float = Field(ge=-180.0, le=180.0)
    accuracy_m: float = Field(ge=0.0, allow_inf_nan=False)
    speed_m_s: float | None = Field(None, ge=0.0, allow_inf_nan=False)
    course_deg: float | None = Field(None, ge=0.0, le=360.0)


class PlacesTaken(BaseModel):
    """What became of the phone's places.

    Attributes
    ----------
    taken, left_out : int
        How many.
    used : bool
        Whether the phone is what says where the boat is.
    why : str
        Why places were left out.
    """

    taken: int
    left_out: int
    used: bool
    why: str = ""


class FeedNow(BaseModel):
    """How one feed is.

    Attributes
    ----------
    name : str
        What it is, in words.
    connected : bool
        Whether the way to the instruments is open.
    since_s : float
        For how long it has been so [s].
    age_s : float or None
        How long ago the last reading came [s]; None where none has.
    count, spoilt : int
        Readings so far; messages that could not be used.
    why : str
        What is to be said of it.
    used_for : list of str
        What of the boat's present it says now: "place", "depth", "water speed".
    """

    name: str
    connected: bool
    since_s: float
    age_s: float | None
    count: int
    spoilt: int
    why: str
    used_for: list[str]


class FeedsNow(BaseModel):
    """All feeds, and how old is what they say of the boat.

    Attributes
    ----------
    feeds : list of FeedNow
        Best first.
    place_age_s, depth_age_s, water_speed_age_s, water_temp_age_s : float or None
        Ages [s]; None where it was never said.
    speed_is : str
        What the speed is: "through water", "over ground", "over ground, current taken off".
    clock_s : float or None
        How far the clock of the feed that says the place is ahead of this machine's [s].
    notes : list of str
        What the crew should know, in words.
    """

    feeds: list[FeedNow] = []
    place_age_s: float | None = None
    depth_age_s: float | None = None
    water_speed_age_s: float | None = None
    water_temp_age_s: float | None = None
    speed_is: str = "over ground"
    clock_s: float | None = None
    notes: list[str] = []


@router.post("/position")
def position(
    fixes: Annotated[list[PhoneFix], Body(min_length=1, max_length=MOST)],
    here: Here,
    request: Request,
) -> PlacesTaken:
    """Take where the phone says that it is."""
    feeds = here.feeds
    if feeds is None:
        raise NoAnswer("nothing follows the boat here; start with `towscope serve`")
    source = request.client.host if request.client is not None else ""
    taken = 0
    # newest first tells how late the others are; they are taken in the order they were made
    in_order = sorted(fixes, key=lambda fix: fix.time)
    feeds.phone.note(in_order[-1].time.timestamp(), source)
    for fix in in_order:
        taken += feeds.phone.post(
            fix.time.timestamp(),
            fix.lat,
            fix.lon,
            accuracy=fix.accuracy_m,
            speed=fix.speed_m_s,
            course=fix.course_deg,
            source=source,
        )
    left_out = len(fixes) - taken
    why = feeds.phone.status().why
    if left_out and not why:
        why = "positions from while the phone was out of reach are too old to use"
    used = feeds.source == feeds.phone.name and bool(taken)
    return PlacesTaken(taken=taken, left_out=left_out, used=used, why=why if left_out else "")


@router.get("/feeds")
def feeds(here: Here) -> FeedsNow:
    """Say how the feeds are, how old what they say is, and which is used."""
    if here.feeds is None:
        return FeedsNow(notes=["no GPS position: nothing feeds one; start with `towscope serve`"])
    now = time.monotonic()
    present = here.feeds.now.present(now)
    told = []
    for each in here.feeds.statuses():
        said = (
            ("place", present.feed, present.place_age),
            ("depth", present.depth_feed, present.depth_age),
            ("water speed", present.water_feed, present.water_speed_age),
        )
        status = each.status
        told.append(
            FeedNow(
                name=each.name,
                connected=status.connected,
                since_s=round(max(now - status.since, 0.0), 1),
                age_s=_round(None if status.heard is None else max(now - status.heard, 0.0)),
                count=status.count,
                spoilt=status.spoilt,
                why=status.why,
                used_for=[
                    what
                    for what, feed, age in said
                    if feed == each.name and age is not None and age <= HELD
                ],
            )
        )
    return FeedsNow(
        feeds=told,
        place_age_s=_round(present.place_age),
        depth_age_s=_round(present.depth_age),
        water_speed_age_s=_round(present.water_speed_age),
        water_temp_age_s=_round(present.water_temp_age),
        speed_is=present.speed_is,
        clock_s=_round(present.clock),
        notes=list(present.notes),
    )


def _round(seconds: float | None) -> float | None:
    return None if seconds is None else round(seconds, 1)
