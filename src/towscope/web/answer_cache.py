"""Answers that take seconds, kept while the journal stands and worked out anew behind it.

A question that was answered before is answered again at once, marked with the time it was worked
out; where the journal has changed since, a task is begun and its answer is there a moment later.
"""

from __future__ import annotations

import hashlib
import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any, Final, TypeVar, cast

from towscope import clock
from towscope.calibration.calibrated_rig import depths_of
from towscope.progress import Progress
from towscope.web.jobs import Job, Jobs

if TYPE_CHECKING:
    from towscope.effort.depths import Depths
    from towscope.journal.replay import StandingEntries
    from towscope.web.context import AppContext

T = TypeVar("T")
MOST: Final = 40  # answers kept
LIVE_STEP_S: Final = 300.0  # while lines are out, an answer is this old at most before it is redone


@dataclass(frozen=True)
class Standing:
    """How an answer stands.

    Attributes
    ----------
    answer : Any
        What was worked out last; None where nothing was yet.
    as_of : datetime or None
        When.
    fresh : bool
        Whether the journal is still as it was then.
    job : Job or None
        The task that is at it now, or that failed.
    """

    answer: Any
    as_of: datetime | None
    fresh: bool
    job: Job | None


class AnswerCache:
    """Answers by question, each with a mark of what it was made from."""

    def __init__(self, jobs: Jobs) -> None:
        self._jobs = jobs
        self._lock = threading.Lock()
        self._answers: OrderedDict[str, tuple[str, datetime, Any]] = OrderedDict()
        self._begun: dict[str, tuple[str, Job]] = {}
        self._once: OrderedDict[str, tuple[str, Any]] = OrderedDict()
        self._depths: Depths | None = None
        self._shelf: object = None

    def ask(
        self,
        question: str,
        mark: str,
        what: str,
        work: Callable[[Progress], Any],
        *,
        again: bool = False,
    ) -> Standing:
        """Give the answer as it stands, and see to it that it becomes fresh.

        Parameters
        ----------
        question : str
            What is asked, word for word.
        mark : str
            What the answer depends on: another mark, another answer.
        what : str
            What the task is for, in words.
        work : callable
            Works it out.
        again : bool
            Whether to try once more what failed or was stopped.
        """
        with self._lock:
            kept = self._answers.get(question)
            if kept is not None and kept[0] == mark:
                self._answers.move_to_end(question)
                return Standing(kept[2], kept[1], True, None)
            begun = self._begun.get(question)
            if begun is None or self._anew(begun, mark, again):
                begun = (mark, self._jobs.start(what, self._working(question, mark, work)))
                self._begun[question] = begun
            job = begun[1]
            answer, as_of = (kept[2], kept[1]) if kept is not None else (None, None)
            return Standing(answer, as_of, False, job)

    @staticmethod
    def _anew(begun: tuple[str, Job], mark: str, again: bool) -> bool:
        state = begun[1].state
        if state == "going":  # what goes on is let finish, though it may be out of date then
            return False
        # what failed from the same beginnings would fail again
        return state == "done" or begun[0] != mark or again

    def _working(
        self, question: str, mark: str, work: Callable[[Progress], Any]
    ) -> Callable[[Progress], None]:
        def run(progress: Progress) -> None:
            at = clock.now()
            answer = work(progress)
            progress(1.0, "")
            with self._lock:
                self._answers[question] = (mark, at, answer)
                self._answers.move_to_end(question)
                while len(self._answers) > MOST:
                    old, _ = self._answers.popitem(last=False)
                    self._begun.pop(old, None)

        return run

    def once(self, question: str, mark: str, make: Callable[[], T]) -> T:
        """Give what `make` gives, made once while the mark stands: for several phones that ask."""
        with self._lock:
            held = self._once.get(question)
            if held is not None and held[0] == mark:
                self._once.move_to_end(question)
                return cast(T, held[1])
        made = make()
        with self._lock:
            self._once[question] = (mark, made)
            self._once.move_to_end(question)
            while len(self._once) > MOST:
                self._once.popitem(last=False)
        return made

    def depths(self, here: AppContext) -> Depths:
        """Give the engine for the tackle aboard; what it was asked before it still knows."""
        shelf = here.shelf()
        with self._lock:
            if self._depths is None or self._shelf is not shelf:
                fresh = depths_of(shelf)
                if self._depths is None or fresh.fingerprint() != self._depths.fingerprint():
                    self._depths = fresh
                self._shelf = shelf
            return self._depths


def kept_of(here: AppContext) -> AnswerCache:
    """Give what the running app keeps."""
    return cast(AnswerCache, here.rooms.setdefault("kept", AnswerCache(here.jobs)))


def mark_of(here: AppContext, *, live: bool = False) -> str:
    """Give a short text that changes when the journal or the tackle does.

    Parameters
    ----------
    here : AppContext
        The running app.
    live : bool
        Whether time passing counts too: lines that are out go on fishing.
    """
    days = sorted(here.store.fingerprints().items())
    parts: list[object] = [days, kept_of(here).depths(here).fingerprint()]
    if live and days:
        now = clock.now().timestamp()
        if _out(here.store.day(days[-1][0]), now):
            parts.append(now // LIVE_STEP_S)
    return hashlib.sha256(repr(parts).encode()).hexdigest()[:24]


def _out(state: StandingEntries, now_s: float) -> bool:
    """Say whether lines are out that were heard of within half a day."""
    return bool(state.out()) and now_s - max(e.at_s for e in state.events) < 12 * 3600.0
