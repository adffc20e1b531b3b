"""Waiting for a thing: one way for all tests, never for a time."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any, TypeVar

T = TypeVar("T")


def until(what: Callable[[], T], seconds: float = 60.0, every: float = 0.02, of: str = "") -> T:
    """Give the first answer of `what` that counts as true; fail when none comes in time."""
    end = time.monotonic() + seconds
    while not (found := what()):
        assert time.monotonic() < end, f"{of or 'what was waited for'}: not within {seconds:g} s"
        time.sleep(every)
    return found


def job_done(client: Any, job: dict[str, Any], seconds: float = 120.0) -> dict[str, Any]:
    """Follow one of the app's long tasks to its end."""
    now = [job]

    def over() -> bool:
        if now[0]["state"] == "going":
            now[0] = client.get(f"/api/jobs/{job['id']}").json()
        return bool(now[0]["state"] != "going")

    until(over, seconds, of=f"the end of {job.get('what', 'a task')}")
    return now[0]
