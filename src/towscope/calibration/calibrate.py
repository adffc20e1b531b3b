"""All readings, the saved and the new, weighed together, saved, or taken out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from towscope import clock
from towscope.calibration import store
from towscope.calibration.findings import Findings, findings
from towscope.calibration.model import Customs, Evidence
from towscope.calibration.next_reading import DEEPEST
from towscope.calibration.posterior import Posterior, infer
from towscope.calibration.readings import Reading
from towscope.errors import ArgumentError, InputError, one_line
from towscope.journal.times import local_zone
from towscope.progress import Progress, unheard
from towscope.tackle.shelf import Shelf
from towscope.towing.tow import Tow

Key = tuple[str, str]
"""Told the share done (0 to 1) and what is done now."""


@dataclass(frozen=True)
class WeighedReadings:
    """What the readings come to.

    Attributes
    ----------
    posterior : Posterior
        What is now believed.
    tows : dict
        Rig and lure to tow, as stated.
    found : Findings
        What it comes to for the asked rig.
    notes : list of str
        What else is to be known.
    """

    posterior: Posterior
    tows: dict[Key, Tow]
    found: Findings
    notes: list[str]

    def keep(self) -> Path:
        """Keep it in place of what was kept: every later answer uses it."""
        return store.save(self.posterior, self.tows, _now())


def tows_of(shelf: Shelf) -> Callable[[str, str], Tow]:
    """Give what makes the tow of a rig with a lure ("" for its own), each made once."""
    tows: dict[Key, Tow] = {}

    def tow_of(rig: str, lure: str) -> Tow:
        if (rig, lure) not in tows:
            tows[rig, lure] = shelf.changed(rig, lure=lure).tow(rig)
        return tows[rig, lure]

    return tow_of


def weigh(
    rig: str,
    readings: list[Reading],
    shelf: Shelf,
    *,
    deepest: float = DEEPEST,
    progress: Progress = unheard,
) -> WeighedReadings:
    """Weigh readings, and say what they come to for one rig.

    Parameters
    ----------
    rig : str
        The rig asked about.
    readings : list of Reading
        All readings, of whatever rig.
    shelf : Shelf
        The tackle.
    deepest : float
        Deepest bottom that the crew can take a reading over next [m].
    progress : callable, optional
        Told how far it is; may raise to stop.

    Raises
    ------
    InputError
        Where no reading is of tackle that is aboard.
    """
    every, notes = known(readings, shelf)
    progress(0.1, f"weighing {len(every):,} {'reading' if len(every) == 1 else 'readings'}")
    posterior, tows = _infer(every, shelf)
    lure = shelf.rig(rig).lure
    tows.setdefault((rig, lure), shelf.tow(rig))
    progress(0.5, "before and after, and where to take a reading next")
    found = findings(posterior, rig, lure, tows[rig, lure], deepest=deepest)
    kept = store.load()
    if kept is not None:
        changed = store.stale(tows[rig, lure], lure, kept)
        notes += [f"{name} is stated otherwise than when it was calibrated" for name in changed]
    return WeighedReadings(posterior, tows, found, notes)


def known(readings: list[Reading], shelf: Shelf) -> tuple[list[Reading], list[str]]:
    """Leave out readings of tackle that is no longer aboard, and say so."""
    good = [m for m in readings if m.rig in shelf.rigs and m.lure in shelf.lures]
    gone = sorted({m.rig for m in readings} - {m.rig for m in good})
    if not good:
        raise InputError(f"no such rig in your tackle for these readings: {', '.join(gone)}")
    lost = len(readings) - len(good)
    return good, [f"{lost} readings of rigs not in your tackle are left out"] if lost else []


def later(readings: list[Reading], rig: str, since: str) -> list[Reading]:
    """Leave out a rig's readings before a date, ISO 8601."""
    try:
        first = date.fromisoformat(since).isoformat()
    except ValueError:
        raise ArgumentError(
            "since", f' "{one_line(since, 30)}": expected such as 2026-08-20'
        ) from None
    return [m for m in readings if m.rig != rig or not m.day or m.day >= first]


def any_of(readings: list[Reading], rig: str, shelf: Shelf) -> bool:
    """Tell whether any reading is of a rig, its lure or one of its lines."""
    own = shelf.rig(rig)
    lines = {piece.line for piece in own.line}
    return any(
        m.rig == rig
        or m.lure == own.lure
        or (m.rig in shelf.rigs and lines & {p.line for p in shelf.rig(m.rig).line})
        for m in readings
    )


def forget(
    rig: str, shelf: Shelf, gone: Callable[[Reading], bool] = lambda _: True
) -> tuple[int, int]:
    """Take a rig's readings out of what is kept, and work out the rest anew.

    Parameters
    ----------
    rig : str
        The rig.
    shelf : Shelf
        The tackle.
    gone : callable
        Which of its readings; all where it is left out.

    Returns
    -------
    tuple of int
        How many went, and how many are left.

    Raises
    ------
    InputError
        Where there is none to forget.
    """
    old = store.readings_of(store.load())
    left = [m for m in old if m.rig != rig or not gone(m)]
    if len(left) == len(old):
        raise InputError(f"no readings of {rig} are saved; nothing to forget")
    if left:
        stay, _ = known(left, shelf)
        posterior, tows = _infer(stay, shelf)
        store.save(posterior, tows, _now())
    else:
        store.forget_all()
    return len(old) - len(left), len(left)


def _infer(readings: list[Reading], shelf: Shelf) -> tuple[Posterior, dict[Key, Tow]]:
    tow_of = tows_of(shelf)
    tows = {(m.rig, m.lure): tow_of(m.rig, m.lure) for m in readings}
    return infer(Evidence(readings, tows, Customs())), tows


def _now() -> str:
    return clock.now(local_zone()[0]).isoformat(timespec="seconds")
