"""Sun and moon by ephemeris on a lake: rising, setting, low light and the moon's phase.

The places of sun and moon are ephem's; the times at which they pass a height are found by stepping
and closing in. A day of the sun runs from the lowest it stands to the next lowest, so that every
sunset belongs to one day, be it after midnight by the clock; a day of the moon is the calendar's.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from itertools import pairwise
from typing import Any, Final

from towscope.errors import InputError
from towscope.formats.plain import plain
from towscope.sky.crossings import crossings, highest

LOW: Final = 6.0  # [degrees]; the sun no higher than this is low light: its rays enter at a slant
TWILIGHT: Final = -6.0  # [degrees]; the sun's middle at the ends of civil twilight
REFRACTION: Final = 34.0 / 60.0  # [degrees] at the horizon, as all almanacs have it
SUN_AT_HORIZON: Final = -50.0 / 60.0  # [degrees]; that and half the sun's width
# The air bends light at the horizon now 0.1 degrees more and now less (Schaefer & Liller 1990, from
# memory); within so much of a turn this moves the time by five minutes or more, or undoes it.
GRAZING: Final = 0.3
MONTH: Final = 29.530589  # [days]; from new moon to new moon, on the average
HOUR_S: Final = 3600.0
DAY_S: Final = 86400.0


@dataclass(frozen=True, repr=False)
class Day:
    """Sun and moon over one day at one place; times are None where the thing does not happen.

    Attributes
    ----------
    date : date
        The day, as the clock there counts it.
    latitude, longitude : float
        The place [degrees].
    dawn, dusk : datetime or None
        Civil twilight begins and ends: the sun 6 degrees below the horizon.
    sunrise, noon, sunset : datetime or None
        Of the sun's upper limb on a level horizon; its passing of the meridian. Each belongs to the
        day whose noon is nearest: a sunset may fall past midnight.
    low_light : tuple of (datetime, datetime)
        While the sun stands between 6 degrees below the horizon and 6 above. A spell that lasts
        through the night is given whole: it begins the day before or ends the day after.
    moonrises, moonsets : tuple of datetime
        Of the moon's upper limb, from midnight to midnight. At most places one a day, and none once
        a month; far north there may be two.
    moon_age_days : float
        Days since new moon, 0 to 29.9.
    moon_phase : str
        In words.
    moon_always, sun_always : str or None
        ``"up"`` or ``"down"`` where it does not cross the horizon that day.
    sun_grazes : bool
        Whether the sun at its highest or lowest only just touches the horizon: then the air of the
        day decides whether and when it rises or sets.
    """

    date: date
    latitude: float
    longitude: float
    dawn: datetime | None
    sunrise: datetime | None
    noon: datetime
    sunset: datetime | None
    dusk: datetime | None
    low_light: tuple[tuple[datetime, datetime], ...]
    moonrises: tuple[datetime, ...]
    moonsets: tuple[datetime, ...]
    moon_age_days: float
    moon_phase: str
    moon_always: str | None
    sun_always: str | None
    sun_grazes: bool

    def to_dict(self) -> dict[str, Any]:
        """Give it as JSON can hold it: times with their offset from UTC (ISO 8601)."""
        told: dict[str, Any] = plain(
            {each.name: _iso(getattr(self, each.name)) for each in fields(self)}
        )
        return told

    def __repr__(self) -> str:
        head = f"{self.date:%A} {self.date.isoformat()} at "
        head += f"{self.latitude:.4f}, {self.longitude:.4f} ({self.noon.tzname()})"
        return "\n".join([head, *words(self)])


def _iso(value: Any) -> Any:
    if isinstance(value, datetime):
        return value.isoformat(timespec="seconds")
    if isinstance(value, date):
        return value.isoformat()
    return [_iso(each) for each in value] if isinstance(value, tuple) else value


def day(latitude: float, longitude: float, on: date, where: tzinfo) -> Day:
    """Give sun and moon for a day.

    Parameters
    ----------
    latitude, longitude : float
        The place [degrees].
    on : date
        The day, as the clock there counts it.
    where : tzinfo
        That clock.

    Returns
    -------
    Day
        The times.

    Raises
    ------
    InputError
        Where that is no place on the globe.

    References
    ----------
    Explanatory Supplement to the Astronomical Almanac (1992), section 9.3: rising and setting are
    of the upper limb with 34' of refraction, civil twilight of 6 degrees; VSOP87 and ELP 2000 as
    computed by ephem.

    Examples
    --------
    A lake at 62 degrees north at midsummer. When does the sun rise and set, and how long is the
    light low? From late evening to early morning, without a break.

    >>> from zoneinfo import ZoneInfo
    >>> found = day(62.0, -114.4, date(2026, 6, 21), ZoneInfo("America/Yellowknife"))
    >>> f"{found.sunrise:%H:%M} to {found.sunset:%H:%M}"
    '03:46 to 23:31'
    >>> [f"{a:%d %H:%M} to {b:%d %H:%M}" for a, b in found.low_light]
    ['20 21:59 to 21 05:19', '21 21:59 to 22 05:19']
    """
    if not (-90.0 <= latitude <= 90.0 and -180.0 <= longitude <= 180.0):
        raise InputError(
            f"{latitude:g}, {longitude:g} is no place: expected latitude -90 to 90 and then "
            "longitude -180 to 180, in degrees"
        )
    sky = _Sky(latitude, longitude)
    middle = _mean_noon(longitude, on, where)
    begin, end = _lowest(sky, middle - DAY_S / 2), _lowest(sky, middle + DAY_S / 2)

    def moment(found: float | None) -> datetime | None:
        return None if found is None else datetime.fromtimestamp(found, UTC).astimezone(where)

    def moments(found: list[float]) -> tuple[datetime, ...]:
        return tuple(datetime.fromtimestamp(t, UTC).astimezone(where) for t in found)

    def up_and_down(found: list[tuple[float, bool]]) -> tuple[float | None, float | None]:
        ups = [t for t, up in found if up and begin <= t < end]
        downs = [t for t, up in found if not up and begin <= t < end]
        return (ups[0] if ups else None), (downs[-1] if downs else None)

    # half a day beyond, to where the sun stands highest: no spell of low light lasts longer
    first, last = begin - DAY_S / 2, end + DAY_S / 2
    rise, fall = up_and_down(crossings(sky.sun, first, last, SUN_AT_HORIZON))
    twilight = crossings(sky.sun, first, last, TWILIGHT)
    dawn, dusk = up_and_down(twilight)
    edges = [first, *(t for t, _ in twilight + crossings(sky.sun, first, last, LOW)), last]
    spells = [s for s in _low_light(sky, sorted(edges)) if s[1] > begin and s[0] < end]
    noon = sky.transit(middle)
    top = sky.sun(noon)
    turns = (top, sky.sun(begin), sky.sun(end))
    always = None
    if rise is None and fall is None:
        always = "up" if top > SUN_AT_HORIZON else "down"

    midnight, next_midnight = (
        datetime.combine(d, time(), where).timestamp() for d in (on, on + timedelta(days=1))
    )
    moon = crossings(sky.moon, midnight, next_midnight, -REFRACTION)
    moon_always = None if moon else "up" if sky.moon(middle) > -REFRACTION else "down"
    age, part = sky.moon_age(noon)
    return Day(
        on, latitude, longitude,
        moment(dawn), moment(rise), moments([noon])[0], moment(fall), moment(dusk),
        tuple((a, b) for a, b in (moments([*s]) for s in spells)),
        moments([t for t, up in moon if up]), moments([t for t, up in moon if not up]),
        age, phase(part), moon_always, always,
        any(abs(turn - SUN_AT_HORIZON) < GRAZING for turn in turns),
    )  # fmt: skip


class _Sky:
    """How high sun and moon stand at a place [degrees], at unix times [s]."""

    def __init__(self, latitude: float, longitude: float) -> None:
        import ephem

        self._days = ephem.Date("1970/1/1") * 1.0  # ephem's count of days at unix time 0
        self._here = ephem.Observer()
        self._here.lat, self._here.lon = math.radians(latitude), math.radians(longitude)
        self._here.elevation = 0.0
        self._here.pressure = 0.0  # refraction is in the levels
        self._sun, self._moon = ephem.Sun(), ephem.Moon()
        self._heights: dict[float, float] = {}  # of the sun, asked for several levels

    def _at(self, body: Any, moment: float) -> Any:
        self._here.date = self._days + moment / DAY_S
        body.compute(self._here)
        return body

    def sun(self, moment: float) -> float:
        """Give the height of the sun's middle."""
        if moment not in self._heights:
            self._heights[moment] = math.degrees(self._at(self._sun, moment).alt)
        return self._heights[moment]

    def moon(self, moment: float) -> float:
        """Give the height of the moon's upper limb."""
        moon = self._at(self._moon, moment)
        return math.degrees(moon.alt + moon.radius)

    def transit(self, middle: float) -> float:
        """Give when the sun passes the meridian, within 40 minutes of mean noon."""

        def past(moment: float) -> float:
            sun = self._at(self._sun, moment)
            angle = math.degrees(self._here.sidereal_time() - sun.ra)
            return (angle + 180.0) % 360.0 - 180.0

        # the sun is at most 17 minutes before or behind the clock that runs evenly
        return crossings(past, middle - 2400.0, middle + 2400.0, 0.0)[0][0]

    def moon_age(self, moment: float) -> tuple[float, float]:
        """Give the days since new moon, and the part of its round the moon has gone."""
        import ephem

        when = ephem.Date(self._days + moment / DAY_S)
        sun, moon = ephem.Ecliptic(ephem.Sun(when)), ephem.Ecliptic(ephem.Moon(when))
        ahead = (moon.lon - sun.lon) / (2.0 * math.pi) % 1.0
        return float(when - ephem.previous_new_moon(when)), float(ahead)


def _mean_noon(longitude: float, on: date, where: tzinfo) -> float:
    """Give the mean sun's noon that lies nearest the clock's on a date [unix time, s]."""
    clock = datetime.combine(on, time(12), where).timestamp()
    even = datetime.combine(on, time(12), UTC).timestamp() - longitude / 15.0 * HOUR_S
    return even + DAY_S * round((clock - even) / DAY_S)


def _lowest(sky: _Sky, around: float) -> float:
    """Give when the sun stands lowest about a mean midnight; close to a pole, about that."""
    return highest(lambda t: -sky.sun(t), around - 2 * HOUR_S, around + 2 * HOUR_S)


def _low_light(sky: _Sky, edges: list[float]) -> list[tuple[float, float]]:
    """Give the spells between edges in which the light is low, joined where they meet."""
    spells: list[tuple[float, float]] = []
    for a, b in pairwise(edges):
        if not TWILIGHT < sky.sun(0.5 * (a + b)) <= LOW:
            continue
        if spells and spells[-1][1] == a:
            spells[-1] = (spells[-1][0], b)
        else:
            spells.append((a, b))
    return spells


def words(found: Day) -> list[str]:
    """Say a day's sun and moon, a line for each thing."""

    def at(moment: datetime) -> str:
        return clock(moment, found.date)

    if found.sun_always:
        lines = [f"the sun is {found.sun_always} all day"]
    else:
        rise = f"sunrise {at(found.sunrise)}" if found.sunrise else "no sunrise"
        fall = f"sunset {at(found.sunset)}" if found.sunset else "no sunset"
        lines = [f"{rise}, {fall}"]
    if found.sun_grazes:
        lines.append(
            "the sun only just touches the horizon: the air and the hills decide when it shows"
        )
    lines += [f"low light {at(a)} to {at(b)}" for a, b in found.low_light] or ["no low light"]
    if found.moon_always:
        return [*lines, f"{found.moon_phase}; the moon is {found.moon_always} all day"]
    rises = " and ".join(at(t) for t in found.moonrises)
    sets = " and ".join(at(t) for t in found.moonsets)
    return [
        *lines,
        f"{found.moon_phase}; {f'moonrise {rises}' if rises else 'no moonrise this day'}, "
        f"{f'moonset {sets}' if sets else 'no moonset this day'}",
    ]


def another_clock(found: Day) -> str | None:
    """Say it where the clock can't be the lake's: its noon is hours from the sun's."""
    past = found.noon.hour + found.noon.minute / 60.0
    # farthest off in use: western China, where the sun is highest past three
    if 10.0 <= past <= 15.5:
        return None
    return (
        f"the sun is highest there at {clock(found.noon)} by this clock; for the lake's own "
        "set --tz, such as America/Chicago"
    )


def phase(part: float) -> str:
    """Give the moon's phase in words.

    Parameters
    ----------
    part : float
        How much of its round from new moon to new moon it has gone, 0 to 1.

    Examples
    --------
    >>> phase(0.5), phase(0.25), phase(0.1)
    ('full moon', 'first quarter', 'waxing crescent')
    """
    part %= 1.0
    marks = ((0.0, "new moon"), (0.25, "first quarter"), (0.5, "full moon"), (0.75, "last quarter"),
             (1.0, "new moon"))  # fmt: skip
    for middle, said in marks:
        if abs(part - middle) < 1.0 / MONTH:
            return said
    return ("waxing crescent", "waxing gibbous", "waning gibbous", "waning crescent")[int(part * 4)]


def clock(when: datetime, on: date | None = None) -> str:
    """Give a time as clocks show it, to the nearest minute, with its weekday if not of `on`.

    >>> clock(datetime(2026, 6, 22, 0, 46, 40), date(2026, 6, 21))
    '00:47 (Mon)'
    """
    shown = when + timedelta(seconds=30)
    other = on is not None and shown.date() != on
    return shown.strftime("%H:%M (%a)" if other else "%H:%M")
