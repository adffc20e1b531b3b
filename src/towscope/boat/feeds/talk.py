"""NMEA 0183 talk from bytes, in whatever pieces they come, made into readings.

References
----------
NMEA 0183 (IEC 61162-1); TAG blocks and lines that begin with an exclamation mark are passed over.
"""

from __future__ import annotations

import math
import time
from collections.abc import Iterator
from typing import Final

from towscope.boat.feeds.model import FeedReading
from towscope.boat.feeds.reconnect import same_moment
from towscope.clock import time_s
from towscope.formats.nmea import (
    DEPTHS,
    PLACES,
    SPEEDS,
    WARMTHS,
    Depth,
    Fix,
    Heard,
    Speed,
    TalkReader,
    Warmth,
)

LONGEST_LINE: Final = 2_000  # [bytes] kept while no end of line comes; the standard says 82
KEPT: Final = 300  # [bytes] of them kept when they are too many
DEPTH_HELD: Final = 5.0  # [s] for which a better kind of depth silences the others
DEEPEST: Final = 500.0  # [m]; no lake that is trolled with lead-core is deeper where it is trolled
FASTEST: Final = 40.0  # [m/s]
COLDEST, WARMEST = -3.0, 45.0  # [degC] of water
_RAGS: Final = 3  # bytes that no talk holds, by which a line counts as rubbish


class Talk:
    r"""Takes bytes as they come, in whatever pieces, and gives readings.

    Parameters
    ----------
    transducer : float
        Depth of the sounder's transducer below the surface [m], for sentences that do not say it.

    Examples
    --------
    >>> talk = Talk()
    >>> list(talk.hear(b"$SDDPT,9.4,0"))
    []
    >>> [reading.depth for reading in talk.hear(b".5,*73\r\n$GPGSV,1,1,00*79\r\n")]
    [9.9]
    """

    def __init__(self, transducer: float = 0.0) -> None:
        self.listener = TalkReader(kinds=(*PLACES, *SPEEDS, *DEPTHS, *WARMTHS), strict=False)
        self.transducer = transducer
        self.lines = 0  # lines that looked like talk, whether of use or not
        self.rubbish = 0
        self._rest = b""
        self._fix: tuple[float, float] | None = None  # time of the last fix, and when it came
        self._depths: dict[str, float] = {}

    @property
    def spoilt(self) -> int:
        """How many sentences and lines could not be used."""
        return self.listener.spoilt + self.rubbish

    @property
    def fixed(self) -> float | None:
        """When the last fix came, `time.monotonic` [s]; None where none has."""
        return None if self._fix is None else self._fix[1]

    def hear(self, data: bytes, wall: float | None = None) -> Iterator[FeedReading]:
        """Give what the next bytes say.

        Parameters
        ----------
        data : bytes
            As they came: half lines, several lines, noise.
        wall : float, optional
            This machine's clock [unix s], by which undated sentences are dated; now if left out.
        """
        held = self._rest + data
        *lines, rest = held.replace(b"\r", b"\n").split(b"\n")
        if len(rest) > 2 and rest[-3:-2] == b"*" and _is_hex(rest[-2:]):
            lines.append(rest)  # whole, though its end of line is yet to come
            rest = b""
        if len(rest) > LONGEST_LINE:
            self.rubbish += 1
            rest = rest[-KEPT:]
        self._rest = rest
        for line in lines:
            if line:
                yield from self.line(line.decode("latin-1"), wall)

    def line(self, line: str, wall: float | None = None) -> Iterator[FeedReading]:
        """Give what a whole line says."""
        if "$" in line or "!" in line:
            self.lines += 1
        rags = sum(not " " <= c <= "~" for c in line)
        if rags >= _RAGS or ("$" not in line and "!" not in line and line.strip()):
            self.rubbish += 1
        if len(line) > LONGEST_LINE:
            line = line[-LONGEST_LINE:]
        now = time.monotonic()
        at = time_s() if wall is None else wall
        for said in self.listener.hear(line):
            reading = self._reading(said, now, at)
            if reading is not None:
                yield reading

    def _reading(self, said: Heard, now: float, wall: float) -> FeedReading | None:
        if isinstance(said, Fix):
            moment = said.time if said.dated else same_moment(said.time, wall)
            self._fix = (moment, now)
            return FeedReading(
                moment,
                lat=said.latitude,
                lon=said.longitude,
                course=_course(said.course),
                ground_speed=_speed(said.speed),
                heard=now,
                source=said.talker,
            )
        # what carries no time was so when it came, on the clock that the fixes go by
        moment = wall if self._fix is None else self._fix[0] + (now - self._fix[1])
        if isinstance(said, Speed):
            speed = _speed(said.speed)
            if speed is None:
                return None
            if said.water:
                return FeedReading(moment, water_speed=speed, heard=now, source=said.talker)
            course = _course(said.way)
            return FeedReading(
                moment, course=course, ground_speed=speed, heard=now, source=said.talker
            )
        if isinstance(said, Warmth):
            if not COLDEST <= said.warmth <= WARMEST:
                return None
            return FeedReading(moment, water_temp=said.warmth, heard=now, source=said.talker)
        depth = self._depth(said, now)
        if depth is None:
            return None
        return FeedReading(moment, depth=depth, heard=now, source=said.talker)

    def _depth(self, said: Depth, now: float) -> float | None:
        """Give the depth below the surface [m]; None where lost, or better said elsewhere."""
        if not math.isfinite(said.depth) or not 0.0 < said.depth <= DEEPEST:
            return None  # sounders say 0, or nothing, where they have lost the bottom
        self._depths[said.kind] = now
        for better in DEPTHS[: DEPTHS.index(said.kind)]:
            if now - self._depths.get(better, -math.inf) < DEPTH_HELD:
                return None
        if said.kind == "DBS":
            return said.depth
        if said.offset is not None and said.offset > 0.0:
            return said.depth + min(said.offset, DEEPEST)
        # an offset to the keel (below 0) does not say how deep the transducer hangs
        return said.depth + self.transducer


def _is_hex(two: bytes) -> bool:
    return all(c in b"0123456789abcdefABCDEF" for c in two)


def _course(degrees: float | None) -> float | None:
    """Give a course [rad] from one in degrees, if it is one."""
    if degrees is None or not 0.0 <= degrees <= 360.0:
        return None
    return math.radians(degrees % 360.0)


def _speed(speed: float | None) -> float | None:
    """Give a speed [m/s] if a boat can have it."""
    return None if speed is None or not 0.0 <= speed <= FASTEST else speed
