"""What becomes of entries made on a phone: each is taken, was here already, or is refused and why.

A phone sends what it has until it hears what became of it, so that the same entry may come any
number of times, alone or among others, also while an earlier sending is still being taken. One
that is refused keeps no other out. What is answered "taken" or "had" is on the disk.
"""

from __future__ import annotations

import json
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

from towscope.errors import InputError, one_line
from towscope.journal.events import AnyEvent, read_event
from towscope.journal.ids import check_id
from towscope.journal.store import Store

MOST: Final = 200  # entries in one sending
LARGEST: Final = 8_000  # characters of one entry's JSON
# What may be added to an entry where its maker left it out: a later sending without it is the same.
ADDED: Final = frozenset(
    {"lat", "lon", "zone", "depth_m", "rig", "lure", "body", "size_m", "colour"}
)
Complete = Callable[[AnyEvent], AnyEvent]
_one_at_a_time: Final = threading.Lock()


@dataclass(frozen=True)
class Answer:
    """What became of one entry.

    Attributes
    ----------
    id : str
        Its name as it was given; "" where it had none.
    state : str
        "taken", "had" or "refused".
    why : str
        Why it was refused.
    """

    id: str
    state: Literal["taken", "had", "refused"]
    why: str = ""


def take_entries(
    store: Store, sent: Sequence[Any], complete: Complete | None = None
) -> list[Answer]:
    """Take entries made elsewhere into the journal.

    Parameters
    ----------
    store : Store
        The journal.
    sent : sequence
        Entries as plain values, as they came.
    complete : callable, optional
        Adds to a new entry what its maker left out and is known here (`ADDED`).

    Returns
    -------
    list of Answer
        One for each, in order.

    Raises
    ------
    InputError
        Where there are too many, or they could not be put on the disk: then none was taken.

    Examples
    --------
    >>> import tempfile, pathlib
    >>> from towscope.journal.store import open_store
    >>> touch = {"id": "017f22e2-79b0-7cc3-98c4-dc0c0c07398f", "device": "phone", "kind": "touch",
    ...     "rod": "port", "at": "2026-08-14T07:42:00-05:00"}
    >>> with open_store(pathlib.Path(tempfile.mkdtemp()) / "journal.sqlite") as store:
    ...     [each.state for each in take_entries(store, [touch, touch, {**touch, "kind": "dance"}])]
    ['taken', 'had', 'refused']
    """
    if len(sent) > MOST:
        raise InputError(f"{len(sent)} entries at once; expected at most {MOST}")
    read = [_read(each) for each in sent]
    with _one_at_a_time:
        good = [each for each in read if not isinstance(each, Answer)]
        here = {each.id: each for each in store.lines_of([each.id for each in good])}
        new: dict[str, AnyEvent] = {}
        answers = []
        for each in read:
            if isinstance(each, Answer):
                answers.append(each)
                continue
            before = here.get(each.id)
            if before is None:
                here[each.id] = new[each.id] = complete(each) if complete is not None else each
                answers.append(Answer(each.id, "taken"))
            elif _same(each, before):
                answers.append(Answer(each.id, "had"))
            else:
                why = "another entry has this id: the journal keeps the one that came first"
                answers.append(Answer(each.id, "refused", why))
        store.append(new.values())
    return answers


def _read(sent: Any) -> AnyEvent | Answer:
    name = sent.get("id", "") if isinstance(sent, dict) else ""
    name = one_line(name, 60) if isinstance(name, str) else ""
    try:
        if not isinstance(sent, dict):
            raise InputError("not an entry; expected one as a JSON object")
        if len(json.dumps(sent)) > LARGEST:
            raise InputError(f"far too long; expected an entry of at most {LARGEST} characters")
        if name:
            check_id(name)
        event = read_event(sent)
    except (InputError, ValueError, RecursionError) as error:
        return Answer(name, "refused", one_line(error))
    return event


def _same(sent: AnyEvent, kept: AnyEvent) -> bool:
    """Tell whether an entry is the one that is kept, what was added to it left aside."""
    a, b = json.loads(sent.line()), json.loads(kept.line())
    return all(b.get(key) == value for key, value in a.items()) and set(b) - set(a) <= ADDED
