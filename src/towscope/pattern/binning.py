"""Stints folded into cells of like effort, so that a season fits in a glance.

A cell is all the effort of one day with the same lure, depth, light ... each to its grain: its
catches and rod-hours add up, and given how clumped the fish come nothing about rates is lost. How
clumped they come shows between spans, so up to some 1,500 spans each stays a cell of its own.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, fields
from operator import attrgetter

import numpy as np

from towscope.arrays import Array, Integers
from towscope.constants import FOOT, MPH
from towscope.effort.stint import Stint
from towscope.errors import ArgumentError, InputError, one_line

DAY_S = 86_400.0
HOUR_S = 3_600.0


@dataclass(frozen=True)
class Grain:
    """How finely numbers are told apart.

    Attributes
    ----------
    size_m, depth_m, speed_m_s, temperature_c, hour_h, place_deg : float
        Widths of the classes.
    """

    size_m: float = 0.0127
    depth_m: float = 5 * FOOT
    speed_m_s: float = 0.2 * MPH
    temperature_c: float = 2.0 / 1.8
    hour_h: float = 1.0
    place_deg: float = 0.003


US_GRAIN = Grain()
METRIC_GRAIN = Grain(0.01, 1.5, 0.3 / 3.6, 1.0, 1.0, 0.003)


@dataclass(frozen=True)
class LureLook:
    """What a lure looks like: all that pooling goes by."""

    name: str
    body: str = ""
    size_m: float | None = None
    colour: str = ""


@dataclass
class Factor:
    """The levels of one thing that may matter.

    Attributes
    ----------
    name : str
        "lure", "size", "depth" ...
    keys : list
        Each level's key: a name, or the number of its class.
    middles : ndarray (levels,) or None
        Middle of each class in SI; None for names.
    width : float
        Width of the classes in SI.
    """

    name: str
    keys: list[object]
    middles: Array | None = None
    width: float = 0.0

    def find(self, key: object) -> int:
        """Give the number of a level, or -1."""
        try:
            return self.keys.index(key)
        except ValueError:
            return -1


@dataclass
class Cells:
    """Effort and catches folded into cells, in order of days.

    Attributes
    ----------
    factors : dict of str to Factor
        What varies.
    codes : dict of str to ndarray (cells,)
        Level of each factor in each cell; -1 where not known.
    y, hours : ndarray (cells,)
        Catches [fish] and effort [rod-hours].
    day : ndarray (cells,)
        Number of the day.
    days : list of str
        The days, ISO 8601, rising.
    day_s : ndarray (days,)
        Middle of each day's fishing, unix time [s].
    hour_bin : ndarray (cells,)
        Hours since the epoch for recent cells, -1 for older ones.
    now_s : float
        The moment the answer is for, unix time [s].
    lures : dict of str to LureLook
        What each lure looked like last.
    last : Stint or None
        The latest stint.
    fished_s : float
        When it ended, unix time [s].
    """

    factors: dict[str, Factor]
    codes: dict[str, Integers]
    y: Array
    hours: Array
    day: Integers
    days: list[str]
    day_s: Array
    hour_bin: Integers
    now_s: float
    lures: dict[str, LureLook] = field(default_factory=dict)
    last: Stint | None = None
    fished_s: float = 0.0


NAMES = ("lure", "body", "colour", "light", "rod", "place")
NUMBERS = ("size", "depth", "speed", "temperature", "hour")
FACTORS = ("lure", "body", "size", "colour", "depth", "speed", "light", "temperature", "hour",
           "place", "rod")  # fmt: skip
RECENT_S = 36 * HOUR_S
APART = 1500


def factors_of(by: str | Sequence[str]) -> list[str]:
    """Read what is to be compared: names with commas, or one after the other.

    >>> factors_of("lure, color, lure")
    ['lure', 'colour']
    """
    given = by.split(",") if isinstance(by, str) else by
    names = [n for n in (name.strip() for name in given) if n]
    names = list(dict.fromkeys("colour" if n == "color" else n for n in names))
    wrong = next((n for n in names if n not in FACTORS), None)
    if wrong is not None or not names:
        raise ArgumentError("by", f' "{wrong or ""}": expected any of {", ".join(FACTORS)}')
    return names


_FIELDS = {f.name: attrgetter(f.name) for f in fields(Stint)}
_NUMBERED = {
    "size": "size_m",
    "depth": "depth_m",
    "speed": "speed_m_s",
    "temperature": "surface_temp_c",
    "hour": "hour",
}


def fold(
    stints: Iterable[Stint],
    *,
    grain: Grain = US_GRAIN,
    species: str | None = None,
    now_s: float | None = None,
    aboard: Sequence[LureLook] = (),
    ignore: Sequence[str] = (),
) -> Cells:
    """Fold stints into cells.

    Parameters
    ----------
    stints : iterable of Stint
        In any order; those without effort and without catch are left out.
    grain : Grain
        How finely numbers are told apart.
    species : str, optional
        Count only fish of this name.
    now_s : float, optional
        The moment to answer for, unix time [s]; the end of the last stint if not given.
    aboard : sequence of LureLook
        Lures to know about even where they were never fished.
    ignore : sequence of str
        Factors to leave out.

    Returns
    -------
    Cells
        At least one cell.

    Raises
    ------
    InputError
        Where a stint cannot be, or none is left.
    """
    kept = [s for s in stints if s.hours > 0.0 or s.catches]
    if not kept:
        raise InputError("no effort yet: expected at least one span with a line in the water")
    column = {name: list(map(get, kept)) for name, get in _FIELDS.items()}
    end, start, hours, y = (
        np.array(column[n], dtype=float) for n in ("end_s", "start_s", "hours", "catches")
    )
    _check(kept, start, end, hours, y)
    now = float(end.max()) if now_s is None else now_s
    if species is not None:
        wanted = species.strip().lower()
        y = np.array(
            [sum(x.lower() == wanted for x in names) for names in column["species"]], float
        )
    # a catch noted on a line of no recorded time: a minute is the least it can have been
    hours = np.maximum(hours, np.where(y > 0, 1.0 / 60.0, 0.0))
    days, day = _codes(column["day"])
    order = np.argsort(np.array(days, dtype=object))
    rank = np.empty(len(days), dtype=np.int64)
    rank[order] = np.arange(len(days))
    day = rank[day]
    days = [days[i] for i in order]
    middle = 0.5 * (start + end)
    day_s = np.bincount(day, weights=middle) / np.bincount(day)
    recent = np.maximum(now - middle, 0.0) < RECENT_S
    hour_bin = np.where(recent, np.floor(middle / HOUR_S), -1.0).astype(np.int64)

    factors: dict[str, Factor] = {}
    codes: dict[str, Integers] = {}
    lures: dict[str, LureLook] = {}
    latest = np.argsort(end, kind="stable")
    for i in dict(zip(map(column["lure"].__getitem__, latest), latest, strict=True)).values():
        s = kept[i]
        lures[s.lure] = LureLook(s.lure, s.body, s.size_m, s.colour)
    for lure in aboard:
        lures[lure.name] = lure
    for name in NAMES:
        if name in ignore:
            continue
        extra: list[str] = []
        if name in ("lure", "body", "colour"):
            extra = [str(getattr(x, "name" if name == "lure" else name)) for x in aboard]
        values = [_place(s, grain) for s in kept] if name == "place" else column[name]
        keys, code = _codes([v or "" for v in values] + extra)
        factors[name], codes[name] = _named(name, keys, code[: len(kept)])
    for name in NUMBERS:
        if name in ignore:
            continue
        numbers = np.array(column[_NUMBERED[name]], dtype=float)  # None becomes not-a-number
        if name == "size":
            numbers = np.append(numbers, np.array([x.size_m for x in aboard], dtype=float))
        factors[name], code = _classed(name, numbers, grain)
        codes[name] = code[: len(kept)]

    names = list(factors)
    key, top = day.copy(), len(days)
    for part in [*(codes[n] for n in names), hour_bin]:
        least = int(part.min())
        span = int(part.max()) - least + 1
        if top * span > 2**62:  # number the kinds there are before they outgrow the integers
            kinds, key = np.unique(key, return_inverse=True)
            key, top = key.ravel().astype(np.int64), len(kinds)
        key, top = key * span + (part - least), top * span
    if len(kept) <= APART:
        key = np.arange(len(kept))
    _, first, inverse = np.unique(key, return_index=True, return_inverse=True)
    inverse = inverse.ravel()
    cell_day = day[first]
    by_day = np.argsort(cell_day, kind="stable")
    return Cells(
        factors,
        {n: codes[n][first][by_day] for n in names},
        np.bincount(inverse, weights=y)[by_day].astype(np.float64),
        np.bincount(inverse, weights=hours)[by_day].astype(np.float64),
        cell_day[by_day],
        days,
        day_s,
        hour_bin[first][by_day],
        now,
        lures,
        kept[int(np.argmax(end))],
        float(end.max()),
    )


def _check(stints: Sequence[Stint], start: Array, end: Array, hours: Array, y: Array) -> None:
    """Refuse what cannot be, naming the first such stint."""
    faults = (
        (~np.isfinite(start) | ~np.isfinite(end), "no time; expected start_s and end_s"),
        (end < start, "ends before it starts; expected start_s <= end_s"),
        (~(hours >= 0.0) | (hours > 24.0 * 366), "absurd rod-hours; expected 0 or more"),
        (~(y >= 0.0) | (y > 1e5), "absurd catches; expected 0 or more"),
    )
    for bad, why in faults:
        if bad.any():
            i = int(np.argmax(bad))
            s = stints[i]
            raise InputError(
                f"stint {i + 1} ({one_line(s.rod or s.lure, 40)}, {one_line(s.day, 20)}): {why}"
            )


def _codes(values: Sequence[str]) -> tuple[list[str], Integers]:
    table = {v: i for i, v in enumerate(dict.fromkeys(values))}
    code = np.fromiter(map(table.__getitem__, values), dtype=np.int64, count=len(values))
    return list(table), code


def _place(s: Stint, grain: Grain) -> str:
    if s.lat is None or s.lon is None:
        return ""
    # squares of the same width both ways; some 300 m, the width of a trolling pass
    wide = grain.place_deg / max(math.cos(math.radians(s.lat)), 0.1)
    lat = (math.floor(s.lat / grain.place_deg) + 0.5) * grain.place_deg
    lon = (math.floor(s.lon / wide) + 0.5) * wide
    return f"{lat:.4f}, {lon:.4f}"


def _named(name: str, keys: list[str], code: Integers) -> tuple[Factor, Integers]:
    known = sorted(k for k in keys if k)
    place = {k: i for i, k in enumerate(known)}
    table = np.array([place.get(k, -1) for k in keys], dtype=np.int64)
    return Factor(name, list(known)), table[code]


def _scheme(name: str, grain: Grain) -> tuple[float, float]:
    """Give the classes' width and where they begin: round figures in the unit they are shown in."""
    width = {
        "size": grain.size_m,
        "depth": grain.depth_m,
        "speed": grain.speed_m_s,
        "temperature": grain.temperature_c,
        "hour": grain.hour_h,
    }[name]
    origin = -160.0 / 9.0 if name == "temperature" and grain.temperature_c != 1.0 else 0.0
    if name == "size":
        origin = -0.5 * width  # lures are made to round sizes: their classes centre on them
    return width, origin


def _classed(name: str, x: Array, grain: Grain) -> tuple[Factor, Integers]:
    width, origin = _scheme(name, grain)
    known = np.isfinite(x)
    k = np.zeros(len(x), dtype=np.int64)
    k[known] = np.floor((x[known] - origin) / width + 1e-9).astype(np.int64)
    levels = np.unique(k[known])
    code = np.where(known, np.searchsorted(levels, k), -1).astype(np.int64)
    middles = np.asarray(origin + (levels + 0.5) * width, dtype=np.float64)
    return Factor(name, [int(v) for v in levels], middles, width), code
