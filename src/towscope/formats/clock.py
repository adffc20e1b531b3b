"""Times of many forms as seconds to sort by: the order in which a table's rows were made.

Only the order counts here, so zones and the epoch are left alone; what must be a moment is read by
`towscope.formats.iso`.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date

import numpy as np

from towscope.arrays import Array

DAY = 86_400.0
_DATE = re.compile(r"(\d{1,4})[-/.](\d{1,2})[-/.](\d{1,4})$")
_CLOCK = re.compile(r"(\d{1,2}):(\d{2})(?::(\d{2}(?:\.\d+)?))?$")
_ZONE = re.compile(r"(?<=[\d])(?:Z|UTC|[+-]\d{2}:?\d{2})$")


def order_of(cells: Sequence[str]) -> Array | None:
    """Give seconds that rows can be sorted by; None where the cells are no times.

    Days without a clock and clocks without a day are taken; a clock may run past midnight.

    Parameters
    ----------
    cells : sequence of str
        One cell (or day and clock joined by a blank) for each row.

    Returns
    -------
    (n,) array or None
        Seconds; NaN where one cell could not be read.

    Examples
    --------
    >>> order_of(["8/9/2025 11:59:58 PM", "8/10/2025 12:00:03 AM"]).tolist()[1] % 86400
    3.0
    """
    days: dict[str, float] = {}
    out = np.array([_seconds(cell, days) for cell in cells], float)
    known = np.isfinite(out)
    if not out.size or np.count_nonzero(known) < 0.9 * out.size:
        return None
    if days or float(out[known].max()) >= DAY or not any(":" in c for c in cells[:50]):
        return out
    # clocks alone: begin after the longest pause, so that a night on the water stays one
    at = np.sort(out[known])
    pause = np.diff(np.append(at, at[0] + DAY))
    start = at[(int(np.argmax(pause)) + 1) % at.size]
    return np.asarray((out - start) % DAY)


def _seconds(cell: str, days: dict[str, float]) -> float:
    text = cell.strip().strip('"')
    try:
        return float(text)
    except ValueError:
        pass
    words = _ZONE.sub("", text.upper().replace("T", " ")).split()
    total, seen = 0.0, False
    for word in words:
        if (clock := _CLOCK.match(word)) is not None:
            total += int(clock[1]) * 3600.0 + int(clock[2]) * 60.0 + float(clock[3] or 0.0)
            seen = True
        elif word in ("AM", "PM"):
            half = 0.5 * DAY
            total += half * ((word == "PM") - (total % DAY >= half))
        elif re.fullmatch(r"\d{6}(\.\d+)?", word):  # hhmmss, beside a day
            total += int(word[:2]) * 3600.0 + int(word[2:4]) * 60.0 + float(word[4:])
        else:
            if word not in days:
                days[word] = _day(word)
            total += days[word]
            seen = True
    return total if seen else float("nan")


def _day(word: str) -> float:
    """Give a day's seconds; month before day with strokes, day before month with points."""
    if re.fullmatch(r"(19|20)\d{6}", word):
        word = f"{word[:4]}-{word[4:6]}-{word[6:]}"
    found = _DATE.match(word)
    if found is None:
        return float("nan")
    a, b, c = (int(g) for g in found.groups())
    if len(found[1]) == 4:
        year, month, day = a, b, c
    else:
        year = c + 2000 if c < 100 else c
        month, day = (b, a) if "." in word or a > 12 else (a, b)
    try:
        return date(year, month, day).toordinal() * DAY
    except ValueError:
        return float("nan")
