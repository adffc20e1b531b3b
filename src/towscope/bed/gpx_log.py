"""Reader of GPX files whose points carry a depth: soundings."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from towscope.bed.soundings import UNITS, FileOptions, Log
from towscope.errors import InputError
from towscope.formats import gpx

EXPECTED = "a GPX file with a depth in each point's extensions"


def read(path: Path, how: FileOptions) -> Log:
    """Read a GPX file whose points carry a depth in an extension.

    Any extension element called depth counts, in whatever namespace; it is metres below the
    surface unless `how` says otherwise.

    Raises
    ------
    InputError
        Where the file is no GPX, tries to expand entities, or has no depths.
    """
    found = gpx.read(path, expected=EXPECTED)
    count = found.depth.size
    if not np.isfinite(found.depth).any():
        raise InputError(
            f"{found.source} holds {count:,} points and no depth on any; expected {EXPECTED}"
        )
    down = -1.0 if how.down is False else 1.0
    return Log(
        found.source,
        found.latitude,
        found.longitude,
        found.depth * UNITS[how.unit or "m"] * down,
        np.arange(1, count + 1),
        found.repair("point", count),
    )
