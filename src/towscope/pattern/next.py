"""Draws of the next half hour's rates: what each rod should run, and why.

One lure changes at a time where rods are already fishing, so that the others stay a measure of
the bite; a locked rod is never touched; what is said is what the numbers did.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from towscope.arrays import Array
from towscope.effort.stint import Stint
from towscope.errors import ArgumentError, InputError, NoAnswer, one_line
from towscope.pattern.binning import DAY_S, HOUR_S, US_GRAIN, Grain, LureLook, fold
from towscope.pattern.model import Priors, build, fit, lure_now, surroundings
from towscope.pattern.value_of_information import LureChoice, choose

AHEAD_S = 0.25 * HOUR_S  # the middle of the next half hour


@dataclass(frozen=True)
class RodAboard:
    """A rod: what hangs on it, and whether the crew wants it left alone."""

    name: str
    lure: str = ""
    locked: bool = False


@dataclass(frozen=True)
class Aboard:
    """What there is to fish with.

    Attributes
    ----------
    rods : tuple of RodAboard
        The rods in use.
    lures : tuple of LureLook
        The lures aboard.
    copies : dict of str to int
        How many of a lure there are, where more than one.
    """

    rods: tuple[RodAboard, ...]
    lures: tuple[LureLook, ...]
    copies: dict[str, int]


@dataclass(frozen=True)
class RodAdvice:
    """What one rod should run.

    Attributes
    ----------
    rod, lure : str
        The rod and its lure for the next half hour.
    change : bool
        Whether that is a change.
    reason : str
        Why, in one sentence.
    per_hour, low, high : float
        What it can be expected to catch [fish per rod-hour], with a 90 % interval.
    """

    rod: str
    lure: str
    change: bool
    reason: str
    per_hour: float
    low: float
    high: float


@dataclass(frozen=True)
class Outlook:
    """The advice for all rods, and what each lure aboard is thought to be worth now.

    Attributes
    ----------
    rods : list of RodAdvice
        One for each rod.
    lures : list of tuple
        Name, expected rate, its 90 % interval [fish per rod-hour], probability of being the best.
    fish : float
        Fish to expect in the half hour on all rods.
    """

    rods: list[RodAdvice]
    lures: list[tuple[str, float, float, float, float]]
    fish: float


def rates_now(
    stints: Sequence[Stint],
    lures: Sequence[LureLook],
    *,
    now_s: float | None = None,
    light: str | None = None,
    temp_c: float | None = None,
    grain: Grain = US_GRAIN,
    species: str | None = None,
    priors: Priors | None = None,
    draws: int = 1500,
    points: int | None = None,
    tries: int | None = None,
    seed: int = 1,
) -> Array:
    """Draw what each lure will catch in the next half hour (draws, lures) [fish per rod-hour]."""
    known = [s for s in stints if s.hours > 0.0 or s.catches]
    if not known:
        # nothing fished yet: a second of fishing teaches nothing, and gives the prior a place
        at = now_s or 0.0
        first = lures[0]
        known = [
            Stint("", "", first.name, first.body, first.size_m, first.colour, None, None, None,
                  at - 1.0, at, 1e-6, 0, 0, None, None, light, temp_c, "", 0.0)
        ]  # fmt: skip
    last = max(known, key=lambda s: s.end_s)
    now = last.end_s if now_s is None else now_s
    cells = fold(
        known, grain=grain, species=species, now_s=now, aboard=lures, ignore=("place", "rod")
    )
    # what the sky and the water were when last noted today still holds
    today = now - last.end_s < 10 * HOUR_S
    sky = light if light is not None else last.light if today else None
    temp = temp_c if temp_c is not None else last.surface_temp_c if today else None
    model = build(cells, priors)
    posterior = fit(model, draws=draws, points=points, tries=tries, seed=seed)
    then = now + AHEAD_S
    lure = lure_now(model, posterior, lures, light=sky, temp_c=temp, at_s=then)
    hour = (last.hour + (then - 0.5 * (last.start_s + last.end_s)) / HOUR_S) % 24.0
    around = surroundings(
        model, posterior, light=sky, temp_c=temp, hour_h=hour if last.day else None, at_s=then
    )
    return np.asarray(np.exp(np.clip(lure + around[:, None], -20.0, 10.0)))


def suggest(
    stints: Sequence[Stint],
    aboard: Aboard,
    *,
    hours_left: float = 3.0,
    now_s: float | None = None,
    light: str | None = None,
    temp_c: float | None = None,
    grain: Grain = US_GRAIN,
    species: str | None = None,
    priors: Priors | None = None,
    draws: int = 1500,
    points: int | None = None,
    tries: int | None = None,
    seed: int = 1,
) -> Outlook:
    """Say what each rod should run for the next half hour.

    Parameters
    ----------
    stints : sequence of Stint
        All effort there is, of earlier days too.
    aboard : Aboard
        Rods and lures.
    hours_left : float
        Time left to fish [h]; learning pays only while there is some.
    now_s : float, optional
        The present, unix time [s]; the end of the last stint if not given.
    light : str, optional
        The sky; as last noted today if not given.
    temp_c : float, optional
        The surface temperature [degC]; likewise.
    grain, species, priors, draws, points, tries, seed
        As for `towscope.pattern.compare.pattern`.

    Returns
    -------
    Outlook
        Advice with reasons.

    Raises
    ------
    InputError
        Where rods or lures are missing, doubled or unknown.
    NoAnswer
        Where every rod is locked.
    """
    lures, running, copies = _check(aboard)
    locked = [rod.locked for rod in aboard.rods]
    if all(locked):
        raise NoAnswer("every rod is locked: nothing to suggest; unlock one with [aboard.rods]")
    rates = rates_now(
        stints, lures, now_s=now_s, light=light, temp_c=temp_c, grain=grain, species=species,
        priors=priors, draws=draws, points=points, tries=tries, seed=seed,
    )  # fmt: skip
    choice = choose(rates, running, locked, copies, hours_left=hours_left)
    low, high = np.quantile(rates, (0.05, 0.95), axis=0)
    seen = _seen(stints, species)
    advice = [
        RodAdvice(
            rod.name,
            lures[lure].name if lure >= 0 else "",
            rod_number in choice.changed,
            _reason(rod_number, aboard.rods, lures, running, choice, rates, seen),
            *((float(choice.mean[lure]), float(low[lure]), float(high[lure])) if lure >= 0
              else (0.0, 0.0, 0.0)),
        )
        for rod_number, (rod, lure) in enumerate(zip(aboard.rods, choice.lures, strict=True))
    ]  # fmt: skip
    best = np.bincount(np.argmax(rates, axis=1), minlength=len(lures)) / len(rates)
    table = [
        (lures[j].name, float(choice.mean[j]), float(low[j]), float(high[j]), float(best[j]))
        for j in np.argsort(-choice.mean)
    ]
    return Outlook(advice, table, 0.5 * sum(a.per_hour for a in advice))


def _check(aboard: Aboard) -> tuple[list[LureLook], list[int], Array]:
    if not aboard.rods:
        raise InputError("no rods: expected at least one, such as [aboard.rods.port]")
    if not aboard.lures:
        raise InputError("no lures: expected at least one under [aboard]")
    lures = list(aboard.lures)
    names = [x.name for x in lures]
    if len(set(names)) < len(names):
        twice = next(n for n in names if names.count(n) > 1)
        raise InputError(
            f'lure "{one_line(twice, 40)}" is listed twice; give it copies = 2 instead'
        )
    for rod in aboard.rods:  # what hangs on a rod is aboard
        if rod.lure and rod.lure not in names:
            names.append(rod.lure)
            lures.append(LureLook(rod.lure))
    running = [names.index(rod.lure) if rod.lure else -1 for rod in aboard.rods]
    copies = np.array([float(aboard.copies.get(n, 1)) for n in names])
    for j in range(len(names)):
        copies[j] = max(copies[j], float(running.count(j)))
    return lures, running, copies


Seen = dict[str, tuple[int, float, int, float]]


def _seen(stints: Sequence[Stint], species: str | None) -> Seen:
    """Count each lure's fish and hours: today's, then all."""
    if not stints:
        return {}
    today = max(s.end_s for s in stints)
    out: Seen = {}
    wanted = species.strip().lower() if species else None
    for s in stints:
        n = s.catches if wanted is None else sum(x.lower() == wanted for x in s.species)
        fresh = today - s.end_s < 0.75 * DAY_S
        a = out.get(s.lure, (0, 0.0, 0, 0.0))
        out[s.lure] = (
            a[0] + n * fresh, a[1] + s.hours * fresh, a[2] + n, a[3] + s.hours
        )  # fmt: skip
    return out


def _record(name: str, seen: Seen) -> str:
    n, h, all_n, all_h = seen.get(name, (0, 0.0, 0, 0.0))
    if all_h == 0.0:
        return "never fished"
    if h > 0.0:
        text = f"{n} fish in {h:.1f} rod-hours today"
        return text if all_h - h < 0.05 else f"{text}, {all_n} in {all_h:.0f} in all"
    return f"{all_n} fish in {all_h:.1f} rod-hours before today"


def _reason(
    number: int,
    rods: Sequence[RodAboard],
    lures: Sequence[LureLook],
    running: Sequence[int],
    choice: LureChoice,
    rates: Array,
    seen: Seen,
) -> str:
    new, old = choice.lures[number], running[number]
    if rods[number].locked:
        return "Locked: left alone."
    if new < 0:
        return "No lure is left for this rod."
    name = lures[new].name
    if old < 0:
        return f"Start with {name} ({_record(name, seen)}): the best use of an empty rod."
    best = float(np.mean(rates[:, new] >= rates.max(axis=1)))
    if new == old:
        moved = [rods[r].name for r in choice.changed if running[r] >= 0]
        if moved and choice.mean[new] < choice.mean.max():
            return (
                f"Leave {name} ({_record(name, seen)}) while {moved[0]} changes: one change at a "
                "time shows what the change did."
            )
        return (
            f"Leave {name} on ({_record(name, seen)}): nothing else you have is worth the change."
        )
    p = float(np.mean(rates[:, new] > rates[:, old]))
    pair = (
        f"{name} ({_record(name, seen)}) for {lures[old].name} ({_record(lures[old].name, seen)})"
    )
    if choice.mean[new] >= choice.mean[old] and p >= 0.6:
        return f"Change to {pair}: {p:.0%} likely to be the better one now."
    return (
        f"Try {pair}: it may be the best you have ({best:.0%}), and what it shows is worth "
        "the fish it may cost."
    )


def with_lock(aboard: Aboard, locked: Sequence[str]) -> Aboard:
    """Lock rods by name.

    Raises
    ------
    InputError
        Where there is no such rod.
    """
    names = [rod.name for rod in aboard.rods]
    for name in locked:
        if name not in names:
            raise ArgumentError(
                "lock", f' "{one_line(name, 40)}": no such rod; expected one of {", ".join(names)}'
            )
    return replace(
        aboard,
        rods=tuple(replace(r, locked=r.locked or r.name in locked) for r in aboard.rods),
    )
