"""Queue of long tasks that outlast a request: how far each is, and how it is stopped."""

from __future__ import annotations

import threading
import uuid
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any, Literal

from pydantic import BaseModel

from towscope.errors import InputError, NoAnswer, one_line
from towscope.progress import Progress
from towscope.web.saying import said

KEPT = 50


class Stopped(Exception):  # noqa: N818 - what the user wished, not an error
    """The task was told to stop; raised in it by its `Progress`."""


class Job(BaseModel):
    """A long task as it stands.

    Attributes
    ----------
    id : str
        Its name.
    what : str
        What it is for, in words.
    state : str
        "going", "done", "failed" or "stopped".
    share : float
        How much of it is done, 0 to 1.
    doing : str
        What it does now.
    error : str
        Why it failed.
    result : any
        What it came to.
    """

    id: str
    what: str
    state: Literal["going", "done", "failed", "stopped"] = "going"
    share: float = 0.0
    doing: str = ""
    error: str = ""
    result: Any = None


class Jobs:
    """Long tasks, one after another, so that the boat's picture never waits for them."""

    def __init__(self) -> None:
        self._pool = ThreadPoolExecutor(max_workers=1, thread_name_prefix="job")
        self._jobs: dict[str, Job] = {}
        self._stop: dict[str, threading.Event] = {}
        self._lock = threading.Lock()

    def start(self, what: str, work: Callable[[Progress], Any]) -> Job:
        """Begin a task.

        Parameters
        ----------
        what : str
            What it is for, in words.
        work : callable
            Does it, and calls the `Progress` that it is given as it goes; gives what it came to.

        Raises
        ------
        InputError
            Where more are waiting than would be done today.
        """
        job = Job(id=uuid.uuid4().hex, what=what)
        stop = threading.Event()
        with self._lock:
            going = [name for name, each in self._jobs.items() if each.state == "going"]
            if len(going) >= 8:
                raise InputError("8 tasks are still going; expected to wait, or to stop one")
            for old in [n for n in self._jobs if n not in going][: max(0, len(self._jobs) - KEPT)]:
                del self._jobs[old], self._stop[old]
            self._jobs[job.id] = job
            self._stop[job.id] = stop

        def progress(share: float, doing: str) -> None:
            if stop.is_set():
                raise Stopped
            job.share, job.doing = min(max(share, 0.0), 1.0), doing

        def run() -> None:
            try:
                progress(0.0, "")
                job.result = work(progress)
                job.share = 1.0
                job.state = "done"
            except Stopped:
                job.state = "stopped"
            except (InputError, NoAnswer) as error:
                job.error, job.state = said(error), "failed"
            except Exception as error:
                told = f"a fault in towscope itself ({type(error).__name__}: {error})"
                job.error, job.state = one_line(told), "failed"

        self._pool.submit(run)
        return job

    def find(self, name: str) -> Job:
        """Give a task by its id."""
        with self._lock:
            job = self._jobs.get(name)
        if job is None:
            raise InputError(f"no task {one_line(name, 40)!r}; expected one that was started here")
        return job

    def stop(self, name: str) -> Job:
        """Tell a task to stop; it does at its next report."""
        job = self.find(name)
        self._stop[name].set()
        return job

    def close(self) -> None:
        """Stop them all."""
        with self._lock:
            for stop in self._stop.values():
                stop.set()
        self._pool.shutdown(wait=False, cancel_futures=True)
