"""The boat's time: satellite time where a receiver tells it, else this computer's clock.

A small computer without a battery for its clock starts in the past, a phone may be hours off. All
entries and the boat's way are told by one time, so that a fish is found where it was caught.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Final, Literal

from towscope.boat.feeds.fusion import CLOCK, Present
from towscope.clock import time_s

# What has a receiver behind it; a phone's place and a recording tell other clocks' times.
RECEIVERS: Final = ("gpsd ", "Signal K ", "TCP ", "UDP ", "serial ")
# No receiver is right that tells a time before this was written: the count of weeks of older ones
# has begun anew (every 1,024 weeks; ICD-GPS-200, 20.3.3.3.1.1).
WRITTEN_S: Final = 1_767_225_600.0  # 2026-01-01, unix time [s]
FRESH_S: Final = 10.0  # a fix this old still tells how far the clocks are apart
AGREE_S: Final = 30.0  # two clocks this close tell the same time


@dataclass(frozen=True)
class BoatTime:
    """The boat's time as it is now.

    Attributes
    ----------
    now : datetime
        The time, UTC.
    source : str
        "gps" or "computer".
    behind_s : float
        How far this computer's own clock is behind it [s]; negative where ahead.
    """

    now: datetime
    source: Literal["gps", "computer"]
    behind_s: float


class BoatClock:
    """Tells the boat's time.

    Parameters
    ----------
    present : callable, optional
        Gives the boat's present, which says how far a receiver's clock is ahead.
    wall, steady : callable
        This computer's clock, unix time [s], and one that is never set [s].

    Examples
    --------
    >>> clock = BoatClock(lambda: Present(at=0.0, clock=7200.0, place_age=1.0, feed="gpsd x:2947"),
    ...     wall=lambda: 1.8e9, steady=lambda: 50.0)
    >>> clock.behind_s(), clock.time_s()
    (7200.0, 1800007200.0)
    """

    def __init__(
        self,
        present: Callable[[], Present] | None = None,
        *,
        wall: Callable[[], float] = time_s,
        steady: Callable[[], float] = time.monotonic,
    ) -> None:
        self.present = present
        self._wall, self._steady = wall, steady
        self._known: tuple[float, float] | None = None  # behind, and the clocks' gap then [s]
        self._outvoted: float | None = None  # what a receiver said and a phone's clock denied [s]

    def behind_s(self) -> float:
        """Give how far this computer's clock is behind the boat's time [s]."""
        gap = self._wall() - self._steady()
        seen = None if self.present is None else self.present()
        if (
            seen is not None
            and seen.clock is not None
            and seen.place_age is not None
            and seen.place_age <= FRESH_S
            and seen.feed.startswith(RECEIVERS)
            and self._wall() + seen.clock >= WRITTEN_S
        ):
            self._known = (seen.clock, gap)
        if self._known is None:
            return 0.0
        behind, then = self._known
        if abs(gap - then) > CLOCK:  # this computer's clock was set since, or it slept
            self._known = None
            return 0.0
        if self._outvoted is not None and abs(behind - self._outvoted) < AGREE_S:
            return 0.0
        return behind if abs(behind) > CLOCK else 0.0

    def time_s(self) -> float:
        """Give the boat's time, unix time [s]."""
        return self._wall() + self.behind_s()

    def now(self) -> datetime:
        """Give the boat's time, UTC."""
        return datetime.fromtimestamp(self._wall(), UTC) + timedelta(seconds=self.behind_s())

    def told(self) -> BoatTime:
        """Give the boat's time and whose it is."""
        behind = self.behind_s()
        by_receiver = self._known is not None and self._outvoted is None
        return BoatTime(self.now(), "gps" if by_receiver else "computer", behind)

    def hear(self, ahead_s: float) -> None:
        """Hear how far a phone's clock is ahead of this computer's: two of three clocks are right.

        A receiver that plays an old day over the network is alone with its time; a computer whose
        clock is off is alone beside receiver and phone.
        """
        self.behind_s()
        if self._known is None:
            return
        behind = self._known[0]
        if abs(ahead_s - behind) < AGREE_S:
            self._outvoted = None
        elif abs(ahead_s) < AGREE_S:
            self._outvoted = behind
