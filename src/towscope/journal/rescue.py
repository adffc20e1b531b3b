"""Row-by-row reading of a damaged journal: what still reads goes into a new one.

A damaged page of SQLite stops every query that meets it, though all other pages are sound. Here the
rows are asked for in ranges; a range that fails is halved until single rows fail and are counted.
Entries and track are only ever added, so that a copy of the journal fills what the damage took.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from towscope.errors import InputError, one_line
from towscope.journal.events import AnyEvent, stored_event
from towscope.journal.times import check_day
from towscope.journal.track import LoggedTrack, decode

if TYPE_CHECKING:
    from towscope.journal.store import Store

_ROWS: Final = 4096  # asked for at once
_BEYOND: Final = 200_000  # looked at behind the last row that is known, where the end is not
_BESIDE: Final = ("-wal", "-shm")


@dataclass(frozen=True)
class Rescued:
    """What came of a rescue.

    Attributes
    ----------
    entries, stretches : int
        Entries and stretches of track that are now in the new journal and were not before.
    unread : int
        Rows that could not be read at all; a copy of the journal may have had them.
    left_out : tuple of str
        What was read and cannot be used, and why.
    sources : tuple of Path
        The files read: the damaged one, then its copies.
    """

    entries: int
    stretches: int
    unread: int
    left_out: tuple[str, ...]
    sources: tuple[Path, ...]


def rescue(damaged: Path, into: Store, copies: tuple[Path, ...] = ()) -> Rescued:
    """Put all that can be read of a damaged journal, and of its copies, into another.

    Parameters
    ----------
    damaged : Path
        The damaged file; it is only read.
    into : Store
        Where it goes; what is there already is passed over.
    copies : tuple of Path
        Earlier copies of it.

    Raises
    ------
    InputError
        Where the new journal cannot be written.
    """
    entries = stretches = unread = 0
    left_out: list[str] = []
    for number, source in enumerate((damaged, *copies)):
        rows, missed = _rows(source, "entry", "id, line")
        good = list(_good(rows, into, left_out))
        entries += sum(into.append(good[n : n + _ROWS]) for n in range(0, len(good), _ROWS))
        parts, gaps = _stretches(source)
        pieces = list(_tracks(parts, left_out))
        for piece in pieces:
            stretches += into.take((), [piece])[1] > 0
        unread += missed + gaps if number == 0 else 0
    return Rescued(entries, stretches, unread, tuple(left_out), (damaged, *copies))


def _good(rows: list[Any], into: Store, left_out: list[str]) -> Iterator[AnyEvent]:
    here = into.lines_of([row[0] for row in rows])
    for name, line in rows:
        try:
            event = stored_event(line)
            if event.id != name:
                raise InputError("its id is not the one it is kept under")
        except InputError as problem:
            left_out.append(f"entry {one_line(name, 40)[-6:]}: {problem}")
            continue
        if here.get(event.id, event.line()) == event.line():
            yield event
        else:
            left_out.append(f"entry {event.id[-6:]}: another one has its id in the new journal")


def _tracks(rows: list[Any], left_out: list[str]) -> Iterator[tuple[str, str, LoggedTrack]]:
    for device, day, data in rows:
        try:
            yield device, check_day(day), decode(bytes(data))
        except (InputError, TypeError) as problem:
            left_out.append(f"a stretch of {one_line(device, 40)}'s track: {one_line(problem, 80)}")


def _stretches(path: Path) -> tuple[list[Any], int]:
    """Read stretches with their blocks; the two tables are damaged each on its own."""
    heads, lost = _rows(path, "stretch", "arrival, device, day")
    blocks, missed = _rows(path, "block", "stretch, data", key="stretch")
    found = dict(blocks)
    whole = [(device, day, found[n]) for n, device, day in heads if n in found]
    return whole, max(lost, missed, len(heads) - len(whole))


def _rows(path: Path, table: str, columns: str, key: str = "arrival") -> tuple[list[Any], int]:
    """Read what can be read of a table: rows, and how many were met that could not be."""
    found: list[Any] = []
    missed = 0
    try:
        with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as raw:
            raw.text_factory = lambda data: data.decode("utf-8", "replace")
            raw.execute("SELECT count(*) FROM sqlite_master").fetchone()  # else no table is known
            last = _last(raw, table, key)
            ranges = [(n, min(n + _ROWS, last + 1)) for n in range(0, last + 1, _ROWS)][::-1]
            while ranges:
                low, high = ranges.pop()
                try:
                    found += raw.execute(
                        f"SELECT {columns} FROM {table} WHERE {key} >= ? AND {key} < ? "
                        f"ORDER BY {key}",
                        (low, high),
                    ).fetchall()
                except sqlite3.DatabaseError:
                    if high - low > 1:
                        middle = (low + high) // 2
                        ranges += [(middle, high), (low, middle)]
                    else:
                        missed += 1
    except sqlite3.Error:
        return found, missed
    return found, missed


def _last(raw: sqlite3.Connection, table: str, key: str) -> int:
    """Give the last row's number, or a bound on it where the end of the table does not read."""
    with suppress(sqlite3.DatabaseError):
        found = raw.execute(f"SELECT max({key}) FROM {table}").fetchone()[0]
        return int(found or 0)
    with suppress(sqlite3.DatabaseError):  # numbers given so far, kept by SQLite itself
        found = raw.execute(
            "SELECT seq FROM sqlite_sequence WHERE name = ?",
            ("stretch" if table == "block" else table,),
        ).fetchone()
        if found:
            return int(found[0])
    return _BEYOND


def is_sound(path: Path) -> bool:
    """Tell whether SQLite finds a journal's pages whole (``PRAGMA quick_check``)."""
    try:
        with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as raw:
            return bool(raw.execute("PRAGMA quick_check(1)").fetchone() == ("ok",))
    except sqlite3.OperationalError:
        return True  # in use or not to be opened: that is no damage
    except sqlite3.DatabaseError:
        return False


def set_aside(path: Path, now: datetime) -> Path:
    """Move a damaged journal, with what SQLite has beside it, out of the way; give its new place.

    Raises
    ------
    InputError
        Where it cannot be moved.
    """
    stem = f"{path.name}.damaged-{now:%Y-%m-%d}"
    number, aside = 1, path.with_name(stem)
    while aside.exists():
        number += 1
        aside = path.with_name(f"{stem}-{number}")
    try:
        path.rename(aside)
        for ending in _BESIDE:
            with suppress(FileNotFoundError):
                path.with_name(path.name + ending).rename(aside.with_name(aside.name + ending))
    except OSError as error:
        raise InputError(
            f"{one_line(path, 120)} is damaged and cannot be moved out of the way: "
            f"{error.strerror or error}"
        ) from None
    return aside


def damaged_beside(path: Path) -> list[Path]:
    """Give the damaged journals that were set aside beside this one, oldest first."""
    found = path.parent.glob(f"{path.name}.damaged-*")
    return sorted(each for each in found if not each.name.endswith(_BESIDE))
