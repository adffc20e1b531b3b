"""Sun and moon against Skyfield on JPL's DE421 at twelve places up to 70 degrees north and south.

The whole year is `bench/sky.py`; here are three days each about two changes of clocks, the ends of
polar day and night, and the solstices.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from bench.sky import DAY_S, compare, skies, told

# America's clocks go forward; the sun stays up at 70 degrees north; midsummer; Europe's clocks go
# back; midwinter
MIDDLES = ((3, 8), (5, 18), (6, 21), (10, 25), (12, 21))


@pytest.mark.parametrize("middle", MIDDLES, ids=lambda m: f"{m[0]:02d}-{m[1]:02d}")
def test_nothing_is_lost_invented_or_three_minutes_off(middle: tuple[int, int]) -> None:
    days = [date(2026, *middle) + timedelta(k) for k in (-1, 0, 1)]
    first = datetime.combine(days[0], time(), UTC).timestamp()
    places = 0
    for name, lat, lon, zone, sky in skies(first - 2 * DAY_S, first + 5 * DAY_S):
        # a clock is at most three and a half hours off the sun: from so long after the first noon
        # to so long before the last, all that happens belongs to one of these days
        noons = [datetime.combine(d, time(12), ZoneInfo(zone)).timestamp() for d in days]
        span = noons[0] + 0.15 * DAY_S, noons[-1] - 0.15 * DAY_S
        places += 1
        for kind, times in told(lat, lon, days, zone).items():
            got = compare(times, *sky.events(kind), *span)
            assert (got.lost, got.invented) == ([], []), f"{name} {kind}"
            assert got.worst < 180.0, f"{name} {kind}"
            assert got.doubtful <= 1, f"{name} {kind}"
    assert places == 12
