"""A journal opened: made where there is none, begun anew where it is damaged."""

from __future__ import annotations

import os
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

import sqlalchemy as sa
from sqlalchemy.exc import NoSuchModuleError, OperationalError

from towscope.errors import InputError, one_line
from towscope.files import home
from towscope.journal.database import DamagedError, bring_up, sqlite
from towscope.journal.store import Store

OWN: Final = "journal.sqlite"  # in the user's folder
_MOST_TOLD: Final = 5


def default_place() -> str:
    """Give where the journal is: ``TOWSCOPE_JOURNAL``, or a file in the user's folder."""
    return os.environ.get("TOWSCOPE_JOURNAL") or str(home() / OWN)


def open_store(place: str | Path | None = None, *, create: bool = True) -> Store:
    """Open a journal, making it or bringing it up to date where needed.

    Parameters
    ----------
    place : str or Path, optional
        A file, or a URL such as ``postgresql://boat@host/journal``; the user's own without it.
    create : bool
        Whether to make one where there is none.

    Returns
    -------
    Store
        The store.

    Raises
    ------
    InputError
        Where it cannot be opened, is no journal, or was made by a later version.
    """
    text = str(place) if place is not None else default_place()
    if "://" in text:
        return _open_url(text)
    path = Path(text).expanduser()
    shown = one_line(path, 120)
    if path.is_dir():
        raise InputError(f"{shown} is a folder; expected a journal file")
    if not path.exists():
        if not create:
            raise InputError(f"there is no journal at {shown}")
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise InputError(f"cannot make {shown}: {error.strerror or error}") from None
    elif path.stat().st_size:
        with path.open("rb") as stream:
            begins_right = stream.read(16) == b"SQLite format 3\x00"
        if not begins_right and create and path == home() / OWN:  # ours by its place: it is damaged
            remarks = begin_anew(path)
            store = open_store(path)
            store.remarks = remarks
            return store
        if not begins_right:
            raise InputError(f"{shown} is no journal; nothing was changed")
        _peek(path, shown)
    engine = sqlite(path, full=True)
    store = Store(engine, shown, path)
    try:
        bring_up(engine, shown, path)
    except DamagedError:
        engine.dispose()
        if not create:
            raise
        remarks = begin_anew(path)
        store = open_store(path)
        store.remarks = remarks
        return store
    except InputError as problem:
        engine.dispose()
        if not isinstance(problem.__cause__, OperationalError) or not path.exists():
            raise
        # no room for the log's index beside the file: read it without one
        engine = sqlite(path, full=True, alone=True)
        try:
            bring_up(engine, shown, path)
        except InputError:
            engine.dispose()
            raise problem from None
        return Store(engine, shown, path)
    except BaseException:
        engine.dispose()
        raise
    return store


def begin_anew(path: Path) -> list[str]:
    """Set a damaged journal aside, and begin a new one with all that still reads.

    Parameters
    ----------
    path : Path
        The damaged file; it is moved beside its place, never removed.

    Returns
    -------
    list of str
        What the crew should know, one line each.

    Raises
    ------
    InputError
        Where there is no room for a new one.
    """
    from towscope.journal.copies import copies_of
    from towscope.journal.rescue import rescue, set_aside

    aside = set_aside(path, datetime.now(UTC))
    with open_store(path) as fresh:
        found = rescue(aside, fresh, copies_of(path))
    return [
        f"{one_line(path, 120)} was damaged. A new journal was begun with {found.entries} "
        f"entries and {found.stretches} stretches of track out of it and its copies; "
        f"{found.unread} rows did not read. The damaged file stays at {one_line(aside, 120)}",
        *found.left_out[:_MOST_TOLD],
    ]


def _peek(path: Path, shown: str) -> None:
    """Refuse another program's database before anything of ours touches it."""
    import sqlite3

    try:
        raw = sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)
        try:
            names = {row[0] for row in raw.execute("SELECT name FROM sqlite_master")}
        finally:
            raw.close()
    except sqlite3.Error:
        return  # no room for the log's index, or damaged: opening says which
    if names and not {"alembic_version", "entry"} <= names:
        raise InputError(f"{shown} is a database but no journal; nothing was changed")


def _open_url(text: str) -> Store:
    text = text.replace("postgresql://", "postgresql+psycopg://", 1)
    text = text.replace("postgres://", "postgresql+psycopg://", 1)
    try:
        url = sa.make_url(text)
        shown = url.render_as_string(hide_password=True).replace("+psycopg", "")
        if url.get_backend_name() != "postgresql":
            raise InputError(f"{one_line(shown, 120)}: expected a file or a postgresql:// address")
        engine = sa.create_engine(url, pool_pre_ping=True)
    except ModuleNotFoundError:
        raise InputError(
            'a journal in PostgreSQL needs the extra: pip install "towscope[postgres]"'
        ) from None
    except (sa.exc.ArgumentError, NoSuchModuleError):
        raise InputError(
            f'cannot read the journal\'s address "{one_line(text, 60)}"; '
            "expected a file or postgresql://user@host/database"
        ) from None
    try:
        bring_up(engine, one_line(shown, 120), None)
    except BaseException:
        engine.dispose()
        raise
    return Store(engine, one_line(shown, 120), None)
