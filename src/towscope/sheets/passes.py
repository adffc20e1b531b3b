"""Planned passes in the terminal, and on a page to take along."""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np
from rich import box
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from towscope.compass import point
from towscope.sheets.cautions import LINE, LOOKOUT, ON_THE_WATER, RULES, SNAG
from towscope.sheets.pass_map import map_of
from towscope.sheets.pass_words import lead, title, told
from towscope.words import respell_figure

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from rich.console import RenderableType

    from towscope.bed.bed import LakeBed
    from towscope.passes.passes import Pass
    from towscope.passes.planning import PlannedPasses
    from towscope.units import System

PAGE_WIDTH, WHOLE_HEIGHT, MAP_HEIGHT = 186.0, 58.0, 82.0  # [mm]
STRIP, READABLE, TALLEST = 50.0, 90.0, 185.0  # [mm]; a narrower map than that gets so much room
LARGER = 1.15
INDENT = (0, 0, 0, 2)


def report(plan: PlannedPasses, system: System) -> Iterator[RenderableType]:
    """Give the parts of the report, to be printed one after the other."""
    words = told(plan, system, options=True)
    yield Text(title(plan, system), style="bold")
    yield _table(plan, system)
    for number, (each, said) in enumerate(zip(plan.passes, words["passes"], strict=True), 1):
        yield Text(f"Pass {number}: {said['head']}", style="bold")
        yield Padding(Text(said["why"]), INDENT)
        for far, clock, what in said["steps"]:
            yield Text(f"  {far:>8} {clock:>6}  {what}")
        yield Padding(Text(said["round"]), INDENT)
        safe = each.risk.safe(plan.ask.wishes.limit)
        yield Text(f"  {said['verdict']}", style="bold green" if safe else "bold red")
        yield Padding(Text(said["risk"]), INDENT)
        yield Text("")
    for line in words["notes"]:
        yield Text(line)
    yield Text("")
    for caution in (LOOKOUT, LINE, SNAG, RULES):
        yield Text(caution, style="dim")


def _table(plan: PlannedPasses, system: System) -> Table:
    table = Table(box=box.SIMPLE, header_style="")
    heads = (
        "pass",
        "long",
        "heads",
        "line",
        "lure runs",
        "off bottom",
        "off its line",
        "hits bottom",
    )
    for name in heads:
        table.add_column(name, justify="right")
    for number, each in enumerate(plan.passes, 1):
        outs = each.trial.way.out.value
        table.add_row(
            str(number),
            system.show(each.trial.way.line.length, "length", 0),
            point(each.stretch.heading),
            _span(float(outs.min()), float(outs.max()), system, 0),
            _span(*each.depths, system, 0 if system.name == "us" else 1),
            _span(*each.heights, system, 1),
            system.show(each.trial.astray, "length", 1),
            f"{each.risk.hit:.0%}",
            style="" if each.risk.safe(plan.ask.wishes.limit) else "red",
        )
    return table


def _span(low: float, high: float, system: System, places: int) -> str:
    if f"{system.convert(low, 'length'):.{places}f}" == (
        f"{system.convert(high, 'length'):.{places}f}"
    ):
        return system.show(low, "length", places)
    return system.range(low, high, "length", places)


def page(plan: PlannedPasses, system: System) -> bytes:
    """Set the passes on a page (PDF), on the paper that goes with the units."""
    from towscope.sheets.laminate import typeset

    bed, passes = plan.bed, plan.passes
    whole, width = None, 0.0
    if len(passes) > 1 or not _shows_lake(bed, passes[0]):
        drawn = map_of(bed, passes, "", system)
        if (legend := drawn.axes[0].get_legend()) is not None:
            legend.remove()  # the close maps have it
        drawn.axes[0].set_xlabel("")
        whole, width = _svg(drawn, WHOLE_HEIGHT, system)
    near = [
        _svg(map_of(bed, passes, "", system, only=k), MAP_HEIGHT, system)
        for k in range(1, len(passes) + 1)
    ]
    words = told(plan, system, options=True)
    data: dict[str, Any] = {
        "paper": "us-letter" if system.name == "us" else "a4",
        "title": title(plan, system),
        "lead": lead(plan, system),
        "map": whole,
        "map_width": width,
        "passes": [
            {
                **said,
                "head": f"Pass {number}: {said['head']}",
                "map": drawing,
                "map_width": wide,
                "safe": each.risk.safe(plan.ask.wishes.limit),
            }
            for number, (each, said, (drawing, wide)) in enumerate(
                zip(passes, words["passes"], near, strict=True), 1
            )
        ],
        "notes": words["notes"],
        "cautions": list(ON_THE_WATER),
    }
    return typeset("passes.typ", data, system)


def _shows_lake(bed: LakeBed, each: Pass) -> bool:
    """Tell whether the close map of a pass shows most of the lake anyway."""
    rows, columns = np.nonzero(bed.wet)
    lake = max(np.ptp(rows), np.ptp(columns)) * bed.frame.cell
    return bool(np.ptp(each.trial.path[:, :2], axis=0).max() > 0.5 * lake)


def _svg(figure: Figure, height: float, system: System) -> tuple[str, float]:
    """Give a drawing, and the width [mm] at which it is no higher than so much [mm] or readable."""
    from matplotlib import rc_context

    out = io.StringIO()
    wide, high = figure.get_size_inches()
    shown = min(PAGE_WIDTH, height * wide / high)
    if shown < STRIP:  # a long narrow lake takes the page's height: a strip shows nothing
        shown = min(READABLE, TALLEST * wide / high)
    # drawn hardly larger than it is shown, so that its words stay legible
    figure.set_size_inches(LARGER * shown / 25.4, LARGER * shown / 25.4 * high / wide)
    with rc_context({"svg.fonttype": "path"}):
        respell_figure(figure, system.name)
        figure.savefig(out, format="svg", dpi=150)
    return out.getvalue(), shown
