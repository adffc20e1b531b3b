"""The boat's way kept in the journal as it goes, a piece a minute."""

from __future__ import annotations

import logging
import math
import threading
import time
from collections.abc import Callable
from datetime import datetime
from typing import Final

import numpy as np

from towscope.boat.clock import BoatClock
from towscope.boat.feeds.fusion import CLOCK, Now, Point
from towscope.clock import time_s
from towscope.errors import InputError, NoAnswer
from towscope.journal.copies import copy_if_due
from towscope.journal.store import Store
from towscope.journal.times import day_at, local_zone
from towscope.journal.track import make_track

EVERY: Final = 60.0  # [s]; what is lost at most where the power fails
STILL: Final = 0.15  # [m/s]; slower, and one point in `RARE` is enough
RARE: Final = 30.0  # [s]
SET_BACK: Final = 60.0  # [s]; a clock that was set back by more begins anew
FRESH: Final = 120.0  # [s]; for which a temperature of the water counts
DEVICE: Final = "the boat"
PLAYED: Final = ("recording",)  # feeds that say where a boat was once, not where this one is


class Recorder:
    """Keeps the boat's way in the journal.

    Parameters
    ----------
    now : Now
        The boat's present.
    store : callable
        Gives the journal.
    every : float
        Time between the pieces [s].
    clock : BoatClock, optional
        The boat's time, by which the journal's entries are told; this machine's without it.
    """

    def __init__(
        self,
        now: Now,
        store: Callable[[], Store],
        *,
        every: float = EVERY,
        clock: BoatClock | None = None,
    ) -> None:
        self.now, self.store, self.every = now, store, every
        self.clock = BoatClock() if clock is None else clock
        self._stop = threading.Event()
        self._thread: threading.Thread | None = None
        self._after = -math.inf
        self._last = -math.inf  # moment of the last point kept [unix s]

    def start(self) -> None:
        """Begin to keep it."""
        self._after = time.monotonic()
        self._thread = threading.Thread(target=self._go, name="recorder", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """Keep what there is, and end."""
        self._stop.set()
        if self._thread is not None:
            self._thread.join(5.0)
            self._thread = None

    def keep(self) -> int:
        """Keep what came since the last time; give how many points.

        Raises
        ------
        InputError
            Where the journal cannot be written.
        """
        points = self.now.trail(self._after)
        if not points:
            return 0
        present = self.now.present()
        newest = points[-1].heard
        if present.feed.startswith(PLAYED):
            self._after = newest
            return 0
        # the journal's entries are told by the boat's time; where the feed's clock is another, it
        # is not gone by
        behind = self.clock.behind_s()
        off = present.clock is None or abs(present.clock - behind) > CLOCK
        wall = time_s() - time.monotonic() + behind
        rows: list[tuple[float, Point]] = []
        last = self._last
        for point in points:
            at = point.heard + wall if off else point.time
            gone = at - last
            if -SET_BACK < gone <= 0.0 or (point.ground_speed < STILL and 0.0 < gone < RARE):
                continue
            last = at
            rows.append((at, point))
        if rows:
            age = present.water_temp_age
            warm = present.water_temp if age is not None and age < FRESH else None
            track = make_track(
                [at for at, _ in rows],
                [p.lat for _, p in rows],
                [p.lon for _, p in rows],
                [p.speed for _, p in rows],
                [math.nan if p.depth is None else p.depth for _, p in rows],
                np.full(len(rows), math.nan if warm is None else warm),
            )
            self.store().add_track(track, DEVICE, local_zone()[0])
        self._after, self._last = newest, last
        return len(rows)

    def _copy(self) -> None:
        """Copy the journal, once a day."""
        path = self.store().path
        if path is not None:
            copy_if_due(path, day_at(datetime.now(local_zone()[0])))

    def _go(self) -> None:
        stopped = False
        while not stopped:
            stopped = self._stop.wait(self.every)
            try:
                self.keep()
                self._copy()
            except (InputError, NoAnswer) as error:
                # what came stays in the trail, and is kept when the journal can be written again
                logging.getLogger("towscope").warning("the boat's track is not saved: %s", error)
            except Exception:  # the run must go on, whatever ails the journal
                logging.getLogger("towscope").exception("the boat's track is not saved")
