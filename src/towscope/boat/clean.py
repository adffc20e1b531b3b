"""Fixes sorted, merged, tested and smoothed into a track, every repair named.

Nothing is mended in silence: every fix left out, moved or averaged is counted in the track's
`repairs`, every time without fixes stands in its `gaps`, and what cannot be mended is refused.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from towscope.arrays import Array, Flags, Integers
from towscope.boat.smooth import agility, scatter, smooth
from towscope.boat.track import BoatTrack, Fixes, Gap, clock
from towscope.errors import InputError
from towscope.geodesy import Globe

FASTEST = 30.0  # [m/s], 67 mph; no boat that trolls outruns it
SLACK = 20.0  # [m]; a receiver's own hop, over and above that
FAR = 200_000.0  # [m]; level metres end here, and so does any lake
SHORT_CHAIN, SHORT_TIME = 10, 20.0  # fixes, [s]: a jump that comes back sooner was none
MOST_JUMPS = 20_000
MOST_OFF = 0.3  # of the fixes; where more lie off the boat's way, it is no way
FEW = 0.5  # of the file's fixes; an answer from less says so before all else
FINE = 0.2  # [s]; closer fixes tell nothing about a boat
SHORT_GAP, LONG_GAP = 10.0, 120.0  # [s]; named from the first on, not bridged from the second on
MANY = 5.0  # times the usual time between fixes
SPARSE = 45.0  # [s]; fixes so far apart hide turns
TOLD = 0.05  # [m]; smoothing that moves fixes by less is not worth a word


@dataclass(frozen=True)
class _Work:
    """Fixes under repair: moments [s], places as read, number of the file's own stretch."""

    time: Array
    first: Array
    second: Array
    stretch: Integers
    notes: tuple[str, ...]

    def keep(self, which: Flags | Integers, *notes: str) -> _Work:
        return _Work(
            self.time[which],
            self.first[which],
            self.second[which],
            self.stretch[which],
            (*self.notes, *notes),
        )

    def __len__(self) -> int:
        return int(self.time.size)


def clean(fixes: Fixes, *, longest: float | None = None) -> BoatTrack:
    """Make a track of fixes.

    Parameters
    ----------
    fixes : Fixes
        As read.
    longest : float, optional
        Longest track taken [s].

    Returns
    -------
    BoatTrack
        The boat's way.

    Raises
    ------
    InputError
        Where fewer than two fixes are left, time runs backwards for good, the places make no
        sense, or the track is longer than is taken.

    Examples
    --------
    A boat going east at 1 m/s; one fix is a kilometre off, one comes twice. Where is it after 8 s?

    >>> t = np.array([0.0, 1, 2, 3, 4, 4, 5, 6, 7, 8, 9, 10])
    >>> x = t.copy()
    >>> x[7] += 1000.0
    >>> track = clean(Fixes(t, x, 0 * t, on_globe=False, dated=False))
    >>> [round(float(v), 2) for v in track.at([8.0])[0]]
    [8.0]
    >>> len(track.repairs)
    2
    """
    stretch = np.zeros(len(fixes), dtype=np.int64)
    for start in fixes.starts:
        stretch[start:] += 1
    work = _Work(fixes.time, fixes.first, fixes.second, stretch, fixes.notes)
    work = _known(work, fixes)
    globe = _frame(work) if fixes.on_globe else None
    work = _in_order(work, globe, fixes.source)
    if longest is not None and work.time[-1] - work.time[0] > longest:
        raise InputError(
            f"{fixes.source} spans {(work.time[-1] - work.time[0]) / 3600:.0f} hours "
            f"({len(work):,} fixes); expected at most {longest / 3600:.0f}: cut it by days"
        )
    usable = len(work)
    work = _once(work, globe)
    moments = len(work)
    work, jumps = _no_jumps(work, globe, fixes.source)
    usable -= moments - len(work)
    total = max(fixes.read, len(fixes))
    if usable < FEW * total:  # what the rest of the answer stands on is said first
        few = f"Check: only {usable:,} of the file's {_fixes(total)} could be used"
        work = replace(work, notes=(few, *work.notes))
    work = _thinned(work, globe)
    if len(work) < 2:
        raise InputError(
            f"{fixes.source} holds {_fixes(len(work), 'usable ')}; "
            f"expected a track of two or more{_because(work.notes)}"
        )
    if globe is not None:
        globe = Globe(float(work.first[0]), float(work.second[0]))
    return _track(work, globe, jumps, fixes)


def _fixes(count: int, what: str = "") -> str:
    return f"{count:,} {what}fix{'' if count == 1 else 'es'}"


def _because(notes: tuple[str, ...]) -> str:
    return f" ({'; '.join(notes)})" if notes else ""


def _metres(work: _Work, globe: Globe | None) -> tuple[Array, Array]:
    if globe is None:
        return work.first, work.second
    return globe.to_metres(work.first, work.second)


def _known(work: _Work, fixes: Fixes) -> _Work:
    """Leave out fixes without a time or a place."""
    timed = np.isfinite(work.time)
    with np.errstate(invalid="ignore"):
        if fixes.on_globe:
            placed = (np.abs(work.first) <= 90.0) & (np.abs(work.second) <= 360.0)
        else:
            placed = (np.abs(work.first) < 1e7) & (np.abs(work.second) < 1e7)
    good = timed & placed
    if fixes.on_globe:
        nowhere = good & (work.first == 0.0) & (work.second == 0.0)
        if nowhere.any() and not nowhere[good].all():
            good &= ~nowhere
    lost = int((~good).sum())
    if not good.any():
        raise InputError(
            f"{fixes.source}: none of its {len(work)} fixes has both a time and a sane place; "
            + (
                "expected latitude -90 to 90, longitude -180 to 180 [degrees]"
                if fixes.on_globe
                else "expected seconds and metres"
            )
        )
    if not lost:
        return work
    no_time = int((~timed).sum())
    what = "time" if no_time == lost else "sane place" if no_time == 0 else "time or sane place"
    return work.keep(good, f"left out {_fixes(lost)} of {len(work):,}: no {what}")


def _frame(work: _Work) -> Globe:
    """Give a frame about a fix in the middle, which is hardly one of the bad ones."""
    middle = int(np.argsort(work.first, kind="stable")[len(work) // 2])
    return Globe(float(work.first[middle]), float(work.second[middle]))


def _too_fast(x: Array, y: Array, time: Array) -> Flags:
    step = np.hypot(np.diff(x), np.diff(y))
    return np.asarray(step > SLACK + FASTEST * np.abs(np.diff(time)))


def _in_order(work: _Work, globe: Globe | None, source: str) -> _Work:
    """Put fixes in order of time, where that makes sense."""
    step = np.diff(work.time)
    if not (step < 0.0).any():
        return work
    if not (step > 0.0).any():
        words = "the track runs backwards in time: turned round"
        return work.keep(np.arange(len(work))[::-1], words)
    late = work.time < np.maximum.accumulate(work.time)
    order = np.argsort(work.time, kind="stable")
    ordered = work.keep(order, f"put {_fixes(int(late.sum()))} in order of time")
    before = int(_too_fast(*_metres(work, globe), work.time).sum())
    after = int(_too_fast(*_metres(ordered, globe), ordered.time).sum())
    if after > before + 2:
        at = int(np.argmax(step < 0.0))
        raise InputError(
            f"{source}: time runs backwards after fix {at + 1}, by {clock(-step[at])}, and in "
            "order of time the boat would leap to and fro; expected rising times: cut the track "
            "there"
        )
    return ordered


def _once(work: _Work, globe: Globe | None) -> _Work:
    """Make one of fixes at the same moment."""
    step = np.diff(work.time)
    again = np.concatenate([[False], step < 1e-3])
    if not again.any():
        return work
    x, y = _metres(work, globe)
    group = np.cumsum(~again) - 1
    apart = np.concatenate([[0.0], np.hypot(np.diff(x), np.diff(y))])
    copies = int((again & (apart < 1e-3)).sum())
    others = int(again.sum()) - copies
    notes = []
    if copies:
        notes.append(f"left out {_fixes(copies)}: the same as another")
    if others:
        far = float(apart[again].max())
        notes.append(
            f"averaged {_fixes(others)} with another of the same moment, up to {far:.0f} m off"
        )
    return _averaged(work, group, globe, notes)


def _averaged(work: _Work, group: Integers, globe: Globe | None, notes: list[str]) -> _Work:
    """Give one mean fix for each group, numbered from 0 upwards."""
    count = np.bincount(group)
    first = np.searchsorted(group, np.arange(count.size))

    def mean(values: Array) -> Array:
        zero = float(values[0])
        return zero + np.bincount(group, weights=values - zero) / count

    x, y = _metres(work, globe)
    # a middle place is taken in metres: degrees have a seam
    a, b = mean(x), mean(y)
    if globe is not None:
        a, b = globe.to_globe(a, b)
        single = count == 1
        a, b = (np.where(single, work.first[first], a), np.where(single, work.second[first], b))
    return _Work(mean(work.time), a, b, work.stretch[first], (*work.notes, *notes))


def _no_jumps(work: _Work, globe: Globe | None, source: str) -> tuple[_Work, list[int]]:
    """Leave out fixes that no boat could have reached; give where it truly went on elsewhere."""
    x, y = _metres(work, globe)
    fast = _too_fast(x, y, work.time)
    if not fast.any():
        _not_too_far(x, y, source)
        return work, []
    edges = np.concatenate([[0], np.flatnonzero(fast) + 1, [len(work)]])
    if edges.size > MOST_JUMPS:
        raise InputError(
            f"{source}: the boat leaps faster than {FASTEST:g} m/s at {edges.size - 2:,} places; "
            "expected the track of one boat, degrees as latitude, longitude"
        )
    sizes = np.diff(edges)
    anchor = int(np.argmax(sizes))
    keep = np.zeros(len(work), dtype=np.bool_)
    keep[edges[anchor] : edges[anchor + 1]] = True
    cuts: list[int] = []
    off = 0.0

    def reachable(i: int, j: int) -> bool:
        away = float(np.hypot(x[i] - x[j], y[i] - y[j]))
        return away <= SLACK + FASTEST * abs(float(work.time[i] - work.time[j]))

    for way in (1, -1):
        last = int(edges[anchor + 1] - 1) if way > 0 else int(edges[anchor])
        chain = anchor + way
        while 0 <= chain < sizes.size:
            a, b = int(edges[chain]), int(edges[chain + 1])
            near, far = (a, b - 1) if way > 0 else (b - 1, a)
            long = sizes[chain] >= SHORT_CHAIN and work.time[b - 1] - work.time[a] >= SHORT_TIME
            fits = reachable(last, near)
            if fits or long:
                keep[a:b] = True
                if not fits:
                    cuts.append(near if way > 0 else last)
                last = far
            else:
                off = max(off, float(np.hypot(x[near] - x[last], y[near] - y[last])))
            chain += way
    lost = int((~keep).sum())
    if lost > MOST_OFF * len(work):
        raise InputError(
            f"{source}: {lost:,} of {len(work):,} fixes lie where no boat could have got to in "
            "time; expected the track of one boat, in metres or as latitude, longitude"
        )
    notes = (f"left out {_fixes(lost)} up to {off:,.0f} m off the boat's way",) if lost else ()
    before = np.cumsum(keep)
    _not_too_far(x[keep], y[keep], source)
    return work.keep(keep, *notes), sorted(int(before[cut]) - 1 for cut in cuts)


def _not_too_far(x: Array, y: Array, source: str) -> None:
    reach = float(np.hypot(x, y).max()) if x.size else 0.0
    if reach > FAR:
        raise InputError(
            f"{source} goes {reach / 1000:,.0f} km away; expected a day on one lake, within "
            f"{FAR / 1000:.0f} km"
        )


def _thinned(work: _Work, globe: Globe | None) -> _Work:
    """Average fixes that stand closer in time than tells anything."""
    if len(work) < 3 or float(np.median(np.diff(work.time))) > 0.75 * FINE:
        return work
    slot = np.floor((work.time - work.time[0]) / FINE).astype(np.int64)
    group = np.cumsum(np.concatenate([[False], np.diff(slot) > 0]))
    note = f"averaged {_fixes(len(work))} over {FINE:g} s each, to {int(group[-1]) + 1:,}"
    return _averaged(work, group, globe, [note])


def _track(work: _Work, globe: Globe | None, jumps: list[int], fixes: Fixes) -> BoatTrack:
    """Name the gaps, smooth each stretch, and put all together."""
    x, y = _metres(work, globe)
    zero = float(work.time[0]) if fixes.dated else 0.0
    time = work.time - zero
    gaps, cuts = _gaps(time, x, y, work.stretch, jumps)
    notes = list(work.notes)
    ends = np.array([0, *cuts, len(work)])
    lone = [int(a) for a, b in pairwise(ends) if b - a < 2]
    if lone and len(work) - len(lone) >= 2:
        keep = np.ones(len(work), dtype=np.bool_)
        keep[lone] = False
        words = f"left out {_fixes(len(lone), 'lone ')} between gaps"
        return _track(work.keep(keep, words), globe, _moved(jumps, keep), fixes)
    usual = float(np.median(np.diff(time)))
    if usual > SPARSE:
        notes.append(f"fixes stand {usual:.0f} s apart: turns between them cannot be seen")
    spans = [slice(int(a), int(b)) for a, b in pairwise(ends)]
    spread = _spread(time, x, y, spans, fixes.on_globe)
    boat = agility([(time[s], x[s], y[s]) for s in spans], spread)
    parts = [smooth(time[s], x[s], y[s], spread, boat) for s in spans]
    sx, sy, vx, vy, sd = (
        np.concatenate([getattr(p, name) for p in parts]) for name in ("x", "y", "vx", "vy", "sd")
    )
    doubted = np.concatenate([p.doubted for p in parts])
    moved = np.hypot(sx - x, sy - y)
    if doubted.any():
        notes.append(
            f"did not follow {_fixes(int(doubted.sum()))} up to "
            f"{float(moved[doubted].max()):.0f} m off the others"
        )
    rest = moved[~doubted]
    if float(rest.max()) > TOLD:
        usually = float(np.sqrt((rest**2).mean()))
        notes.append(
            f"smoothed: fixes scatter by {spread:.2f} m; moved by {usually:.2f} m on "
            f"average, {float(rest.max()):.2f} m at most"
        )
    return BoatTrack(
        time,
        sx,
        sy,
        vx,
        vy,
        sd,
        tuple(cuts),
        tuple(gaps),
        tuple(notes),
        globe,
        zero if fixes.dated else None,
    )


def _moved(cuts: list[int], keep: Flags) -> list[int]:
    """Give where cuts lie once some fixes are gone."""
    before = np.concatenate([[0], np.cumsum(keep)])
    return sorted({int(before[cut]) for cut in cuts} - {0, int(before[-1])})


def _spread(time: Array, x: Array, y: Array, spans: list[slice], on_globe: bool) -> float:
    longest = max(spans, key=lambda s: s.stop - s.start)
    if longest.stop - longest.start < 12 and not on_globe:
        return 0.01  # a handful of metres, written by somebody: taken at their word
    return scatter(time[longest], x[longest], y[longest])


def _gaps(
    time: Array, x: Array, y: Array, stretch: Integers, jumps: list[int]
) -> tuple[list[Gap], list[int]]:
    """Name the times without fixes; give where new stretches begin."""
    step = np.diff(time)
    usual = float(np.median(step))
    short, long = max(SHORT_GAP, MANY * usual), max(LONG_GAP, MANY * usual)
    new = np.diff(stretch) != 0
    leap = np.zeros(step.size, dtype=np.bool_)
    leap[[jump - 1 for jump in jumps if 0 < jump <= step.size]] = True
    gaps, cuts = [], []
    for i in np.flatnonzero((step > short) | new | leap):
        bridged = bool(step[i] <= long and not leap[i])
        why = (
            "a leap no boat makes"
            if leap[i]
            else "a new segment begins in the file"
            if new[i]
            else "no fixes"
        )
        far = float(np.hypot(x[i + 1] - x[i], y[i + 1] - y[i]))
        gaps.append(Gap(float(time[i]), float(time[i + 1]), far, bridged, why))
        if not bridged:
            cuts.append(int(i) + 1)
    return gaps, cuts


def between(track: BoatTrack, start: float, end: float) -> BoatTrack:
    """Give the part of a track between two moments [s on its clock].

    Raises
    ------
    InputError
        Where fewer than two fixes lie between them.
    """
    a = int(np.searchsorted(track.time, start - 1e-9))
    b = int(np.searchsorted(track.time, end + 1e-9))
    if b - a < 2:
        raise InputError(
            f"no track from {clock(start)} to {clock(end)}; it runs from {clock(track.time[0])} "
            f"to {clock(track.time[-1])}"
        )
    own = slice(a, b)
    return replace(
        track,
        time=track.time[own],
        x=track.x[own],
        y=track.y[own],
        vx=track.vx[own],
        vy=track.vy[own],
        sd=track.sd[own],
        cuts=tuple(c - a for c in track.cuts if a < c < b),
        gaps=tuple(g for g in track.gaps if g.start >= start - 1e-9 and g.end <= end + 1e-9),
    )
