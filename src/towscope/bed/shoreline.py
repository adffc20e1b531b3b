"""Faces of the shore's line work, water and land by turns inward: where the lake ends.

What lies between the shore and an island's shore is water, what lies inside the island's is land,
and so on inward. Lines are joined end to end first; the rest follows from which faces of the
line work share an edge, so that neither direction nor order counts.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from towscope.arrays import Array
from towscope.bed.crs import known, to_globe
from towscope.bed.vector import depth_field, open_layer
from towscope.errors import ArgumentError, InputError, one_line

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry


METRE = 1.0 / 111_200.0  # [degrees of latitude]
CLOSE = 1.0  # [m]; ends this near are one: what rounding and hand drawing leave
LEAST = 1.0  # [m^2]; less is no water and no island, but a crumb of rounding
ISLANDS = ("land", "water")
ASKED = (
    "islands, or more of the same water? Set --islands land or --islands water (or give the lake "
    "as one polygon with its islands as holes)"
)


def read_shoreline(path: Path, crs: str | None = None, islands: str | None = None) -> BaseGeometry:
    """Read the water as polygons in longitude, latitude.

    Parameters
    ----------
    path : Path
        Shapefile, GeoPackage or GeoJSON: polygons with islands as holes, closed lines, or lines
        that join end to end.
    crs : str, optional
        Its coordinate system where the file does not say.
    islands : str, optional
        What a polygon inside another is: ``"land"`` or ``"water"``. Lines inside lines are
        islands without asking.

    Raises
    ------
    InputError
        Where there is no closed shore in it, or it can be read two ways.
    """
    import shapely

    name = one_line(path.name, 60)
    if islands not in (None, *ISLANDS):
        raise ArgumentError("islands", f' "{one_line(islands, 20)}": expected land or water')
    said, shapes, fields = open_layer(path)
    system = crs or said
    known(system, name)
    keep = ~(shapely.is_missing(shapes) | shapely.is_empty(shapes))
    shapes = shapely.force_2d(shapes[keep])
    shapes = shapes[_at_the_shore(fields, keep, name)]

    def move(points: Array) -> Array:
        lat, lon = to_globe(points[:, 0], points[:, 1], system, name)
        return np.column_stack([lon, lat])

    shapes = np.array([shapely.transform(s, move) for s in shapes], dtype=object)
    kinds = shapely.get_type_id(shapes)
    lines = shapely.get_parts(shapes[(kinds == 1) | (kinds == 2) | (kinds == 5)])
    areas = shapes[(kinds == 3) | (kinds == 6)]
    if not len(areas) and not len(lines):
        raise InputError(f"{name} holds no polygon and no line; expected the lake's shoreline")
    if not len(areas):
        return _large(_of_lines(lines, name), name)
    water = _of_polygons(areas, islands, name)
    inner = _faces(_joined(lines))[0] if len(lines) else None  # open lines part no water
    if inner is not None and shapely.area(shapely.intersection(inner, water)) > 0.0:
        if islands is None:
            raise InputError(f"{name} holds closed lines inside its polygons: {ASKED}")
        if islands == "land":
            water = shapely.difference(water, inner)
    return _large(water, name)


def _at_the_shore(
    fields: dict[str, npt.NDArray[Any]], keep: npt.NDArray[np.bool_], name: str
) -> npt.NDArray[np.bool_]:
    """Tell which shapes are the shore where a field gives depths: those of depth 0."""
    count = int(np.count_nonzero(keep))
    everything = np.ones(count, bool)
    field, _ = depth_field(fields, {}, name)
    if field is None:
        return everything
    try:
        depth = np.asarray(fields[field], float)[keep]
    except (TypeError, ValueError):
        return everything
    if np.unique(depth[np.isfinite(depth)]).size < 2:
        return everything
    shore = depth == 0.0
    if not shore.any():
        low, high = float(np.nanmin(depth)), float(np.nanmax(depth))
        raise InputError(
            f'{name}: its field "{field}" runs from {low:g} to {high:g}: contours without a shore '
            "(none of depth 0)? Expected the lake's shoreline"
        )
    return np.asarray(shore)


def _of_polygons(areas: Any, islands: str | None, name: str) -> BaseGeometry:
    """Unite polygons; what one inside another means is asked, since both are common."""
    import shapely

    # rings in any order and direction come out right: what two of one shape cover is a hole
    whole = shapely.make_valid(areas)
    if len(whole) == 1:
        return whole[0]
    parts = shapely.get_parts(whole)
    parts = parts[shapely.get_type_id(parts) == 3]
    filled = shapely.polygons(shapely.get_exterior_ring(parts))
    size = shapely.area(filled)
    inner, outer = shapely.STRtree(filled).query(filled, predicate="covered_by")
    nested = {a for a, b in zip(inner.tolist(), outer.tolist(), strict=True) if size[a] < size[b]}
    if not nested or islands == "water":
        return shapely.union_all(whole)
    if islands is None:
        what = "a polygon" if len(nested) == 1 else f"{len(nested):,} polygons"
        raise InputError(f"{name} holds {what} inside another: {ASKED}")
    return _faces(shapely.union_all(shapely.boundary(parts)))[0]


def _of_lines(lines: Any, name: str) -> BaseGeometry:
    """Make water of closed lines and of lines that join; refuse a shore with a gap."""
    import shapely

    water, loose = _faces(_joined(lines))
    if loose:
        length, wide, lat, lon = max(loose)
        raise InputError(
            f"{name}: its lines do not close: one {length:,.0f} m long has its ends {wide:,.0f} m "
            f"apart, near {lat:.5f}, {lon:.5f}; expected closed lines, or lines that join end to "
            "end"
        )
    if shapely.is_empty(water):
        raise InputError(f"{name}: its lines enclose nothing; expected the lake's shoreline")
    return water


def _joined(lines: Any) -> BaseGeometry:
    """Join lines where their ends lie within a metre of each other, and node them."""
    import shapely

    united: BaseGeometry = shapely.union_all(_snapped(lines))
    return united


def _snapped(lines: Any) -> Any:
    """Move line ends that lie within a metre of each other together."""
    import shapely
    from scipy.spatial import cKDTree

    ends = np.concatenate(
        [
            shapely.get_coordinates(shapely.get_point(lines, 0)),
            shapely.get_coordinates(shapely.get_point(lines, -1)),
        ]
    )
    scale = np.array([np.cos(np.radians(float(np.mean(ends[:, 1])))), 1.0])
    pairs = cKDTree(ends * scale).query_pairs(CLOSE * METRE, output_type="ndarray")
    target = np.arange(len(ends))
    for a, b in sorted((min(p), max(p)) for p in pairs.tolist()):
        target[b] = target[a]
    moved = ends[target]
    out = []
    n = len(lines)
    for k, line in enumerate(lines):
        points = shapely.get_coordinates(line).copy()
        if len(points) > 2 or not np.array_equal(moved[k], moved[n + k]):
            points[0], points[-1] = moved[k], moved[n + k]
        out.append(shapely.linestrings(points))
    return np.array(out, dtype=object)


def _faces(lines: BaseGeometry) -> tuple[BaseGeometry, list[tuple[float, float, float, float]]]:
    """Give the water that lines enclose, and the lines that enclose nothing.

    A face that shares an edge with the outside is water, one that shares edges with water alone is
    land, and so on inward.

    Returns
    -------
    water : geometry
        The water.
    loose : list of tuple
        Lines that end in the open: length [m], from end to end [m], latitude and longitude of one
        end. A jetty or a stream that runs up to a closed shore is none: it parts nothing.
    """
    import shapely

    faces, _, dangles, _ = shapely.polygonize_full([lines])
    faces = shapely.get_parts(faces)
    rings = shapely.boundary(faces)
    closed = shapely.union_all(rings)
    open_ones = shapely.get_parts(shapely.line_merge(shapely.union_all(shapely.get_parts(dangles))))
    loose = [_measured(line) for line in open_ones if not shapely.intersects(line, closed)]
    level = np.full(len(faces), -1)
    if len(faces):
        outside = shapely.boundary(shapely.union_all(faces))
        # faces share an edge where their boundaries meet in more than points
        level[shapely.length(shapely.intersection(rings, outside)) > 0.0] = 1
    tree = shapely.STRtree(faces)
    here = np.flatnonzero(level == 1)
    while here.size:
        near, far = tree.query(faces[here], predicate="intersects")
        waiting = level[far] < 0
        near, far = here[near[waiting]], far[waiting]
        shares = shapely.length(shapely.intersection(rings[near], rings[far])) > 0.0
        next_ones = np.unique(far[shares])
        level[next_ones] = level[here[0]] + 1
        here = next_ones
    return shapely.union_all(faces[level % 2 == 1]), loose


def _measured(line: BaseGeometry) -> tuple[float, float, float, float]:
    """Give a line's length and the distance between its ends [m], latitude and longitude of one."""
    import shapely

    points = shapely.get_coordinates(line)
    flat = points * [np.cos(np.radians(float(points[:, 1].mean()))) / METRE, 1.0 / METRE]
    length = float(np.hypot(*np.diff(flat, axis=0).T).sum())
    return length, float(np.hypot(*(flat[0] - flat[-1]))), float(points[0, 1]), float(points[0, 0])


def _large(water: BaseGeometry, name: str) -> BaseGeometry:
    """Leave out crumbs, and refuse what is left with nothing."""
    import shapely

    parts = shapely.get_parts(shapely.make_valid(water))
    parts = parts[shapely.get_type_id(parts) == 3]
    middle = float(shapely.get_coordinates(parts)[:, 1].mean()) if len(parts) else 0.0
    parts = parts[shapely.area(parts) * np.cos(np.radians(middle)) / METRE**2 > LEAST]
    if not len(parts):
        raise InputError(f"{name} encloses no water; expected the lake's shoreline")
    united: BaseGeometry = shapely.union_all(parts)
    return united
