"""Lists of what is aboard, for the terminal."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from rich import box
from rich.table import Table as Grid

from towscope.constants import INCH, YARD

if TYPE_CHECKING:
    from towscope.tackle.shelf import Shelf
    from towscope.units import System


def listing(shelf: Shelf, kinds: Iterable[str], system: System) -> list[Grid]:
    """Give one list for each kind of thing."""
    return [_LISTS[kind](shelf, system) for kind in kinds]


def _grid(title: str, *columns: str) -> Grid:
    grid = Grid(title=title, box=box.SIMPLE_HEAD, title_justify="left", title_style="bold")
    for column in columns:
        grid.add_column(column, overflow="fold")
    return grid


def _sources(part: Any) -> str:
    kinds = dict.fromkeys(text.split()[0].rstrip(",:") for text in part.source.values())
    return ", ".join(kinds) or "yours"


def _rigs(shelf: Shelf, system: System) -> Grid:
    grid = _grid("Rigs", "name", "lure", "line, from the lure up", "note")
    for name, rig in shelf.rigs.items():
        stack = " + ".join(f"{_length(p.length, system)} {p.line}" for p in rig.line)
        grid.add_row(name, rig.lure, stack, rig.note)
    return grid


def _length(length: float | str, system: System) -> str:
    """Show a piece's length: "10 colors" in a file is ten colours to those who count in metres."""
    if isinstance(length, str):
        return re.sub(r"\bcolor", "colour", length)
    return system.show(length, "length")


def _lures(shelf: Shelf, system: System) -> Grid:
    grid = _grid("Lures", "name", "body", "size", "floats or sinks", "rated", "figures are")
    for name, lure in shelf.lures.items():
        size = f"{lure.size / INCH:g} in" if lure.size and system.name == "us" else ""
        size = f"{lure.size * 100:.1f} cm" if lure.size and not size else size
        weight = lure.weight_in_water
        rating = lure.rating
        rated = (
            f"{system.show(rating.depth, 'length')} on {system.show(rating.let_out, 'length')} of "
            f"{rating.line}"
            if rating
            else ""
        )
        grid.add_row(
            name,
            lure.body,
            size,
            "floats" if weight < 0 else "sinks" if weight > 0 else "hangs",
            rated,
            _sources(lure),
        )
    return grid


def _lines(shelf: Shelf, system: System) -> Grid:
    grid = _grid("Lines", "name", "strength", "diameter", "mass", "coded", "figures are")
    for name, line in shelf.lines.items():
        grid.add_row(
            name,
            system.show(line.strength, "force", 0) if line.strength else "",
            f"{line.diameter * 1e3:.2f} mm",
            f"{line.mass * 1e3:.3g} g/m",
            f"every {line.color_length / YARD:g} yd" if line.color_length else "",
            _sources(line),
        )
    return grid


def _reels(shelf: Shelf, system: System) -> Grid:
    grid = _grid("Reels", "name", "rated", "full", "arbor", "figures are")
    for name, reel in shelf.reels.items():
        grid.add_row(
            name,
            reel.capacity,
            f"{reel.full_diameter * 1e3:.0f} mm" if reel.full_diameter else "",
            f"{reel.arbor_diameter * 1e3:.0f} mm" if reel.arbor_diameter else "",
            _sources(reel),
        )
    return grid


_LISTS = {"rigs": _rigs, "lures": _lures, "lines": _lines, "reels": _reels}
