"""A spread's answer in the terminal."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from rich import box
from rich.console import Group, RenderableType
from rich.table import Table as Grid
from rich.text import Text

from towscope.sheets.cautions import LINE, LOOKOUT, SNAG
from towscope.tackle.counting import count

if TYPE_CHECKING:
    from towscope.spreads.advise import SpreadChange
    from towscope.spreads.answer import SpreadAnswer
    from towscope.spreads.judge import Fault, LinePair, RodFate
    from towscope.spreads.order import Order, OrderReason
    from towscope.spreads.plan import RodLine
    from towscope.spreads.tightest import Tightest
    from towscope.units import System

RODS = (
    "How many rods each of you may fish is a local rule, and how far a line may trail from the "
    "boat may be too: check them. Other boats see neither planer boards nor lines: leave them room."
)
TANGLE = 0.10  # [m]
SHORT = 6.0  # [m]; distances below this are shown to a tenth


def report(answer: SpreadAnswer, system: System) -> Iterator[RenderableType]:
    """Give the parts of the report, to be printed one after the other.

    Parameters
    ----------
    answer : SpreadAnswer
        The answer.
    system : System
        Units.
    """
    yield Text(_title(answer, system), style="bold")
    yield _headline(answer, system)
    yield Text("")
    yield _rods(answer, system)
    if answer.verdict.pairs:
        yield _pairs(answer, system)
    for line in _boards(answer, system):
        yield Text(line)
    yield Text("")
    for limit in answer.tightest:
        yield Text(_tightest(limit, system))
    if answer.changes or not answer.verdict.clear:
        yield Text("")
        yield Group(*_changes(answer, system))
    if len(answer.plan.rods) > 1:
        yield Text("")
        yield Group(*_order("To let out", answer.setting, answer, system))
        yield Group(*_order("To bring in", answer.fetching, answer, system))
    yield Text("")
    for caution in (RODS, LINE, SNAG, LOOKOUT):
        yield Text(caution, style="dim")


def length(value: float, system: System) -> str:
    """Write a distance: short ones to a tenth."""
    return system.show(value, "length", 1 if abs(value) < SHORT else None)


def _title(answer: SpreadAnswer, system: System) -> str:
    lines = len(answer.plan.rods)
    what = f"{lines} line{'s' if lines > 1 else ''} at {system.show(answer.plan.speed, 'speed')}"
    turn = answer.turn
    if turn is None:
        return f"{what}, a straight run"
    angle = math.degrees(abs(turn.through))
    return (
        f"{what}, a turn of {system.show(turn.radius, 'length')} to {turn.side} through "
        f"{angle:.0f}°"
    )


def _headline(answer: SpreadAnswer, system: System) -> RenderableType:
    verdict = answer.verdict
    chance = verdict.chance
    sure = ""
    if not math.isnan(chance):
        sure = f" ({round(chance * answer.draws)} of {answer.draws} what-if runs clear)"
    if verdict.word == "clear":
        return Text(f"No tangles{sure}", style="bold green")
    if verdict.word == "doubtful":
        return Text(f"No tangles by the best estimate only{sure}", style="bold yellow")
    parts: list[RenderableType] = [Text(f"Tangles{sure}", style="bold red")]
    parts += [Text(f"  {fault_words(fault, answer, system)}") for fault in verdict.faults]
    return Group(*parts)


def fault_words(fault: Fault, answer: SpreadAnswer, system: System) -> str:
    """Say one thing that goes wrong."""
    when = _when(fault.time, answer)
    if fault.kind == "tangle":
        return f"{fault.rods[0]} and {fault.rods[1]} tangle{when}"
    if fault.kind == "near":
        return (
            f"{fault.rods[0]} and {fault.rods[1]} come within {length(fault.amount, system)}"
            f"{when}; target {length(answer.plan.apart, system)}"
        )
    if fault.kind == "bottom":
        deep = (answer.bottom or 0.0) - fault.amount
        return (
            f"{fault.rods[0]} lies on the bottom: it would sink to {system.show(deep, 'length')}, "
            f"the bottom is at {system.show(answer.bottom or 0.0, 'length')}; first{when}"
        )
    if fault.kind == "sunk":
        return f"{fault.rods[0]}: the planer board is pulled under{when}"
    return (
        f"{fault.rods[0]}: the line carries {fault.amount * 100:.0f} % of its strength{when}; "
        "a drag slips before that"
    )


def _when(time: float, answer: SpreadAnswer) -> str:
    if answer.turn is None:
        return ""
    end = answer.turn.seconds(answer.plan.speed)
    if time <= 0.0:
        return " before the turn"
    if time <= end:
        return f" {time:.0f} s into the turn"
    return f" {time - end:.0f} s after the turn"


def _rods(answer: SpreadAnswer, system: System) -> Grid:
    """Draw the rods: figures bare, their unit in the head."""
    unit = system.label("length")
    turning, drawn = answer.turn is not None, answer.many is not None
    grid = Grid(box=box.SIMPLE_HEAD, pad_edge=False, collapse_padding=True)
    grid.add_column("rod", no_wrap=True)
    heads = [f"out, {unit}", f"runs, {unit}", *(["9 in 10"] if drawn and not turning else [])]
    if turning:
        heads += ["in the turn", *(["9 in 10"] if drawn else [])]
    if answer.bottom is not None:
        heads.append("off bottom")
    for head in [*heads, "pull", "of strength"]:
        grid.add_column(head, justify="right")
    for rod, fate in zip(answer.plan.rods, answer.verdict.rods, strict=True):
        row = [rod.name, _out(rod, system), _bare(system, fate.depth)]
        row += [_bare(system, *fate.depth_90)] if drawn and not turning else []
        if turning:
            row.append(_bare(system, fate.shallowest, fate.deepest))
            if drawn:
                row.append(_bare(system, fate.shallowest_90[0], fate.deepest_90[1]))
        if answer.bottom is not None:
            off = _bare(system, fate.clearance) if fate.clearance > 0.0 else "on it"
            if fate.hits_bottom > 0.0:
                off += f" ({fate.hits_bottom * 100:.0f} %)"
            row.append(off)
        row.append(system.show(fate.pull, "force"))
        row.append(f"{fate.share * 100:.0f} %" if fate.share > 0.0 else "")
        grid.add_row(*row)
    return grid


def _bare(system: System, *values: float) -> str:
    """Write distances without their unit, two as a span."""
    return "–".join(system.show(v, "length").split(" ")[0] for v in values)


def _out(rod: RodLine, system: System) -> str:
    text = _bare(system, rod.let_out)
    state = count(rod.tow, rod.let_out)
    if state.colors is not None and state.colors > 0.0 and state.after < 0.05:
        text += f" ({state.colors:.1f} col.)".replace(".0 ", " ")
    if rod.board is not None:
        text += f"+{_bare(system, rod.board.line)}"
    return text


def _pairs(answer: SpreadAnswer, system: System) -> Grid:
    grid = Grid(box=box.SIMPLE_HEAD, pad_edge=False, collapse_padding=True)
    drawn = answer.many is not None
    grid.add_column("lines", overflow="fold")
    grid.add_column("nearest", justify="right", no_wrap=True)
    if drawn:
        grid.add_column("9 in 10", justify="right", no_wrap=True)
        grid.add_column("too near", justify="right")
    grid.add_column("what, how deep, when")
    for pair in sorted(answer.verdict.pairs, key=lambda p: p.apart):
        row = [f"{pair.a}, {pair.b}", length(pair.apart, system)]
        if drawn:
            places = 1 if pair.apart_90[1] < SHORT else None
            row.append(system.range(*pair.apart_90, "length", places))
            row.append(f"{pair.too_near * 100:.0f} %")
        row.append(_what(pair, answer, system))
        grid.add_row(*row, style="red" if pair.apart < answer.plan.apart else "")
    return grid


def _what(pair: LinePair, answer: SpreadAnswer, system: System) -> str:
    parts = [pair.part_a] if pair.part_a == pair.part_b else [pair.part_a, pair.part_b]
    text = " and ".join(parts)
    deep = sorted({system.show(d, "length") for d in (pair.depth_a, pair.depth_b) if d > 0.15})
    if deep:
        text += f", {' and '.join(deep)} down"
    text += f",{_when(pair.time, answer)}" if answer.turn is not None else ""
    for begin, _, height in pair.crossings:
        over, under = (pair.a, pair.b) if height > 0.0 else (pair.b, pair.a)
        text += f"; {over} crosses {length(abs(height), system)} above {under}"
        text += _when(begin, answer)
    return text


def _boards(answer: SpreadAnswer, system: System) -> Iterator[str]:
    for fate in answer.verdict.rods:
        if math.isnan(fate.board_out):
            continue
        text = (
            f"{fate.name}: its planer board, {_kind(answer, fate.name)}, rides "
            f"{system.show(fate.board_out, 'length')} out and "
            f"{system.show(fate.board_aft, 'length')} behind the tip"
        )
        if answer.turn is not None:
            text += (
                f"; in the turn it goes {system.show(fate.board_slowest, 'speed')} to "
                f"{system.show(fate.board_fastest, 'speed')}"
            )
            text += _stall(fate, answer)
        yield text


def _kind(answer: SpreadAnswer, name: str) -> str:
    board = answer.plan.rods[answer.plan.index(name)].board
    return board.kind if board is not None else ""


def _stall(fate: RodFate, answer: SpreadAnswer) -> str:
    if fate.board_stalls is None:
        return ""
    begin, end = fate.board_stalls
    return f", and stalls from {begin:.0f} s to {end:.0f} s: its line goes slack"


def _tightest(limit: Tightest, system: System) -> str:
    side = limit.turn.side
    what = {
        "tangle": "{} and {} tangle",
        "near": "{} and {} come too near",
        "bottom": "{} lies on the bottom",
        "sunk": "the planer board of {} goes under",
        "pull": "{} is pulled too hard",
    }.get(limit.limit, "").format(*limit.rods)
    if limit.radius is None:
        return f"No clean turn to {side} was found, however wide: {what}"
    radius = system.show(limit.radius, "length")
    if limit.open_ended:
        text = f"Any turn to {side} down to {radius} of radius gets through"
    else:
        text = f"Tightest clean turn to {side}: {radius} radius; any tighter and {what}"
    if limit.draws == 1:
        return text
    if limit.sure_radius is not None and limit.sure_radius > limit.radius * 1.01:
        text += f". To be sure, 9 times in 10: {system.show(limit.sure_radius, 'length')}"
    elif limit.sure_radius is None:
        text += ". None wider that was tried is sure, 9 times in 10"
    return text


def _changes(answer: SpreadAnswer, system: System) -> Iterator[Text]:
    if not answer.changes:
        yield Text(
            "No single change that was tried gets it through: fewer lines, shorter lines, or a "
            "straight course"
        )
        return
    yield Text("What gets it through, each simulated:", style="bold")
    for change in answer.changes:
        yield Text(f"  - {change_words(change, system)}")


def change_words(change: SpreadChange, system: System) -> str:
    """Say one change and what comes of it."""
    before, after = (system.show(v, "length") for v in (change.before, change.after))
    rods = change.rods
    if change.kind == "wider":
        text = f"turn on {after} instead of {before}, where there is water for it"
    elif change.kind == "other-way":
        assert change.turn is not None
        text = f"turn to {change.turn.side}, where the water there is clear"
    elif change.kind == "let-out":
        text = f"{rods[0]}: {after} of line out instead of {before}"
    elif change.kind == "all-let-outs":
        text = f"every line {round((1.0 - change.after) * 100):.0f} % shorter"
    elif change.kind == "board-line":
        text = f"{rods[0]}: planer board on {after} of line instead of {before}"
    elif change.kind == "exchange":
        text = f"swap what {rods[0]} and {rods[1]} tow"
    elif change.kind == "fetch":
        text = f"bring {' and '.join(rods)} in first"
    else:
        speeds = [system.show(v, "speed") for v in (change.before, change.after)]
        text = f"go {speeds[1]} instead of {speeds[0]}"
    moved = [
        f"{name} {system.show(now, 'length')}"
        for name, was, now in change.depths
        if system.show(was, "length") != system.show(now, "length")
    ]
    if moved:
        text += f"; then runs: {', '.join(moved)}"
    chance = change.verdict.chance
    if not math.isnan(chance):
        text += f" ({chance * 100:.0f} % of what-if runs clear)"
    return text


def _order(name: str, order: Order, answer: SpreadAnswer, system: System) -> Iterator[Text]:
    minutes = order.seconds / 60.0
    head = Text(f"{name}, about {minutes:.0f} min: ", style="bold")
    head.append(", ".join(order.names), style="not bold")
    yield head
    for rod, reason in zip(order.names, order.reasons, strict=True):
        text = reason_words(reason, fetch=name == "To bring in", system=system)
        if text:
            yield Text(f"  {rod}: {text}")
    for moved, out, near in order.clashes:
        close = f"comes within {length(near, system)} of" if near > TANGLE else "tangles with"
        yield Text(
            f"  watch {moved}: on its way it {close} {out}, which is out, and no order avoids "
            "that; hold one of them aside, or move a rod",
            style="yellow",
        )


def reason_words(reason: OrderReason, *, fetch: bool, system: System) -> str:
    """Say why a rod stands where it does in an order; "" where there is nothing to say."""
    amount = length(reason.amount, system)
    if reason.kind == "must":
        verb = "brought in" if fetch else "let out"
        near = f"come within {amount}" if reason.amount > TANGLE else "tangle"
        return f"before {reason.other}, or the two {near} when it is {verb} after"
    return {
        "outermost": f"outermost of those left ({amount} out): nothing is then carried past it",
        "inside": "inside those left: nothing has to pass it",
        "longest": f"longest of those left ({amount}): the next goes down beside a deep line",
        "shortest": f"shortest of those left ({amount}): out of the way of the deep ones",
        "alike": "like the next: either first",
        "last": "",
    }[reason.kind]
