"""Routes for how far a long task is, and for its end."""

from __future__ import annotations

from fastapi import APIRouter

from towscope.web.context import Here
from towscope.web.jobs import Job

router = APIRouter(prefix="/api/jobs", tags=["jobs"])


@router.get("/{name}")
def job(name: str, here: Here) -> Job:
    """Give a task as it stands."""
    return here.jobs.find(name)


@router.delete("/{name}")
def stop(name: str, here: Here) -> Job:
    """Tell a task to stop."""
    return here.jobs.stop(name)
