"""Coordinate transformation by PROJ: a file's coordinates as latitude and longitude."""

from __future__ import annotations

from typing import Any

import numpy as np

from towscope.arrays import Array
from towscope.errors import InputError, one_line


def known(crs: Any, name: str) -> Any:
    """Give the coordinate system, or refuse it by name.

    Parameters
    ----------
    crs : str or None
        As a file or the user names it: ``"EPSG:26915"`` or WKT.
    name : str
        The file, for messages.

    Raises
    ------
    InputError
        Where it is missing or unknown, or no system of the globe.
    """
    from pyproj import CRS
    from pyproj.exceptions import CRSError

    if crs is None or not str(crs).strip():
        raise InputError(
            f"{name} names no coordinate system; set --crs, for example --crs EPSG:4326 "
            "for latitude and longitude or --crs EPSG:26915 for a UTM zone"
        )
    try:
        found = CRS.from_user_input(crs)
    except CRSError:
        raise InputError(
            f'{name}: unknown coordinate system "{one_line(crs, 40)}"; expected such as EPSG:26915'
        ) from None
    if not (found.is_geographic or found.is_projected or found.is_compound or found.is_bound):
        raise InputError(
            f'{name}: "{one_line(found.name, 40)}" is no coordinate system of the globe; '
            "expected such as EPSG:26915"
        )
    return found


def to_globe(x: Array, y: Array, crs: Any, name: str) -> tuple[Array, Array]:
    """Give latitude and longitude [degrees, WGS 84] of a file's coordinates (x east, y north)."""
    from pyproj import Transformer

    change = Transformer.from_crs(known(crs, name), "EPSG:4326", always_xy=True)
    lon, lat = change.transform(x, y)
    lat, lon = np.asarray(lat, float), np.asarray(lon, float)
    bad = ~np.isfinite(lat) & np.isfinite(np.asarray(x, float))
    if bad.size and bad.all():
        raise InputError(
            f"{name}: its coordinates (such as {float(np.ravel(x)[0]):g}, "
            f"{float(np.ravel(y)[0]):g}) do not fit the coordinate system {one_line(crs, 40)}"
        )
    return np.where(bad, np.nan, lat), np.where(bad, np.nan, lon)
