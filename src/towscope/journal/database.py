"""A journal's database: connected to, brought up to date, and its complaints said plainly."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import sqlalchemy as sa
from sqlalchemy.exc import DatabaseError

from towscope.errors import InputError, one_line
from towscope.journal.schema import HEAD

if TYPE_CHECKING:
    from sqlalchemy.engine import Connection, Engine

_WAIT_MS: Final = 15_000


class DamagedError(InputError):
    """The journal's file does not read as it was written."""


@contextmanager
def plainly(shown: str) -> Iterator[None]:
    """Say a database's complaints as one plain line."""
    try:
        yield
    except DatabaseError as error:
        text = one_line(str(error.orig or error), 160)
        low = text.lower()
        if "full" in low or "no space" in low or "disk i/o" in low:
            message = (
                f"no room on the disk for {shown}: this was not saved, all before it is "
                "safe; free some space and enter it again"
            )
        elif "locked" in low or "busy" in low:
            message = f"{shown} is in use by another program for too long; try again"
        elif "malformed" in low or "not a database" in low:
            raise DamagedError(
                f"{shown} is damaged; `towscope day rescue` saves what can be read of it, and of "
                "its copies, in a new journal"
            ) from error
        elif "readonly" in low or "read-only" in low:
            message = f"{shown} cannot be written to: read only"
        else:
            message = f"{shown}: {text}"
        raise InputError(message) from error


def sqlite(path: Path, *, full: bool, alone: bool = False) -> Engine:
    """Connect to a file: `full`, nothing acknowledged is lost; `alone`, without a log beside it."""
    engine = sa.create_engine(
        sa.URL.create("sqlite", database=str(path)),
        connect_args={"timeout": _WAIT_MS / 1000, "check_same_thread": False},
        poolclass=sa.StaticPool if alone else None,
    )

    @sa.event.listens_for(engine, "connect")
    def _connect(connection: Any, _: object) -> None:
        connection.isolation_level = None  # we say BEGIN ourselves, see below
        cursor = connection.cursor()
        cursor.execute(f"PRAGMA busy_timeout = {_WAIT_MS}")
        if alone:
            cursor.execute("PRAGMA locking_mode = EXCLUSIVE")
        else:
            cursor.execute("PRAGMA journal_mode = WAL")
        cursor.execute(f"PRAGMA synchronous = {'FULL' if full else 'OFF'}")
        cursor.execute("PRAGMA foreign_keys = ON")
        cursor.execute("PRAGMA recursive_triggers = ON")
        cursor.execute("PRAGMA trusted_schema = OFF")
        cursor.close()

    @sa.event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        # a writer asks for its place at once: asking midway could fail after the reading
        write = connection.get_execution_options().get("towscope_write", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if write else "BEGIN")

    return engine


def inode(path: Path | None) -> tuple[int, int] | None:
    """Give what tells a file from another of the same name."""
    try:
        state = path.stat() if path is not None else None
    except OSError:
        return None
    return (state.st_dev, state.st_ino) if state is not None else None


def bring_up(engine: Engine, shown: str, path: Path | None) -> None:
    """Make the tables, or bring those of an earlier version up to date, a copy kept aside."""
    with plainly(shown), engine.connect() as connection:
        found = _revision(connection, shown)
    if found == HEAD:
        return
    if found is not None and found > HEAD:
        raise InputError(
            f"{shown} was made by a later version of towscope (store {found}, this one knows "
            f"{HEAD}); nothing was changed"
        )
    if found is not None and path is not None:
        _copy_aside(engine, path, found)
    migrate(engine, shown, HEAD)


def migrate(engine: Engine, shown: str, revision: str) -> None:
    """Bring a store up to a revision, wholly or not at all."""
    from importlib.resources import as_file, files

    from alembic import command
    from alembic.config import Config

    with as_file(files("towscope.journal") / "migrations") as folder:
        config = Config()
        config.set_main_option("script_location", str(folder).replace("%", "%%"))
        with plainly(shown), engine.connect() as connection:
            connection = connection.execution_options(towscope_write=True)
            with connection.begin():
                if engine.dialect.name == "postgresql":  # two commands at once must not both build
                    connection.exec_driver_sql("SELECT pg_advisory_xact_lock(7046021)")
                if _revision(connection, shown) == revision:
                    return
                config.attributes["connection"] = connection
                command.upgrade(config, revision)


def _revision(connection: Connection, shown: str) -> str | None:
    names = set(sa.inspect(connection).get_table_names())
    if not names:
        return None
    if "alembic_version" not in names or "entry" not in names:
        raise InputError(f"{shown} is a database but no journal; nothing was changed")
    text = connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar()
    return str(text) if text is not None else None


def _copy_aside(engine: Engine, path: Path, found: str) -> None:
    aside = path.with_name(f"{path.name}.before-{HEAD}-was-{found}")
    if aside.exists():
        return
    with plainly(str(path)), engine.connect() as connection:
        raw: Any = connection.connection.driver_connection
        raw.execute("VACUUM INTO ?", (str(aside),))
