"""What was recorded, or made up, played as if it were now."""

from __future__ import annotations

import math
import time
from dataclasses import dataclass, replace
from itertools import islice
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
from feed_talker import Heard, ended, rmc, sentence, wait_for_word
from tests.waiting import until

from towscope.boat.feeds.aboard import Feeds
from towscope.boat.feeds.address import feed_of
from towscope.boat.feeds.model import FeedReading
from towscope.boat.feeds.playback import FileFeed
from towscope.demo.boat import SimulatedFeed, stretches, walk
from towscope.demo.day import demo_day
from towscope.demo.feed import demo_feed
from towscope.demo.long_slate import PLACE, true_depth

START = 1_786_708_800.0


def log(path: Path, seconds: range) -> Path:
    talk = b"".join(
        rmc(s, 48.4 + 1e-5 * s) + (sentence("SDDPT,9.4,0.5,") if s % 2 else b"") for s in seconds
    )
    path.write_bytes(talk)
    return path


# -- recordings ----------------------------------------------------------------------------------


def test_a_log_is_played_at_its_pace_with_all_it_says(tmp_path: Path) -> None:
    heard = Heard()
    feed = FileFeed(log(tmp_path / "day.nmea", range(21)), 20.0)
    begun = time.monotonic()
    feed.start(heard)
    wait_for_word(feed, "at its end")
    took = time.monotonic() - begun
    assert 0.95 <= took < 2.5  # 20 s, 20 times as fast
    assert [r.time for r in heard.readings if r.lat is not None] == [START + s for s in range(21)]
    assert sum(r.depth is not None for r in heard.readings) == 10
    gaps = np.diff([r.heard for r in heard.readings if r.lat is not None])
    assert float(np.median(gaps)) == pytest.approx(0.05, abs=0.02)
    assert not feed.status().connected
    feed.stop()


@pytest.mark.parametrize("kind", ["gpx", "csv"])
def test_gpx_and_tables_are_played_too(tmp_path: Path, kind: str) -> None:
    rows = [(f"2026-08-14T12:00:{s:02d}Z", 48.4 + 1e-5 * s, -91.9) for s in range(10)]
    path = tmp_path / f"track.{kind}"
    if kind == "csv":
        path.write_text("time,lat,lon\n" + "".join(f"{t},{a:.6f},{b}\n" for t, a, b in rows))
    else:
        points = "".join(
            f'<trkpt lat="{a:.6f}" lon="{b}"><time>{t}</time></trkpt>' for t, a, b in rows
        )
        path.write_text(
            '<gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1"><trk>'
            f"<trkseg>{points}</trkseg></trk></gpx>"
        )
    heard = Heard()
    feed = feed_of(f"file:{path}@100")
    feed.start(heard)
    wait_for_word(feed, "at its end")
    assert heard.places() == [(round(a, 5), b) for _, a, b in rows]
    assert heard.readings[0].time == START
    feed.stop()


def test_a_long_gap_is_passed_over(tmp_path: Path) -> None:
    talk = b"".join(rmc(s) for s in (*range(3), *range(7200, 7203)))
    path = tmp_path / "gap.nmea"
    path.write_bytes(talk)
    heard = Heard()
    feed = FileFeed(path, 10.0)
    begun = time.monotonic()
    feed.start(heard)
    heard.wait(6)
    assert time.monotonic() - begun < 4.0
    assert heard.readings[-1].time == START + 7202
    feed.stop()


def test_stopping_is_quick_in_the_midst_of_a_wait(tmp_path: Path) -> None:
    path = tmp_path / "slow.nmea"
    path.write_bytes(rmc(0) + rmc(50))
    heard = Heard()
    feed = FileFeed(path)
    feed.start(heard)
    heard.wait(1)
    begun = time.monotonic()
    feed.stop()
    assert time.monotonic() - begun < 1.0
    assert len(heard.readings) == 1


def test_a_file_that_went_away_is_said(tmp_path: Path) -> None:
    path = log(tmp_path / "day.nmea", range(3))
    feed = FileFeed(path)
    path.unlink()
    feed.start(Heard())
    wait_for_word(feed, "No such file")
    feed.stop()


# -- the made-up boat ----------------------------------------------------------------------------

TRACK = demo_day().track


def ways(count: int, begin: float | None = None) -> dict[str, npt.NDArray[np.float64]]:
    steps = list(islice(walk(TRACK, begin), count))
    lat, lon = np.array([s.lat for s in steps]), np.array([s.lon for s in steps])
    x, y = PLACE.to_metres(lat, lon)
    return {
        "time": np.array([s.time for s in steps]),
        "x": x,
        "y": y,
        "speed": np.array([s.speed for s in steps]),
        "course": np.array([s.course for s in steps]),
        "depth": np.array([math.nan if s.depth is None else s.depth for s in steps]),
    }


ROUND = ways(16_500)


def test_it_trolls_two_stretches() -> None:
    parts = stretches(TRACK)
    assert len(parts) == 2
    assert all(float(TRACK.t_s[b - 1] - TRACK.t_s[a]) > 3600.0 for a, b in parts)


def test_it_goes_round_without_a_leap_and_stays_on_the_water() -> None:
    """The lake's own depth is the reference: nowhere does the boat come ashore or into shallows."""
    step = np.hypot(np.diff(ROUND["x"]), np.diff(ROUND["y"]))
    assert float(step.max()) < 10.0  # it runs at 9 m/s from one stretch to the next
    assert np.diff(ROUND["time"]) == pytest.approx(1.0)
    assert float(true_depth(ROUND["x"], ROUND["y"]).min()) > 3.0
    slow = ROUND["speed"] < 1.3
    assert 0.7 < float(slow.mean()) < 0.95
    turn = (np.diff(ROUND["course"]) + math.pi) % (2 * math.pi) - math.pi
    assert float(np.abs(turn).max()) < 0.7  # never about on the spot


def test_its_depth_is_the_lakes() -> None:
    off = ROUND["depth"] - true_depth(ROUND["x"], ROUND["y"])
    assert float(np.sqrt(np.mean(off**2))) < 0.6  # on its way back, of the nearest sounding
    asked = list(
        islice(walk(TRACK, depth=lambda lat, lon: true_depth(*PLACE.to_metres(lat, lon))), 500)
    )
    x, y = PLACE.to_metres([s.lat for s in asked], [s.lon for s in asked])
    assert [s.depth for s in asked] == pytest.approx(true_depth(x, y))


def test_it_begins_where_it_is_told_to() -> None:
    begin = float(TRACK.t_s[7700])
    first = next(iter(walk(TRACK, begin)))
    assert (first.lat, first.lon) == (
        pytest.approx(float(TRACK.lat[7700]), abs=1e-8),
        pytest.approx(float(TRACK.lon[7700]), abs=1e-8),
    )
    for moment in (float(TRACK.t_s[0]) - 1e6, float(TRACK.t_s[-1]) + 1e6):
        assert next(iter(walk(TRACK, moment))).time == 0.0


def test_its_readings_are_now_and_scatter_a_little() -> None:
    feed = SimulatedFeed(TRACK, begin=float(TRACK.t_s[7700]), water_speed=True)
    made = list(islice(feed.readings(START), 800))
    places = [r for r in made if r.lat is not None]
    assert places[0].time == START
    assert [r.time - START for r in places[:5]] == [0.0, 1.0, 2.0, 3.0, 4.0]
    lat, lon = TRACK.lat[7700 : 7700 + len(places)], TRACK.lon[7700 : 7700 + len(places)]
    x, y = PLACE.to_metres(lat, lon)
    px, py = PLACE.to_metres([r.lat for r in places], [r.lon for r in places])
    assert float(np.std(np.concatenate([px - x, py - y]))) == pytest.approx(0.10, abs=0.02)
    kinds = {"depth", "water_speed", "water_temp"}
    assert all(any(getattr(r, kind) is not None for r in made) for kind in kinds)
    again = list(islice(SimulatedFeed(TRACK, water_speed=True).readings(START), 50))
    assert [replace(r, heard=0.0) for r in again] == [
        replace(r, heard=0.0)
        for r in islice(SimulatedFeed(TRACK, water_speed=True).readings(START), 50)
    ]


def test_the_demo_feed_plays_and_mixes() -> None:
    feeds = Feeds([demo_feed(pace=20.0)])
    used: list[FeedReading] = []
    feeds.start(used.append)
    until(lambda: sum(r.lat is not None for r in used) > 40)
    present = feeds.now.present()
    assert feeds.source == "Demo boat, 20 times as fast"
    assert present.depth is not None
    assert present.ground_speed == pytest.approx(0.85, abs=0.3)
    assert present.speed_is == "over ground"
    feeds.stop()
    assert all(ended(feed) for feed in feeds.feeds)  # nothing comes any more


@dataclass(frozen=True)
class Short:
    """A track too short to troll."""

    t_s: npt.NDArray[np.float64]
    lat: npt.NDArray[np.float64]
    lon: npt.NDArray[np.float64]
    depth_m: npt.NDArray[np.float64]
    surface_temp_c: npt.NDArray[np.float64]


def test_any_track_will_do() -> None:
    n = 60
    nothing = np.full(n, np.nan)
    track = Short(
        START + np.arange(n), 48.4 + 8e-6 * np.arange(n), np.full(n, -91.9), nothing, nothing
    )
    made = list(islice(walk(track), 400))
    assert made[-1].depth is None
    assert all(math.isfinite(step.lat) for step in made)
