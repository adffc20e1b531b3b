"""The phone tells its place over HTTP; the page sees how the feeds are."""

from __future__ import annotations

import time
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import pytest
from fastapi.testclient import TestClient

from towscope.boat.feeds.aboard import Feeds
from towscope.boat.feeds.model import FeedReading, Status, Take
from towscope.web.app import make_app
from towscope.web.context import AppContext


class Cable:
    """A feed that says what a test lets it say."""

    name = "a cable"

    def __init__(self) -> None:
        self.take: Take | None = None

    def start(self, take: Take) -> None:
        self.take = take

    def stop(self) -> None:
        self.take = None

    def status(self) -> Status:
        return Status(connected=True, since=time.monotonic(), count=1, why="")

    def say(self, **told: Any) -> None:
        assert self.take is not None
        self.take(FeedReading(time.time(), heard=time.monotonic(), **told))


@pytest.fixture
def aboard() -> Iterator[tuple[TestClient, Feeds, Cable]]:
    cable = Cable()
    feeds = Feeds([cable])
    feeds.start()
    with TestClient(make_app(AppContext(feeds=feeds))) as client:
        yield client, feeds, cable


def fix(ago: float = 0.0, **told: Any) -> dict[str, Any]:
    at = datetime.fromtimestamp(time.time() - ago, UTC).isoformat()
    return {"time": at, "lat": 48.4, "lon": -91.9, "accuracy_m": 4.0, **told}


def test_the_phones_place_is_the_boats(aboard: tuple[TestClient, Feeds, Cable]) -> None:
    client, feeds, _ = aboard
    answer = client.post("/api/position", json=[fix(speed_m_s=0.9, course_deg=90.0)])
    assert answer.status_code == 200
    assert answer.json() == {"taken": 1, "left_out": 0, "used": True, "why": ""}
    present = feeds.now.present()
    assert present.lat == pytest.approx(48.4)
    said = client.get("/api/feeds").json()
    cable, phone = said["feeds"]
    assert (cable["name"], cable["used_for"]) == ("a cable", [])
    assert phone["used_for"] == ["place"]
    assert phone["age_s"] < 5.0
    assert said["place_age_s"] < 5.0
    assert said["depth_age_s"] is None
    assert said["speed_is"] == "over ground"


def test_the_cable_comes_first(aboard: tuple[TestClient, Feeds, Cable]) -> None:
    client, _, cable = aboard
    cable.say(lat=48.41, lon=-91.9)
    cable.say(depth=9.4)
    answer = client.post("/api/position", json=[fix()]).json()
    assert (answer["taken"], answer["used"]) == (1, False)
    said = client.get("/api/feeds").json()
    assert [each["used_for"] for each in said["feeds"]] == [["place", "depth"], []]


def test_a_feed_that_fell_silent_is_not_used(aboard: tuple[TestClient, Feeds, Cable]) -> None:
    client, _, cable = aboard
    assert cable.take is not None
    cable.take(FeedReading(time.time() - 30.0, lat=48.4, lon=-91.9, heard=time.monotonic() - 30.0))
    said = client.get("/api/feeds").json()
    assert said["place_age_s"] == pytest.approx(30.0, abs=5.0)
    assert [each["used_for"] for each in said["feeds"]] == [[], []]


def test_old_and_unsure_places_are_left_out(aboard: tuple[TestClient, Feeds, Cable]) -> None:
    client, feeds, _ = aboard
    kept = [fix(ago=60.0, lat=48.5), fix(ago=30.0, lat=48.45), fix()]
    answer = client.post("/api/position", json=kept).json()
    assert (answer["taken"], answer["left_out"]) == (1, 2)
    assert "out of reach" in answer["why"]
    assert feeds.now.present().lat == pytest.approx(48.4)
    answer = client.post("/api/position", json=[fix(accuracy_m=900.0)]).json()
    assert answer["taken"] == 0
    assert "only sure to 900 m" in answer["why"]


def test_a_phone_with_a_wrong_clock_is_understood(
    aboard: tuple[TestClient, Feeds, Cable],
) -> None:
    client, feeds, _ = aboard
    for ago in (7200.0, 7199.0, 7198.0):
        assert client.post("/api/position", json=[fix(ago=ago)]).json()["taken"] == 1
    said = client.get("/api/feeds").json()
    assert said["clock_s"] == pytest.approx(-7200.0, abs=5.0)
    assert "2.0 h behind" in said["notes"][0]
    assert feeds.now.present().place_age is not None


@pytest.mark.parametrize(
    "body",
    [
        [],
        {},
        [{"lat": 1}],
        [fix(lat=91.0)],
        [fix(lon="NaN")],
        [fix(accuracy_m=-1)],
        [fix(time="2026-08-14T12:00:00")],
        [fix(time="noon")],
        [fix(speed_m_s="Infinity")],
        [fix() for _ in range(601)],
        "x",
        None,
    ],
)
def test_bad_places_are_refused_in_one_line(
    aboard: tuple[TestClient, Feeds, Cable], body: Any
) -> None:
    answer = aboard[0].post("/api/position", json=body)
    assert answer.status_code == 422
    assert set(answer.json()) == {"error"}
    assert aboard[1].now.present().lat is None


def test_without_feeds_it_says_so() -> None:
    with TestClient(make_app(AppContext())) as client:
        answer = client.post("/api/position", json=[fix()])
        assert answer.status_code == 409
        assert "towscope serve" in answer.json()["error"]
        assert client.get("/api/feeds").json()["feeds"] == []
