"""Client of gpsd, the open daemon that shares one receiver among programs: places and more.

References
----------
gpsd_json(5), gpsd 3.24: VERSION, DEVICES, TPV and ?WATCH. That `"nmea":true` passes on what a
receiver that speaks NMEA 0183 says, and that later versions add `wtemp` to TPV, is from memory.
"""

from __future__ import annotations

import math
import time
from typing import Any, Final

from towscope.boat.feeds.json_values import figure, moment, read_object
from towscope.boat.feeds.lines import connected, received
from towscope.boat.feeds.model import FeedReading
from towscope.boat.feeds.reconnect import SILENCE, Broken, Life, Worker
from towscope.boat.feeds.talk import COLDEST, DEEPEST, FASTEST, WARMEST, Talk
from towscope.clock import time_s
from towscope.formats.nmea import DEPTHS, WARMTHS

PORT: Final = 2947  # IANA's for gpsd
WATCH: Final = b'?WATCH={"enable":true,"json":true,"nmea":true};\n'
SIMULATED: Final = 8  # TPV's status, from memory
LONGEST: Final = 40_000  # [bytes]; gpsd's own limit is 10,240 for a report


class GpsdFeed(Worker):
    """Places from gpsd, and what else its receiver passes on: depth, water speed, temperature.

    Parameters
    ----------
    host : str
        Where it runs.
    port : int
        Its port.
    transducer : float
        Depth of the sounder's transducer below the surface [m].
    silence : float
        Time without a word after which it is opened anew [s].
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
        super().__init__(f"gpsd {host}:{port}", **waits)
        self.host, self.port = host, port
        self.transducer, self.silence = transducer, silence

    def _listen(self, life: Life) -> None:
        where, spoilt = f"gpsd at {self.host}:{self.port}", life.spoilt
        talk = Talk(self.transducer)
        talk.listener.kinds = ("VHW", *DEPTHS, *WARMTHS)  # places come as JSON
        rest, bad, welcomed = b"", 0, False
        with connected(self.host, self.port, life) as way:
            life.opened()
            try:
                way.sendall(WATCH)
            except OSError as error:
                raise Broken(f"{where} broke off: {error.strerror or error}") from None
            for data in received(way, where, life, self.silence):
                *lines, rest = (rest + data).split(b"\n")
                if len(rest) > LONGEST:
                    rest, bad = b"", bad + 1
                for line in lines:
                    line = line.strip()
                    if line.startswith(b"{"):
                        said = read_object(line)
                        if said is None:
                            bad += 1
                            continue
                        welcomed = True
                        self._report(said, life, talk)
                    elif line.startswith((b"$", b"!")):
                        for reading in talk.line(line.decode("latin-1")):
                            life.hand(reading)
                    elif line:
                        bad += 1
                        if not welcomed and bad > 3:
                            raise Broken(f"what answers at {self.host}:{self.port} is not gpsd")
                life.spoilt = spoilt + bad + talk.spoilt

    def _report(self, said: dict[str, Any], life: Life, talk: Talk) -> None:
        kind = said.get("class")
        if kind == "DEVICES" and not said.get("devices"):
            life.say("gpsd runs, but has no receiver")
        elif kind == "ERROR":
            life.say(f"gpsd: {said.get('message')}")
        elif kind == "TPV":
            reading = self._fix(said, talk)
            if said.get("status") == SIMULATED:
                life.say("no fix: the receiver says its places are simulated")
            elif said.get("mode") in (0, 1) and reading is None:
                life.say("no fix: the receiver does not see enough of the sky")
            if reading is not None:
                if reading.lat is not None:
                    life.say("")
                life.hand(reading)

    def _fix(self, said: dict[str, Any], talk: Talk) -> FeedReading | None:
        now, mode = time.monotonic(), said.get("mode")
        if said.get("status") == SIMULATED:
            mode = 0
        lat, lon = figure(said.get("lat"), -90.0, 90.0), figure(said.get("lon"), -180.0, 180.0)
        if not isinstance(mode, int) or mode < 2 or lat is None or lon is None:
            lat = lon = None
        course, speed = (
            figure(said.get("track"), 0.0, 360.0),
            figure(said.get("speed"), 0.0, FASTEST),
        )
        if isinstance(mode, int) and mode < 2:
            course = speed = None
        depth = figure(said.get("depth"), 1e-6, DEEPEST)
        if talk.lines:  # the sounder's own sentences say where they count from
            depth = None
        warmth = figure(said.get("wtemp"), COLDEST, WARMEST)
        if lat is None and speed is None and depth is None and warmth is None:
            return None
        at = moment(said.get("time"))
        return FeedReading(
            time_s() if at is None else at,
            lat=lat,
            lon=lon,
            course=None if course is None else math.radians(course % 360.0),
            ground_speed=speed,
            depth=None if depth is None else depth + self.transducer,
            water_temp=warmth,
            heard=now,
            source=str(said.get("device", ""))[:60],
        )
