"""Degrees, or degrees and minutes, with or without letters: the angle a cell of a table means."""

from __future__ import annotations

import math
import re

_LETTERS = {"N": 1.0, "E": 1.0, "S": -1.0, "W": -1.0}
_PARTS = re.compile(r"[°º'′’\"″”:\s]+|(?<=\d)[dm](?=[\s\d]|$)")


def angle(text: str, comma: bool = False) -> float:
    r"""Read an angle in degrees; south and west are negative.

    Parameters
    ----------
    text : str
        "48.4012", "48.4012 N", "W91 53.766", "48° 24' 04.3\" N".
    comma : bool
        Whether a comma stands for the point.

    Raises
    ------
    ValueError
        Where it is none.

    Examples
    --------
    >>> round(angle("91° 53.766' W"), 4), angle("-91.8961"), angle("48:24:00 N")
    (-91.8961, -91.8961, 48.4)
    """
    words = text.strip().replace("−", "-")
    if comma:
        words = words.replace(",", ".")
    try:
        return float(words)
    except ValueError:
        pass
    side = 1.0
    if words and words[0].upper() in _LETTERS:
        side, words = _LETTERS[words[0].upper()], words[1:]
    elif words and words[-1].upper() in _LETTERS:
        side, words = _LETTERS[words[-1].upper()], words[:-1]
    parts = [p for p in _PARTS.split(words.strip()) if p]
    if not 1 <= len(parts) <= 3:
        raise ValueError("no angle")
    figures = [float(p) for p in parts]
    if any(not math.isfinite(f) for f in figures) or any(not 0.0 <= f < 60.0 for f in figures[1:]):
        raise ValueError("no angle")
    if parts[0].startswith("-"):
        if side != 1.0:
            raise ValueError("a sign and a letter")
        side = -1.0
    return side * (abs(figures[0]) + sum(f / 60.0**k for k, f in enumerate(figures[1:], 1)))
