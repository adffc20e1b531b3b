"""Stints cut from entries and track: how much was fished, with what, where and how deep.

A line counts while it is in the water and the boat is not running between spots. Each stretch of
one lure fished unchanged becomes a `Stint`; long ones are cut, so that the hour, the sky, the speed
and the place mean something.
"""

from __future__ import annotations

import gc
import hashlib
import json
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, fields
from datetime import date, datetime, timedelta, timezone
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from towscope.effort.stint import Stint
from towscope.journal.events import AnyEvent, Catch, StrikeMissed
from towscope.journal.replay import LineSpan, StandingEntries, Weather, weather
from towscope.journal.times import day_at
from towscope.journal.track import LoggedTrack, speeds

if TYPE_CHECKING:
    from towscope.journal.store import Store

DepthAt = Callable[[str, str, float, float], float | None]
"""Depth of the lure [m] for a rig's name, a lure's ("" for the rig's own), a let-out [m] and a
speed through the water [m/s]."""

# Trolling lead core ends well below this, and no line stays down above it; a boat that passes it
# for a while is on its way somewhere (common practice, no source).
RUNNING_M_S: Final = 2.5
# Shorter bursts are waves, turns or a receiver's jump; a shorter stop on the way is no fishing.
RUNNING_LEAST_S: Final = 20.0
FISHING_LEAST_S: Final = 30.0
LONGEST_S: Final = 1800.0
_VERSION: Final = 1


@dataclass(frozen=True)
class FishedWay:
    """The boat's way with all that effort needs of it worked out once.

    Attributes
    ----------
    track : LoggedTrack
        The track.
    speed_m_s : ndarray (n,)
        Smoothed speed [m/s].
    sum_m : ndarray (n,)
        Speed summed over time, for means over any window [m].
    sum_s : ndarray (n,)
        The time that sum stands for [s]: gaps count in neither.
    running : tuple of (float, float)
        When the boat ran between spots, unix time [s].
    """

    track: LoggedTrack
    speed_m_s: Any
    sum_m: Any
    sum_s: Any
    running: tuple[tuple[float, float], ...]

    def mean_speed(self, start_s: float, end_s: float) -> float | None:
        """Give the mean speed between two times [m/s]; None where the track knows nothing."""
        t = self.track.t_s
        if t.size < 2 or end_s <= start_s:
            return None
        way, time = (
            np.interp(end_s, t, total) - np.interp(start_s, t, total)
            for total in (self.sum_m, self.sum_s)
        )
        return float(way / time) if time > 0.2 * (end_s - start_s) else None

    def place(self, at_s: float) -> tuple[float, float] | None:
        """Give where the boat was, (lat, lon) [deg]; None more than 2 min from a track point."""
        t = self.track.t_s
        if not t.size:
            return None
        i = int(np.clip(np.searchsorted(t, at_s), 1, max(t.size - 1, 1)))
        near = min(abs(t[min(i, t.size - 1)] - at_s), abs(t[i - 1] - at_s))
        if near > 120:
            return None
        return (
            float(np.interp(at_s, t, self.track.lat)),
            float(np.interp(at_s, t, self.track.lon)),
        )

    def surface_temp(self, at_s: float) -> float | None:
        """Give the surface temperature the sounder noted around a time [degC]."""
        near = self.track.between(at_s - 300, at_s + 300).surface_temp_c
        known = near[np.isfinite(near)]
        return float(np.median(known)) if known.size else None


def way_of(track: LoggedTrack, *, running_m_s: float = RUNNING_M_S) -> FishedWay:
    """Work out speed and running between spots from a track.

    Parameters
    ----------
    track : LoggedTrack
        The boat's track.
    running_m_s : float
        Above this speed the boat is not fishing [m/s].
    """
    speed = speeds(track)
    t = track.t_s
    if t.size < 2:
        return FishedWay(track, speed, np.zeros(t.size), np.zeros(t.size), ())
    gap = np.diff(t)
    middle = (speed[1:] + speed[:-1]) / 2
    known = np.isfinite(middle) & (gap <= 120)
    sum_m = np.concatenate(([0.0], np.cumsum(np.where(known, middle * gap, 0.0))))
    sum_s = np.concatenate(([0.0], np.cumsum(np.where(known, gap, 0.0))))
    with np.errstate(invalid="ignore"):
        fast = speed > running_m_s
    edges = np.flatnonzero(np.diff(np.concatenate(([0], fast.astype(np.int8), [0]))))
    runs = [
        [float(t[a]), float(t[min(b, t.size - 1)])]
        for a, b in zip(edges[::2], edges[1::2], strict=True)
    ]
    joined: list[list[float]] = []
    for run in runs:
        if joined and run[0] - joined[-1][1] < FISHING_LEAST_S:
            joined[-1][1] = run[1]
        else:
            joined.append(run)
    kept = tuple((a, b) for a, b in joined if b - a >= RUNNING_LEAST_S)
    return FishedWay(track, speed, sum_m, sum_s, kept)


def _outside(
    start: float, end: float, gaps: Iterable[tuple[float, float]]
) -> list[tuple[float, float]]:
    """Give what is left of a span once the gaps are cut out of it."""
    left = [(start, end)] if end > start else []
    for a, b in gaps:
        left = [
            piece
            for low, high in left
            for piece in ((low, min(high, a)), (max(low, b), high))
            if piece[1] > piece[0]
        ]
    return left


def stints(
    journal: StandingEntries,
    track: LoggedTrack | None = None,
    *,
    depth_at: DepthAt | None = None,
    until_s: float | None = None,
    running_m_s: float = RUNNING_M_S,
    longest_s: float = LONGEST_S,
) -> list[Stint]:
    """Give a day's effort.

    The lure does not feel the boat's speed at once: a line's shape follows over about the time the
    boat takes to cover the line that is out. So depth is taken at the boat's mean speed over that
    time before, and the place is the boat's that long ago.

    Parameters
    ----------
    journal : StandingEntries
        The day's entries as they stand.
    track : LoggedTrack, optional
        The boat's track; without it every hour with a line out counts, and speeds are unknown.
    depth_at : callable, optional
        The engine: (rig, lure, let-out [m], speed [m/s]) to depth [m] or None.
    until_s : float, optional
        Where lines still out end, unix time [s]: now, on the day itself. Without it they end with
        the last entry or track point.
    running_m_s : float
        Above this speed the boat is not fishing [m/s].
    longest_s : float
        Longer stints are cut into equal parts [s].

    Returns
    -------
    list of Stint
        In order of start. Catches and missed strikes that no line explains are in none of them.
    """
    if not journal.events:
        return []
    way = way_of(track, running_m_s=running_m_s) if track is not None else None
    if until_s is None and way is not None and len(way.track):
        last = float(way.track.t_s[-1])
        until_s = last if last - journal.events[-1].at_s < 6 * 3600 else None
    skies = weather(journal.events)
    changes = sorted({at for at, _ in skies})
    pieces: list[tuple[LineSpan, float, float]] = []
    for span in journal.spans(until_s):
        inner = [c for c in changes if span.start_s < c < span.end_s]
        for low, high in _outside(span.start_s, span.end_s, way.running if way else ()):
            cuts = [low, *(c for c in inner if low < c < high), high]
            for a, b in pairwise(cuts):
                parts = max(1, math.ceil((b - a) / longest_s - 1e-9))
                step = (b - a) / parts
                pieces.extend((span, a + i * step, a + (i + 1) * step) for i in range(parts))
    pieces.sort(key=lambda p: (p[1], p[0].rod, p[2]))
    zone = journal.events[0].at.tzinfo
    found = _fish(journal.events, pieces)
    return [
        _stint(span, a, b, found.get(i, []), way, skies, depth_at, zone)
        for i, (span, a, b) in enumerate(pieces)
    ]


def _fish(
    events: Sequence[AnyEvent], pieces: Sequence[tuple[LineSpan, float, float]]
) -> dict[int, list[AnyEvent]]:
    """Give each catch and missed strike to the piece it belongs to."""
    by_rod: dict[str, list[int]] = {}
    for i, (span, _, _) in enumerate(pieces):
        by_rod.setdefault(span.rod, []).append(i)
    found: dict[int, list[AnyEvent]] = {}
    for event in events:
        if not isinstance(event, (Catch, StrikeMissed)) or event.rod not in by_rod:
            continue
        at = event.at_s
        inside = [i for i in by_rod[event.rod] if pieces[i][0].start_s <= at <= pieces[i][0].end_s]
        if inside:
            # the piece that holds it; one on the edge belongs to what was fished until then; one
            # entered while the boat already ran belongs to the nearest piece of the same line
            best = min(
                inside,
                key=lambda i: (max(pieces[i][1] - at, at - pieces[i][2], 0.0), pieces[i][1]),
            )
            found.setdefault(best, []).append(event)
    return found


def _stint(
    span: LineSpan,
    start_s: float,
    end_s: float,
    fish: Sequence[AnyEvent],
    way: FishedWay | None,
    skies: Sequence[tuple[float, Weather]],
    depth_at: DepthAt | None,
    zone: Any,
) -> Stint:
    middle = (start_s + end_s) / 2
    lag = 0.0
    speed = depth = None
    place: tuple[float, float] | None = None
    if way is not None:
        now = way.mean_speed(start_s, end_s)
        lag = lag_s(span.let_out_m, now)
        low = max(start_s - lag, span.start_s)  # before that its line was not out
        speed = way.mean_speed(low, max(end_s - lag, low + 10.0)) or now
        place = way.place(middle - lag) or way.place(middle)
        if depth_at is not None and span.let_out_m is not None and span.rig:
            depth = _mean_depth(span, start_s, end_s, lag, way, depth_at)
    known = Weather()
    for at, told in skies:
        if at <= middle:
            known = told
    temp = way.surface_temp(middle) if way is not None else None  # measured then beats noted before
    if temp is None:
        temp = known.surface_temp_c
    local = datetime.fromtimestamp(middle, zone)
    catches = [event for event in fish if isinstance(event, Catch)]
    return Stint(
        rod=span.rod,
        rig=span.rig,
        lure=span.lure,
        body=span.body,
        size_m=span.size_m,
        colour=span.colour,
        depth_m=depth,
        speed_m_s=speed,
        let_out_m=span.let_out_m,
        start_s=start_s,
        end_s=end_s,
        hours=(end_s - start_s) / 3600,
        catches=len(catches),
        strikes_missed=len(fish) - len(catches),
        lat=place[0] if place else None,
        lon=place[1] if place else None,
        light=known.sky,
        surface_temp_c=temp,
        day=day_at(local).isoformat(),
        hour=local.hour + local.minute / 60 + local.second / 3600,
        species=tuple(event.species or "" for event in catches),
    )


def lag_s(let_out_m: float | None, speed_m_s: float | None) -> float:
    """Give the time after which the lure is where the boat was: the line out over the speed [s].

    >>> round(lag_s(50.0, 0.9))
    56
    """
    if let_out_m is None or speed_m_s is None or speed_m_s < 0.2:
        return 0.0
    return min(let_out_m / speed_m_s, 300.0)


def _mean_depth(
    span: LineSpan, start_s: float, end_s: float, lag: float, way: FishedWay, depth_at: DepthAt
) -> float | None:
    """Average the lure's depth over a stint, each moment at the mean speed of the lag before it."""
    count = int(min(max((end_s - start_s) / 30.0, 1), 60))
    depths = []
    for i in range(count):
        at = start_s + (i + 0.5) * (end_s - start_s) / count
        depth = depth_then(span, at, lag, way, depth_at)
        if depth is not None:
            depths.append(depth)
    return sum(depths) / len(depths) if depths else None


def depth_then(
    span: LineSpan, at_s: float, lag: float, way: FishedWay, depth_at: DepthAt
) -> float | None:
    """Give the lure's depth at one moment [m]; None where rig, line out or speed is unknown."""
    if span.let_out_m is None or not span.rig:
        return None
    # what the boat did before the line was out does not bear on it
    low = min(max(at_s - lag, span.start_s), at_s - 10.0)
    speed = way.mean_speed(low, at_s)
    if speed is None:
        return None
    return depth_at(span.rig, span.lure, span.let_out_m, round(speed / 0.02) * 0.02)


def catch_depths(
    journal: StandingEntries,
    track: LoggedTrack,
    depth_at: DepthAt,
    *,
    running_m_s: float = RUNNING_M_S,
) -> dict[str, float]:
    """Give how deep each catch took the lure, by the engine [m], for those where it can be known.

    Parameters
    ----------
    journal : StandingEntries
        The day's entries.
    track : LoggedTrack
        The boat's track.
    depth_at : callable
        The engine.
    running_m_s : float
        Above this speed the boat is not fishing [m/s].

    Returns
    -------
    dict
        Entry id to depth [m].
    """
    way = way_of(track, running_m_s=running_m_s)
    spans = journal.spans()
    out: dict[str, float] = {}
    for event in journal.events:
        if not isinstance(event, Catch) or event.rod is None:
            continue
        for span in spans:
            if span.rod == event.rod and span.start_s <= event.at_s <= span.end_s:
                lag = lag_s(span.let_out_m, way.mean_speed(event.at_s - 120, event.at_s))
                depth = depth_then(span, event.at_s, lag, way, depth_at)
                if depth is not None:
                    out[event.id] = depth
                break
    return out


def unplaced(journal: StandingEntries, found: Iterable[Stint]) -> int:
    """Count catches that no stint holds: no rod said, or no line out then."""
    caught = sum(isinstance(event, Catch) for event in journal.events)
    return caught - sum(stint.catches for stint in found)


# -- a season ------------------------------------------------------------------------------------

_FIELDS: Final = tuple(field.name for field in fields(Stint))


def season(
    store: Store,
    *,
    first: date | None = None,
    last: date | None = None,
    depth_at: DepthAt | None = None,
    tackle: str = "",
    now_s: float | None = None,
    running_m_s: float = RUNNING_M_S,
) -> list[Stint]:
    """Give the effort of many days, computing only what has changed since it was last asked.

    Parameters
    ----------
    store : Store
        The journal's store.
    first, last : date, optional
        Only days from `first` to `last`, both included.
    depth_at : callable, optional
        The engine, as for `stints`.
    tackle : str
        What `depth_at` depends on (a fingerprint of the tackle): effort kept under another is
        computed anew.
    now_s : float, optional
        The present, unix time [s]; the day it falls in is never kept, for it goes on.
    running_m_s : float
        Above this speed the boat is not fishing [m/s].

    Returns
    -------
    list of Stint
        In order of day and start.
    """
    key = f"{_VERSION}|{_FIELDS}|{tackle}|{depth_at is not None}|{running_m_s:g}"
    wanted = {
        day: hashlib.sha256(f"{key}|{mark}".encode()).hexdigest()
        for day, mark in store.fingerprints().items()
        if (first is None or day >= first.isoformat()) and (last is None or day <= last.isoformat())
    }
    kept = store.kept_effort()
    out: list[Stint] = []
    collecting = gc.isenabled()
    gc.disable()  # nothing here is circular, and looking for it takes as long as the work
    try:
        return _season(store, wanted, kept, out, depth_at, now_s, running_m_s)
    finally:
        if collecting:
            gc.enable()


def _season(
    store: Store,
    wanted: Mapping[str, str],
    kept: Mapping[str, tuple[str, str]],
    out: list[Stint],
    depth_at: DepthAt | None,
    now_s: float | None,
    running_m_s: float,
) -> list[Stint]:
    fresh: dict[str, tuple[str, str]] = {}
    for day in sorted(wanted):
        if day in kept and kept[day][0] == wanted[day]:
            out.extend(unpack(kept[day][1]))
            continue
        journal, track = store.day(day), store.track(day)
        live = now_s is not None and abs(now_s - _noon_s(journal, day)) < 36 * 3600
        # a line left out is fished to this moment on its own day only, not through the night
        until = now_s if live and _today(journal, now_s) == day and journal.out() else None
        made = stints(
            journal,
            track if len(track) else None,
            depth_at=depth_at,
            until_s=until,
            running_m_s=running_m_s,
        )
        out.extend(made)
        if not live:
            fresh[day] = (wanted[day], pack(made))
    store.keep_effort(fresh)
    return out


def _today(journal: StandingEntries, now_s: float | None) -> str:
    zone = journal.events[0].at.tzinfo if journal.events else None
    return "" if now_s is None else day_at(datetime.fromtimestamp(now_s, zone)).isoformat()


def _noon_s(journal: StandingEntries, day: str) -> float:
    zone = journal.events[0].at.tzinfo if journal.events else timezone(timedelta(0))
    return (datetime.fromisoformat(day).replace(tzinfo=zone) + timedelta(hours=12)).timestamp()


def pack(rows: Sequence[Stint]) -> str:
    """Write stints as one line of JSON, column names first."""
    body = [[getattr(stint, name) for name in _FIELDS] for stint in rows]
    return json.dumps([list(_FIELDS), body], separators=(",", ":"), ensure_ascii=False)


def unpack(text: str) -> list[Stint]:
    """Read stints back."""
    _, body = json.loads(text)
    return [_from(row) for row in body]


def _from(row: list[Any]) -> Stint:
    row[-1] = tuple(row[-1])  # species, the last field
    stint = object.__new__(Stint)  # a frozen class's own way costs five times as much, and a
    stint.__dict__.update(zip(_FIELDS, row, strict=True))  # season has a hundred thousand
    return stint


def total(
    rows: Iterable[Stint], by: Sequence[str], steps: Mapping[str, float] | None = None
) -> list[dict[str, Any]]:
    """Add effort up by any of a stint's attributes.

    Parameters
    ----------
    rows : iterable of Stint
        The effort.
    by : sequence of str
        Attributes: "lure", "colour", "rod", "light", ... .
    steps : mapping, optional
        Width of the bands that a figure is put in, in its own unit: ``{"depth_m": 1.5}``. The
        band's lower edge stands for it.

    Returns
    -------
    list of dict
        One for each combination: the attributes, ``hours`` [h], ``catches``, ``strikes_missed`` and
        ``mean_depth_m`` weighted by hours; most hours first.

    Examples
    --------
    >>> total([], ["lure"])
    []
    """
    groups: dict[tuple[Any, ...], list[Stint]] = {}
    for stint in rows:
        key = tuple(_banded(getattr(stint, name), (steps or {}).get(name)) for name in by)
        groups.setdefault(key, []).append(stint)
    out = []
    for key, group in groups.items():
        hours = sum(stint.hours for stint in group)
        deep = [stint for stint in group if stint.depth_m is not None and stint.hours > 0]
        weight = sum(stint.hours for stint in deep)
        mean = sum((s.depth_m or 0) * s.hours for s in deep) / weight if weight else None
        out.append(
            {
                **dict(zip(by, key, strict=True)),
                "hours": hours,
                "catches": sum(stint.catches for stint in group),
                "strikes_missed": sum(stint.strikes_missed for stint in group),
                "mean_depth_m": mean,
            }
        )
    out.sort(key=lambda row: (-row["hours"], repr(row)))
    return out


def _banded(value: Any, step: float | None) -> Any:
    if value is None or step is None:
        return value
    return round(math.floor(value / step + 1e-9) * step, 9)


def as_plain(stint: Stint) -> Mapping[str, Any]:
    """Give a stint's fields as plain values, for JSON."""
    return asdict(stint)
