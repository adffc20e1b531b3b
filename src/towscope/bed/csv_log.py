"""Reader of tables of soundings (CSV, TSV, text): columns, signs and units, asked where open."""

from __future__ import annotations

import csv
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from towscope.arrays import Array
from towscope.bed.headings import likeliest, says, unit_of
from towscope.bed.soundings import UNITS, FileOptions, Log, sign
from towscope.errors import InputError, one_line
from towscope.files import read_text
from towscope.formats.angle import angle
from towscope.formats.clock import order_of
from towscope.formats.table import (
    LATITUDE,
    LONGITUDE,
    decimal_comma,
    figure,
    heading,
    parting,
    says_nothing,
)

LIMIT = 2_000_000_000
NOUGHTS = 0.05  # share of a text's bytes that may be nought
EXPECTED = "a table of soundings with columns such as lat, lon, depth"
_LAT = (*LATITUDE, "y", "y_wgs84", "ycoord")
_LON = (*LONGITUDE, "x", "x_wgs84", "xcoord")
_EAST = ("easting", "east", "utm_e", "e", "x_m", "utm_x")
_NORTH = ("northing", "north", "utm_n", "n", "y_m", "utm_y")
_TIME = ("time", "datetime", "date_time", "timestamp", "utc", "time_utc", "utc_time", "gps_time",
         "gpstime", "local_time", "datetime_utc", "epoch", "unix_time", "time_s")  # fmt: skip
_DAY = ("date", "day", "gps_date", "utc_date", "local_date")


@dataclass(frozen=True)
class _Columns:
    """Which columns hold what."""

    y: int
    x: int
    z: int
    unit: str | None
    flat: bool
    times: tuple[int, ...]


def read(path: Path, how: FileOptions) -> Log:
    """Read a table of soundings.

    Rows with times are put in their order; without times the order of the rows means nothing.

    Parameters
    ----------
    path : Path
        The file: a heading line, then one sounding a line; comma, semicolon, tab or spaces between.
    how : FileOptions
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
    text = read_text(path, expected=EXPECTED, limit=LIMIT, noughts=NOUGHTS)
    lines = text.splitlines()
    skip = 0
    while skip < len(lines) and says_nothing(lines[skip]):
        skip += 1
    if skip == len(lines):
        raise InputError(f"{name} holds no soundings; expected {EXPECTED}")
    mark = parting(lines[skip], " ")
    heads = [c.strip().strip('"') for c in _cells(lines[skip], mark)]
    if sum(_is_figure(c, mark != ",") for c in heads) >= min(3, len(heads)):
        if len(heads) < 3 or not how.columns:
            first = ", ".join(f"{k}={one_line(c, 20)}" for k, c in enumerate(heads[:12], 1))
            raise InputError(
                f"{name}, line {skip + 1}: no headings ({first}); expected a heading line such as "
                "lat,lon,depth_ft (or set --columns lat=1,lon=2,depth=3)"
            )
        heads = [str(k + 1) for k in range(len(heads))]
    else:
        skip += 1
    at = _columns(heads, how, name)
    notes: list[str] = []
    unit = at.unit
    if unit is None:
        unit = "m"
        notes.append(
            f'column "{heads[at.z]}" names no unit: read as metres; '
            "set --depth-unit ft if these are feet"
        )
    body = lines[skip:]
    table = _values(body, mark, at)
    table.row += skip
    if not table.lat.size:
        raise InputError(f"{name} has headings but no soundings; expected {EXPECTED}")
    for values, column, kind in (
        (table.lat, at.y, "northings" if at.flat else "degrees"),
        (table.lon, at.x, "eastings" if at.flat else "degrees"),
        (table.depth, at.z, "depths"),
    ):
        if not np.isfinite(values).any():
            cell = _first_cell(body, mark, column)
            raise InputError(
                f'{name}: column "{heads[column]}" holds no {kind} (it begins with '
                f'"{one_line(cell, 30)}"); expected soundings, or set --columns'
            )
    lat, lon = table.lat, table.lon
    if at.flat:
        lat, lon = _to_globe(lon, lat, how.crs, name)
    else:
        lon, more = _round_the_globe(lat, lon, name)
        notes += more
    depth, note = sign(table.depth * UNITS[unit], how, name, says(heads[at.z]))
    notes += [note] if note else []
    moment = order_of(table.when) if at.times else None
    if moment is None or np.unique(moment).size < 0.5 * moment.size:
        return Log(name, lat, lon, depth, table.row, tuple(notes), track=False)
    turn = np.argsort(moment, kind="stable")
    return Log(name, lat[turn], lon[turn], depth[turn], table.row[turn], tuple(notes))


@dataclass
class _Table:
    lat: Array
    lon: Array
    depth: Array
    row: npt.NDArray[np.int64]
    when: list[str]


def _values(body: list[str], mark: str, at: _Columns) -> _Table:
    n = len(body)
    lat, lon, depth = np.full(n, np.nan), np.full(n, np.nan), np.full(n, np.nan)
    when = [""] * n if at.times else []
    keep = np.ones(n, bool)
    need = max(at.x, at.y, at.z)
    comma = decimal_comma(mark, body[0] if n else "")
    place: Callable[[str, bool], float] = figure if at.flat else angle
    for k, cells in enumerate(
        csv.reader(body, delimiter=mark, skipinitialspace=True)
        if mark != " "
        else (line.split() for line in body)
    ):
        if not cells or (len(cells) == 1 and not cells[0].strip()) or cells[0].startswith("#"):
            keep[k] = False
            continue
        if len(cells) <= need:
            continue
        try:
            lat[k], lon[k], depth[k] = (figure(cells[c], comma) for c in (at.y, at.x, at.z))
        except ValueError:
            for target, c, reads in ((lat, at.y, place), (lon, at.x, place), (depth, at.z, figure)):
                with suppress(ValueError):
                    target[k] = reads(cells[c], comma)
        if at.times:
            when[k] = " ".join(cells[c] for c in at.times if c < len(cells))
    row = np.flatnonzero(keep) + 1
    times = [when[k] for k in np.flatnonzero(keep)] if at.times else []
    return _Table(lat[keep], lon[keep], depth[keep], row.astype(np.int64), times)


def _cells(line: str, mark: str) -> list[str]:
    return line.split() if mark == " " else next(csv.reader([line], delimiter=mark))


def _first_cell(body: list[str], mark: str, column: int) -> str:
    for line in body:
        if not says_nothing(line):
            cells = _cells(line, mark)
            return cells[column] if column < len(cells) else ""
    return ""


def _is_figure(cell: str, comma: bool) -> bool:
    try:
        angle(cell, comma)
    except ValueError:
        return False
    return True


def _columns(heads: list[str], how: FileOptions, name: str) -> _Columns:
    """Find the columns of latitude (or northing), longitude (or easting), depth and time."""
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
            if wanted.isdecimal() and 1 <= int(wanted) <= len(heads):
                return int(wanted) - 1
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
    if z is None:
        z = likeliest(heads, how.unit)
    if y is None or x is None or z is None:
        lacks = [w for w, v in (("latitude", y), ("longitude", x), ("depth", z)) if v is None]
        raise InputError(
            f"{name}: can't make out which column holds {' and '.join(lacks)} (it has {shown}); "
            "set --columns lat=NAME,lon=NAME,depth=NAME"
        )
    times = tuple(k for k in (found(_DAY), found(_TIME)) if k is not None)
    return _Columns(y, x, z, unit_of(heads[z], how.unit, name), flat, times)


def _round_the_globe(lat: Array, lon: Array, name: str) -> tuple[Array, list[str]]:
    """Bring longitudes of 180 to 360 back; refuse what are no degrees by what they look like."""
    a, b = np.abs(lat[np.isfinite(lat)]), np.abs(lon[np.isfinite(lon)])
    share = float(np.mean(a > 90.0)), float(np.mean(b > 360.0))
    if min(share) > 0.5 or max(share) > 0.9:
        sample = f"such as {a[0]:,.8g}, {b[0]:,.8g}"
        minutes = bool(
            (a <= 9_000.0).all() and (b <= 18_000.0).all()
            and (a % 100.0 < 60.0).all() and (b % 100.0 < 60.0).all()
        )  # fmt: skip
        metres = "metres of a grid? Set --crs, for example --crs EPSG:26915 for a UTM zone"
        if minutes:
            raise InputError(
                f"{name}: its places ({sample}) are no degrees: degrees and minutes run together, "
                f"or {metres}; for degrees and minutes write them apart, {_apart(a[0])}"
            )
        raise InputError(f"{name}: its places ({sample}) are no degrees: {metres}")
    east = np.isfinite(lon) & (lon > 180.0) & (lon <= 360.0)
    if np.count_nonzero(east) > 0.5 * b.size and (a <= 90.0).all():
        return np.where(east, lon - 360.0, lon), ["longitudes beyond 180 read as west: 360 less"]
    return lon, []


def _apart(value: float) -> str:
    return f"{value // 100.0:.0f} {value % 100.0:.7g} for {value:.8g}"


def _to_globe(x: Array, y: Array, crs: str | None, name: str) -> tuple[Array, Array]:
    from towscope.bed.crs import to_globe

    if crs is None:
        raise InputError(
            f"{name} gives easting and northing but no coordinate system; "
            "set --crs, for example --crs EPSG:26915"
        )
    return to_globe(x, y, crs, name)
