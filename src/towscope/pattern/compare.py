"""Rates standardised over all effort: which lure, size, colour or depth catches best.

Rates are made fair before they are compared: each level is put in the place of every other, in
all the effort there was, so that a lure that fished only the good hour is not praised for it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from towscope.arrays import Array, Integers
from towscope.effort.stint import Stint
from towscope.errors import ArgumentError
from towscope.pattern.binning import FACTORS, US_GRAIN, Cells, Grain, fold
from towscope.pattern.fit import RatePosterior
from towscope.pattern.model import LURE_TERMS, Model, Priors, build, fit, lure_now
from towscope.pattern.rates import Rate, rate
from towscope.towing.jit import kernel

FAIR_FISH = 6  # below this many fish the comparisons are mostly what was assumed
SURE = 0.90


@dataclass(frozen=True)
class Level:
    """One lure, size, colour, depth ... and what it catches.

    Attributes
    ----------
    factor : str
        "lure", "size" ...
    key : str or int
        The name, or the number of its class.
    low_si, high_si : float or None
        The class in SI; None for names.
    raw : Rate
        What was caught in what time, and the exact interval of that rate alone.
    per_hour, low, high : float
        Fair rate [fish per rod-hour] (posterior median) and its 90 % interval, other things equal.
    best : float
        Probability that no other level is better.
    """

    factor: str
    key: str | int
    low_si: float | None
    high_si: float | None
    raw: Rate
    per_hour: float
    low: float
    high: float
    best: float


@dataclass(frozen=True)
class Pair:
    """How one level stands against another.

    Attributes
    ----------
    factor : str
        "lure", "size" ...
    better, worse : int
        Their places in the factor's list of levels.
    probability : float
        That the first out-fishes the second, 0.5 to 1.
    low, ratio, high : float
        How many times as well it catches: 90 % interval and median.
    """

    factor: str
    better: int
    worse: int
    probability: float
    low: float
    ratio: float
    high: float


@dataclass(frozen=True)
class CustomSeen:
    """A rule of thumb and what the fish made of it."""

    name: str
    text: str
    believed: float
    probability: float


@dataclass(frozen=True)
class Pattern:
    """What works, as far as the journal knows.

    Attributes
    ----------
    levels : dict of str to list of Level
        By factor, best first (numbers in their order).
    pairs : dict of str to list of Pair
        By factor, the surest first.
    customs : list of CustomSeen
        Rules of thumb that the effort bears on.
    total : Rate
        All catches over all hours.
    days : int
        Days pooled.
    clump, clump_low, clump_high : float
        Variance over mean, less one: 0 where fish come one by one; 90 % interval.
    silent : dict of str to str
        Factors that cannot be judged, and why ("one", "none", or "same:" and another factor).
    effective : float
        Independent draws behind the answer.
    """

    levels: dict[str, list[Level]]
    pairs: dict[str, list[Pair]]
    customs: list[CustomSeen]
    total: Rate
    days: int
    clump: float
    clump_low: float
    clump_high: float
    silent: dict[str, str]
    effective: float


def pattern(
    stints: Iterable[Stint],
    by: Sequence[str] = ("lure", "size", "colour", "depth"),
    *,
    grain: Grain = US_GRAIN,
    species: str | None = None,
    priors: Priors | None = None,
    draws: int = 2000,
    points: int | None = None,
    tries: int | None = None,
    seed: int = 1,
) -> Pattern:
    """Say what works.

    Parameters
    ----------
    stints : iterable of Stint
        The effort and its catch.
    by : sequence of str
        Factors to report; all others that vary are allowed for as well.
    grain : Grain
        How finely numbers are told apart.
    species : str, optional
        Count only this fish.
    priors : Priors, optional
        What to assume.
    draws, points, tries, seed
        See `towscope.pattern.fit.fit`.

    Returns
    -------
    Pattern
        Rates, comparisons, and what cannot be known.

    Raises
    ------
    InputError
        Where a factor is unknown or there is no effort.

    Examples
    --------
    Is the small one really better, or was that luck? Six rod-hours each, 9 fish against 3:

    >>> from dataclasses import replace
    >>> one = Stint("port", "", "small", "", 0.05, "", None, None, None, 0.0, 21600.0, 6.0, 9, 0,
    ...             None, None, None, None, "2026-08-10", 9.0)
    >>> other = replace(one, rod="starboard", lure="large", size_m=0.1, catches=3)
    >>> pair = pattern([one, other], by=["lure"]).pairs["lure"][0]
    >>> 0.75 < pair.probability < 0.95  # the counts alone say 0.96: lures differ less than luck
    True
    """
    for name in by:
        if name not in FACTORS:
            raise ArgumentError("by", f' "{name}": expected one of {", ".join(FACTORS)}')
    ignore = [n for n in ("place", "rod") if n not in by]
    cells = fold(stints, grain=grain, species=species, ignore=ignore)
    model = build(cells, priors, extra=tuple(by))
    posterior = fit(model, draws=draws, points=points, tries=tries, seed=seed)
    levels: dict[str, list[Level]] = {}
    pairs: dict[str, list[Pair]] = {}
    silent: dict[str, str] = {}
    for name in by:
        why = _silent(cells, name, by)
        if why:
            silent[name] = why
        if why == "none":
            continue
        levels[name], own = _levels(model, posterior, name)
        pairs[name] = _pairs(name, levels[name], own)
    total_hours = float(cells.hours.sum())
    clump = posterior.scales.get("clump", np.zeros(1))
    return Pattern(
        levels,
        pairs,
        _customs(model, posterior),
        rate(int(cells.y.sum()), total_hours),
        len(cells.days),
        float(np.median(clump)),
        float(np.quantile(clump, 0.05)),
        float(np.quantile(clump, 0.95)),
        silent,
        posterior.effective,
    )


def _silent(cells: Cells, name: str, by: Sequence[str]) -> str:
    code = cells.codes[name]
    seen = _kinds(code + 1, len(cells.factors[name].keys) + 1)[1:]
    if not seen.any():
        return "none"
    if seen.sum() == 1:
        return "one"
    for other in by:
        if other in (name, "lure") or name == "lure":
            continue
        # both noted, each level of one with one level of the other only
        width = len(cells.factors[other].keys) + 1
        table = _kinds((code + 1) * width + cells.codes[other] + 1, (len(seen) + 1) * width)
        table = table.reshape(-1, width)[1:, 1:]
        rows, columns = table.sum(axis=1), table.sum(axis=0)
        if rows.max() == 1 and columns.max() == 1 and rows.sum() > 1:
            return f"same:{other}"
    return ""


def _kinds(code: Integers, size: int) -> NDArray[np.bool_]:
    """Say which codes occur (size,)."""
    return np.asarray(np.bincount(code, minlength=size) > 0)


def _levels(model: Model, posterior: RatePosterior, name: str) -> tuple[list[Level], Array]:
    cells = model.cells
    factor = cells.factors[name]
    code = cells.codes[name]
    known = code >= 0
    size = len(factor.keys)
    catches = np.bincount(code[known], weights=cells.y[known], minlength=size)
    hours = np.bincount(code[known], weights=cells.hours[known], minlength=size)
    fished = np.flatnonzero(hours > 0)
    draws = len(posterior.effects)
    if name == "lure":
        last = cells.last
        lures = [cells.lures[str(factor.keys[i])] for i in fished]
        own = lure_now(
            model, posterior, lures,
            light=last.light if last else None, temp_c=last.surface_temp_c if last else None,
        )  # fmt: skip
        terms = [*LURE_TERMS, "luck", "mood", *(c.name for c in model.priors.customs)]
    else:
        own = posterior.effect(name)[:, fished] if model.design.has(name) else np.zeros((draws, 1))
        terms = [name]
    rest = _rest(model, posterior, terms)
    rates = rest[:, None] * np.exp(own)
    low, middle, high = np.quantile(rates, (0.05, 0.5, 0.95), axis=0)
    best = np.bincount(np.argmax(own, axis=1), minlength=len(fished)) / draws
    order = range(len(fished)) if factor.middles is not None else np.argsort(-middle)
    found = []
    for j in order:
        i = int(fished[j])
        lo = hi = None
        if factor.middles is not None:
            lo = float(factor.middles[i] - 0.5 * factor.width)
            hi = lo + factor.width
        key = factor.keys[i]
        found.append(
            Level(
                name,
                key if isinstance(key, int) else str(key),
                lo,
                hi,
                rate(int(catches[i]), float(hours[i])),
                float(middle[j]),
                float(low[j]),
                float(high[j]),
                float(best[j]),
            )
        )
    return found, own[:, list(order)]


def _pairs(name: str, levels: Sequence[Level], own: Array) -> list[Pair]:
    """Compare all with all, or the best with all where that would be too many."""
    found = []
    n = len(levels)
    best = int(np.argmax([x.per_hour for x in levels]))
    for a in range(n):
        for b in range(a + 1, n):
            if n > 12 and best not in (a, b):
                continue
            log = own[:, a] - own[:, b]
            p = float(np.mean(log > 0.0))
            better, worse = (a, b) if p >= 0.5 else (b, a)
            if p < 0.5:
                log, p = -log, 1.0 - p
            low, middle, high = np.exp(np.quantile(log, (0.05, 0.5, 0.95)))
            found.append(Pair(name, better, worse, p, float(low), float(middle), float(high)))
    return sorted(found, key=lambda x: -x.probability)


@kernel
def _mean_rest(
    idx: Integers, val: Array, amount: Array, day: Integers, effects: Array, days: Array, on: Array
) -> Array:
    """Average the catch rate over all effort with some effects taken out (draws,)."""
    draws = effects.shape[0]
    out = np.zeros(draws)
    for n in range(draws):
        for i in range(idx.shape[0]):
            eta = days[n, day[i]]
            for k in range(idx.shape[1]):
                c = idx[i, k]
                eta += val[i, k] * effects[n, c] * on[c]
            out[n] += amount[i] * math.exp(eta)
    return out


def _rest(model: Model, posterior: RatePosterior, terms: Sequence[str]) -> Array:
    design = model.design
    on = np.ones(posterior.effects.shape[1])
    for name in terms:
        if design.has(name):
            on[design.columns(name)] = 0.0
    amount = design.hours * design.weight
    draws = len(posterior.effects)
    # a season has cells enough that a share of the draws fixes the average; the rest repeat it
    some = max(min(draws, int(2e7 / (len(amount) * design.idx.shape[1]))), 16)
    average = _mean_rest(
        design.idx, design.val, amount / amount.sum(), design.day,
        np.ascontiguousarray(posterior.effects[:some]),
        np.ascontiguousarray(posterior.day_effects[:some]), on,
    )  # fmt: skip
    if some >= draws:
        return average
    # draws beyond those computed: by what the average has to do with the effects' own mean
    x = np.bincount(
        design.idx.ravel(), weights=(design.val * amount[:, None]).ravel(), minlength=len(on)
    )
    linear = posterior.effects @ (on * x / amount.sum())
    if posterior.day_effects.shape[1]:
        share = np.bincount(design.day, weights=amount, minlength=posterior.day_effects.shape[1])
        linear = linear + posterior.day_effects @ (share / amount.sum())
    shift = float(np.mean(np.log(average) - linear[:some]))
    return np.asarray(np.exp(linear + shift))


def _customs(model: Model, posterior: RatePosterior) -> list[CustomSeen]:
    found = []
    for custom in model.priors.customs:
        if model.design.has(custom.name):
            effect = posterior.effect(custom.name)[:, 0]
            believed = 0.5 * math.erfc(-custom.mean / custom.sd / math.sqrt(2.0))
            found.append(
                CustomSeen(custom.name, custom.text, believed, float(np.mean(effect > 0.0)))
            )
    return found
