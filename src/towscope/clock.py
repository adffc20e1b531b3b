"""The one place that asks this computer's clock, so that a test can tell it otherwise.

``TOWSCOPE_NOW`` may name a moment, ISO 8601 with its offset: the clock then stands at it as the
program begins, and runs on from there.
"""

from __future__ import annotations

import os
import time
from datetime import UTC, datetime, tzinfo
from functools import cache

from towscope.errors import InputError, one_line


def time_s() -> float:
    """Give the time now, unix time [s]."""
    return time.time() + _ahead_s()


def now(zone: tzinfo = UTC) -> datetime:
    """Give the time now in a zone."""
    return datetime.fromtimestamp(time_s(), zone)


def begin() -> None:
    """Read ``TOWSCOPE_NOW`` anew: from here on the clock runs from that moment."""
    _ahead_s.cache_clear()
    _ahead_s()


@cache
def _ahead_s() -> float:
    told = os.environ.get("TOWSCOPE_NOW", "")
    if not told:
        return 0.0
    try:
        moment = datetime.fromisoformat(told)
    except ValueError:
        moment = None
    if moment is None or moment.tzinfo is None:
        raise InputError(
            f'TOWSCOPE_NOW="{one_line(told, 40)}": expected a time with its offset, '
            'such as "2026-08-14T07:40:00-05:00"'
        )
    return moment.timestamp() - time.time()
