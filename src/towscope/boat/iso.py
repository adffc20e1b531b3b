"""What moment does an ISO 8601 time with its zone mean: one at a time, or a million at once."""

from __future__ import annotations

import re
from datetime import datetime

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Bytes = npt.NDArray[np.bytes_]

_ZONE = re.compile(r"(?:[Zz]|[+-]\d{2}(?::?\d{2})?)$")


def unix_time(text: str) -> float:
    """Give the unix time [s] of one ISO 8601 time that names its zone.

    Raises
    ------
    ValueError
        Where it is none, or does not say its zone.

    Examples
    --------
    >>> unix_time("2026-08-14T07:40:00-05:00") - unix_time("2026-08-14T12:39:59.5Z")
    0.5
    """
    words = text.strip()
    moment = datetime.fromisoformat(words)
    if moment.tzinfo is None or not _ZONE.search(words):
        raise ValueError("no zone")
    return moment.timestamp()


def unix_times(texts: Bytes) -> Array:
    """Give the unix times [s] of many ISO 8601 times; NaN where one is none or lacks its zone.

    Parameters
    ----------
    texts : (n,) array of bytes
        The times.

    Returns
    -------
    (n,) array
        Unix times [s].
    """
    found = np.full(texts.size, np.nan)
    if texts.size == 0:
        return found
    width = texts.dtype.itemsize
    letters = np.ascontiguousarray(texts).view(np.uint8).reshape(texts.size, width)
    lengths = np.char.str_len(texts)
    for length in np.unique(lengths):
        rows = np.flatnonzero(lengths == length)
        if length >= 20:
            found[rows] = _same_length(letters[rows, : int(length)])
    for i in np.flatnonzero(np.isnan(found)):  # the rare other spellings
        try:
            found[i] = unix_time(texts[i].decode("ascii"))
        except (ValueError, OverflowError):
            continue
    return found


def _same_length(c: npt.NDArray[np.uint8]) -> Array:
    """Read times written YYYY-MM-DDTHH:MM:SS[.f]Z or with +HH:MM, all of one length; NaN if not."""
    digit = c.astype(np.int64) - 48

    def whole(*columns: int) -> npt.NDArray[np.int64]:
        value = np.zeros(len(c), dtype=np.int64)
        for column in columns:
            value = 10 * value + digit[:, column]
        return value

    def digits(first: int, beyond: int) -> npt.NDArray[np.bool_]:
        part = digit[:, first:beyond]
        return np.asarray(((part >= 0) & (part <= 9)).all(axis=1))

    length = c.shape[1]
    zulu = (c[:, -1] | 32) == ord("z")
    sign = np.where(c[:, -6] == ord("+"), 1, np.where(c[:, -6] == ord("-"), -1, 0))
    offset = (sign != 0) & (c[:, -3] == ord(":")) & digits(length - 5, length - 3)
    offset &= digits(length - 2, length)
    good = zulu | offset
    for column, mark in ((4, "-"), (7, "-"), (13, ":"), (16, ":")):
        good &= c[:, column] == ord(mark)
    good &= ((c[:, 10] | 32) == ord("t")) | (c[:, 10] == 32)
    for first, beyond in ((0, 4), (5, 7), (8, 10), (11, 13), (14, 16), (17, 19)):
        good &= digits(first, beyond)
    fraction = np.zeros(len(c))
    for tail, chosen in ((1, zulu), (6, offset & ~zulu)):
        end = length - tail
        if end == 19 or not chosen.any():
            continue
        if end < 21:
            good &= ~chosen
            continue
        good &= ~chosen | ((c[:, 19] == ord(".")) & digits(20, end))
        kept = range(20, min(end, 29))
        value = whole(*kept) / 10.0 ** len(kept)
        fraction = np.where(chosen, value, fraction)
    year, month, day = whole(0, 1, 2, 3), whole(5, 6), whole(8, 9)
    hour, minute, second = whole(11, 12), whole(14, 15), whole(17, 18)
    good &= (year >= 1900) & (month >= 1) & (month <= 12) & (day >= 1) & (day <= 31)
    good &= (hour < 24) & (minute < 60) & (second < 61)
    safe = np.where(good, (year - 1970) * 12 + month - 1, 0)
    months = safe.astype("datetime64[M]")
    days = months.astype("datetime64[D]") + np.where(good, day - 1, 0)
    good &= days.astype("datetime64[M]") == months  # no 30 February
    east = np.where(
        zulu, 0, sign * (whole(length - 5, length - 4) * 60 + whole(length - 2, length - 1))
    )
    seconds = days.astype(np.int64) * 86400 + hour * 3600 + minute * 60 + second - 60 * east
    return np.where(good, seconds + fraction, np.nan)
