"""One present of many readings: hand-over, doubles, leaps, clocks, speeds, lag."""

from __future__ import annotations

import math
import time
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from towscope.boat.feeds.choice import HANDOVER, RETURN
from towscope.boat.feeds.fusion import Now, Point
from towscope.boat.feeds.model import FeedReading
from towscope.boat.kalman import Steady
from towscope.boat.water import FRESH, WaterMotion
from towscope.geodesy import Globe

START = 1_786_708_800.0
LAKE = Globe(48.4, -91.9)


def place(x: float, y: float) -> tuple[float, float]:
    lat, lon = LAKE.to_globe(np.array([x]), np.array([y]))
    return float(lat[0]), float(lon[0])


def fix(
    second: float, x: float, y: float, *, source: str = "GP", late: float = 0.0, **told: float
) -> FeedReading:
    lat, lon = place(x, y)
    return FeedReading(START + second, lat=lat, lon=lon, heard=second + late, source=source, **told)


def north(now: Now, seconds: range, *, feed: str = "cable", x: float = 0.0, **told: float) -> None:
    """Let the boat go north at 0.9 m/s."""
    for s in seconds:
        now.take(fix(float(s), x, 0.9 * s, **told), feed)


def where(now: Now, at: float) -> tuple[float, float]:
    present = now.present(at)
    assert present.lat is not None
    assert present.lon is not None
    x, y = LAKE.to_metres([present.lat], [present.lon])
    return float(x[0]), float(y[0])


# -- who says the place --------------------------------------------------------------------------


def test_nothing_is_known_before_anything_came() -> None:
    present = Now().present()
    assert (present.lat, present.speed, present.depth, present.place_age) == (None,) * 4
    assert present.speed_is == "over ground"


def test_every_figure_has_its_age() -> None:
    now = Now()
    north(now, range(10))
    now.take(FeedReading(START + 4, depth=9.4, heard=4.0, source="SD"), "cable")
    now.take(FeedReading(START + 5, water_temp=21.5, heard=5.0, source="II"), "cable")
    present = now.present(12.0)
    assert present.place_age == pytest.approx(3.0)
    assert (present.depth, present.depth_age) == (9.4, pytest.approx(8.0))
    assert (present.water_temp, present.water_temp_age) == (21.5, pytest.approx(7.0))
    assert present.feed == "cable"
    assert present.course == pytest.approx(0.0, abs=1e-6) or present.course == pytest.approx(
        2 * math.pi, abs=1e-6
    )
    assert present.speed == pytest.approx(0.9, abs=0.01)
    assert present.time == START + 9.0


def test_two_receivers_never_make_the_boat_zigzag() -> None:
    """Two receivers 12 m apart, on one feed under two talkers, and on two feeds."""
    for feeds in (("cable", "cable"), ("cable", "phone")):
        now = Now(["cable", "phone"])
        used = []
        for s in range(60):
            for talker, feed, x in (("GP", feeds[0], 0.0), ("GN", feeds[1], 12.0)):
                got = now.take(fix(float(s), x, 0.9 * s, source=talker), feed)
                if got is not None:
                    used.append(got.source)
            assert abs(where(now, float(s))[0]) < 0.5
        assert set(used) == {"GP"}


def test_another_takes_over_when_one_falls_silent_and_gives_way_again() -> None:
    now = Now(["cable", "phone"])
    said: dict[int, str] = {}
    used: list[FeedReading] = []
    for s in range(120):
        cable_talks = not 30 <= s < 60
        if cable_talks:
            got = now.take(fix(float(s), 0.0, 0.9 * s), "cable")
            used += [got] if got else []
        # the phone is some metres off, and its clock 1.7 s ahead
        got = now.take(fix(s + 1.7, 2.0, 0.9 * s, source="10.0.0.7", late=-1.7), "phone")
        used += [got] if got else []
        said[s] = now.present(float(s)).feed
        assert abs(where(now, float(s))[1] - 0.9 * min(s, 119)) < 8.0
    assert said[29] == "cable"
    assert said[30 + int(HANDOVER) - 2] == "cable"
    assert said[30 + int(HANDOVER) + 1] == "phone"
    assert said[60 + int(RETURN) - 2] == "phone"
    assert said[60 + int(RETURN) + 1] == "cable"
    times = [each.time for each in used if each.lat is not None]
    assert all(0.0 < b - a < 7.0 for a, b in pairwise(times))  # evenly over both hand-overs


def test_a_receiver_that_hangs_is_silent() -> None:
    now = Now(["cable", "phone"])
    for s in range(40):
        now.take(fix(float(min(s, 10)), 0.0, 0.9 * min(s, 10), late=max(0.0, s - 10)), "cable")
        now.take(fix(float(s), 1.0, 0.9 * s, source="ph"), "phone")
    assert now.present(39.0).feed == "phone"
    assert now.present(39.0).place_age == pytest.approx(0.0, abs=0.01)


def test_a_slow_receiver_is_waited_for() -> None:
    now = Now(["slow", "fast"])
    feeds = []
    for s in range(120):
        if s % 4 == 0:
            now.take(fix(float(s), 0.0, 0.9 * s), "slow")
        now.take(fix(float(s), 1.0, 0.9 * s, source="GN"), "fast")
        feeds.append(now.present(float(s)).feed)
    assert set(feeds[30:]) == {"slow"}


# -- doubled, late, leaping ----------------------------------------------------------------------


def test_the_same_fix_in_several_sentences_counts_once() -> None:
    now = Now()
    for s in range(20):
        for _ in range(3):
            now.take(fix(float(s), 0.0, 0.9 * s), "cable")
    assert now.dropped == 40
    assert now.present(20.0).ground_speed == pytest.approx(0.9, abs=0.01)


def test_late_fixes_are_dropped() -> None:
    now = Now()
    north(now, range(20))
    before = where(now, 20.0)
    assert now.take(fix(12.0, 0.0, 0.9 * 12, late=8.0), "cable") is None
    assert where(now, 20.0) == before
    assert now.dropped == 1


def test_a_leap_is_refused_and_a_true_one_believed_after_four() -> None:
    now = Now()
    north(now, range(20))
    assert now.take(fix(20.0, 300.0, 18.0), "cable") is None
    assert now.refused == 1
    north(now, range(21, 30))
    assert abs(where(now, 30.0)[0]) < 0.5
    taken = [now.take(fix(float(s), 300.0, 0.9 * s), "cable") for s in range(30, 36)]
    assert [each is not None for each in taken] == [False, False, False, True, True, True]
    assert where(now, 36.0)[0] == pytest.approx(300.0, abs=1.0)


def test_scattered_leaps_are_never_believed() -> None:
    now = Now()
    rng = np.random.default_rng(3)
    north(now, range(20))
    for s in range(20, 60):
        if s % 3:
            x, y = rng.uniform(-5000, 5000, 2)
            now.take(fix(float(s), x, y), "cable")
        else:
            now.take(fix(float(s), 0.0, 0.9 * s), "cable")
        assert abs(where(now, float(s))[0]) < 3.0


def test_a_clock_set_back_is_followed() -> None:
    now = Now()
    north(now, range(20))
    for s in range(20, 40):
        lat, lon = place(0.0, 0.9 * s)
        now.take(
            FeedReading(START - 3600 + s, lat=lat, lon=lon, heard=float(s), source="GP"), "cable"
        )
    present = now.present(40.0)
    assert present.time == START - 3600 + 39
    assert present.ground_speed == pytest.approx(0.9, abs=0.02)


def test_both_clocks_are_kept_and_spoken_of() -> None:
    """A receiver from before its week number rolled over is 1,024 weeks behind (IS-GPS-200)."""
    now = Now()
    behind = 1024 * 7 * 86_400.0
    begun = time.monotonic()
    for s in range(10):
        lat, lon = place(0.0, 0.9 * s)
        moment = time.time() - behind - 10 + s
        now.take(FeedReading(moment, lat=lat, lon=lon, heard=begun - 10 + s, source="GP"), "cable")
    present = now.present()
    assert present.clock == pytest.approx(-behind, abs=1.0)
    assert present.at - (present.time or 0.0) == pytest.approx(behind, abs=3.0)
    assert present.notes == ("the feed's clock is 19.6 years behind this machine's",)


# -- speed ---------------------------------------------------------------------------------------


def test_speed_through_water_where_it_is_fresh_else_over_ground() -> None:
    now = Now()
    for s in range(20):
        north(now, range(s, s + 1))
        now.take(FeedReading(START + s, water_speed=1.05, heard=float(s), source="VW"), "cable")
    present = now.present(20.0)
    assert (present.speed, present.speed_is) == (pytest.approx(1.05), "through water")
    assert present.water_feed == "cable"
    north(now, range(20, 30))
    present = now.present(20.0 + FRESH)
    assert (present.speed, present.speed_is) == (pytest.approx(0.9, abs=0.01), "over ground")
    assert present.water_speed == pytest.approx(1.05)  # still told, with its age
    now.current = (0.3, 0.0)  # the water runs east
    present = now.present(30.0)
    assert present.speed == pytest.approx(math.hypot(0.9, 0.3), abs=0.01)
    assert present.speed_is == "over ground, current taken off"


def test_a_sensor_says_how_the_water_goes() -> None:
    water = WaterMotion()
    assert water.towed(1.0, 0.0, 0.0).said == "over ground"
    water.current = (0.0, -0.2)
    against = water.towed(1.0, 0.0, 0.0)
    assert against.speed == pytest.approx(1.2)
    assert (against.said, against.flow) == ("over ground, current taken off", (0.0, -0.2))
    water.hear(0.8, 1.0, 1.0)
    towed = water.towed(1.0, 0.0, 2.0)
    assert towed.said == "through water"
    assert towed.speed == pytest.approx(0.8)
    assert towed.flow == (pytest.approx(0.0), pytest.approx(0.2))
    assert water.towed(1.0, 0.0, 20.0).said == "over ground, current taken off"


def test_a_fouled_sensor_is_not_believed() -> None:
    now = Now()
    used = []
    for s in range(40):
        north(now, range(s, s + 1))
        got = now.take(
            FeedReading(START + s, water_speed=0.0, heard=float(s), source="VW"), "cable"
        )
        used.append(got is not None)
    present = now.present(40.0)
    assert present.speed_is == "over ground"
    assert "weed" in present.notes[0]
    assert used[-1] is False
    for s in range(40, 60):
        north(now, range(s, s + 1))
        now.take(FeedReading(START + s, water_speed=0.9, heard=float(s), source="VW"), "cable")
    assert now.present(60.0).speed_is == "through water"
    assert not any("weed" in note for note in now.present(60.0).notes)


def test_course_is_held_where_the_boat_lies_still() -> None:
    rng = np.random.default_rng(1)
    now = Now()
    north(now, range(30), course=0.0, ground_speed=0.9)
    for s in range(30, 90):
        x, y = rng.normal(0, 0.1, 2)
        course = float(rng.uniform(0, 6.28))
        now.take(fix(float(s), x, 27.0 + y, course=course, ground_speed=0.02), "cable")
    present = now.present(90.0)
    off = (present.course or 0.0) % (2 * math.pi)
    assert min(off, 2 * math.pi - off) < 0.2
    assert present.ground_speed is not None
    assert present.ground_speed < 0.1


def test_course_comes_from_places_where_the_feed_gives_none() -> None:
    now = Now()
    for s in range(40):
        now.take(fix(float(s), 0.6 * s, 0.6 * s), "cable")
    present = now.present(40.0)
    assert math.degrees(present.course or 0.0) == pytest.approx(45.0, abs=1.0)
    assert present.ground_speed == pytest.approx(0.6 * math.sqrt(2), abs=0.01)


def test_course_and_speed_said_apart_from_the_place_are_joined() -> None:
    """GGA gives the place, VTG the motion; Signal K gives all three apart."""
    rng = np.random.default_rng(2)
    now = Now()
    for s in range(60):
        x, y = rng.normal(0, 1.5, 2)
        now.take(fix(float(s), x, 0.9 * s + y), "cable")
        now.take(FeedReading(START + s, course=0.0, heard=s + 0.1, source="GP"), "cable")
        now.take(FeedReading(START + s, ground_speed=0.9, heard=s + 0.1, source="GP"), "cable")
    assert now.present(60.0).ground_speed == pytest.approx(0.9, abs=0.06)
    other = FeedReading(START + 60, course=3.0, ground_speed=9.0, heard=60.0, source="x")
    assert now.take(other, "another feed") is None  # not the one that says the place
    assert now.present(60.0).ground_speed == pytest.approx(0.9, abs=0.06)


def test_one_spike_of_the_sounder_is_none() -> None:
    now = Now()
    seen = []
    for s, depth in enumerate([9.0, 9.1, 18.7, 9.0, 9.1, 3.0, 3.1, 3.0]):
        got = now.take(FeedReading(START + s, depth=depth, heard=float(s), source="SD"), "cable")
        seen.append(got.depth if got else None)
    assert seen == [9.0, 9.1, 9.1, 9.1, 9.1, 9.0, 3.1, 3.0]


# -- smoothness ----------------------------------------------------------------------------------


@pytest.mark.parametrize("noise", [0.1, 0.3, 1.0])
@pytest.mark.parametrize("rate", [1, 5])
@pytest.mark.parametrize("doppler", [False, True])
def test_course_and_speed_lag_less_than_two_seconds(noise: float, rate: int, doppler: bool) -> None:
    """A turn with 20 m radius at 0.9 m/s; the truth is the arithmetic of the circle."""
    lags, spreads = zip(*(_lag(noise, rate, doppler, seed) for seed in range(5)), strict=True)
    assert -0.5 < float(np.mean(lags)) < 2.0
    assert float(np.mean(spreads)) < (0.05 if doppler else 0.05 + 0.2 * noise)


def _lag(noise: float, rate: int, doppler: bool, seed: int) -> tuple[float, float]:
    rng = np.random.default_rng(seed)
    n = 200 * rate
    t = np.arange(n) / rate
    turning = (t > 100.0) & (t < 100.0 + math.pi * 20.0 / 0.9)
    course = np.cumsum(np.where(turning, 0.9 / 20.0, 0.0)) / rate
    x, y = np.cumsum(0.9 * np.sin(course)) / rate, np.cumsum(0.9 * np.cos(course)) / rate
    lat, lon = LAKE.to_globe(x + rng.normal(0, noise, n), y + rng.normal(0, noise, n))
    steady, said, speed = Steady(), np.empty(n), np.empty(n)
    for i in range(n):
        steady.fix(float(t[i]), float(lat[i]), float(lon[i]))
        if doppler:
            told = max(0.9 + rng.normal(0, 0.05), 0.0)
            steady.doppler(float(t[i]), told, float(course[i] + rng.normal(0, 0.05)))
        said[i], speed[i] = steady.course, steady.speed
    off = (said - course + math.pi) % (2 * math.pi) - math.pi
    during = (t > 115.0) & (t < 160.0)
    straight = (t > 30.0) & (t < 95.0)
    return -float(off[during].mean()) / (0.9 / 20.0), float(speed[straight].std())


def test_a_boat_that_runs_off_and_far_is_kept_up_with() -> None:
    """From trolling to 9 m/s in 12 s and away for 30 km: no fix is refused."""
    steady, x, v = Steady(), 0.0, 0.9
    ways = []
    for s in range(3600):
        v = min(v + 0.7, 9.0) if s > 60 else v
        x += v
        ways.append(x)
    lats, lons = LAKE.to_globe(np.array(ways), np.zeros(len(ways)))
    for s, (lat, lon) in enumerate(zip(lats, lons, strict=True)):
        assert steady.fix(float(s), float(lat), float(lon))
    there = steady.place()
    assert there is not None
    assert LAKE.to_metres([there[0]], [there[1]])[0][0] == pytest.approx(x, abs=0.1)
    assert steady.speed == pytest.approx(9.0, abs=0.05)
    assert math.degrees(steady.course) == pytest.approx(90.0, abs=0.5)
    assert steady.refused == 0


def test_the_trail_is_what_came_after() -> None:
    now = Now()
    north(now, range(50))
    assert [p.time for p in now.trail(46.0)] == [START + 47, START + 48, START + 49]
    assert len(now.trail()) >= 48
    assert isinstance(now.trail()[0], Point)


FIGURE = st.one_of(st.none(), st.floats(0.0, 6.28))


@given(
    st.lists(
        st.tuples(
            st.floats(-1e9, 4e9),
            st.one_of(st.none(), st.tuples(st.floats(-90, 90), st.floats(-180, 180))),
            FIGURE,
            FIGURE,
            FIGURE,
            FIGURE,
            st.sampled_from(["", "GP", "GN"]),
            st.sampled_from(["a", "b"]),
        ),
        max_size=30,
    )
)
def test_whatever_comes_the_present_holds_numbers(rows: list[tuple[object, ...]]) -> None:
    now = Now(["a", "b"])
    for heard, row in enumerate(rows):
        at, spot, course, speed, water, depth, source, feed = row
        lat, lon = spot if isinstance(spot, tuple) else (None, None)
        now.take(
            FeedReading(at, lat, lon, course, speed, water, depth, None, float(heard), source),  # type: ignore[arg-type]
            str(feed),
        )
        present = now.present(float(heard))
        for value in (present.lat, present.lon, present.course, present.speed, present.depth):
            assert value is None or math.isfinite(value)
        assert present.lat is None or (abs(present.lat) <= 90.0)
