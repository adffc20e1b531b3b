"""Rigs: what is aboard, what they answer, and what their marks teach."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Query
from fastapi.responses import Response

from towscope.tackle import keeping
from towscope.towing.tow import Setting
from towscope.tuning.ready import tuned_tow
from towscope.units import SYSTEMS
from towscope.web.aboard import Here
from towscope.web.jobs import Job
from towscope.web.rigging import answers, marks, parts
from towscope.web.rigging.models import (
    Ask,
    Done,
    KeepAsk,
    Marks,
    RigIn,
    Rigs,
    RigShown,
    Stock,
    Told,
    TuneAsk,
)

router = APIRouter(prefix="/api", tags=["rigs"])


@router.get("/rigs")
def rigs(here: Here) -> Rigs:
    """Give all rigs aboard, the user's own first."""
    return parts.rigs(here.shelf(), marks.kept_rigs(), lambda: marks.lines_out(here))


@router.get("/stock")
def stock(here: Here) -> Stock:
    """Give the parts that rigs can be made of, in groups with plain words."""
    answers.warm(here)
    return parts.stock(here.shelf())


@router.post("/rigs/answer")
def answer(ask: Ask, here: Here) -> Told:
    """Answer how much line for a depth, or how deep with so much line."""
    return answers.answer(here, ask)


@router.put("/rigs/{name}")
def keep(name: str, rig: RigIn, here: Here) -> RigShown:
    """Keep a rig in the user's tackle file, which the command line reads too."""
    keeping.check_name(name)
    parts.laid_over(here.shelf(), rig, name)
    own = {"lures": rig.lures, "lines": rig.lines}
    keeping.keep(name, parts.table_of(rig), {kind: t for kind, t in own.items() if t})
    return parts.rig_shown(here.shelf(), name, marks.kept_rigs().count(name))


@router.delete("/rigs/{name}")
def drop(name: str) -> Done:
    """Take a rig out of the user's tackle file."""
    keeping.drop(name)
    return Done(done=f"{name} is no longer kept")


@router.get("/rigs/{name}/marks")
def marks_of(name: str, here: Here) -> Marks:
    """List the marks of a rig that are kept, and touches in the journal that could be."""
    return marks.listed(here, name)


@router.delete("/rigs/{name}/marks")
def take_back(name: str, here: Here, mark: str = "") -> Job:
    """Take the marks of a rig back, or one of them; a task."""
    return marks.take_back(here, name, mark)


@router.post("/rigs/{name}/tune")
def tune(name: str, ask: TuneAsk, here: Here) -> Job:
    """Weigh marks with those that are kept: a task whose result tells before and after."""
    return marks.tune(here, name, ask)


@router.post("/rigs/{name}/tune/keep")
def keep_tuning(name: str, ask: KeepAsk, here: Here) -> Done:
    """Keep what a task has weighed: every later answer uses it."""
    marks.weighings(here).keep(ask.job, name)
    return Done(done=f"kept: every answer for {name} uses it now")


@router.get(
    "/rigs/{name}/sheet.pdf",
    response_class=Response,
    responses={200: {"content": {"application/pdf": {}}}},
)
def sheet(
    name: str,
    here: Here,
    units: Annotated[Literal["us", "metric"], Query()] = "us",
    untuned: bool = False,
) -> Response:
    """Give the sheet to print, as ``towscope table -o`` writes it."""
    from towscope.sheets.laminate import sheet as printed
    from towscope.sheets.table import default_depths, default_speeds
    from towscope.towing.questions import table

    system, shelf = SYSTEMS[units], here.shelf()
    tow = shelf.tow(name) if untuned else tuned_tow(shelf, name)
    depths, speeds = default_depths(system), default_speeds(system)
    setting = Setting(min(speeds))
    data = printed(name, shelf, tow, table(tow, depths, speeds, setting), setting, system)
    return Response(
        data,
        media_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="{keeping.check_name(name)}.pdf"'},
    )
