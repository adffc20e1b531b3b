"""Soundings as they are given to the library: files, or arrays of places and depths; and a box."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from towscope.errors import ArgumentError

if TYPE_CHECKING:
    from towscope.bed.soundings import FileOptions, Log

Files = str | Path | Iterable[str | Path]
Points = tuple[npt.ArrayLike, npt.ArrayLike, npt.ArrayLike]


def box_of(given: str | tuple[float, float, float, float]) -> tuple[float, float, float, float]:
    """Read a box: south, west, north, east [degrees]."""
    values = given.split(",") if isinstance(given, str) else given
    try:
        south, west, north, east = (float(str(v).replace("−", "-")) for v in values)
    except ValueError:
        raise ArgumentError(
            "box", f' "{given}": expected SOUTH,WEST,NORTH,EAST in degrees'
        ) from None
    if not (-90 <= south < north <= 90 and -180 <= west < east <= 180):
        raise ArgumentError("box", f' "{given}": expected SOUTH below NORTH and WEST before EAST')
    return south, west, north, east


def files_of(given: Any) -> list[Path] | None:
    """Give the files that are meant; None where it is arrays."""
    many = [given] if isinstance(given, (str, Path)) else list(given)
    if all(isinstance(each, (str, Path)) for each in many):
        return [Path(each) for each in many]
    if len(many) != 3:
        raise ArgumentError(
            "soundings",
            f" of {len(many)} parts: expected files, or latitudes, longitudes and depths",
        )
    return None


def log_of(points: Any, how: FileOptions) -> Log:
    """Take soundings that are arrays already as if they had been read from a file."""
    from towscope.bed.soundings import UNITS, Log, sign

    lat, lon, depth = (np.asarray(each, float).ravel() for each in points)
    if not lat.size == lon.size == depth.size:
        raise ArgumentError(
            "soundings",
            f" of {lat.size}, {lon.size} and {depth.size} figures: expected as many "
            "latitudes as longitudes as depths",
        )
    down, note = sign(depth * UNITS[how.unit or "m"], how, "soundings", "depth")
    down = down + how.transducer
    return Log("arrays", lat, lon, down, np.arange(1, lat.size + 1), (note,) if note else ())
