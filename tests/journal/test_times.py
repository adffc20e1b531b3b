from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from towscope.errors import InputError
from towscope.journal.times import begin_of, day_at, parse_day, parse_time

ZONE = ZoneInfo("America/Chicago")
NOW = datetime(2026, 8, 14, 15, 0, tzinfo=ZONE)


@pytest.mark.parametrize(
    ("text", "at"),
    [
        ("now", "2026-08-14T15:00:00-05:00"),
        ("", "2026-08-14T15:00:00-05:00"),
        ("10 min ago", "2026-08-14T14:50:00-05:00"),
        ("an hour ago", "2026-08-14T14:00:00-05:00"),
        ("half an hour ago", "2026-08-14T14:30:00-05:00"),
        ("1 h 20 min ago", "2026-08-14T13:40:00-05:00"),
        ("1.5 hours ago", "2026-08-14T13:30:00-05:00"),
        ("at 7:40am", "2026-08-14T07:40:00-05:00"),
        ("07:40", "2026-08-14T07:40:00-05:00"),
        ("12:05 am", "2026-08-14T00:05:00-05:00"),
        ("12:05pm", "2026-08-14T12:05:00-05:00"),
        ("14:59:30", "2026-08-14T14:59:30-05:00"),
        ("9:30", "2026-08-14T09:30:00-05:00"),  # 21:30 is still to come, so it can only be this
        ("yesterday 18:30", "2026-08-13T18:30:00-05:00"),
        ("2026-08-13 07:40", "2026-08-13T07:40:00-05:00"),
        ("2026-08-13T12:40Z", "2026-08-13T12:40:00+00:00"),
    ],
)
def test_times_as_people_say_them(text: str, at: str) -> None:
    assert parse_time(text, NOW) == datetime.fromisoformat(at)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("16:00", "ahead of now"),
        ("2027-01-01 08:00", "ahead of now"),
        ("2:40", "morning or evening"),
        ("yesterday 6:30", "morning or evening"),
        ("25:00", "no time of day"),
        ("13pm", "no hour 13"),
        ("soon", "cannot read the time"),
        ("2026-08-13", "date without a time"),
        ("2026-02-30 07:00", "cannot read"),
        ("999999999 days ago", "out of all reason"),
        ("x" * 500, "far too long"),
        ("\x00", "cannot read"),
    ],
)
def test_what_cannot_be_meant_one_way_is_refused(text: str, words: str) -> None:
    with pytest.raises(InputError, match=words) as caught:
        parse_time(text, NOW)
    assert "\n" not in str(caught.value)


def test_the_hour_that_happens_twice_and_the_one_that_never_does() -> None:
    # US rules: clocks go back on the first Sunday of November, forward on the second of March
    # (Energy Policy Act of 2005, section 110; time zone database, America/Chicago)
    after_back = datetime(2026, 11, 1, 12, 0, tzinfo=ZONE)
    with pytest.raises(InputError, match=r"happened twice.*-0500 or .*-0600"):
        parse_time("01:30", after_back)
    after_forward = datetime(2026, 3, 8, 12, 0, tzinfo=ZONE)
    with pytest.raises(InputError, match="never happened"):
        parse_time("02:30", after_forward)
    assert parse_time("2026-11-01T01:30-06:00", after_back).timestamp() == 1793518200


@pytest.mark.parametrize(
    ("text", "at"),
    [
        ("23:40", "2026-08-13T23:40:00-05:00"),
        ("today 23:40", "2026-08-13T23:40:00-05:00"),
        ("00:10", "2026-08-14T00:10:00-05:00"),
        ("12:10am", "2026-08-14T00:10:00-05:00"),
        ("14:10", "2026-08-13T14:10:00-05:00"),
    ],
)
def test_past_midnight_the_evening_is_still_the_same_day(text: str, at: str) -> None:
    night = datetime(2026, 8, 14, 0, 30, tzinfo=ZONE)
    assert parse_time(text, night) == datetime.fromisoformat(at)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("9:40", "expected 9:40am, 9:40pm"),
        ("02:10", "ahead of now"),  # by the clock it is still to come, and no day begins at two
        ("yesterday 18:30", "expected 2026-08-13 18:30 or 2026-08-12 18:30"),
    ],
)
def test_past_midnight_nothing_is_guessed_either(text: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        parse_time(text, datetime(2026, 8, 14, 0, 30, tzinfo=ZONE))


def test_a_day_on_the_water_runs_from_three_to_three() -> None:
    for text, day in (("13 23:59", 13), ("14 02:59", 13), ("14 03:00", 14), ("14 12:00", 14)):
        moment = datetime.fromisoformat(f"2026-08-{text}").replace(tzinfo=ZONE)
        assert day_at(moment).day == day
    # on the nights when the clocks change it is three by the clock all the same
    for when in (datetime(2026, 3, 8, 3, tzinfo=ZONE), datetime(2026, 11, 1, 3, tzinfo=ZONE)):
        assert begin_of(when.date(), ZONE) == when
        before = (when.astimezone(UTC) - timedelta(seconds=1)).astimezone(ZONE)
        assert (day_at(before), day_at(when)) == (when.date() - timedelta(days=1), when.date())


def test_ago_counts_real_time_across_the_change() -> None:
    now = datetime(2026, 11, 1, 3, 0, tzinfo=ZONE)  # 09:00 UTC
    assert (now.timestamp() - parse_time("3 h ago", now).timestamp()) == 3 * 3600


def test_days() -> None:
    assert parse_day("today", NOW.date()) == NOW.date()
    with pytest.raises(InputError, match="cannot read the day"):
        parse_day("13.8.", NOW.date())
