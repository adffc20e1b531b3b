"""A spread as a picture: from above through the turn, from the side, each lure's depth in time."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

import numpy as np

from towscope.arrays import Array
from towscope.sheets.rodmarks import MARKERS, dash
from towscope.spreads import motion_kernels as mk
from towscope.spreads.judge import LEAD
from towscope.towing.gaps import gaps, point_at
from towscope.words import RodLook, looks, respell_figure

if TYPE_CHECKING:
    from towscope.spreads.answer import SpreadAnswer
    from towscope.units import System


BOAT, FAINT, ALARM = "#555555", "#bbbbbb", "#b00020"
SIZE, DPI = (11.0, 7.2), 120


def draw(answer: SpreadAnswer, system: System) -> bytes:
    """Draw the answer.

    Parameters
    ----------
    answer : SpreadAnswer
        The answer.
    system : System
        Units.

    Returns
    -------
    bytes
        A PNG.
    """
    import matplotlib as mpl
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    with mpl.rc_context({"font.size": 9.0, "axes.titlesize": 10.0, "axes.titlelocation": "left"}):
        figure = Figure(figsize=SIZE, dpi=DPI, layout="constrained")
        FigureCanvasAgg(figure)
        figure.suptitle(_title(answer, system), x=0.01, ha="left", fontsize=12.0, weight="bold")
        turning = answer.turn is not None
        grid = figure.add_gridspec(2, 2, width_ratios=(1.15, 1.0))
        _plan(figure.add_subplot(grid[:, 0]), answer, system)
        if turning:
            _side(figure.add_subplot(grid[0, 1]), answer, system)
            _depths(figure.add_subplot(grid[1, 1]), answer, system)
        else:
            _side(figure.add_subplot(grid[:, 1]), answer, system)
        out = io.BytesIO()
        respell_figure(figure, system.name)
        figure.savefig(out, format="png", metadata={"Software": "towscope"})
    return out.getvalue()


def _title(answer: SpreadAnswer, system: System) -> str:
    words = {
        "clear": "No tangles",
        "doubtful": "Tangles are possible",
        "fails": "Tangles",
    }[answer.verdict.word]
    if answer.turn is None:
        return f"{words}: straight, {system.show(answer.plan.speed, 'speed')}"
    return (
        f"{words}: {system.show(answer.turn.radius, 'length')} to {answer.turn.side}, "
        f"{system.show(answer.plan.speed, 'speed')}"
    )


def _looks(answer: SpreadAnswer) -> list[RodLook]:
    """Each rod's look, which goes with its name; told apart by dash, shape and name as well."""
    found = looks(rod.name for rod in answer.plan.rods)
    return [found[rod.name] for rod in answer.plan.rods]


def _style(look: RodLook) -> dict[str, Any]:
    return {"color": look.day, "linestyle": dash(look)}


def _lure_at(axes: Any, x: float, y: float, look: RodLook, size: float = 5.0) -> None:
    shape, larger = MARKERS[look.shape]
    axes.plot(x, y, shape, ms=size * larger, color=look.day)


def _unit(system: System, values: Any) -> Array:
    scale = system.convert(1.0, "length")
    return np.asarray(values, dtype=float) * scale


def _plan(axes: Any, answer: SpreadAnswer, system: System) -> None:
    best = answer.best

    def show(values: Any) -> Array:
        return _unit(system, values)

    path = show(best.path[:, :2])
    axes.plot(path[:, 0], path[:, 1], color=BOAT, lw=0.9)
    moments, nearest = _moments(answer)
    kinds = _looks(answer)
    for index, rod in enumerate(answer.plan.rods):
        look = kinds[index]
        style = _style(look)
        lures = show([best.track.shape(index, m)[0, :2] for m in range(0, len(best.time), 2)])
        axes.plot(lures[:, 0], lures[:, 1], lw=0.6, alpha=0.6, color=style["color"])
        for number, moment in enumerate(moments):
            shape = show(best.track.shape(index, moment)[:, :2])
            axes.plot(
                shape[:, 0], shape[:, 1], lw=1.6, label=rod.name if number == 0 else None, **style
            )
            _lure_at(axes, shape[0, 0], shape[0, 1], look)
            if rod.board is not None:
                axes.plot(*shape[-2], "s", ms=4.5, color=style["color"], mfc="white")
    for moment in moments:
        x, y, course = best.path[moment, :3]
        _boat(axes, show([x, y]), course, system)
    if nearest is not None:
        moment, ends = nearest
        ends = show(ends)
        worst = min(pair.apart for pair in answer.verdict.pairs)
        ink = ALARM if worst < answer.plan.apart else BOAT
        axes.plot(ends[:, 0], ends[:, 1], "-", color=ink, lw=1.0, zorder=5)
        _note(axes, ends.mean(axis=0), f"nearest: {system.show(worst, 'length', 1)}", ink)
    for index, moment in _on_bottom(answer):
        shape = best.track.shape(index, moment)
        place = show(shape[shape[:, 2].argmin(), :2])
        axes.plot(*place, "x", ms=7.0, mew=2.0, color=ALARM, zorder=6)
        _note(axes, place, "on the bottom", ALARM)
    axes.set_aspect("equal", adjustable="datalim")
    axes.set_title("From above" + (": before, in and after the turn" if answer.turn else ""))
    axes.set_xlabel(system.label("length"))
    axes.set_ylabel(f"{system.label('length')}, the boat sets out upward")
    axes.legend(loc="best", fontsize=8.0, framealpha=0.9)
    _tidy(axes)


def _moments(answer: SpreadAnswer) -> tuple[list[int], tuple[int, Array] | None]:
    """Moments to draw, and where the two nearest lines are nearest."""
    best, turn = answer.best, answer.turn
    pairs = answer.verdict.pairs
    nearest = None
    if pairs:
        worst = min(pairs, key=lambda pair: pair.apart)
        i, j = (answer.plan.index(name) for name in (worst.a, worst.b))
        near, _ = gaps(best.track.shapes, best.track.counts, np.array([[i, j]]), crossings=False)
        at = int(near[0, :, 0].argmin()) if turn is not None else 0
        ends = np.array(
            [
                point_at(best.track.shape(row, at), float(near[0, at, 1 + k]))[:2]
                for k, row in enumerate((i, j))
            ]
        )
        nearest = (at, ends)
    if turn is None:
        return [0], nearest
    end = LEAD + turn.seconds(answer.plan.speed)
    moments = [0, int(np.searchsorted(best.time, end)), len(best.time) - 1]
    if nearest is not None and nearest[0] > 0:
        moments[1] = nearest[0]
    return sorted({min(m, len(best.time) - 1) for m in moments}), nearest


def _on_bottom(answer: SpreadAnswer) -> list[tuple[int, int]]:
    """Rods that touch the bottom, and the first moment at which they do."""
    if answer.bottom is None:
        return []
    low = answer.best.track.figure(mk.DEEPEST)
    return [
        (index, int((low[index] > answer.bottom).argmax()))
        for index in range(len(answer.plan.rods))
        if low[index].max() > answer.bottom
    ]


def _note(axes: Any, at: Array, words: str, ink: str) -> None:
    axes.annotate(
        words,
        at,
        xytext=(12, 14),
        textcoords="offset points",
        color=ink,
        fontsize=8.5,
        arrowprops={"arrowstyle": "-", "color": ink, "lw": 0.7},
    )


def _boat(axes: Any, at: Array, course: float, system: System) -> None:
    hull = np.array([[-1.0, -2.5], [-1.0, 1.5], [0.0, 3.0], [1.0, 1.5], [1.0, -2.5], [-1.0, -2.5]])
    hull *= system.convert(1.0, "length")
    s, c = np.sin(course), np.cos(course)
    turned = hull @ np.array([[c, -s], [s, c]]) + at
    axes.fill(turned[:, 0], turned[:, 1], color=BOAT, zorder=4)


def _side(axes: Any, answer: SpreadAnswer, system: System) -> None:
    best, kinds = answer.best, _looks(answer)
    deepest = 0.0
    for index, rod in enumerate(answer.plan.rods):
        shape = best.track.shape(index, 0)
        behind = _unit(system, -shape[:, 1])
        height = _unit(system, shape[:, 2])
        axes.plot(behind, height, lw=1.5, label=rod.name, **_style(kinds[index]))
        _lure_at(axes, behind[0], height[0], kinds[index])
        deepest = max(deepest, float(-height.min()))
    axes.axhline(0.0, color="#4a90b8", lw=0.8)
    if answer.bottom is not None:
        floor = -float(_unit(system, answer.bottom))
        axes.axhline(floor, color="#6b5423", lw=1.2)
        axes.text(
            0.99,
            floor,
            "bottom",
            transform=axes.get_yaxis_transform(),
            ha="right",
            va="bottom",
            color="#6b5423",
            fontsize=8.0,
        )
        deepest = max(deepest, -floor)
    axes.set_ylim(-1.1 * deepest, 0.12 * deepest)
    axes.invert_xaxis()
    axes.yaxis.set_major_formatter(lambda value, _: f"{abs(value):g}")
    axes.set_title("From the side, in the straight run (depth not to scale)")
    axes.set_xlabel(f"{system.label('length')} behind the boat's middle")
    axes.set_ylabel(f"{system.label('length')} down")
    _tidy(axes)


def _depths(axes: Any, answer: SpreadAnswer, system: System) -> None:
    best, many, turn = answer.best, answer.many, answer.turn
    assert turn is not None
    kinds = _looks(answer)
    for index, rod in enumerate(answer.plan.rods):
        style = _style(kinds[index])
        depth = _unit(system, best.track.figure(mk.DEPTH)[index])
        axes.plot(best.time - LEAD, depth, lw=1.5, label=rod.name, **style)
        if many is not None:
            own = many.track.figure(mk.DEPTH)[many.spread.rows_of(index)]
            low, high = _unit(system, np.quantile(own, [0.05, 0.95], axis=0))
            axes.fill_between(many.time - LEAD, low, high, color=style["color"], alpha=0.13, lw=0)
    axes.axvspan(0.0, turn.seconds(answer.plan.speed), color=FAINT, alpha=0.35, lw=0)
    axes.text(
        0.5 * turn.seconds(answer.plan.speed),
        0.98,
        "turn",
        transform=axes.get_xaxis_transform(),
        ha="center",
        va="top",
        fontsize=8.0,
        color=BOAT,
    )
    if answer.bottom is not None:
        axes.axhline(float(_unit(system, answer.bottom)), color="#6b5423", lw=1.2)
    for index, moment in _on_bottom(answer):
        deep = float(_unit(system, best.track.figure(mk.DEEPEST)[index, moment]))
        axes.plot(best.time[moment] - LEAD, deep, "x", ms=7.0, mew=2.0, color=ALARM)
    axes.set_ylim(bottom=0.0)
    axes.invert_yaxis()
    band = ", with 9 in 10 what-if runs inside" if many is not None else ""
    axes.set_title(f"Depth of each lure{band}")
    axes.set_xlabel("seconds from the beginning of the turn")
    axes.set_ylabel(f"{system.label('length')} down")
    _tidy(axes)


def _tidy(axes: Any) -> None:
    axes.grid(color=FAINT, lw=0.4, alpha=0.7)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
