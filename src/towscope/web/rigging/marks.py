"""What have touches taught of a rig: marks listed, weighed as a task, kept, taken back."""

from __future__ import annotations

import hashlib
import math
import threading
from collections import OrderedDict
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from towscope.errors import InputError
from towscope.formats.plain import plain
from towscope.journal.track import speeds
from towscope.sheets.findings import as_dict
from towscope.sheets.tuned import change_words, how_much, next_words, words_of
from towscope.tuning import keep
from towscope.tuning.findings import WRONG
from towscope.tuning.journal import AROUND, bottom_of, journal_marks, touches
from towscope.tuning.marks import KINDS, Mark, check
from towscope.tuning.weigh import Weighed, any_of, forget, tows_of, weigh
from towscope.units import SYSTEMS
from towscope.web.jobs import Report
from towscope.web.rigging.models import MarkIn, Marks, MarkShown, TouchShown, TuneAsk

if TYPE_CHECKING:
    from towscope.journal.store import Store
    from towscope.tackle.shelf import Shelf
    from towscope.tuning.journal import Bottom, Touched
    from towscope.web.aboard import Aboard
    from towscope.web.jobs import Job

MOST_SHOWN: Final = 60
MOST_HELD: Final = 4
OVER_S: Final = 30.0
SAME_S: Final = 1.0


class Weighings:
    """What was weighed and not yet kept, by the task that did it."""

    def __init__(self) -> None:
        self._held: OrderedDict[str, tuple[str, Weighed, list[Mark]]] = OrderedDict()
        self._lock = threading.Lock()

    def hold(self, name: str, rig: str, weighed: Weighed, old: list[Mark]) -> None:
        """Hold on to a weighing, and to the marks that were kept when it was done."""
        with self._lock:
            self._held[name] = rig, weighed, old
            while len(self._held) > MOST_HELD:
                self._held.popitem(last=False)

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
                raise InputError("that weighing is gone; expected to weigh the marks anew")
            if _keys(keep.marks_of(keep.load())) != _keys(held[2]):
                raise InputError("other marks were kept since; expected to weigh them all anew")
            held[1].keep()
            del self._held[name]


def weighings(here: Aboard) -> Weighings:
    """Give the running app's weighings."""
    found = here.rooms.setdefault("weighings", Weighings())
    assert isinstance(found, Weighings)
    return found


def _keys(marks: list[Mark]) -> set[tuple[Any, ...]]:
    return {m.key for m in marks}


def id_of(mark: Mark) -> str:
    """Give a short name to a mark."""
    return hashlib.sha256(repr(mark.key).encode()).hexdigest()[:16]


def kept_rigs() -> list[str]:
    """Name the rig of each mark that is kept; none where what is kept is broken."""
    try:
        return [m.rig for m in keep.marks_of(keep.load())]
    except InputError:
        return []


def lines_out(here: Aboard) -> bool:
    """Tell whether a line is out by the journal's last day, where that is today or yesterday."""
    from datetime import date, timedelta

    day = here.store.last_day()
    if day is None or day < (date.today() - timedelta(days=1)).isoformat():
        return False
    return bool(here.store.day(day).out())


def listed(here: Aboard, rig: str) -> Marks:
    """List a rig's kept marks, and the touches on it that the journal holds, newest first."""
    shelf = here.shelf()
    shelf.rig(rig)
    every = keep.marks_of(keep.load())
    own = [m for m in every if m.rig == rig]
    own.sort(key=lambda m: m.time or 0.0, reverse=True)
    others = [m for m in every if m.rig != rig and any_of([m], rig, shelf)]
    return Marks(
        kept=[
            MarkShown(
                id=id_of(m), kind=m.kind, lure=m.lure, let_out_m=m.let_out, speed_m_s=m.speed,
                depth_m=m.depth, error_m=m.error, day=m.day, time=m.time,
            )
            for m in own
        ],
        touches=_touches(here.store, rig, own, bool(here.lake)),
        others=len(others),
    )  # fmt: skip


def _touches(store: Store, rig: str, own: list[Mark], bed: bool) -> list[TouchShown]:
    shown: list[TouchShown] = []
    for day in sorted((row.day for row in store.days()), reverse=True):
        found = [t for t in touches(store, day) if t.rig == rig]
        shown += [_touch(t, own, bed) for t in reversed(found)]
        if len(shown) >= MOST_SHOWN:
            break
    return shown[:MOST_SHOWN]


def _touch(touched: Touched, own: list[Mark], bed: bool) -> TouchShown:
    touch = touched.touch
    part = touched.track.between(touch.at_s - OVER_S, touch.at_s + 2.0)
    ran = speeds(part) if len(part) > 1 else np.array([math.nan])
    known = ran[np.isfinite(ran)]
    trouble = ""
    if touched.let_out is None:
        trouble = "the line out was not logged"
    elif touch.depth_m is None and not bed:
        trouble = "no depth was read"
    elif len(touched.track.between(touch.at_s - AROUND, touch.at_s + 10.0)) < 5:
        trouble = "the boat's way was not recorded"
    return TouchShown(
        id=touch.id,
        at=touch.at,
        day=touch.day,
        rod=touch.rod,
        lure=touched.lure,
        let_out_m=touched.let_out,
        depth_m=touch.depth_m,
        speed_m_s=float(known.mean()) if len(known) else None,
        kept=any(m.time is not None and abs(m.time - touch.at_s) < SAME_S for m in own),
        trouble=trouble,
    )


def tune(here: Aboard, rig: str, ask: TuneAsk) -> Job:
    """Begin to weigh marks with those that are kept; keeps nothing yet.

    Raises
    ------
    InputError
        Where a typed mark cannot be, or there is none at all.
    """
    shelf = here.shelf()
    shelf.rig(rig)
    typed = [_mark(each, n, rig, shelf) for n, each in enumerate(ask.typed, 1)]
    old = keep.marks_of(keep.load())
    if not (typed or ask.touches or any_of(old, rig, shelf)):
        raise InputError(f"no marks tell of {rig} yet; expected a touch or more")
    bottom = _bottom(here)
    system = SYSTEMS[ask.units]
    name: list[str] = []

    def work(report: Report) -> dict[str, Any]:
        new = list(typed)
        notes: list[str] = []
        if ask.touches:
            count = len(ask.touches)

            def done(n: int) -> None:
                report(0.3 * n / count, f"where the lure was at touch {n} of {count}")

            found, notes = journal_marks(
                here.store, rig, shelf, tows_of(shelf), bottom, only=set(ask.touches), done=done
            )
            new += found
        weighed = weigh(
            rig,
            keep.join(old, new),
            shelf,
            deepest=ask.deepest_m,
            say=lambda share, doing: report(0.3 + 0.7 * share, doing),
        )
        report(1.0, "")
        weighings(here).hold(name[0], rig, weighed, old)
        found_ = weighed.found
        answer = as_dict(found_, weighed.posterior, len(new), notes + weighed.notes)
        for told, reading in zip(answer["marks"], found_.readings, strict=True):
            told["id"] = id_of(reading.mark)
            told["words"] = words_of(reading, system)
            told["looks_wrong"] = reading.wrong > WRONG
        answer["words"] = {
            "how_much": how_much(found_, system),
            "next": next_words(found_, system),
            "change": "" if found_.change is None else change_words(found_, system),
        }
        told_all: dict[str, Any] = plain(answer)
        return told_all

    started = threading.Event()

    def begin(report: Report) -> dict[str, Any]:
        started.wait(5.0)  # until the task knows its own name
        return work(report)

    job = here.jobs.start(f"what the marks of {rig} teach", begin)
    name.append(job.id)
    started.set()
    return job


def _bottom(here: Aboard) -> Bottom | None:
    """Give the lake's bottom; None where no lake is chosen or it is not kept any more."""
    if not here.lake:
        return None
    try:
        return bottom_of(here.lake)
    except InputError:
        return None


def _mark(each: MarkIn, number: int, rig: str, shelf: Shelf) -> Mark:
    at = each.at
    if at is not None and at.tzinfo is None:
        raise InputError(f"mark {number}: expected its time with the offset from UTC")
    mark = Mark(
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
    check(mark, shelf.tow(rig))
    return mark


def take_back(here: Aboard, rig: str, mark: str = "") -> Job:
    """Begin to take a rig's marks back, or one of them, and to work out the rest anew.

    Raises
    ------
    InputError
        Where there is none.
    """
    own = [m for m in keep.marks_of(keep.load()) if m.rig == rig]
    if not own or (mark and mark not in {id_of(m) for m in own}):
        raise InputError(f"no such mark of {rig} is kept; nothing to take back")

    def work(report: Report) -> dict[str, Any]:
        report(0.1, "working out the rest anew")
        gone, left = forget(rig, here.shelf(), lambda m: not mark or id_of(m) == mark)
        return {"forgotten_marks": gone, "marks_left": left}

    return here.jobs.start(f"take back marks of {rig}", work)
