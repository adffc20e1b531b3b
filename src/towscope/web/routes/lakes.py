"""Lakes on the screen: which there are, their maps, edges and depths, and new ones from a log."""

from __future__ import annotations

import json
import re
import shutil
import tempfile
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Annotated, Any, Final, Literal

from fastapi import APIRouter, Query, Request, Response
from fastapi.concurrency import run_in_threadpool
from pydantic import BaseModel

from towscope.answers.lake import Lake
from towscope.answers.lake_forms import LakeDepth, LakeFacts
from towscope.bed import store
from towscope.bed.features import Edges, Feature
from towscope.bed.map_geojson import LakeMap
from towscope.errors import InputError, one_line
from towscope.formats.plain import plain
from towscope.progress import Progress
from towscope.web.context import Here
from towscope.web.gate.limits import FILE_BODY, UPLOAD_BYTES
from towscope.web.jobs import Job
from towscope.web.saved_lakes import key_of, lake_of
from towscope.web.saying import SystemName
from towscope.words import shown_in

router = APIRouter(prefix="/api/lakes", tags=["lakes"])

MAP_FORM: Final = "1"  # rises when the map of the same bed would come out otherwise
MOST_UPLOADED: Final = UPLOAD_BYTES  # over half a million soundings as text
MOST_SHOWN: Final = 200  # dropped soundings
SCREEN_THIN: Final = 0.75  # [m]; structure on the map need be no finer
WRITING: Final = 0.96  # of the work of building, when it begins
_OPTION: Final = {  # what the commands' options are called on the screen
    "depth-unit": "“Depths are in”",
    "sign": "“Depths are written as”",
    "columns": "“Columns”",
    "crs": "“Coordinate system”",
    "cell": "cells (on the command line)",
    "box": "a part (on the command line)",
    "surface": "“Height of the water”",
    "islands": "“Shapes inside the shore are”",
    "shoreline": "“Shoreline”",
}

UNCHANGED: Final[dict[int | str, dict[str, Any]]] = {304: {"description": "As it was."}}


class Lakes(BaseModel):
    """The lakes that are kept, and the one that the boat is on ("" where none is chosen)."""

    lakes: list[LakeFacts]
    current: str


class Dropped(BaseModel):
    """One sounding that was dropped: its line in the file, the reason, and its depth [m]."""

    row: int
    reason: str
    depth_m: float | None = None


class Built(BaseModel):
    """What an upload came to: the lake, and the first soundings that were dropped."""

    lake: LakeFacts
    rows: list[Dropped]


@router.get("")
def lakes(here: Here) -> Lakes:
    """List the lakes that are kept."""
    return Lakes(lakes=[_facts(name) for name in store.names()], current=here.lake)


@router.get("/{name}")
def lake(name: str) -> LakeFacts:
    """Give the figures of a lake."""
    return _facts(name)


def _facts(name: str) -> LakeFacts:
    found = Lake(name).facts
    return replace(found, notes=[on_screen(note) for note in found.notes])


def on_screen(words: str) -> str:
    """Say in the screen's words what is said in the commands'.

    >>> on_screen("read as metres; set --depth-unit ft if these are feet")
    'read as metres; set “Depths are in” ft if these are feet'
    """
    return re.sub(r"--([a-z-]+)", lambda m: _OPTION.get(m[1], f"“{m[1]}”"), words)


@router.get("/{name}/map", response_model=LakeMap, responses=UNCHANGED)
def lake_map(
    name: str,
    request: Request,
    units: SystemName = "us",
    depth_m: Annotated[float | None, Query(gt=0.0, le=300.0, allow_inf_nan=False)] = None,
) -> Response:
    """Give the map of a lake; with a depth, also what there is at that depth."""
    bed = key_of(name)
    tag = f'"{MAP_FORM}-{bed}-{units}-{"" if depth_m is None else f"{depth_m:.3f}"}"'
    if (same := _same(request, tag)) is not None:
        return same
    where = str(store.folder(name))
    if depth_m is None:
        return _kept(_map(where, name, bed, units), tag)
    found = json.loads(_map(where, name, bed, units))
    more = json.loads(_edges(where, name, bed, units, round(depth_m, 3), SCREEN_THIN))
    found["features"] += more["features"]
    return _kept(_dumped(found), tag)


@router.get("/{name}/edges", response_model=Edges, responses=UNCHANGED)
def edges(
    name: str,
    request: Request,
    depth_m: Annotated[float, Query(gt=0.0, le=300.0, allow_inf_nan=False)],
    units: SystemName = "us",
    thin_m: Annotated[float, Query(ge=0.0, le=20.0, allow_inf_nan=False)] = 0.0,
) -> Response:
    """Find edges, points, inside turns, humps and flats at a depth; thinned for a screen or not."""
    bed = key_of(name)
    depth = round(depth_m, 4)
    tag = f'"{MAP_FORM}-{bed}-{depth:.4f}-{thin_m:g}"'
    if (same := _same(request, tag)) is not None:
        return same
    return _kept(_edges(str(store.folder(name)), name, bed, units, depth, thin_m), tag)


@router.get("/{name}/depth")
def depth(
    name: str,
    lat: Annotated[float, Query(ge=-90.0, le=90.0, allow_inf_nan=False)],
    lon: Annotated[float, Query(ge=-180.0, le=180.0, allow_inf_nan=False)],
) -> LakeDepth:
    """Tell how deep it is at a place, and how sure that is."""
    return lake_of(name).depth_at(lat, lon)


@router.post("", status_code=202, openapi_extra=FILE_BODY)
async def upload(
    here: Here,
    request: Request,
    name: Annotated[str, Query(min_length=1, max_length=60)],
    file: Annotated[str, Query(min_length=1, max_length=200)],
    depth_unit: Literal["", "m", "ft", "fathom"] = "",
    sign: Literal["", "down", "up"] = "",
    columns: Annotated[str, Query(max_length=200)] = "",
    crs: Annotated[str, Query(max_length=100)] = "",
    transducer_m: Annotated[float, Query(ge=0.0, le=20.0, allow_inf_nan=False)] = 0.0,
    level_m: Annotated[float, Query(ge=-50.0, le=50.0, allow_inf_nan=False)] = 0.0,
    water_degc: Annotated[float | None, Query(ge=0.0, le=40.0, allow_inf_nan=False)] = None,
    surface_m: Annotated[float | None, Query(ge=-500.0, le=6000.0, allow_inf_nan=False)] = None,
    shore: Annotated[str, Query(max_length=200)] = "",
    shore_bytes: Annotated[int, Query(ge=0, le=UPLOAD_BYTES)] = 0,
    islands: Literal["", "land", "water"] = "",
    replace_it: Annotated[bool, Query(alias="replace")] = False,
) -> Job:
    """Build a lake from a sounder's log: the file is the request's body, as it is.

    A shoreline follows it in the same body: `shore` is its name, `shore_bytes` how long it is.
    """
    from towscope.bed.soundings import columns_of

    there = await run_in_threadpool((store.folder(name) / "lake.json").exists)
    if there and not replace_it:
        raise InputError(f"a lake is called {one_line(name, 60)} already; expected another name")
    try:
        columns_of(columns, "Columns")
    except InputError as error:
        raise InputError(on_screen(str(error))) from None
    how: dict[str, Any] = {
        "depth_unit": depth_unit, "sign": sign, "columns": columns, "crs": crs,
        "transducer": transducer_m, "level": level_m, "water": water_degc,
        "surface": surface_m, "islands": islands,
    }  # fmt: skip
    folder = tempfile.TemporaryDirectory(prefix="towscope-")
    try:
        path = Path(folder.name) / "soundings" / _safe(file)
        await _receive(request, path)
        water = None
        if shore:
            water = Path(folder.name) / "shore" / _safe(shore)
            await run_in_threadpool(_part, path, water, shore_bytes)
        return here.jobs.start(
            f"building {one_line(name, 60)}",
            lambda progress: _build(name, path, water, how, progress, folder),
        )
    except BaseException:
        folder.cleanup()
        raise


def _safe(file: str) -> str:
    """Give a file's name without anything that could lead elsewhere."""
    last = re.split(r"[\\/]", file)[-1].strip()
    clean = re.sub(r"[^\w .()-]", "_", last).lstrip(".")[-80:]
    return clean or "soundings"


async def _receive(request: Request, path: Path) -> None:
    """Write a request's body to a file, up to the size that is taken."""
    too_large = (
        f"this file is over {MOST_UPLOADED // 1_000_000} MB; expected a sounder's log below that "
        "(towscope lake build takes larger ones)"
    )
    if int(request.headers.get("content-length") or 0) > MOST_UPLOADED:
        raise InputError(too_large)
    size = 0
    path.parent.mkdir()
    with path.open("wb") as out:
        async for piece in request.stream():
            size += len(piece)
            if size > MOST_UPLOADED:
                raise InputError(too_large)
            await run_in_threadpool(out.write, piece)
    if not size:
        raise InputError("this file is empty; expected a sounder's log")


def _part(path: Path, shore: Path, size: int) -> None:
    """Take the shoreline off the end of what was received."""
    whole = path.stat().st_size
    if not 0 < size < whole:
        raise InputError(
            f"{shore.name}: {size} of {whole} bytes are to be the shoreline; expected some of "
            "them, behind the soundings"
        )
    shore.parent.mkdir()
    with path.open("r+b") as both, shore.open("wb") as out:
        both.seek(whole - size)
        shutil.copyfileobj(both, out)
        both.truncate(whole - size)


def _build(
    name: str,
    path: Path,
    shore: Path | None,
    how: dict[str, Any],
    progress: Progress,
    folder: tempfile.TemporaryDirectory[str],
) -> dict[str, Any]:
    with folder:
        try:
            made = Lake.from_soundings(path, name=name, shoreline=shore, progress=progress, **how)
            progress(WRITING, "writing")
            made.save()
        except InputError as error:
            words = re.sub(f"{re.escape(folder.name)}/(soundings|shore)/", "", str(error))
            raise InputError(on_screen(words)) from None
    rows = [
        Dropped(row=d["row"], reason=d["reason"], depth_m=plain(float(d["depth_m"])))
        for d in made.beside["dropped"][:MOST_SHOWN]
    ]
    return Built(lake=_facts(name), rows=rows).model_dump(mode="json")


def _same(request: Request, tag: str) -> Response | None:
    """Say that nothing has changed where the asker has it already."""
    known = {
        t.strip().removeprefix("W/") for t in request.headers.get("if-none-match", "").split(",")
    }
    if tag in known:
        return Response(status_code=304, headers=_heads(tag))
    return None


def _heads(tag: str) -> dict[str, str]:
    # asked again each time, and answered in no time: a lake built anew must show at once
    return {"ETag": tag, "Cache-Control": "private, no-cache"}


def _kept(body: bytes, tag: str) -> Response:
    return Response(body, media_type="application/json", headers=_heads(tag))


def _dumped(value: dict[str, Any]) -> bytes:
    return json.dumps(value, separators=(",", ":"), ensure_ascii=False, allow_nan=False).encode()


@lru_cache(maxsize=6)
def _map(folder: str, name: str, key: str, units: SystemName) -> bytes:
    return _dumped({**lake_of(name).map(units=units)})


@lru_cache(maxsize=24)
def _edges(folder: str, name: str, key: str, units: SystemName, depth: float, thin: float) -> bytes:
    shown_in(units)
    found = lake_of(name).edges(depth, thin_m=thin)
    rest = {k: v for k, v in found.to_dict().items() if k != "features"}
    return _dumped({**plain(rest), "features": [_exact(f) for f in found.features]})


def _exact(feature: Feature) -> Feature:
    """Round a feature's figures, but not its places."""
    return {**feature, "properties": plain(feature["properties"])}
