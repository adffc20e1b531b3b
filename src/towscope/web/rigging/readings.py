"""A rig's readings listed, weighed as a task, saved, taken out."""

from __future__ import annotations

import hashlib
import math
import threading
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from cachetools import LRUCache

from towscope.answers.calibrate import CalibrateAnswer
from towscope.calibration import store
from towscope.calibration.calibrate import WeighedReadings, any_of, forget, tows_of, weigh
from towscope.calibration.findings import WRONG
from towscope.calibration.readings import KINDS, Reading, check
from towscope.calibration.readings_from_journal import (
    AROUND,
    bottom_of,
    journal_readings,
    logged_hits,
)
from towscope.effort.fished import present
from towscope.errors import InputError
from towscope.journal.times import day_at
from towscope.journal.track import speeds
from towscope.progress import Progress
from towscope.sheets.calibrated import change_words, how_much, next_words, words_of
from towscope.units import SYSTEMS
from towscope.web.rigging.models import (
    BottomHitShown,
    CalibrateAsk,
    ReadingIn,
    ReadingShown,
    RigReadings,
)

if TYPE_CHECKING:
    from towscope.calibration.readings_from_journal import Bottom, LoggedHit
    from towscope.journal.store import Store
    from towscope.tackle.shelf import Shelf
    from towscope.web.context import AppContext
    from towscope.web.jobs import Job

MOST_SHOWN: Final = 60
MOST_HELD: Final = 4
OVER_S: Final = 30.0
SAME_S: Final = 1.0


class Weighings:
    """What was weighed and not yet kept, by the task that did it."""

    def __init__(self) -> None:
        self._held: LRUCache[str, tuple[str, WeighedReadings, list[Reading]]] = LRUCache(MOST_HELD)
        self._lock = threading.Lock()

    def hold(self, name: str, rig: str, weighed: WeighedReadings, old: list[Reading]) -> None:
        """Hold on to a weighing, and to the readings that were kept when it was done."""
        with self._lock:
            self._held[name] = rig, weighed, old

    def keep(self, name: str, rig: str) -> None:
        """Keep a weighing, where nothing else was kept since.

        Raises
        ------
        InputError
            Where it is no longer known, or another was kept since.
        """
        with self._lock:
            held = self._held.get(name)
            if held is None or held[0] != rig:
                raise InputError("that weighing is gone; expected to weigh the readings anew")
            if _keys(store.readings_of(store.load())) != _keys(held[2]):
                raise InputError("other readings were saved since; run the calibration again")
            held[1].keep()
            del self._held[name]


def weighings(here: AppContext) -> Weighings:
    """Give the running app's weighings."""
    found = here.rooms.setdefault("weighings", Weighings())
    assert isinstance(found, Weighings)
    return found


def _keys(readings: list[Reading]) -> set[tuple[Any, ...]]:
    return {m.key for m in readings}


def id_of(reading: Reading) -> str:
    """Give a short name to a reading."""
    return hashlib.sha256(repr(reading.key).encode()).hexdigest()[:16]


def kept_rigs() -> list[str]:
    """Name the rig of each reading that is kept; none where what is kept is broken."""
    try:
        return [m.rig for m in store.readings_of(store.load())]
    except InputError:
        return []


def lines_out(here: AppContext) -> bool:
    """Tell whether a line is out by the journal's last day, where that is today or yesterday."""
    from datetime import timedelta

    day = here.store.last_day()
    if day is None or day < (day_at(present()[0]) - timedelta(days=1)).isoformat():
        return False
    return bool(here.store.day(day).out())


def listed(here: AppContext, rig: str) -> RigReadings:
    """List a rig's kept readings, and bottom hits on it in the journal, newest first."""
    shelf = here.shelf()
    shelf.rig(rig)
    every = store.readings_of(store.load())
    own = [m for m in every if m.rig == rig]
    own.sort(key=lambda m: m.time or 0.0, reverse=True)
    others = [m for m in every if m.rig != rig and any_of([m], rig, shelf)]
    return RigReadings(
        kept=[
            ReadingShown(
                id=id_of(m), kind=m.kind, lure=m.lure, let_out_m=m.let_out, speed_m_s=m.speed,
                depth_m=m.depth, error_m=m.error, day=m.day, time=m.time,
            )
            for m in own
        ],
        bottom_hits=_hits(here.store, rig, own, bool(here.lake)),
        others=len(others),
    )  # fmt: skip


def _hits(store: Store, rig: str, own: list[Reading], bed: bool) -> list[BottomHitShown]:
    shown: list[BottomHitShown] = []
    for day in sorted((row.day for row in store.days()), reverse=True):
        found = [t for t in logged_hits(store, day) if t.rig == rig]
        shown += [_hit(t, own, bed) for t in reversed(found)]
        if len(shown) >= MOST_SHOWN:
            break
    return shown[:MOST_SHOWN]


def _hit(hit: LoggedHit, own: list[Reading], bed: bool) -> BottomHitShown:
    event = hit.event
    part = hit.track.between(event.at_s - OVER_S, event.at_s + 2.0)
    ran = speeds(part) if len(part) > 1 else np.array([math.nan])
    known = ran[np.isfinite(ran)]
    trouble = ""
    if hit.let_out is None:
        trouble = "the line out was not logged"
    elif event.depth_m is None and not bed:
        trouble = "no depth was read"
    elif len(hit.track.between(event.at_s - AROUND, event.at_s + 10.0)) < 5:
        trouble = "the boat's way was not recorded"
    return BottomHitShown(
        id=event.id,
        at=event.at,
        day=event.day,
        rod=event.rod,
        lure=hit.lure,
        let_out_m=hit.let_out,
        depth_m=event.depth_m,
        speed_m_s=float(known.mean()) if len(known) else None,
        kept=any(m.time is not None and abs(m.time - event.at_s) < SAME_S for m in own),
        trouble=trouble,
    )


def calibrate(here: AppContext, rig: str, ask: CalibrateAsk) -> Job:
    """Begin to weigh readings with those that are kept; keeps nothing yet.

    Raises
    ------
    InputError
        Where a typed reading cannot be, or there is none at all.
    """
    shelf = here.shelf()
    shelf.rig(rig)
    typed = [_reading(each, n, rig, shelf) for n, each in enumerate(ask.typed, 1)]
    old = store.readings_of(store.load())
    if not (typed or ask.bottom_hits or any_of(old, rig, shelf)):
        raise InputError(f"no readings of {rig} yet; expected a bottom hit or more")
    bottom = _bottom(here)
    system = SYSTEMS[ask.units]
    name: list[str] = []

    def work(progress: Progress) -> dict[str, Any]:
        new = list(typed)
        notes: list[str] = []
        if ask.bottom_hits:
            count = len(ask.bottom_hits)

            def done(n: int) -> None:
                progress(0.3 * n / count, f"where the lure was at bottom hit {n} of {count}")

            found, notes = journal_readings(
                here.store, rig, shelf, tows_of(shelf), bottom, only=set(ask.bottom_hits), done=done
            )
            new += found
        weighed = weigh(
            rig,
            store.join(old, new),
            shelf,
            deepest=ask.deepest_m,
            progress=lambda share, doing: progress(0.3 + 0.7 * share, doing),
        )
        progress(1.0, "")
        weighings(here).hold(name[0], rig, weighed, old)
        found_ = weighed.found
        answer = CalibrateAnswer(weighed, len(new), (*notes, *weighed.notes)).to_dict()
        for told, each in zip(answer["readings"], found_.weighed, strict=True):
            told["id"] = id_of(each.reading)
            told["words"] = words_of(each, system)
            told["looks_wrong"] = each.wrong > WRONG
        answer["words"] = {
            "how_much": how_much(found_, system),
            "next": next_words(found_, system),
            "change": "" if found_.change is None else change_words(found_, system),
        }
        return answer

    started = threading.Event()

    def begin(progress: Progress) -> dict[str, Any]:
        started.wait(5.0)  # until the task knows its own name
        return work(progress)

    job = here.jobs.start(f"what the readings of {rig} teach", begin)
    name.append(job.id)
    started.set()
    return job


def _bottom(here: AppContext) -> Bottom | None:
    """Give the lake's bottom; None where no lake is chosen or it is not kept any more."""
    if not here.lake:
        return None
    try:
        return bottom_of(here.lake)
    except InputError:
        return None


def _reading(each: ReadingIn, number: int, rig: str, shelf: Shelf) -> Reading:
    at = each.at
    if at is not None and at.tzinfo is None:
        raise InputError(f"reading {number}: expected its time with the offset from UTC")
    reading = Reading(
        rig=rig,
        lure=shelf.rig(rig).lure,
        let_out=each.let_out_m,
        speed=each.speed_m_s,
        depth=each.depth_m,
        kind=each.kind,
        error=KINDS[each.kind] if each.error_m is None else each.error_m,
        time=None if at is None else at.timestamp(),
        day="" if at is None else at.date().isoformat(),
        where="typed in",
    )
    check(reading, shelf.tow(rig))
    return reading


def take_back(here: AppContext, rig: str, reading: str = "") -> Job:
    """Begin to take a rig's readings back, or one of them, and to work out the rest anew.

    Raises
    ------
    InputError
        Where there is none.
    """
    own = [m for m in store.readings_of(store.load()) if m.rig == rig]
    if not own or (reading and reading not in {id_of(m) for m in own}):
        raise InputError(f"no such reading of {rig} is saved; nothing to take back")

    def work(progress: Progress) -> dict[str, Any]:
        progress(0.1, "working out the rest anew")
        gone, left = forget(rig, here.shelf(), lambda m: not reading or id_of(m) == reading)
        return {"forgotten_readings": gone, "readings_left": left}

    return here.jobs.start(f"take back readings of {rig}", work)
