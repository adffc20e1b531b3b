"""A lake's bed put into a track's own metres: depth under every point of the track."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from towscope.arrays import Array
from towscope.bed.bed import LakeBed
from towscope.constants import HALF_OF_90
from towscope.errors import ArgumentError
from towscope.geodesy import Globe
from towscope.towing.moving import Bed as Bottom

ASHORE: Final = 10.0  # [m]; so far the bed runs on, that a line over its very edge has a bottom
REACH: Final = 250.0  # [m] about the track; no lure runs farther behind or beside the boat
MOST: Final = 4_000_000  # nodes cut out; more, and they are taken farther apart


@dataclass(frozen=True)
class Under:
    """A lake's bed under a track.

    Attributes
    ----------
    name : str
        The lake's name.
    bed : LakeBed
        Its bed, in its own metres.
    globe : Globe
        The track's metres.
    known : (rows, columns) array of bool
        Where the bed holds, a little way ashore included.
    bottom : towscope.towing.moving.Bed
        The bed in the track's metres, as the engine takes it.
    """

    name: str
    bed: LakeBed
    globe: Globe
    known: npt.NDArray[np.bool_]
    bottom: Bottom

    def depth(self, x: Array, y: Array) -> tuple[Array, Array]:
        """Give the lake's depth and its standard error at points.

        Parameters
        ----------
        x, y : (n,) array
            Points in the track's metres [m].

        Returns
        -------
        tuple of (n,) array
            Depth and standard error [m]; NaN where the bed is not known.
        """
        return _sampled(self.bed, self.known, self.globe, x, y)

    def clearance_low(self, clearance: Array, low: Array, x: Array, y: Array) -> Array:
        """Add the doubt of the bed to that of the rig.

        Parameters
        ----------
        clearance, low : (n,) array
            Clearance over this bed taken as exact: best estimate, and so much or more with 95 %
            probability [m].
        x, y : (n,) array
            Where the lure is [m].

        Returns
        -------
        (n,) array
            So much or more with 95 % probability, the bed's own error counted [m]: both are
            independent and taken as normal, so that their doubts add up in squares.
        """
        doubt = HALF_OF_90 * self.depth(x, y)[1]
        together: Array = clearance - np.hypot(clearance - low, np.nan_to_num(doubt, nan=0.0))
        return together


def under(name: str, bed: LakeBed, globe: Globe | None, x: Array, y: Array) -> Under:
    """Put a lake's bed into a track's metres.

    Parameters
    ----------
    name : str
        The lake's name.
    bed : LakeBed
        Its bed.
    globe : Globe or None
        The track's frame; None where the track has no places on the globe.
    x, y : (n,) array
        The boat's places [m].

    Returns
    -------
    Under
        The bed under the track.

    Raises
    ------
    InputError
        Where the track has no places on the globe, or none of it lies on the lake.
    """
    if globe is None:
        raise ArgumentError(
            "lake",
            f' "{name}": the track is in metres of its own; expected latitudes and longitudes',
        )
    from scipy.ndimage import binary_dilation

    frame = bed.frame
    known = binary_dilation(bed.wet, iterations=max(1, round(ASHORE / frame.cell)))
    depth, _ = _sampled(bed, known, globe, x, y)
    if np.isnan(depth).all():
        lat, lon = globe.to_globe(x[:1], y[:1])
        away = np.hypot(*(v[0] for v in bed.place.to_metres(lat, lon)))
        raise ArgumentError(
            "lake",
            f' "{name}": the track begins {away / 1000.0:,.1f} km from the middle of it and '
            "nowhere comes to its sounded water; expected a track on it",
        )
    edges = _rim(bed, globe)
    west, east = max(x.min() - REACH, edges[0]), min(x.max() + REACH, edges[1])
    south, north = max(y.min() - REACH, edges[2]), min(y.max() + REACH, edges[3])
    cell = max(frame.cell, float(np.sqrt((east - west) * (north - south) / MOST)))
    columns, rows = int((east - west) / cell) + 2, int((north - south) / cell) + 2
    grid_x = west + np.arange(columns) * cell
    found = np.empty((rows, columns))
    for i in range(rows):  # row by row: a whole lake at once would take gigabytes
        found[i], _ = _sampled(bed, known, globe, grid_x, np.full(columns, south + i * cell))
    return Under(name, bed, globe, known, Bottom(west, south, cell, found))


def _sampled(
    bed: LakeBed, known: npt.NDArray[np.bool_], globe: Globe, x: Array, y: Array
) -> tuple[Array, Array]:
    px, py = bed.place.to_metres(*globe.to_globe(x, y))
    f = bed.frame
    with np.errstate(invalid="ignore"):
        column, row = (px - f.west) / f.cell, (py - f.south) / f.cell
        inside = (column >= 0) & (column <= f.columns - 1) & (row >= 0) & (row <= f.rows - 1)
    inside[inside] = known[np.rint(row[inside]).astype(int), np.rint(column[inside]).astype(int)]
    depth, sd = np.full(len(x), np.nan), np.full(len(x), np.nan)
    if inside.any():
        told = bed.sample(px[inside], py[inside])
        depth[inside], sd[inside] = np.maximum(told[:, 0], 0.0), told[:, 3]
    return depth, sd


def _rim(bed: LakeBed, globe: Globe) -> tuple[float, float, float, float]:
    """Give how far west, east, south and north the bed reaches in other metres [m]."""
    f = bed.frame
    along = np.linspace(0.0, 1.0, 33)
    wide, high = (f.columns - 1) * f.cell, (f.rows - 1) * f.cell
    x = f.west + wide * np.concatenate([along, along, np.zeros(33), np.ones(33)])
    y = f.south + high * np.concatenate([np.zeros(33), np.ones(33), along, along])
    px, py = globe.to_metres(*bed.place.to_globe(x, y))
    return float(px.min()), float(px.max()), float(py.min()), float(py.max())
