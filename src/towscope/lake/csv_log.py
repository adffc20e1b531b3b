"""What does a table of soundings (CSV, TSV, text) say: its columns, its signs, its units."""

from __future__ import annotations

import csv
import re
from contextlib import suppress
from pathlib import Path

import numpy as np
import numpy.typing as npt

from towscope.errors import InputError, one_line
from towscope.files import read_text
from towscope.formats.table import (
    LATITUDE,
    LONGITUDE,
    decimal_comma,
    figure,
    heading,
    parting,
    says_nothing,
)
from towscope.lake.soundings import UNITS, Log, Reading, sign, unit_named

Array = npt.NDArray[np.float64]

LIMIT = 2_000_000_000
EXPECTED = "a table of soundings with columns such as lat, lon, depth"
_LAT = (*LATITUDE, "y", "y_wgs84", "ycoord")
_LON = (*LONGITUDE, "x", "x_wgs84", "xcoord")
_EAST = ("easting", "east", "utm_e", "e", "x_m", "utm_x")
_NORTH = ("northing", "north", "utm_n", "n", "y_m", "utm_y")
_DEPTH = ("depth", "z", "dpt", "sounding", "bottom", "water_depth", "bottom_depth", "dbs", "dbt",
          "elevation", "elev", "bed")  # fmt: skip


def _depth_name(name: str) -> tuple[bool, str | None]:
    """Tell whether a heading means depth, and in which unit if it says so."""
    plain = heading(name)
    if plain in _DEPTH:
        return True, None
    head, _, tail = plain.rpartition("_")
    unit = unit_named(tail)
    if head in _DEPTH and unit:
        return True, unit
    match = re.fullmatch(r"(depth|depthin|depth_in_?)(m|ft|feet|meters|metres|fathoms)", plain)
    return (True, unit_named(match[2])) if match else (False, None)


def read(path: Path, how: Reading) -> Log:
    """Read a table of soundings.

    Parameters
    ----------
    path : Path
        The file: a heading line, then one sounding a line; comma, semicolon, tab or spaces between.
    how : Reading
        What the file does not say.

    Returns
    -------
    Log
        The soundings; figures that cannot be read are NaN, for the cleaning to name.

    Raises
    ------
    InputError
        Where the columns cannot be told, or the file is no table.
    """
    name = one_line(path.name, 60)
    text = read_text(path, expected=EXPECTED, limit=LIMIT)
    lines = text.splitlines()
    skip = 0
    while skip < len(lines) and says_nothing(lines[skip]):
        skip += 1
    if skip == len(lines):
        raise InputError(f"{name} holds no soundings; expected {EXPECTED}")
    mark = parting(lines[skip], " ")
    heads = [c.strip().strip('"') for c in _cells(lines[skip], mark)]
    bare = all(_is_figure(c) for c in heads)
    notes: list[str] = []
    if bare:
        if len(heads) < 3 or not how.columns:
            raise InputError(
                f"{name}, line {skip + 1}: no headings; expected a heading line such as "
                "lat,lon,depth_ft (or --columns lat=1,lon=2,depth=3)"
            )
        heads = [str(k + 1) for k in range(len(heads))]
    else:
        skip += 1
    y, x, z, unit, flat = _columns(heads, how, name)
    unit = how.unit or unit
    if unit is None:
        unit = "m"
        notes.append(
            f'column "{heads[z]}" names no unit: read as metres; '
            "set --depth-unit ft if these are feet"
        )
    n = len(lines) - skip
    lat, lon, depth = np.full(n, np.nan), np.full(n, np.nan), np.full(n, np.nan)
    row = np.arange(skip + 1, len(lines) + 1)
    keep = np.ones(n, bool)
    need = max(x, y, z)
    comma = decimal_comma(mark, lines[skip] if n else "")
    for k, cells in enumerate(
        csv.reader(lines[skip:], delimiter=mark, skipinitialspace=True)
        if mark != " "
        else (line.split() for line in lines[skip:])
    ):
        if not cells or (len(cells) == 1 and not cells[0].strip()) or cells[0].startswith("#"):
            keep[k] = False
            continue
        if len(cells) <= need:
            continue
        try:
            lat[k], lon[k], depth[k] = (figure(cells[at], comma) for at in (y, x, z))
        except ValueError:
            for target, at in ((lat, y), (lon, x), (depth, z)):
                with suppress(ValueError):
                    target[k] = figure(cells[at], comma)
    lat, lon, depth, row = lat[keep], lon[keep], depth[keep], row[keep]
    if not lat.size:
        raise InputError(f"{name} has headings but no soundings; expected {EXPECTED}")
    depth, note = sign(depth * UNITS[unit], how.down, name)
    if note:
        notes.append(note)
    if flat:
        lat, lon = _to_globe(lon, lat, how.crs, name)
    return Log(name, lat, lon, depth, row, tuple(notes))


def _cells(line: str, mark: str) -> list[str]:
    return line.split() if mark == " " else next(csv.reader([line], delimiter=mark))


def _is_figure(cell: str) -> bool:
    try:
        figure(cell)
    except ValueError:
        return False
    return True


def _columns(heads: list[str], how: Reading, name: str) -> tuple[int, int, int, str | None, bool]:
    """Find the columns of latitude (or northing), longitude (or easting) and depth."""
    plain = [heading(h) for h in heads]
    shown = ", ".join(one_line(h, 20) for h in heads[:12])

    def named(*keys: str) -> int | None:
        for key in keys:
            wanted = how.columns.get(key)
            if wanted is None:
                continue
            if wanted in heads:
                return heads.index(wanted)
            if heading(wanted) in plain:
                return plain.index(heading(wanted))
            raise InputError(f'{name} has no column "{wanted}"; it has {shown}')
        return None

    def found(names: tuple[str, ...]) -> int | None:
        return next((plain.index(n) for n in names if n in plain), None)

    y, x, z = named("lat", "y"), named("lon", "x"), named("depth", "z")
    flat = how.crs is not None
    if y is None and x is None:
        y, x = found(_LAT), found(_LON)
        if y is None or x is None:
            y, x = found(_NORTH), found(_EAST)
            flat = y is not None
    unit: str | None = None
    if z is None:
        fits = [k for k, h in enumerate(heads) if _depth_name(h)[0]]
        # "depth" before "z" or "elevation" where a file has both
        fits.sort(key=lambda k: not plain[k].startswith("depth"))
        z = fits[0] if fits else None
    if z is not None:
        unit = _depth_name(heads[z])[1]
    if y is None or x is None or z is None:
        lacks = [w for w, v in (("latitude", y), ("longitude", x), ("depth", z)) if v is None]
        raise InputError(
            f"{name}: can't make out which column holds {' and '.join(lacks)} (it has {shown}); "
            "set --columns lat=NAME,lon=NAME,depth=NAME"
        )
    return y, x, z, unit, flat


def _to_globe(x: Array, y: Array, crs: str | None, name: str) -> tuple[Array, Array]:
    from towscope.lake.crs import to_globe

    if crs is None:
        raise InputError(
            f"{name} gives easting and northing but no coordinate system; "
            "set --crs, for example --crs EPSG:26915"
        )
    return to_globe(x, y, crs, name)
