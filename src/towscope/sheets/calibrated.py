"""A calibration's findings in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich import box
from rich.table import Table as Grid
from rich.text import Text

from towscope.calibration.findings import PULLED, WRONG, Findings, Weighed
from towscope.retold import retold

if TYPE_CHECKING:
    from rich.console import RenderableType

    from towscope.units import System

MOST = 6


def summary(
    found: Findings, system: System, new: int, notes: list[str], *, kept: bool
) -> list[RenderableType]:
    """Say what the readings of one rig came to.

    Parameters
    ----------
    found : Findings
        What was found.
    system : System
        Units.
    new : int
        How many readings are new.
    notes : list of str
        What else is to be known.
    kept : bool
        Whether it is kept.
    """
    lines: list[RenderableType] = []
    own = len(found.weighed)
    what = "a colour" if found.coded else "every 10 yd"
    head = f"{found.rig} with {found.lure}: {_count(own)}"
    if found.others:
        head += f", {found.others} more of other rigs"
    if new:
        head += f" ({new} read now)"
    lines.append(Text(head, style="bold"))
    before, after = found.per_color_before, found.per_color_after
    lines.append(
        Text(
            f"{_figure(after[1], system)} {what} at 2 mph "
            f"({_span(after, system)}, 9 times in 10); "
            f"before the readings {_figure(before[1], system)} ({_span(before, system)})"
        )
    )
    lines.append(_table(found, system))
    lines.append(Text(how_much(found, system)))
    lines += [Text(text) for text in _readings(found, system)]
    if found.change is not None:
        lines.append(Text(change_words(found, system), style="bold"))
    if found.misfit:
        lines.append(
            Text(
                "Many readings fit no line that is anything like this one: another lure, another "
                "line, a wrong rig's name, or wrong units?",
                style="bold",
            )
        )
    if found.open:
        lines.append(Text("What the readings can't show:"))
        lines += [Text(f"- {text}") for text in found.open]
    lines.append(Text(next_words(found, system)))
    lines += [Text(retold(note, system.name), style="dim") for note in notes]
    lines.append(
        Text(
            "Saved: letout, depth, speed, table, follow and spread now use it "
            f"(--uncalibrated leaves it out, `towscope calibrate {found.rig} --forget` undoes it)."
            if kept
            else "Nothing new is saved.",
            style="dim",
        )
    )
    return lines


def how_much(found: Findings, system: System) -> str:
    """Say by how much the answers have narrowed."""
    was = [0.5 * (s.before[2] - s.before[0]) for s in found.usual]
    now = [0.5 * (s.after[2] - s.after[0]) for s in found.usual]
    a, b = sum(was) / len(was), sum(now) / len(now)
    return (
        f"On average over these the depth was known to ±{system.show(a, 'length', 1)}, now to "
        f"±{system.show(b, 'length', 1)}, 9 times in 10, in still water or in a current you give."
    )


def next_words(found: Findings, system: System) -> str:
    """Say which reading would teach most next."""
    lesson = found.lesson
    if lesson is None:
        return "No reading within reach would teach more."
    return (
        f"What would teach most next: hit bottom at {system.show(lesson.depth, 'length')} with "
        f"{system.show(lesson.let_out, 'length')} out at {system.show(lesson.speed, 'speed')} "
        f"(±{system.show(lesson.half_width, 'length', 1)} would become "
        f"±{system.show(lesson.after, 'length', 1)})."
    )


def change_words(found: Findings, system: System) -> str:
    """Say since when the line seems to be another."""
    change = found.change
    assert change is not None
    way = "deeper" if change.deeper > 0 else "shallower"
    since = f"Since {change.since}" if change.since else f"From reading {change.index + 1} on"
    odds = min(change.odds, 1e6)
    again = f" --since {change.since}" if change.since else ""
    return (
        f"{since} it runs {system.show(abs(change.deeper), 'length', 1)} {way} than before (odds "
        f"{odds:,.0f} to 1 that something changed): stretched, cut, re-spooled, another lure? "
        f"If so, `towscope calibrate {found.rig} READINGS{again}` takes only what came after."
    )


def _count(n: int) -> str:
    return "1 reading" if n == 1 else f"{n} readings"


def _figure(value: float, system: System) -> str:
    return system.show(value, "length", 1 if system.name == "us" else 2)


def _span(three: tuple[float, float, float], system: System) -> str:
    return system.range(three[0], three[2], "length", 1 if system.name == "us" else 2)


def _table(found: Findings, system: System) -> Grid:
    unit = system.label("length")
    grid = Grid(box=box.SIMPLE_HEAD, caption=Text(f"depth in {unit}, and what holds it 9 in 10"))
    grid.caption_justify = "left"
    for title in ("line out", "speed", "ran, before", "", "runs, now", ""):
        grid.add_column(title, justify="right", no_wrap=True)

    def span(three: tuple[float, float, float]) -> str:
        low, high = (system.convert(three[i], "length") for i in (0, 2))
        return f"{low:.1f}–{high:.1f}"

    for s in found.usual:
        grid.add_row(
            system.show(s.let_out, "length"),
            system.show(s.speed, "speed"),
            f"{system.convert(s.before[1], 'length'):.1f}",
            span(s.before),
            f"{system.convert(s.after[1], 'length'):.1f}",
            span(s.after),
        )
    return grid


def words_of(each: Weighed, system: System) -> str:
    """Say one reading."""
    reading = each.reading
    what = "clear over" if reading.kind == "miss" else f"{reading.kind} at"
    where = f" ({reading.where})" if reading.where else ""
    return (
        f"{what} {system.show(reading.depth, 'length')} with "
        f"{system.show(reading.let_out, 'length')} "
        f"out at {system.show(reading.speed, 'speed')}{where}"
    )


def _sure(chance: float) -> str:
    return "over 99 in 100" if chance > 0.99 else f"{chance * 100:.0f} in 100"


def _readings(found: Findings, system: System) -> list[str]:
    said = []
    wrong = sorted((r for r in found.weighed if r.wrong > WRONG), key=lambda r: -r.wrong)
    pulled = sorted(
        (r for r in found.weighed if r.wrong <= WRONG and abs(r.pull) > PULLED),
        key=lambda r: -abs(r.pull),
    )
    if pulled:
        said.append("What pulled most, each by being there:")
        for r in pulled[:MOST]:
            way = "deeper" if r.pull > 0 else "shallower"
            said.append(f"- {words_of(r, system)}: {system.show(abs(r.pull), 'length', 1)} {way}")
    if wrong:
        said.append("What looks wrong, and hardly counts (weed, a fish, a stone, a slip):")
        said += [
            f"- {words_of(r, system)}: the lure should have run at "
            f"{system.show(r.depth, 'length')} (wrong by {_sure(r.wrong)})"
            for r in wrong[:MOST]
        ]
        if len(wrong) > MOST:
            said.append(f"- and {len(wrong) - MOST} more")
    return said
