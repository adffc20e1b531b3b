"""ISO 8601 times with their zone as unix time."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from datetime import datetime

import numpy as np
import numpy.typing as npt

_ZONE = re.compile(r"(?:Z|[+-]\d{2}(?::?\d{2})?)$")


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
    words = text.strip().upper()  # RFC 3339 lets t and z be small
    moment = datetime.fromisoformat(words)
    if moment.tzinfo is None or not _ZONE.search(words):
        raise ValueError("no zone")
    return moment.timestamp()


def unix_times(texts: Iterable[bytes]) -> npt.NDArray[np.float64]:
    """Give the unix times [s] of many ISO 8601 times; NaN where one is none or lacks its zone.

    Parameters
    ----------
    texts : (n,) bytes
        The times.

    Returns
    -------
    (n,) array
        Unix times [s].
    """
    return np.fromiter((_or_nan(text) for text in texts), dtype=np.float64)


def _or_nan(text: bytes) -> float:
    try:
        return unix_time(text.decode("ascii"))
    except (ValueError, OverflowError):
        return math.nan
