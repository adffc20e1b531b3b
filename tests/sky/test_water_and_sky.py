"""The thermocline by its published method, sun and moon against published figures."""

from __future__ import annotations

import itertools
import time
from datetime import UTC, date, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from towscope.errors import InputError
from towscope.journal.times import zone
from towscope.sky import sun, thermocline


def logistic(at: float, sharp: float, step: float = 1.0) -> thermocline.Column:
    d = np.arange(0.0, 20.0, step)
    return thermocline.Column(d, 6.0 + 16.0 / (1.0 + np.exp((d - at) / sharp)))


@pytest.mark.parametrize("at", [5.0, 6.3, 8.5, 11.2])
def test_the_thermocline_is_where_density_grows_fastest(at):
    # the logistic's steepest fall of temperature lies at `at`; density is not linear in
    # temperature, so its own lies a little higher, where the water is warmer: found on a fine grid
    fine = np.arange(0.0, 20.0, 0.001)
    from towscope.water import density

    rho = np.array([density(v) for v in 6.0 + 16.0 / (1.0 + np.exp((fine - at) / 1.5))])
    exact = fine[np.argmax(np.gradient(rho, fine))]
    found = thermocline.layers(logistic(at, 1.5))
    assert found.thermocline_m == pytest.approx(exact, abs=0.35)
    assert found.metalimnion_m[0] < found.thermocline_m < found.metalimnion_m[1]


def test_the_weighing_is_the_papers():
    # Read et al. (2011), Environ. Model. Softw. 26:1325-1336, by hand for three unequal gradients
    from towscope.water import density

    d = np.array([0.0, 2.0, 4.0, 6.0, 8.0])
    t = np.array([20.0, 19.0, 14.0, 11.0, 10.8])
    g = np.diff([density(v) for v in t]) / 2.0
    down, up = 2.0 / (g[1] - g[2]), 2.0 / (g[1] - g[0])
    exact = 4.0 * down / (down + up) + 2.0 * up / (down + up)
    assert thermocline.layers(thermocline.Column(d, t)).thermocline_m == pytest.approx(
        exact, abs=1e-9
    )


def test_mixed_water_has_none_and_deep_lures_are_warned_of():
    mixed = thermocline.Column(np.arange(5.0), np.array([12.0, 11.9, 11.9, 11.8, 11.7]))
    found = thermocline.layers(mixed)
    assert found.thermocline_m is None
    assert thermocline.warning(found, 30.0) is None
    layered = thermocline.layers(logistic(7.0, 1.0))
    assert thermocline.warning(layered, 5.0) is None
    assert "below the thermocline" in thermocline.warning(layered, 9.5)


def test_profiles_typed_in_and_read(tmp_path):
    typed = thermocline.parse("0 ft 72 degF, 10 72, 20 68, 30 55, 40 50")
    path = tmp_path / "profile.csv"
    path.write_text("Depth (ft),Temperature (F)\n30,55\n0,72\n10,72\n20,68\n40,50\n")
    read = thermocline.read(path)
    assert read.depth == pytest.approx(typed.depth)
    assert read.temperature == pytest.approx(typed.temperature)
    assert typed.depth[1] == pytest.approx(3.048)
    assert typed.temperature[0] == pytest.approx((72 - 32) * 5 / 9)
    path.write_text("depth_m,temp_c\n0,20\n5,18\n10,8\n")
    assert thermocline.read(path).depth.tolist() == [0.0, 5.0, 10.0]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "at least three"),
        ("0 m 20 degC, 3 m 18 degC", "at least three"),
        ("0 20, 3 18, 5 10", "no units"),
        ("0 m 72 degC, 3 m 70 degC, 5 m 60 degC", "degF"),
        ("0 m 20 degC, 0 m 19 degC, 3 m 10 degC", "one depth"),
        ("-1 m 20 degC, 0 m 19 degC, 3 m 10 degC", "below the surface"),
        ("0 m warm, 3 m cold", "cannot read"),
        ("0 kg 20 degC, 3 18, 4 10", "unit of length"),
    ],
)
def test_profiles_that_are_none(text, said):
    with pytest.raises(InputError, match=said):
        thermocline.parse(text)


@pytest.mark.parametrize(
    "text",
    [
        "depth_m;temp_c\n0;20,5\n1,5;NA\n5;18,0\n10;8,25\n",
        "depth_m\ttemp_c\n0\t20,5\n1,5\t\n5\t18,0\n10\t8,25\n",
        "depth_m,temp_c\n0,20.5\n1.5,n/a\n5,18.0\n10,8.25\n",
        'depth_m,temp_c\n0,"20,5"\n1.5,NaN\n5,"18,0"\n10,"8,25"\n',
    ],
)
def test_profiles_with_decimal_commas_and_missing_figures(tmp_path, text):
    path = tmp_path / "p.csv"
    path.write_text(text)
    found = thermocline.read(path)
    assert found.depth.tolist() == [0.0, 5.0, 10.0]
    assert found.temperature.tolist() == [20.5, 18.0, 8.25]
    assert found.notes == ("left out 1 row without a figure, the first 3",)


def test_a_typed_profile_with_decimal_commas():
    found = thermocline.parse("0 m 20,5 degC; 5 18,0; 10,5 8,25")
    assert found.depth.tolist() == [0.0, 5.0, 10.5]
    assert found.temperature.tolist() == [20.5, 18.0, 8.25]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("depth,temp\n0,20\n", "name no units"),
        ("a,b\n0,20\n", "no depth and temperature columns"),
        ("depth_m,temp_c\n0,20\n3,x\n", "row 3"),
        ("depth_m,temp_c\n0,20\n3,nan\n4,1\n", "left out 1 row without a figure, the first 3"),
        ("", "is empty"),
    ],
)
def test_profile_files_that_are_none(tmp_path, text, said):
    path = tmp_path / "p.csv"
    path.write_text(text)
    with pytest.raises(InputError, match=said):
        thermocline.read(path)


def test_sunrise_and_sunset_against_nrel():
    # Reda & Andreas (2004), Solar Energy 76:577-589, worked example (Golden, Colorado, 17 October
    # 2003), as its authors' own test program prints them: 06:12:43 and 17:20:19, UTC-7. The paper
    # works by the day of universal time, which begins there at 17:00 the evening before: its
    # sunset is that of the 16th.
    where = timezone(timedelta(hours=-7))
    place = 39.742476, -105.1786
    rise = datetime(2003, 10, 17, 6, 12, 43, tzinfo=where)
    fall = datetime(2003, 10, 16, 17, 20, 19, tzinfo=where)
    found = sun.day(*place, date(2003, 10, 17), where)
    before = sun.day(*place, date(2003, 10, 16), where)
    assert abs((found.sunrise - rise).total_seconds()) < 30
    assert abs((before.sunset - fall).total_seconds()) < 30


def test_the_day_is_in_order_and_the_light_is_low_at_its_ends():
    found = sun.day(48.4, -91.9, date(2026, 8, 9), timezone(timedelta(hours=-5)))
    assert found.dawn < found.sunrise < found.noon < found.sunset < found.dusk
    (a, b), (c, d) = found.low_light
    assert a == found.dawn
    assert found.sunrise < b < found.noon < c < found.sunset
    assert d == found.dusk
    for moment in (b, c):
        assert sun_height(48.4, -91.9, moment) == pytest.approx(6.0, abs=0.2)


def sun_height(lat, lon, moment):
    """Height of the sun's middle, by the low-precision formulas of the Astronomical Almanac (page
    C24 of its yearly volumes, from memory): good to 0.02 degrees from 1950 to 2050."""
    n = (moment - datetime(2000, 1, 1, 12, tzinfo=UTC)).total_seconds() / 86400
    g = np.radians(357.528 + 0.9856003 * n)
    ecliptic = np.radians(280.460 + 0.9856474 * n + 1.915 * np.sin(g) + 0.020 * np.sin(2 * g))
    tilt = np.radians(23.439 - 0.0000004 * n)
    ascension = np.arctan2(np.cos(tilt) * np.sin(ecliptic), np.cos(ecliptic))
    declination = np.arcsin(np.sin(tilt) * np.sin(ecliptic))
    hour = np.radians((280.46062 + 360.98564737 * n + lon) % 360) - ascension
    phi = np.radians(lat)
    up = np.sin(phi) * np.sin(declination) + np.cos(phi) * np.cos(declination) * np.cos(hour)
    return np.degrees(np.arcsin(up))


def test_low_light_lasts_through_a_northern_summer_night():
    where = ZoneInfo("America/Edmonton")
    found = sun.day(62.0, -114.4, date(2026, 6, 21), where)
    assert found.dawn is None  # the sun is never 6 degrees down
    (a, b), (c, d) = found.low_light
    assert a < found.sunrise < b < found.noon < c < found.sunset < d
    for moment in (a, b, c, d):
        assert sun_height(62.0, -114.4, moment) == pytest.approx(6.0, abs=0.2)
    assert (a.day, b.day, c.day, d.day) == (20, 21, 21, 22)
    said = sun.words(found)
    assert "(Sat) to" in said[1]
    assert said[2].endswith("(Mon)")


def test_low_light_all_of_a_short_winter_day():
    # at 62 degrees north the December sun never climbs to 6 degrees
    found = sun.day(62.0, -114.4, date(2026, 12, 21), ZoneInfo("America/Edmonton"))
    assert found.low_light == ((found.dawn, found.dusk),)


def test_the_moon_rises_on_every_day_it_does():
    where = ZoneInfo("America/Chicago")
    days = [sun.day(48.4, -91.9, date(2026, 8, 1) + timedelta(k), where) for k in range(31)]
    rises = [m for d in days for m in d.moonrises]
    # a lunar day lasts 24 h 50 min on the average, and 25 to 80 minutes longer than the sun's here
    gaps = [(b - a).total_seconds() / 3600 for a, b in itertools.pairwise(rises)]
    assert all(24.0 < gap < 25.5 for gap in gaps)
    assert len(rises) in (29, 30)
    assert all(m.date().day == k + 1 for k, d in enumerate(days) for m in d.moonrises + d.moonsets)
    missing = next(d for d in days if not d.moonrises)
    assert "no moonrise this day" in sun.words(missing)[-1]


def test_a_sunset_past_midnight_is_that_days():
    found = sun.day(64.8, -147.7, date(2026, 6, 21), ZoneInfo("America/Anchorage"))
    assert found.sunset.date() == date(2026, 6, 22)
    assert "sunset 00:46 (Mon)" in sun.words(found)[0]


def test_a_sun_that_only_touches_the_horizon_is_said():
    where = ZoneInfo("America/Anchorage")
    days = [sun.day(66.5, -145.2, date(2026, 5, 20) + timedelta(k), where) for k in range(60)]
    touching = [d for d in days if d.sun_grazes]
    assert 10 < len(touching) < 60
    assert any("only just touches" in line for line in sun.words(touching[0]))
    assert not sun.day(48.4, -91.9, date(2026, 6, 21), where).sun_grazes


def test_a_clock_that_is_not_the_lakes_is_said():
    here = sun.day(48.4, -91.9, date(2026, 8, 9), ZoneInfo("America/Chicago"))
    assert sun.another_clock(here) is None
    there = sun.day(48.4, -91.9, date(2026, 8, 9), UTC)
    assert "18:13 by this clock" in sun.another_clock(there)


@pytest.mark.parametrize("name", ["CST6CDT,M3.2.0,M11.1.0", ""])
def test_each_date_has_its_own_offset_where_the_zone_has_no_name(name, monkeypatch):
    # the machine's clock, told by a rule or by the system alone (as under Windows)
    from towscope.journal import times

    monkeypatch.delenv("TOWSCOPE_ZONE", raising=False)
    monkeypatch.setenv("TZ", "CST6CDT,M3.2.0,M11.1.0")
    time.tzset()
    try:
        if not name:
            monkeypatch.setattr(times.os, "environ", {})
            monkeypatch.setattr(times.Path, "resolve", lambda self: "C:/nowhere")
        where, named = times.local_zone()
        assert named is None
        chicago = ZoneInfo("America/Chicago")
        for month in (1, 7):
            mine = sun.day(48.4, -91.9, date(2026, month, 9), where).sunrise
            theirs = sun.day(48.4, -91.9, date(2026, month, 9), chicago).sunrise
            assert mine.isoformat() == theirs.isoformat()
        twice = datetime(2026, 11, 1, 7, 30, tzinfo=UTC).astimezone(where)
        assert twice.isoformat() == "2026-11-01T01:30:00-06:00"
        assert twice.astimezone(UTC).hour == 7
    finally:
        monkeypatch.undo()
        time.tzset()


def test_the_moon():
    # full moon 19 August 2024, 18:26 UT; new moon 8 April 2024 (total solar eclipse): published
    # almanac dates, from memory
    assert sun.day(48.4, -91.9, date(2024, 8, 19), UTC).moon_phase == "full moon"
    assert sun.day(48.4, -91.9, date(2024, 4, 8), UTC).moon_phase == "new moon"


def test_where_the_sun_does_not_set():
    assert sun.day(75.0, 20.0, date(2026, 6, 21), UTC).sun_always == "up"
    assert sun.day(75.0, 20.0, date(2026, 12, 21), UTC).sun_always == "down"
    assert sun.day(75.0, 20.0, date(2026, 12, 21), UTC).sunrise is None


def test_bad_places_and_zones():
    with pytest.raises(InputError, match="no place"):
        sun.day(91.0, 0.0, date(2026, 8, 9), UTC)
    with pytest.raises(InputError, match="unknown time zone"):
        zone("Nowhere/Land")
    with pytest.raises(InputError, match="unknown time zone"):
        zone("../../etc/passwd")
