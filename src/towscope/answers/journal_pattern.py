"""Pattern and next lures asked of some effort, in text with units or in SI."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from towscope import arguments
from towscope.errors import ArgumentError, NoAnswer
from towscope.pattern.answers import (
    NextAnswer,
    PatternAnswer,
    next_answer,
    pattern_answer,
    priors_of,
)
from towscope.pattern.available import aboard_of
from towscope.pattern.binning import METRIC_GRAIN, US_GRAIN, Grain, factors_of
from towscope.pattern.files import read_aboard, read_stints
from towscope.units import shown_units
from towscope.words import feet

if TYPE_CHECKING:
    from towscope.effort.stint import Stint
    from towscope.journal.replay import StandingEntries

Text = str | float


def span_of(since: str | date, until: str | date) -> tuple[date | None, date | None]:
    """Read from which day to which, themselves included."""

    def one(given: str | date, name: str) -> date | None:
        if not given or isinstance(given, date):
            return given or None
        try:
            return date.fromisoformat(given)
        except ValueError:
            raise ArgumentError(name, f' "{given}": expected a date such as 2026-08-14') from None

    first, last = one(since, "since"), one(until, "until")
    if first and last and last < first:
        raise ArgumentError("until", f" {last} is before `since` {first}")
    return first, last


def stints_in(path: str | Path, since: str | date = "", until: str | date = "") -> list[Stint]:
    """Read effort from a CSV or JSON Lines file, of some days or all."""
    first, last = span_of(since, until)
    return [
        s
        for s in read_stints(Path(path))
        if (first is None or s.day >= first.isoformat())
        and (last is None or s.day <= last.isoformat())
    ]


def pattern_of(
    effort: Sequence[Stint],
    by: str | Sequence[str] = "lure,size,colour,depth",
    *,
    species: str = "",
    half_life: Text = "365 days",
    customs: bool = True,
) -> PatternAnswer:
    """Say what works in some effort: see `Journal.pattern`.

    Parameters
    ----------
    effort : sequence of Stint
        The effort.
    by : str or sequence of str
        What to compare.
    species : str
        Count only this fish.
    half_life : str or float
        A day this old counts half [s]; ``"none"`` for never.
    customs : bool
        Whether the trade's rules of thumb count as weak priors.
    """
    from towscope.pattern.compare import pattern

    names = factors_of(by)
    priors = priors_of(_days(half_life), customs=customs)
    if not any(s.hours > 0.0 or s.catches for s in effort):
        raise NoAnswer("no line was in the water in that time, so there is no pattern to show")
    found = pattern(effort, names, grain=_grain(), species=species or None, priors=priors)
    return pattern_answer(found, shown_units())


def next_of(
    effort: Sequence[Stint],
    *,
    aboard: str | Path | None = None,
    standing: StandingEntries | None = None,
    now_s: float | None = None,
    lock: Sequence[str] = (),
    left: Text = "3 h",
    light: str = "",
    water: Text | None = None,
    species: str = "",
    half_life: Text = "365 days",
    customs: bool = True,
) -> NextAnswer:
    """Say what each rod should run next, of some effort: see `Journal.next`.

    Parameters
    ----------
    effort : sequence of Stint
        The effort.
    aboard : path, optional
        Rods and lures (TOML with ``[aboard]``).
    standing : StandingEntries, optional
        The last day's entries as they stand.
    now_s : float, optional
        The present, unix time [s], while the fishing goes on.
    lock : sequence of str
        Rods to leave alone.
    left : str or float
        Time left to fish [s].
    light : str
        The sky now, if not as last noted.
    water : str or float, optional
        Surface temperature now [degC].
    species, half_life, customs
        As `pattern_of` takes them.
    """
    from towscope.pattern.next import suggest, with_lock

    hours = arguments.quantity(left, "time", "left") / 3600.0
    if not 0.0 < hours <= 48.0:
        raise ArgumentError("left", f' "{left}": expected over nothing and up to 48 h')
    temp = None if water is None else arguments.quantity(water, "temperature", "water")
    priors = priors_of(_days(half_life), customs=customs)
    given = read_aboard(Path(aboard)) if aboard is not None else None
    crew = given if given and given.rods and given.lures else aboard_of(effort, standing, given)
    crew = with_lock(crew, lock)
    outlook = suggest(
        effort, crew, hours_left=hours, now_s=now_s, light=light or None, temp_c=temp,
        grain=_grain(), species=species or None, priors=priors,
    )  # fmt: skip
    return next_answer(outlook, crew, effort)


def _days(half_life: Text) -> float:
    """Read a half-life, in days."""
    if isinstance(half_life, str):
        text = half_life.strip().lower()
        if text == "none":
            return math.inf
        bare = text.removesuffix("days").removesuffix("day").removesuffix("d").strip()
        if bare != text:
            try:
                days = float(bare)
            except ValueError:
                days = math.nan
        else:
            days = arguments.quantity(half_life, "time", "half_life") / 86_400.0
    else:
        days = half_life / 86_400.0
    if not (days == math.inf or 0.5 <= days < 1e6):
        raise ArgumentError(
            "half_life", f' "{half_life}": expected half a day or more ("60 days"), or none'
        )
    return days


def _grain() -> Grain:

    return US_GRAIN if feet() else METRIC_GRAIN
