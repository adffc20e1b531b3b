"""Tests for zeros, strays, spikes and impossible depths: what is no bottom, by row, with why."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt
import scipy

from towscope.arrays import Array
from towscope.bed.layout import neighbours
from towscope.bed.soundings import Log
from towscope.bed.spikes import NEIGHBOURS, groups, groups_among, spikes_along, spikes_among
from towscope.errors import InputError, NoAnswer
from towscope.geodesy import Place

Rows = npt.NDArray[np.int64]

LOST = 0.05  # [m]; sounders write 0 where they lose the bottom
DEEPEST = 1_700.0  # [m]; no lake on Earth is deeper
SHORE_NEIGHBOURS = 5  # soundings that tell whether a depth of 0 is the shore
SHALLOW = 1.5  # [m]; so shallow may they be
NOMINAL_SOUND = 1500.0  # [m/s]; what sounders assume unless told (common practice, no source)

REASONS = {
    "no figure": "latitude, longitude or depth missing or unreadable",
    "no place": "latitude or longitude off the globe, or a fix at 0, 0",
    "too deep": "deeper than any lake",
    "lost bottom": "depth 0, as sounders write where they lose the bottom",
    "above water": "depth negative where the rest is positive",
    "stray": "far from the rest of the soundings",
    "spike": "an echo that its neighbours do not share",
    "false echoes": "a group of echoes far deeper than all round it, with walls to either side",
}


@dataclass(frozen=True)
class Drop:
    """One sounding that was dropped.

    Attributes
    ----------
    source : str
        Its file.
    row : int
        Its line in the file.
    reason : str
        A key of `REASONS`.
    latitude, longitude : float
        Its place [degrees].
    depth : float
        Its depth [m].
    """

    source: str
    row: int
    reason: str
    latitude: float
    longitude: float
    depth: float

    def plain(self) -> dict[str, Any]:
        """Give it for JSON."""
        return {
            "source": self.source,
            "row": self.row,
            "reason": self.reason,
            "latitude": self.latitude,
            "longitude": self.longitude,
            "depth_m": self.depth,
        }


@dataclass(frozen=True)
class Clean:
    """Soundings fit for a bed.

    Attributes
    ----------
    latitude, longitude, depth : (n,) array
        Places [degrees] and depths [m].
    dropped : tuple of Drop
        What was dropped.
    notes : tuple of str
        What was corrected or looks doubtful.
    track : (n,) array of int
        Number of the file each came from.
    ordered : bool
        Whether they stand in the order they were made in.
    """

    latitude: Array
    longitude: Array
    depth: Array
    dropped: tuple[Drop, ...]
    notes: tuple[str, ...]
    track: Rows
    ordered: bool = True

    def counts(self) -> dict[str, int]:
        """Give how many were dropped for each reason."""
        return dict(Counter(d.reason for d in self.dropped))


def sound_speed(temperature: float) -> float:
    """Give the speed of sound in fresh water at atmospheric pressure.

    Parameters
    ----------
    temperature : float
        Water temperature [degC], 0 to 95.

    Returns
    -------
    float
        Speed [m/s].

    References
    ----------
    Marczak (1997), J. Acoust. Soc. Am. 102:2776-2779 (fifth-order fit on the ITS-90 scale).

    Examples
    --------
    How much too deep does a sounder set for 1500 m/s read in 40 degF water, at 60 ft?

    >>> round(60 * (1 - sound_speed(4.4) / 1500.0), 1)
    3.1
    """
    if not 0.0 <= temperature <= 40.0:
        raise InputError(f"{temperature:g} degC is no lake's temperature; expected 0 to 40 degC")
    t = temperature
    return (
        1.402385e3
        + 5.038813 * t
        - 5.799136e-2 * t**2
        + 3.287156e-4 * t**3
        - 1.398845e-6 * t**4
        + 2.787860e-9 * t**5
    )


def clean(
    logs: list[Log],
    *,
    temperature: float | None = None,
    level: float = 0.0,
    spikes: bool = True,
    strays: bool = True,
) -> Clean:
    """Drop what is not the bottom and correct what is asked.

    Parameters
    ----------
    logs : list of Log
        The soundings as read.
    temperature : float, optional
        Water temperature [degC] to correct the sounder's speed of sound by, from 1500 m/s.
    level : float
        Added to every depth [m]: how much lower than usual the water stood.
    spikes, strays : bool
        Whether to look for these.

    Returns
    -------
    Clean
        What is left, and every sounding that is not, with its row and reason.

    Raises
    ------
    InputError
        Where latitude and longitude are swapped, or the soundings come from two lakes.
    NoAnswer
        Where nothing is left.
    """
    logs = [log if log.track else _shuffled(log) for log in logs]
    lat = np.concatenate([g.latitude for g in logs]) if logs else np.zeros(0)
    lon = np.concatenate([g.longitude for g in logs]) if logs else np.zeros(0)
    depth = np.concatenate([g.depth for g in logs]) if logs else np.zeros(0)
    row = np.concatenate([g.row for g in logs]) if logs else np.zeros(0, np.int64)
    file = np.concatenate([np.full(g.size, k) for k, g in enumerate(logs)] or [np.zeros(0, int)])
    notes = [f"{g.source}: {note}" for g in logs for note in g.notes]
    why = np.zeros(lat.size, np.int64)  # 0 kept, else 1 + index into REASONS
    names = list(REASONS)

    def drop(bad: npt.NDArray[np.bool_], reason: str) -> None:
        why[(why == 0) & bad] = 1 + names.index(reason)

    drop(~(np.isfinite(lat) & np.isfinite(lon) & np.isfinite(depth)), "no figure")
    ok = why == 0
    _swapped(lat[ok], lon[ok], logs)
    with np.errstate(invalid="ignore"):
        drop(
            (np.abs(lat) > 90.0) | (np.abs(lon) > 180.0) | ((lat == 0.0) & (lon == 0.0)), "no place"
        )
        drop(depth > DEEPEST, "too deep")
    for k, log in enumerate(logs):
        mine = np.flatnonzero((why == 0) & (file == k))
        bad = np.zeros(lat.size, bool)
        bad[mine] = _lost(lat[mine], lon[mine], depth[mine], log)
        drop(bad, "lost bottom")
    drop(depth < 0.0, "above water")
    if strays:
        _strays(lat, lon, why, drop)
    if spikes:
        for k, log in enumerate(logs):
            if log.shore:
                continue  # a chart has been cleaned by whoever drew it
            for reason, find in (
                ("spike", spikes_along if log.track else spikes_among),
                ("false echoes", groups if log.track else groups_among),
            ):
                mine = np.flatnonzero((why == 0) & (file == k))
                if mine.size < NEIGHBOURS:
                    continue
                x, y = Place.about(lat[mine], lon[mine]).to_metres(lat[mine], lon[mine])
                bad = np.zeros(lat.size, bool)
                bad[mine] = find(x, y, depth[mine])
                drop(bad, reason)
    gone = np.flatnonzero(why)
    gone = gone[np.lexsort((row[gone], file[gone]))]
    dropped = tuple(
        Drop(
            logs[file[k]].source,
            int(row[k]),
            names[why[k] - 1],
            float(lat[k]),
            float(lon[k]),
            float(depth[k]),
        )
        for k in gone
    )
    keep = why == 0
    if not keep.any():
        counts = Counter(d.reason for d in dropped)
        told = ", ".join(f"{n:,} {reason}" for reason, n in counts.items()) or "no soundings"
        raise NoAnswer(f"no sounding is left to build on: {told}")
    depth = depth[keep]
    if temperature is not None:
        factor = sound_speed(temperature) / NOMINAL_SOUND
        depth = depth * factor
        notes.append(f"depths times {factor:.4f} for sound in water of {temperature:.1f} degC")
    if level:
        depth = depth + level
        notes.append(f"{level:+.2f} m added to every depth for the water level")
    if float(np.ptp(depth)) == 0.0 and depth.size > 1:
        raise InputError(
            f"all {depth.size:,} depths are {depth[0]:g} m: expected a bottom; is this the right "
            "column?"
        )
    ordered = all(log.track for log in logs)
    return Clean(lat[keep], lon[keep], depth, dropped, tuple(notes), file[keep], ordered)


def _shuffled(log: Log) -> Log:
    """Put soundings that come in no order into one that does not depend on the file's."""
    turn = np.lexsort((log.row, log.depth, log.longitude, log.latitude))
    return replace(
        log,
        latitude=log.latitude[turn],
        longitude=log.longitude[turn],
        depth=log.depth[turn],
        row=log.row[turn],
    )


def _lost(lat: Array, lon: Array, depth: Array, log: Log) -> npt.NDArray[np.bool_]:
    """Tell the depths of 0 that are a lost bottom: on a chart, or by shallows, 0 is the shore."""
    zero = np.abs(depth) < LOST
    if log.shore or not zero.any() or zero.all():
        return zero & (not log.shore)
    if log.track:
        return zero
    x, y = Place.about(lat, lon).to_metres(lat, lon)
    points = np.column_stack([x, y])
    rest = points[~zero]
    _, near = neighbours(rest, points[zero], SHORE_NEIGHBOURS)
    around = np.median(depth[~zero][near], axis=1)
    lost = np.zeros(depth.size, bool)
    lost[np.flatnonzero(zero)[around > max(SHALLOW, 0.25 * float(np.median(depth[~zero])))]] = True
    return lost


def _swapped(lat: Array, lon: Array, logs: list[Log]) -> None:
    if lat.size and float(np.mean(np.abs(lat) > 90.0)) > 0.5 and np.all(np.abs(lon) <= 90.0):
        raise InputError(
            f"{logs[0].source}: latitude and longitude look swapped (a latitude of {lat[0]:g} is "
            "off the globe); set --columns lat=NAME,lon=NAME"
        )


def _strays(lat: Array, lon: Array, why: Rows, drop: Any) -> None:
    """Drop small groups of soundings far from the main one."""
    some = np.flatnonzero(why == 0)
    if some.size < 3:
        return
    middle = (float(np.median(lat[some])), float(np.median(lon[some])))
    # Degrees will do to tell near from far, and never fail however wild the fixes.
    y = (lat[some] - middle[0]) * 111_200.0
    x = (
        ((lon[some] - middle[1] + 180.0) % 360.0 - 180.0)
        * 111_320.0
        * np.cos(np.radians(middle[0]))
    )
    link = 250.0
    wide = float(np.quantile(np.hypot(x, y), 0.95))
    link = max(link, 0.25 * wide)
    span = 4000 * link
    wild = (np.abs(x) > span) | (np.abs(y) > span)
    i = np.clip(np.floor(y / link), -4000, 4000).astype(np.int64)
    j = np.clip(np.floor(x / link), -4000, 4000).astype(np.int64)
    i, j = i - i.min(), j - j.min()
    taken = np.zeros((int(i.max()) + 1, int(j.max()) + 1), bool)
    taken[i, j] = True
    group, _ = scipy.ndimage.label(taken, structure=np.ones((3, 3)))
    mine = group[i, j]
    mine[wild] = 0
    count = np.bincount(mine)
    main = int(count.argmax())
    others = [g for g in np.unique(mine) if g != main]
    large = [g for g in others if count[g] >= 0.05 * some.size and count[g] >= 20]
    if large:
        at = mine == large[0]
        core = mine == main
        middle_x, middle_y = float(np.median(x[core])), float(np.median(y[core]))
        own = float(np.quantile(np.hypot(x[core] - middle_x, y[core] - middle_y), 0.95))
        away = float(np.hypot(np.median(x[at]) - middle_x, np.median(y[at]) - middle_y))
        if away > 4.0 * max(own, 500.0) or away > 50_000.0:
            raise InputError(
                f"{int(count[large[0]]):,} of the soundings lie {away / 1000:.0f} km from the "
                "rest: two lakes? expected one; build them apart"
            )
    bad = np.zeros(lat.size, bool)
    bad[some[np.isin(mine, [g for g in others if g not in large])]] = True
    drop(bad, "stray")


def doubts(clean_ones: Clean, unit_known: bool) -> list[str]:
    """Say what looks wrong with the depths as a whole.

    Parameters
    ----------
    clean_ones : Clean
        The soundings.
    unit_known : bool
        Whether the file or the user named the unit.

    Returns
    -------
    list of str
        Doubts, in plain words.
    """
    out: list[str] = []
    d = clean_ones.depth
    deep = float(np.quantile(d, 0.95)) > 60.0
    if not unit_known and (deep or _steep(clean_ones)):
        why = "that deep" if deep else "its bottom that steep"
        out.append(
            f"read as metres this lake is {d.max():.0f} m deep; few are {why}: if the depths are "
            "feet, set --depth-unit ft"
        )
    return out


def _steep(found: Clean) -> bool:
    """Tell whether neighbours differ more than the bottoms of most lakes allow."""
    x, y = Place.about(found.latitude, found.longitude).to_metres(found.latitude, found.longitude)
    points = np.column_stack([x, y])
    some = points[:: max(len(points) // 20_000, 1)]
    step, near = neighbours(points, some, 5)
    z = found.depth[:: max(len(points) // 20_000, 1)]
    rise = np.abs(found.depth[near] - z[:, None])
    close = (step > 1.0) & (step < 30.0)
    return bool(close.sum() > 20 and np.quantile(rise[close] / step[close], 0.9) > 0.45)
