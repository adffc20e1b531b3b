"""Feed of the places that a phone aboard posts from its own receiver."""

from __future__ import annotations

import math
import threading
import time
from typing import Final

from towscope import clock
from towscope.boat.feeds.model import FeedReading, Status, Take
from towscope.boat.feeds.talk import FASTEST

WORST: Final = 30.0  # [m]; a place less sure is from cell towers or from under a roof
SILENCE: Final = 10.0  # [s]
FORGOTTEN: Final = 60.0  # [s]
LATE: Final = 10.0  # [s]; a fix that came so much later than others do is of the past


class PhoneFeed:
    """Places that phones post.

    Examples
    --------
    >>> feed, heard = PhoneFeed(), []
    >>> feed.start(heard.append)
    >>> feed.post(1.8e9, 48.4, -91.9, accuracy=4.0, speed=0.9)
    True
    >>> feed.post(1.8e9 + 1.0, 48.4, -91.9, accuracy=900.0)
    False
    >>> feed.status().why
    "the phone's place is only sure to 900 m; expected 30 m or better, with a clear view of the sky"
    """

    name = "the phone's own place"

    def __init__(self) -> None:
        self._lock = threading.RLock()
        self._take: Take | None = None
        self._since = time.monotonic()
        self._heard: float | None = None
        self._count = self._spoilt = 0
        self._why = ""
        self._clocks: dict[
            str, tuple[float, float]
        ] = {}  # how far ahead each phone's is, when told

    def start(self, take: Take) -> None:
        """Begin to hand on what is posted; `take` is called in the thread that posts."""
        with self._lock:
            self._take, self._since = take, time.monotonic()

    def stop(self) -> None:
        """Hand on nothing more."""
        with self._lock:
            self._take, self._since = None, time.monotonic()

    def status(self) -> Status:
        """Say how it is."""
        with self._lock:
            now = time.monotonic()
            heard, why = self._heard, self._why
            if self._take is None:
                why = "not started"
            elif heard is None:
                why = why or "no phone shares its GPS yet: allow it on the phone"
            elif now - heard > SILENCE:
                why = why or f"no phone has shared its GPS for {now - heard:.0f} s"
            fresh = self._take is not None and heard is not None and now - heard <= SILENCE
            return Status(fresh, self._since, heard, self._count, self._spoilt, why)

    def post(
        self,
        time_s: float,
        lat: float,
        lon: float,
        *,
        accuracy: float | None = None,
        speed: float | None = None,
        course: float | None = None,
        source: str = "",
    ) -> bool:
        """Take one fix.

        Parameters
        ----------
        time_s : float
            When it was, by the phone's clock: unix time [s].
        lat, lon : float
            Place [degrees].
        accuracy : float, optional
            How sure it is [m].
        speed : float, optional
            Over ground [m/s].
        course : float, optional
            Over ground [degrees from true north].
        source : str
            Which phone.

        Returns
        -------
        bool
            Whether it was taken. One that a phone kept while it was out of reach is not: the boat
            is elsewhere by now.
        """
        with self._lock:
            if self._take is None:
                return False
            if self._is_late(time_s, source):
                return False
            if not (math.isfinite(time_s) and abs(lat) <= 90.0 and abs(lon) <= 180.0):
                self._spoilt += 1
                self._why = "the phone sends no position"
                return False
            if accuracy is not None and not 0.0 <= accuracy <= WORST:
                self._spoilt += 1
                self._why = (
                    f"the phone's place is only sure to {accuracy:.0f} m; expected {WORST:.0f} m "
                    "or better, with a clear view of the sky"
                )
                return False
            if speed is not None and not 0.0 <= speed <= FASTEST:
                speed = None
            if course is not None and not (0.0 <= course <= 360.0):
                course = None
            self._heard = time.monotonic()
            self._count += 1
            self._why = ""
            self._take(
                FeedReading(
                    time_s,
                    lat=lat,
                    lon=lon,
                    course=None if course is None else math.radians(course % 360.0),
                    ground_speed=speed,
                    heard=self._heard,
                    source=source,
                )
            )
            return True

    def note(self, time_s: float, source: str = "") -> None:
        """Note a phone's clock by the newest of several fixes, before they are posted in order.

        Parameters
        ----------
        time_s : float
            When that fix was, by the phone's clock: unix time [s].
        source : str
            Which phone.
        """
        with self._lock:
            self._is_late(time_s, source)

    def _is_late(self, time_s: float, source: str) -> bool:
        """Tell whether a fix is of the past, by the phone's own clock, whatever it shows."""
        ahead = time_s - clock.time_s()
        if not math.isfinite(ahead):
            return False
        if len(self._clocks) > 32:
            self._clocks.clear()
        # a phone's promptest fix tells its clock; for a minute, as it may be set back
        known, noted = self._clocks.get(source, (-math.inf, -math.inf))
        now = time.monotonic()
        if ahead >= known or now - noted > FORGOTTEN:
            self._clocks[source] = known, noted = ahead, now
        return ahead < known - LATE
