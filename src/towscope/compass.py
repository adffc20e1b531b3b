"""Points of the compass read and said: "NNE", "north-east" and "from the west" are bearings."""

from __future__ import annotations

import re
from typing import Final

POINTS: Final = (
    "N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW",
    "NNW",
)  # fmt: skip
_WHOLE: Final = re.compile(r"north|east|south|west", re.IGNORECASE)
_FIGURE: Final = re.compile(r"(\d+(?:\.\d*)?)\s*(?:deg|degrees|°)?", re.IGNORECASE)


def bearing(text: str) -> float | None:
    """Read a direction [degrees from north]; None where it is none.

    >>> bearing("NNE"), bearing("south-west"), bearing("240 deg"), bearing("up")
    (22.5, 225.0, 240.0, None)
    """
    text = text.strip()
    if figure := _FIGURE.fullmatch(text):
        degrees = float(figure[1])
        return degrees % 360.0 if degrees <= 360.0 else None
    letters = re.sub(r"[\s-]", "", _WHOLE.sub(lambda word: word[0][0], text)).upper()
    return 22.5 * POINTS.index(letters) if letters in POINTS else None


def point(degrees: float) -> str:
    """Give the nearest of eight points.

    >>> point(350.0), point(100.0)
    ('N', 'E')
    """
    return POINTS[2 * (round(degrees / 45.0) % 8)]
