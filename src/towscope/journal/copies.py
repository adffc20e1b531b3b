"""Online backups of the journal, made by themselves, rotated: one a day, the last few kept.

SQLite's own backup copies a journal page by page while it is in use; the copy is written beside its
name and renamed, so that a copy is whole or is not there.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing, suppress
from datetime import date
from pathlib import Path
from typing import Final

KEPT: Final = 5
FOLDER: Final = "copies"


def copies_of(path: Path) -> tuple[Path, ...]:
    """Give a journal's copies, newest first."""
    found = (path.parent / FOLDER).glob(f"{path.stem}-????-??-??{path.suffix}")
    return tuple(sorted(found, reverse=True))


def copy_if_due(path: Path, today: date) -> Path | None:
    """Copy a journal unless it was copied today already; throw old copies away.

    Parameters
    ----------
    path : Path
        The journal.
    today : date
        The day by which copies are named and counted.

    Returns
    -------
    Path or None
        The copy; None where none was due, or none could be made: a copy that fails costs no entry,
        and is tried again the next time.
    """
    copy = path.parent / FOLDER / f"{path.stem}-{today.isoformat()}{path.suffix}"
    if copy.exists() or not path.is_file():
        return None
    part = copy.with_name(f"{copy.name}.part")
    try:
        copy.parent.mkdir(mode=0o700, exist_ok=True)
        part.unlink(missing_ok=True)
        with (
            closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as source,
            closing(sqlite3.connect(part)) as target,
        ):
            source.backup(target)
            sound = target.execute("PRAGMA quick_check(1)").fetchone() == ("ok",)
            target.execute("PRAGMA journal_mode = DELETE")
        if not sound:  # a copy of damage pushes no good one out
            part.unlink()
            return None
        part.chmod(0o600)
        part.replace(copy)
    except (OSError, sqlite3.Error):
        with suppress(OSError):
            part.unlink(missing_ok=True)
        return None
    for old in copies_of(path)[KEPT:]:
        with suppress(OSError):
            old.unlink()
    return copy
