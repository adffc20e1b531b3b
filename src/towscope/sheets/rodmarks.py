"""A rod's shape and colour on paper: as the pages draw it, from the one list of looks by name."""

from __future__ import annotations

import math
from typing import Final

from towscope.words import RodLook
from towscope.words.table import table

# Each shape as the plotting library knows it, and how much larger it is drawn to look alike.
MARKERS: Final = {
    "disc": ("o", 1.0),
    "square": ("s", 0.92),
    "up": ("^", 1.1),
    "diamond": ("D", 0.85),
    "down": ("v", 1.1),
    "plus": ("P", 1.15),
    "star": ("*", 1.45),
    "hexagon": ("h", 1.1),
}
DASHES: Final = ("-", (0, (5, 2)), (0, (1, 1.4)), (0, (6, 2, 1, 2)))


def dash(look: RodLook) -> str | tuple[int, tuple[float, ...]]:
    """Give the dash of a rod's line: it goes with its shape, and so with its name."""
    shapes: list[str] = table()["rods"]["shapes"]
    return DASHES[shapes.index(look.shape) % len(DASHES)]


def _ring(count: int, turn: float, inner: float = 1.0) -> list[tuple[float, float]]:
    return [
        (
            (inner if i % 2 else 1.0) * math.cos(turn + 2 * math.pi * i / count),
            (inner if i % 2 else 1.0) * math.sin(turn + 2 * math.pi * i / count),
        )
        for i in range(count)
    ]


_A: Final = 0.36
CORNERS: Final[dict[str, list[tuple[float, float]]]] = {
    "square": [(-0.85, -0.85), (0.85, -0.85), (0.85, 0.85), (-0.85, 0.85)],
    "up": [(0, -1.05), (1.05, 0.85), (-1.05, 0.85)],
    "diamond": [(0, -1.2), (1.1, 0), (0, 1.2), (-1.1, 0)],
    "down": [(0, 1.05), (1.05, -0.85), (-1.05, -0.85)],
    "plus": [
        (-_A, -1.1), (_A, -1.1), (_A, -_A), (1.1, -_A), (1.1, _A), (_A, _A),
        (_A, 1.1), (-_A, 1.1), (-_A, _A), (-1.1, _A), (-1.1, -_A), (-_A, -_A),
    ],
    "star": [(1.25 * x, 1.25 * y) for x, y in _ring(10, -math.pi / 2, 0.48)],
    "hexagon": _ring(6, 0.0),
}  # fmt: skip
"""Corners of each shape on a circle of radius 1, y downward; a disc has none."""


def corners(look: RodLook, x: float, y: float, radius: float) -> list[tuple[float, float]]:
    """Give the corners of a rod's shape about a point; a disc has none."""
    return [(x + dx * radius, y + dy * radius) for dx, dy in CORNERS.get(look.shape, [])]
