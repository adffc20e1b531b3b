"""An answer in the terminal: a short panel, a table with the asked cell marked."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from rich import box
from rich.panel import Panel
from rich.table import Table as Grid
from rich.text import Text

from towscope.constants import FOOT, MPH
from towscope.tackle.counting import count

if TYPE_CHECKING:
    from towscope.towing.questions import Answer, Table
    from towscope.towing.tow import Setting, Tow
    from towscope.units import System


def levers(answer: Answer, system: System) -> list[str]:
    """Say what a little more speed and a little more line do."""
    if system.name == "us":
        dv, v_text, dl, l_text = 0.1 * MPH, "0.1 mph", 10 * FOOT, "10 ft"
    else:
        dv, v_text, dl, l_text = 0.2 / 3.6, "0.2 km/h", 3.0, "3 m"
    faster, longer = answer.per_speed * dv, answer.per_line * dl
    return [
        f"{v_text} faster: {system.show(abs(faster), 'length', 1)} "
        f"{'deeper' if faster > 0 else 'shallower'}",
        f"{l_text} more line: {system.show(abs(longer), 'length', 1)} "
        f"{'deeper' if longer > 0 else 'shallower'}",
    ]


def calibrated_by(tow: Tow) -> str:
    """Say what a calibrated answer rests on."""
    learnt = tow.learnt
    if learnt is None:
        return ""
    readings = "1 reading" if learnt.readings == 1 else f"{learnt.readings} readings"
    until = f" up to {learnt.since}" if learnt.since else ""
    today = ", with today's current as they show it" if learnt.along.size else ""
    return (
        f"Calibrated from {readings}{until}{today}; figures as your own instruments read "
        "(--uncalibrated leaves it out)"
    )


def ladder(tow: Tow, let_out: float, setting: Setting, system: System) -> Grid:
    """Draw depths at a few speeds around this one, with this line out."""
    from towscope.towing.questions import depths_by_let_out

    step = 0.2 * MPH if system.name == "us" else 0.3 / 3.6
    grid = Grid(box=None, padding=(0, 2, 0, 0), show_header=False)
    speeds = [setting.speed + i * step for i in range(-2, 3) if setting.speed + i * step > 0.1]
    grid.add_row("at", *(system.show(v, "speed") for v in speeds))
    depths = [depths_by_let_out(tow, [let_out], setting.at_speed(v))[0, 0] for v in speeds]
    grid.add_row("runs", *(system.show(float(d), "length") for d in depths))
    return grid


def panel(
    title: str,
    headline: str,
    beside: str,
    tow: Tow,
    answer: Answer,
    setting: Setting,
    system: System,
    sure: str,
) -> Panel:
    """Draw one answer.

    Parameters
    ----------
    title, headline, beside : str
        What was asked, the answer, and how it is counted.
    tow : Tow
        The rig.
    answer : Answer
        The answer.
    setting : Setting
        Speed and current.
    system : System
        Units.
    sure : str
        How sure the headline is.

    Returns
    -------
    rich.panel.Panel
        To be printed.
    """
    where = answer.where
    body = Grid(box=None, padding=0, show_header=False)
    head = Text(headline, style="bold")
    if beside:
        head.append(f"   {beside}", style="not bold")
    lines: list[Text | Grid] = [head, Text(f"{sure}, 9 times in 10", style="dim")]
    lines.append(Text(""))
    depth_90 = system.range(*answer.depth_90, "length")
    lines.append(
        Text(
            f"With {system.show(where.let_out, 'length')} out it runs {depth_90} down, "
            "9 times in 10"
        )
    )
    share = (
        ""
        if not np.isfinite(where.share)
        else f", {where.share * 100:.0f} % of the line's strength"
    )
    lines.append(
        Text(
            f"It runs {system.show(where.layback, 'length')} behind the rod and pulls "
            f"{system.show(where.tension, 'force')}{share}"
        )
    )
    if abs(where.side) > 0.3:
        side = "starboard" if where.side > 0 else "port"
        lines.append(Text(f"and {system.show(abs(where.side), 'length')} to {side} of it"))
    if where.deepest > where.depth + 0.15:
        lines.append(
            Text(
                f"The line hangs below the lure, to {system.show(where.deepest, 'length')}: "
                "watch the bottom"
            )
        )
    if tow.counter_factor != 1.0:
        shown = system.show(where.let_out / tow.counter_factor, "length")
        lines.append(Text(f"This rig's counter then shows {shown}"))
    if tow.learnt is not None:
        lines.append(Text(calibrated_by(tow), style="dim"))
    lines.append(Text(""))
    lines.append(Text("; ".join(levers(answer, system))))
    lines.append(ladder(tow, where.let_out, setting, system))
    for line in lines:
        body.add_row(line)
    return Panel(body, title=Text(title), title_align="left", box=box.ROUNDED, expand=False)


def table_grid(
    tow: Tow,
    table: Table,
    system: System,
    title: str,
    mark: tuple[float, float] | None = None,
) -> Grid:
    """Draw a let-out table: depths down, speeds across, the asked cell marked."""
    grid = Grid(
        title=Text(title), box=box.SIMPLE_HEAD, title_justify="left", title_style="bold", padding=0
    )
    unit = system.label("length")
    grid.add_column(f"{unit} \\ {system.label('speed')}", justify="right", no_wrap=True)
    for speed in table.speeds:
        grid.add_column(
            f"{system.convert(float(speed), 'speed'):.1f}", justify="center", no_wrap=True
        )
    row_marked = col_marked = -1
    if mark is not None:
        row_marked = int(np.argmin(np.abs(table.depths - mark[0])))
        col_marked = int(np.argmin(np.abs(table.speeds - mark[1])))
    places = 0 if system.name == "us" else 1
    for i, depth in enumerate(table.depths):
        cells = [f"{system.convert(float(depth), 'length'):.{places}f}"]
        for j in range(len(table.speeds)):
            if not np.isfinite(table.let_out[i, j]):
                cells.append("–")
                continue
            low, middle, high = (
                f"{system.convert(float(v[i, j]), 'length'):.0f}"
                for v in (table.low, table.let_out, table.high)
            )
            marked = (i, j) == (row_marked, col_marked)
            cells.append(f"{f'▸ {middle} ◂' if marked else middle}\n{low}–{high}")
        grid.add_row(*cells, style="bold" if i == row_marked else "")
    coded = (
        count(tow, float(np.nanmax(table.let_out))).colors
        if np.isfinite(table.let_out).any()
        else None
    )
    note = (
        f"line out, {unit}, by depth (down, {unit}) and speed (across, "
        f"{system.label('speed')}); the span under it holds 9 times in 10"
    )
    if coded is not None:
        before = system.show(count(tow, 0.0).before, "length")
        note += f"; colours start after {before} of leader"
    if tow.learnt is not None:
        note += f"\n{calibrated_by(tow)}"
    grid.caption = Text(note)
    grid.caption_justify = "left"
    return grid
