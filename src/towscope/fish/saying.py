"""Say lengths, weights, depths and warmth to an angler in the units the answer is shown in."""

from __future__ import annotations

import re

from towscope.units import SYSTEMS, System
from towscope.words import feet

_FIGURE = r"[\d.,]+(?: to [\d.,]+)?"
_BOTH = re.compile(rf"(?P<own>{_FIGURE} (?:m|degC)) \((?P<other>{_FIGURE} (?:ft|degF))\)")


def system() -> System:
    """Give the unit system that this answer is shown in."""
    return SYSTEMS["us" if feet() else "metric"]


def size(metres: float) -> str:
    """Say a fish's length.

    >>> size(0.381), size(0.5461)
    ('15 in', '21.5 in')
    """
    figure, unit = (metres / 0.0254, "in") if feet() else (metres * 100.0, "cm")
    return f"{round(figure, 1):g} {unit}"


def in_own_units(text: str) -> str:
    """Leave of each pair of figures, "10 m (33 ft)", the one the reader counts in.

    >>> in_own_units("5 % at 10 m (33 ft), 43 % at 10 to 16 degC (50 to 61 degF)")
    '5 % at 33 ft, 43 % at 50 to 61 degF'
    """
    return _BOTH.sub(r"\g<other>" if feet() else r"\g<own>", text)
