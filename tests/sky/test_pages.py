"""The app's own sun, moon and winds against the library's, held to an almanac beside this."""

from __future__ import annotations

import json
import random
from datetime import date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from bench.sky import PLACES
from tests.in_node import ROOT, asked

from towscope.sky.beaufort import SCALE, force
from towscope.sky.sun import day

ASK = Path(__file__).with_name("ask.mjs")
CLOSE_S = 20.0
# What rises or sets within ten minutes of midnight may be told for either day.
NEAR_MIDNIGHT_S = 600.0


def apart(there: str | None, here: str | None) -> float:
    """Give the seconds between two times; none where neither is."""
    if there is None or here is None:
        return 0.0 if there == here else float("inf")
    return abs((datetime.fromisoformat(there) - datetime.fromisoformat(here)).total_seconds())


@pytest.mark.parametrize("name", PLACES)
def test_sun_and_moon(name: str, tmp_path: Path) -> None:
    lat, lon, zone = PLACES[name]
    chance = random.Random(name)
    days = [date(2026, 1, 1) + timedelta(chance.randrange(3650)) for _ in range(12)]
    questions = [{"lat": lat, "lon": lon, "on": on.isoformat()} for on in days]
    told = asked(ASK, questions, tmp_path, zone)
    for on, there in zip(days, told, strict=True):
        found = day(lat, lon, on, ZoneInfo(zone))
        here = found.to_dict()
        where = f"{name} {on}"
        assert there["moon_phase"] == here["moon_phase"], where
        assert there["moon_age_days"] == pytest.approx(here["moon_age_days"], abs=0.002), where
        assert apart(there["noon"], here["noon"]) < CLOSE_S, where
        if here["sun_grazes"]:
            continue  # a hair of height moves the times by minutes there, in any two almanacs
        for key in ("dawn", "sunrise", "sunset", "dusk"):
            assert apart(there[key], here[key]) < CLOSE_S, f"{where} {key}"
        assert there["sun_always"] == here["sun_always"], where
        assert len(there["low_light"]) == len(here["low_light"]), where
        for mine, theirs in zip(here["low_light"], there["low_light"], strict=True):
            assert max(map(apart, theirs, mine)) < CLOSE_S, where
        for key in ("moonrises", "moonsets"):
            clear = [_clear(times, on, zone) for times in (there[key], here[key])]
            assert len(clear[0]) == len(clear[1]), f"{where} {key}"
            assert all(apart(*pair) < CLOSE_S for pair in zip(*clear, strict=True)), where


def _clear(times: list[str], on: date, zone: str) -> list[str]:
    """Leave out what happens so close to midnight that it may belong to either day."""
    starts = [
        datetime.combine(on + timedelta(k), datetime.min.time(), ZoneInfo(zone)) for k in (0, 1)
    ]
    return [
        each
        for each in times
        if all(
            abs((datetime.fromisoformat(each) - start).total_seconds()) > NEAR_MIDNIGHT_S
            for start in starts
        )
    ]


# WMO-No. 306, Manual on Codes, table 1100: bounds of the forces [m/s]
BEAUFORT = {0: 0.2, 1: 1.5, 2: 3.3, 3: 5.4, 4: 7.9, 5: 10.7, 6: 13.8, 7: 17.1}


def test_winds(tmp_path: Path) -> None:
    winds = [w for top in BEAUFORT.values() for w in (top, top + 0.1)]
    told = asked(ASK, [{"wind": wind} for wind in winds], tmp_path, "UTC")
    assert [one["number"] for one in told] == [k + n for k in BEAUFORT for n in (0, 1)]
    assert [one["name"] for one in told] == [force(wind).name for wind in winds]
    assert "ashore" in told[-1]["caution"]
    kept = json.loads((ROOT / "frontend/src/lib/sky/winds.json").read_text())
    assert [each["caution"] for each in kept] == [each.caution for each in SCALE], "npm run types"
