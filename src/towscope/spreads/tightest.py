"""Bisection of the turn's radius: the tightest turn that a spread gets through."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from towscope.spreads.judge import Verdict, drawn, gets_through, judge
from towscope.spreads.plan import SpreadPlan, Turn

WIDEST, NARROWEST = 120.0, 5.0  # [m]
TRIED = 8
NEAR = 0.03  # how near the radius is found, as a share of it
WIDENINGS = 6


@dataclass(frozen=True)
class Tightest:
    """The tightest turn that gets through.

    Attributes
    ----------
    radius : float or None
        By the best estimate [m]; None where not even the widest tried does.
    sure_radius : float or None
        The same in nine draws of ten; None where that was not asked, or not found.
    limit : str
        What limits it: the kind of fault just below it; "" where nothing does.
    rods : tuple of str
        Whose fault that is.
    open_ended : bool
        Whether the tightest turn tried gets through.
    turn : Turn
        The turn, on that radius.
    draws : int
        Draws that were asked for; 1 for none.
    """

    radius: float | None
    sure_radius: float | None
    limit: str
    rods: tuple[str, ...]
    open_ended: bool
    turn: Turn
    draws: int = 1


def tightest(plan: SpreadPlan, turn: Turn, bottom: float | None = None, draws: int = 1) -> Tightest:
    """Find the tightest turn of a kind that a spread gets through.

    Radii are tried from the widest down; the first that fails is closed in on by halving. So every
    wider one that was tried gets through, which halving alone would not say.

    Parameters
    ----------
    plan : SpreadPlan
        The spread.
    turn : Turn
        Its side and angle count; its radius does not.
    bottom : float, optional
        Depth of the water [m].
    draws : int
        1 for the best estimate alone.

    Returns
    -------
    Tightest
        The answer.
    """
    good: float | None = None
    bad: float | None = None
    worst: Verdict | None = None
    for radius in np.geomspace(WIDEST, NARROWEST, TRIED):
        verdict = gets_through(plan, turn.at(float(radius)), bottom)
        if verdict.faults:
            bad, worst = float(radius), verdict
            break
        good = float(radius)
    if good is None or bad is None:
        first = worst.faults[0] if worst is not None else None
        sure = _sure(plan, turn, good, bottom, draws) if good is not None and draws > 1 else None
        return Tightest(
            good,
            sure,
            first.kind if first is not None else "",
            first.rods if first is not None else (),
            bad is None,
            turn.at(good or WIDEST),
            draws,
        )
    while good / bad > 1.0 + NEAR:
        middle = (good * bad) ** 0.5
        verdict = gets_through(plan, turn.at(middle), bottom)
        if verdict.faults:
            bad, worst = middle, verdict
        else:
            good = middle
    sure = _sure(plan, turn, good, bottom, draws) if draws > 1 else None
    assert worst is not None
    fault = worst.faults[0]
    return Tightest(good, sure, fault.kind, fault.rods, False, turn.at(good), draws)


def _sure(
    plan: SpreadPlan, turn: Turn, radius: float, bottom: float | None, draws: int
) -> float | None:
    """Look from the tightest up for a radius that nine draws of ten get through, and close in once.

    Draws cost as many times more: wider turns than the one found are not tried again with them.
    """

    def clear(at: float) -> bool:
        best, many = drawn(plan, turn.at(at), draws)
        return judge(best, many, bottom).clear

    below: float | None = None
    for at in np.geomspace(radius, max(WIDEST, radius), WIDENINGS):
        if clear(float(at)):
            if below is None:
                return float(at)
            middle = (below * float(at)) ** 0.5
            return middle if clear(middle) else float(at)
        below = float(at)
    return None
