"""The log's API: whatever a phone sends, however often, the journal holds each entry once."""

from __future__ import annotations

import json
import threading
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient
from hypothesis import given, settings
from hypothesis import strategies as st

from towscope.effort.fished import present
from towscope.journal.events import read_event
from towscope.journal.ids import join_id, new_id
from towscope.journal.opening import open_store
from towscope.journal.sync import MOST, take_entries
from towscope.live.models import BoatNow, Run
from towscope.web import logbook
from towscope.web.app import make_app
from towscope.web.context import AppContext

WRITE = {"X-Towscope": "1"}


@pytest.fixture
def aboard(tmp_path: Path) -> AppContext:
    return AppContext(journal=tmp_path / "journal.sqlite")


@pytest.fixture
def client(aboard: AppContext) -> Iterator[TestClient]:
    with TestClient(make_app(aboard), headers=WRITE) as client:
        yield client


def made(kind: str, ago_s: float = 0.0, **told: Any) -> dict[str, Any]:
    at = present()[0].replace(microsecond=0) - timedelta(seconds=ago_s)
    return {"id": new_id(), "device": "phone-a", "kind": kind, "at": at.isoformat(), **told}


def send(client: TestClient, *events: Any, **more: Any) -> list[dict[str, str]]:
    answer = client.post("/api/journal/events", json={"events": list(events), **more})
    assert answer.status_code == 200, answer.text
    return answer.json()["answers"]


def test_each_is_answered_and_one_that_is_refused_keeps_no_other_out(client: TestClient) -> None:
    good = [
        made("line_out", 60, rod="port", rig="demo", let_out_m=45.0),
        made("bottom_hit", rod="port"),
    ]
    bad = [
        made("catch", rod="port", length_m=30.0),  # no fish is 30 m long
        made("dance"),
        {**made("bottom_hit", rod="port"), "id": "not-an-id"},
        "words",
        {**made("note", text="x"), "lots": 1},
        made("correct", target=good[0]["id"], changes={"rig": "x" * 9000}),
    ]
    said = send(client, bad[0], good[0], *bad[1:], good[1])
    assert [each["state"] for each in said] == ["refused", "taken", *["refused"] * 5, "taken"]
    assert "length_m" in said[0]["why"]
    assert "dance" in said[2]["why"]
    assert said[3]["id"] == "not-an-id"
    assert all(each["why"] for each in said if each["state"] == "refused")
    day = client.get("/api/journal/day").json()
    assert [each["id"] for each in day["entries"]] == [each["id"] for each in good]


def test_sent_again_it_is_had_and_never_doubled(client: TestClient, aboard: AppContext) -> None:
    entry = made("catch", rod="port", species="walleye")
    assert [a["state"] for a in send(client, entry, entry)] == ["taken", "had"]
    assert [a["state"] for a in send(client, entry)] == ["had"]
    assert [a["state"] for a in send(client, {**entry, "species": "sauger"})] == ["refused"]
    assert len(list(aboard.store.events())) == 1


def test_what_was_acknowledged_is_on_the_disk(client: TestClient, tmp_path: Path) -> None:
    entry = made("note", text="wind turned")
    assert send(client, entry)[0]["state"] == "taken"
    # another connection sees it: it was committed before the answer
    with open_store(tmp_path / "journal.sqlite") as other:
        assert [e.id for _, e in other.events()] == [entry["id"]]


def test_undo_and_its_undo(client: TestClient) -> None:
    entry = made("catch", rod="port")
    undo = made("undo", target=entry["id"])
    send(client, entry, undo)
    day = client.get("/api/journal/day").json()
    assert day["entries"] == []
    assert [(e["id"], e["undo"]) for e in day["undone"]] == [(entry["id"], undo["id"])]
    send(client, made("undo", target=undo["id"]))
    day = client.get("/api/journal/day").json()
    assert [e["id"] for e in day["entries"]] == [entry["id"]]
    assert day["undone"] == []
    assert len(day["known"]) == 3


def test_an_undo_may_come_before_what_it_takes_back(client: TestClient) -> None:
    entry = made("catch", rod="port")
    undo = made("undo", target=entry["id"])
    assert send(client, undo)[0]["state"] == "taken"
    assert send(client, entry)[0]["state"] == "taken"
    assert client.get("/api/journal/day").json()["entries"] == []


def test_details_come_as_a_correction_and_are_told_in_words(client: TestClient) -> None:
    entry = made("catch", rod="port")
    more = {"species": "walleye", "length_m": 0.5461, "kept": False, "hook": "lip"}
    send(client, made("line_out", 9, rod="port"), entry)
    send(client, made("correct", target=entry["id"], changes=more))
    told = client.get("/api/journal/day").json()["entries"][1]
    assert told["fields"]["length_m"] == 0.5461
    assert told["words"]["us"].startswith("catch port: walleye 21.5 in, released")
    assert "54.6 cm" in told["words"]["metric"]
    assert [check["code"] for check in told["checks"]] == ["corrected"]


def test_rods_and_marks_of_the_day(client: TestClient) -> None:
    send(
        client,
        made("line_out", 90, rod="port", rig="demo", lure="small-minnow", let_out_m=45.0),
        made("line_out", 80, rod="starboard", rig="demo"),
        made("line_in", 70, rod="starboard"),
        made("line_change", 60, rod="port", let_out_m=52.0, colour="perch"),
        made("bottom_hit", 50, rod="third"),
    )
    day = client.get("/api/journal/day").json()
    rods = {rod["rod"]: rod for rod in day["rods"]}
    assert rods["port"]["out"] is True
    assert (rods["port"]["let_out_m"], rods["port"]["colour"]) == (52.0, "perch")
    assert rods["starboard"]["out"] is False
    assert any("third" in check["text"] for each in day["entries"] for check in each["checks"])


def test_a_lure_is_dressed_as_the_tackle_has_it(client: TestClient) -> None:
    send(client, made("line_out", rod="port", rig="demo"))
    fields = client.get("/api/journal/day").json()["entries"][0]["fields"]
    assert fields["lure"] == "small-minnow"
    assert (fields["body"], fields["size_m"]) == ("minnow", pytest.approx(0.0508))  # 2 in


class Boat:
    """Stands for what follows the boat."""

    place = (46.1, -94.3)
    run = Run(
        count=1,
        state="no lines",
        boat=BoatNow(at=datetime.now(UTC), depth_m=9.5, depth_from="sounder"),
    )


def test_place_and_sounding_are_added_while_they_are_fresh(aboard: AppContext) -> None:
    def completed(age_s: float, sent: bool = True, **told: Any) -> Any:
        entry = read_event(made("bottom_hit", rod="port", **told))
        at = entry.at + timedelta(seconds=age_s) if sent else None
        boat: Any = Boat()
        return logbook.completing(boat, aboard.shelf, at)(entry)

    now = completed(2.0)
    assert (now.lat, now.lon, now.depth_m) == (46.1, -94.3, 9.5)
    own = completed(2.0, lat=46.2, lon=-94.4, depth_m=8.0)
    assert (own.lat, own.lon, own.depth_m) == (46.2, -94.4, 8.0)
    for old in (completed(600.0), completed(2.0, sent=False)):  # the boat has moved on since
        assert (old.lat, old.depth_m) == (None, None)


def test_what_was_added_does_not_make_it_another_entry(aboard: AppContext) -> None:
    entry = made("bottom_hit", rod="port")

    def add(lat: float) -> Any:
        return lambda event: event.model_copy(update={"lat": lat, "lon": 1.0, "depth_m": 5.0})

    assert take_entries(aboard.store, [entry], add(46.0))[0].state == "taken"
    assert take_entries(aboard.store, [entry], add(47.0))[0].state == "had"
    assert json.loads(aboard.store.lines_of([entry["id"]])[entry["id"]])["lat"] == 46.0


def test_two_phones_at_once_and_each_sends_everything_twice(
    client: TestClient, aboard: AppContext
) -> None:
    entries = [made("bottom_hit", rod="port") for _ in range(60)]

    def phone(order: list[dict[str, Any]]) -> None:
        for n in range(0, len(order), 7):
            send(client, *order[n : n + 7])

    threads = [
        threading.Thread(target=phone, args=(each,))
        for each in (entries, entries[::-1], entries[30:] + entries[:30])
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(e.id for _, e in aboard.store.events()) == sorted(e["id"] for e in entries)


@settings(max_examples=20)
@given(st.lists(st.lists(st.integers(0, 11), max_size=8), max_size=8))
def test_any_order_and_any_repeats_come_to_the_same(
    tmp_path_factory: pytest.TempPathFactory, batches: list[list[int]]
) -> None:
    # the set of entries is what was sent, however it was parted: `design`: a day is a journal
    entries = [
        {
            "id": join_id(1_780_000_000_000 + n, n),
            "device": "p",
            "kind": "bottom_hit",
            "rod": "port",
            "at": "2026-06-01T07:00:00-05:00",
        }
        for n in range(12)
    ]
    place = tmp_path_factory.mktemp("any") / "journal.sqlite"
    with open_store(place) as store:
        seen: set[int] = set()
        for batch in batches:
            said = take_entries(store, [entries[n] for n in batch])
            for n, answer in zip(batch, said, strict=True):
                assert answer.state == ("had" if n in seen else "taken")
                seen.add(n)
        assert {e.id for _, e in store.events()} == {entries[n]["id"] for n in seen}


def test_the_stream_is_told_when_something_new_came(aboard: AppContext) -> None:
    from towscope.live.engine import Live

    told: list[bool] = []
    live = Live(aboard)
    live.journal_changed = lambda: told.append(True)  # type: ignore[method-assign]
    aboard.live = live
    entry = made("note", text="x")
    with TestClient(make_app(aboard), headers=WRITE) as client:
        send(client, entry)
        send(client, entry)
    assert told == [True]


def test_a_clock_that_runs_ahead_is_told(client: TestClient) -> None:
    ahead = (datetime.now(UTC) + timedelta(minutes=14)).isoformat()
    answer = client.post("/api/journal/events", json={"events": [], "sent_at": ahead}).json()
    assert answer["ahead_s"] == pytest.approx(840.0, abs=5.0)


@pytest.mark.parametrize(
    "body",
    [
        {},
        {"events": 3},
        {"events": [1] * (MOST + 1)},
        {"events": [], "more": 1},
        {"events": [], "sent_at": "noon"},
        [],
    ],
)
def test_another_shape_is_refused_in_one_line(client: TestClient, body: Any) -> None:
    answer = client.post("/api/journal/events", json=body)
    assert answer.status_code == 422
    assert "\n" not in answer.json()["error"]


@pytest.mark.parametrize("day", ["never", "2026-13-01", "x" * 60])
def test_no_such_day(client: TestClient, day: str) -> None:
    answer = client.get("/api/journal/day", params={"day": day})
    assert answer.status_code == 422
    assert answer.json()["error"]


def test_a_full_disk_takes_nothing_and_says_so(
    client: TestClient, aboard: AppContext, monkeypatch: pytest.MonkeyPatch
) -> None:
    from towscope.errors import InputError

    def full(_: Any) -> int:
        raise InputError("no room on the disk")

    entry = made("note", text="x")
    monkeypatch.setattr(aboard.store, "append", full)
    answer = client.post("/api/journal/events", json={"events": [entry]})
    assert answer.status_code == 422
    assert "no room" in answer.json()["error"]
    monkeypatch.undo()
    assert send(client, entry)[0]["state"] == "taken"


def test_what_was_used_last_is_offered_first(client: TestClient) -> None:
    send(
        client,
        made("line_out", 90, rod="port", rig="demo-bulky", lure="small-spoon", colour="silver"),
        made("catch", 80, rod="port", species="sauger"),
        made("catch", 70, rod="port", species="sauger", who="Ada"),
        made("line_change", 60, rod="port", lure="hand-made", body="minnow", size_m=0.07),
    )
    offered = client.get("/api/journal/aboard").json()
    assert [lure["name"] for lure in offered["lures"]][:2] == ["hand-made", "small-spoon"]
    assert offered["lures"][0]["size_m"] == 0.07
    assert offered["lures"][1]["colour"] == "silver"
    assert offered["rigs"][0]["name"] == "demo-bulky"
    assert offered["rigs"][0]["color_m"] == pytest.approx(9.144)  # 10 yd, the old unit
    assert offered["species"][0] == "sauger"
    assert "walleye" in offered["species"]
    assert offered["colours"][0] == "silver"
    assert offered["crew"] == ["Ada"]
    assert [rod["rod"] for rod in offered["rods"]] == ["port"]
    assert offered["rods"][0]["out"] is True
