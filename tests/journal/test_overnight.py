"""A trip that passes three in the morning goes on in the next day; one that ended does not."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from towscope.effort.effort import season, stints
from towscope.journal.store import Store
from towscope.journal.times import begin_of
from towscope.journal.track import make_track

from .conftest import START, ZONE, entry

DAY, NEXT = "2026-08-14", "2026-08-15"
BORDER = begin_of(date(2026, 8, 15), ZONE)
MIDNIGHT = 17 * 60  # minutes after seven


def at(hour: int, minute: int = 0) -> float:
    """Give minutes after seven for a clock time of the night."""
    return (24 + hour - 7) * 60 + minute


def lay(store: Store, *after: tuple[str, float, dict[str, object]]) -> None:
    store.append(
        [
            entry("line_out", MIDNIGHT, rod="port", lure="minnow", let_out_m=40.0),
            entry("line_out", MIDNIGHT + 30, rod="starboard", lure="spoon", let_out_m=45.0),
            entry("catch", at(2), rod="port"),
            *(entry(kind, minute, **told) for kind, minute, told in after),
        ]
    )


def test_lines_out_at_three_are_out_on_the_new_day(store: Store) -> None:
    lay(
        store,
        ("catch", at(3, 20), {"rod": "starboard"}),
        ("line_change", at(3, 40), {"rod": "port", "lure": "shad"}),
        ("line_in", at(4), {"rod": "port"}),
        ("line_in", at(4), {"rod": "starboard"}),
    )
    before, after = store.day(DAY), store.day(NEXT)
    assert not before.checks and not after.checks
    assert [(s.rod, s.end_s, s.open) for s in before.spans()] == [
        ("port", BORDER.timestamp(), False),
        ("starboard", BORDER.timestamp(), False),
    ]
    assert after.rods() == ["port", "starboard"]
    assert [(s.rod, s.lure, s.start_s) for s in after.spans()][:2] == [
        ("port", "minnow", BORDER.timestamp()),
        ("starboard", "spoon", BORDER.timestamp()),
    ]
    assert not before.out() and not after.out()
    # rod-hours by hand: port 0:00 to 4:00, starboard 0:30 to 4:00; each fish to its line and day
    rows = [*stints(before), *stints(after)]
    assert sum(s.hours for s in rows) == pytest.approx(7.5)
    assert {(s.day, s.lure) for s in rows if s.catches} == {(DAY, "minnow"), (NEXT, "spoon")}
    assert season(store, depth_at=None) == rows


def test_a_line_left_out_in_the_evening_does_not_fish_through_the_night(store: Store) -> None:
    store.append(
        [
            entry("line_out", 600.0, rod="port"),  # 17:00
            entry("catch", 720.0, rod="port"),  # 19:00, and home without a word
            entry("line_out", 24 * 60.0, rod="port"),  # seven the next morning
        ]
    )
    before, after = store.day(DAY), store.day(NEXT)
    assert "left-out" in {m.code for m in before.checks}
    assert not after.came
    noon = (START + timedelta(hours=29)).timestamp()
    hours = {s.day: s.hours for s in season(store, now_s=noon) if s.day == DAY}
    assert sum(hours.values()) <= 2.0


def test_a_silent_hour_over_the_border_is_known_by_the_present_or_the_track(store: Store) -> None:
    lay(store)
    soon = BORDER.timestamp() + 300.0
    assert set(store.day(NEXT, now_s=soon).out()) == {"port", "starboard"}
    assert not store.day(NEXT, now_s=soon + 10 * 3600.0).out()
    assert not store.day(NEXT).out()
    assert "left-out" in {m.code for m in store.day(DAY).checks}
    t = BORDER.timestamp() + np.arange(-1800.0, 1800.0, 5.0)
    track = make_track(t, np.full(t.size, 45.0) + 1e-6 * np.arange(t.size), np.full(t.size, -93.0))
    marks = store.fingerprints()
    store.add_track(track, "phone", ZONE)
    assert set(store.day(NEXT).out()) == {"port", "starboard"}
    assert not store.day(DAY).checks
    assert store.fingerprints()[DAY] != marks[DAY]


def test_the_first_entry_after_a_long_silence_tells_that_the_trip_went_on(store: Store) -> None:
    lay(store, ("line_in", at(9), {"rod": "port"}))  # seven hours after the last: on that rod
    assert set(store.day(NEXT).out()) == {"starboard"}
    assert not store.day("2026-08-16").came


def test_the_first_day_of_the_calendar_has_none_before_it(store: Store) -> None:
    assert store.came("0001-01-01") == ()
