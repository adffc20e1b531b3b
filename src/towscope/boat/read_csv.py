"""Reader of a track from a table: `time_s,x_m,y_m`, or `time,lat,lon`."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import IO

import numpy as np

from towscope.arrays import Array
from towscope.boat.track import MOST_FIXES, Fixes
from towscope.errors import InputError, one_line
from towscope.formats.iso import unix_time, unix_times
from towscope.formats.table import (
    LATITUDE,
    LONGITUDE,
    decimal_comma,
    figure,
    heading,
    parting,
    says_nothing,
)

EXPECTED = 'a first line "time_s,x_m,y_m" or "time,lat,lon"'
CHUNK = 4_000_000  # bytes
MOST_BYTES = 2_000_000_000
MOST_BAD = 0.2  # of the rows; a file with more is not what it seems
UNIX = 1e8  # [s]; larger times are unix times: a boat's own clock does not run three years
_NAMES = {
    "time_s": ("time_s", "t_s", "seconds", "t"),
    "time": ("time", "timestamp", "datetime", "utc"),
    "x": ("x_m", "x"),
    "y": ("y_m", "y"),
    "lat": LATITUDE,
    "lon": LONGITUDE,
}


@dataclass(frozen=True)
class Layout:
    """Where in a row stands what.

    Attributes
    ----------
    delimiter : str
        What parts the columns.
    columns : tuple of int
        Of the time, and of x and y or latitude and longitude.
    on_globe : bool
        Whether the places are on the globe.
    written : bool
        Whether the times are written out (ISO 8601) rather than counted.
    """

    delimiter: str
    columns: tuple[int, int, int]
    on_globe: bool
    written: bool


def read_csv(path: Path) -> Fixes:
    """Read a track from a table.

    Parameters
    ----------
    path : Path
        A file whose first line names its columns: `time_s,x_m,y_m` (seconds of any clock, metres
        east and north) or `time,lat,lon` (ISO 8601 with its zone, or unix seconds; degrees).
        Other columns are passed over; commas, semicolons and tabs all part columns.

    Returns
    -------
    Fixes
        What it says; rows that cannot be read are counted in the notes.

    Raises
    ------
    InputError
        Where it is no such table, or too much of it cannot be read.
    """
    shown = one_line(path.name, 60)
    if path.stat().st_size > MOST_BYTES:
        raise InputError(
            f"{shown} is {path.stat().st_size / 1e9:.1f} GB; expected a track of at most "
            f"{MOST_BYTES / 1e9:.0f} GB: cut it by days"
        )
    with path.open("rb") as stream:
        header, skipped = _header(stream, shown)
        sample = stream.readline()
        layout = _layout(header, sample, shown)
        parts: list[Array] = []
        bad: list[int] = []
        line, count = skipped + 1, 0
        for block in _blocks(stream, sample):
            if b"\x00" in block:
                raise InputError(f"{shown} is binary; expected a table: {EXPECTED}")
            rows, wrong = _rows(block, layout)
            bad.extend(line + i for i in wrong)
            line += block.count(b"\n")
            parts.append(rows)
            count += len(rows)
            if count > MOST_FIXES:
                raise InputError(
                    f"{shown} holds over {MOST_FIXES / 1e6:.0f} million rows; expected fewer: "
                    "a day at 10 fixes a second is 1 million, so cut it by days"
                )
    table = np.concatenate(parts) if parts else np.empty((0, 3))
    if len(bad) > max(MOST_BAD * (len(table) + len(bad)), 3) or (bad and not len(table)):
        raise InputError(
            f"{shown}, line {bad[0]}: cannot be read, nor {len(bad) - 1} others; expected "
            + _row_words(layout)
        )
    if not len(table):
        raise InputError(
            f"{shown} holds no rows below its first line; expected {_row_words(layout)}"
        )
    notes = []
    if bad:
        each = f"line {bad[0]}" if len(bad) == 1 else f"{len(bad)} lines, the first {bad[0]}"
        notes.append(f"left out {each}: cannot be read")
    time = table[:, 0]
    known = time[np.isfinite(time)]
    dated = layout.written or bool(known.size and float(np.median(known)) > UNIX)
    return Fixes(
        time,
        table[:, 1].copy(),
        table[:, 2].copy(),
        layout.on_globe,
        dated,
        notes=tuple(notes),
        source=shown,
    )


def _row_words(layout: Layout) -> str:
    time = (
        "an ISO 8601 time with its zone (2026-08-14T07:40:00-05:00)"
        if layout.written
        else ("seconds")
    )
    return f"{time}, then {'latitude and longitude in degrees' if layout.on_globe else 'metres'}"


def _header(stream: IO[bytes], shown: str) -> tuple[str, int]:
    """Give the first line that says something, and the number of lines up to it."""
    for number in range(1, 200):
        raw = stream.readline(10_000)
        if not raw:
            break
        if b"\x00" in raw or len(raw) >= 10_000:
            raise InputError(f"{shown} is no table; expected {EXPECTED}")
        if number == 1:
            raw = raw.removeprefix(b"\xef\xbb\xbf")
        line = raw.decode("utf-8", "replace")
        if not says_nothing(line):
            return line.strip(), number
    raise InputError(f"{shown} is empty; expected {EXPECTED}")


def _layout(text: str, sample: bytes, shown: str) -> Layout:
    delimiter = parting(text)
    names = [heading(name) for name in text.split(delimiter)]
    found = {
        key: next((names.index(word) for word in words if word in names), None)
        for key, words in _NAMES.items()
    }
    pairs = (("lat", "lon", True), ("x", "y", False))
    place = next(
        (
            (found[a], found[b], globe)
            for a, b, globe in pairs
            if found[a] is not None and found[b] is not None
        ),
        None,
    )
    time = found["time_s"] if found["time_s"] is not None else found["time"]
    if place is None or time is None:
        raise InputError(
            f'{shown}: its first line reads "{one_line(text, 60)}"; expected {EXPECTED}'
        )
    first, second, on_globe = place
    assert first is not None and second is not None
    cells = sample.decode("utf-8", "replace").split(delimiter)
    counted = time < len(cells) and _is_figure(cells[time].strip().strip('"'), delimiter)
    written = found["time_s"] is None and not counted
    return Layout(delimiter, (time, first, second), on_globe, written)


def _is_figure(text: str, delimiter: str) -> bool:
    try:
        _figure(text, delimiter)
    except ValueError:
        return False
    return True


def _blocks(stream: IO[bytes], begun: bytes) -> Iterator[bytes]:
    """Give the rest of a stream in blocks of whole lines."""
    left = begun
    while chunk := stream.read(CHUNK):
        left += chunk
        end = left.rfind(b"\n") + 1
        if end:
            yield left[:end]
            left = left[end:]
        elif len(left) > 3 * CHUNK:
            break
    if left:
        yield left


def _rows(block: bytes, layout: Layout) -> tuple[Array, list[int]]:
    """Read a block: its rows (n, 3), and which of its lines could not be read."""
    try:
        return _all_rows(block, layout), []
    except ValueError:
        return _row_by_row(block, layout)


def _all_rows(block: bytes, layout: Layout) -> Array:
    kind = [("time", "S40" if layout.written else "f8"), ("first", "f8"), ("second", "f8")]
    if not block.strip():
        return np.empty((0, 3))
    table = np.loadtxt(
        io.BytesIO(block),
        dtype=kind,
        delimiter=layout.delimiter,
        usecols=layout.columns,
        comments=None,
        quotechar='"',
        ndmin=1,
    )
    time = table["time"]
    if layout.written:
        time = unix_times(time)
        if np.isnan(time).any():
            raise ValueError("an unreadable time")
    return np.column_stack([time, table["first"], table["second"]])


def _row_by_row(block: bytes, layout: Layout) -> tuple[Array, list[int]]:
    rows: list[tuple[float, float, float]] = []
    bad: list[int] = []
    lines = block.decode("utf-8", "replace").splitlines()
    for i, line in enumerate(lines):
        if says_nothing(line):
            continue
        try:
            cells = next(csv.reader([line[:10_000]], delimiter=layout.delimiter))
            time, first, second = (cells[c].strip() for c in layout.columns)
            # an empty place is a fix that was missed; an empty time is a row that says nothing
            rows.append(
                (
                    unix_time(time) if layout.written else _figure(time, layout.delimiter),
                    _place(first, layout),
                    _place(second, layout),
                )
            )
        except (ValueError, IndexError, OverflowError, csv.Error):
            bad.append(i)
    return np.array(rows, dtype=float).reshape(-1, 3), bad


def _place(text: str, layout: Layout) -> float:
    if not text:
        return math.nan
    return _figure(text, layout.delimiter)


def _figure(text: str, delimiter: str) -> float:
    return figure(text, decimal_comma(delimiter, text))
