"""Contour tracing on a smoothed bed, cut by slope: the edges at a depth, and how sure each is.

An edge is a stretch of the depth contour along which the bottom falls away at least as steeply as
asked. The bed is smoothed first to the scale of a lure pass: what is shorter than a boat cannot be
followed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import scipy

from towscope.arrays import Array, Singles
from towscope.bed.bed import LakeBed
from towscope.bed.sampling import cubic, sample
from towscope.errors import InputError, NoAnswer
from towscope.units import shown_units

SCALE = 5.0  # [m]; standard deviation of the smoothing
STEP = 3.0  # [m]; between vertices of an edge
STEEP = 0.10  # [m/m]; the least slope of an edge: a foot in ten (common practice, no source)
SHORTEST = 30.0  # [m]; what is worth setting lines for
BRIDGE = 15.0  # [m]; a gentler gap so short does not end an edge
SURE = 10.0  # [m]; an edge known no better than this across counts half


@dataclass(frozen=True)
class Edge:
    """One stretch of edge, deeper water on the left hand along it.

    Attributes
    ----------
    x, y : (n,) array
        The line [m].
    depth : float
        Depth of the contour [m].
    slope : (n,) array
        Slope of the bottom across it [m/m].
    sd : (n,) array
        Standard error of the depth along it [m].
    closed : bool
        Whether it runs round a hump or hole and meets itself.
    """

    x: Array
    y: Array
    depth: float
    slope: Array
    sd: Array
    closed: bool = False

    @property
    def length(self) -> float:
        """Length [m]."""
        return float(np.hypot(np.diff(self.x), np.diff(self.y)).sum())

    @property
    def across_sd(self) -> Array:
        """How far off across the edge the line may be: depth error over slope, (n,) [m]."""
        return np.asarray(self.sd / np.maximum(self.slope, 1e-3))

    @property
    def sure(self) -> float:
        """How much of it is known well enough to follow, 0 to 1."""
        return float(np.mean(1.0 / (1.0 + (self.across_sd / SURE) ** 2)))

    @property
    def worth(self) -> float:
        """What the edges are ranked by: length that is sure, weighed by steepness [m]."""
        return self.length * self.sure * float(np.mean(np.minimum(self.slope, 0.5))) / 0.5


def smoothed(bed: LakeBed, scale: float = SCALE) -> Singles:
    """Give the bed smoothed to the scale of a pass, (rows, columns) [m]."""
    sigma = scale / bed.frame.cell
    return np.asarray(scipy.ndimage.gaussian_filter(bed.surface, sigma, mode="nearest", truncate=3))


def contours(
    bed: LakeBed, depth: float, surface: Singles | None = None
) -> list[tuple[Array, Array]]:
    """Give the lines of one depth, deeper water on the left hand.

    Parameters
    ----------
    bed : LakeBed
        The bed.
    depth : float
        The depth [m].
    surface : (rows, columns) array, optional
        Depths to draw them on; the bed's own where not given.

    Returns
    -------
    list of (x, y)
        The lines [m], where there is water.
    """
    from contourpy import LineType, contour_generator

    f = bed.frame
    z = bed.surface if surface is None else surface
    # Ashore the surface runs on; a line there would be no line in the water.
    z = np.where(scipy.ndimage.binary_dilation(bed.wet), z, np.nan)
    maker = contour_generator(
        x=f.west + np.arange(f.columns) * f.cell,
        y=f.south + np.arange(f.rows) * f.cell,
        z=np.ma.masked_invalid(z),
        line_type=LineType.Separate,
    )
    lines: list[tuple[Array, Array]] = []
    for line in maker.lines(depth):
        points = np.asarray(line, float)
        if len(points) < 2:
            continue
        x, y = points[:, 0].copy(), points[:, 1].copy()
        k = len(x) // 2
        ahead = (x[k] - x[k - 1], y[k] - y[k - 1])
        _, gx, gy = _slope_at(z, bed, 0.5 * (x[k] + x[k - 1]), 0.5 * (y[k] + y[k - 1]))
        if ahead[0] * gy - ahead[1] * gx < 0.0:
            x, y = x[::-1].copy(), y[::-1].copy()
        lines.append((x, y))
    return lines


def _slope_at(z: Singles, bed: LakeBed, x: float, y: float) -> tuple[float, float, float]:
    from towscope.bed.sampling import depth_and_slope

    f = bed.frame
    value, gx, gy = depth_and_slope(z, f.west, f.south, f.cell, x, y)
    if not np.isfinite(gx + gy):  # beside the shore
        value, gx, gy = depth_and_slope(bed.surface, f.west, f.south, f.cell, x, y)
    return value, gx, gy


def resample(x: Array, y: Array, step: float) -> tuple[Array, Array]:
    """Give a line's points at even steps along it [m]."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))])
    keep = np.concatenate([[True], np.diff(along) > 0.0])
    x, y, along = x[keep], y[keep], along[keep]
    n = max(round(float(along[-1]) / step), 1)
    at = np.linspace(0.0, along[-1], n + 1)
    return np.interp(at, along, x), np.interp(at, along, y)


def checked_depth(bed: LakeBed, depth: float) -> float:
    """Give the depth back, or say what this lake has instead."""
    if not np.isfinite(depth) or depth <= 0.0:
        raise InputError(f"a depth of {depth:g} m is no depth; expected one below the surface")
    wet = bed.surface[bed.wet]
    if not wet.size:
        raise NoAnswer("this lake has no water on its map")
    deepest = float(wet.max())
    if depth >= deepest:
        asked, most = (shown_units().show(each, "length", 1) for each in (depth, deepest))
        raise NoAnswer(f"no bottom lies {asked} deep here: this lake's deepest is {most}")
    return depth


def edges(
    bed: LakeBed,
    depth: float,
    *,
    steep: float = STEEP,
    shortest: float = SHORTEST,
    scale: float = SCALE,
    surface: Singles | None = None,
) -> list[Edge]:
    """Find the edges at a depth, the best first.

    Parameters
    ----------
    bed : LakeBed
        The bed.
    depth : float
        The depth [m].
    steep : float
        Least slope [m/m].
    shortest : float
        Least length [m].
    scale : float
        To which the bed is smoothed [m].
    surface : (rows, columns) array, optional
        The bed already smoothed.

    Returns
    -------
    list of Edge
        The edges, by `Edge.worth`.

    Raises
    ------
    NoAnswer
        Where the lake is not so deep.
    """
    checked_depth(bed, depth)
    flat = smoothed(bed, scale) if surface is None else surface
    found: list[Edge] = []
    for line_x, line_y in contours(bed, depth, flat):
        if np.hypot(np.diff(line_x), np.diff(line_y)).sum() < shortest:
            continue
        closed = bool(line_x[0] == line_x[-1] and line_y[0] == line_y[-1])
        x, y = resample(line_x, line_y, STEP)
        out = np.empty((x.size, 4))
        f = bed.frame
        sample(flat, bed.sd, f.west, f.south, f.cell, x, y, out)
        slope = np.hypot(out[:, 1], out[:, 2])
        slope = scipy.ndimage.uniform_filter1d(
            slope, max(int(BRIDGE / STEP), 1), mode="wrap" if closed else "nearest"
        )
        for a, b in _steep_parts(slope >= steep, closed):
            index = np.arange(a, b) % (x.size - 1 if closed else x.size)
            whole = closed and b - a >= x.size - 1
            if whole:
                index = np.arange(x.size)
            edge = Edge(x[index], y[index], depth, slope[index], out[index, 3], whole)
            if edge.length >= shortest:
                found.append(edge)
    return sorted(found, key=lambda e: -e.worth)


def _steep_parts(steep: npt.NDArray[np.bool_], closed: bool) -> list[tuple[int, int]]:
    """Give the runs of steep points, short gaps bridged; on a ring they may run past its end."""
    n = steep.size - 1 if closed else steep.size
    ok = steep[:n]
    bridge = int(BRIDGE / STEP)
    if closed and ok.all():
        return [(0, n)]
    if not ok.any():
        return []
    if closed:  # begin the ring at a gentle point, so that no run is cut
        first = int(np.flatnonzero(~ok)[0])
        ok = np.roll(ok, -first)
    else:
        first = 0
    ok = scipy.ndimage.binary_closing(np.pad(ok, bridge), np.ones(bridge + 1, bool))[bridge:-bridge]
    part, _ = scipy.ndimage.label(ok)
    runs = []
    for span in scipy.ndimage.find_objects(part):
        a, b = span[0].start, span[0].stop
        runs.append((a + first, b + first))
    return runs


def profile(bed: LakeBed, edge: Edge, out_to: float = 30.0, step: float = 2.0) -> Array:
    """Give the mean bottom across an edge, from the shallow side to the deep.

    Parameters
    ----------
    bed : LakeBed
        The bed.
    edge : Edge
        The edge.
    out_to : float
        How far to either side [m].
    step : float
        Between figures [m].

    Returns
    -------
    (m, 2) array
        Distance across, positive toward the deep, and mean depth [m].
    """
    tx, ty = np.gradient(edge.x), np.gradient(edge.y)
    norm = np.maximum(np.hypot(tx, ty), 1e-9)
    nx, ny = -ty / norm, tx / norm  # to the left: deeper
    f = bed.frame
    rows = []
    for off in np.arange(-out_to, out_to + 0.5 * step, step):
        value = np.empty(edge.x.size)
        cubic(bed.surface, f.west, f.south, f.cell, edge.x + off * nx, edge.y + off * ny, value)
        rows.append((off, float(value.mean())))
    return np.array(rows)
