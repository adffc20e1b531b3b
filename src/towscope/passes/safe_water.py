"""Distance from land, shoal and unknown water: where the boat may be sent."""

from __future__ import annotations

import weakref
from typing import Final

import numpy as np
import numpy.typing as npt
import scipy

from towscope.arrays import Array, Flags
from towscope.bed.bed import LakeBed
from towscope.constants import HALF_OF_90

AFLOAT: Final = 2.0  # [m]; shallower water is not crossed
SURELY: Final = 0.5  # [m]; what is left of it where the bed errs by its whole 90 % band
DOUBT: Final = HALF_OF_90  # standard errors
ROOM: Final = 10.0  # [m]; off land, shoal and what is not known: helm and receiver err
ON_EDGE: Final = 1.0  # [m]; enough along an edge that the crew chose itself

_last: tuple[weakref.ref[LakeBed], dict[tuple[float, float], Flags]] | None = None


def sailable(bed: LakeBed, least: float = AFLOAT, room: float = ROOM) -> Flags:
    """Tell of each cell whether the boat may be sent there.

    Parameters
    ----------
    bed : LakeBed
        The lake.
    least : float
        Depth that is needed [m].
    room : float
        How far off anything shallower, land, and what is not known [m]; a cell comes on top, for
        the shore runs between cells.

    Returns
    -------
    (rows, columns) array of bool
        Where it may.
    """
    global _last
    if _last is None or _last[0]() is not bed:
        _last = weakref.ref(bed), {}
    masks = _last[1]
    if (least, room) not in masks:
        surely = bed.surface - DOUBT * bed.sd >= min(SURELY, 0.5 * least)
        deep = bed.wet & (bed.surface >= least) & surely
        # beyond the grid nothing is known
        off = scipy.ndimage.distance_transform_edt(np.pad(deep, 1))[1:-1, 1:-1] * bed.frame.cell
        masks[least, room] = np.asarray(off > room + bed.frame.cell)
    return masks[least, room]


def over_water(bed: LakeBed, x: Array, y: Array, least: float = AFLOAT, room: float = ROOM) -> bool:
    """Tell whether a way keeps to water that is known and deep enough for the boat.

    Parameters
    ----------
    bed : LakeBed
        The lake.
    x, y : (n,) array
        The way, a cell apart or less [m].
    least, room : float
        As `sailable` takes them.
    """
    at = _cells(bed, x, y)
    return at is not None and bool(sailable(bed, least, room)[at].all())


def _cells(bed: LakeBed, x: Array, y: Array) -> tuple[npt.NDArray[np.int64], ...] | None:
    """Give rows and columns of places; None where one lies outside."""
    f = bed.frame
    j, i = np.rint((x - f.west) / f.cell).astype(int), np.rint((y - f.south) / f.cell).astype(int)
    if not ((i >= 0) & (i < f.rows) & (j >= 0) & (j < f.columns)).all():
        return None
    return i, j
