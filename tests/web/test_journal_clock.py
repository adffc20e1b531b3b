"""A phone whose clock is off: its entries get the boat's time, once and for good."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from towscope.boat.feeds.fusion import Present
from towscope.journal.events import read_event
from towscope.journal.ids import join_id
from towscope.journal.opening import open_store
from towscope.journal.store import Store
from towscope.journal.sync import take_entries
from towscope.web.app import make_app
from towscope.web.context import AppContext

NOON = datetime(2026, 8, 14, 12, 0, tzinfo=UTC)
HOURS = 3600.0
KINDS = ("line_out", "line_change")
_count = iter(range(1, 1_000_000))


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_store(tmp_path / "journal.sqlite") as opened:
        yield opened


def made(kind: str, minute: float, ahead_s: float = 0.0, **told: Any) -> dict[str, Any]:
    """Give an entry made at a minute after noon on a phone whose clock is ahead."""
    at = NOON + timedelta(minutes=minute, seconds=ahead_s)
    name = join_id(max(round(at.timestamp() * 1000), 0), next(_count))
    return {"id": name, "device": "phone-a", "kind": kind, "at": at.isoformat(), **told}


def states(answers: list[Any]) -> list[str]:
    return [each.state for each in answers]


@pytest.mark.parametrize("ahead", [3 * HOURS, -3 * HOURS, 45.0])
def test_an_entry_gets_the_boats_time(store: Store, ahead: float) -> None:
    assert states(take_entries(store, [made("note", 5, ahead, text="x")], ahead_s=ahead)) == [
        "taken"
    ]
    (kept,) = store.day("2026-08-14").events
    assert kept.at == NOON + timedelta(minutes=5)
    assert kept.clock_ahead_s == ahead
    assert kept.shown_s == pytest.approx((NOON + timedelta(minutes=5, seconds=ahead)).timestamp())
    assert store.day("2026-08-14").checks == ()  # and it was not entered before it happened


@pytest.mark.parametrize("year", [1970, 1999, 2120])
def test_no_clock_is_too_wrong_to_be_taken(store: Store, year: int) -> None:
    shown = NOON.replace(year=year)
    ahead = (shown - NOON).total_seconds()
    entry = made("note", 0, text="x") | {"at": shown.isoformat()}
    assert states(take_entries(store, [entry], ahead_s=ahead)) == ["taken"]
    assert next(e for _, e in store.events()).at == NOON


def test_clocks_that_agree_are_left_alone(store: Store) -> None:
    # a sending may take a phone's whole patience, 12 s, to get through
    take_entries(store, [made("note", 0, text="x")], ahead_s=-12.5)
    kept = next(e for _, e in store.events())
    assert kept.clock_ahead_s is None
    assert kept.at == NOON


def test_what_the_phone_knew_when_it_made_the_entry_counts(store: Store) -> None:
    # it was three hours ahead, knew it, and was set right before it could send
    known = made("note", 0, text="x") | {"clock_ahead_s": 3 * HOURS}
    right = made("note", 1, text="y") | {"clock_ahead_s": 0.0}
    take_entries(store, [known, right], ahead_s=-2 * HOURS)
    assert [e.at for _, e in store.events()] == [NOON, NOON + timedelta(minutes=1)]


def test_sent_again_the_first_is_kept(store: Store) -> None:
    entry = made("catch", 0, 3 * HOURS, rod="port")
    assert states(take_entries(store, [entry], ahead_s=3 * HOURS + 0.4)) == ["taken"]
    for later in (3 * HOURS - 0.9, 3 * HOURS + 1.2, 0.0, None):  # measured anew, or set since
        assert states(take_entries(store, [entry], ahead_s=later)) == ["had"]
    # the clock was set back in between: the phone tells it by the clock as it is now
    reset = {**entry, "at": NOON.isoformat()}
    assert states(take_entries(store, [reset], ahead_s=1.0)) == ["had"]
    other = {**entry, "at": (NOON + timedelta(hours=1)).isoformat()}
    assert states(take_entries(store, [other], ahead_s=3 * HOURS)) == ["refused"]
    (kept,) = [e for _, e in store.events()]
    assert kept.at == NOON


def test_rod_hours_are_as_if_the_clock_were_right(store: Store) -> None:
    # one rod out from noon for four hours by the boat's laptop; a change by a phone far ahead
    first, change = KINDS

    def day(ahead: float) -> list[dict[str, Any]]:
        return [
            made("line_in" if minute == 240 else kind, minute, off, rod="port", **more)
            for kind, minute, off, more in (
                (first, 0, 0.0, {"lure": "small-minnow"}),
                (change, 90, ahead, {"lure": "small-spoon"}),
                ("", 240, 0.0, {}),
            )
        ]

    def hours(where: Store) -> dict[str, float]:
        state = where.day("2026-08-14")
        spans = state.spans()
        return {span.lure: (span.end_s - span.start_s) / HOURS for span in spans}

    for entry, ahead in zip(day(3 * HOURS), (0.0, 3 * HOURS, 0.0), strict=True):
        take_entries(store, [entry], ahead_s=ahead)
    assert hours(store) == {"small-minnow": 1.5, "small-spoon": 2.5}


def test_a_later_correction_counts_though_its_phone_is_behind(store: Store) -> None:
    fish = made("catch", 0, rod="port")
    early = made("correct", 1, 3 * HOURS, target=fish["id"], changes={"species": "sauger"})
    late = made("correct", 2, target=fish["id"], changes={"species": "walleye"})
    take_entries(store, [fish, late], ahead_s=0.0)
    take_entries(store, [early], ahead_s=3 * HOURS)
    (kept,) = store.day("2026-08-14").events
    assert kept.species == "walleye"  # type: ignore[union-attr]


def test_one_that_cannot_be_stored_keeps_no_other_out(store: Store) -> None:
    good = [made("note", n, text="fine") for n in range(3)]
    bad = [
        made("note", 0, text="half a face \ud83d"),
        made("note", 0, text="nothing\x00more"),
        made("correct", 0, target=good[0]["id"], changes={"text": "\udfff"}),
        made("correct", 0, target=good[0]["id"], changes={"let_out_m": float("inf")}),
        {**made("note", 0, text="x"), "id": "\ud800"},
        {**made("note", 0, text="x"), "\ud800": 1},
    ]
    said = take_entries(store, [good[0], *bad, *good[1:]])
    assert states(said) == ["taken", *["refused"] * len(bad), "taken", "taken"]
    for each in said:
        f"{each.id}{each.why}".encode()  # the answer itself can be sent
    assert "cannot be stored" in said[1].why
    assert [e.id for _, e in store.events()] == [each["id"] for each in good]


def test_where_the_disk_takes_some_each_is_tried_by_itself(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    from towscope.errors import InputError

    good, bad = made("note", 0, text="fine"), made("note", 1, text="bad")
    append = store.append

    def picky(events: Any) -> int:
        if any(e.text == "bad" for e in events):
            raise InputError("the database does not take this")
        return append(events)

    monkeypatch.setattr(store, "append", picky)
    assert states(take_entries(store, [good, bad])) == ["taken", "refused"]
    with pytest.raises(InputError, match="does not take"):  # no fault of the entries, perhaps
        take_entries(store, [bad])


@pytest.fixture
def aboard(tmp_path: Path) -> AppContext:
    return AppContext(journal=tmp_path / "web.sqlite")


@pytest.fixture
def client(aboard: AppContext) -> Iterator[TestClient]:
    with TestClient(make_app(aboard), headers={"X-Towscope": "1"}) as client:
        yield client


def test_the_boats_time_is_the_receivers(client: TestClient, aboard: AppContext) -> None:
    told = client.get("/api/journal/clock").json()
    assert told["source"] == "computer"
    aboard.clock.present = lambda: Present(at=0, clock=7200.0, place_age=0.5, feed="gpsd h:1")
    told = client.get("/api/journal/clock").json()
    assert (told["source"], told["computer_behind_s"]) == ("gps", 7200.0)
    ahead = datetime.fromisoformat(told["now"]) - datetime.now(UTC)
    assert ahead.total_seconds() == pytest.approx(7200.0, abs=5.0)
    # a phone that tells the receiver's time is right, though the computer is not
    sent = (datetime.now(UTC) + timedelta(hours=2)).replace(microsecond=0)
    entry = made("note", 0, text="x") | {"at": sent.isoformat()}
    body = {"events": [entry], "sent_at": sent.isoformat()}
    answer = client.post("/api/journal/events", json=body).json()
    assert answer["answers"][0]["state"] == "taken"
    assert abs(answer["ahead_s"]) < 5.0
    assert next(e for _, e in aboard.store.events()).at == sent


def test_a_phone_three_hours_ahead_lands_in_its_place(
    client: TestClient, aboard: AppContext
) -> None:
    now = datetime.now(UTC).replace(microsecond=0)
    entry = made("note", 0, text="x") | {"at": (now + timedelta(hours=3)).isoformat()}
    body = {"events": [entry], "sent_at": (now + timedelta(hours=3)).isoformat()}
    assert client.post("/api/journal/events", json=body).status_code == 200
    kept = next(e for _, e in aboard.store.events())
    assert abs((kept.at - now).total_seconds()) < 5.0
    assert read_event(kept.line()) == kept
