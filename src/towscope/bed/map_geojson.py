"""Filled contours as one small GeoJSON: a lake's water, shading and contours for a screen.

Shading is given as the ground that lies deeper than each round depth, shallow first, to be laid
over one another: no slivers open between neighbours, however few points their outlines keep.
"""

from __future__ import annotations

import json
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
import scipy
from typing_extensions import TypedDict

from towscope.arrays import Array
from towscope.bed.bed import LakeBed
from towscope.bed.contour_levels import levels
from towscope.bed.edges import smoothed
from towscope.bed.features import Feature

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from towscope.units import System


MOST_BYTES = 360_000  # of the whole as JSON: a few seconds over a boat's Wi-Fi at its worst
MOST_NODES = 1_500  # to a side; more is finer than a screen
FINE = 0.5  # [m]; how far lines of fewer points may leave the true ones, to begin with
COARSER = 1.6  # by how much farther where the whole is too large
COARSEST = 40.0  # [m]
DIGITS = 1e-6  # [degrees]; a tenth of a metre
SHORTEST, SMALLEST = 25.0, 150.0  # [m], [m^2]; smaller pieces of contour are noise
HEAVY = 5  # every fifth contour is a heavy one


class LakeMap(TypedDict):
    """The map of a lake: a GeoJSON FeatureCollection in longitude, latitude (WGS 84).

    Its features are of the kinds "water", "deeper" (all that lies deeper than ``depth_m``) and
    "contour"; contours stand at round depths of ``units``. No line is off by more than
    ``thinned_to_m``.
    """

    type: Literal["FeatureCollection"]
    lake: str
    bbox: list[float]
    units: Literal["us", "metric"]
    unit: str
    deepest_m: float
    step_m: float
    thinned_to_m: float
    features: list[Feature]


def map_geojson(bed: LakeBed, name: str, system: System) -> LakeMap:
    """Give the map of a lake.

    Parameters
    ----------
    bed : LakeBed
        The bed.
    name : str
        The lake's name.
    system : System
        Whose round depths the contours stand at.

    Returns
    -------
    LakeMap
        A GeoJSON FeatureCollection (RFC 7946: longitude, latitude, WGS 84) of features of the
        kinds ``water`` (the lake, islands cut out), ``deeper`` (all that lies deeper than
        ``depth_m``; ``share`` is that depth over the greatest) and ``contour``. Beside it
        ``bbox``, ``deepest_m``, ``step_m`` and ``units``.

    Raises
    ------
    NoAnswer
        Where the lake has no water on its map.
    """
    from towscope.errors import NoAnswer

    if not bed.wet.any():
        raise NoAnswer("this lake has no water on its map")
    water, deeper, lines, deepest, step = _shapes(bed, system)
    thin = FINE
    while True:
        found = _collection(bed, name, system, water, deeper, lines, deepest, step, thin)
        if thin >= COARSEST or len(json.dumps(found, separators=(",", ":"))) <= MOST_BYTES:
            return found
        thin *= COARSER


Level = tuple[float, float, bool]  # depth [m], as shown, heavy


def _shapes(
    bed: LakeBed, system: System
) -> tuple[
    BaseGeometry,
    list[tuple[Level, BaseGeometry]],
    list[tuple[Level, BaseGeometry]],
    float,
    float,
]:
    """Give the shapes in the lake's metres, with all their points."""
    import shapely
    from contourpy import FillType, LineType, contour_generator

    f = bed.frame
    every = max(1, int(np.ceil(max(f.rows, f.columns) / MOST_NODES)))
    cell = f.cell * every
    cut = (slice(None, None, every), slice(None, None, every))
    x = f.west + np.arange(0, f.columns, every) * f.cell
    y = f.south + np.arange(0, f.rows, every) * f.cell
    shore = scipy.ndimage.gaussian_filter(bed.wet.astype(np.float32), 1.2 * every)[cut]
    shore = np.pad(shore, 1)  # closed where the lake runs off the grid
    rim = contour_generator(
        x=np.concatenate([[x[0] - cell], x, [x[-1] + cell]]),
        y=np.concatenate([[y[0] - cell], y, [y[-1] + cell]]),
        z=shore,
        fill_type=FillType.OuterOffset,
    )
    water = _polygons(*rim.filled(0.5, np.inf))
    # The surface runs on ashore, so its lines meet the shore smoothly and are cut there.
    z = smoothed(bed, 2.0 * cell)[cut]
    deepest = float(bed.surface[bed.wet].max())
    maker = contour_generator(
        x=x, y=y, z=z, fill_type=FillType.OuterOffset, line_type=LineType.Separate
    )
    shown, metres = levels(deepest, system)
    deeper, lines = [], []
    shapely.prepare(water)
    for figure, level in zip(shown.tolist(), metres.tolist(), strict=True):
        heavy = round(figure / float(shown[0])) % HEAVY == 0
        here = (level, figure, heavy)
        filled = shapely.intersection(_polygons(*maker.filled(level, np.inf)), water)
        filled = _large(filled)
        if not filled.is_empty:
            deeper.append((here, filled))
        parts = [shapely.linestrings(p) for p in maker.lines(level) if len(p) > 1]
        if parts:
            cut_off = shapely.intersection(shapely.multilinestrings(parts), water)
            kept = [
                g
                for g in shapely.get_parts(shapely.line_merge(cut_off))
                if g.geom_type == "LineString" and g.length >= SHORTEST
            ]
            if kept:
                lines.append((here, shapely.multilinestrings(kept)))
    step = float(metres[0]) if metres.size else deepest
    return water, deeper, lines, deepest, step


def _polygons(points: list[Any], offsets: list[Any]) -> BaseGeometry:
    """Give what contourpy fills as one shape."""
    import shapely

    found = []
    for xy, ends in zip(points, offsets, strict=True):
        rings = [xy[a:b] for a, b in pairwise(ends.tolist()) if b - a >= 4]
        if rings:
            holes = [shapely.linearrings(r) for r in rings[1:]]
            found.append(shapely.polygons(shapely.linearrings(rings[0]), holes=holes or None))
    return shapely.make_valid(shapely.union_all(found)) if found else shapely.MultiPolygon()


def _large(shape: BaseGeometry) -> BaseGeometry:
    """Keep the polygons, and of them those that are large enough to mean anything."""
    import shapely

    parts = [
        g
        for g in shapely.get_parts(shapely.get_parts(shape))
        if g.geom_type == "Polygon" and g.area >= SMALLEST
    ]
    return shapely.multipolygons(parts) if parts else shapely.MultiPolygon()


def _collection(
    bed: LakeBed,
    name: str,
    system: System,
    water: BaseGeometry,
    deeper: list[tuple[Level, BaseGeometry]],
    lines: list[tuple[Level, BaseGeometry]],
    deepest: float,
    step: float,
    thin: float,
) -> LakeMap:
    import shapely

    features: list[Feature] = []

    def add(shape: BaseGeometry, kind: str, level: Level | None) -> None:
        more: dict[str, Any] = {}
        if level is not None:
            more = {"depth_m": round(level[0], 3), "shown": level[1], "heavy": level[2]}
            more["share"] = round(level[0] / deepest, 4)
        for part in shapely.get_parts(_on_globe(bed, shape, thin)):
            if part.is_empty or part.geom_type not in ("Polygon", "LineString"):
                continue
            features.append(
                {
                    "type": "Feature",
                    "properties": {"kind": kind, **more},
                    "geometry": _plain(part),
                }
            )

    add(water, "water", None)
    for level, shape in deeper:
        add(shape, "deeper", level)
    for level, shape in lines:
        add(shape, "contour", level)
    west, south, east, north = (
        round(float(v), 6) for v in shapely.total_bounds(_on_globe(bed, water, thin))
    )
    return {
        "type": "FeatureCollection",
        "lake": name,
        "bbox": [west, south, east, north],
        "units": "us" if system.name == "us" else "metric",
        "unit": system.label("length"),
        "deepest_m": round(deepest, 3),
        "step_m": round(step, 4),
        "thinned_to_m": round(thin, 2),
        "features": features,
    }


def _on_globe(bed: LakeBed, shape: BaseGeometry, thin: float) -> BaseGeometry:
    """Give a shape of fewer points in longitude, latitude, rounded and still valid."""
    import shapely

    def move(points: Array) -> Array:
        lat, lon = bed.place.to_globe(points[:, 0], points[:, 1])
        return np.column_stack([lon, lat])

    fewer = shapely.simplify(shape, thin, preserve_topology=True)
    # outside rings run anticlockwise, holes clockwise
    return shapely.orient_polygons(shapely.set_precision(shapely.transform(fewer, move), DIGITS))


def _plain(part: BaseGeometry) -> dict[str, Any]:
    """Give a polygon or a line as GeoJSON."""

    def positions(xy: Array) -> list[list[float]]:
        return [[round(float(a), 6), round(float(b), 6)] for a, b in xy]

    import shapely

    if part.geom_type == "LineString":
        return {"type": "LineString", "coordinates": positions(shapely.get_coordinates(part))}
    rings = [part.exterior, *part.interiors]
    return {
        "type": "Polygon",
        "coordinates": [positions(shapely.get_coordinates(r)) for r in rings],
    }
