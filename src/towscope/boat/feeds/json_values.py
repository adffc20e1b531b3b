"""Bounds and types checked on others' JSON: figures and times that can be believed, or None."""

from __future__ import annotations

import json
import math
from typing import Any

from towscope.formats.iso import unix_time


def read_object(text: bytes | str) -> dict[str, Any] | None:
    """Read a JSON object; None where it is none.

    >>> read_object('{"a": 1}'), read_object("[1]"), read_object("{torn")
    ({'a': 1}, None, None)
    """
    try:
        said = json.loads(text)
    except (ValueError, RecursionError):
        return None
    return said if isinstance(said, dict) else None


def figure(value: object, low: float, high: float) -> float | None:
    """Give a figure if it is one between two bounds.

    >>> figure(3, 0.0, 5.0), figure(float("nan"), 0.0, 5.0), figure(True, 0.0, 5.0)
    (3.0, None, None)
    """
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    if not low <= value <= high or not math.isfinite(value):
        return None
    return float(value)


def moment(value: object) -> float | None:
    """Give the moment that a text in ISO 8601 means [unix s]; None where it means none."""
    if not isinstance(value, str):
        return None
    try:
        return unix_time(value)
    except (ValueError, OverflowError):
        return None
