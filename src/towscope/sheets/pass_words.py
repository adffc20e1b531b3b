"""Planned passes in words: what to do where, how the lure runs, what may go wrong and why."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np
from typing_extensions import TypedDict

from towscope.compass import point
from towscope.passes.marks import mark_words, marks
from towscope.passes.safe_water import AFLOAT, ROOM

if TYPE_CHECKING:
    from towscope.geodesy import Place
    from towscope.passes.bottom_risk import BottomRisk
    from towscope.passes.passes import Pass, Wishes
    from towscope.passes.planning import PlannedPasses
    from towscope.units import System

SMALL = 20.0  # [m]; below it lengths are shown to a tenth


class PassWords(TypedDict):
    """A pass in words: head, why this way, safe or not, the risk, the way round, what to do when.

    Each of ``steps`` is how far along, when, and what to do.
    """

    head: str
    why: str
    verdict: str
    risk: str
    round: str
    steps: list[tuple[str, str, str]]


class PlanWords(TypedDict):
    """A plan in words of one system of units."""

    passes: list[PassWords]
    notes: list[str]


def title(plan: PlannedPasses, system: System) -> str:
    """Say what the passes are."""
    wishes = plan.ask.wishes
    return (
        f"{plan.lake}: {plan.rig} along the {system.show(plan.ask.depth, 'length')} edge, "
        f"{off(wishes.clearance, system)} off bottom"
        + (f" and {off(wishes.outside, system)} outside" if wishes.outside else "")
        + f", at {system.show(wishes.speed, 'speed')}"
    )


def lead(plan: PlannedPasses, system: System) -> str:
    """Say in what wind, and how deep the lake is."""
    wind, bed = plan.ask.wind, plan.bed
    words = "Wind calm"
    if wind.speed > 0.0:
        words = f"Wind {system.show(wind.speed, 'speed', 0)} from {point(wind.source)}"
    deepest = system.show(float(bed.surface[bed.wet].max()), "length")
    return f"{words}; deepest known bottom {deepest}"


def told(plan: PlannedPasses, system: System, *, options: bool = False) -> PlanWords:
    """Say in words all there is to say of passes; with the `options` of the command that help."""
    wishes = plan.ask.wishes
    return {
        "passes": [
            {
                "head": head(each, system),
                "why": why(each, system),
                "verdict": verdict(each.risk, wishes, system),
                "risk": risk_words(each, wishes, plan.bed.place, system, options=options),
                "round": round_words(each, wishes, system),
                "steps": steps(each, system),
            }
            for each in plan.passes
        ],
        "notes": list(notes(plan.passes, plan.left_out, wishes, system)),
    }


def off(value: float, system: System) -> str:
    """Show a height off bottom, or how far off: small ones to a tenth."""
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


def steps(each: Pass, system: System) -> list[tuple[str, str, str]]:
    """Give how far along, when, and what to do."""
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


def verdict(risk: BottomRisk, wishes: Wishes, system: System) -> str:
    """Say whether the lure clears, and where it may not why, in one line."""
    if risk.safe(wishes.limit):
        return f"Lure clears (hits bottom {100.0 * risk.hit:.0f} %)"
    return f"Lure may hit bottom ({100.0 * risk.hit:.0f} %): {_because(risk, wishes, system)}"


def _because(risk: BottomRisk, wishes: Wishes, system: System) -> str:
    """Say which doubt does it."""
    if risk.best <= 0.0:
        return "it does even where all goes as planned"
    if risk.hit <= wishes.limit:
        return (
            f"it does {system.show(wishes.steering, 'length', 0)} off the way and "
            f"{system.show(wishes.speed_error, 'speed')} too slow or too fast at once"
        )
    by = off(risk.doubts[risk.because], system)
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
        "clears the bottom by " + off(risk.corners, system)
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
            f" It would clear about {off(each.clearance + short, system)} off bottom{by}, or on a "
            f"line farther out over the deep{out}."
        )
    return text


def _least(risk: BottomRisk, system: System) -> str:
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
                f"Pass {number} was raised to {off(each.clearance, system)} off bottom "
                f"{done} bottom hits to {wishes.limit:.0%}"
            )
    for line in left_out:
        yield f"Left out: {line}"
    yield (
        f"Risk: {passes[0].risk.draws} versions of line, bottom and helm; the boat is assumed "
        f"within {system.show(wishes.steering, 'length', 0)} of her way and "
        f"{system.show(wishes.speed_error, 'speed')} of her speed nine times in ten"
    )
