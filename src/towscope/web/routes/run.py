"""The run as it is now, and as it goes on."""

from __future__ import annotations

from collections.abc import AsyncIterator

from fastapi import APIRouter
from fastapi.responses import StreamingResponse

from towscope.errors import NoAnswer
from towscope.live.engine import Live
from towscope.live.models import Run, Targets
from towscope.web.context import Here

router = APIRouter(prefix="/api", tags=["run"])


def _live(here: Here) -> Live:
    if here.live is None:
        raise NoAnswer("nothing follows the boat here; start with `towscope serve`")
    return here.live


@router.get("/run")
def run(here: Here) -> Run:
    """Give the newest picture of the run."""
    return _live(here).run


@router.get("/run/targets")
def targets(here: Here) -> Targets:
    """Give what the crew wants of the run."""
    return _live(here).targets


@router.put("/run/targets")
def set_targets(targets: Targets, here: Here) -> Targets:
    """Take what the crew wants of the run."""
    return _live(here).set_targets(targets)


@router.get(
    "/stream",
    response_class=StreamingResponse,
    responses={200: {"content": {"text/event-stream": {"schema": {"type": "string"}}}}},
)
async def stream(here: Here) -> StreamingResponse:
    """Stream what happens as server-sent events.

    "run" once a second with the whole picture (`Run`), "boat" with each fix (`lat`, `lon`,
    `time_s`), "journal" when the journal has changed (`day`).
    """
    live = _live(here)
    listener = live.listeners.join()

    async def lines() -> AsyncIterator[bytes]:
        try:
            async for event in listener.events():
                yield event
        finally:
            live.listeners.leave(listener)

    return StreamingResponse(
        lines(),
        media_type="text/event-stream",
        headers={"Cache-Control": "no-store", "X-Accel-Buffering": "no"},
    )
