"""Reader of a track from a GPX file."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from towscope.boat.track import Fixes
from towscope.errors import InputError
from towscope.formats import gpx
from towscope.words import counted

MOST_BYTES = gpx.MOST_BYTES
MOST_FIXES = gpx.MOST_POINTS
EXPECTED = "a track as GPX 1.1"


def read_gpx(path: Path) -> Fixes:
    """Read a track from GPX (1.0 or 1.1).

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    Fixes
        Its track points; `starts` where its track segments begin.

    Raises
    ------
    InputError
        Where it is no GPX, holds no track or no times, or declares entities.
    """
    found = gpx.read(path, expected=EXPECTED, most_bytes=MOST_BYTES, most_points=MOST_FIXES)
    shown = found.source
    if not found.track.any():
        what = "a planned way or marks, no track" if found.track.size else "no track"
        raise InputError(f"{shown} holds {what}; expected track points with times")
    time = found.time[found.track]
    keep = np.isfinite(time)
    missing = int((~keep).sum())
    if missing == len(time):
        raise InputError(
            f"{shown}: none of its {counted(missing, 'track point')} has a time; expected a track "
            "as it was recorded, with times"
        )
    notes = found.repair("track point", len(time))
    if missing:
        notes += (f"left out {counted(missing, 'track point')} of {len(time):,} without a time",)
    before = np.concatenate([[0], np.cumsum(keep)])
    starts = sorted({int(before[s]) for s in found.starts} - {0, int(before[-1])})
    return Fixes(
        time[keep],
        found.latitude[found.track][keep],
        found.longitude[found.track][keep],
        True,
        True,
        tuple(starts),
        notes,
        shown,
        len(time),
    )
