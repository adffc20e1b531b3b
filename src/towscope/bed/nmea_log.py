"""Depths of an NMEA 0183 log placed between the fixes around them: soundings.

Depth sentences carry no place and mostly no time: each depth is placed between the fixes before
and after it. Where a log holds several kinds of depth, one is used: DBS (below the surface) before
DPT (below the transducer, with its offset) before DBT (below the transducer).

References
----------
NMEA 0183, version 4: DPT's offset is positive from the transducer to the water line, negative
from the transducer to the keel.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from towscope.bed.soundings import FileOptions, Log
from towscope.errors import InputError, one_line
from towscope.formats.nmea import DEPTHS, PLACES, Depth, Fix, TalkReader
from towscope.progress import Detail

LIMIT = 2_000_000_000
WIDEST = 100  # sentences between the fixes on either side of a depth; more, and it has no place


def read(path: Path, how: FileOptions, detail: Detail | None = None) -> Log:
    """Read an NMEA 0183 log.

    Parameters
    ----------
    path : Path
        The log; anything before a sentence's ``$`` (a time stamp) is passed over.
    how : FileOptions
        ``transducer``: added to depths below the transducer that carry no offset to the surface.
    detail : callable, optional
        Called with a line on what is being done.

    Returns
    -------
    Log
        The soundings.

    Raises
    ------
    InputError
        Where the log holds no fixes or no depths.
    """
    name = one_line(path.name, 60)
    size = path.stat().st_size
    if size > LIMIT:
        raise InputError(f"{name} is {size / 1e9:.1f} GB; expected a log of at most 2 GB")
    listener = TalkReader(kinds=(*PLACES, *DEPTHS), strict=False)
    fixes: list[tuple[int, float, float]] = []
    depths: dict[str, list[tuple[int, int, Depth]]] = {kind: [] for kind in DEPTHS}
    fix_kind = ""
    sentence = 0
    with path.open("r", encoding="latin-1", newline=None) as stream:
        for line_number, line in enumerate(stream, 1):
            if "\x00" in line:  # left where a logger was switched off in mid-write
                line = line.replace("\x00", "")
            if "$" not in line or len(line) > 1000:
                continue
            sentence += 1
            for heard in listener.hear(line):
                if isinstance(heard, Depth):
                    depths[heard.kind].append((sentence, line_number, heard))
                elif isinstance(heard, Fix):
                    # One kind of fix only: mixed kinds differ in age.
                    fix_kind = fix_kind or heard.kind
                    if heard.kind == fix_kind:
                        fixes.append((sentence, heard.latitude, heard.longitude))
            if detail is not None and line_number % 100_000 == 0:
                detail(f"{name}: line {line_number:,}")
    used = next((kind for kind in DEPTHS if depths[kind]), None)
    if not fixes or used is None:
        unmeasured = listener.unmeasured()
        places = f"measured fixes ({unmeasured})" if unmeasured else "fixes (GGA, RMC, GLL)"
        what = places if not fixes else "depths (DPT, DBT, DBS)"
        raise InputError(f"{name} holds no {what}; expected an NMEA 0183 log with fixes and depths")
    notes = [f"depths from {used}, fixes from {fix_kind}"]
    if listener.spoilt:
        notes.append(f"{listener.spoilt:,} spoilt sentences passed over ({listener.why()})")
    if listener.unmeasured():
        notes.append(f"places that no receiver measured passed over: {listener.unmeasured()}")
    if used == "DBT" and how.transducer == 0.0:
        notes.append(
            "DBT counts from the transducer: set --transducer if it hangs below the surface"
        )
    said = [heard for _, _, heard in depths[used]]
    if any(heard.offset is not None and heard.offset < 0.0 for heard in said):
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
        np.array([_below_surface(heard, how.transducer) for heard in said]),
        np.array([d[1] for d in depths[used]]),
        tuple(notes),
    )


def _below_surface(heard: Depth, transducer: float) -> float:
    """Give the depth below the surface [m], NaN where lost."""
    if heard.kind == "DBS":
        return heard.depth
    if heard.offset is not None and heard.offset > 0.0:
        return heard.depth + heard.offset
    return heard.depth + transducer
