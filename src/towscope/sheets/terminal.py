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
    from towscope.answers.rig import Rig
    from towscope.answers.steady import Calibrated, LetOutTable, RigAnswer
    from towscope.units import System


def levers(answer: RigAnswer, system: System) -> list[str]:
    """Say what a little more speed and a little more line do."""
    if system.name == "us":
        dv, v_text, dl, l_text = 0.1 * MPH, "0.1 mph", 10 * FOOT, "10 ft"
    else:
        dv, v_text, dl, l_text = 0.2 / 3.6, "0.2 km/h", 3.0, "3 m"
    faster = answer.depth_per_0_1_mph_m * dv / (0.1 * MPH)
    longer = answer.depth_per_10_ft_line_m * dl / (10 * FOOT)
    return [
        f"{v_text} faster: {system.show(abs(faster), 'length', 1)} "
        f"{'deeper' if faster > 0 else 'shallower'}",
        f"{l_text} more line: {system.show(abs(longer), 'length', 1)} "
        f"{'deeper' if longer > 0 else 'shallower'}",
    ]


def calibrated_by(calibrated: Calibrated | None) -> str:
    """Say what a calibrated answer rests on."""
    if calibrated is None:
        return ""
    number, since = calibrated["readings"], calibrated["since"]
    readings = "1 reading" if number == 1 else f"{number} readings"
    until = f" up to {since}" if since else ""
    today = ", with today's current as they show it" if calibrated["current_of_today"] else ""
    return (
        f"Calibrated from {readings}{until}{today}; figures as your own instruments read "
        "(--uncalibrated leaves it out)"
    )


def ladder(rig: Rig, answer: RigAnswer, system: System) -> Grid:
    """Draw depths at a few speeds around this one, with this line out."""
    step = 0.2 * MPH if system.name == "us" else 0.3 / 3.6
    grid = Grid(box=None, padding=(0, 2, 0, 0), show_header=False)
    around = (answer.speed_m_s + i * step for i in range(-2, 3))
    speeds = [speed for speed in around if speed > 0.1]
    grid.add_row("at", *(system.show(v, "speed") for v in speeds))
    depths = rig.depths([answer.let_out_m], speeds, current=answer.layers)[0]
    grid.add_row("runs", *(system.show(float(d), "length") if d == d else "–" for d in depths))
    return grid


def panel(
    title: str, headline: str, beside: str, rig: Rig, answer: RigAnswer, system: System, sure: str
) -> Panel:
    """Draw one answer.

    Parameters
    ----------
    title, headline, beside : str
        What was asked, the answer, and how it is counted.
    rig : Rig
        The rig.
    answer : RigAnswer
        What it answered.
    system : System
        Units.
    sure : str
        How sure the headline is.

    Returns
    -------
    rich.panel.Panel
        To be printed.
    """
    body = Grid(box=None, padding=0, show_header=False)
    head = Text(headline, style="bold")
    if beside:
        head.append(f"   {beside}", style="not bold")
    lines: list[Text | Grid] = [head, Text(f"{sure}, 9 times in 10", style="dim")]
    lines.append(Text(""))
    depth_90 = system.range(*answer.depth_90_m, "length")
    lines.append(
        Text(
            f"With {system.show(answer.let_out_m, 'length')} out it runs {depth_90} down, "
            "9 times in 10"
        )
    )
    share = (
        ""
        if not np.isfinite(answer.strength_share)
        else f", {answer.strength_share * 100:.0f} % of the line's strength"
    )
    lines.append(
        Text(
            f"It runs {system.show(answer.layback_m, 'length')} behind the rod and pulls "
            f"{system.show(answer.tension_n, 'force')}{share}"
        )
    )
    if abs(answer.side_m) > 0.3:
        side = "starboard" if answer.side_m > 0 else "port"
        lines.append(Text(f"and {system.show(abs(answer.side_m), 'length')} to {side} of it"))
    if answer.deepest_m > answer.depth_m + 0.15:
        lines.append(
            Text(
                f"The line hangs below the lure, to {system.show(answer.deepest_m, 'length')}: "
                "watch the bottom"
            )
        )
    if rig.tow.counter_factor != 1.0:
        lines.append(
            Text(f"This rig's counter then shows {system.show(answer.counter_m, 'length')}")
        )
    if answer.calibrated is not None:
        lines.append(Text(calibrated_by(answer.calibrated), style="dim"))
    lines.append(Text(""))
    lines.append(Text("; ".join(levers(answer, system))))
    lines.append(ladder(rig, answer, system))
    for line in lines:
        body.add_row(line)
    return Panel(body, title=Text(title), title_align="left", box=box.ROUNDED, expand=False)


def table_grid(
    rig: Rig,
    table: LetOutTable,
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
    for speed in table.speeds_m_s:
        grid.add_column(
            f"{system.convert(float(speed), 'speed'):.1f}", justify="center", no_wrap=True
        )
    row_marked = col_marked = -1
    if mark is not None:
        row_marked = int(np.argmin(np.abs(table.depths_m - mark[0])))
        col_marked = int(np.argmin(np.abs(table.speeds_m_s - mark[1])))
    places = 0 if system.name == "us" else 1
    for i, depth in enumerate(table.depths_m):
        cells = [f"{system.convert(float(depth), 'length'):.{places}f}"]
        for j in range(len(table.speeds_m_s)):
            if not np.isfinite(table.let_out_m[i, j]):
                cells.append("–")
                continue
            low, middle, high = (
                f"{system.convert(float(v[i, j]), 'length'):.0f}"
                for v in (table.low_90_m, table.let_out_m, table.high_90_m)
            )
            marked = (i, j) == (row_marked, col_marked)
            cells.append(f"{f'▸ {middle} ◂' if marked else middle}\n{low}–{high}")
        grid.add_row(*cells, style="bold" if i == row_marked else "")
    coded = (
        count(rig.tow, float(np.nanmax(table.let_out_m))).colors
        if np.isfinite(table.let_out_m).any()
        else None
    )
    note = (
        f"line out, {unit}, by depth (down, {unit}) and speed (across, "
        f"{system.label('speed')}); the span under it holds 9 times in 10"
    )
    if coded is not None:
        before = system.show(count(rig.tow, 0.0).before, "length")
        note += f"; colours start after {before} of leader"
    if table.calibrated is not None:
        note += f"\n{calibrated_by(table.calibrated)}"
    grid.caption = Text(note)
    grid.caption_justify = "left"
    return grid
