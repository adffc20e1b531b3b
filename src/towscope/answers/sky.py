"""Sun, moon, wind and the water's layers, asked in text with units or in SI."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date, tzinfo
from pathlib import Path

import numpy as np

from towscope import arguments, clock
from towscope.errors import ArgumentError
from towscope.journal.times import local_zone
from towscope.journal.times import zone as zone_named
from towscope.sky import thermocline as water
from towscope.sky.sun import Day
from towscope.sky.sun import day as sun_of
from towscope.sky.thermocline import Layers

Text = str | float


def sun(latitude: Text, longitude: Text, day: str | date = "", tz: str | tzinfo = "") -> Day:
    """Tell sunrise, sunset, the low light between, and the moon, for a place and a day.

    Parameters
    ----------
    latitude, longitude : str or float
        The place [degrees, WGS 84].
    day : str or date
        ``"2026-08-09"``; today without it.
    tz : str or tzinfo
        Whose clock: ``"America/Chicago"``, ``"UTC"``; the boat's without it.

    Raises
    ------
    InputError
        Where an argument cannot be read.

    Examples
    --------
    >>> import towscope as ts
    >>> found = ts.sun(48.4, -91.9, "2026-08-14", tz="America/Chicago")
    >>> f"{found.sunrise:%H:%M} to {found.sunset:%H:%M}, {found.moon_phase}"
    '06:00 to 20:23, waxing crescent'
    """
    lat, lon = arguments.place(latitude, longitude)
    where = (zone_named(tz) if tz else local_zone()[0]) if isinstance(tz, str) else tz
    return sun_of(lat, lon, _day(day, where), where)


def _day(day: str | date, where: tzinfo) -> date:
    if not day:
        return clock.now(where).date()
    try:
        found = date.fromisoformat(day.strip()) if isinstance(day, str) else day
    except ValueError:
        raise ArgumentError("date", f' "{day}": expected a day such as 2026-08-09') from None
    if not 1900 <= found.year <= 2100:
        raise ArgumentError("date", f' "{day}": expected a year from 1900 to 2100')
    return found


def thermocline(
    profile: str | Path | Iterable[tuple[float, float]], lure_depth: Text | None = None
) -> Layers:
    """Find the thermocline in a temperature profile.

    Parameters
    ----------
    profile : str, Path or iterable of (depth, temperature)
        ``"0 ft 72 degF, 20 ft 70 degF, ..."``, a CSV file, or pairs in SI [m, degC].
    lure_depth : str or float, optional
        Where the lure is to run, to be warned about [m].

    Raises
    ------
    InputError
        Where the profile cannot be read.

    Examples
    --------
    >>> import towscope as ts
    >>> ts.thermocline("0 ft 72 degF, 20 ft 70, 30 ft 55, 40 ft 50, 50 ft 48", lure_depth="35 ft")
    thermocline at 24.3 ft; fast change from 12.1 to 34.9 ft
    """
    found = water.layers(_column(profile))
    if lure_depth is None:
        return found
    depth = arguments.quantity(lure_depth, "length", "depth")
    if depth < 0.0:
        raise ArgumentError("depth", f' "{lure_depth}": expected a depth below the surface')
    return found.for_lure(depth)


def _column(profile: str | Path | Iterable[tuple[float, float]]) -> water.Column:
    if isinstance(profile, Path):
        return water.read(profile)
    if isinstance(profile, str):
        # a reading has a number and a blank in it; a file's name ends in a kind
        named = re.search(r"\.(csv|txt|tsv)$", profile, re.IGNORECASE) or Path(profile).is_file()
        return water.read(Path(profile)) if named else water.parse(profile)
    rows = np.array(sorted(profile), float).reshape(-1, 2)
    return water.Column(rows[:, 0], rows[:, 1])
