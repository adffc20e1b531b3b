"""When does the sun rise and set on the lake, when is the light low, and what does the moon do."""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo
from typing import Any

from towscope.errors import InputError

LOW = 6.0  # [degrees]; the sun no higher than this is low light: its rays enter water at a slant


@dataclass(frozen=True)
class Day:
    """Sun and moon over one day at one place; times are None where the thing does not happen.

    Attributes
    ----------
    dawn, dusk : datetime or None
        Civil twilight begins and ends: the sun 6 degrees below the horizon.
    sunrise, noon, sunset : datetime or None
        Of the sun's upper limb on a level horizon; its highest.
    low_light : tuple of (datetime, datetime)
        From civil dawn until the sun stands 6 degrees high, and the same in the evening.
    moonrise, moonset : datetime or None
        Of the moon.
    moon_age : float
        Days since new moon, 0 to 29.5.
    moon_phase : str
        In words.
    always : str
        ``"up"`` or ``"down"`` where the sun does not cross the horizon that day, else ``""``.
    """

    dawn: datetime | None
    sunrise: datetime | None
    noon: datetime | None
    sunset: datetime | None
    dusk: datetime | None
    low_light: tuple[tuple[datetime, datetime], ...]
    moonrise: datetime | None
    moonset: datetime | None
    moon_age: float
    moon_phase: str
    always: str


def zone(name: str | None, longitude: float) -> tzinfo:
    """Give a time zone by name; by the machine's own clock where None.

    Raises
    ------
    InputError
        Where there is none of that name.
    """
    from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

    if name is None:
        local = datetime.now().astimezone().tzinfo
        return local if local is not None else UTC
    if name.upper() in ("UTC", "Z"):
        return UTC
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise InputError(
            f'no time zone is called "{name[:40]}"; expected such as America/Chicago or UTC'
        ) from None


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
    Meeus (1998), Astronomical Algorithms, 2nd ed., chapters 25 and 48, as computed by astral.
    """
    if not (-90.0 <= latitude <= 90.0 and -180.0 <= longitude <= 180.0):
        raise InputError(
            f"{latitude:g}, {longitude:g} is no place: expected latitude -90 to 90 and then "
            "longitude -180 to 180, in degrees"
        )
    from astral import Observer, SunDirection, moon, sun

    here = Observer(latitude, longitude, 0.0)

    def at(find: Any, *more: Any, **named: Any) -> datetime | None:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            try:
                found = find(here, *more, date=on, tzinfo=where, **named)
            except (ValueError, TypeError, RecursionError):  # it does not happen that day
                return None
        return found if isinstance(found, datetime) else None

    dawn, dusk = at(sun.dawn), at(sun.dusk)
    rise, fall, noon = at(sun.sunrise), at(sun.sunset), at(sun.noon)
    high = at(sun.time_at_elevation, LOW, direction=SunDirection.RISING)
    low = at(sun.time_at_elevation, LOW, direction=SunDirection.SETTING)
    spells = []
    if dawn is not None and high is not None and dawn < high:
        spells.append((dawn, high))
    if low is not None and dusk is not None and low < dusk:
        spells.append((low, dusk))
    always = ""
    if rise is None and fall is None and noon is not None:
        always = "up" if sun.elevation(here, noon) > 0.0 else "down"
    # astral counts the moon's age in 28ths of its round
    age = float(moon.phase(on)) / 28.0 * 29.530589
    return Day(
        dawn, rise, noon, fall, dusk, tuple(spells), at(moon.moonrise), at(moon.moonset), age,
        phase(age), always,
    )  # fmt: skip


def figures(found: Day) -> dict[str, Any]:
    """Give a day's sun and moon as figures, times with their offset from UTC (ISO 8601)."""

    def iso(moment: datetime | None) -> str | None:
        return moment.isoformat(timespec="seconds") if moment is not None else None

    return {
        "dawn": iso(found.dawn),
        "sunrise": iso(found.sunrise),
        "noon": iso(found.noon),
        "sunset": iso(found.sunset),
        "dusk": iso(found.dusk),
        "low_light": [[iso(a), iso(b)] for a, b in found.low_light],
        "moonrise": iso(found.moonrise),
        "moonset": iso(found.moonset),
        "moon_age_days": found.moon_age,
        "moon_phase": found.moon_phase,
        "sun_always": found.always or None,
    }


def phase(age: float) -> str:
    """Give the moon's phase in words.

    Parameters
    ----------
    age : float
        Days since new moon.

    Examples
    --------
    >>> phase(14.8), phase(7.4), phase(3.0)
    ('full moon', 'first quarter', 'waxing crescent')
    """
    part = age / 29.530589 % 1.0
    marks = ((0.0, "new moon"), (0.25, "first quarter"), (0.5, "full moon"), (0.75, "last quarter"),
             (1.0, "new moon"))  # fmt: skip
    for middle, words in marks:
        if abs(part - middle) < 1.0 / 29.530589:
            return words
    return ("waxing crescent", "waxing gibbous", "waning gibbous", "waning crescent")[int(part * 4)]


def nearest_minute(when: datetime | None) -> str | None:
    """Give a time as clocks show it, rounded to the minute; None stays None."""
    if when is None:
        return None
    return (when + timedelta(seconds=30)).strftime("%H:%M")
