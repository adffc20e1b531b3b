"""A fake Signal K server that does as the specification (1.7) says.

Discovery at /signalk and its JSON (chapter "Discovery and Connection Establishment"), the hello
(chapter "Streaming WebSocket API"), the subscription (chapter "Subscription Protocol") and the
delta (chapter "Signal K Data Model").
"""

from __future__ import annotations

import contextlib
import json
import math
import threading
import time
from collections.abc import Iterator
from http import HTTPStatus
from typing import Any

import pytest
from feed_talker import Heard, wait_for_word
from hypothesis import given
from hypothesis import strategies as st
from tests.waiting import until
from websockets.datastructures import Headers
from websockets.exceptions import ConnectionClosed
from websockets.http11 import Request, Response
from websockets.sync.server import Server, ServerConnection, serve

from towscope.boat.feeds.signalk import PATHS, Deltas, SignalKFeed

QUICK = {"first_wait": 0.1, "longest_wait": 0.4}
OWN = "urn:mrn:signalk:uuid:c0d79334-4e25-4245-8892-54e8ccc8021d"
HELLO = {
    "name": "a made-up server",
    "version": "1.7.0",
    "self": f"vessels.{OWN}",
    "roles": ["master", "main"],
}


def delta(path: str, value: Any, context: str = f"vessels.{OWN}") -> dict[str, Any]:
    return {
        "context": context,
        "updates": [
            {
                "$source": "receiver.GP",
                "timestamp": "2026-08-14T12:00:00Z",
                "values": [{"path": path, "value": value}],
            }
        ],
    }


class SignalK:
    """The fake server."""

    def __init__(self, port: int = 0, answer: bytes | None = None, status: int = 200) -> None:
        self.answer, self.status = answer, status
        self.asked: list[dict[str, Any]] = []
        self.paths: list[str] = []
        self.streams: list[ServerConnection] = []
        self.server: Server = serve(
            self._stream, "127.0.0.1", port, process_request=self._request, compression=None
        )
        self.port: int = self.server.socket.getsockname()[1]
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def _request(self, _: ServerConnection, request: Request) -> Response | None:
        self.paths.append(request.path)
        if not request.path.endswith("/signalk"):
            return None
        told = {
            "endpoints": {
                "v1": {
                    "version": "1.7.0",
                    "signalk-http": f"http://somewhere.invalid:{self.port}/signalk/v1/api/",
                    "signalk-ws": f"ws://somewhere.invalid:{self.port}/signalk/v1/stream",
                }
            }
        }
        body = json.dumps(told).encode() if self.answer is None else self.answer
        headers = Headers({"Content-Length": str(len(body)), "Connection": "close"})
        return Response(self.status, HTTPStatus(self.status).phrase, headers, body)

    def _stream(self, way: ServerConnection) -> None:
        way.send(json.dumps(HELLO))
        self.streams.append(way)
        try:
            for text in way:
                self.asked.append(json.loads(text))
        except ConnectionClosed:
            pass

    def say(self, *told: Any) -> None:
        for each in told:
            for way in self.streams:
                with contextlib.suppress(ConnectionClosed):
                    way.send(each if isinstance(each, str) else json.dumps(each))

    def die(self) -> None:
        self.server.shutdown()
        for way in self.streams:
            way.close()


@pytest.fixture
def boat() -> Iterator[SignalK]:
    boat = SignalK()
    yield boat
    boat.die()


def test_it_finds_the_stream_subscribes_and_reads_deltas(boat: SignalK) -> None:
    heard = Heard()
    feed = SignalKFeed("127.0.0.1", boat.port, transducer=0.5, **QUICK)
    feed.start(heard)
    until(lambda: len(boat.asked) == 1)
    assert boat.paths == ["/signalk", "/signalk/v1/stream?subscribe=none"]
    assert boat.asked[0]["context"] == "vessels.self"
    assert {each["path"] for each in boat.asked[0]["subscribe"]} == set(PATHS)
    boat.say(
        delta("navigation.position", {"latitude": 48.4, "longitude": -91.9, "altitude": 0}),
        delta("navigation.courseOverGroundTrue", 2.971),
        delta("navigation.speedOverGround", 0.85),
        delta("navigation.speedThroughWater", 0.9),
        delta("environment.depth.belowTransducer", 9.0),
        delta("environment.depth.surfaceToTransducer", 0.3),
        delta("environment.depth.belowTransducer", 9.0),
        delta("environment.depth.belowSurface", 9.4),
        delta("environment.depth.belowTransducer", 9.1),
        delta("environment.water.temperature", 294.65),
    )
    heard.wait(8)
    place, course, ground, water, *depths, warmth = heard.readings
    assert (place.lat, place.lon, place.source) == (48.4, -91.9, "receiver.GP")
    assert place.time == 1786708800.0
    assert course.course == 2.971
    assert (ground.ground_speed, water.water_speed) == (0.85, 0.9)
    assert [each.depth for each in depths] == [9.5, 9.3, 9.4]  # below surface silences the other
    assert warmth.water_temp == pytest.approx(21.5)
    assert feed.status().why == ""
    feed.stop()


def test_a_simulators_places_are_none() -> None:
    # enumeration of navigation.gnss.methodQuality, Signal K specification 1.7
    def said(path: str, value: Any) -> dict[str, Any]:
        return delta(path, value, context="vessels.self")

    place = said("navigation.position", {"latitude": 48.4, "longitude": -91.9})
    deltas = Deltas()
    assert [r.lat for r in deltas.read(place)] == [48.4]
    assert list(deltas.read(said("navigation.gnss.methodQuality", "Simulator mode"))) == []
    assert list(deltas.read(place)) == []
    assert set(deltas.unreal.values()) == {"simulated"}
    deep = said("environment.depth.belowSurface", 9.0)
    assert [r.depth for r in deltas.read(deep)] == [9.0]
    list(deltas.read(said("navigation.gnss.methodQuality", "GNSS Fix")))
    assert [r.lat for r in deltas.read(place)] == [48.4]


def test_other_boats_and_rubbish_are_passed_over(boat: SignalK) -> None:
    heard = Heard()
    feed = SignalKFeed("127.0.0.1", boat.port, **QUICK)
    feed.start(heard)
    until(lambda: len(boat.asked) == 1)
    other = "vessels.urn:mrn:imo:mmsi:234567890"
    boat.say(
        delta("navigation.position", {"latitude": 10.0, "longitude": 10.0}, other),
        "{torn",
        "[1, 2]",
        delta("navigation.position", None),
        delta("navigation.position", {"latitude": 91.0, "longitude": 0.0}),
        delta("navigation.speedOverGround", "fast"),
        delta("navigation.position", {"latitude": 48.4, "longitude": -91.9}, "vessels.self"),
    )
    heard.wait(1)
    assert heard.places() == [(48.4, -91.9)]
    assert feed.status().spoilt == 2
    feed.stop()


def test_it_comes_back_after_the_server_died() -> None:
    heard = Heard()
    first = SignalK()
    feed = SignalKFeed("127.0.0.1", first.port, **QUICK)
    feed.start(heard)
    until(lambda: len(first.asked) == 1)
    first.die()
    wait_for_word(feed, "trying again")
    again = SignalK(first.port)
    until(lambda: len(again.asked) == 1)
    again.say(delta("navigation.position", {"latitude": 48.4, "longitude": -91.9}))
    heard.wait(1)
    begun = time.monotonic()
    feed.stop()
    assert time.monotonic() - begun < 1.0
    again.die()


def test_a_silent_stream_is_opened_anew(boat: SignalK) -> None:
    feed = SignalKFeed("127.0.0.1", boat.port, silence=0.4, **QUICK)
    feed.start(Heard())
    wait_for_word(feed, "has nothing on the boat")
    until(lambda: len(boat.streams) == 2)
    feed.stop()


@pytest.mark.parametrize(
    ("status", "answer", "word"),
    [
        (401, b"{}", "wants a login"),
        (404, b"not here", "is not Signal K"),
        (200, b'{"endpoints": {"v1": {"signalk-wss": "wss://x/y"}}}', "no plain stream"),
        (200, b'{"endpoints": {"v1": {"signalk-ws": "ws://x:99999/y"}}}', "names no place"),
        (200, b'{"endpoints": {"v1": {"signalk-ws": "file:///etc/passwd"}}}', "names no place"),
        (200, b"<html>a router</html>", "is not Signal K"),
    ],
)
def test_what_is_wrong_with_a_server_is_said(status: int, answer: bytes, word: str) -> None:
    boat = SignalK(answer=answer, status=status)
    feed = SignalKFeed("127.0.0.1", boat.port, **QUICK)
    feed.start(Heard())
    wait_for_word(feed, word)
    feed.stop()
    boat.die()


JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner),
    max_leaves=8,
)


@given(
    st.fixed_dictionaries(
        {},
        optional={
            "context": st.one_of(JSON, st.just("vessels.self")),
            "self": JSON,
            "updates": st.one_of(
                JSON,
                st.lists(
                    st.fixed_dictionaries(
                        {},
                        optional={
                            "timestamp": JSON,
                            "$source": JSON,
                            "values": st.lists(
                                st.fixed_dictionaries(
                                    {}, optional={"path": st.sampled_from(PATHS), "value": JSON}
                                )
                            ),
                        },
                    )
                ),
            ),
        },
    )
)
def test_no_message_whatever_breaks_it(said: dict[str, Any]) -> None:
    for reading in Deltas().read(said):
        assert math.isfinite(reading.time)
        assert reading.depth is None or reading.depth > 0.0
