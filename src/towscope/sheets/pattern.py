"""Pattern, to look at: each lure, size or depth a dot with its interval, and the fish behind it.

Position tells the rate and shape tells the standing, so that colour only helps; the colours keep
apart for all common kinds of colour vision and in grey.
"""

from __future__ import annotations

import io
from pathlib import Path
from typing import TYPE_CHECKING, Any

from towscope.errors import InputError
from towscope.files import write_whole
from towscope.pattern.answers import LevelRate, PatternAnswer
from towscope.pattern.words import verdict
from towscope.words import respell_figure

if TYPE_CHECKING:
    from towscope.units import System

# Our own palette: dark water, amber for what leads, slate for the rest; lightness 25, 65, 55
INK, LEAD, REST, PALE, PAPER = "#17313b", "#d98200", "#5b7f8f", "#c9d5da", "#ffffff"
TITLES = {
    "lure": "Lure", "body": "Body", "size": "Size", "colour": "Colour", "depth": "Depth",
    "speed": "Speed", "light": "Sky", "temperature": "Water temperature", "hour": "Time of day",
    "place": "Place", "rod": "Rod",
}  # fmt: skip
MOST = 14
FORMATS = ("png", "pdf", "svg")


def draw(found: PatternAnswer, system: System, path: Path, *, title: str = "Pattern") -> None:
    """Draw the pattern to a file.

    Parameters
    ----------
    found : PatternAnswer
        What was found.
    system : System
        Units to show.
    path : Path
        Where to; the ending says the format: png, pdf or svg.
    title : str
        Heading.

    Raises
    ------
    InputError
        Where the ending is another, or the file can't be written.
    """
    kind = path.suffix.lower().removeprefix(".")
    if kind not in FORMATS:
        raise InputError(
            f'cannot draw to "{path.name}"; expected a name ending in .png, .pdf, .svg'
        )
    from matplotlib.figure import Figure

    factors = [(name, _some(levels)) for name, levels in found.by.items() if levels]
    if not factors:
        raise InputError("nothing to draw: none of these factors was noted")
    rows = [len(levels) + 1.6 for _, levels in factors]
    height = 1.75 + 0.31 * sum(rows)
    figure = Figure(figsize=(8.0, height), facecolor=PAPER)
    grid = figure.add_gridspec(
        len(factors), 1, height_ratios=rows, left=0.22, right=0.80,
        top=1.0 - 0.95 / height, bottom=0.72 / height, hspace=0.0,
    )  # fmt: skip
    right = _right([level for _, levels in factors for level in levels], found.per_rod_hour)
    for row, (name, levels) in enumerate(factors):
        axes = figure.add_subplot(grid[row])
        _panel(axes, name, levels, found, right, last=row == len(factors) - 1)
    figure.text(
        0.03, 1.0 - 0.34 / height, title, fontsize=16, weight="bold", color=INK, va="center"
    )
    low, high = found.per_rod_hour_interval_90
    days = "1 day" if found.days == 1 else f"{found.days} days"
    figure.text(
        0.03, 1.0 - 0.66 / height,
        f"{found.catches} fish in {found.rod_hours:.0f} rod-hours on {days}: "
        f"{found.per_rod_hour:.2f} an hour ({low:.2f} to {high:.2f})",
        fontsize=9.5, color=INK, va="center",
    )  # fmt: skip
    figure.text(
        0.03, 0.16 / height,
        "Dot: fish per rod-hour, other things equal; bar: 90 % interval; tick: plain catch over "
        "hours. Diamond: likely the best. Dashed: all together.",
        fontsize=7.5, color=REST, va="center",
    )  # fmt: skip
    buffer = io.BytesIO()
    respell_figure(figure, system.name)
    figure.savefig(buffer, format=kind, dpi=150, facecolor=PAPER)
    write_whole(path, buffer.getvalue())


def _some(levels: list[LevelRate]) -> list[LevelRate]:
    """Keep what fits: the most fished."""
    if len(levels) <= MOST:
        return levels
    least = sorted((x["rod_hours"] for x in levels), reverse=True)[MOST - 1]
    return [x for x in levels if x["rod_hours"] >= least][:MOST]


def _right(levels: list[LevelRate], overall: float) -> float:
    """Give the right end of the axis: all dots and most bars within it."""
    dots = max(x["per_rod_hour"] for x in levels)
    bars = sorted(x["interval_90"][1] for x in levels)
    return 1.06 * max(1.35 * dots, bars[int(0.8 * (len(bars) - 1))], 1.5 * overall)


def _panel(
    axes: Any,
    name: str,
    levels: list[LevelRate],
    found: PatternAnswer,
    right: float,
    *,
    last: bool,
) -> None:
    lead = max(range(len(levels)), key=lambda i: levels[i]["probability_best"])
    ahead = len(levels) > 1 and levels[lead]["probability_best"] > 1.6 / len(levels)
    size = len(levels)
    overall = found.per_rod_hour
    axes.plot([overall] * 2, [-0.6, size - 0.4], color=REST, lw=1.0, ls=(0, (3, 3)), zorder=1)
    for i, level in enumerate(levels):
        low, high = level["interval_90"]
        first = i == lead and ahead
        colour = LEAD if first else REST
        axes.plot([0, right], [i, i], color=PALE, lw=0.6, zorder=0)
        axes.plot(
            [low, min(high, right)], [i, i], color=colour, lw=5.0 if first else 4.0,
            solid_capstyle="butt", alpha=0.75, zorder=2,
        )  # fmt: skip
        if high > right:
            axes.plot([right], [i], marker=">", color=colour, ms=6, zorder=3, clip_on=False)
        if level["raw_per_rod_hour"] <= right:
            axes.plot(
                [level["raw_per_rod_hour"]] * 2, [i - 0.3, i + 0.3], color=INK, lw=1.2, zorder=4
            )
        axes.plot(
            [level["per_rod_hour"]], [i], marker="D" if first else "o", ms=8.5 if first else 7.0,
            mfc=LEAD if first else PAPER, mec=INK, mew=1.4, zorder=5,
        )  # fmt: skip
        axes.text(
            1.02, i, f"{level['catches']} in {_hours(level['rod_hours'])} h",
            transform=axes.get_yaxis_transform(), va="center", fontsize=8.5, color=INK,
        )  # fmt: skip
        axes.text(
            -0.02, i, level["level"], transform=axes.get_yaxis_transform(), va="center",
            ha="right", fontsize=9.5, color=INK, weight="bold" if first else "normal",
        )  # fmt: skip
    axes.set_xlim(0, right)
    axes.set_ylim(size - 0.4, -1.2)
    axes.set_yticks([])
    for side in ("left", "right", "top", "bottom"):
        axes.spines[side].set_visible(False)
    axes.tick_params(axis="x", colors=INK, labelsize=8.5, length=0 if not last else 3)
    if last:
        axes.spines["bottom"].set_visible(True)
        axes.spines["bottom"].set_color(PALE)
        axes.set_xlabel("fish per rod-hour", fontsize=9, color=INK)
    else:
        axes.set_xticklabels([])
    axes.text(
        -0.02, -0.95, TITLES[name], transform=axes.get_yaxis_transform(), ha="right", va="center",
        fontsize=10.5, weight="bold", color=INK,
    )  # fmt: skip
    said = _said(name, levels, found)
    axes.text(0.0, -0.95, said, transform=axes.get_yaxis_transform(), va="center", fontsize=8.5,
              color=REST, style="italic")  # fmt: skip


def _hours(hours: float) -> str:
    return f"{hours:.1f}" if hours < 10 else f"{hours:.0f}"


def _said(name: str, levels: list[LevelRate], found: PatternAnswer) -> str:
    whole = found.by[name]
    pairs = [p for p in found.comparisons if p["by"] == name]
    if len(whole) < 2:
        return "only one: nothing to compare with"
    text = verdict(name, pairs, whole)
    if len(whole) > len(levels):
        text += f" ({len(whole) - len(levels)} little fished are left out)"
    if len(text) > 88:
        text = text.split(";")[0]
    return text
