"""The kind of a file of soundings told by name and content, and its reader called."""

from __future__ import annotations

import re
import tempfile
from dataclasses import replace
from pathlib import Path

from towscope.bed import csv_log, gpx_log, nmea_log
from towscope.bed.soundings import FileOptions, Log
from towscope.errors import InputError, one_line
from towscope.progress import Detail

KINDS = (
    "CSV (.csv, .txt, .tsv, .xyz, .log), NMEA 0183 (.nmea, .log), GPX, GeoTIFF (.tif), ESRI grid "
    "(.asc, .flt), shapefile (.shp or .zip), GeoPackage, GeoJSON"
)
_RASTERS = (".tif", ".tiff", ".asc", ".flt", ".bil", ".adf")  # as raster.DRIVERS
_LAYERS = (".shp", ".gpkg", ".geojson", ".json")
_SENTENCE = re.compile(rb"[$!][A-Z]{2}[A-Z0-9]{2,}[,*]")


def read(path: Path, how: FileOptions, detail: Detail | None = None) -> Log:
    """Read soundings from any kind of file that is known.

    Parameters
    ----------
    path : Path
        The file.
    how : FileOptions
        What the file does not say.
    detail : callable, optional
        Called with a line on what is being done.

    Returns
    -------
    Log
        The soundings as they stand in the file.

    Raises
    ------
    InputError
        Where the file is missing, of no known kind, or not what it says it is.
    """
    shown = one_line(path, 120)
    try:
        folder = path.is_dir()
        size = path.stat().st_size
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise InputError(f"{shown}: {reason}; expected soundings") from None
    suffix = path.suffix.lower()
    if folder:
        raise InputError(f"{shown} is a folder; expected a file of soundings: {KINDS}")
    if not size:
        raise InputError(f"{shown} is empty; expected soundings: {KINDS}")
    if suffix in _RASTERS:
        from towscope.bed import raster

        return raster.read(path, how, detail)
    if suffix in _LAYERS:
        from towscope.bed import vector

        return vector.read(path, how)
    if suffix == ".zip":
        return _from_zip(path, how, detail)
    with path.open("rb") as stream:
        head = stream.read(65_536)
    if suffix == ".gpx" or head.lstrip(b"\xef\xbb\xbf \r\n\t")[:5] == b"<?xml":
        return gpx_log.read(path, how)
    # a logger that was switched off leaves noughts where nothing had been written
    lines = head.replace(b"\x00", b"").splitlines()
    sentences = sum(bool(_SENTENCE.search(line)) for line in lines)
    if sentences > 0.2 * len(lines) or (sentences and suffix == ".nmea"):
        return nmea_log.read(path, how, detail)
    if head.count(b"\x00") > csv_log.NOUGHTS * len(head) or not any(line.strip() for line in lines):
        raise InputError(f"{shown} is binary and of no known kind; expected {KINDS}")
    if suffix == ".nmea":
        return nmea_log.read(path, how, detail)  # says what is not in it
    if suffix in (".csv", ".txt", ".tsv", ".xyz", ".dat", ".log", ""):
        return csv_log.read(path, how)
    raise InputError(f"{shown}: unknown kind of file; expected {KINDS}")


def _from_zip(path: Path, how: FileOptions, detail: Detail | None) -> Log:
    from towscope.bed.archive import unpack

    with tempfile.TemporaryDirectory(prefix="towscope-") as folder:
        files = unpack(path, Path(folder))
        known = (*_RASTERS, *_LAYERS, ".csv", ".txt", ".gpx", ".nmea", ".log")
        fits = [f for f in files if f.suffix.lower() in known]
        shapes = [f for f in fits if f.suffix.lower() == ".shp"]
        fits = shapes or fits
        if len(fits) != 1:
            raise InputError(
                f"{one_line(path.name, 60)} holds {len(fits)} files of soundings; expected one"
            )
        log = read(fits[0], how, detail)
        return replace(log, source=f"{one_line(path.name, 60)}: {log.source}")
