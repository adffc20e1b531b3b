"""Map of a lake with shaded depth, contours, edges and passes, to PNG or PDF.

The palette is our own. Depth runs from near white through green-blue to ink, evenly in lightness,
so that it reads in grey and to every kind of colour vision; what lies on top is told apart by
dash, mark and lightness first and by hue second.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import scipy

from towscope.arrays import Array
from towscope.bed.bed import LakeBed
from towscope.bed.contour_levels import levels
from towscope.bed.edges import smoothed
from towscope.constants import YARD
from towscope.errors import InputError
from towscope.files import write_whole

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from towscope.bed.features import Structure
    from towscope.passes.candidates import Stretch
    from towscope.units import System


WATER = ("#f4f8f2", "#cfe6dc", "#9fcfc8", "#6fb1b5", "#478f9f", "#2f6c86", "#234a68", "#1b2c49")
LAND = "#efeae0"
INK = "#1a1f24"
PALE = "#eef4f3"
EDGE = "#b4371e"
PASS = "#f2b705"
MOST_PIXELS = 1400
FORMATS = (".png", ".pdf", ".svg")


def draw(
    bed: LakeBed,
    system: System,
    *,
    title: str = "",
    structure: Structure | None = None,
    passes: Sequence[Stretch] = (),
    soundings: tuple[Array, Array] | None = None,
) -> Figure:
    """Draw the map of a lake.

    Parameters
    ----------
    bed : LakeBed
        The bed.
    system : System
        Units of depths and of the scale bar.
    title : str
        Over the map.
    structure : Structure, optional
        Edges and more to draw on it.
    passes : sequence of Stretch
        Passes to draw on it, numbered in order.
    soundings : (x, y), optional
        Where soundings were made [m]; dots where given.

    Returns
    -------
    matplotlib.figure.Figure
        The map.
    """
    from matplotlib.colors import LightSource, LinearSegmentedColormap, Normalize
    from matplotlib.figure import Figure

    f = bed.frame
    rows, columns = _used(bed)
    wide, high = columns.stop - columns.start, rows.stop - rows.start
    ratio = float(np.clip(high / wide, 0.3, 1.45))
    width = 11.0 if ratio < 0.8 else 8.0
    figure = Figure(figsize=(width, 0.86 * width * ratio + 0.9), layout="constrained")
    axes = figure.add_subplot()
    axes.set_facecolor(LAND)
    step = max(1, int(np.ceil(max(wide, high) / MOST_PIXELS)))
    cut = (slice(rows.start, rows.stop, step), slice(columns.start, columns.stop, step))
    depth = np.where(bed.wet, bed.surface, np.nan)[cut].astype(float)
    x = f.west + np.arange(columns.start, columns.stop, step) * f.cell
    y = f.south + np.arange(rows.start, rows.stop, step) * f.cell
    deepest = float(np.nanmax(depth))
    palette = LinearSegmentedColormap.from_list("water", WATER)
    norm = Normalize(0.0, deepest)
    light = LightSource(azdeg=315.0, altdeg=50.0)
    cell = f.cell * step
    slope = np.nanpercentile(np.hypot(*np.gradient(depth, cell)), 95)
    filled = np.where(np.isfinite(depth), depth, 0.0)
    shade = light.hillshade(-filled, vert_exag=0.35 / max(float(slope), 0.02), dx=cell, dy=cell)
    colours = palette(norm(depth))
    colours[..., :3] *= (0.86 + 0.28 * (shade[..., None] - 0.5)).clip(0.72, 1.06)
    colours = colours.clip(0.0, 1.0)
    colours[..., 3] = np.isfinite(depth)
    half = 0.5 * cell
    axes.imshow(
        colours, origin="lower", interpolation="bilinear",
        extent=(x[0] - half, x[-1] + half, y[0] - half, y[-1] + half),
    )  # fmt: skip
    _contours(axes, bed, cut, x, y, deepest, system)
    shore = scipy.ndimage.gaussian_filter(bed.wet.astype(np.float32), 1.2)[cut]
    axes.contour(x, y, shore, [0.5], colors=INK, linewidths=1.2)
    if soundings is not None:
        axes.plot(*soundings, ",", color=INK, alpha=0.35)
    if structure is not None:
        _structure(axes, structure)
    for number, run in enumerate(passes, 1):
        _pass(axes, run, number)
    axes.set_aspect("equal")
    axes.set_xlim(x[0] - half, x[-1] + half)
    axes.set_ylim(y[0] - half, y[-1] + half)
    axes.set_xticks([])
    axes.set_yticks([])
    if title:
        axes.set_title(title, loc="left", color=INK, fontsize=13, fontweight="bold")
    _bar(figure, axes, palette, norm, system)
    _scale(axes, x[-1] - x[0], system)
    lat, lon = bed.place.to_globe([0.5 * (x[0] + x[-1])], [0.5 * (y[0] + y[-1])])
    axes.set_xlabel(
        f"depths in {system.label('length')}; middle of the map {_degrees(float(lat[0]), 'NS')}, "
        f"{_degrees(float(lon[0]), 'EW')}; north is up; not for navigation",
        fontsize=8, color=INK, loc="left",
    )  # fmt: skip
    if structure is not None or passes:
        handles, labels = axes.get_legend_handles_labels()
        if handles:
            axes.legend(handles, labels, loc="upper left", fontsize=8, framealpha=0.92)
    return figure


def save(figure: Figure, path: Path, dpi: int = 200) -> None:
    """Write a map to a file whole or not at all; its kind follows the file's name.

    Raises
    ------
    InputError
        Where the name is of another kind, or the disk refuses.
    """
    kind = path.suffix.lower()
    if kind not in FORMATS:
        raise InputError(f'-o "{path.name}": expected a name ending in {", ".join(FORMATS)}')
    out = io.BytesIO()
    from matplotlib import rc_context

    with rc_context({"pdf.fonttype": 42, "svg.fonttype": "none"}):
        figure.savefig(out, format=kind[1:], dpi=dpi)
    write_whole(path, out.getvalue())


def _used(bed: LakeBed) -> tuple[slice, slice]:
    """Give the rows and columns that hold water, and a rim round them."""
    i, j = np.nonzero(bed.wet)
    if not i.size:
        raise InputError("this lake has no water on its map")
    rim = max(3, int(0.03 * max(np.ptp(i), np.ptp(j))))
    f = bed.frame
    return (
        slice(max(int(i.min()) - rim, 0), min(int(i.max()) + rim + 1, f.rows)),
        slice(max(int(j.min()) - rim, 0), min(int(j.max()) + rim + 1, f.columns)),
    )


def _contours(
    axes: Axes,
    bed: LakeBed,
    cut: tuple[slice, slice],
    x: Array,
    y: Array,
    deepest: float,
    system: System,
) -> None:
    shown, metres = levels(deepest, system)
    if not shown.size:
        return
    flat = np.where(bed.wet, smoothed(bed, 2.0 * bed.frame.cell), np.nan)[cut]
    heavy = shown % (5.0 * shown[0]) == 0.0
    # Light lines on the dark half of the palette, dark ones on the light half.
    hues = [INK if m < 0.5 * deepest else PALE for m in metres]
    lines = axes.contour(
        x, y, np.ma.masked_invalid(flat), metres, colors=hues,
        linewidths=np.where(heavy, 0.9, 0.45), alpha=0.8,
    )  # fmt: skip
    words = {m: f"{s:g}" for m, s in zip(metres.tolist(), shown.tolist(), strict=True)}
    axes.clabel(lines, fmt=words, fontsize=7, inline_spacing=2)


def _structure(axes: Axes, found: Structure) -> None:
    def once(seen: set[str], word: str) -> str:
        fresh = word not in seen
        seen.add(word)
        return word if fresh else "_"

    seen: set[str] = set()
    for k, edge in enumerate(found.edges):
        axes.plot(edge.x, edge.y, color="white", lw=3.4, alpha=0.9, zorder=3)
        axes.plot(edge.x, edge.y, color=EDGE, lw=1.9, zorder=4, label=once(seen, "edge"))
        if k < 5:
            m = edge.x.size // 2
            _flag(axes, float(edge.x[m]), float(edge.y[m]), str(k + 1), EDGE)
    for hump in found.humps:
        for x, y in hump.rings:
            axes.plot(x, y, color=INK, lw=1.4, ls=(0, (1, 1.2)), zorder=4, label=once(seen, "hump"))
    for flat in found.flats:
        for x, y in flat.rings:
            axes.plot(x, y, color=INK, lw=1.0, ls=(0, (5, 2)), zorder=4, label=once(seen, "flat"))
    marks = {"point": "^", "inside turn": "v"}
    for bend in found.bends:
        axes.plot(
            bend.x, bend.y, marks[bend.kind], ms=6.5, mfc="white", mec=INK, mew=1.2, ls="",
            zorder=5, label=once(seen, bend.kind),
        )  # fmt: skip


def _pass(axes: Axes, run: Stretch, number: int) -> None:
    axes.plot(run.x, run.y, color=INK, lw=3.2, zorder=5, solid_capstyle="butt")
    axes.plot(
        run.x, run.y, color=PASS, lw=1.8, zorder=6, solid_capstyle="butt",
        label="pass, in the direction of its arrow" if number == 1 else "_",
    )  # fmt: skip
    for share in (0.5, 0.96):
        k = min(max(int(run.x.size * share), 2), run.x.size - 2)
        axes.annotate(
            "", (run.x[k + 1], run.y[k + 1]), (run.x[k - 2], run.y[k - 2]), zorder=7,
            arrowprops={"arrowstyle": "-|>", "color": INK, "lw": 1.4, "mutation_scale": 13},
        )  # fmt: skip
    _flag(axes, float(run.x[0]), float(run.y[0]), str(number), INK)


def _flag(axes: Axes, x: float, y: float, words: str, colour: str) -> None:
    axes.annotate(
        words, (x, y), (0, 7), textcoords="offset points", fontsize=8, ha="center", color=colour,
        fontweight="bold", zorder=8,
        bbox={"boxstyle": "round,pad=0.18", "fc": "white", "ec": colour, "lw": 0.7, "alpha": 0.95},
    )  # fmt: skip


def _bar(figure: Figure, axes: Axes, palette: Any, norm: Any, system: System) -> None:
    from matplotlib.cm import ScalarMappable

    shown, metres = levels(norm.vmax, system)
    bar = figure.colorbar(
        ScalarMappable(norm, palette), ax=axes, shrink=0.8, pad=0.012, aspect=28, ticks=metres
    )
    bar.ax.set_yticklabels([f"{v:g}" for v in shown])
    bar.ax.invert_yaxis()
    bar.set_label(f"depth [{system.label('length')}]", color=INK)


def _scale(axes: Axes, wide: float, system: System) -> None:
    """Draw a scale bar a fifth of the map long or a little less."""
    metric = system.name == "metric"
    unit, name = (1.0, "m") if metric else (YARD, "yd")
    round_ones = [a * 10.0**b for b in range(1, 5) for a in (1.0, 2.0, 5.0)]
    length = max([v for v in round_ones if v * unit <= 0.22 * wide] or [round_ones[0]])
    from matplotlib.offsetbox import AnchoredText
    from matplotlib.transforms import blended_transform_factory

    place = blended_transform_factory(axes.transData, axes.transAxes)
    left = axes.get_xlim()[0] + 0.02 * wide
    right = left + length * unit
    axes.plot([left, right], [0.03, 0.03], color=INK, lw=2.5, transform=place, zorder=9,
              solid_capstyle="butt")  # fmt: skip
    axes.text(0.5 * (left + right), 0.04, f"{length:g} {name}", transform=place, ha="center",
              va="bottom", fontsize=8, color=INK, zorder=9)  # fmt: skip
    axes.add_artist(
        AnchoredText("N\n↑", loc="upper right", frameon=False, prop={"ha": "center", "color": INK})
    )


def _degrees(value: float, sides: str) -> str:
    return f"{abs(value):.4f}° {sides[0] if value >= 0 else sides[1]}"
