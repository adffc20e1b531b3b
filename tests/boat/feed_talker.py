"""A boat's instruments for tests: they talk NMEA 0183 by TCP or UDP, and can be cut off."""

from __future__ import annotations

import contextlib
import socket
import threading
from functools import reduce

from tests.waiting import until

from towscope.boat.feeds.model import Feed, FeedReading, Status


def sentence(text: str) -> bytes:
    """Give a sentence with its checksum and end of line."""
    return f"${text}*{reduce(lambda a, c: a ^ ord(c), text, 0):02X}\r\n".encode("latin-1")


def rmc(
    second: int, lat: float = 48.4, lon: float = -91.9, *, talker: str = "GP", knots: float = 1.75
) -> bytes:
    """Give a fix at 12:00 and so many seconds on 14 August 2026, on a course of 45 degrees."""
    clock = f"{12 + second // 3600:02d}{second // 60 % 60:02d}{second % 60:02d}"
    place = f"{_angle(lat, 2)},N,{_angle(-lon, 3)},W"
    return sentence(f"{talker}RMC,{clock}.00,A,{place},{knots:.2f},45.0,140826,,,A")


def _angle(degrees: float, width: int) -> str:
    whole = int(degrees)
    return f"{whole:0{width}d}{(degrees - whole) * 60.0:08.5f}"


class Talker:
    """A TCP server that says what it is told to, to all who listen."""

    def __init__(self, port: int = 0, greeting: bytes = b"") -> None:
        self.socket = socket.create_server(("127.0.0.1", port))
        self.port: int = self.socket.getsockname()[1]
        self.greeting = greeting
        self.ways: list[socket.socket] = []
        self.heard = b""
        self.thread = threading.Thread(target=self._accept, daemon=True)
        self.thread.start()

    def _accept(self) -> None:
        with contextlib.suppress(OSError):
            while True:
                way, _ = self.socket.accept()
                if self.greeting:
                    way.sendall(self.greeting)
                self.ways.append(way)

    def say(self, data: bytes) -> None:
        for way in self.ways:
            with contextlib.suppress(OSError):
                way.sendall(data)

    def joined(self, count: int = 1) -> None:
        until(lambda: len(self.ways) >= count)

    def die(self) -> None:
        """Be gone at once, as when the power fails behind a router that answers for it."""
        with contextlib.suppress(OSError):
            self.socket.shutdown(socket.SHUT_RDWR)
        self.socket.close()
        for way in self.ways:
            way.close()
        self.thread.join(2.0)


class Heard:
    """What a feed handed on."""

    def __init__(self) -> None:
        self.readings: list[FeedReading] = []

    def __call__(self, reading: FeedReading) -> None:
        self.readings.append(reading)

    def places(self) -> list[tuple[float, float]]:
        return [
            (round(r.lat, 5), round(r.lon, 5))
            for r in self.readings
            if r.lat is not None and r.lon is not None
        ]

    def wait(self, count: int, seconds: float = 20.0) -> None:
        until(lambda: len(self.readings) >= count, seconds)


def wait_for_word(feed: Feed, word: str, seconds: float = 20.0) -> Status:
    """Wait until a feed says something; give its status then."""
    until(lambda: word in feed.status().why, seconds, of=word)
    return feed.status()


def ended(feed: Feed) -> bool:
    """Tell whether nothing of a feed runs any more that could hand on a reading."""
    return not any(thread.name == f"feed {feed.name}" for thread in threading.enumerate())
