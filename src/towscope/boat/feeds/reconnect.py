"""Worker thread with doubling waits: opens a feed's way again, and says how it is."""

from __future__ import annotations

import math
import threading
import time
from abc import ABC, abstractmethod
from typing import Final

from towscope.boat.feeds.model import FeedReading, Status, Take
from towscope.errors import one_line

FIRST_WAIT: Final = 1.0  # [s] before the first new try; it doubles from there
LONGEST_WAIT: Final = 30.0  # [s]
SILENCE: Final = 10.0  # [s] without a byte after which a way that looks open is opened anew
SLICE: Final = 0.2  # [s]; longest time that anything waits without looking whether to stop


class Broken(Exception):  # noqa: N818 - an everyday event, not an error
    """The way is not open, or not any more; the message says why, in words."""


class Ended(Exception):  # noqa: N818 - a recording has an end
    """There is no more to come; the message says so, in words."""


class Life:
    """One run of a feed, from its start to its stop.

    A thread that is stuck when its feed is stopped (asking for a host's address, say) keeps its
    own `Life`, through which it can no longer say or hand on anything.
    """

    def __init__(self, take: Take) -> None:
        self._take = take
        self._lock = threading.RLock()
        self._stop = threading.Event()
        self.connected = False
        self.since = time.monotonic()
        self.heard: float | None = None
        self.count = 0
        self.spoilt = 0
        self.why = ""
        self.again: float | None = None  # when it is tried again, monotonic [s]
        self.good = False  # whether a reading came since the way was opened

    @property
    def stopped(self) -> bool:
        """Whether it is to end."""
        return self._stop.is_set()

    def end(self) -> None:
        """Let nothing pass any more."""
        with self._lock:
            self._stop.set()
            self._turn(connected=False)
            self.why, self.again = "stopped", None

    def rest(self, seconds: float) -> bool:
        """Wait so long [s], or until it is to end; says whether it is to end."""
        return self._stop.wait(max(seconds, 0.0))

    def opened(self, why: str = "") -> None:
        """Note that the way is open."""
        with self._lock:
            if not self._stop.is_set():
                self._turn(connected=True)
                self.why, self.again, self.good = why, None, False

    def broken(self, why: str, again: float | None) -> None:
        """Note that the way is not open, why, and when it is tried again (monotonic [s])."""
        with self._lock:
            if not self._stop.is_set():
                self._turn(connected=False)
                self.why, self.again = one_line(why, 200), again

    def say(self, why: str) -> None:
        """Say something of an open way; "" where all is well again."""
        if why != self.why:
            with self._lock:
                if not self._stop.is_set():
                    self.why = one_line(why, 200)

    def hand(self, reading: FeedReading) -> None:
        """Hand a reading on."""
        with self._lock:
            if self._stop.is_set():
                return
            self.heard = time.monotonic()
            self.count += 1
            self.good = True
            try:
                self._take(reading)
            except Exception as error:  # what takes it may fail; the feed goes on
                told = f"a fault in towscope itself ({type(error).__name__}: {error})"
                self.why = one_line(told, 200)

    def status(self) -> Status:
        """Say how it is."""
        with self._lock:
            why = self.why
            if self.again is not None:
                left = max(1, math.ceil(self.again - time.monotonic()))
                why = f"{why}; trying again in {left} s"
            return Status(self.connected, self.since, self.heard, self.count, self.spoilt, why)

    def _turn(self, *, connected: bool) -> None:
        if connected is not self.connected:
            self.connected, self.since = connected, time.monotonic()


class Worker(ABC):
    """A feed that listens in a thread of its own and opens its way again whenever it breaks.

    Attributes
    ----------
    name : str
        What it is, in words.
    first_wait, longest_wait : float
        Waits before it tries again: the first, and the longest [s].
    """

    def __init__(
        self, name: str, *, first_wait: float = FIRST_WAIT, longest_wait: float = LONGEST_WAIT
    ) -> None:
        self._name = name
        self.first_wait, self.longest_wait = first_wait, longest_wait
        self._life: Life | None = None
        self._thread: threading.Thread | None = None
        self._born = time.monotonic()

    @property
    def name(self) -> str:
        """What it is, in words."""
        return self._name

    def start(self, take: Take) -> None:
        """Begin to listen; `take` is called with each reading, in the feed's thread."""
        self.stop()
        self._life = life = Life(take)
        self._thread = threading.Thread(
            target=self._run, args=(life,), name=f"feed {self._name}", daemon=True
        )
        self._thread.start()

    def stop(self) -> None:
        """Stop within a second; no reading comes after it."""
        if self._life is not None:
            self._life.end()
        if self._thread is not None and self._thread is not threading.current_thread():
            self._thread.join(1.0)
        self._thread = None

    def status(self) -> Status:
        """Say how it is."""
        if self._life is None:
            return Status(connected=False, since=self._born, why="not started")
        return self._life.status()

    @abstractmethod
    def _listen(self, life: Life) -> None:
        """Open the way and hand on what comes, until `life.stopped`.

        Raises
        ------
        Broken
            Where the way is not open, or breaks.
        Ended
            Where there is no more to come.
        """

    def _run(self, life: Life) -> None:
        wait = self.first_wait
        while not life.stopped:
            try:
                self._listen(life)
                why = "it broke off"
            except Broken as broken:
                why = str(broken)
            except Ended as ended:
                life.broken(str(ended), None)
                return
            except Exception as error:  # the boat must not lose its place to a fault of ours
                why = f"a fault in towscope itself ({type(error).__name__}: {error})"
            if life.good:  # a way that opens but says nothing useful is not tried ever faster
                wait, life.good = self.first_wait, False
            life.broken(why, time.monotonic() + wait)
            if life.rest(wait):
                return
            wait = min(2.0 * wait, self.longest_wait)


def same_moment(reading_time: float, now: float) -> float:
    """Give the moment nearest to `now` at that second of an unknown day [unix s].

    >>> same_moment(5.0, 86_400.0 * 20_000 - 3.0) - 86_400.0 * 20_000
    5.0
    """
    return now - ((now - reading_time + 43_200.0) % 86_400.0 - 43_200.0)
