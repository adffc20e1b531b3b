"""Rigs: what is aboard, what they answer, and what their readings teach."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Query
from fastapi.responses import Response

from towscope.answers.rig import Rig
from towscope.errors import InputError
from towscope.tackle import edit_file
from towscope.units import SYSTEMS
from towscope.web.context import Here
from towscope.web.jobs import Job
from towscope.web.rigging import answers, parts, readings
from towscope.web.rigging.carried import carried
from towscope.web.rigging.models import (
    Ask,
    CalibrateAsk,
    Carried,
    Done,
    KeepAsk,
    RigIn,
    RigReadings,
    Rigs,
    RigShown,
    Stock,
    Told,
)

router = APIRouter(prefix="/api", tags=["rigs"])


@router.get("/rigs")
def rigs(here: Here) -> Rigs:
    """Give all rigs aboard, the user's own first."""
    return parts.rigs(here.shelf(), readings.kept_rigs(), lambda: readings.lines_out(here))


@router.get("/stock")
def stock(here: Here) -> Stock:
    """Give the parts that rigs can be made of, in groups with plain words."""
    answers.warm(here)
    return parts.stock(here.shelf())


@router.get("/tackle")
def tackle(here: Here) -> Carried:
    """Give all tackle to a phone, which answers from it where it is alone."""
    return carried(here.shelf(), readings.kept_rigs(), lambda: readings.lines_out(here))


@router.post("/rigs/answer")
def answer(ask: Ask, here: Here) -> Told:
    """Answer how much line for a depth, or how deep with so much line."""
    return answers.answer(here, ask)


@router.put("/rigs/{name}")
def keep(name: str, rig: RigIn, here: Here) -> RigShown:
    """Keep a rig in the user's tackle file, which the command line reads too."""
    edit_file.check_name(name)
    parts.laid_over(here.shelf(), rig, name)
    own = {"lures": rig.lures, "lines": rig.lines}
    edit_file.keep(name, parts.table_of(rig), {kind: t for kind, t in own.items() if t})
    return parts.rig_shown(here.shelf(), name, readings.kept_rigs().count(name))


@router.post("/rigs")
def keep_new(rig: RigIn, here: Here) -> RigShown:
    """Save a rig under the name that the crew gives it; one of theirs of that name is changed."""
    shelf = here.shelf()
    title = " ".join(rig.title.split())
    if not title:
        raise InputError("the rig has no name; expected what you call it")
    key = shelf.rig_key(title)
    if not parts.is_own(shelf, "rigs", key):
        key = edit_file.key_of(title, shelf.rigs)
    return keep(key, rig.model_copy(update={"title": title}), here)


@router.delete("/rigs/{name}")
def drop(name: str) -> Done:
    """Take a rig out of the user's tackle file."""
    edit_file.drop(name)
    return Done(done=f"{name} is deleted")


@router.get("/rigs/{name}/readings")
def readings_of(name: str, here: Here) -> RigReadings:
    """List the readings of a rig that are kept, and bottom hits in the journal that could be."""
    return readings.listed(here, name)


@router.delete("/rigs/{name}/readings")
def take_back(name: str, here: Here, reading: str = "") -> Job:
    """Take the readings of a rig back, or one of them; a task."""
    return readings.take_back(here, name, reading)


@router.post("/rigs/{name}/calibrate")
def calibrate(name: str, ask: CalibrateAsk, here: Here) -> Job:
    """Weigh readings with those that are kept: a task whose result tells before and after."""
    return readings.calibrate(here, name, ask)


@router.post("/rigs/{name}/calibrate/keep")
def keep_calibration(name: str, ask: KeepAsk, here: Here) -> Done:
    """Keep what a task has weighed: every later answer uses it."""
    readings.weighings(here).keep(ask.job, name)
    return Done(done=f"Saved: every answer for {here.shelf().title(name)} uses it now")


@router.get(
    "/rigs/{name}/sheet.pdf",
    response_class=Response,
    responses={200: {"content": {"application/pdf": {}}}},
)
def sheet(
    name: str,
    here: Here,
    units: Annotated[Literal["us", "metric"], Query()] = "us",
    uncalibrated: bool = False,
) -> Response:
    """Give the sheet to print, as ``towscope table -o`` writes it."""
    from towscope.sheets.laminate import sheet as printed
    from towscope.sheets.table import default_depths, default_speeds

    system = SYSTEMS[units]
    rig = Rig(name, here.shelf(), not uncalibrated)
    data = printed(rig, rig.table(default_depths(system), default_speeds(system)), system)
    return Response(
        data,
        media_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="{edit_file.check_name(name)}.pdf"'},
    )
