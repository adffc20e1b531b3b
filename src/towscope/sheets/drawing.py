"""Drawings and pages by Jinja2: templates hold the markup, who draws gives figures and words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from towscope.sheets.rodmarks import corners

if TYPE_CHECKING:
    from jinja2 import Environment


@dataclass(frozen=True)
class DrawnSpot:
    """Something to show on map and timeline.

    Attributes
    ----------
    kind : str
        "catch", "strike_missed", "bottom_hit" or "sonar_mark".
    at_s : float
        Unix time [s].
    rod : str
        The rod; "" for none.
    number : int
        Its number in the table of catches; 0 for none.
    lat, lon : float or None
        Where [deg].
    """

    kind: str
    at_s: float
    rod: str
    number: int
    lat: float | None
    lon: float | None


def drawn(template: str, title: str, size: tuple[float, float], **told: object) -> str:
    """Fill in a template: its title is read out, its size is width and height [px]."""
    return filled(f"{template}.svg", title=title, width=size[0], height=size[1], **told)


def filled(template: str, /, **told: object) -> str:
    """Fill in a template by the name of its file."""
    return _templates().get_template(template).render(**told)


@cache
def _templates() -> Environment:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    made = Environment(
        loader=FileSystemLoader(Path(__file__).parent / "templates"),
        autoescape=True,  # rods, lures and skies are named by the crew
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters.update(px=_px, points=_points, corners=corners)
    return made


def _px(value: float, places: int = 1) -> str:
    return f"{value:.{places}f}"


def _points(points: Iterable[tuple[float, float]]) -> str:
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
