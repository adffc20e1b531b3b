"""Idempotent taking of a phone's entries: each is taken, was here already, or is refused.

A phone sends what it has until it hears what became of it, so that the same entry may come any
number of times, alone or among others, also while an earlier sending is still being taken. One
that is refused keeps no other out. What is answered "taken" or "had" is on the disk.

A phone's clock is never believed where the boat's is known: how far it was ahead, told by the phone
when it made the entry or by the boat when it came, is taken off its time and stored beside it.
"""

from __future__ import annotations

import json
import math
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final, Literal

import sqlalchemy as sa

from towscope.errors import InputError, one_line
from towscope.journal.events import AnyEvent, read_event, stored_event
from towscope.journal.ids import check_id
from towscope.journal.store import Store

MOST: Final = 200  # entries in one sending
LARGEST: Final = 8_000  # characters of one entry's JSON
NEAR_S: Final = 15.0  # clocks this near agree: a phone waits 12 s for its sending to get through
# What may be added to an entry where its maker left it out: a later sending without it is the same.
ADDED: Final = frozenset(
    {"lat", "lon", "zone", "depth_m", "rig", "lure", "body", "size_m", "colour"}
)
Complete = Callable[[AnyEvent], AnyEvent]
_one_at_a_time: Final = threading.Lock()


@dataclass(frozen=True)
class SyncAnswer:
    """What became of one entry.

    Attributes
    ----------
    id : str
        Its name as it was given; "" where it had none.
    state : str
        "taken" (new, and on the disk), "had" (was on the disk already) or "refused".
    why : str
        Why it was refused.
    """

    id: str
    state: Literal["taken", "had", "refused"]
    why: str = ""


def take_entries(
    store: Store,
    sent: Sequence[Any],
    complete: Complete | None = None,
    *,
    ahead_s: float | None = None,
) -> list[SyncAnswer]:
    """Take entries made elsewhere into the journal.

    Parameters
    ----------
    store : Store
        The journal.
    sent : sequence
        Entries as plain values, as they came.
    complete : callable, optional
        Adds to a new entry what its maker left out and is known here (`ADDED`).
    ahead_s : float, optional
        How far the sender's clock is ahead of the boat's now [s]; it counts for entries that do not
        tell themselves what it was when they were made.

    Returns
    -------
    list of SyncAnswer
        One for each, in order.

    Raises
    ------
    InputError
        Where there are too many, or none could be put on the disk: then none was taken.

    Examples
    --------
    >>> import tempfile, pathlib
    >>> from towscope.journal.opening import open_store
    >>> hit = {"id": "017f22e2-79b0-7cc3-98c4-dc0c0c07398f", "device": "phone",
    ...     "kind": "bottom_hit", "rod": "port", "at": "2026-08-14T07:42:00-05:00"}
    >>> with open_store(pathlib.Path(tempfile.mkdtemp()) / "journal.sqlite") as store:
    ...     [each.state for each in take_entries(store, [hit, hit, {**hit, "kind": "dance"}])]
    ['taken', 'had', 'refused']
    """
    if len(sent) > MOST:
        raise InputError(f"{len(sent)} entries at once; expected at most {MOST}")
    read = [_read(each, ahead_s) for each in sent]
    with _one_at_a_time:
        good = [each for each in read if not isinstance(each, SyncAnswer)]
        here = store.lines_of([each.id for each in good])
        new: dict[str, AnyEvent] = {}
        answers = []
        for each in read:
            if isinstance(each, SyncAnswer):
                answers.append(each)
                continue
            before = here.get(each.id)
            if before is None:
                new[each.id] = complete(each) if complete is not None else each
                here[each.id] = new[each.id].line()
                answers.append(SyncAnswer(each.id, "taken"))
            elif _same(each, before):
                answers.append(SyncAnswer(each.id, "had"))
            else:
                why = "another entry has this id: the one that came first stays"
                answers.append(SyncAnswer(each.id, "refused", why))
        failed = _append(store, list(new.values()))
    return [
        SyncAnswer(a.id, "refused", failed[a.id]) if a.id in failed and a.state != "refused" else a
        for a in answers
    ]


def _append(store: Store, new: Sequence[AnyEvent]) -> dict[str, str]:
    """Store them all; where they can't be together, each by itself. Give why some could not."""
    try:
        store.append(new)
    except InputError as error:
        if len(new) < 2:
            if isinstance(error.__cause__, (sa.exc.DataError, sa.exc.IntegrityError)):
                return {each.id: one_line(error) for each in new}
            raise
    else:
        return {}
    failed: dict[str, str] = {}
    for each in new:
        try:
            failed |= _append(store, [each])
        except InputError as error:
            failed[each.id] = one_line(error)
    if len(failed) == len(new):  # no fault of theirs: a full disk, say
        raise InputError(next(iter(failed.values())))
    return failed


def _read(sent: Any, ahead_s: float | None) -> AnyEvent | SyncAnswer:
    name = sent.get("id", "") if isinstance(sent, dict) else ""
    name = one_line(name, 60) if isinstance(name, str) else ""
    try:
        _storable(sent)
        if not isinstance(sent, dict):
            raise InputError("not an entry; expected one as a JSON object")
        if len(json.dumps(sent)) > LARGEST:
            raise InputError(f"far too long; expected an entry of at most {LARGEST} characters")
        if name:
            check_id(name)
        event = read_event(_by_the_boats_clock(sent, ahead_s))
        if stored_event(event.line()) != event:  # what is taken must be read back
            raise InputError("cannot be stored as it is; expected plain values")
    except (InputError, ValueError, RecursionError) as error:
        return SyncAnswer(name, "refused", one_line(error))
    return event


def _storable(value: Any, where: str = "entry") -> None:
    """Refuse what no disk or database holds: halves of characters, the character 0, no numbers."""
    if isinstance(value, str):
        if "\x00" in value or any("\ud800" <= c <= "\udfff" for c in value):
            raise InputError(
                f"{one_line(where, 40)}: has a character that cannot be stored "
                f'(in "{one_line(value, 30)}"); expected plain text'
            )
    elif isinstance(value, float):
        if not math.isfinite(value):
            raise InputError(f"{one_line(where, 40)}: {value} is no number; expected one")
    elif isinstance(value, dict):
        for key, each in value.items():
            _storable(key, "a field's name")
            _storable(each, str(key))
    elif isinstance(value, list):
        for each in value:
            _storable(each, where)


def _by_the_boats_clock(sent: dict[str, Any], ahead_s: float | None) -> dict[str, Any]:
    """Set an entry that does not tell its clock's error to the boat's time, whole seconds."""
    at = sent.get("at")
    if ahead_s is None or abs(ahead_s) <= NEAR_S or not isinstance(at, str):
        return sent
    if sent.get("clock_ahead_s") is not None:
        return sent
    ahead = float(round(ahead_s))
    try:
        shown = datetime.fromisoformat(at)
        if shown.tzinfo is None:
            return sent
        told = shown - timedelta(seconds=ahead)
    except (ValueError, OverflowError):
        return sent
    return {**sent, "at": told.isoformat(), "clock_ahead_s": ahead}


def _same(sent: AnyEvent, line: str) -> bool:
    """Tell whether an entry is the one that is kept, what was added to it left aside.

    How far a phone's clock is ahead is told anew with each sending, and never twice quite the same;
    where that clock was set in between, the phone may tell the entry by it as it is now.
    """
    try:
        kept = stored_event(line)
    except InputError:
        return False
    a, b = json.loads(sent.line()), json.loads(line)
    for body in (a, b):
        body.pop("at"), body.pop("clock_ahead_s", None)
    then = abs(sent.shown_s - kept.shown_s) < 1e-3 or abs(sent.at_s - kept.at_s) <= NEAR_S
    told = all(b.get(key) == value for key, value in a.items()) and set(b) - set(a) <= ADDED
    return then and told and sent.at.utcoffset() == kept.at.utcoffset()
