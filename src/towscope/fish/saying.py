"""A fish's length in words, in the units that the answer is shown in."""

from __future__ import annotations

from towscope.constants import INCH
from towscope.words import feet


def size(metres: float) -> str:
    """Say a fish's length.

    >>> size(0.381), size(0.5461)
    ('15 in', '21.5 in')
    """
    figure, unit = (metres / INCH, "in") if feet() else (metres * 100.0, "cm")
    return f"{round(figure, 1):g} {unit}"
