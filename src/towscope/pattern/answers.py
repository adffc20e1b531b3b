"""What works and what to run next, as figures in SI with their words: for files and screens."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

from towscope.errors import InputError
from towscope.pattern.model import Priors
from towscope.pattern.words import comparison, label, limits

if TYPE_CHECKING:
    from towscope.pattern.compare import Pattern
    from towscope.pattern.next import Outlook
    from towscope.units import System

HALF_LIFE_DAYS: Final = 365.0
AHEAD_S: Final = 1800.0


def priors_of(half_life_days: float = HALF_LIFE_DAYS, *, customs: bool = True) -> Priors:
    """Give what to assume: how fast days fade, with or without the trade's rules of thumb.

    Parameters
    ----------
    half_life_days : float
        A day this old counts half [days]; infinite for never.
    customs : bool
        Whether rules of thumb count as weak priors.

    Raises
    ------
    InputError
        Where days would fade within half a day.
    """
    if not (half_life_days == math.inf or 0.5 <= half_life_days < 1e6):
        raise InputError(
            f"a half-life of {half_life_days:g} days: expected half a day or more, or none"
        )
    base = Priors(half_life_days=half_life_days)
    return base if customs else replace(base, customs=())


def pattern_figures(found: Pattern, shown: System) -> dict[str, Any]:
    """Give what works as figures.

    Parameters
    ----------
    found : Pattern
        What was found.
    shown : System
        Units of the words in it.

    Returns
    -------
    dict
        Rates [fish per rod-hour] with their 90 % intervals, levels, comparisons, what can't be
        known.
    """
    total = found.total
    return {
        "catches": total.catches,
        "rod_hours": total.hours,
        "days": found.days,
        "per_rod_hour": total.per_hour,
        "per_rod_hour_interval_90": [total.low, total.high],
        "clump": found.clump,
        "clump_interval_90": [found.clump_low, found.clump_high],
        "by": {
            name: [
                {
                    "level": label(x, shown),
                    "low_si": x.low_si,
                    "high_si": x.high_si,
                    "catches": x.raw.catches,
                    "rod_hours": x.raw.hours,
                    "raw_per_rod_hour": x.raw.per_hour,
                    "raw_interval_90": [x.raw.low, x.raw.high],
                    "per_rod_hour": x.per_hour,
                    "interval_90": [x.low, x.high],
                    "probability_best": x.best,
                }
                for x in levels
            ]
            for name, levels in found.levels.items()
        },
        "comparisons": [
            {
                "by": p.factor,
                "better": label(found.levels[name][p.better], shown),
                "worse": label(found.levels[name][p.worse], shown),
                "probability": p.probability,
                "ratio": p.ratio,
                "ratio_interval_90": [p.low, p.high],
                "text": comparison(p, found.levels[name], shown),
            }
            for name, pairs in found.pairs.items()
            for p in pairs
        ],
        "customs": [
            {
                "text": c.text,
                "probability_before": c.believed,
                "probability": c.probability,
            }
            for c in found.customs
        ],
        "cannot_know": limits(found, shown),
    }


def outlook_figures(outlook: Outlook) -> dict[str, Any]:
    """Give what each rod should run next as figures, rates in fish per rod-hour."""
    return {
        "rods": [
            {
                "rod": a.rod,
                "lure": a.lure or None,
                "change": a.change,
                "reason": a.reason,
                "per_rod_hour": a.per_hour,
                "interval_90": [a.low, a.high],
            }
            for a in outlook.rods
        ],
        "lures": [
            {
                "lure": name,
                "per_rod_hour": mean,
                "interval_90": [low, high],
                "probability_best": best,
            }
            for name, mean, low, high, best in outlook.lures
        ],
        "fish_expected": outlook.fish,
        "span_s": AHEAD_S,
    }
