"""The lake's bed where one is chosen, else the nearest soundings heard: depth about the boat."""

from __future__ import annotations

import math
from collections import deque
from typing import Final

import numpy as np

from towscope.arrays import Array, Flags
from towscope.bed.bed import LakeBed
from towscope.constants import HALF_OF_90
from towscope.towing.moving import Bed as Bottom

REACH: Final = 700.0  # [m]; how far about the boat the bottom is cut out for the engine
NEAR_SOUNDING: Final = 8.0  # [m]; from a sounding that still tells the depth
SOUNDINGS: Final = 3000
BACK: Final = 250.0  # [m]; how far about the boat soundings are laid out for the engine
SOUNDED_CELL: Final = 3.0  # [m]; and how finely
DOUBT: Final = HALF_OF_90  # standard errors by which water for the boat may be shallower
SOUNDER_SD: Final = 0.3  # [m]; a sounding off the wake: estimated from memory


class BottomAbout:
    """The bottom about the boat.

    Parameters
    ----------
    bed : LakeBed or None
        The lake's; None where there is none.
    """

    def __init__(self, bed: LakeBed | None) -> None:
        self.bed = bed
        self._known: Flags | None = None
        self._cut: tuple[float, float, Bottom | None] | None = None
        self._water: tuple[float, float, Bottom | None] | None = None
        self._heard: deque[tuple[float, float, float]] = deque(maxlen=SOUNDINGS)
        if bed is not None:
            from scipy.ndimage import binary_dilation

            # ashore the bed runs on, so that a line over the very edge of it still has a bottom
            self._likeliest = np.asarray(bed.surface, dtype=float)
            self._shallow = np.asarray(bed.surface - DOUBT * bed.sd, dtype=float)
            self._known = binary_dilation(bed.wet, iterations=max(1, round(10.0 / bed.frame.cell)))

    def hear(self, x: float, y: float, depth: float) -> None:
        """Take a sounding [m]."""
        if self._heard and math.dist(self._heard[-1][:2], (x, y)) < 1.0:
            self._heard[-1] = (x, y, depth)
        else:
            self._heard.append((x, y, depth))

    def bottom(self, x: float, y: float) -> Bottom | None:
        """Give the bottom about a place as the engine takes it; None where it is not known."""
        if self.bed is None:
            return None
        if self._cut is None or math.dist(self._cut[:2], (x, y)) > 0.4 * REACH:
            assert self._known is not None
            self._cut = (x, y, self._cut_out(x, y, self._likeliest, self._known))
        return self._cut[2]

    def water(self, x: float, y: float) -> Bottom | None:
        """Give the water about a place that a boat may be sent to; None where no lake is known.

        As shallow as it may be nine times in ten and more; land and what nobody knows are NaN.
        """
        if self.bed is None:
            return None
        if self._water is None or math.dist(self._water[:2], (x, y)) > 0.4 * REACH:
            self._water = (x, y, self._cut_out(x, y, self._shallow, self.bed.wet))
        return self._water[2]

    def sounded(self, x: float, y: float) -> Bottom | None:
        """Give what the sounder heard about a place as the engine takes it; None where nothing.

        Parameters
        ----------
        x, y : float
            The place [m].
        """
        near = [each for each in self._heard if math.dist(each[:2], (x, y)) <= BACK]
        if not near:
            return None
        from scipy.spatial import cKDTree

        heard = np.array(near)
        west, south = heard[:, :2].min(axis=0) - NEAR_SOUNDING
        columns, rows = (
            np.ceil(
                (heard[:, :2].max(axis=0) + NEAR_SOUNDING - (west, south)) / SOUNDED_CELL
            ).astype(int)
            + 1
        )
        gx, gy = np.meshgrid(
            west + SOUNDED_CELL * np.arange(columns), south + SOUNDED_CELL * np.arange(rows)
        )
        far, which = cKDTree(heard[:, :2]).query(
            np.column_stack([gx.ravel(), gy.ravel()]), distance_upper_bound=NEAR_SOUNDING
        )
        depth = np.where(np.isfinite(far), np.append(heard[:, 2], np.nan)[which], np.nan)
        return Bottom(float(west), float(south), SOUNDED_CELL, depth.reshape(gx.shape))

    def _cut_out(self, x: float, y: float, surface: Array, where: Flags) -> Bottom | None:
        assert self.bed is not None
        f = self.bed.frame

        def span(middle: float, low: float, count: int) -> slice:
            first = math.floor((middle - REACH - low) / f.cell)
            last = math.ceil((middle + REACH - low) / f.cell)
            return slice(min(max(first, 0), count), min(max(last, 0), count))

        rows, columns = span(y, f.south, f.rows), span(x, f.west, f.columns)
        known = where[rows, columns]
        if known.shape[0] < 2 or known.shape[1] < 2 or not known.any():
            return None
        depth = np.where(known, surface[rows, columns], np.nan).astype(float)
        return Bottom(f.west + columns.start * f.cell, f.south + rows.start * f.cell, f.cell, depth)

    def depth(self, x: Array, y: Array) -> tuple[Array, Array]:
        """Give depth and its standard error at points.

        Parameters
        ----------
        x, y : (n,) array
            Points [m].

        Returns
        -------
        tuple of (n,) array
            Depth and standard error [m]; NaN where not known.
        """
        depth, sd = np.full(len(x), np.nan), np.full(len(x), np.nan)
        if self.bed is not None and self._known is not None:
            f = self.bed.frame
            j = np.clip(np.rint((x - f.west) / f.cell).astype(int), 0, f.columns - 1)
            i = np.clip(np.rint((y - f.south) / f.cell).astype(int), 0, f.rows - 1)
            inside = (
                (x >= f.west)
                & (x <= f.west + (f.columns - 1) * f.cell)
                & (y >= f.south)
                & (y <= f.south + (f.rows - 1) * f.cell)
                & self._known[i, j]
            )
            if inside.any():
                found = self.bed.sample(x[inside], y[inside])
                depth[inside] = np.maximum(found[:, 0], 0.0)
                sd[inside] = found[:, 3]
        if self._heard and np.isnan(depth).any():
            hx, hy, hd = np.array(self._heard).T
            for k in np.flatnonzero(np.isnan(depth)):
                far = np.hypot(hx - x[k], hy - y[k])
                nearest = int(far.argmin())
                if far[nearest] <= NEAR_SOUNDING:
                    depth[k], sd[k] = hd[nearest], SOUNDER_SD
        return depth, sd
