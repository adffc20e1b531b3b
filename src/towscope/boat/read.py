"""A track's kind told by its content (table, GPX or NMEA 0183 log), and its reader called."""

from __future__ import annotations

from pathlib import Path

from towscope.boat.read_csv import read_csv
from towscope.boat.read_gpx import read_gpx
from towscope.boat.read_nmea import read_nmea
from towscope.boat.track import Fixes
from towscope.errors import InputError, one_line
from towscope.formats.nmea import SENTENCE

EXPECTED = "a track: GPX, an NMEA 0183 log, or a table with time_s,x_m,y_m or time,lat,lon"


def read_fixes(path: Path) -> Fixes:
    """Read a track's fixes as they stand.

    Parameters
    ----------
    path : Path
        The file; its name does not matter.

    Returns
    -------
    Fixes
        What it says.

    Raises
    ------
    InputError
        Where it is missing, empty, or no track.
    """
    shown = one_line(path, 120)
    try:
        if path.is_dir():
            raise InputError(f"{shown} is a folder; expected {EXPECTED}")
        if not path.is_file():
            raise InputError(f"{shown}: no such file; expected {EXPECTED}")
        with path.open("rb") as stream:
            start = stream.read(20_000)
        if not start.strip():
            raise InputError(f"{shown} is empty; expected {EXPECTED}")
        text = start.removeprefix(b"\xef\xbb\xbf").lstrip()
        if text[:1] == b"<" or start[:2] in (b"\xff\xfe", b"\xfe\xff"):
            return read_gpx(path)
        if SENTENCE.search(start.decode("latin-1")):
            return read_nmea(path)
        if b"\x00" in start:
            raise InputError(f"{shown} is binary; expected {EXPECTED}")
        if start.startswith(b"$") or b"\n$" in start:
            return read_nmea(path)
        return read_csv(path)
    except OSError as error:
        raise InputError(f"{shown}: {error.strerror or error}; expected {EXPECTED}") from None
