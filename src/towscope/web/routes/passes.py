"""Passes on the screen: plan them, look at those that were planned, take one along."""

from __future__ import annotations

import math
from datetime import datetime
from typing import Annotated, Any, Final

from fastapi import APIRouter, Response
from fastapi.responses import PlainTextResponse
from pydantic import BaseModel, Field
from typing_extensions import TypedDict

from towscope.answers.rig import Rig
from towscope.bed import store
from towscope.errors import InputError
from towscope.formats.plain import plain
from towscope.passes import plans
from towscope.passes.figures import PassBrief, PassWhole
from towscope.passes.files import to_gpx
from towscope.progress import Progress
from towscope.sheets.pass_words import PlanWords
from towscope.units import SYSTEMS
from towscope.web.context import Here
from towscope.web.jobs import Job
from towscope.web.saved_lakes import key_of, lake_of
from towscope.web.saying import SystemName
from towscope.words import shown_in

Finite = Annotated[float, Field(allow_inf_nan=False)]

router = APIRouter(prefix="/api/lakes/{lake}/passes", tags=["lakes"])

PLANNED: Final = 0.93  # share of the work; the rest is setting the page
FILES: Final[dict[int | str, dict[str, Any]]] = {
    200: {"content": {"application/gpx+xml": {}}, "description": "The file."}
}
PAGES: Final[dict[int | str, dict[str, Any]]] = {
    200: {"content": {"application/pdf": {}}, "description": "The page."}
}


class PassesAsk(BaseModel):
    """What passes are wanted.

    Attributes
    ----------
    depth_m : float
        Depth of the edge [m].
    off_bottom_m : float
        Height of the lure above the bottom [m].
    rig : str
        The rig.
    lure : str
        Another lure on it; "" for its own.
    speed_m_s : float
        Speed over ground [m/s].
    wind_from_deg, wind_m_s : float
        Where the wind blows from, from true north [degrees], and how hard [m/s].
    count : int
        Most passes.
    safer : bool
        Whether to raise the lure until a bottom hit is no likelier than `risk`.
    risk : float
        A bottom hit likelier than this is not called safe.
    outside_m : float
        How far to the deep side of the edge the lure is to run [m].
    most_out_m : float or None
        Most line past the rod tip [m].
    current_m_s, current_to_deg : float
        Current: its speed [m/s], and where it goes, from true north [degrees].
    tip_ahead_m, tip_starboard_m : float
        Rod tip from the receiver [m].
    uncalibrated : bool
        Whether to leave out what readings have taught.
    units : str
        Whose round let-outs are wanted: "us" (5 ft) or "metric" (1 m); the page is in these too.
    """

    depth_m: Finite = Field(gt=0.0, le=300.0)
    off_bottom_m: Finite = Field(ge=0.05, le=100.0)
    rig: str = Field(min_length=1, max_length=200)
    lure: str = Field("", max_length=200)
    speed_m_s: Finite = Field(ge=0.1, le=5.0)
    wind_from_deg: Finite = Field(0.0, ge=0.0, le=360.0)
    wind_m_s: Finite = Field(0.0, ge=0.0, le=40.0)
    count: int = Field(3, ge=1, le=12)
    safer: bool = False
    risk: Finite = Field(0.10, ge=0.005, le=0.9)
    outside_m: Finite = Field(0.0, ge=0.0, le=100.0)
    most_out_m: Finite | None = Field(None, ge=5.0, le=1000.0)
    current_m_s: Finite = Field(0.0, ge=0.0, le=3.0)
    current_to_deg: Finite = Field(0.0, ge=0.0, le=360.0)
    tip_ahead_m: Finite = Field(0.0, ge=-50.0, le=50.0)
    tip_starboard_m: Finite = Field(0.0, ge=-50.0, le=50.0)
    uncalibrated: bool = False
    units: SystemName = "us"


class PlanBrief(TypedDict):
    """A saved plan, in short: what was asked, when, and its passes in the order to run them.

    ``calibrated``: whether readings had taught the rig something then; ``same_bed``: whether the
    lake is still as it was.
    """

    id: str
    made: datetime
    asked: PassesAsk
    calibrated: bool
    same_bed: bool
    passes: list[PassBrief]


class Plans(TypedDict):
    """The plans saved for a lake, the newest first."""

    plans: list[PlanBrief]


class PlanWhole(TypedDict):
    """A saved plan: the figures of its passes, and the words for them in both systems of units."""

    id: str
    made: datetime
    lake: str
    asked: PassesAsk
    calibrated: bool
    left_out: list[str]
    passes: list[PassWhole]
    words: dict[SystemName, PlanWords]


@router.post("", status_code=202)
def plan(lake: str, ask: PassesAsk, here: Here) -> Job:
    """Begin to plan passes; the task's result is the plan's id."""
    key_of(lake)
    if ask.off_bottom_m >= ask.depth_m:
        raise InputError("the lure cannot run higher off bottom than the edge is deep")
    rig = Rig(ask.rig, here.shelf()).with_(lure=ask.lure or None, calibrated=not ask.uncalibrated)
    _ = rig.tow  # what is wrong with it is said at once
    name = str(store.facts(lake).get("name", lake))
    return here.jobs.start(
        f"passes on {name}", lambda progress: _planned(lake, name, ask, rig, progress)
    )


@router.get("", response_model=Plans)
def listed(lake: str) -> dict[str, Any]:
    """List the plans that are kept for a lake, the newest first."""
    bed = key_of(lake)
    return {
        "plans": [{**short, "same_bed": short.get("bed") == bed} for short in plans.listed(lake)]
    }


@router.get("/{plan}", response_model=PlanWhole)
def whole(lake: str, plan: str) -> dict[str, Any]:
    """Give all of a plan."""
    return plans.whole(lake, plan)


@router.get("/{plan}/gpx", response_class=PlainTextResponse, responses=FILES)
def gpx(lake: str, plan: str, units: SystemName = "us") -> Response:
    """Give a plan as a GPX file of routes and tracks."""
    body = plans.file(lake, plan, "-us.gpx" if units == "us" else "-metric.gpx")
    return _download(body, "application/gpx+xml", f"{store.slug(lake)}-passes.gpx")


@router.get("/{plan}/page", response_class=Response, responses=PAGES)
def page(lake: str, plan: str) -> Response:
    """Give a plan as a page to print (PDF)."""
    return _download(
        plans.file(lake, plan, ".pdf"), "application/pdf", f"{store.slug(lake)}-passes.pdf"
    )


@router.delete("/{plan}", response_model=Plans)
def remove(lake: str, plan: str) -> dict[str, Any]:
    """Take a plan away; gives those that are left."""
    plans.remove(lake, plan)
    return listed(lake)


def _download(body: bytes, kind: str, name: str) -> Response:
    # a slug may hold letters beyond ASCII, which a header may not
    plain_name = name.encode("ascii", "ignore").decode().lstrip("-") or "passes"
    return Response(
        body,
        media_type=kind,
        headers={"Content-Disposition": f'attachment; filename="{plain_name}"'},
    )


def _planned(lake: str, name: str, ask: PassesAsk, rig: Rig, progress: Progress) -> dict[str, str]:
    """Plan, keep, and give the plan's name."""
    from towscope.sheets.pass_words import told
    from towscope.sheets.passes import page

    shown_in(ask.units)
    to = math.radians(ask.current_to_deg)
    east, north = ask.current_m_s * math.sin(to), ask.current_m_s * math.cos(to)
    found = lake_of(lake).passes(
        rig, ask.depth_m, ask.off_bottom_m, ask.speed_m_s, (ask.wind_from_deg, ask.wind_m_s),
        progress=lambda share, line: progress(PLANNED * share, line),
        count=ask.count, risk=ask.risk, safer=ask.safer, outside=ask.outside_m,
        tip=(ask.tip_ahead_m, ask.tip_starboard_m),
        current=[(0.0, east, north)] if ask.current_m_s > 0.0 else None,
        out_max=ask.most_out_m,
    )  # fmt: skip
    progress(PLANNED, "setting the page")
    pdf = page(found, SYSTEMS[ask.units])
    files = {
        f"-{each}.gpx": to_gpx(found.passes, found.bed.place, name, SYSTEMS[each]).encode()
        for each in SYSTEMS
    }
    common = {
        "asked": ask.model_dump(mode="json"),
        "calibrated": rig.tow.learnt is not None,
        "lake": name,
    }
    progress(0.99, "saving the plan")
    made = plans.keep(
        lake,
        plain({**common, "bed": key_of(lake), "passes": found.briefs}),
        {**common, **found.to_dict(), "words": {s: told(found, SYSTEMS[s]) for s in SYSTEMS}},
        {".pdf": pdf, **files},
    )
    return {"lake": name, "id": made}
