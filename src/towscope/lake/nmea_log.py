"""What does a recorded NMEA 0183 log say of the bottom: fixes and depths, paired.

Depth sentences carry no place and mostly no time: each depth is placed between the fixes before
and after it. Where a log holds several kinds of depth, one is used: DBS (below the surface) before
DPT (below the transducer, with its offset) before DBT (below the transducer).

References
----------
NMEA 0183, version 4: DPT's offset is positive from the transducer to the water line, negative
from the transducer to the keel.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import numpy as np

from towscope.boat.read_nmea import PLACES, Listener
from towscope.errors import InputError, one_line
from towscope.lake.soundings import UNITS, Log, Reading

LIMIT = 2_000_000_000
WIDEST = 100  # sentences between the fixes on either side of a depth; more, and it has no place
_KINDS = ("DBS", "DPT", "DBT")


def read(path: Path, how: Reading, told: Callable[[str], None] | None = None) -> Log:
    """Read an NMEA 0183 log.

    Parameters
    ----------
    path : Path
        The log; anything before a sentence's ``$`` (a time stamp) is passed over.
    how : Reading
        ``transducer``: added to depths below the transducer that carry no offset to the surface.
    told : callable, optional
        Called with a line on progress.

    Returns
    -------
    Log
        The soundings.

    Raises
    ------
    InputError
        Where the log holds no fixes or no depths.
    """
    import pynmea2

    name = one_line(path.name, 60)
    size = path.stat().st_size
    if size > LIMIT:
        raise InputError(f"{name} is {size / 1e9:.1f} GB; expected a log of at most 2 GB")
    listener = Listener(strict=False)
    fixes: list[tuple[int, float, float]] = []
    depths: dict[str, list[tuple[int, int, float]]] = {kind: [] for kind in _KINDS}
    broken = 0
    keel = 0
    fix_kind = ""
    sentence = 0
    with path.open("r", encoding="ascii", errors="replace", newline=None) as stream:
        for line_number, line in enumerate(stream, 1):
            start = line.find("$")
            if start < 0 or len(line) > 1000:
                continue
            sentence += 1
            kind = line[start + 3 : start + 6]
            if kind in PLACES:
                fix = listener.take(line)
                # One kind of fix only: mixed kinds differ in age.
                fix_kind = fix_kind or (kind if fix else "")
                if fix is not None and kind == fix_kind:
                    fixes.append((sentence, fix.latitude, fix.longitude))
            elif kind in depths:
                try:
                    value, is_keel = _depth(
                        kind, pynmea2.parse(line[start:].strip()), how.transducer
                    )
                except (pynmea2.ParseError, ValueError, AttributeError, TypeError):
                    broken += 1  # a wrong checksum, or nonsense
                    continue
                keel += is_keel
                depths[kind].append((sentence, line_number, value))
            if told is not None and line_number % 100_000 == 0:
                told(f"{name}: line {line_number:,}")
    used = next((kind for kind in _KINDS if depths[kind]), None)
    if not fixes or used is None:
        what = "fixes (GGA, RMC, GLL)" if not fixes else "depths (DPT, DBT, DBS)"
        raise InputError(f"{name} holds no {what}; expected an NMEA 0183 log with fixes and depths")
    notes = [f"depths from {used}, fixes from {fix_kind}"]
    if spoilt := broken + listener.spoilt:
        notes.append(f"{spoilt:,} spoilt sentences passed over (wrong checksum or senseless)")
    if used == "DBT" and how.transducer == 0.0:
        notes.append(
            "DBT counts from the transducer: say --transducer if it hangs below the surface"
        )
    if keel:
        notes.append("DPT offsets are to the keel: depths counted from the transducer instead")
    at = np.array([d[0] for d in depths[used]], float)
    seen = np.array([f[0] for f in fixes], float)
    lat = np.interp(at, seen, [f[1] for f in fixes])
    lon = np.interp(at, seen, [f[2] for f in fixes])
    after = np.clip(np.searchsorted(seen, at), 1, max(seen.size - 1, 1))
    gap = seen[np.minimum(after, seen.size - 1)] - seen[after - 1]
    lost = (gap > WIDEST) | (at < seen[0] - WIDEST) | (at > seen[-1] + WIDEST)
    lat[lost], lon[lost] = np.nan, np.nan
    return Log(
        name,
        lat,
        lon,
        np.array([d[2] for d in depths[used]]),
        np.array([d[1] for d in depths[used]]),
        tuple(notes),
    )


def _depth(kind: str, said: object, transducer: float) -> tuple[float, bool]:
    """Give depth below the surface [m], NaN where lost, and whether it is given to the keel."""
    if kind == "DPT":
        depth = _figure(getattr(said, "depth", None))
        offset = _figure(getattr(said, "offset", None))
        if math.isfinite(offset) and offset > 0.0:
            return depth + offset, False
        return depth + transducer, math.isfinite(offset) and offset < 0.0
    depth = math.nan
    for key, unit in (("depth_meters", "m"), ("depth_feet", "ft"), ("depth_fathoms", "fathom")):
        depth = _figure(getattr(said, key, None)) * UNITS[unit]
        if math.isfinite(depth):
            break
    return depth + (transducer if kind == "DBT" else 0.0), False


def _figure(value: object) -> float:
    try:
        return float(value)  # type: ignore[arg-type]
    except (TypeError, ValueError):
        return math.nan
