"""Plain words for the stock's makes of line and kinds of lure."""

from __future__ import annotations

import re
from typing import Final

LINES: Final[dict[str, tuple[str, str]]] = {
    "thin-core": ("Thin lead core", "coloured every 10 yd, thin strong sheath: sinks the most"),
    "bulky-core": ("Lead core", "coloured every 10 yd, thick soft sheath: the usual one"),
    "mono": ("Plain mono", "stretches, floats up a little"),
    "fluoro": ("Fluorocarbon", "stiff, hard to see, sinks a little"),
    "braid": ("Braid", "thin and strong, no stretch"),
    "wire": ("Plain wire", "thin, heavy, kinks"),
}
LURES: Final[dict[str, tuple[str, str]]] = {
    "minnow": ("Slim minnow", "floats, short lip"),
    "shad": ("Wide shad", "floats, short lip, wide body"),
    "deep-lipped": ("Deep lip", "floats, long lip: dives"),
    "spoon": ("Spoon", "thin metal, sinks slowly"),
    "harness": ("Blade harness", "spinner blade before a bait"),
    "other": ("Other", "told by its drag"),
}
_NUMBER: Final = re.compile(r"(?P<make>[a-z-]+?)-(?P<pounds>\d+)")


def make_of(line: str) -> tuple[str, str] | None:
    """Give a stock line's make, and what tells it apart from others of that make.

    >>> make_of("thin-core-18"), make_of("my-line")
    (('thin-core', '18 lb'), None)
    """
    match = _NUMBER.fullmatch(line)
    if match is None or match["make"] not in LINES:
        return None
    return match["make"], f"{match['pounds']} lb"


def line_words(line: str) -> str:
    """Say a line: "18 lb thin lead core"; its own name where it is not of the stock's makes."""
    made = make_of(line)
    return line if made is None else f"{made[1]} {LINES[made[0]][0].lower()}"


def lure_words(name: str, body: str) -> str:
    """Say a lure: "small slim minnow"; its own name where it is not called by its size.

    >>> lure_words("small-minnow", "minnow"), lure_words("red-one", "minnow")
    ('small slim minnow', 'red-one')
    """
    size = size_word(name)
    return f"{size} {LURES[body][0].lower()}" if size else name


def size_word(name: str) -> str:
    """Give the size that a stock lure's name begins with; "" where there is none."""
    first = name.partition("-")[0]
    return first if first in ("small", "medium", "large", "long") else ""
