"""Nothing acknowledged is lost, nothing kept is changed, whatever befalls program or disk."""

from __future__ import annotations

import os
import random
import shutil
import signal
import socket
import sqlite3
import subprocess
import tempfile
import time
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest
import sqlalchemy as sa
from tests.unchecked import NO_POSTGRES

from towscope.errors import InputError
from towscope.journal.database import migrate, sqlite
from towscope.journal.opening import open_store
from towscope.journal.schema import HEAD
from towscope.journal.store import Store
from towscope.journal.track import make_track

from .conftest import START, ZONE, entry

unix = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork and signals")


def test_the_store_is_as_promised(store: Store) -> None:
    with store._engine.connect() as connection:
        asked = {
            name: connection.exec_driver_sql(f"PRAGMA {name}").scalar()
            for name in ("journal_mode", "foreign_keys", "synchronous")
        }
    # SQLite documentation, "PRAGMA synchronous": 2 is FULL
    assert asked == {"journal_mode": "wal", "foreign_keys": 1, "synchronous": 2}


def test_the_same_twice_is_kept_once(store: Store) -> None:
    events = [entry("line_out", 0, rod="port"), entry("catch", 5, rod="port")]
    assert store.append(events) == 2
    assert store.append([*events, entry("line_in", 9, rod="port")]) == 1
    assert [e.kind for e in store.day("2026-08-14").events] == ["line_out", "catch", "line_in"]


def test_another_entry_under_a_known_id_is_refused_and_takes_nothing(store: Store) -> None:
    fish = entry("catch", 0, length_m=0.5)
    store.append([fish])
    other = fish.model_copy(update={"length_m": 0.9})
    with pytest.raises(InputError, match="differs"):
        store.append([entry("note", 1, text="x"), other])
    assert len(list(store.events())) == 1


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE entry SET line = 'x'",
        "DELETE FROM entry",
        "DELETE FROM block",
        "UPDATE stretch SET day = 'x'",
        "INSERT INTO block VALUES (99, x'00')",
    ],
)
def test_the_database_itself_refuses_to_change_what_is_kept(store: Store, statement: str) -> None:
    store.append([entry("note", 0, text="x")])
    store.add_track(make_track([1.7865e9, 1.7865e9 + 1], [45, 45], [-93, -93]), "phone")
    with (
        pytest.raises(sa.exc.DatabaseError, match=r"only added to|FOREIGN KEY"),
        store._engine.begin() as connection,
    ):
        connection.exec_driver_sql(statement)


def test_replacing_a_row_changes_nothing(store: Store) -> None:
    store.append([entry("note", 0, text="x")])
    with sqlite3.connect(str(store.path)) as raw:  # a stranger without our settings
        raw.execute(
            "INSERT OR REPLACE INTO entry (arrival, id, day, at_us, kind, device, line) "
            "VALUES (1, 'other', '2026-08-14', 1, 'note', 'x', '{}')"
        )
    assert [e.kind for _, e in store.events()] == ["note"]


def test_track_by_day_parted_at_three_in_the_morning(store: Store) -> None:
    three = START.replace(hour=3, minute=0).timestamp()
    t = three + np.arange(-600, 600, 1.0)
    track = make_track(t, np.full(1200, 45.0), np.full(1200, -93.0))
    assert store.add_track(track, "phone", ZONE) == 1200
    assert store.add_track(track, "phone", ZONE) == 0
    assert len(store.track("2026-08-13")) == len(store.track("2026-08-14")) == 600
    assert [(r.day, r.track_points) for r in store.days()] == [
        ("2026-08-14", 600),
        ("2026-08-13", 600),
    ]


def test_two_receivers_tracks_are_not_mixed(store: Store) -> None:
    t = START.timestamp() + np.arange(100.0)
    store.add_track(make_track(t, np.full(100, 45.0), np.full(100, -93.0)), "plotter", ZONE)
    store.add_track(make_track(t[:50], np.full(50, 45.1), np.full(50, -93.0)), "phone", ZONE)
    assert set(store.track("2026-08-14").lat) == {45.0}
    assert len(store.track("2026-08-14", "phone")) == 50


# -- versions ------------------------------------------------------------------------------------


def test_the_steps_lead_from_nothing_to_what_the_program_expects(store: Store) -> None:
    from towscope.journal.schema import META

    inspector = sa.inspect(store._engine)
    for name, table in META.tables.items():
        assert {c["name"] for c in inspector.get_columns(name)} == set(table.columns.keys())


def test_a_store_of_the_version_before_is_brought_up_and_a_copy_kept(tmp_path: Path) -> None:
    path = tmp_path / "old.sqlite"
    engine = sqlite(path, full=True)
    migrate(engine, "old", "0001")
    old = Store(engine, "old", path)
    old.append([entry("note", 0, text="from before")])
    assert "effort" not in sa.inspect(engine).get_table_names()
    old.close()
    with open_store(path) as new:
        assert [e.kind for _, e in new.events()] == ["note"]
        assert new.kept_effort() == {}
    copy = path.with_name(f"old.sqlite.before-{HEAD}-was-0001")
    with sqlite3.connect(copy) as raw:
        assert raw.execute("SELECT count(*) FROM entry").fetchone() == (1,)
        assert raw.execute("SELECT version_num FROM alembic_version").fetchone() == ("0001",)


def test_a_store_of_a_later_version_is_left_alone(store: Store) -> None:
    path = store.path
    assert path is not None
    store.close()
    with sqlite3.connect(path) as raw:
        raw.execute("UPDATE alembic_version SET version_num = '9999'")
    with pytest.raises(InputError, match=r"later version.*nothing was changed"):
        open_store(path)


@pytest.mark.parametrize("what", ["text", "folder", "strange", "cut", "missing"])
def test_what_is_no_journal_is_said_in_one_line_and_left_alone(tmp_path: Path, what: str) -> None:
    path = tmp_path / "x.sqlite"
    if what == "text":
        path.write_text("my fishing diary, 1987")
    elif what == "folder":
        path.mkdir()
    elif what == "strange":
        with sqlite3.connect(path) as raw:
            raw.execute("CREATE TABLE recipes (soup)")
    elif what == "cut":
        with open_store(path) as store:
            store.append([entry("note", n, text="x" * 1000) for n in range(100)])
        path.write_bytes(path.read_bytes()[:9000])
    before = path.read_bytes() if path.is_file() else b""
    with pytest.raises(InputError) as caught:
        opened = open_store(path, create=False)
        list(opened.events())
    assert "\n" not in str(caught.value)
    if what in ("text", "strange"):
        assert path.read_bytes() == before


def test_bad_addresses() -> None:
    for text in ("mysql://x/y", "postgresql://", "oracle://h/d", "http://x"):
        with pytest.raises(InputError):
            open_store(text)


# -- misfortune ----------------------------------------------------------------------------------


def _write_until_killed(path: Path, pipe: int) -> None:
    store = open_store(path)
    number = 0
    while True:
        event = entry("note", number, text=f"entry {number} " + "x" * (number % 50) * 20)
        store.append([event])
        os.write(pipe, f"{event.id}\n".encode())  # only now is it acknowledged
        number += 1


def kill_while_writing(path: Path, times: int, seed: int = 7) -> tuple[int, int]:
    """Kill a writer `times` times in the midst of it; give (acknowledged, lost)."""
    rng = random.Random(seed)
    open_store(path).close()
    acknowledged: set[str] = set()
    for _ in range(times):
        reading, writing = os.pipe()
        child = os.fork()
        if child == 0:
            try:
                os.close(reading)
                _write_until_killed(path, writing)
            finally:
                os._exit(1)
        os.close(writing)
        first = os.read(reading, 37)  # it is writing: an id and the end of its line
        time.sleep(rng.uniform(0.0, 0.08))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        with os.fdopen(reading, "rb") as stream:
            lines = (first + stream.read()).decode().split("\n")
        acknowledged.update(line for line in lines[:-1] if line)
    with open_store(path) as store:
        kept = {event.id for _, event in store.events()}
        with store._engine.connect() as connection:
            assert connection.exec_driver_sql("PRAGMA integrity_check").scalar() == "ok"
    return len(acknowledged), len(acknowledged - kept)


@unix
def test_killing_the_writer_loses_no_acknowledged_entry(tmp_path: Path) -> None:
    acknowledged, lost = kill_while_writing(tmp_path / "j.sqlite", 25)
    assert acknowledged > 25
    assert lost == 0


@unix
def test_a_full_disk_gives_one_line_and_leaves_a_readable_store(tmp_path: Path) -> None:
    """The file size limit stands in for the disk: the write fails in the midst of a commit."""
    import resource

    path = tmp_path / "j.sqlite"
    with open_store(path) as store:
        store.append([entry("note", 0, text="before")])
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
            limit = path.stat().st_size + 20_000
            resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
            store = open_store(path)
            said = "nothing"
            try:
                for n in range(1000):
                    store.append([entry("note", n + 1, text="x" * 1500)])
            except InputError as error:
                said = str(error)
            # what stands can be read while the disk is still full
            said += f"\n{len(list(store.events()))}"
            os.write(writing, said.encode())
        finally:
            os._exit(0)
    os.close(writing)
    os.waitpid(child, 0)
    with os.fdopen(reading, "rb") as stream:
        message, _, count = stream.read().decode().partition("\n")
    assert message.startswith("no room on the disk")
    assert int(count) >= 1
    with open_store(path) as store:
        kept = [event for _, event in store.events()]
        assert len(kept) == int(count)
        store.append([entry("note", 5000, text="after")])


# -- PostgreSQL ----------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def postgres() -> Iterator[str]:
    """Start a server of our own, where Debian's or any other is installed."""
    pytest.importorskip("psycopg")
    places = [Path("/usr/lib/postgresql/15/bin"), *Path("/usr/lib/postgresql").glob("*/bin")]
    found = shutil.which("initdb") or next(
        (str(p / "initdb") for p in places if (p / "initdb").exists()), None
    )
    if found is None:
        pytest.skip(NO_POSTGRES)
    binaries = Path(found).resolve().parent
    as_user: list[str] = []
    if os.geteuid() == 0:  # the server refuses to run as root
        if (
            shutil.which("setpriv") is None
            or subprocess.run(["id", "postgres"], capture_output=True).returncode
        ):
            pytest.skip("the journal in PostgreSQL: root may not run it; add a user postgres")
        as_user = ["setpriv", "--reuid=postgres", "--regid=postgres", "--clear-groups"]
    # a folder beside pytest's, which lets no other user in
    with tempfile.TemporaryDirectory(prefix="towscope-pg-") as made, socket.socket() as free:
        folder = Path(made)
        if as_user:
            shutil.chown(folder, "postgres", "postgres")
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
        free.close()

        def run(program: str, *options: str | Path) -> None:
            subprocess.run(
                [*as_user, binaries / program, "-D", folder / "data", *options],
                check=True,
                capture_output=True,
                timeout=60,
                cwd="/",
            )

        served = f"-p {port} -k {folder} -c listen_addresses=127.0.0.1 -c fsync=off"
        try:
            run("initdb", "-A", "trust", "-U", "boat", "--locale=C", "-E", "UTF8")
            run("pg_ctl", "-w", "-l", folder / "log", "-o", served, "start")
        except (subprocess.SubprocessError, OSError) as error:
            pytest.skip(f"the journal in PostgreSQL: the server did not start: {error}")
        try:
            yield f"postgresql://boat@127.0.0.1:{port}/postgres"
        finally:
            run("pg_ctl", "-m", "immediate", "stop")


def test_postgresql_holds_the_same_journal(postgres: str) -> None:
    fish = entry("catch", 5, rod="port", length_m=0.5)
    undo = entry("undo", 6, target=fish.id)
    events = [entry("line_out", 0, rod="port"), fish, undo]
    track = make_track(
        START.timestamp() + np.arange(500.0), np.full(500, 45.0), np.full(500, -93.0)
    )
    with open_store(postgres) as store:
        assert store.append(events) == 3
        assert store.append(events) == 0
        assert store.add_track(track, "phone", ZONE) == 500
    with open_store(postgres) as store:
        state = store.day("2026-08-14")
        assert [e.kind for e in state.events] == ["line_out"]
        assert state.undone == (fish.id,)
        assert len(store.track("2026-08-14")) == 500
        assert store.days()[0].track_points == 500
        assert set(store.fingerprints()) == {"2026-08-14"}
        store.keep_effort({"2026-08-14": ("a", "[]")})
        assert store.kept_effort() == {"2026-08-14": ("a", "[]")}
        for statement in ("UPDATE entry SET day = 'x'", "DELETE FROM entry", "TRUNCATE block"):
            with (
                pytest.raises(sa.exc.DatabaseError, match="only added to"),
                store._engine.begin() as connection,
            ):
                connection.exec_driver_sql(statement)


def test_a_wrong_clock_does_not_take_over_the_last_day(store: Store) -> None:
    now = START + timedelta(hours=5)
    assert store.last_day(now) is None
    far = entry("note", 73 * 366 * 1440, text="from 2099")
    store.append([far])
    assert store.last_day(now) == far.day  # there is no other
    store.append([entry("note", -1440, text="yesterday")])
    assert store.last_day(now) == "2026-08-13"
    tomorrow = entry("note", 1440, text="from a phone whose zone is ahead")
    store.append([tomorrow])
    assert store.last_day(now) == "2026-08-15"
    undo = entry("undo", 1441, target=tomorrow.id)
    store.append([undo])
    assert store.last_day(now) == "2026-08-13"  # nothing stands on the other
    store.append([entry("undo", 1442, target=undo.id)])
    assert store.last_day(now) == "2026-08-15"
