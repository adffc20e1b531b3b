"""A damaged journal loses what the damaged pages held and no more; logging never stops for it."""

from __future__ import annotations

import json
import random
import sqlite3
from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from fastapi.testclient import TestClient

from towscope.cli import run
from towscope.journal.copies import KEPT, copies_of, copy_if_due
from towscope.journal.events import AnyEvent, read_event
from towscope.journal.ids import join_id
from towscope.journal.opening import open_store
from towscope.journal.rescue import damaged_beside, is_sound, rescue, set_aside
from towscope.journal.track import make_track
from towscope.web.app import make_app
from towscope.web.context import AppContext

START_MS = 1_786_000_000_000
ENTRIES = 1500
TODAY = date(2026, 8, 14)


def notes(count: int, begin: int = 0) -> list[AnyEvent]:
    return [
        read_event(
            {
                "id": join_id(START_MS + n, n), "device": "phone", "kind": "note",
                "at": datetime.fromtimestamp(START_MS / 1000 + 60 * n, UTC).isoformat(),
                "text": f"number {n} " + "x" * (n % 90),
            }
        )
        for n in range(begin, begin + count)
    ]  # fmt: skip


@pytest.fixture
def journal(own_home: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("TOWSCOPE_ZONE", "America/Chicago")
    path = own_home / "journal.sqlite"
    with open_store(path) as store:
        store.append(notes(ENTRIES))
        t = START_MS / 1000 + np.arange(20_000.0)
        store.add_track(make_track(t, 46 + t % 1000 / 1e5, -93 + t % 777 / 1e5), "plotter", UTC)
    with closing(sqlite3.connect(path)) as raw:
        raw.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        raw.execute("PRAGMA journal_mode = DELETE")
    return path


def destroy(path: Path, pages: list[int]) -> None:
    """Write nonsense over pages, counted from 1 as SQLite does."""
    chance = random.Random(sum(pages))
    with path.open("r+b") as file:
        size = int.from_bytes(file.read(18)[16:18], "big")
        for page in pages:
            file.seek((page - 1) * size)
            file.write(chance.randbytes(size))


def pages_of(path: Path, table: str) -> list[int]:
    """Name the pages of a table's own tree (SQLite's dbstat, or by reading its root)."""
    with closing(sqlite3.connect(path)) as raw:
        root = raw.execute("SELECT rootpage FROM sqlite_master WHERE name = ?", (table,)).fetchone()
        size = raw.execute("PRAGMA page_size").fetchone()[0]
    data = path.read_bytes()
    found, ask = [], [int(root[0])]
    while ask:
        page = ask.pop()
        found.append(page)
        body = data[(page - 1) * size : page * size]
        head = body[100:] if page == 1 else body
        if head[0] == 5:  # interior page of a table: file format, section 1.6
            cells = int.from_bytes(head[3:5], "big")
            starts = [int.from_bytes(head[12 + 2 * n : 14 + 2 * n], "big") for n in range(cells)]
            ask += [int.from_bytes(body[s : s + 4], "big") for s in starts]
            ask.append(int.from_bytes(head[8:12], "big"))
    return found


@pytest.mark.parametrize("seed", range(6))
def test_what_the_damaged_pages_did_not_hold_is_saved(seed: int, journal: Path) -> None:
    leaves = pages_of(journal, "entry")[1:]
    hit = random.Random(seed).sample(leaves, 2)
    destroy(journal, hit)
    assert not is_sound(journal)
    with open_store(journal.with_name("new.sqlite")) as new:
        found = rescue(journal, new)
        assert found.stretches > 5
        # a page of 4 kB holds some twenty of these entries
        assert ENTRIES - 80 <= found.entries < ENTRIES
        assert len(list(new.events())) == found.entries
        again = rescue(journal, new)
        assert (again.entries, again.stretches) == (0, 0)


@pytest.mark.parametrize("table", ["entry", "entry_by_day", "sqlite_autoindex_entry_1", "stretch"])
def test_with_a_copy_nothing_at_all_is_lost(table: str, journal: Path) -> None:
    copy = copy_if_due(journal, TODAY)
    assert copy is not None
    with open_store(journal) as store:
        store.append(notes(3, begin=ENTRIES))  # after the copy, and on other pages
    destroy(journal, pages_of(journal, table)[:1])
    with open_store(journal.with_name("new.sqlite")) as new:
        rescue(journal, new, copies_of(journal))
        here = {event.id for _, event in new.events()}
        assert len(here) >= ENTRIES
        if table != "entry":  # its root page leads to all the others
            assert len(here) == ENTRIES + 3
        assert sum(len(track) for _, _, track in new.stretches()) == 20_000


@pytest.mark.parametrize("pages", [[1], [2], [3, 4, 5], "root", "leaf", "index"])
def test_logging_never_stops(
    pages: list[int] | str, journal: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    copy_if_due(journal, TODAY)
    table = {"root": "entry", "leaf": "entry", "index": "entry_by_kind"}
    if isinstance(pages, str):
        mine = pages_of(journal, table[pages])
        pages = mine[-1:] if pages == "leaf" else mine[:1]
    destroy(journal, pages)
    for n in range(3):
        assert run(["log", "note", "still here", str(n)]) == 0
    capsys.readouterr()
    with open_store(journal) as store:
        kept = [event for _, event in store.events()]
    texts = [getattr(event, "text", "") for event in kept]
    assert [text for text in texts if text.startswith("still")] == [
        f"still here {n}" for n in range(3)
    ]
    if pages == [1]:  # nothing in it says that it is a journal; elsewhere it may be another's file
        other = journal.with_name("other.sqlite")
        damaged_beside(journal)[0].rename(other)
        assert run(["log", "note", "x", "--journal", str(other)]) == 2
        assert "nothing was changed" in capsys.readouterr().err
        assert len(kept) == ENTRIES + 3
    if damaged_beside(journal):  # found out, and left for a new one
        assert len(kept) == ENTRIES + 3


def test_the_rescue_is_told(journal: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["day", "rescue"]) == 1
    assert "is whole" in capsys.readouterr().err
    destroy(journal, pages_of(journal, "entry")[1:3])
    assert run(["day", "show", "2026-08-06"]) in (0, 2)
    capsys.readouterr()
    assert run(["day", "rescue", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert ENTRIES - 80 <= told["entries"] < ENTRIES
    assert [Path(each).name[:22] for each in told["sources"]] == ["journal.sqlite.damaged"]
    assert Path(told["sources"][0]).is_file()
    assert run(["day", "list"]) == 0
    capsys.readouterr()
    assert run(["day", "rescue"]) == 0  # again: nothing twice
    assert ": 0 entries and 0 stretches" in capsys.readouterr().out
    assert run(["day", "rescue", "no-such-file"]) == 2


def test_the_app_goes_on_in_a_new_journal(journal: Path) -> None:
    aboard = AppContext()
    with TestClient(make_app(aboard), raise_server_exceptions=False) as client:
        assert client.get("/api/days").status_code == 200
        aboard.store._engine.dispose()  # what was read stays in memory otherwise
        destroy(journal, pages_of(journal, "entry"))
        statuses = [client.get("/api/days").status_code for _ in range(3)]
        assert statuses in ([503, 200, 200], [200, 200, 200])
        entry = json.loads(notes(1, begin=5000)[0].line())
        for _ in range(2):
            answer = client.post(
                "/api/journal/events", json={"events": [entry]}, headers={"X-Towscope": "1"}
            )
            if answer.status_code == 200:
                break
        assert answer.status_code == 200, answer.text
    assert damaged_beside(journal)


def test_copies_are_one_a_day_and_the_last_few(journal: Path) -> None:
    for day in range(1, 10):
        assert copy_if_due(journal, date(2026, 8, day)) is not None
        assert copy_if_due(journal, date(2026, 8, day)) is None
    names = [copy.name for copy in copies_of(journal)]
    assert names == [f"journal-2026-08-{day:02d}.sqlite" for day in range(9, 9 - KEPT, -1)]
    with open_store(copies_of(journal)[0]) as store:
        assert len(list(store.events())) == ENTRIES
    assert copies_of(journal)[0].stat().st_mode & 0o077 == 0
    # a damaged journal pushes no good copy out
    destroy(journal, pages_of(journal, "entry")[1:2])
    assert copy_if_due(journal, TODAY) is None
    assert len(copies_of(journal)) == KEPT


def test_a_second_damaged_journal_covers_no_first(journal: Path) -> None:
    now = datetime(2026, 8, 14, 12, tzinfo=ZoneInfo("UTC"))
    first = set_aside(journal, now)
    journal.write_bytes(b"x")
    second = set_aside(journal, now)
    assert damaged_beside(journal) == [first, second]
    assert not journal.exists()
