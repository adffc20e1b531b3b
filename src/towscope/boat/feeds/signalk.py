"""Client of Signal K, the open standard for a boat's data: places, speeds, depths.

References
----------
Signal K specification 1.7 (signalk.org): discovery at /signalk, the hello, subscriptions, delta
messages; keys of the data model and their units (SI, angles in radians, temperature in kelvin).
"""

from __future__ import annotations

import http.client
import json
import math
import socket
import time
from collections.abc import Iterator
from typing import Any, Final
from urllib.parse import urlsplit

from towscope.boat.feeds.json_values import figure, moment, read_object
from towscope.boat.feeds.lines import connected, one_reason
from towscope.boat.feeds.model import FeedReading
from towscope.boat.feeds.reconnect import SILENCE, SLICE, Broken, Life, Worker
from towscope.boat.feeds.talk import COLDEST, DEEPEST, FASTEST, WARMEST
from towscope.clock import time_s

PORT: Final = 3000  # what Signal K servers on boats mostly use: from memory
ANSWERING: Final = 5.0  # [s]
LONGEST: Final = 1_000_000  # [bytes] of one message
KELVIN: Final = 273.15
PLACE, COURSE = "navigation.position", "navigation.courseOverGroundTrue"
GROUND, WATER = "navigation.speedOverGround", "navigation.speedThroughWater"
SURFACE, SENSOR = "environment.depth.belowSurface", "environment.depth.belowTransducer"
QUALITY: Final = "navigation.gnss.methodQuality"
UNREAL: Final = {"Simulator mode": "simulated", "Manual input": "typed in"}
HUNG, WARMTH = "environment.depth.surfaceToTransducer", "environment.water.temperature"
PATHS: Final = (QUALITY, PLACE, COURSE, GROUND, WATER, SURFACE, SENSOR, HUNG, WARMTH)
SUBSCRIBE: Final = json.dumps(
    {
        "context": "vessels.self",
        "subscribe": [
            {"path": path, "format": "delta", "policy": "instant", "minPeriod": 100}
            for path in PATHS
        ],
    }
)


class SignalKFeed(Worker):
    """What a Signal K server says of its own boat.

    Parameters
    ----------
    host : str
        Where it runs.
    port : int
        Its port.
    transducer : float
        Depth of the sounder's transducer below the surface [m], where the server does not say it.
    silence : float
        Time without a message after which it is opened anew [s].
    waits : float
        As `Worker` has them.
    """

    def __init__(
        self,
        host: str,
        port: int = PORT,
        *,
        transducer: float = 0.0,
        silence: float = SILENCE,
        **waits: float,
    ) -> None:
        super().__init__(f"Signal K {host}:{port}", **waits)
        self.host, self.port = host, port
        self.transducer, self.silence = transducer, silence

    def _listen(self, life: Life) -> None:
        from websockets.exceptions import ConnectionClosed, WebSocketException
        from websockets.sync.client import connect

        where = f"Signal K at {self.host}:{self.port}"
        port, path = self._find(life, where)
        # the host is the one the user named: a server behind another may not know its own name
        address = f"[{self.host}]" if ":" in self.host else self.host
        with connected(self.host, port, life) as way:
            way.settimeout(ANSWERING)
            try:
                stream = connect(
                    f"ws://{address}:{port}{path}?subscribe=none",
                    sock=way,
                    proxy=None,
                    open_timeout=ANSWERING,
                    close_timeout=0.3,
                    ping_interval=5.0,
                    ping_timeout=self.silence,
                    max_size=LONGEST,
                )
            except (WebSocketException, OSError, TimeoutError, EOFError) as error:
                raise Broken(_refused(where, error)) from None
            with stream as told:
                life.opened()
                try:
                    told.send(SUBSCRIBE)
                    self._follow(told, life, where)
                except ConnectionClosed:
                    raise Broken(f"{where} closed") from None

    def _find(self, life: Life, where: str) -> tuple[int, str]:
        """Ask the server where its stream is; give port and path."""
        with connected(self.host, self.port, life) as way:
            way.settimeout(ANSWERING)
            asked = http.client.HTTPConnection(self.host, self.port, timeout=ANSWERING)
            asked.sock = way
            try:
                asked.request("GET", "/signalk", headers={"Connection": "close"})
                answer = asked.getresponse()
                text = answer.read(100_000)
            except (http.client.HTTPException, OSError, ValueError) as error:
                raise Broken(f"{where} does not answer as such ({one_reason(error)})") from None
        if answer.status in (301, 302, 307, 308):
            if str(answer.getheader("Location", "")).startswith("https:"):
                raise Broken(f"{where} wants an encrypted way; expected its plain port")
        elif answer.status in (401, 403):
            raise Broken(f"{where} wants a login; expected that guests may read")
        said = read_object(text) if answer.status == 200 else None
        ends = said.get("endpoints") if said is not None else None
        v1 = ends.get("v1") if isinstance(ends, dict) else None
        if not isinstance(v1, dict):
            raise Broken(f"what answers at {self.host}:{self.port} is not Signal K")
        told = v1.get("signalk-ws")
        if not isinstance(told, str):
            raise Broken(f"{where} has no plain stream; expected signalk-ws among its endpoints")
        try:
            parts = urlsplit(told)
            port = parts.port or 80
        except ValueError:
            raise Broken(f"{where} names no place for its stream") from None
        if parts.scheme != "ws" or not parts.path.startswith("/") or not parts.path.isprintable():
            raise Broken(f"{where} names no place for its stream")
        return port, parts.path

    def _follow(self, stream: Any, life: Life, where: str) -> None:
        last = time.monotonic()
        placed = -math.inf
        delta = Deltas(self.transducer)
        while not life.stopped:
            try:
                text = stream.recv(timeout=SLICE)
            except TimeoutError:
                if time.monotonic() - last > self.silence:
                    raise Broken(f"{where} is there but has nothing on the boat") from None
                continue
            said = read_object(text)
            if said is None:
                life.spoilt += 1
                continue
            for reading in delta.read(said):
                last = time.monotonic()
                life.hand(reading)
                placed = last if reading.lat is not None else placed
            if time.monotonic() - placed < self.silence:
                life.say("")
            elif delta.unreal:
                what = " or ".join(sorted(set(delta.unreal.values())))
                life.say(f"no fix: the server says that its places are {what}")


class Deltas:
    """Reads delta messages.

    Parameters
    ----------
    transducer : float
        Depth of the transducer below the surface [m], until the server says it.

    Examples
    --------
    >>> at = "2026-08-14T12:00:00Z"
    >>> value = {"path": "environment.depth.belowTransducer", "value": 9.1}
    >>> said = {"updates": [{"timestamp": at, "values": [value]}]}
    >>> [reading.depth for reading in Deltas(transducer=0.4).read(said)]
    [9.5]
    """

    def __init__(self, transducer: float = 0.0) -> None:
        self.transducer = transducer
        self.unreal: dict[str, str] = {}  # source to what its places are, where none is measured
        self._own = ""
        self._surface = -math.inf  # when a depth below the surface last came, monotonic [s]

    def read(self, said: dict[str, Any]) -> Iterator[FeedReading]:
        """Give what a message says of this boat."""
        if isinstance(said.get("self"), str):  # the hello
            self._own = said["self"].removeprefix("vessels.")
        context = said.get("context", "vessels.self")
        if not isinstance(context, str) or context.removeprefix("vessels.") not in (
            "self",
            self._own,
            "vessels",
        ):
            return
        updates = said.get("updates")
        for update in updates if isinstance(updates, list) else ():
            if not isinstance(update, dict):
                continue
            values = update.get("values")
            at, source = moment(update.get("timestamp")), str(update.get("$source", ""))[:60]
            for pair in values if isinstance(values, list) else ():
                if isinstance(pair, dict):
                    if pair.get("path") == QUALITY:
                        self._quality(pair.get("value"), source)
                    if source in self.unreal and pair.get("path") in (PLACE, COURSE, GROUND):
                        continue
                    told = self._value(pair.get("path"), pair.get("value"))
                    if told:
                        yield FeedReading(
                            time=time_s() if at is None else at,
                            heard=time.monotonic(),
                            source=source,
                            **told,
                        )

    def _quality(self, value: object, source: str) -> None:
        what = UNREAL.get(value) if isinstance(value, str) else None
        if what is not None and len(self.unreal) < 16:
            self.unreal[source] = what
        else:
            self.unreal.pop(source, None)

    def _value(self, path: object, value: object) -> dict[str, float]:
        if path == PLACE and isinstance(value, dict):
            lat = figure(value.get("latitude"), -90.0, 90.0)
            lon = figure(value.get("longitude"), -180.0, 180.0)
            return {} if lat is None or lon is None else {"lat": lat, "lon": lon}
        if path == COURSE:
            course = figure(value, -7.0, 7.0)
            return {} if course is None else {"course": course % (2.0 * math.pi)}
        if path == HUNG:
            hung = figure(value, 0.0, 20.0)
            self.transducer = self.transducer if hung is None else hung
            return {}
        if path in (SURFACE, SENSOR):
            depth = figure(value, 1e-6, DEEPEST)
            if depth is None:
                return {}
            if path == SURFACE:
                self._surface = time.monotonic()
                return {"depth": depth}
            if time.monotonic() - self._surface < 5.0:
                return {}
            return {"depth": depth + self.transducer}
        if path == WARMTH:
            warm = figure(value, COLDEST + KELVIN, WARMEST + KELVIN)
            return {} if warm is None else {"water_temp": warm - KELVIN}
        if path in (GROUND, WATER):
            speed = figure(value, 0.0, FASTEST)
            name = "ground_speed" if path == GROUND else "water_speed"
            return {} if speed is None else {name: speed}
        return {}


def _refused(where: str, error: Exception) -> str:
    status = getattr(getattr(error, "response", None), "status_code", None)
    if status in (401, 403):
        return f"{where} wants a login; expected that guests may read"
    if isinstance(error, TimeoutError | socket.timeout):
        return f"{where} did not open its stream in time"
    told = f"status {status}" if status else one_reason(error)
    return f"{where} does not open its stream ({told})"
