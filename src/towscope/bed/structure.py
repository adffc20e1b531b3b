"""Bends of the contour and level or closed ground: points, inside turns, humps and flats.

Trade words: a *point* is where the edge bends out over deep water, an *inside turn* where it bends
back toward the shore, a *hump* a rise with deeper water all round, a *flat* level ground.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy

from towscope.arrays import Array, Flags, Singles
from towscope.bed.bed import LakeBed
from towscope.bed.edges import STEP, Edge, checked_depth, contours, resample, smoothed

WINDOW = 60.0  # [m]; the length of edge over which a bend is judged: two or three boat turns
BEND = 50.0  # [degrees]; what it must turn within that
OUT = 30.0  # [degrees]; and by how much more than the edge turns there anyway
AROUND = 8  # half-windows over which that is judged
LEVEL = 0.03  # [m/m]; steeper ground is no flat
FLAT_AREA = 800.0  # [m^2]
HUMP_AREA = 100.0  # [m^2]
RISE = 0.6  # [m]; a lower rise is no hump
LAYER = 0.5  # [m]; between the contours tried


@dataclass(frozen=True)
class Bend:
    """A point or inside turn of an edge.

    Attributes
    ----------
    kind : str
        ``"point"`` or ``"inside turn"``.
    x, y : float
        Its tip [m].
    turn : float
        How far the edge turns there within 60 m [degrees].
    slope : float
        Slope of the bottom at the tip [m/m].
    sd : float
        Standard error of the depth there [m].
    """

    kind: str
    x: float
    y: float
    turn: float
    slope: float
    sd: float


@dataclass(frozen=True)
class HumpOrFlat:
    """A hump or a flat.

    Attributes
    ----------
    kind : str
        ``"hump"`` or ``"flat"``.
    rings : list of (x, y)
        Its outline(s) [m].
    x, y : float
        Its top, or the middle of a flat [m].
    area : float
        Area [m^2].
    top : float
        Least depth on it [m].
    rise : float
        How far a hump rises above the water all round it, a flat's whole range of depth [m].
    sd : float
        Standard error of the depth at x, y [m].
    """

    kind: str
    rings: list[tuple[Array, Array]]
    x: float
    y: float
    area: float
    top: float
    rise: float
    sd: float


def bends(edges_found: list[Edge]) -> list[Bend]:
    """Find the points and inside turns of some edges, the sharpest first.

    Parameters
    ----------
    edges_found : list of Edge
        The edges.

    Returns
    -------
    list of Bend
        The bends.
    """
    found: list[Bend] = []
    half = int(0.5 * WINDOW / STEP)
    for edge in edges_found:
        n = edge.x.size - 1 if edge.closed else edge.x.size
        if n < 2 * half:
            continue
        wrap = edge.closed
        x, y = edge.x[:n], edge.y[:n]
        heading = np.unwrap(np.arctan2(*_steps(x, y, wrap)[::-1]))
        heading = scipy.ndimage.gaussian_filter1d(heading, 2.0, mode="nearest")
        turn = np.gradient(heading)
        if wrap:
            turn[[0, -1]] = 0.5 * (turn[1] + turn[-2])
        total = scipy.ndimage.uniform_filter1d(
            turn, 2 * half + 1, mode="wrap" if wrap else "constant"
        ) * (2 * half + 1)
        # A ring turns everywhere: what counts is what stands out from the edge's own turning.
        usual = scipy.ndimage.uniform_filter1d(
            total, min(AROUND * half, n // 2 * 2 - 1), mode="wrap" if wrap else "nearest"
        )
        stands_out = np.degrees(np.abs(total - usual)) >= OUT
        # where the bend is sharpest inside the window, and no sharper bend nearby
        size = np.degrees(np.abs(total))
        peak = (size == scipy.ndimage.maximum_filter1d(size, 2 * half + 1)) & (size >= BEND)
        peak &= stands_out
        if not wrap:
            peak[: half // 2] = False
            peak[n - half // 2 :] = False
        for k in np.flatnonzero(peak):
            near = np.arange(k - half, k + half + 1)
            near = near % n if wrap else near[(near >= 0) & (near < n)]
            tip = int(
                near[np.argmax(np.abs(turn[near]) * (np.sign(turn[near]) == np.sign(total[k])))]
            )
            # Deep water lies on the left. A left turn closes round deep water: the deep bites into
            # the shallow, an inside turn; a right turn pushes shallow out into the deep: a point.
            kind = "inside turn" if total[k] > 0.0 else "point"
            found.append(
                Bend(kind, float(x[tip]), float(y[tip]), float(size[k]), float(edge.slope[tip]),
                     float(edge.sd[tip]))
            )  # fmt: skip
    return sorted(found, key=lambda b: -b.turn)


def _steps(x: Array, y: Array, wrap: bool) -> tuple[Array, Array]:
    if wrap:
        return np.roll(x, -1) - x, np.roll(y, -1) - y
    return np.diff(x, append=2.0 * x[-1] - x[-2]), np.diff(y, append=2.0 * y[-1] - y[-2])


def humps(bed: LakeBed, depth: float, surface: Singles | None = None) -> list[HumpOrFlat]:
    """Find the humps whose tops come near a depth or above it, the largest first.

    A hump counts where its top is no deeper than the depth and a sixth more. Its outline is the
    deepest contour, no deeper than that either, that closes round it with deeper water outside.

    Parameters
    ----------
    bed : LakeBed
        The bed.
    depth : float
        The depth [m].
    surface : (rows, columns) array, optional
        The bed already smoothed.

    Returns
    -------
    list of HumpOrFlat
        The humps.
    """
    checked_depth(bed, depth)
    flat = smoothed(bed) if surface is None else surface
    deepest = min(depth * 7.0 / 6.0, float(flat[bed.wet].max()) - 1e-3)
    beside = scipy.ndimage.binary_dilation(~bed.wet, iterations=2)
    beside[[0, -1]] = True
    beside[:, [0, -1]] = True
    taken = np.zeros(bed.frame.shape, bool)
    found: list[HumpOrFlat] = []
    for level in np.arange(deepest, RISE, -max(LAYER, deepest / 40.0)):
        part, _ = scipy.ndimage.label(bed.wet & (flat < level))
        barred = set(np.unique(part[beside | taken]).tolist())
        for number, span in enumerate(scipy.ndimage.find_objects(part), 1):
            if number in barred or span is None:
                continue
            mine = part[span] == number
            area = float(np.count_nonzero(mine)) * bed.frame.cell**2
            here = np.where(mine, flat[span], np.inf)
            top = max(float(here.min()), 0.0)  # smoothing may lift it out of the water
            if area < HUMP_AREA or level - top < RISE:
                continue
            i, j = np.unravel_index(int(here.argmin()), here.shape)
            found.append(
                _ground("hump", bed, span, mine, (int(i), int(j)), area, top, float(level) - top)
            )
            taken[span] |= mine
    return sorted(found, key=lambda g: -g.rise * g.area**0.5)


def flats(
    bed: LakeBed, depth: float, within: float = 1.0, surface: Singles | None = None
) -> list[HumpOrFlat]:
    """Find level ground near a depth, the largest first.

    Parameters
    ----------
    bed : LakeBed
        The bed.
    depth : float
        The depth [m].
    within : float
        How far the ground may lie above or below it [m].
    surface : (rows, columns) array, optional
        The bed already smoothed.
    """
    checked_depth(bed, depth)
    flat = smoothed(bed) if surface is None else surface
    north, east = np.gradient(flat, bed.frame.cell)
    level = bed.wet & (np.hypot(north, east) <= LEVEL) & (np.abs(flat - depth) <= within)
    # what is narrower than a boat's turn is no ground to work
    level = scipy.ndimage.binary_opening(level, iterations=max(int(5.0 / bed.frame.cell), 1))
    part, _ = scipy.ndimage.label(level)
    found = []
    for number, span in enumerate(scipy.ndimage.find_objects(part), 1):
        if span is None:
            continue
        mine = part[span] == number
        area = float(np.count_nonzero(mine)) * bed.frame.cell**2
        if area < FLAT_AREA:
            continue
        depths = flat[span][mine]
        inner = scipy.ndimage.distance_transform_edt(np.pad(mine, 1))[1:-1, 1:-1]
        i, j = np.unravel_index(int(inner.argmax()), inner.shape)
        found.append(_ground("flat", bed, span, mine, (int(i), int(j)), area,
                             max(float(depths.min()), 0.0), float(np.ptp(depths))))  # fmt: skip
    return sorted(found, key=lambda g: -g.area)


def _ground(
    kind: str,
    bed: LakeBed,
    span: tuple[slice, ...],
    mine: Flags,
    at: tuple[int, int],
    area: float,
    top: float,
    rise: float,
) -> HumpOrFlat:
    from contourpy import LineType, contour_generator

    f = bed.frame
    west, south = f.west + span[1].start * f.cell, f.south + span[0].start * f.cell
    padded = np.pad(mine.astype(float), 1)
    maker = contour_generator(
        x=west + (np.arange(padded.shape[1]) - 1.0) * f.cell,
        y=south + (np.arange(padded.shape[0]) - 1.0) * f.cell,
        z=padded,
        line_type=LineType.Separate,
    )
    rings = []
    for ring in maker.lines(0.5):
        points = np.asarray(ring, float)
        if len(points) < 8:
            continue
        rx, ry = resample(points[:, 0], points[:, 1], max(STEP, f.cell))
        rx[-1], ry[-1] = rx[0], ry[0]
        rings.append((rx, ry))
    rings.sort(key=lambda r: -abs(_area(*r)))
    x, y = west + at[1] * f.cell, south + at[0] * f.cell
    shown = rings[:1] + [r for r in rings[1:] if abs(_area(*r)) > 200.0]
    return HumpOrFlat(kind, shown, x, y, area, top, rise, bed.sd_at(x, y))


def _area(x: Array, y: Array) -> float:
    return float(0.5 * np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))


def length_of(bed: LakeBed, depth: float) -> float:
    """Give the length of a depth contour on the bed as it is [m]."""
    return float(sum(np.hypot(np.diff(x), np.diff(y)).sum() for x, y in contours(bed, depth)))
