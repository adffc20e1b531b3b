"""Effort added up by what the crew names: lure, colour, depth and so on, figures in round bands."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from towscope.constants import FOOT, MPH
from towscope.errors import ArgumentError, one_line

# What effort adds up by: the stint's attribute, the kind of quantity, the bands' width in feet and
# in metres.
BY: Final[dict[str, tuple[str, str, float, float]]] = {
    **{name: (name, "", 0.0, 0.0) for name in ("rod", "rig", "lure", "body", "colour", "day")},
    "sky": ("light", "", 0.0, 0.0),
    "size": ("size_m", "", 0.0, 0.0),
    "depth": ("depth_m", "length", 3 * FOOT, 1.0),
    "speed": ("speed_m_s", "speed", 0.2 * MPH, 0.1),
    "temp": ("surface_temp_c", "temperature", 2 / 1.8, 1.0),
    "hour": ("hour", "", 1.0, 1.0),
}
_ALSO: Final = {"color": "colour", "light": "sky"}


def named(by: str | Sequence[str]) -> list[str]:
    """Read what effort is to be added up by.

    >>> named("lure, color")
    ['lure', 'colour']
    """
    given = by.split(",") if isinstance(by, str) else by
    names = [_ALSO.get(n, n) for n in (name.strip().lower() for name in given) if n]
    if not names or any(name not in BY for name in names):
        shown = by if isinstance(by, str) else ",".join(by)
        raise ArgumentError("by", f' "{one_line(shown, 40)}"; expected any of {", ".join(BY)}')
    return names


def width(name: str, *, feet: bool) -> float:
    """Give the width of a band; 0 for what comes in none."""
    _, _, ours, theirs = BY[name]
    return ours if feet else theirs
