"""Lakes whose bottom is known, surveyed without error."""

from __future__ import annotations

import numpy as np

from towscope.bed.bed import LakeBed, build
from towscope.bed.cross_validation import ErrorModel, Trial
from towscope.bed.gridding import Plate
from towscope.geodesy import Place

PLACE = Place(48.0, -92.0)

# Constants for exact soundings 20 m apart, so that most tests need not leave runs out.
KNOWN = Trial(Plate(2.0, 1e4), ErrorModel(0.05, 0.5, 0.01, 2.0), 0.03, 0.02, 0.9, 1, 1, ())


def lines(half: float, spacing: float = 20.0, step: float = 4.0):
    """Give a survey of a square about 0, 0 in two directions, run by run."""
    xs, ys = [], []
    for at in np.arange(-half, half + 0.1, spacing):
        t = np.arange(-half, half + 0.1, step)
        xs += [np.full(t.size, at), t]
        ys += [t, np.full(t.size, at)]
    return np.concatenate(xs), np.concatenate(ys)


def lake_of(
    truth, half=200.0, spacing=20.0, step=4.0, keep=None, trial=KNOWN, **options
) -> LakeBed:
    """Build a bed from exact soundings of a known bottom."""
    x, y = lines(half, spacing, step)
    z = truth(x, y)
    if keep is not None:
        mine = keep(x, y)
        x, y, z = x[mine], y[mine], z[mine]
    lat, lon = PLACE.to_globe(x, y)
    return build(lat, lon, z, place=PLACE, trial=trial, **options)
