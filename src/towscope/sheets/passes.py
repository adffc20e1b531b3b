"""What planned passes look like: in the terminal, and on a page to take along."""

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
from towscope.constants import YARD
from towscope.passes.files import mark_words, marks
from towscope.passes.safe_water import AFLOAT, ROOM
from towscope.sheets.cautions import LINE, LOOKOUT, ON_THE_WATER, RULES, SNAG
from towscope.words import respell_figure

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from rich.console import RenderableType

    from towscope.bed.bed import Bed
    from towscope.geodesy import Place
    from towscope.passes.bottom_risk import Risk
    from towscope.passes.candidates import Wind
    from towscope.passes.passes import Pass, Wishes
    from towscope.units import System

AROUND = 60.0  # [m]; of map round the passes
PAGE_WIDTH, WHOLE_HEIGHT, MAP_HEIGHT = 186.0, 58.0, 82.0  # [mm]
STRIP, READABLE, TALLEST = 50.0, 90.0, 185.0  # [mm]; a narrower map than that gets so much room
LARGER = 1.15
INDENT = (0, 0, 0, 2)
SMALL = 20.0  # [m]; below it lengths are shown to a tenth


def title(name: str, rig: str, depth: float, wishes: Wishes, system: System) -> str:
    """Say what the passes are."""
    return (
        f"{name}: {rig} along the {system.show(depth, 'length')} edge, "
        f"{_off(wishes.clearance, system)} off bottom"
        + (f" and {_off(wishes.outside, system)} outside" if wishes.outside else "")
        + f", at {system.show(wishes.speed, 'speed')}"
    )


def lead(bed: Bed, wind: Wind, system: System) -> str:
    """Say in what wind, and how deep the lake is."""
    words = "Wind calm"
    if wind.speed > 0.0:
        words = f"Wind {system.show(wind.speed, 'speed', 0)} from {point(wind.source)}"
    deepest = system.show(float(bed.surface[bed.wet].max()), "length")
    return f"{words}; deepest known bottom {deepest}"


def told(
    passes: list[Pass], left_out: list[str], wishes: Wishes, place: Place, system: System
) -> dict[str, Any]:
    """Say in words all there is to say of passes, for a screen.

    Parameters
    ----------
    passes : list of Pass
        The passes.
    left_out : list of str
        What was left out, and why.
    wishes : Wishes
        What was asked.
    place : Place
        The lake's own metres.
    system : System
        Units of the words.

    Returns
    -------
    dict
        ``passes``: for each its head, why, verdict, risk, round and steps (how far along, when,
        what to do); and ``notes``.
    """
    return {
        "passes": [
            {
                "head": head(each, system),
                "why": why(each, system),
                "verdict": verdict(each.risk, wishes, system),
                "risk": risk_words(each, wishes, place, system, options=False),
                "round": round_words(each, wishes, system),
                "steps": [list(step) for step in _steps(each, system)],
            }
            for each in passes
        ],
        "notes": list(notes(passes, left_out, wishes, system)),
    }


def report(
    passes: list[Pass],
    left_out: list[str],
    heading: str,
    wishes: Wishes,
    place: Place,
    system: System,
) -> Iterator[RenderableType]:
    """Give the parts of the report, to be printed one after the other."""
    yield Text(heading, style="bold")
    yield _table(passes, wishes, system)
    for number, each in enumerate(passes, 1):
        yield Text(f"Pass {number}: {head(each, system)}", style="bold")
        yield Padding(Text(why(each, system)), INDENT)
        for far, clock, words in _steps(each, system):
            yield Text(f"  {far:>8} {clock:>6}  {words}")
        yield Padding(Text(round_words(each, wishes, system)), INDENT)
        safe = each.risk.safe(wishes.limit)
        yield Text(
            f"  {verdict(each.risk, wishes, system)}", style="bold green" if safe else "bold red"
        )
        yield Padding(Text(risk_words(each, wishes, place, system)), INDENT)
        yield Text("")
    for line in notes(passes, left_out, wishes, system):
        yield Text(line)
    yield Text("")
    for caution in (LOOKOUT, LINE, SNAG, RULES):
        yield Text(caution, style="dim")


def _table(passes: list[Pass], wishes: Wishes, system: System) -> Table:
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
    for number, each in enumerate(passes, 1):
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
            style="" if each.risk.safe(wishes.limit) else "red",
        )
    return table


def _span(low: float, high: float, system: System, places: int) -> str:
    if f"{system.convert(low, 'length'):.{places}f}" == (
        f"{system.convert(high, 'length'):.{places}f}"
    ):
        return system.show(low, "length", places)
    return system.range(low, high, "length", places)


def _off(value: float, system: System) -> str:
    return system.show(value, "length", 1 if abs(value) < SMALL else 0).replace(".0 ", " ")


def head(each: Pass, system: System) -> str:
    """Say how long it is and which way it goes."""
    minutes = each.trial.passage.time[-1] - each.trial.passage.time[0]
    return (
        f"{system.show(each.trial.way.line.length, 'length', 0)} of edge to the "
        f"{point(each.stretch.heading)} ({each.stretch.heading:.0f}°), {minutes / 60.0:.0f} min; "
        f"deep water to {each.stretch.deeper_side}"
    )


def why(each: Pass, system: System) -> str:
    """Say why it is run that way, and how well the lure keeps to it."""
    text = each.stretch.reason[0].upper() + each.stretch.reason[1:]
    low, high = each.heights
    text += (
        f". The lure stays within {system.show(each.trial.astray, 'length', 1)} of the line, "
        f"{system.range(low, high, 'length', 1)} off bottom where all goes as planned"
    )
    if each.cut:
        text += (
            f"; {system.show(each.cut, 'length', 0)} of edge was cut off where the boat could "
            "not go on"
        )
    return text


def _steps(each: Pass, system: System) -> list[tuple[str, str, str]]:
    rows = []
    before = None
    for mark in marks(each):
        words = mark_words(mark, system)
        if mark.kind == "line" and before is not None:
            verb = "let out to" if mark.out > before else "reel in to"
            words = f"{verb} {system.show(mark.out, 'length')}"
        before = mark.out
        minutes, seconds = divmod(round(mark.time), 60)
        rows.append((system.show(mark.far, "length", 0), f"{minutes}:{seconds:02d}", words))
    return rows


def round_words(each: Pass, wishes: Wishes, system: System) -> str:
    """Say how the boat comes round."""
    if each.link is None:
        return (
            "No way round was found that keeps the boat over water that is known and the lure off "
            "bottom: bring the lines in at the end, and let them out anew"
        )
    c = each.link.choice
    text = (
        f"Then {system.show(c.length, 'length', 0)} round to the next start: turn to {c.first}, "
        f"turns no tighter than {system.show(c.radius, 'length', 0)}, with "
        f"{system.show(c.turn_out, 'length', 0)} of line out"
    )
    if c.speed > wishes.speed * 1.001:
        text += f" at {system.show(c.speed, 'speed')}"
    if each.link_risk is not None:
        text += f" (hits bottom {each.link_risk.hit:.0%})"
    return text + (
        f". By the chart it keeps to water {system.show(AFLOAT, 'length', 0)} deep or more, "
        f"{system.show(ROOM, 'length', 0)} off land and shoal; look before you turn"
    )


def verdict(risk: Risk, wishes: Wishes, system: System) -> str:
    """Say whether the lure clears, and where it may not why, in one line."""
    if risk.safe(wishes.limit):
        return f"Lure clears (hits bottom {100.0 * risk.hit:.0f} %)"
    return f"Lure may hit bottom ({100.0 * risk.hit:.0f} %): {_because(risk, wishes, system)}"


def _because(risk: Risk, wishes: Wishes, system: System) -> str:
    """Say which doubt does it."""
    if risk.best <= 0.0:
        return "it does even where all goes as planned"
    if risk.hit <= wishes.limit:
        return (
            f"it does {system.show(wishes.steering, 'length', 0)} off the way and "
            f"{system.show(wishes.speed_error, 'speed')} too slow or too fast at once"
        )
    by = _off(risk.doubts[risk.because], system)
    return {
        "line": f"how deep this rig runs is known to {by} either way; calibrating it helps most",
        "bottom": f"the bottom there is known to {by} either way",
        "steering": (
            f"{system.show(wishes.steering, 'length', 0)} off the way changes its height by {by}"
        ),
        "speed": (
            f"{system.show(wishes.speed_error, 'speed')} off the speed changes its depth by {by}"
        ),
    }[risk.because]


def risk_words(
    each: Pass, wishes: Wishes, place: Place, system: System, *, options: bool = True
) -> str:
    """Say what the risk is, and where; and which `options` of the command lower it."""
    risk = each.risk
    lat, lon = place.to_globe(*(np.array([v]) for v in risk.worst))
    where = f"{float(lat[0]):.5f}, {float(lon[0]):.5f}"
    whole = (
        "clears the bottom by " + _off(risk.corners, system)
        if risk.corners > 0.0
        else "hits the bottom"
    )
    text = (
        f"Lure or line hits bottom with {risk.hit:.0%}; "
        f"{_least(risk, system)}. "
        f"{system.show(wishes.steering, 'length', 0)} off the way and "
        f"{system.show(wishes.speed_error, 'speed')} off the speed at once, it {whole}."
    )
    if risk.hit > 0.0:
        text += f" Likeliest {system.show(risk.worst_at, 'length', 0)} on, near {where}."
    short = risk.short_of(wishes.limit)
    if short > 0.0 and not wishes.lower_risk:
        by, out = (
            (f' (--risk "{wishes.limit:.0%}" finds it)', " (--outside)") if options else ("", "")
        )
        text += (
            f" It would clear about {_off(each.clearance + short, system)} off bottom{by}, or on a "
            f"line farther out over the deep{out}."
        )
    return text


def _least(risk: Risk, system: System) -> str:
    """Say how near the bottom it comes."""
    low, _, high = risk.least
    if high <= 0.0:
        return "it does nine times in ten"
    span = system.range(max(low, 0.0), high, "length", 1)
    return f"the nearest it comes is {span} (9 in 10)"


def notes(passes: list[Pass], left_out: list[str], wishes: Wishes, system: System) -> Iterator[str]:
    """Say what was done differently from what was asked."""
    for number, each in enumerate(passes, 1):
        if each.clearance > wishes.clearance + 1e-6:
            done = "to keep" if each.risk.safe(wishes.limit) else "and still does not keep"
            yield (
                f"Pass {number} was raised to {_off(each.clearance, system)} off bottom "
                f"{done} bottom hits to {wishes.limit:.0%}"
            )
    for line in left_out:
        yield f"Left out: {line}"
    yield (
        f"Risk: {passes[0].risk.draws} versions of line, bottom and helm; the boat is assumed "
        f"within {system.show(wishes.steering, 'length', 0)} of her way and "
        f"{system.show(wishes.speed_error, 'speed')} of her speed nine times in ten"
    )


def map_of(
    bed: Bed, passes: list[Pass], heading: str, system: System, *, only: int | None = None
) -> Figure:
    """Draw the passes on the lake's map: the edge the lure follows, and the boat's way.

    Parameters
    ----------
    bed : Bed
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


def page(
    bed: Bed,
    passes: list[Pass],
    left_out: list[str],
    heading: str,
    under: str,
    wishes: Wishes,
    system: System,
) -> bytes:
    """Set the page.

    Parameters
    ----------
    bed : Bed
        The lake.
    passes : list of Pass
        The passes.
    left_out : list of str
        What was left out, and why.
    heading, under : str
        Over the page, and below that.
    wishes : Wishes
        What was asked.
    system : System
        Units.

    Returns
    -------
    bytes
        A PDF.
    """
    from towscope.sheets.laminate import typeset

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
    data: dict[str, Any] = {
        "paper": "us-letter" if system.name == "us" else "a4",
        "title": heading,
        "lead": under,
        "map": whole,
        "map_width": width,
        "passes": [
            {
                "head": f"Pass {number}: {head(each, system)}",
                "why": why(each, system),
                "map": near[number - 1][0],
                "map_width": near[number - 1][1],
                "steps": [list(row) for row in _steps(each, system)],
                "round": round_words(each, wishes, system),
                "safe": each.risk.safe(wishes.limit),
                "verdict": verdict(each.risk, wishes, system),
                "risk": risk_words(each, wishes, bed.place, system),
            }
            for number, each in enumerate(passes, 1)
        ],
        "notes": list(notes(passes, left_out, wishes, system)),
        "cautions": list(ON_THE_WATER),
    }
    return typeset("passes.typ", data, system)


def _shows_lake(bed: Bed, each: Pass) -> bool:
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
