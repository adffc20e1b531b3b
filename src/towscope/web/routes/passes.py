"""Passes on the screen: plan them, look at those that were planned, take one along."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final

from fastapi import APIRouter, Response
from fastapi.responses import PlainTextResponse

from towscope.bed import store
from towscope.errors import InputError
from towscope.formats.plain import plain
from towscope.passes import plans
from towscope.units import SYSTEMS, System
from towscope.web.context import Aboard, Here
from towscope.web.jobs import Job, Report
from towscope.web.lakes.beds import bed_of, key_of
from towscope.web.lakes.models import (
    PassesAsk,
    PlanBrief,
    Plans,
    PlanWhole,
    SystemName,
)

if TYPE_CHECKING:
    from towscope.passes.planning import Ask, Plan
    from towscope.towing.tow import Tow

router = APIRouter(prefix="/api/lakes/{lake}/passes", tags=["lakes"])

PLANNED: Final = 0.93  # share of the work; the rest is setting the page
FILES: Final[dict[int | str, dict[str, Any]]] = {
    200: {"content": {"application/gpx+xml": {}}, "description": "The file."}
}
PAGES: Final[dict[int | str, dict[str, Any]]] = {
    200: {"content": {"application/pdf": {}}, "description": "The page."}
}


@router.post("", status_code=202)
def plan(lake: str, ask: PassesAsk, here: Here) -> Job:
    """Begin to plan passes; the task's result is the plan's id."""
    key_of(lake)
    tow, asked = _ready(here, ask)
    name = str(store.facts(lake).get("name", lake))
    return here.jobs.start(
        f"passes on {name}", lambda report: _planned(lake, name, ask, tow, asked, report)
    )


@router.get("")
def listed(lake: str) -> Plans:
    """List the plans that are kept for a lake, the newest first."""
    bed = key_of(lake)
    return Plans(
        plans=[
            PlanBrief.model_validate({**short, "same_bed": short.get("bed") == bed})
            for short in plans.listed(lake)
        ]
    )


@router.get("/{plan}")
def whole(lake: str, plan: str) -> PlanWhole:
    """Give all of a plan."""
    return PlanWhole.model_validate(plans.whole(lake, plan))


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


@router.delete("/{plan}")
def remove(lake: str, plan: str) -> Plans:
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


def _ready(here: Aboard, ask: PassesAsk) -> tuple[Tow, Ask]:
    """Make the rig ready, and put what is asked as the planner takes it."""
    from dataclasses import replace

    import numpy as np

    from towscope.calibration.calibrated_rig import calibrated_tow
    from towscope.passes.candidates import Wind
    from towscope.passes.passes import Wishes
    from towscope.passes.planning import Ask
    from towscope.passes.steering import Hand

    shelf = here.shelf()
    if ask.lure:
        other = shelf.rig(ask.rig).model_copy(update={"lure": ask.lure})
        shelf = replace(shelf, rigs={**shelf.rigs, ask.rig: other})
    tow = shelf.tow(ask.rig) if ask.uncalibrated else calibrated_tow(shelf, ask.rig)
    if ask.off_bottom_m >= ask.depth_m:
        raise InputError("the lure cannot run higher off bottom than the edge is deep")
    system = SYSTEMS[ask.units]
    to = math.radians(ask.current_to_deg)
    current = None
    if ask.current_m_s > 0.0:
        current = np.array([[0.0, ask.current_m_s * math.sin(to), ask.current_m_s * math.cos(to)]])
    wishes = Wishes(
        ask.off_bottom_m,
        ask.speed_m_s,
        most_out=math.inf if ask.most_out_m is None else ask.most_out_m,
        grain=_grain(system),
        limit=ask.risk,
        lower_risk=ask.safer,
        outside=ask.outside_m,
        hand=Hand(mount=(ask.tip_ahead_m, ask.tip_starboard_m), current=current),
    )
    wind = Wind(ask.wind_from_deg % 360.0, ask.wind_m_s)
    return tow, Ask(ask.depth_m, wind, wishes, most=ask.count)


def _grain(system: System) -> float:
    """Give what let-outs are round by [m]."""
    return system.to_si(5.0, "length") if system.name == "us" else 1.0


def _planned(
    lake: str, name: str, ask: PassesAsk, tow: Tow, asked: Ask, report: Report
) -> dict[str, str]:
    """Plan, keep, and give the plan's name."""
    from towscope.passes.files import to_gpx
    from towscope.passes.planning import planned
    from towscope.sheets.passes import lead, page, title, told

    report(0.0, "reading the lake")
    bed, key = bed_of(lake), key_of(lake)
    system = SYSTEMS[ask.units]
    found = planned(
        bed, tow, asked, lake=name, rig=ask.rig,
        told=lambda share, line: report(PLANNED * share, line),
        length=lambda v: system.show(v, "length"),
    )  # fmt: skip
    report(PLANNED, "setting the page")
    wishes = asked.wishes
    heading = title(name, ask.rig, asked.depth, wishes, system)
    pdf = page(
        bed, found.passes, found.left_out, heading, lead(bed, asked.wind, system), wishes, system
    )
    reasons = [each.stretch.reason for each in found.passes]
    files = {
        f"-{each}.gpx": to_gpx(found.passes, bed.place, name, SYSTEMS[each], reasons).encode()
        for each in SYSTEMS
    }
    words = {
        each: told(found.passes, found.left_out, wishes, bed.place, SYSTEMS[each])
        for each in SYSTEMS
    }
    common = {
        "asked": ask.model_dump(mode="json"),
        "calibrated": tow.learnt is not None,
        "lake": name,
    }
    report(0.99, "saving the plan")
    made = plans.keep(
        lake,
        plain({**common, "bed": key, "passes": _brief(found)}),
        {**common, **plain(found.figures), "words": words},
        {".pdf": pdf, **files},
    )
    return {"lake": name, "id": made}


def _brief(found: Plan) -> list[dict[str, Any]]:
    """Give what a list of plans shows of each pass."""
    return [
        {
            "number": number,
            "length_m": each.trial.way.line.length,
            "heading_deg": each.stretch.heading,
            "minutes": float(each.trial.passage.time[-1] - each.trial.passage.time[0]) / 60.0,
            "wind": each.stretch.against_wind,
            "reason": each.stretch.reason,
            "deeper_side": each.stretch.deeper_side,
            "safe": each.risk.safe(found.figures["risk_limit"]),
            "bottom_hit": each.risk.hit,
        }
        for number, each in enumerate(found.passes, 1)
    ]
