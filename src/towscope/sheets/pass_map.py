"""Planned passes on the lake's map: the edge that the lure follows, and the boat's way."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from towscope.constants import YARD
from towscope.passes.marks import marks

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from towscope.bed.bed import LakeBed
    from towscope.passes.passes import Pass
    from towscope.units import System

AROUND = 60.0  # [m]; of map round the passes


def map_of(
    bed: LakeBed, passes: list[Pass], heading: str, system: System, *, only: int | None = None
) -> Figure:
    """Draw the passes on the lake's map: the edge the lure follows, and the boat's way.

    Parameters
    ----------
    bed : LakeBed
        The lake.
    passes : list of Pass
        The passes.
    heading : str
        Over the map.
    system : System
        Units.
    only : int, optional
        Number of the pass to draw close up; all of them on the whole lake where not given.
    """
    from matplotlib.patheffects import withStroke

    from towscope.sheets import lake_map

    figure = lake_map.draw(bed, system, title=heading, passes=[p.stretch for p in passes])
    axes = figure.axes[0]
    halo = [withStroke(linewidth=3.2, foreground="white")]
    near = only is not None
    for number, each in enumerate(passes, 1):
        path = each.trial.path
        if near:
            lure = each.trial.passage.lure[0][each.on_stretch]
            axes.plot(lure[:, 0], lure[:, 1], color=lake_map.PASS, lw=5.0, zorder=6.2)
        axes.plot(
            path[:, 0], path[:, 1], color=lake_map.INK, lw=1.5 if near else 1.0, ls=(0, (4, 1.5)),
            zorder=6.5, path_effects=None if near else halo, label="boat" if number == 1 else "_",
        )  # fmt: skip
        if each.link is not None:
            way = each.link.path
            axes.plot(
                way[:, 0], way[:, 1], color=lake_map.INK, lw=1.1, ls=(0, (1, 2)), zorder=4.5,
                path_effects=halo, label="_" if number > 1 else "way round",
            )  # fmt: skip
        if each.risk.hit > 0.0:
            axes.plot(
                *each.risk.worst, "X", ms=8, mfc="white", mec=lake_map.EDGE, mew=1.6, zorder=9,
                label="_" if number > 1 else "bottom hit likeliest", ls="",
            )  # fmt: skip
        if number == only:
            _marks(axes, each, system)
    handles, labels = axes.get_legend_handles_labels()
    labels = [w.replace("pass, in the direction of its arrow", "lure") for w in labels]
    axes.legend(handles, labels, loc="best", fontsize=8, framealpha=0.92)
    if only is not None:
        _crop(figure, passes[only - 1], system)
    return figure


def _marks(axes: Axes, each: Pass, system: System) -> None:
    """Write the line to have out where it changes."""
    from towscope.sheets.lake_map import INK

    shown = [mark for mark in marks(each) if mark.kind in ("start", "line")]
    for k, mark in enumerate(shown):
        axes.plot(mark.x, mark.y, "o", ms=6, mfc="white", mec=INK, mew=1.5, zorder=9)
        axes.annotate(
            system.show(mark.out, "length"), (mark.x, mark.y), (9, (-15, 13, -31, 29)[k % 4]),
            textcoords="offset points", fontsize=9.5, fontweight="bold", color=INK, zorder=10,
            bbox={"boxstyle": "round,pad=0.15", "fc": "white", "ec": INK, "lw": 0.7},
        )  # fmt: skip


def _crop(figure: Figure, each: Pass, system: System) -> None:
    """Show only what is round one pass, with a scale bar of its own."""
    from matplotlib.offsetbox import AnchoredText

    from towscope.sheets.lake_map import INK

    axes = figure.axes[0]
    points = each.trial.path[:, :2]
    rim = AROUND + 0.05 * float(np.ptp(points, axis=0).max())
    low, high = points.min(axis=0) - rim, points.max(axis=0) + rim
    size = high - low
    for c, least in ((0, 0.8 * float(size[1])), (1, 0.42 * float(size[0]))):
        if size[c] < least:  # no narrower than a page can show
            middle = 0.5 * (low[c] + high[c])
            low[c], high[c] = middle - 0.5 * least, middle + 0.5 * least
    size = high - low
    for line in list(axes.lines):
        if line.get_transform() != axes.transData:  # the whole lake's scale bar
            line.remove()
    for text in list(axes.texts):
        if text.get_text().endswith((" yd", " m")) and text.get_fontsize() == 8:
            text.remove()
        else:
            text.set_clip_on(True)
    axes.set_xlim(low[0], high[0])
    axes.set_ylim(low[1], high[1])
    axes.set_title(axes.get_title(loc="left"), loc="left", fontsize=10.5, color=INK, weight="bold")
    axes.set_xlabel("not for navigation; north is up", fontsize=8, color=INK, loc="left")
    unit, name = (1.0, "m") if system.name == "metric" else (YARD, "yd")
    lengths = [a * 10.0**b for b in range(1, 4) for a in (1.0, 2.0, 5.0)]
    long = max(v for v in lengths if v * unit <= 0.25 * size[0] or v == lengths[0])
    left, down = low[0] + 0.03 * size[0], low[1] + 0.04 * size[1]
    axes.plot([left, left + long * unit], [down, down], color=INK, lw=3, zorder=9)
    axes.add_artist(
        AnchoredText(
            f"{long:g} {name}", loc="lower left", prop={"size": 9}, pad=0.25, borderpad=1.6
        )
    )
    ratio = float(size[1] / size[0])
    figure.set_size_inches(9.0, 0.9 * 9.0 * ratio + 0.5)
