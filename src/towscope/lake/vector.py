"""What do published contours or points (shapefile, GeoPackage, GeoJSON) say; and a shoreline."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from towscope.errors import InputError, one_line
from towscope.formats.table import heading
from towscope.lake.crs import known, to_globe
from towscope.lake.csv_log import _depth_name
from towscope.lake.soundings import UNITS, Log, Reading, sign

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

Array = npt.NDArray[np.float64]

DRIVERS = {".shp": "ESRI Shapefile", ".gpkg": "GPKG", ".geojson": "GeoJSON", ".json": "GeoJSON"}
MOST_BYTES = 1_000_000_000
MOST_POINTS = 5_000_000
_CONTOUR = ("contour", "contour_m", "contour_ft", "isobath", "level", "value")


def _open(path: Path) -> tuple[Any, Any, dict[str, npt.NDArray[Any]]]:
    """Give the layer's coordinate system, geometries and fields."""
    import pyogrio
    import shapely
    from pyogrio.errors import DataLayerError, DataSourceError

    name = one_line(path.name, 60)
    if path.suffix.lower() not in DRIVERS:
        raise InputError(f"{name}: expected a shapefile (.shp), GeoPackage or GeoJSON")
    size = path.stat().st_size
    if size > MOST_BYTES:
        raise InputError(f"{name} is {size / 1e9:.1f} GB; expected one lake's layer, at most 1 GB")
    if size == 0:
        raise InputError(f"{name} is empty; expected contours or points with depths")
    try:
        meta, _, shapes, values = pyogrio.raw.read(path)
    except (DataSourceError, DataLayerError, ValueError) as error:
        raise InputError(f"{name}: cannot be read as a layer ({one_line(error, 100)})") from None
    geometry = shapely.from_wkb(shapes, on_invalid="ignore")
    fields = dict(zip((str(f) for f in meta["fields"]), values, strict=True))
    return meta["crs"], geometry, fields


def read(path: Path, how: Reading) -> Log:
    """Read contours or points with depths as soundings.

    Parameters
    ----------
    path : Path
        The layer.
    how : Reading
        ``columns["depth"]`` names the field of depths where it can't be told.

    Raises
    ------
    InputError
        Where there is no depth, no coordinate system, or no usable shape.
    """
    import shapely

    name = one_line(path.name, 60)
    crs, shapes, fields = _open(path)
    system = how.crs or crs
    known(system, name)
    good = ~(shapely.is_missing(shapes) | shapely.is_empty(shapes))
    field, unit = _field(fields, how, name)
    heights = field is None
    if heights and not bool(np.any(shapely.has_z(shapes[good]))):
        shown = ", ".join(one_line(f, 20) for f in list(fields)[:12]) or "none"
        raise InputError(
            f"{name}: no field is called depth and its shapes have no heights (fields: {shown}); "
            "set --columns depth=FIELD"
        )
    xyz, which = shapely.get_coordinates(shapes, include_z=heights, return_index=True)
    if len(xyz) > MOST_POINTS:
        raise InputError(f"{name} has {len(xyz):,} vertices; expected at most {MOST_POINTS:,}")
    if not len(xyz):
        raise InputError(f"{name} holds no shapes; expected contours or points with depths")
    if heights:
        value = xyz[:, 2]
    else:
        try:
            value = np.asarray(fields[str(field)], float)[which]
        except (TypeError, ValueError):
            raise InputError(f'{name}: field "{field}" does not hold figures') from None
    notes: list[str] = []
    unit = how.unit or unit
    if unit is None:
        unit = "m"
        notes.append(f"{name} names no depth unit: read as metres; set --depth-unit if not")
    depth, note = sign(value * UNITS[unit], how.down, name)
    notes += [note] if note else []
    lat, lon = to_globe(xyz[:, 0], xyz[:, 1], system, name)
    return Log(name, lat, lon, depth, which.astype(np.int64) + 1, tuple(notes), track=False)


def _field(
    fields: dict[str, npt.NDArray[Any]], how: Reading, name: str
) -> tuple[str | None, str | None]:
    wanted = how.columns.get("depth") or how.columns.get("z")
    if wanted is not None:
        if wanted not in fields:
            raise InputError(f'{name} has no field "{wanted}"; it has {", ".join(fields)}')
        return wanted, _depth_name(wanted)[1]
    for field in fields:
        fits, unit = _depth_name(field)
        if fits:
            return field, unit
    for field in fields:
        if heading(field) in _CONTOUR:
            return field, "ft" if heading(field).endswith("ft") else None
    return None, None


def read_shoreline(path: Path, crs: str | None = None) -> BaseGeometry:
    """Read the water as polygons in longitude, latitude.

    Parameters
    ----------
    path : Path
        Shapefile, GeoPackage or GeoJSON with polygons (a closed line will do).
    crs : str, optional
        Its coordinate system where the file does not say.

    Raises
    ------
    InputError
        Where there is no polygon in it.
    """
    import shapely

    name = one_line(path.name, 60)
    said, shapes, _ = _open(path)
    system = crs or said
    known(system, name)
    shapes = shapes[~(shapely.is_missing(shapes) | shapely.is_empty(shapes))]
    kinds = shapely.get_type_id(shapes)
    lines = shapes[(kinds == 1) | (kinds == 5)]
    areas = list(shapes[(kinds == 3) | (kinds == 6)])
    if not areas and len(lines):
        areas = list(shapely.get_parts(shapely.polygonize(shapely.get_parts(lines))))
    if not areas:
        raise InputError(f"{name} holds no polygon; expected the lake's shoreline")

    def move(points: Array) -> Array:
        lat, lon = to_globe(points[:, 0], points[:, 1], system, name)
        return np.column_stack([lon, lat])

    water: BaseGeometry = shapely.make_valid(
        shapely.union_all([shapely.make_valid(shapely.transform(a, move)) for a in areas])
    )
    return water
