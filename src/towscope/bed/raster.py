"""Reader of depth grids (GeoTIFF, ESRI grid) by window, never whole: soundings."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from towscope.arrays import Array
from towscope.bed.crs import known, to_globe
from towscope.bed.soundings import UNITS, FileOptions, Log, sign, unit_named
from towscope.errors import InputError, one_line
from towscope.progress import Detail

# Opened by the one reader that the name asks for: others follow links out of the file, to the
# network or elsewhere.
DRIVERS = {
    ".tif": "GTiff",
    ".tiff": "GTiff",
    ".asc": "AAIGrid",
    ".adf": "AIG",
    ".flt": "EHdr",
    ".bil": "EHdr",
}
MOST_CELLS = 25_000_000
RIM = 0.25  # share of a grid's rim that may be wet: an inlet or two


def read(path: Path, how: FileOptions, detail: Detail | None = None) -> Log:
    """Read a depth grid as soundings, one for each cell that has a depth.

    Parameters
    ----------
    path : Path
        The grid.
    how : FileOptions
        ``box`` limits what is read of a large grid; ``crs`` names the system if the file does not.
    detail : callable, optional
        Called with a line on what is being done.

    Raises
    ------
    InputError
        Where it is no grid, has no coordinate system, or has more cells than can be taken.
    """
    import rasterio
    from rasterio.errors import RasterioError, RasterioIOError
    from rasterio.windows import Window

    name = one_line(path.name, 60)
    try:
        with (
            rasterio.Env(GDAL_DISABLE_READDIR_ON_OPEN="EMPTY_DIR"),
            rasterio.open(path, driver=DRIVERS[path.suffix.lower()]) as grid,
        ):
            crs = how.crs or (grid.crs.to_wkt() if grid.crs else None)
            known(crs, name)
            _no_picture(grid, name)
            window = _window(grid, how, crs, name)
            cells = int(window.width) * int(window.height)
            weight = cells * np.dtype(grid.dtypes[0]).itemsize / 1e9
            if cells > MOST_CELLS:
                raise InputError(
                    f"{name} holds {cells / 1e6:,.0f} million cells here ({weight:.1f} GB "
                    f"unpacked); expected at most {MOST_CELLS / 1e6:.0f} million: name the lake's "
                    "part of it with --box SOUTH,WEST,NORTH,EAST"
                )
            unit, note = _unit(grid, how, name)
            parts: list[Array] = []
            band = max(1, 4_000_000 // max(int(window.width), 1))
            for top in range(0, int(window.height), band):
                high = min(band, int(window.height) - top)
                part = Window(window.col_off, window.row_off + top, window.width, high)
                value = grid.read(1, window=part, masked=True).astype(float).filled(np.nan)
                i, j = np.nonzero(np.isfinite(value))
                t, column, row = grid.transform, part.col_off + j + 0.5, part.row_off + i + 0.5
                x, y = t.a * column + t.b * row + t.c, t.d * column + t.e * row + t.f
                number = (part.row_off + i) * grid.width + part.col_off + j + 1
                parts.append(np.column_stack([x, y, value[i, j], number]))
                if detail is not None:
                    detail(f"{name}: row {top + high:,} of {int(window.height):,}")
    except (RasterioIOError, RasterioError) as error:
        raise InputError(
            f"{name}: cannot be read as a depth grid ({one_line(error, 100)}); expected GeoTIFF or "
            "an ESRI grid"
        ) from None
    data = np.concatenate(parts) if parts else np.zeros((0, 4))
    if not len(data):
        raise InputError(f"{name} has no cell with a depth here; expected a grid of depths")
    lat, lon = to_globe(data[:, 0], data[:, 1], crs, name)
    depth, sign_note = sign(data[:, 2] * UNITS[unit], how, name)
    wet = depth > 0.0  # a published grid has its shore as zeros or land as heights
    if how.down is None and how.surface is None and how.box is None:
        _not_to_its_rim(data[wet, 3], int(window.height), int(window.width), name)
    notes = tuple(n for n in (note, sign_note) if n)
    return Log(
        name, lat[wet], lon[wet], depth[wet], data[wet, 3].astype(np.int64), notes, track=False,
        shore=True,
    )  # fmt: skip


def _no_picture(grid: Any, name: str) -> None:
    """Refuse a scanned map or an aerial picture: colours are no depths."""
    from rasterio.enums import ColorInterp

    colours = {ColorInterp.red, ColorInterp.green, ColorInterp.blue, ColorInterp.palette}
    if colours & set(grid.colorinterp):
        raise InputError(
            f"{name} is a picture (its values are colours); expected a grid of depths, such as a "
            "GeoTIFF of one band in metres"
        )


def _not_to_its_rim(cells: Array, rows: int, columns: int, name: str) -> None:
    """Ask about a grid that is wet along its rim: a lake has land round it."""
    i, j = np.divmod(cells.astype(np.int64) - 1, columns)
    rim = np.count_nonzero((i == 0) | (j == 0) | (i == rows - 1) | (j == columns - 1))
    around = max(2 * (rows + columns) - 4, 1)
    if min(rows, columns) > 4 and rim > RIM * around:
        raise InputError(
            f"{name} is wet along {100 * rim / around:.0f} % of its rim: a part of a larger lake, "
            "or heights or a picture and no depths? For depths set --sign down (or --box for a "
            'part); for heights set the height of the water: --surface "432 m"'
        )


def _unit(grid: Any, how: FileOptions, name: str) -> tuple[str, str | None]:
    if how.unit:
        return how.unit, None
    said = unit_named(grid.units[0] or "") if grid.units else None
    if said:
        return said, None
    return "m", f"{name} names no depth unit: read as metres; set --depth-unit if not"


def _window(grid: Any, how: FileOptions, crs: Any, name: str) -> Any:
    from pyproj import Transformer
    from rasterio.windows import Window, from_bounds

    whole = Window(0, 0, grid.width, grid.height)
    if how.box is None:
        return whole
    south, west, north, east = how.box
    change = Transformer.from_crs("EPSG:4326", known(crs, name), always_xy=True)
    left, bottom, right, top = change.transform_bounds(west, south, east, north)
    wanted = from_bounds(left, bottom, right, top, grid.transform)
    wanted = wanted.round_offsets().round_lengths()
    try:
        return wanted.intersection(whole)
    except Exception:  # rasterio raises its own kind where they do not meet
        raise InputError(f"{name}: nothing of it lies in --box {how.box}") from None
