"""One entry must not spoil a journal: what is accepted can be read by all that reads."""

from __future__ import annotations

import itertools
import json
import random
import sqlite3
from pathlib import Path
from typing import Any, get_args

import pytest
from pydantic import BaseModel

from towscope.cli import run
from towscope.errors import InputError
from towscope.journal.events import AnyEvent, Correct, read_event
from towscope.journal.exchange import take_jsonl
from towscope.journal.ids import join_id
from towscope.journal.opening import open_store
from towscope.journal.store import Store
from towscope.journal.sync import take_entries

NAME = "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"
FISH = {"kind": "catch", "rod": "port", "at": "2026-08-14T08:00:00-05:00", "length_m": 0.5}
# As far out as each kind of field can be written down; what is refused is left out of the journal.
TIMES = [
    "0001-01-01T00:00:00Z",
    "1989-12-31T23:59:59Z",
    "1990-01-01T00:00:00+14:00",
    "1990-01-01T00:00:00Z",
    "1990-01-01T01:00:00-23:59",
    "2026-08-14T02:59:59.999999-05:00",
    "2026-11-01T01:30:00-05:00",
    "2099-12-31T23:59:59+00:00",
    "2100-01-01T00:00:00Z",
    "2100-01-01T14:00:00+14:00",
    "9999-12-31T23:59:59Z",
    "1786000000",
]
WORDS = ["port", "x" * 80, "Å/ö:*?", "../../../etc", "=1+1", "\u202eport", "😀" * 40, "None", "0"]
TEXTS = [*WORDS, "a\nb\tc", "x" * 2000, "<script>1</script>", '","', "\ufeff"]
NUMBERS = [0.0, 1e-300, 0.01, 1, 12.5, 60, 500, 1000, 172800, -172800, -90, 90, 180, -180, 2**52]


def values(name: str, field: Any, target: str) -> list[Any]:
    if name in ("at", "since", "until"):
        return TIMES
    if name == "target":
        return [target, NAME, "ffffffff-ffff-7fff-bfff-ffffffffffff", NAME.upper()]
    if name == "changes":
        return [
            {"at": "2026-8-1"},
            {"at": "2026-08-14"},
            {"at": 0},
            {"at": None},
            {"rod": None, "length_m": "x"},
            {"length_m": 10**400},
            {"length_m": 1e308},
            {"text": "\x00"},
            *({"at": at} for at in TIMES),
            *({"rod": word} for word in WORDS),
        ]
    if field.annotation in (bool, bool | None):
        return [True, False]
    if "str" in str(field.annotation) and "float" not in str(field.annotation):
        return TEXTS if name == "text" else WORDS
    if "Literal" in str(field.annotation):
        return [v for part in get_args(field.annotation) for v in get_args(part)] or WORDS
    return NUMBERS


def extremes(seed: int, each: int = 40) -> list[AnyEvent]:
    """Make entries of every kind with fields at their edges: those that are accepted."""
    chance, count = random.Random(seed), itertools.count(1_786_000_000_000)
    made: list[AnyEvent] = []
    for kind in get_args(AnyEvent):
        assert issubclass(kind, BaseModel)
        for _ in range(each):
            target = made[chance.randrange(len(made))].id if made else NAME
            body: dict[str, Any] = {"id": join_id(next(count), chance.randrange(1 << 70))}
            body |= {"kind": kind.model_fields["kind"].default, "device": chance.choice(WORDS)}
            body["at"] = chance.choice(TIMES)
            for name, field in kind.model_fields.items():
                if name in body or name == "v":
                    continue
                if field.is_required() or chance.random() < 0.3:
                    body[name] = chance.choice(values(name, field, target))
            if "since" in body and chance.random() < 0.5:  # or hardly any clock would be accepted
                body["until"] = body["since"]
            try:
                made.append(read_event(body))
            except InputError:
                continue
    return made


READERS = [
    ("day", "list"),
    ("day", "effort", "--season"),
    ("pattern", "--since", "1989-12-31"),
    ("next",),
    ("log", "note", "still", "here"),
    ("day", "export", "all.jsonl"),
    ("day", "export", "all.csv"),
]


def read_all(capsys: pytest.CaptureFixture[str], days: list[str]) -> str:
    """Run every command that reads a journal; each answers or says that there is no answer."""
    each = [
        words
        for day in days
        for words in (
            ("day", "show", day),
            ("day", "effort", day),
            ("day", "export", "day.geojson", "--day", day),
            ("day", "export", "day.gpx", "--day", day),
            ("day", "report", day, "-o", "day.html"),
        )
    ]
    said = ""
    for words in [*READERS, *each]:
        status = run(list(words))
        told = capsys.readouterr()
        said += told.err
        assert status in (0, 1), (words, told.err)
    return said


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, own_home: Path) -> Path:
    """Stand in an empty folder; the journal's path."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("TOWSCOPE_ZONE", "America/Chicago")
    return own_home / "journal.sqlite"


def test_whatever_is_accepted_can_be_read(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    made = extremes(1)
    kinds = {event.kind for event in made}
    assert len(kinds) == len(get_args(AnyEvent)), kinds
    with open_store(here) as store:
        store.append(made)
        days = [row.day for row in store.days()]
    assert days[0] >= "2099"
    assert days[-1] == "1989-12-31"  # before three in the morning of the first day
    assert "left out" not in read_all(capsys, [days[0], days[-1], "2026-08-13"])
    # and it travels: word for word the same in another journal
    with open_store(here.with_name("other.sqlite")) as other:
        take_jsonl(other, Path("all.jsonl"))
        with open_store(here) as store:
            lines = {event.id: event.line() for _, event in store.events()}
        assert {event.id: event.line() for _, event in other.events()} == lines


@pytest.mark.parametrize(
    "body",
    [
        {"kind": "clock", "since": "0001-01-01T00:00:00Z", "until": "9999-12-31T23:59:59Z"},
        {"kind": "clock", "since": "1990-01-01T00:00:00Z", "until": "2099-12-31T23:59:59Z"},
        {"kind": "clock", "since": "2026-08-14T00:00:00Z", "until": "2026-08-13T00:00:00Z"},
        {"kind": "correct", "target": NAME, "changes": {"at": "2026-8-1"}},
        {"kind": "correct", "target": NAME, "changes": {"at": "0001-01-01T00:00:00Z"}},
        {"kind": "correct", "target": NAME, "changes": {"at": 0}},
        {"kind": "correct", "target": NAME, "changes": {"at": None}},
        {"kind": "correct", "target": NAME, "changes": {"length_m": 10**400}},
        {"kind": "correct", "target": NAME, "changes": {"text": "\x00"}},
        {"kind": "note", "text": "\x00"},
        {"kind": "note", "text": "\ud800"},
        {"kind": "note", "text": "x", "id": "ffffffff-ffff-7fff-bfff-ffffffffffff"},
        {"kind": "undo", "target": "ffffffff-ffff-7fff-bfff-ffffffffffff"},
    ],
)
def test_what_would_spoil_the_journal_is_refused_in_one_line(body: dict[str, Any]) -> None:
    whole = {"id": NAME, "device": "phone", "at": "2026-08-14T07:42:00-05:00", **body}
    if body["kind"] == "clock":
        whole |= {"of": "phone", "ahead_s": 60}
    with pytest.raises(InputError) as caught:
        read_event(whole)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("day", ["2026-8-1", "0001-01-01", "9999-12-31", "20260801", "", 3])
def test_a_stretch_of_no_day_is_refused(day: Any, here: Path, tmp_path: Path) -> None:
    body = {"device": "plotter", "day": day, "t_ms": [1786000000000], "lat": [46.0], "lon": [-93.0]}
    lines = [
        {"towscope_journal": 1, "device": "d", "written": "2026-08-14T00:00:00Z"},
        {"stretch": body},
        {"end": {"entries": 0, "stretches": 1}},
    ]
    file = tmp_path / "in.jsonl"
    file.write_text("\n".join(json.dumps(line) for line in lines) + "\n")
    with open_store(here) as store, pytest.raises(InputError, match="nothing was taken"):
        take_jsonl(store, file)


def spoil(path: Path, store: Store) -> str:
    """Put into a journal what only an earlier version took; the good entry's id."""
    good = read_event({**FISH, "id": NAME, "device": "phone"})
    store.append([good])
    clock = {
        "v": 1, "id": join_id(1_786_000_000_001, 1), "device": "phone", "kind": "clock",
        "at": "2026-08-14T07:00:00-05:00", "of": "phone", "ahead_s": 60.0,
        "since": "0001-01-01T00:00:00Z", "until": "9999-12-31T23:59:59Z",
    }  # fmt: skip
    dance = {"v": 1, "id": join_id(1_786_000_000_002, 2), "kind": "dance", "at": FISH["at"]}
    raw = sqlite3.connect(path)
    rows = [
        (clock["id"], "2026-08-14", "clock", json.dumps(clock)),
        (dance["id"], "2026-08-14", "dance", json.dumps(dance)),
        (join_id(1_786_000_000_003, 1), "2026-8-1", "note", "{"),
    ]
    raw.executemany(
        "INSERT INTO entry (id, day, at_us, kind, device, line) VALUES (?, ?, 0, ?, 'phone', ?)",
        rows,
    )
    raw.execute(
        "INSERT INTO stretch (id, device, day, start_us, end_us, points) "
        "VALUES ('a', 'plotter', '2026-8-1', 0, 0, 1)"
    )
    raw.execute(
        "INSERT INTO stretch (id, device, day, start_us, end_us, points) "
        "VALUES ('b', 'plotter', '2026-08-14', 0, 0, 1)"
    )
    raw.execute("INSERT INTO block (stretch, data) SELECT arrival, x'00' FROM stretch")
    raw.commit()
    raw.close()
    return good.id


def test_every_reader_passes_over_and_names_what_it_cannot_use(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with open_store(here) as store:
        good = spoil(here, store)
    said = read_all(capsys, ["2026-08-14"])
    assert "entry 000001 cannot be used and is left out: since: " in said
    assert 'unknown kind of entry "dance"' in said
    assert "a stretch of plotter's track cannot be used and is left out" in said
    with open_store(here) as store:
        assert [row.day for row in store.days()].count("2026-08-14") == 1
        assert good in [event.id for event in store.day("2026-08-14").events]
        marks = [mark.text for mark in store.day("2026-08-14").checks if mark.code == "unusable"]
        assert len(marks) == 2, marks  # the track was not asked for
        # an id that is taken by what cannot be used keeps no other entry out
        first = {**FISH, "id": join_id(1_786_000_000_002, 2), "device": "phone"}
        fresh = {**FISH, "id": join_id(1_786_000_000_009, 1), "device": "phone"}
        assert [each.state for each in take_entries(store, [first, fresh])] == ["refused", "taken"]


def test_a_correction_moves_an_entry_to_its_day_on_the_water(here: Path) -> None:
    # half past one at night still belongs to the evening before
    with open_store(here) as store:
        store.append([read_event({**FISH, "id": NAME, "device": "phone"})])
        mend = {
            "kind": "correct", "id": join_id(1_786_000_000_004, 1), "device": "phone",
            "at": FISH["at"], "target": NAME, "changes": {"at": "2026-08-13T01:30:00-05:00"},
        }  # fmt: skip
        event = read_event(mend)
        assert isinstance(event, Correct)
        assert event.moved_to == "2026-08-12"
        store.append([event])
        assert [e.id for e in store.day("2026-08-12").events] == [NAME]
        assert not store.day("2026-08-13").events
