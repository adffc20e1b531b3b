"""A rod's shape and colour, hashed (FNV-1a) from its name: the same on paper and on each phone.

Red and green are port and starboard to every boater, and red is the alarm: rods take neither.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from towscope.words.table import table


@dataclass(frozen=True)
class RodLook:
    """How a rod is drawn.

    Attributes
    ----------
    colour : str
        Name of the colour.
    shape : str
        Name of the shape: "disc", "square", "up", "diamond", "down", "plus", "star", "hexagon".
    day, night : str
        The colour as a hex code, on light and on dark ground.
    """

    colour: str
    shape: str
    day: str
    night: str


def _key(name: str) -> str:
    words = " ".join(name.lower().replace("-", " ").replace("_", " ").split())
    return words.replace("center", "centre")


def _hash(text: str) -> int:
    found = 0x811C9DC5
    for byte in text.encode("utf-8"):
        found = ((found ^ byte) * 0x01000193) & 0xFFFFFFFF
    return found


def _wish(key: str) -> tuple[int, int]:
    rods = table()["rods"]
    colours, shapes = list(rods["colours"]), rods["shapes"]
    if key in rods["names"]:
        colour, shape = rods["names"][key]
        return colours.index(colour), shapes.index(shape)
    number = _hash(key)
    return number % len(colours), (number // len(colours)) % len(shapes)


def looks(names: Iterable[str]) -> dict[str, RodLook]:
    """Give each rod of a boat its look; two rods share neither shape nor colour while any are left.

    Parameters
    ----------
    names : iterable of str
        All rods of the boat, in any order: the order has no part in it.

    Returns
    -------
    dict
        Name to `RodLook`.

    Examples
    --------
    >>> both = looks(["starboard", "port"])
    >>> both["port"].colour, both["port"].shape, both == looks(["port", "starboard"])
    ('blue', 'square', True)
    """
    rods = table()["rods"]
    colours, shapes = list(rods["colours"]), rods["shapes"]
    keys: dict[str, list[str]] = {}
    for name in names:
        keys.setdefault(_key(name), []).append(name)
    found: dict[str, RodLook] = {}
    used: list[tuple[int, int]] = []
    # names that have a look of their own first, then the rest in the order of their letters
    for key in sorted(keys, key=lambda each: (each not in rods["names"], each.encode("utf-16-be"))):
        colour, shape = _wish(key)
        if key not in rods["names"]:
            colour = _free(colour, [c for c, _ in used], len(colours))
            shape = _free(shape, [s for _, s in used], len(shapes))
        used.append((colour, shape))
        hexes = rods["colours"][colours[colour]]
        look = RodLook(colours[colour], shapes[shape], hexes["day"], hexes["night"])
        found.update(dict.fromkeys(keys[key], look))
    return found


def _free(wish: int, used: list[int], count: int) -> int:
    """Give the next after the wish, in a circle, among those used least."""
    least = min(used.count(i) for i in range(count))
    return next(i % count for i in range(wish, wish + count) if used.count(i % count) == least)


def look_of(name: str) -> RodLook:
    """Give the look of one rod whose boat is not known.

    >>> look_of("center") == look_of("Centre")
    True
    """
    return looks([name])[name]
