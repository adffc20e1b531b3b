"""Routes for the journal as one file, out and in."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from datetime import UTC
from pathlib import Path
from typing import Annotated, Final

from anyio import to_thread
from fastapi import APIRouter, Query, Request
from fastapi.responses import StreamingResponse
from pydantic import BaseModel

from towscope.boat.read import read_fixes
from towscope.effort.fished import present
from towscope.errors import InputError, one_line
from towscope.journal import exchange
from towscope.journal.device import device_name
from towscope.journal.times import day_at
from towscope.progress import Progress
from towscope.web.context import Here
from towscope.web.gate.limits import FILE_BODY, UPLOAD_BYTES
from towscope.web.jobs import Job
from towscope.web.routes.days import day_of

router = APIRouter(prefix="/api/journal-file", tags=["journal file"])

MOST_BYTES: Final = UPLOAD_BYTES


class Taken(BaseModel):
    """What a file brought: entries and track points in it, how many were new, and what is odd."""

    name: str
    entries: int
    new_entries: int
    track_points: int
    new_track_points: int
    remarks: list[str]


@router.get("", response_class=StreamingResponse)
def give(here: Here, day: Annotated[str, Query(max_length=20)] = "") -> StreamingResponse:
    """Give the journal, or one day of it, as JSON Lines: nothing left out, taken in anywhere."""
    now = present()[0]
    today = day_at(now)
    on = day_of(day, today).isoformat() if day else None
    name = f"journal-{on or today.isoformat()}.jsonl"

    def lines() -> Iterator[bytes]:
        for line in exchange.jsonl(here.store, on, device=device_name()):
            yield line.encode()

    return StreamingResponse(
        lines(),
        media_type="application/jsonl",
        headers={"content-disposition": f'attachment; filename="{name}"'},
    )


@router.post("", openapi_extra=FILE_BODY)
async def take(
    request: Request, here: Here, name: Annotated[str, Query(min_length=1, max_length=200)]
) -> Job:
    """Take a file in, by a task; the same file twice adds nothing.

    The body is the file itself; `name` says by its ending what it is: .jsonl, .geojson, .csv, .gpx,
    .nmea, .log, .txt, .tsv.
    """
    kind = Path(name).suffix.lower()
    if kind not in exchange.TAKEN:
        raise InputError(
            f"{one_line(name, 60)}: expected a file that ends in {', '.join(exchange.TAKEN)}"
        )
    said = request.headers.get("content-length", "")
    if said.isdigit() and int(said) > MOST_BYTES:
        raise InputError(f"{one_line(name, 60)}: expected at most {MOST_BYTES // 1_000_000} MB")
    folder = tempfile.TemporaryDirectory(prefix="towscope-")
    # only the ending comes from outside: the name on the disk is our own
    path = Path(folder.name) / f"taken{kind}"
    try:
        size = 0
        with path.open("wb") as file:
            async for chunk in request.stream():
                size += len(chunk)
                if size > MOST_BYTES:
                    raise InputError(
                        f"{one_line(name, 60)}: expected at most {MOST_BYTES // 1_000_000} MB"
                    )
                await to_thread.run_sync(file.write, chunk)
        if not size:
            raise InputError(f"{one_line(name, 60)} is empty; expected an exported journal")
    except BaseException:
        folder.cleanup()
        raise
    shown = one_line(Path(name).name, 60)

    def work(progress: Progress) -> dict[str, object]:
        with folder:
            progress(0.2, "reading")
            zone = present()[0].tzinfo or UTC
            try:
                taken = exchange.take(
                    here.store, path, device=device_name(), zone=zone, read=read_fixes
                )
            except InputError as error:  # its name on the disk means nothing to the crew
                raise InputError(str(error).replace(path.name, shown)) from None
        return Taken(
            name=shown,
            entries=taken.events,
            new_entries=taken.new_events,
            track_points=taken.points,
            new_track_points=taken.new_points,
            remarks=taken.remarks,
        ).model_dump()

    try:
        return here.jobs.start(f"Take in {shown}", work)
    except BaseException:
        folder.cleanup()
        raise
