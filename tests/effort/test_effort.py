"""Rod-hours: against days whose answer follows from how they were made."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.journal.conftest import START, entry

from towscope.demo.day import DEVICE, demo_day
from towscope.demo.day import ZONE as DEMO_ZONE
from towscope.effort.effort import (
    catch_depths,
    lag_s,
    pack,
    season,
    stints,
    total,
    unpack,
    unplaced,
    way_of,
)
from towscope.journal.opening import open_store
from towscope.journal.replay import settle
from towscope.journal.store import Store
from towscope.journal.track import LoggedTrack, make_track


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_store(tmp_path / "journal.sqlite") as opened:
        yield opened


T0 = START.timestamp()


def straight(speeds_by_minute: list[tuple[float, float]], hz: float = 1.0) -> LoggedTrack:
    """Run due north: (until minute, speed [m/s]) one after the other."""
    t, v = [], []
    now = 0.0
    for until, speed in speeds_by_minute:
        while now < until * 60:
            t.append(T0 + now)
            v.append(speed)
            now += 1 / hz
    way = np.cumsum(v) / hz
    return make_track(t, 45 + way / 111_195, np.full(len(t), -93.0), v)


def test_running_between_spots_is_not_fishing() -> None:
    """Two rods out for three hours, 20 min of them at 9 m/s: 2 x (3 - 1/3) rod-hours."""
    track = straight([(60, 0.9), (80, 9.0), (180, 0.9)])
    events = [entry("line_out", 0, rod=r, let_out_m=50.0) for r in ("port", "starboard")]
    events += [entry("line_in", 180, rod=r) for r in ("port", "starboard")]
    found = stints(settle(events), track)
    assert sum(s.hours for s in found) == pytest.approx(2 * (3 - 1 / 3), abs=0.01)
    assert all(not (s.start_s < T0 + 4700 < s.end_s) for s in found)


def test_a_burst_or_a_jump_of_the_receiver_is_not_running() -> None:
    track = straight([(10, 0.9), (10.1, 6.0), (20, 0.9)])
    assert way_of(track).running == ()


def test_a_stop_on_the_way_does_not_part_one_run_into_two() -> None:
    track = straight([(5, 0.9), (10, 8.0), (10.2, 1.0), (15, 8.0), (20, 0.9)])
    runs = way_of(track).running
    assert len(runs) == 1
    assert runs[0][1] - runs[0][0] == pytest.approx(600, abs=3)


def test_without_a_track_every_hour_with_a_line_out_counts() -> None:
    events = [entry("line_out", 0, rod="port"), entry("line_in", 90, rod="port")]
    found = stints(settle(events))
    assert sum(s.hours for s in found) == pytest.approx(1.5)
    assert len(found) == 3
    assert found[0].speed_m_s is None
    assert found[0].depth_m is None


def test_a_change_of_lure_sky_or_line_begins_a_new_stint() -> None:
    events = [
        entry("conditions", -5, sky="sunny", surface_temp_c=22.0),
        entry("line_out", 0, rod="port", lure="a", colour="perch", let_out_m=50.0),
        entry("line_change", 10, rod="port", let_out_m=60.0),
        entry("conditions", 15, sky="cloudy"),
        entry("line_change", 20, rod="port", lure="b"),
        entry("line_in", 25, rod="port"),
    ]
    found = stints(settle(events))
    assert [(s.lure, s.colour, s.let_out_m, s.light, round(s.hours * 60)) for s in found] == [
        ("a", "perch", 50.0, "sunny", 10),
        ("a", "perch", 60.0, "sunny", 5),
        ("a", "perch", 60.0, "cloudy", 5),
        ("b", "", 60.0, "cloudy", 5),
    ]
    assert {s.surface_temp_c for s in found} == {22.0}


def test_fish_and_misses_go_to_the_stint_they_came_from() -> None:
    events = [
        entry("line_out", 0, rod="port", lure="a"),
        entry("catch", 10, rod="port", species="walleye"),
        entry("line_change", 10, rod="port", lure="b"),
        entry("strike_missed", 15, rod="port"),
        entry("catch", 20, rod="port"),
        entry("line_in", 20, rod="port"),
        entry("catch", 30, rod="port"),  # after the line came in: in no rate
        entry("catch", 5),  # no rod said
    ]
    journal = settle(events)
    found = stints(journal)
    told = {s.lure: (s.catches, s.strikes_missed, s.species) for s in found}
    assert told == {"a": (1, 0, ("walleye",)), "b": (1, 1, ("",))}
    assert unplaced(journal, found) == 2


def test_a_fish_entered_while_the_boat_already_ran_counts_for_what_it_bit() -> None:
    track = straight([(30, 0.9), (50, 9.0), (80, 0.9)])
    events = [
        entry("line_out", 0, rod="port", lure="a"),
        entry("catch", 33, rod="port"),
        entry("line_in", 80, rod="port"),
    ]
    found = stints(settle(events), track)
    assert [s.catches for s in found] == [1, 0]


def test_a_line_never_brought_in_ends_with_the_track() -> None:
    track = straight([(60, 0.9)])
    found = stints(settle([entry("line_out", 0, rod="port")]), track)
    assert sum(s.hours for s in found) == pytest.approx(1.0, abs=0.001)
    later = stints(settle([entry("line_out", 0, rod="port")]), None, until_s=T0 + 7200)
    assert sum(s.hours for s in later) == pytest.approx(2.0)


def test_the_lure_feels_the_boat_after_the_line_between_them() -> None:
    """Speed doubles at 30 min; with 54 m out at 0.9 m/s the lure is a minute behind."""
    assert lag_s(54.0, 0.9) == pytest.approx(60.0)
    asked: list[float] = []

    def depth_at(rig: str, lure: str, out: float, speed: float) -> float:
        asked.append(speed)
        return 10.0 / speed

    track = straight([(30, 0.9), (60, 1.8)])
    events = [
        entry("line_out", 0, rod="port", rig="r", let_out_m=54.0),
        *(entry("catch", minute, rod="port") for minute in (29.9, 30.5, 33)),
        entry("line_in", 60, rod="port"),
    ]
    journal = settle(events)
    deep = catch_depths(journal, track, depth_at)
    before, between, after = (deep[event.id] for event in journal.events[1:4])
    assert before == pytest.approx(10 / 0.9, rel=0.02)
    assert 10 / 1.8 * 1.1 < between < 10 / 0.9 * 0.9  # on its way, not there yet
    assert after == pytest.approx(10 / 1.8, rel=0.02)
    found = stints(journal, track, depth_at=depth_at, longest_s=1e9)
    exact = np.mean([10 / 0.9] * 30 + [10 / 1.8] * 30)
    assert found[0].depth_m == pytest.approx(exact, rel=0.02)
    assert min(asked) >= 0.85


def test_the_place_is_where_the_boat_was_a_lag_ago() -> None:
    track = straight([(60, 0.9)])
    events = [entry("line_out", 0, rod="port", let_out_m=54.0), entry("line_in", 60, rod="port")]
    found = stints(settle(events), track, longest_s=1e9)
    assert found[0].lat == pytest.approx(45 + (1800 - 60 + 1) * 0.9 / 111_195, abs=1e-6)


def test_local_hour_and_day() -> None:
    found = stints(settle([entry("line_out", 0, rod="port"), entry("line_in", 30, rod="port")]))
    assert (found[0].day, found[0].hour) == ("2026-08-14", pytest.approx(7.25))


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(st.sampled_from("sciCx"), st.integers(0, 240)), max_size=30))
def test_rod_hours_never_exceed_the_time_a_line_was_out(moves: list[tuple[str, int]]) -> None:
    kinds = {"s": "line_out", "c": "line_change", "i": "line_in", "C": "catch", "x": "conditions"}
    events = []
    for move, minute in moves:
        told: dict[str, Any] = {"sky": "sunny"} if move == "x" else {"rod": "port"}
        events.append(entry(kinds[move], minute, **told))
    journal = settle(events)
    found = stints(journal)
    # the reference walks the minutes one by one, knowing nothing of spans
    out, last, sum_min = False, 0.0, 0.0
    for event in journal.events:
        if out:
            sum_min += (event.at_s - last) / 60
        last = event.at_s
        if event.kind == "line_out":
            out = True
        elif event.kind == "line_in":
            out = False
    assert sum(s.hours for s in found) * 60 == pytest.approx(sum_min, abs=1e-6)
    caught = sum(e.kind == "catch" for e in journal.events)
    assert sum(s.catches for s in found) + unplaced(journal, found) == caught
    assert all(s.hours > 0 for s in found)


# -- a season ------------------------------------------------------------------------------------


def test_a_season_is_kept_and_computed_anew_only_where_something_changed(store: Store) -> None:
    from datetime import timedelta
    from zoneinfo import ZoneInfo

    days = [demo_day(demo_day().day - timedelta(days=n)) for n in range(3)]
    for made in days:
        store.append(made.events)
        store.add_track(made.track, DEVICE, ZoneInfo(DEMO_ZONE))
    calls: list[str] = []

    def depth_at(rig: str, lure: str, out: float, speed: float) -> float:
        calls.append(rig)
        return 9.0

    first = season(store, depth_at=depth_at, tackle="t")
    assert calls
    calls.clear()
    assert season(store, depth_at=depth_at, tackle="t") == first
    assert not calls
    assert season(store, depth_at=depth_at, tackle="other") == first
    assert calls
    victim = next(e for e in days[1].events if e.kind == "catch")
    season(store, depth_at=depth_at, tackle="t")
    store.append([entry("undo", 600, target=victim.id)])
    calls.clear()
    after = season(store, depth_at=depth_at, tackle="t")
    assert sum(s.catches for s in after) == sum(s.catches for s in first) - 1
    one_day = [s for s in season(store, first=days[1].day, last=days[1].day) if s.hours]
    assert {s.day for s in one_day} == {days[1].day.isoformat()}


def test_stints_pack_without_loss() -> None:
    made = demo_day()
    found = stints(settle(made.events), made.track)
    assert unpack(pack(found)) == found


def test_totals_add_up() -> None:
    made = demo_day()
    found = stints(settle(made.events), made.track)
    for by in (["lure"], ["colour", "light"], ["rod"]):
        rows = total(found, by)
        assert sum(r["hours"] for r in rows) == pytest.approx(sum(s.hours for s in found))
        assert sum(r["catches"] for r in rows) == sum(s.catches for s in found)


def test_bands_hold_what_falls_in_them() -> None:
    made = demo_day()
    found = stints(settle(made.events), made.track)
    rows = total(found, ["speed_m_s", "hour"], {"speed_m_s": 0.1, "hour": 1.0})
    assert sum(r["hours"] for r in rows) == pytest.approx(sum(s.hours for s in found))
    for row in rows:
        low = row["speed_m_s"]
        inside = [
            s.hours
            for s in found
            if low <= (s.speed_m_s or 0) < low + 0.1 and int(s.hour) == row["hour"]
        ]
        assert sum(inside) == pytest.approx(row["hours"])


def test_the_engine_says_how_deep_the_demo_ran() -> None:
    """The engine's own answer at the stint's mean speed lies near the stint's mean depth."""
    pytest.importorskip("towscope.towing.questions")
    from towscope.effort.depths import Depths
    from towscope.tackle.shelf import stock

    depths = Depths(stock())
    made = demo_day()
    found = [s for s in stints(settle(made.events), made.track, depth_at=depths) if s.depth_m]
    assert len(found) > 15
    for stint in found:
        assert stint.let_out_m is not None
        assert stint.speed_m_s is not None
        plain = depths(stint.rig, stint.lure, stint.let_out_m, stint.speed_m_s)
        assert plain is not None
        assert stint.depth_m == pytest.approx(plain, rel=0.06)
    assert depths("no such rig", "", 50.0, 0.9) is None
    assert depths("demo", "no such lure", 50.0, 0.9) is None
    assert depths("demo", "", 5000.0, 0.9) is None
    assert math.isfinite(depths("demo", "", 50.0, 0.0) or math.nan)
