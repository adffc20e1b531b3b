"""Plot of a followed track: boat and lure from above, and depth by time."""

from __future__ import annotations

import io
import math
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np

from towscope.arrays import Array
from towscope.follow.explain import reason
from towscope.sheets.followed import moment, why
from towscope.words import respell_figure

if TYPE_CHECKING:
    from towscope.boat.track import BoatTrack
    from towscope.follow.lure_path import Followed
    from towscope.units import System


# Told apart by lightness alone, so that a grey print or any eye will do: pale, middle, dark.
INK, BOAT, LURE, BAND, WARN = "#16242c", "#b06a00", "#08468c", "#a9cbe8", "#8c1d40"
FAINT, PAPER = "#d5dde2", "#ffffff"
SHALLOW, DEEP = np.array([0.62, 0.80, 0.92]), np.array([0.02, 0.14, 0.36])
NEAR_BEFORE, NEAR_AFTER = 110.0, 60.0  # [s]; shown close up about the deepest moment
TIE = 10.0  # [s]; between the threads from boat to lure
MOST_DRAWN = 6000  # points of a curve; a picture shows no more


def draw(
    rig: str,
    name: str,
    track: BoatTrack,
    way: Followed,
    system: System,
    kind: str = "png",
    bottom: float | Array | None = None,
) -> bytes:
    """Draw a followed track.

    Parameters
    ----------
    rig, name : str
        Of the rig and of the track.
    track : BoatTrack
        The boat's way.
    way : Followed
        The lure's way.
    system : System
        Units.
    kind : str
        "png", "svg" or "pdf".
    bottom : float or (m,) array, optional
        Depth of a level bottom, or of the lake under the lure at each moment, NaN where not
        known [m].

    Returns
    -------
    bytes
        The picture.
    """
    import matplotlib

    matplotlib.use("Agg")
    from matplotlib.figure import Figure

    counted = way.trolling if way.trolling.any() else np.ones(len(way.time), dtype=bool)
    depth = np.where(counted, way.depth, np.nan)
    deepest = int(np.nanargmax(depth))
    span = (float(np.nanmin(depth)), float(np.nanmax(depth)))
    plain: Any = {"font.family": "DejaVu Sans", "font.size": 9.5, "svg.hashsalt": "towscope"}
    with matplotlib.rc_context(plain):
        figure = Figure(figsize=(11.0, 9.0), dpi=120, facecolor=PAPER)
        halves = figure.add_gridspec(
            2,
            1,
            height_ratios=(1.0, 1.0),
            hspace=0.17,
            left=0.075,
            right=0.975,
            top=0.915,
            bottom=0.065,
        )
        above = halves[0].subgridspec(1, 2, width_ratios=(1.25, 1.0), wspace=0.06)
        below = halves[1].subgridspec(2, 1, height_ratios=(1.0, 0.34), hspace=0.1)
        whole, close = figure.add_subplot(above[0]), figure.add_subplot(above[1])
        deep = figure.add_subplot(below[0])
        pace = figure.add_subplot(below[1], sharex=deep)
        out = way.let_out
        line = (
            system.show(float(out[0]), "length")
            if float(np.ptp(out)) < 0.1
            else system.range(float(out.min()), float(out.max()), "length")
        )
        title = f"Rig {rig} behind {name}, {line} out"
        figure.text(0.075, 0.965, title, fontsize=14, weight="bold", color=INK)
        _from_above(whole, way, deepest, span, system)
        _close_up(close, track, way, deepest, span, system)
        _depth(deep, track, way, depth, deepest, system, bottom)
        _pace(pace, track, way, system)
        stream = io.BytesIO()
        facts: dict[str, Any] = {"png": {"Software": None}, "svg": {"Date": None}}.get(
            kind, {"CreationDate": None}
        )
        respell_figure(figure, system.name)
        figure.savefig(stream, format=kind, metadata=facts)
    return stream.getvalue()


def _shade(depth: Array, span: tuple[float, float]) -> Array:
    room = max(span[1] - span[0], 0.3)
    share = np.clip((np.nan_to_num(depth, nan=span[0]) - span[0]) / room, 0.0, 1.0)[:, None]
    mixed: Array = SHALLOW + (DEEP - SHALLOW) * share
    return mixed


def _pieces(way: Followed, first: int, beyond: int) -> list[tuple[int, int]]:
    """Give the stretches between two moments."""
    inner = np.flatnonzero(np.diff(way.stretch[first:beyond]) != 0) + first + 1
    edges = [first, *inner.tolist(), beyond]
    return [(a, b) for a, b in pairwise(edges) if b - a > 1]


def _ways(
    axes: Any,
    way: Followed,
    first: int,
    beyond: int,
    span: tuple[float, float],
    scale: float,
    wide: float,
    thin: float,
    boat: str,
) -> None:
    """Draw boat and lure from above."""
    from matplotlib.collections import LineCollection

    every = max(1, (beyond - first) // MOST_DRAWN)
    for a, b in _pieces(way, first, beyond):
        own = slice(a, b, every)
        lure = way.lure[own, :2] * scale
        if len(lure) > 1:
            axes.add_collection(
                LineCollection(
                    np.stack([lure[:-1], lure[1:]], axis=1),  # type: ignore[arg-type]
                    colors=_shade(way.depth[own][1:], span),
                    linewidths=wide,
                    capstyle="round",
                    zorder=2,
                )
            )
        axes.plot(
            way.boat[own, 0] * scale,
            way.boat[own, 1] * scale,
            color=boat,
            lw=thin,
            zorder=3,
            dashes=(3.0, 2.2),
        )


def _frame(axes: Any, box: tuple[float, float, float, float], system: System) -> None:
    """Set equal scales about a box, with a scale bar and north."""
    x0, x1, y0, y1 = box
    place, (wide, high) = axes.get_position(), axes.figure.get_size_inches()
    shape = (place.height * high) / (place.width * wide)
    width = 1.16 * max(x1 - x0, (y1 - y0) / shape, 1.0)
    middle = 0.5 * (x0 + x1), 0.5 * (y0 + y1)
    axes.set_xlim(middle[0] - 0.5 * width, middle[0] + 0.5 * width)
    axes.set_ylim(middle[1] - 0.5 * width * shape, middle[1] + 0.5 * width * shape)
    axes.set_xticks([])
    axes.set_yticks([])
    for side in axes.spines.values():
        side.set_color(FAINT)
    axes.annotate(
        "N",
        xy=(0.955, 0.975),
        xytext=(0.955, 0.865),
        xycoords="axes fraction",
        color=INK,
        ha="center",
        va="center",
        arrowprops={"arrowstyle": "-|>", "color": INK, "lw": 1.1},
    )


def _bar(axes: Any, system: System) -> None:
    """Draw a scale bar, once the limits are set."""
    low, high = axes.get_xlim()
    wanted = 0.27 * (high - low)
    size = 10.0 ** math.floor(math.log10(wanted))
    size *= next(factor for factor in (5, 2, 1) if factor * size <= wanted)
    y0, y1 = axes.get_ylim()
    x, y = low + 0.035 * (high - low), y0 + 0.04 * (y1 - y0)
    axes.plot([x, x + size], [y, y], color=INK, lw=2.2, solid_capstyle="butt", zorder=6)
    axes.text(
        x + size / 2,
        y + 0.015 * (y1 - y0),
        f"{size:,.0f} {system.label('length')}",
        ha="center",
        va="bottom",
        color=INK,
        fontsize=8.5,
        zorder=6,
        bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.8, "alpha": 0.8},
    )


def _from_above(
    axes: Any, way: Followed, deepest: int, span: tuple[float, float], system: System
) -> None:
    scale = system.convert(1.0, "length")
    _ways(axes, way, 0, len(way.time), span, scale, 4.2, 0.9, INK)
    places = np.concatenate([way.boat[:, :2], way.lure[:, :2]]) * scale
    low, high = places.min(axis=0), places.max(axis=0)
    _frame(axes, (low[0], high[0], low[1], high[1]), system)
    start = way.boat[0, :2] * scale
    axes.plot(*start, "o", ms=7, mfc=PAPER, mec=INK, mew=1.4, zorder=5)
    axes.annotate("start", start, xytext=(8, -3), textcoords="offset points", color=INK)
    axes.plot(*(way.lure[deepest, :2] * scale), "v", ms=9, mfc=WARN, mec=PAPER, mew=1, zorder=5)
    axes.set_title("From above", loc="left", fontsize=10.5, color=INK)
    from matplotlib.lines import Line2D

    shades = _shade(np.array(span), span)
    keys = [
        Line2D([], [], color=INK, lw=0.9, dashes=(3.0, 2.2), label="boat"),
        Line2D([], [], color=shades[0], lw=3, label=f"lure, {system.show(span[0], 'length')}"),
        Line2D([], [], color=shades[1], lw=3, label=f"lure, {system.show(span[1], 'length')}"),
        Line2D([], [], ls="", marker="v", ms=8, mfc=WARN, mec=PAPER, label="deepest"),
    ]
    axes.legend(
        handles=keys, loc="best", fontsize=8.5, frameon=True, framealpha=0.9, edgecolor=FAINT
    )
    _bar(axes, system)


def _close_up(
    axes: Any,
    track: BoatTrack,
    way: Followed,
    deepest: int,
    span: tuple[float, float],
    system: System,
) -> None:
    scale = system.convert(1.0, "length")
    now = way.time[deepest]
    near = (
        (way.time >= now - NEAR_BEFORE)
        & (way.time <= now + NEAR_AFTER)
        & (way.stretch == way.stretch[deepest])
    )
    first, beyond = int(np.argmax(near)), len(near) - int(np.argmax(near[::-1]))
    step = float(np.median(np.diff(way.time))) if len(way.time) > 1 else 1.0
    ties = max(1, round(TIE / step))
    for i in range(deepest - (deepest - first) // ties * ties, beyond, ties):
        axes.plot(
            [way.boat[i, 0] * scale, way.lure[i, 0] * scale],
            [way.boat[i, 1] * scale, way.lure[i, 1] * scale],
            color="#9aa7ae",
            lw=0.7,
            zorder=1,
        )
    _ways(axes, way, first, beyond, span, scale, 4.2, 1.8, BOAT)
    own = slice(first, beyond)
    places = np.concatenate([way.boat[own, :2], way.lure[own, :2]]) * scale
    low, high = places.min(axis=0), places.max(axis=0)
    _frame(axes, (low[0], high[0], low[1], high[1]), system)
    spot = way.lure[deepest, :2] * scale
    axes.plot(*spot, "v", ms=10, mfc=WARN, mec=PAPER, mew=1, zorder=5)
    axes.annotate(
        system.show(float(way.depth[deepest]), "length"),
        spot,
        xytext=(9, -4),
        textcoords="offset points",
        color=WARN,
        weight="bold",
        zorder=6,
        bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.8, "alpha": 0.8},
    )
    tail = max(first, beyond - 1 - max(1, round(TIE / step)))
    axes.annotate(
        "",
        way.boat[beyond - 1, :2] * scale,
        xytext=way.boat[tail, :2] * scale,
        arrowprops={"arrowstyle": "-|>", "color": BOAT, "lw": 1.8, "mutation_scale": 17},
        zorder=5,
    )
    axes.set_title(
        f"Where it ran deepest, {moment(track, way, deepest)}",
        loc="left",
        fontsize=10.5,
        color=INK,
    )
    _bar(axes, system)


def _thin(way: Followed) -> list[slice]:
    every = max(1, len(way.time) // MOST_DRAWN)
    return [slice(a, b, every) for a, b in _pieces(way, 0, len(way.time))]


def _minutes(track: BoatTrack, way: Followed) -> Array:
    minutes: Array = (way.time - track.time[0]) / 60.0
    return minutes


def _depth(
    axes: Any,
    track: BoatTrack,
    way: Followed,
    counted: Array,
    deepest: int,
    system: System,
    bottom: float | Array | None,
) -> None:
    scale = system.convert(1.0, "length")
    minutes = _minutes(track, way)
    for number, own in enumerate(_thin(way)):
        band = {"label": "9 in 10"} if number == 0 else {}
        best = {"label": "lure, best estimate"} if number == 0 else {}
        if bool((way.high > way.low).any()):
            axes.fill_between(
                minutes[own], way.low[own] * scale, way.high[own] * scale, color=BAND, lw=0, **band
            )
        axes.plot(minutes[own], way.depth[own] * scale, color=LURE, lw=1.6, **best)
    for gap in track.gaps:
        axes.axvspan(
            (gap.start - track.time[0]) / 60.0,
            (gap.end - track.time[0]) / 60.0,
            color=FAINT,
            alpha=0.7,
            lw=0,
            zorder=0,
        )
    top = float(np.nanmax(np.where(np.isfinite(counted), way.high, np.nan))) * scale
    least = float(np.nanmin(np.where(np.isfinite(counted), way.low, np.nan))) * scale
    if isinstance(bottom, np.ndarray):
        for own in _thin(way):
            axes.plot(minutes[own], bottom[own] * scale, color=WARN, lw=1.2)
        known = np.flatnonzero(np.isfinite(bottom) & np.isfinite(counted))
        if known.size:
            last = int(known[-1])
            axes.text(
                float(minutes[last]),
                float(bottom[last]) * scale,
                "bottom under the lure ",
                color=WARN,
                va="top",
                ha="right",
                fontsize=8.5,
                bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.8, "alpha": 0.75},
            )
            top = max(top, float(bottom[known].max()) * scale)
    elif bottom is not None:
        axes.axhline(bottom * scale, color=WARN, lw=1.4, ls=(0, (6, 3)))
        axes.text(
            0.995,
            bottom * scale,
            "bottom ",
            color=WARN,
            va="bottom",
            ha="right",
            fontsize=8.5,
            transform=axes.get_yaxis_transform(),
        )
        top = max(top, bottom * scale)
    room = 0.12 * max(top - least, 2.0)
    axes.set_ylim(top + room, max(least - room, 0.0))
    at = float(minutes[deepest]), float(way.depth[deepest]) * scale
    axes.plot(*at, "v", ms=8, mfc=WARN, mec=PAPER, mew=0.8, zorder=5)
    right = at[0] - minutes[0] < 0.78 * float(minutes[-1] - minutes[0])
    axes.annotate(
        f"{system.show(float(way.depth[deepest]), 'length')}, {why(reason(way, deepest), system)}",
        at,
        xytext=(9 if right else -9, -3),
        textcoords="offset points",
        color=WARN,
        zorder=6,
        ha="left" if right else "right",
        fontsize=8.5,
        bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.8, "alpha": 0.75},
    )
    axes.set_ylabel(f"depth, {system.label('length')}")
    axes.set_title("How deep", loc="left", fontsize=10.5, color=INK)
    axes.legend(loc="upper right", bbox_to_anchor=(1.0, 1.16), ncols=2, fontsize=8.5, frameon=False)
    _tidy(axes)
    axes.tick_params(labelbottom=False)


def _pace(axes: Any, track: BoatTrack, way: Followed, system: System) -> None:
    minutes = _minutes(track, way)
    scale = system.convert(1.0, "speed")
    for own in _thin(way):
        axes.plot(minutes[own], way.boat[own, 3] * scale, color=BOAT, lw=1.2)
    axes.set_ylim(0.0, 1.15 * float(way.boat[:, 3].max()) * scale + 0.1)
    axes.set_ylabel(f"speed,\n{system.label('speed')}")
    axes.set_xlabel("minutes into the track")
    if float(minutes[-1]) > float(minutes[0]):
        axes.set_xlim(float(minutes[0]), float(minutes[-1]))
    _tidy(axes)


def _tidy(axes: Any) -> None:
    axes.grid(color=FAINT, lw=0.6)
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        axes.spines[side].set_color("#8c9aa2")
    axes.tick_params(colors=INK)
