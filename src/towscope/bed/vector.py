"""Reader of published contours and points (shapefile, GeoPackage, GeoJSON): soundings."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from towscope.bed.crs import known, to_globe
from towscope.bed.headings import likeliest, says, unit_of
from towscope.bed.soundings import UNITS, FileOptions, Log, sign
from towscope.errors import InputError, one_line
from towscope.formats.table import heading

DRIVERS = {".shp": "ESRI Shapefile", ".gpkg": "GPKG", ".geojson": "GeoJSON", ".json": "GeoJSON"}
MOST_BYTES = 1_000_000_000
MOST_POINTS = 5_000_000
_CONTOUR = ("contour", "contour_m", "contour_ft", "isobath", "level", "value")


def open_layer(path: Path) -> tuple[Any, Any, dict[str, npt.NDArray[Any]]]:
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


def read(path: Path, how: FileOptions) -> Log:
    """Read contours or points with depths as soundings.

    Parameters
    ----------
    path : Path
        The layer.
    how : FileOptions
        ``columns["depth"]`` names the field of depths where it can't be told.

    Raises
    ------
    InputError
        Where there is no depth, no coordinate system, or no usable shape.
    """
    import shapely

    name = one_line(path.name, 60)
    crs, shapes, fields = open_layer(path)
    system = how.crs or crs
    known(system, name)
    good = ~(shapely.is_missing(shapes) | shapely.is_empty(shapes))
    field, unit = depth_field(fields, how.columns, name, how.unit)
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
    if unit is None:
        unit = "m"
        notes.append(f"{name} names no depth unit: read as metres; set --depth-unit if not")
    what = "unclear" if field is None else says(field)
    depth, note = sign(value * UNITS[unit], how, name, what)
    notes += [note] if note else []
    lat, lon = to_globe(xyz[:, 0], xyz[:, 1], system, name)
    return Log(
        name, lat, lon, depth, which.astype(np.int64) + 1, tuple(notes), track=False, shore=True
    )


def depth_field(
    fields: dict[str, npt.NDArray[Any]],
    columns: dict[str, str],
    name: str,
    unit: str | None = None,
) -> tuple[str | None, str | None]:
    """Find the field of depths and its unit: named by the user, else the one that says most.

    Raises
    ------
    InputError
        Where the user names a field that is not there, or another unit than the field's.
    """
    wanted = columns.get("depth") or columns.get("z")
    if wanted is not None and wanted not in fields:
        raise InputError(f'{name} has no field "{wanted}"; it has {", ".join(fields)}')
    if wanted is None and (best := likeliest(list(fields), unit)) is not None:
        wanted = list(fields)[best]
    if wanted is not None:
        return wanted, unit_of(wanted, unit, name)
    for field in fields:
        if heading(field) in _CONTOUR:
            return field, unit or ("ft" if heading(field).endswith("ft") else None)
    return None, unit
