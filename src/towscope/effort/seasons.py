"""Stints added up by day, month and what was fished: fish, rod-hours and rates."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Any, Final

from typing_extensions import TypedDict

from towscope.constants import INCH
from towscope.journal.describe import EARLY_HOURS
from towscope.journal.events import Catch
from towscope.journal.replay import settle

if TYPE_CHECKING:
    from towscope.effort.stint import Stint
    from towscope.journal.store import Store

RateOf = Callable[[int, float], Any]
LENGTH_STEP_M: Final = INCH
# What effort adds up by: name, the stint's attribute, and whether it is banded.
BY: Final = {
    "lure": ("lure", ""),
    "size": ("size_m", ""),
    "colour": ("colour", ""),
    "depth": ("depth_m", "depth"),
    "light": ("light", ""),
    "temperature": ("surface_temp_c", "temperature"),
    "hour": ("hour", "hour"),
}


Interval = tuple[float, float]


class Spell(TypedDict):
    """A day, a month or a year: what was fished and caught, and the exact interval of its rate.

    Rates leave out fish that no line explains.
    """

    when: str
    days: int
    rod_hours: float
    catches: int
    kept: int
    longest_m: float | None
    per_rod_hour: float | None
    interval_90: Interval | None


class Group(TypedDict):
    """One lure, size, depth ...: plain catch over hours, nothing made fair."""

    key: str
    low_si: float | None
    high_si: float | None
    catches: int
    rod_hours: float
    per_rod_hour: float | None
    interval_90: Interval | None


class Measured(TypedDict):
    """A fish; its length where it was measured."""

    day: str
    species: str
    length_m: float | None
    kept: bool | None


class Fish(TypedDict):
    """A fish that was measured."""

    day: str
    species: str
    length_m: float
    kept: bool | None


class Caught(TypedDict):
    """How many of a kind; "" where it was not said."""

    species: str
    catches: int


class Seasons(TypedDict):
    """All days added up."""

    days: list[Spell]
    months: list[Spell]
    years: list[Spell]
    by: dict[str, list[Group]]
    species: list[Caught]
    fish: list[Fish]


def lengths(store: Store) -> list[Measured]:
    """Give every fish that was measured: day, species, length [m], kept; corrections counted."""
    journal = settle((event for _, event in store.events()), check=False)
    return [
        {"day": e.day, "species": e.species or "", "length_m": e.length_m, "kept": e.kept}
        for e in journal.events
        if isinstance(e, Catch)
    ]


def seasons(
    effort: Sequence[Stint], fish: Iterable[Measured], rate: RateOf, steps: dict[str, float]
) -> Seasons:
    """Add all days up.

    Parameters
    ----------
    effort : sequence of Stint
        What was fished.
    fish : iterable of dict
        From `lengths`.
    rate : callable
        Catches and rod-hours to a rate with its interval: has ``per_hour``, ``low``, ``high``.
    steps : dict of str to float
        Width of the bands of depth [m], temperature [degC] and hour [h].

    Returns
    -------
    Seasons
        Years, months, days, groups and fish, in order of time.
    """
    caught = list(fish)
    return {
        "days": _over(effort, caught, 10, rate),
        "months": _over(effort, caught, 7, rate),
        "years": _over(effort, caught, 4, rate),
        "by": {name: _by(effort, *spec, rate, steps) for name, spec in BY.items()},
        "species": [
            {"species": name, "catches": number}
            for name, number in Counter(f["species"] for f in caught).most_common()
        ],
        "fish": [{**f, "length_m": f["length_m"]} for f in caught if f["length_m"] is not None],
    }


def _over(effort: Sequence[Stint], fish: list[Measured], letters: int, rate: RateOf) -> list[Spell]:
    """Add up by the first letters of the date: 4 for years, 7 for months, 10 for days."""
    hours: Counter[str] = Counter()
    rods: Counter[str] = Counter()
    days: dict[str, set[str]] = {}
    for s in effort:
        key = s.day[:letters]
        hours[key] += s.hours  # type: ignore[assignment]  # a counter of hours
        rods[key] += s.catches
        days.setdefault(key, set()).add(s.day)
    caught = Counter(f["day"][:letters] for f in fish)
    kept = Counter(f["day"][:letters] for f in fish if f["kept"])
    longest: dict[str, float] = {}
    for f in fish:
        if f["length_m"] is not None:
            key = f["day"][:letters]
            longest[key] = max(longest.get(key, 0.0), f["length_m"])
    return [
        {
            "when": key,
            "days": len(days.get(key, ())) or 1,
            "rod_hours": float(hours[key]),
            "catches": caught[key],
            "kept": kept[key],
            "longest_m": longest.get(key),
            **_rate(rods[key], float(hours[key]), rate),
        }
        for key in sorted({*hours, *caught})
    ]


def _by(
    effort: Sequence[Stint], attribute: str, band: str, rate: RateOf, steps: dict[str, float]
) -> list[Group]:
    groups: dict[Any, list[float]] = {}
    step = steps.get(band)
    for s in effort:
        value = getattr(s, attribute)
        if value in (None, ""):
            continue
        key = math.floor(value / step + 1e-9) * step if step else value
        held = groups.setdefault(round(key, 9) if isinstance(key, float) else key, [0, 0.0])
        held[0] += s.catches
        held[1] += s.hours
    named = [(k, v) for k, v in groups.items() if v[1] > 0.0]
    scale = all(isinstance(k, float) for k, _ in named)
    named.sort(key=(lambda row: row[0]) if scale else (lambda row: -row[1][1]))
    return [
        {
            "key": key if isinstance(key, str) else "",
            "low_si": key if isinstance(key, float) else None,
            "high_si": key + (step or 0.0) if isinstance(key, float) else None,
            "catches": int(n),
            "rod_hours": hours,
            **_rate(int(n), hours, rate),
        }
        for key, (n, hours) in named
    ]


class _Rate(TypedDict):
    per_rod_hour: float | None
    interval_90: Interval | None


def _rate(catches: int, hours: float, rate: RateOf) -> _Rate:
    if hours < EARLY_HOURS:
        return {"per_rod_hour": None, "interval_90": None}
    found = rate(catches, hours)
    return {"per_rod_hour": found.per_hour, "interval_90": (found.low, found.high)}
