"""The printed sheet: one page with the let-outs, the line's shape, and what to mind."""

from __future__ import annotations

import json
from importlib.resources import files as package_files
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from towscope.errors import NoAnswer
from towscope.sheets.cautions import ON_THE_WATER
from towscope.tackle.counting import count
from towscope.towing.questions import let_out_for, line_shape
from towscope.words import respell_data

if TYPE_CHECKING:
    from towscope.tackle.shelf import Shelf
    from towscope.towing.questions import Table
    from towscope.towing.tow import Setting, Tow
    from towscope.units import System

WIDTH, DRAWN_HEIGHT = 192.0, 54.0  # [mm] of the drawing on the page
MAX_ROWS, MAX_COLUMNS = 9, 7
DASHES = ("solid", "dashed", "dotted")


def typeset(template: str, data: dict[str, Any], system: System | None = None) -> bytes:
    """Set a page from a template of this package and plain data.

    Parameters
    ----------
    template : str
        File name of the template.
    data : dict
        What it shows; text in it is text, never markup.
    system : System, optional
        Spell what is shown by these units; where left out it is shown as it is.

    Returns
    -------
    bytes
        A PDF.
    """
    import matplotlib
    import typst

    # A sans face that is installed with every copy of towscope, whatever the machine has.
    fonts = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    text = package_files("towscope.sheets").joinpath(template).read_bytes()
    # The stub ties the fonts' type to the input's; the library takes paths with any input.
    shown = data if system is None else respell_data(data, system.name)
    compiled: bytes = typst.compile(  # type: ignore[call-overload]
        text,
        font_paths=[str(fonts)],
        ignore_system_fonts=True,
        format="pdf",
        sys_inputs={"data": json.dumps(shown)},
    )
    return compiled


def sheet(
    rig: str,
    shelf: Shelf,
    tow: Tow,
    table: Table,
    setting: Setting,
    system: System,
    lure: str = "",
) -> bytes:
    """Set the sheet of a rig.

    Parameters
    ----------
    rig : str
        Name of the rig.
    shelf : Shelf
        Where its parts are described.
    tow : Tow
        The rig, ready for the engine.
    table : Table
        Its let-outs; at most nine depths and seven speeds fit a page that is to be read at arm's
        length, and a larger table is thinned evenly.
    setting : Setting
        The current.
    system : System
        Units.
    lure : str
        Name of the lure where it is not the rig's own.

    Returns
    -------
    bytes
        A PDF of one page.
    """
    rows = _thin(len(table.depths), MAX_ROWS)
    columns = _thin(len(table.speeds), MAX_COLUMNS)
    places = 0 if system.name == "us" else 1
    parts = shelf.rig(rig)
    stack = " + ".join(
        f"{system.show(float(length), 'length')} {name}"
        for length, name in zip(tow.pieces[:, 0], tow.names, strict=True)
    )
    middle_speed = float(table.speeds[columns[len(columns) // 2]])
    data = {
        "paper": "us-letter" if system.name == "us" else "a4",
        "title": rig,
        "water": _water(shelf, setting, system),
        "stack": f"{lure or parts.lure}, then {stack}; rod tip "
        f"{system.show(tow.tip, 'length')} above the water",
        "unit": system.label("length"),
        "corner": f"{system.label('length')} \\ {system.label('speed')}",
        "speed_unit": system.label("speed"),
        "speeds": [f"{system.convert(float(table.speeds[j]), 'speed'):.1f}" for j in columns],
        "row_inset": 1.3 if len(rows) > 7 else 1.9,
        "rows": [
            {
                "depth": f"{system.convert(float(table.depths[i]), 'length'):.{places}f}",
                "cells": [_cell(table, i, j, system) for j in columns],
            }
            for i in rows
        ],
        "colors": _colors(tow, system),
        "drawing": _drawing(tow, table, rows, columns, setting, system),
        "levers": _levers(tow, table, rows, setting.at_speed(middle_speed), system),
        "cautions": list(ON_THE_WATER),
        "foot": "Computed for the rig and water named above, in a straight run at steady speed; "
        "turns, slower spells and current move the lure. Hit bottom once with care and compare.",
    }
    return typeset("sheet.typ", data, system)


def _thin(count_: int, most: int) -> list[int]:
    if count_ <= most:
        return list(range(count_))
    return [int(i) for i in np.unique(np.linspace(0, count_ - 1, most).round())]


def _cell(table: Table, i: int, j: int, system: System) -> dict[str, str | None]:
    if not np.isfinite(table.let_out[i, j]):
        return {"middle": None, "span": None}
    low, middle, high = (
        f"{system.convert(float(v[i, j]), 'length'):.0f}"
        for v in (table.low, table.let_out, table.high)
    )
    return {"middle": middle, "span": f"{low} – {high}"}


def _water(shelf: Shelf, setting: Setting, system: System) -> str:
    water = shelf.water
    text = (
        f"Fresh water, {system.show(water.temperature, 'temperature')}"
        if water.temperature is not None
        else f"Water of {water.density:.1f} kg/m³"
    )
    return f"{text}, {current_words(setting, system)}"


def current_words(setting: Setting, system: System) -> str:
    """Say the current of a setting."""
    said = []
    for depth, along, across in setting.current:
        ways = [
            f"{system.show(abs(v), 'speed')} {names[0] if v > 0 else names[1]}"
            for v, names in (
                (along, ("with", "against")),
                (across, ("from port", "from starboard")),
            )
            if abs(v) > 0.0
        ]
        layer = " and ".join(ways) or "none"
        said.append(
            f"{layer} at {system.show(depth, 'length')}" if len(setting.current) > 1 else layer
        )
    return f"current {', '.join(said)}" if said else "no current"


def _colors(tow: Tow, system: System) -> str | None:
    state = count(tow, tow.length)
    if state.colors is None:
        return None
    color = float(tow.color_length[np.isfinite(tow.color_length)][0])
    most = round(state.colors)
    figures = [state.before + color * n for n in range(1, most + 1)]
    marks = ", ".join(
        f"{n} = {system.convert(f, 'length'):.0f}" for n, f in enumerate(figures[:12], 1)
    )
    return f"Colours out ({system.label('length')}): {marks}"


def _levers(tow: Tow, table: Table, rows: list[int], setting: Setting, system: System) -> str:
    from towscope.sheets.terminal import levers

    depth = float(table.depths[rows[len(rows) // 2]])
    try:
        answer = let_out_for(tow, depth, setting)
    except NoAnswer:
        return ""
    at = f"{system.show(depth, 'length')} at {system.show(setting.speed, 'speed')}"
    return f"Near {at}: " + ", ".join(levers(answer, system)) + "."


def _drawing(
    tow: Tow,
    table: Table,
    rows: list[int],
    columns: list[int],
    setting: Setting,
    system: System,
) -> dict[str, Any]:
    """Lay the line out at the slowest, middle and fastest speed, all with one let-out."""
    middle = columns[len(columns) // 2]
    row = next(
        (i for i in reversed(rows[: len(rows) // 2 + 2]) if np.isfinite(table.let_out[i, middle])),
        None,
    )
    let_out = float(table.let_out[row, middle]) if row is not None else 0.5 * tow.length
    chosen = list(dict.fromkeys((columns[0], middle, columns[-1])))
    shapes = []
    for j in chosen:
        try:
            points = line_shape(tow, let_out, setting.at_speed(float(table.speeds[j])), 1.0)
        except NoAnswer:
            continue
        shapes.append((float(table.speeds[j]), points))
    deepest = max((float(points[:, 3].max()) for _, points in shapes), default=10.0)
    behind = max((float(points[:, 1].max()) for _, points in shapes), default=50.0)
    across = (WIDTH - 22.0 - 52.0) / behind  # mm for each metre; the labels stand at the left
    top = 9.0
    down = (DRAWN_HEIGHT - top - 9.0) / deepest
    step = _round_step(deepest, system)
    levels = []
    depth = 0.0
    while depth <= deepest * 1.05:
        shown = system.show(depth, "length") if depth > 0 else "surface"
        levels.append({"y": top + depth * down, "label": shown, "surface": depth == 0.0})
        depth += step
    drawn = []
    for (speed, points), dash in zip(shapes, DASHES, strict=False):
        x = WIDTH - 22.0 - points[:, 1] * across
        y = top + points[:, 3] * down
        drawn.append(
            {
                "points": [
                    [round(float(a), 2), round(float(b), 2)] for a, b in zip(x, y, strict=True)
                ],
                "dash": dash,
                "label": f"{system.show(speed, 'speed')}: "
                f"{system.show(float(points[0, 3]), 'length')}",
            }
        )
    return {
        "height": DRAWN_HEIGHT,
        "levels": levels,
        "shapes": drawn,
        "caption": f"{system.show(let_out, 'length')} of line out, at three speeds; depth drawn "
        f"{down / across:.1f}x",
    }


def _round_step(deepest: float, system: System) -> float:
    for figure in (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0):
        step = system.to_si(figure, "length")
        if deepest / step <= 5.0:
            return step
    return deepest
