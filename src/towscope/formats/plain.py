"""Answers as what JSON can hold: lists for arrays, null for what has no value, few digits."""

from __future__ import annotations

import math
from typing import Any


def plain(value: Any, decimals: int | None = None) -> Any:
    """Give what JSON can hold: lists for arrays, null for what has no value, six digits.

    >>> plain({"depth_m": 9.4488123, "deepest_m": float("inf"), "boat_lat": 48.40012345})
    {'depth_m': 9.44881, 'deepest_m': None, 'boat_lat': 48.4001235}
    """
    if isinstance(value, dict):
        return {key: plain(item, _decimals(key)) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(item, decimals) for item in value]
    if hasattr(value, "tolist"):
        return plain(value.tolist(), decimals)
    if isinstance(value, float):
        if not math.isfinite(value):
            return None
        return float(f"{value:.6g}") if decimals is None else round(value, decimals)
    return value


def _decimals(key: Any) -> int | None:
    """Give the decimals of what counts from afar.

    A place needs more digits than a measure: six of a longitude leave ten metres open, six of a
    day's seconds or a lake's metres a whole one.
    """
    last = str(key).rpartition("_")[2]
    if last in ("lat", "lon"):
        return 7
    return 3 if key in ("time_s", "x_m", "y_m", "boat_x_m", "boat_y_m") else None
