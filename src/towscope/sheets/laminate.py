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
from towscope.words import respell_data

if TYPE_CHECKING:
    from towscope.answers.rig import Rig
    from towscope.answers.steady import LetOutTable
    from towscope.arguments import Layers
    from towscope.tackle.shelf import Shelf
    from towscope.towing.tow import Tow
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


def sheet(rig: Rig, table: LetOutTable, system: System) -> bytes:
    """Set the sheet of a rig.

    Parameters
    ----------
    rig : Rig
        The rig.
    table : LetOutTable
        Its let-outs; at most nine depths and seven speeds fit a page that is to be read at arm's
        length, and a larger table is thinned evenly.
    system : System
        Units.

    Returns
    -------
    bytes
        A PDF of one page.
    """
    rows = _thin(len(table.depths_m), MAX_ROWS)
    columns = _thin(len(table.speeds_m_s), MAX_COLUMNS)
    places = 0 if system.name == "us" else 1
    tow, parts = rig.tow, rig.shelf.rig(rig.name)
    stack = " + ".join(
        f"{system.show(float(length), 'length')} {name}"
        for length, name in zip(tow.pieces[:, 0], tow.names, strict=True)
    )
    middle_speed = float(table.speeds_m_s[columns[len(columns) // 2]])
    data = {
        "paper": "us-letter" if system.name == "us" else "a4",
        "title": rig.title,
        "water": _water(rig.shelf, table.current, system),
        "stack": f"{parts.lure}, then {stack}; rod tip "
        f"{system.show(tow.tip, 'length')} above the water",
        "unit": system.label("length"),
        "corner": f"{system.label('length')} \\ {system.label('speed')}",
        "speed_unit": system.label("speed"),
        "speeds": [f"{system.convert(float(table.speeds_m_s[j]), 'speed'):.1f}" for j in columns],
        "row_inset": 1.3 if len(rows) > 7 else 1.9,
        "rows": [
            {
                "depth": f"{system.convert(float(table.depths_m[i]), 'length'):.{places}f}",
                "cells": [_cell(table, i, j, system) for j in columns],
            }
            for i in rows
        ],
        "colors": _colors(tow, system),
        "drawing": _drawing(rig, table, rows, columns, system),
        "levers": _levers(rig, table, rows, middle_speed, system),
        "cautions": list(ON_THE_WATER),
        "foot": "Computed for the rig and water named above, in a straight run at steady speed; "
        "turns, slower spells and current move the lure. Hit bottom once with care and compare.",
    }
    return typeset("sheet.typ", data, system)


def _thin(count_: int, most: int) -> list[int]:
    if count_ <= most:
        return list(range(count_))
    return [int(i) for i in np.unique(np.linspace(0, count_ - 1, most).round())]


def _cell(table: LetOutTable, i: int, j: int, system: System) -> dict[str, str | None]:
    if not np.isfinite(table.let_out_m[i, j]):
        return {"middle": None, "span": None}
    low, middle, high = (
        f"{system.convert(float(v[i, j]), 'length'):.0f}"
        for v in (table.low_90_m, table.let_out_m, table.high_90_m)
    )
    return {"middle": middle, "span": f"{low} – {high}"}


def _water(shelf: Shelf, current: Layers, system: System) -> str:
    water = shelf.water
    text = (
        f"Fresh water, {system.show(water.temperature, 'temperature')}"
        if water.temperature is not None
        else f"Water of {water.density:.1f} kg/m³"
    )
    return f"{text}, {current_words(current, system)}"


def current_words(current: Layers, system: System) -> str:
    """Say a current."""
    said = []
    for depth, along, across in current:
        ways = [
            f"{system.show(abs(v), 'speed')} {names[0] if v > 0 else names[1]}"
            for v, names in (
                (along, ("with", "against")),
                (across, ("from port", "from starboard")),
            )
            if abs(v) > 0.0
        ]
        layer = " and ".join(ways) or "none"
        said.append(f"{layer} at {system.show(depth, 'length')}" if len(current) > 1 else layer)
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


def _levers(rig: Rig, table: LetOutTable, rows: list[int], speed: float, system: System) -> str:
    from towscope.sheets.terminal import levers

    depth = float(table.depths_m[rows[len(rows) // 2]])
    try:
        answer = rig.let_out(depth, speed, current=table.current)
    except NoAnswer:
        return ""
    at = f"{system.show(depth, 'length')} at {system.show(speed, 'speed')}"
    return f"Near {at}: " + ", ".join(levers(answer, system)) + "."


def _drawing(
    rig: Rig, table: LetOutTable, rows: list[int], columns: list[int], system: System
) -> dict[str, Any]:
    """Lay the line out at the slowest, middle and fastest speed, all with one let-out."""
    middle = columns[len(columns) // 2]
    row = next(
        (
            i
            for i in reversed(rows[: len(rows) // 2 + 2])
            if np.isfinite(table.let_out_m[i, middle])
        ),
        None,
    )
    let_out = float(table.let_out_m[row, middle]) if row is not None else 0.5 * rig.tow.length
    chosen = list(dict.fromkeys((columns[0], middle, columns[-1])))
    shapes = []
    for j in chosen:
        try:
            speed = float(table.speeds_m_s[j])
            line = rig.shape(let_out, speed, spacing_m=1.0, current=table.current)
        except NoAnswer:
            continue
        shapes.append((speed, line))
    deepest = max((float(line.depth_m.max()) for _, line in shapes), default=10.0)
    behind = max((float(line.behind_m.max()) for _, line in shapes), default=50.0)
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
    for (speed, line), dash in zip(shapes, DASHES, strict=False):
        x = WIDTH - 22.0 - line.behind_m * across
        y = top + line.depth_m * down
        drawn.append(
            {
                "points": [
                    [round(float(a), 2), round(float(b), 2)] for a, b in zip(x, y, strict=True)
                ],
                "dash": dash,
                "label": f"{system.show(speed, 'speed')}: "
                f"{system.show(float(line.depth_m[0]), 'length')}",
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
