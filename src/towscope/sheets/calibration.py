"""Plot of a calibration: predicted depth against read, and depth by line out."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

import numpy as np

from towscope.calibration.findings import WRONG, Findings
from towscope.calibration.next_reading import versions
from towscope.constants import MPH
from towscope.words import respell_figure

if TYPE_CHECKING:
    from towscope.calibration.posterior import Posterior
    from towscope.towing.tow import Tow
    from towscope.units import System

# Dark water, slate, amber, and a red for what looks wrong; told apart by shape as well
INK, STATED, CALIBRATED, WRONGED, PAPER = "#17313b", "#9fb0b8", "#1f7a8c", "#b3402a", "#ffffff"
SHAPES = {
    "bottom hit": ("o", "bottom hit"), "soft bottom hit": ("s", "soft bottom hit"),
    "first bottom hit": ("D", "first bottom hit"),
    "miss": ("v", "ran clear"), "recorder": ("P", "recorder"),
    "sonar mark": ("X", "sonar mark"),
}  # fmt: skip
POINTS = 25


def draw(found: Findings, posterior: Posterior, system: System, kind: str) -> bytes:
    """Draw the calibration of one rig.

    Parameters
    ----------
    found : Findings
        What was found.
    posterior : Posterior
        Where it comes from.
    system : System
        Units.
    kind : str
        png, svg or pdf.

    Returns
    -------
    bytes
        The picture.
    """
    from matplotlib.figure import Figure

    figure = Figure(figsize=(10.5, 5.6), facecolor=PAPER)
    left, right = figure.subplots(1, 2, width_ratios=[1.15, 1.0])
    speed = _middle_speed(found)
    _by_line(left, found, system, speed)
    _against(right, found, system)
    own = len(found.weighed)
    figure.suptitle(
        f"{found.rig} with {found.lure}: {own} reading{'' if own == 1 else 's'}",
        x=0.06, ha="left", fontsize=14, weight="bold", color=INK,
    )  # fmt: skip
    figure.subplots_adjust(left=0.07, right=0.985, top=0.86, bottom=0.12, wspace=0.2)
    buffer = io.BytesIO()
    respell_figure(figure, system.name)
    figure.savefig(buffer, format=kind, dpi=150, facecolor=PAPER)
    return buffer.getvalue()


def _middle_speed(found: Findings) -> float:
    speeds = [r.reading.speed for r in found.weighed]
    return round(float(np.median(speeds)) / (0.1 * MPH)) * 0.1 * MPH if speeds else 2.0 * MPH


def _by_line(axes: Any, found: Findings, system: System, speed: float) -> None:
    scale = system.convert(1.0, "length")
    outs = [r.reading.let_out for r in found.weighed] or [s.let_out for s in found.usual]
    grid = np.linspace(0.5 * min(outs), min(1.2 * max(outs), 0.97 * found.stated.length), POINTS)
    before, after = (
        np.quantile(versions(tow, grid, speed, 300), [0.05, 0.5, 0.95], axis=0)
        for tow in (found.before, found.calibrated)
    )
    x = grid * scale
    axes.fill_between(
        x, before[0] * scale, before[2] * scale, color=STATED, alpha=0.45, lw=0,
        label="as stated, 9 in 10",
    )  # fmt: skip
    axes.fill_between(
        x, after[0] * scale, after[2] * scale, color=CALIBRATED, alpha=0.45, lw=0,
        label="calibrated, 9 in 10",
    )  # fmt: skip
    axes.plot(x, after[1] * scale, color=INK, lw=1.6)
    seen: set[str] = set()
    for r in found.weighed:
        # brought to one speed: what the calibrated line would do at it, plus how far it was off
        at = _depth(found.calibrated, r.reading.let_out, speed) + (r.reading.depth - r.depth)
        _dot(axes, r, r.reading.let_out * scale, at * scale, r.reading.error * scale, seen)
    axes.invert_yaxis()
    axes.set_xlabel(f"line out, as read, {system.label('length')}")
    axes.set_ylabel(f"depth, {system.label('length')}")
    axes.set_title(
        f"By line out, all readings brought to {system.show(speed, 'speed')}", loc="left",
        fontsize=10.5, color=INK,
    )  # fmt: skip
    axes.legend(loc="lower left", fontsize=8.5, frameon=False)
    _tidy(axes)


def _depth(tow: Tow, let_out: float, speed: float) -> float:
    from towscope.calibration.apply import depths_at

    out = np.array([min(let_out, tow.length)])
    return float(depths_at(tow, tow.pieces, tow.lure, out, speed)[0])


def _dot(axes: Any, r: Any, x: float, y: float, error: float, seen: set[str]) -> None:
    marker, label = SHAPES[r.reading.kind]
    wrong = r.wrong > WRONG
    if wrong:
        label = "looks wrong"
    colour = WRONGED if wrong else INK
    axes.errorbar(
        [x], [y], yerr=[error], fmt=marker, ms=6.5, mfc=PAPER if wrong else CALIBRATED, mec=colour,
        mew=1.2, ecolor=colour, elinewidth=0.8, zorder=5,
        label=None if label in seen else label,
    )  # fmt: skip
    seen.add(label)


def _against(axes: Any, found: Findings, system: System) -> None:
    scale = system.convert(1.0, "length")
    depths = [d for r in found.weighed for d in (r.reading.depth, r.depth)] or [0.0, 10.0]
    low, high = 0.9 * min(depths) * scale, 1.06 * max(depths) * scale
    axes.plot([low, high], [low, high], color=STATED, lw=1.2, zorder=1)
    seen: set[str] = set()
    for r in found.weighed:
        marker, label = SHAPES[r.reading.kind]
        wrong = r.wrong > WRONG
        label = "looks wrong" if wrong else label
        colour = WRONGED if wrong else INK
        x, y = r.reading.depth * scale, r.depth * scale
        axes.plot([x, x], [r.depth_90[0] * scale, r.depth_90[1] * scale], color=CALIBRATED, lw=3.0,
                  alpha=0.5, solid_capstyle="butt", zorder=3)  # fmt: skip
        axes.plot(
            [x - r.reading.error * scale, x + r.reading.error * scale], [y, y],
            color=colour, lw=0.8,
            zorder=4,
        )  # fmt: skip
        axes.plot(
            [x], [y], marker, ms=6.5, mfc=PAPER if wrong else CALIBRATED, mec=colour, mew=1.2,
            ls="",
            zorder=5, label=None if label in seen else label,
        )  # fmt: skip
        seen.add(label)
    axes.set_xlim(low, high)
    axes.set_ylim(low, high)
    axes.set_aspect("equal", adjustable="box")
    axes.set_xlabel(f"read, {system.label('length')}")
    axes.set_ylabel(f"predicted, {system.label('length')}")
    axes.set_title("Predicted against read", loc="left", fontsize=10.5, color=INK)
    if seen:
        axes.legend(loc="upper left", fontsize=8.5, frameon=False)
    _tidy(axes)


def _tidy(axes: Any) -> None:
    axes.grid(color="#dfe5e8", lw=0.6)
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        axes.spines[side].set_color("#8c9aa2")
    axes.tick_params(colors=INK)
