"""A recorded track or NMEA 0183 log played again as a feed, at its own pace or faster."""

from __future__ import annotations

import time
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Final

import numpy as np

from towscope.boat.feeds.model import FeedReading
from towscope.boat.feeds.reconnect import SLICE, Broken, Ended, Life, Worker
from towscope.boat.feeds.talk import Talk
from towscope.boat.read import EXPECTED, read_fixes
from towscope.clock import time_s
from towscope.errors import InputError, one_line
from towscope.formats.nmea import SENTENCE

LONGEST_GAP: Final = 60.0  # [s] without a reading; longer, and it is passed over
BRIEF: Final = 2.0  # [s] that it becomes
FASTEST: Final = 1000.0  # times its own pace


class FileFeed(Worker):
    """A recorded track: an NMEA 0183 log, GPX, or a table.

    Parameters
    ----------
    path : Path
        The file.
    pace : float
        How many times faster than it was.
    transducer : float
        Depth of the sounder's transducer below the surface [m].

    Raises
    ------
    InputError
        Where the file is no track, has no places on the globe, or the pace is none.

    Notes
    -----
    Its readings keep the times of the recording. A stretch of more than a minute without any is
    passed over.
    """

    def __init__(self, path: Path, pace: float = 1.0, *, transducer: float = 0.0) -> None:
        if not 0.0 < pace <= FASTEST:
            raise InputError(f"pace {pace:g}: expected above 0 and at most {FASTEST:g}")
        super().__init__(_name(path, pace))
        self.path, self.pace, self.transducer = path, pace, transducer
        self._talk = _is_talk(path)
        # a wrong file is said at once, not from a thread; a log is read again as it plays
        self._fixes = None if self._talk else read_fixes(path)
        if self._fixes is not None and not self._fixes.on_globe:
            raise InputError(
                f"{one_line(path, 120)} holds metres, not places on the globe; expected "
                "time,lat,lon"
            )

    def _listen(self, life: Life) -> None:
        life.opened()
        play(self._readings(life), life, self.pace)
        raise Ended("the recording is at its end" if life.count else "it holds no fix")

    def _readings(self, life: Life) -> Iterator[FeedReading]:
        if self._fixes is not None:
            fixes = self._fixes
            zero = 0.0 if fixes.dated else time_s() - float(np.nanmin(fixes.time))
            order = np.argsort(fixes.time, kind="stable")
            good = np.isfinite(fixes.time) & (np.abs(fixes.first) <= 90.0)
            good &= np.abs(fixes.second) <= 180.0
            life.spoilt = int((~good).sum())
            for i in order[good[order]]:
                yield FeedReading(
                    float(fixes.time[i]) + zero,
                    lat=float(fixes.first[i]),
                    lon=float(fixes.second[i]),
                )
            return
        talk = Talk(self.transducer)
        try:
            with self.path.open("rb") as stream:
                wall = self.path.stat().st_mtime  # by which undated sentences are dated
                while data := stream.read(4096):
                    yield from talk.hear(data, wall)
                    life.spoilt = talk.spoilt
        except OSError as error:
            raise Broken(f"{one_line(self.path, 120)}: {error.strerror or error}") from None


def play(readings: Iterable[FeedReading], life: Life, pace: float) -> None:
    """Hand readings on when it is their time, until they end or it is to stop.

    Parameters
    ----------
    readings : iterable of FeedReading
        In order.
    life : Life
        What they are handed to.
    pace : float
        How many times faster than their own times.
    """
    begun: float | None = None  # when moment 0 of the recording is, on this machine's clock
    last = 0.0
    for reading in readings:
        if begun is None:
            begun, last = time.monotonic() - reading.time / pace, reading.time
        ahead = reading.time - last
        if abs(ahead) > LONGEST_GAP:
            begun -= (ahead - BRIEF * pace) / pace
            last = reading.time
        last = max(last, reading.time)
        due = begun + reading.time / pace
        while (left := due - time.monotonic()) > 0.0:
            if life.rest(min(left, SLICE)):
                return
        if life.stopped:
            return
        life.hand(
            FeedReading(
                reading.time,
                reading.lat,
                reading.lon,
                reading.course,
                reading.ground_speed,
                reading.water_speed,
                reading.depth,
                reading.water_temp,
                time.monotonic(),
                reading.source,
            )
        )


def _name(path: Path, pace: float) -> str:
    shown = f"recording {one_line(path.name, 60)}"
    return shown if pace == 1.0 else f"{shown}, {pace:g} times as fast"


def _is_talk(path: Path) -> bool:
    """Tell whether a file is an NMEA 0183 log; what it is else, `read_fixes` says."""
    try:
        if not path.is_file():
            return False
        with path.open("rb") as stream:
            start = stream.read(20_000)
    except OSError as error:
        told = f"{one_line(path, 120)}: {error.strerror or error}; expected {EXPECTED}"
        raise InputError(told) from None
    if start.lstrip()[:1] == b"<":
        return False
    return SENTENCE.search(start.decode("latin-1")) is not None
