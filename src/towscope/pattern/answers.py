"""Pattern and next-lure answers as figures in SI with their words, one form for all who ask."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from typing_extensions import TypedDict

from towscope.answer_forms import AnswerForms, frame
from towscope.errors import InputError
from towscope.pattern.model import Priors
from towscope.pattern.words import comparison, label, limits, rate_text

if TYPE_CHECKING:
    import pandas as pd

    from towscope.effort.stint import Stint
    from towscope.pattern.compare import Pattern
    from towscope.pattern.next import Aboard, Outlook
    from towscope.units import System

Interval = tuple[float, float]
HALF_LIFE_DAYS: Final = 365.0
AHEAD_S: Final = 1800.0


class LevelRate(TypedDict):
    """One lure, size, colour, depth ... and what it catches; rates in fish per rod-hour.

    ``raw_per_rod_hour`` is plain catch over hours, ``per_rod_hour`` what it is other things equal.
    """

    level: str
    low_si: float | None
    high_si: float | None
    catches: int
    rod_hours: float
    raw_per_rod_hour: float
    raw_interval_90: Interval
    per_rod_hour: float
    interval_90: Interval
    probability_best: float


class Comparison(TypedDict):
    """How one level stands against another, with the words for it."""

    by: str
    better: str
    worse: str
    probability: float
    ratio: float
    ratio_interval_90: Interval
    text: str


class Custom(TypedDict):
    """A rule of thumb, and how likely it holds here: before any fish, and now."""

    text: str
    probability_before: float
    probability: float


@dataclass(frozen=True, repr=False)
class PatternAnswer(AnswerForms):
    """What works, as far as the journal knows; rates in fish per rod-hour.

    Attributes
    ----------
    catches, rod_hours, days : int, float, int
        What was caught, in how much effort, on how many days.
    per_rod_hour, per_rod_hour_interval_90 : float, pair of float
        All catches over all hours, and the 90 % interval of that rate.
    clump, clump_interval_90 : float, pair of float
        Variance over mean, less one: 0 where fish come one by one.
    by : dict of str to list of LevelRate
        By what was compared: best first, numbers in their order.
    comparisons : list of Comparison
        One against another, the surest first for each.
    customs : list of Custom
        Rules of thumb that the effort bears on.
    cannot_know : list of str
        What can't be known from this, in words.
    """

    catches: int
    rod_hours: float
    days: int
    per_rod_hour: float
    per_rod_hour_interval_90: Interval
    clump: float
    clump_interval_90: Interval
    by: dict[str, list[LevelRate]]
    comparisons: list[Comparison]
    customs: list[Custom]
    cannot_know: list[str]

    def to_pandas(self) -> pd.DataFrame:
        """Give it to pandas, one row for each level; pandas must be installed."""
        return frame([{"by": name, **row} for name, rows in self.by.items() for row in rows])

    @property
    def head(self) -> str:
        """All in one line."""
        days = "1 day" if self.days == 1 else f"{self.days} days"
        low, high = (rate_text(v) for v in self.per_rod_hour_interval_90)
        return (
            f"{self.catches} fish in {self.rod_hours:.1f} rod-hours on {days}: "
            f"{rate_text(self.per_rod_hour)} per rod-hour, {low} to {high}"
        )

    def __repr__(self) -> str:
        sure = [each for each in self.comparisons if each["probability"] >= 0.75]
        return "\n  ".join([self.head, *(each["text"] for each in sure)])


class RodNext(TypedDict):
    """What one rod should run for the next half hour, and why; what it runs now ("" for none)."""

    rod: str
    lure: str | None
    running: str
    change: bool
    locked: bool
    reason: str
    per_rod_hour: float
    interval_90: Interval


class LureNext(TypedDict):
    """What one lure aboard is thought to be worth now [fish per rod-hour]."""

    lure: str
    per_rod_hour: float
    interval_90: Interval
    probability_best: float


class Look(TypedDict):
    """How a lure is to be entered when it goes on: its rig as last used, and what it looks like."""

    rig: str
    body: str
    size_m: float | None
    colour: str


@dataclass(frozen=True, repr=False)
class NextAnswer(AnswerForms):
    """What each rod should run for the next half hour.

    Attributes
    ----------
    rods, lures : list
        The rods, and what each lure aboard is thought to be worth.
    fish_expected : float
        Fish to expect in it on all rods.
    span_s : float
        How long that is [s].
    looks : dict of str to Look
        Lures aboard, as the journal knows them.
    """

    rods: list[RodNext]
    lures: list[LureNext]
    fish_expected: float
    span_s: float
    looks: dict[str, Look]

    def to_pandas(self) -> pd.DataFrame:
        """Give it to pandas, one row for each rod; pandas must be installed."""
        return frame(self.rods)

    def __repr__(self) -> str:
        wide = max(len(a["rod"]) for a in self.rods)
        lines = [
            f"{'change' if a['change'] else '  keep'}  {a['rod']:{wide}}  {a['lure'] or ''}: "
            f"{a['reason']}"
            for a in self.rods
        ]
        each = (
            f"{a['rod']} {rate_text(a['interval_90'][0])} to {rate_text(a['interval_90'][1])} "
            "an hour"
            for a in self.rods
        )
        lines.append(
            f"About {self.fish_expected:.1f} fish to expect in the half hour ({', '.join(each)})."
        )
        return "\n".join(lines)


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


def pattern_answer(found: Pattern, shown: System) -> PatternAnswer:
    """Give what works as everybody gets it.

    Parameters
    ----------
    found : Pattern
        What was found.
    shown : System
        Units of the words in it.
    """
    total = found.total
    return PatternAnswer(
        catches=total.catches,
        rod_hours=total.hours,
        days=found.days,
        per_rod_hour=total.per_hour,
        per_rod_hour_interval_90=(total.low, total.high),
        clump=found.clump,
        clump_interval_90=(found.clump_low, found.clump_high),
        by={
            name: [
                {
                    "level": label(x, shown),
                    "low_si": x.low_si,
                    "high_si": x.high_si,
                    "catches": x.raw.catches,
                    "rod_hours": x.raw.hours,
                    "raw_per_rod_hour": x.raw.per_hour,
                    "raw_interval_90": (x.raw.low, x.raw.high),
                    "per_rod_hour": x.per_hour,
                    "interval_90": (x.low, x.high),
                    "probability_best": x.best,
                }
                for x in levels
            ]
            for name, levels in found.levels.items()
        },
        comparisons=[
            {
                "by": p.factor,
                "better": label(found.levels[name][p.better], shown),
                "worse": label(found.levels[name][p.worse], shown),
                "probability": p.probability,
                "ratio": p.ratio,
                "ratio_interval_90": (p.low, p.high),
                "text": comparison(p, found.levels[name], shown),
            }
            for name, pairs in found.pairs.items()
            for p in pairs
        ],
        customs=[
            {
                "text": c.text,
                "probability_before": c.believed,
                "probability": c.probability,
            }
            for c in found.customs
        ],
        cannot_know=limits(found, shown),
    )


def next_answer(outlook: Outlook, aboard: Aboard, effort: Sequence[Stint]) -> NextAnswer:
    """Give what each rod should run next as everybody gets it."""
    running = {rod.name: rod for rod in aboard.rods}
    rigs = {s.lure: s.rig for s in effort}  # in order of time: the last stays
    return NextAnswer(
        rods=[
            {
                "rod": a.rod,
                "lure": a.lure or None,
                "running": running[a.rod].lure,
                "change": a.change,
                "locked": running[a.rod].locked,
                "reason": a.reason,
                "per_rod_hour": a.per_hour,
                "interval_90": (a.low, a.high),
            }
            for a in outlook.rods
        ],
        lures=[
            {
                "lure": name,
                "per_rod_hour": mean,
                "interval_90": (low, high),
                "probability_best": best,
            }
            for name, mean, low, high, best in outlook.lures
        ],
        fish_expected=outlook.fish,
        span_s=AHEAD_S,
        looks={
            x.name: {
                "rig": rigs.get(x.name, ""), "body": x.body, "size_m": x.size_m,
                "colour": x.colour,
            }
            for x in aboard.lures
        },
    )  # fmt: skip
