"""The boat's way goes into the journal as it goes, and nothing else does."""

from __future__ import annotations

import math
import time
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest
from tests.waiting import until

from towscope.boat.feeds.aboard import Feeds
from towscope.boat.feeds.fusion import Now
from towscope.boat.feeds.model import FeedReading
from towscope.errors import InputError
from towscope.journal.opening import open_store
from towscope.journal.store import Store
from towscope.journal.times import local_zone
from towscope.web.recorder import RARE, Recorder


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_store(tmp_path / "journal.sqlite") as store:
        yield store


def sail(
    now: Now, seconds: int, *, feed: str = "cable", off: float = 0.0, pace: float = 0.9
) -> None:
    """Let the boat have gone north for some time up to now."""
    wall, clock = time.time(), time.monotonic()
    for s in range(seconds):
        ago = seconds - 1 - s
        lat = 48.4 + pace * s / 111_214.0
        heard = clock - ago
        now.take(FeedReading(wall - ago + off, lat=lat, lon=-91.9, heard=heard, source="GP"), feed)
        now.take(
            FeedReading(wall - ago + off, depth=9.0 + 0.01 * s, heard=heard, source="SD"), feed
        )
        now.take(FeedReading(wall - ago + off, water_temp=21.5, heard=heard, source="SD"), feed)


def today() -> str:
    return datetime.now(local_zone()[0]).date().isoformat()


def test_the_way_is_kept_once(store: Store) -> None:
    now = Now()
    recorder = Recorder(now, lambda: store)
    sail(now, 100)
    begun = time.time()
    kept = recorder.keep()
    assert 95 <= kept <= 100
    assert recorder.keep() == 0
    track = store.track(today())
    if len(track) < kept:  # it is just past midnight
        pytest.skip("the minute before midnight is another day's")
    assert len(track) == kept
    assert float(track.t_s[-1]) == pytest.approx(begun, abs=2.0)
    assert np.diff(track.t_s) == pytest.approx(1.0, abs=0.01)
    assert float(np.nanmedian(track.speed_m_s)) == pytest.approx(0.9, abs=0.02)
    assert float(track.lat[-1]) == pytest.approx(48.4 + 0.9 * 99 / 111_214.0, abs=1e-6)
    assert float(track.depth_m[-1]) == pytest.approx(9.98, abs=0.02)
    assert track.surface_temp_c[-1] == 21.5


def test_a_feed_with_a_wrong_clock_is_kept_by_ours(store: Store) -> None:
    now = Now()
    sail(now, 60, off=-7200.0)
    Recorder(now, lambda: store).keep()
    _, _, track = next(iter(store.stretches()))
    assert abs(float(track.t_s[-1]) - time.time()) < 120.0


def test_a_boat_that_lies_still_takes_little_room(store: Store) -> None:
    now = Now()
    sail(now, 300, pace=0.0)
    assert Recorder(now, lambda: store).keep() <= 300 / RARE + 2


def test_a_recording_is_not_todays_way(store: Store) -> None:
    now = Now()
    sail(now, 60, feed="recording day.nmea, 10 times as fast")
    assert Recorder(now, lambda: store).keep() == 0
    assert list(store.stretches()) == []


def test_a_journal_that_fails_costs_nothing(store: Store) -> None:
    now, broken = Now(), [True]

    def journal() -> Store:
        if broken:
            raise InputError("the disk is full")
        return store

    recorder = Recorder(now, journal)
    sail(now, 60)
    with pytest.raises(InputError):
        recorder.keep()
    broken.clear()
    assert recorder.keep() >= 55


def test_it_keeps_by_itself_and_at_the_end(store: Store) -> None:
    feeds = Feeds([])
    recorder = Recorder(feeds.now, lambda: store, every=0.1)
    recorder.start()
    feeds.at_stop.append(recorder.stop)
    feeds.start()
    wall = time.time()
    for s in range(8):
        assert feeds.phone.post(wall + s, 48.4 + 0.9 * s / 111_214.0, -91.9, accuracy=3.0)
    found = until(lambda: list(store.stretches()), of="a stretch of the way")
    assert feeds.phone.post(wall + 8.0, 48.4 + 7.2 / 111_214.0, -91.9, accuracy=3.0)
    feeds.stop()
    points = sum(len(track) for _, _, track in store.stretches())
    assert points >= len(found[0][2]) + 1
    assert all(math.isfinite(v) for _, _, track in store.stretches() for v in track.lat)
