"""A lake made of files of soundings: read, cleaned, solved for its bed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from towscope.bed.bed import LakeBed
from towscope.bed.bed import build as build_bed
from towscope.bed.cleaning import clean, doubts
from towscope.bed.reading import read
from towscope.bed.soundings import FileOptions, Log
from towscope.progress import Progress, details

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

MOST_DROPPED = 10_000  # rows that are kept by name
CLEANING = 0.1  # of the work of building a lake, when it begins


@dataclass(frozen=True)
class Cleaning:
    """How soundings are to be cleaned.

    Attributes
    ----------
    temperature : float or None
        Water temperature that the speed of sound is corrected for [degC].
    level : float
        Added to every depth for the water level [m].
    spikes, strays : bool
        Whether to look for them.
    """

    temperature: float | None = None
    level: float = 0.0
    spikes: bool = True
    strays: bool = True


def soundings(
    files: list[Path],
    how: FileOptions,
    progress: Progress,
    ask_unit: Callable[[str], str | None] | None = None,
) -> tuple[list[Log], bool]:
    """Read files of soundings; `ask_unit` is asked where the unit of a file's depths is unclear.

    Returns
    -------
    tuple
        The soundings, and whether their unit was known.
    """
    logs = []
    known = how.unit is not None
    for path in files:
        doing = f"reading {path.name}"
        progress(0.0, doing)
        detail = details(progress, 0.0, doing)
        log = read(path, how, detail)
        unclear = [n for n in log.notes if "--depth-unit" in n]
        if unclear and not known and ask_unit is not None and (unit := ask_unit(path.name)):
            how = replace(how, unit=unit)
            known, log = True, read(path, how, detail)
            unclear = []
        known = known or not unclear
        logs.append(log)
    return logs, known


def build(
    logs: list[Log],
    cleaning: Cleaning,
    progress: Progress,
    *,
    known: bool = True,
    shore: BaseGeometry | None = None,
    cell: float | None = None,
) -> tuple[LakeBed, dict[str, Any]]:
    """Clean soundings and make a lake's bed of them.

    Parameters
    ----------
    logs : list of Log
        The soundings.
    cleaning : Cleaning
        How to clean.
    progress : callable
        Called with the share done (0 to 1) and what is being done.
    known : bool
        Whether the unit of their depths was known.
    shore : shapely geometry, optional
        The water, as `towscope.bed.bed.build` takes it.
    cell : float, optional
        Cell size [m]; as the tracks allow where not given.

    Returns
    -------
    tuple
        The bed; and what went in beside it: sources, notes, what was dropped.

    Raises
    ------
    InputError
        Where the soundings make no lake.
    """
    progress(CLEANING, "cleaning")
    found = clean(
        logs,
        temperature=cleaning.temperature,
        level=cleaning.level,
        spikes=cleaning.spikes,
        strays=cleaning.strays,
    )
    bed = build_bed(
        found.latitude, found.longitude, found.depth, cell=cell, shoreline=shore,
        ordered=found.ordered, progress=progress,
    )  # fmt: skip
    return bed, {
        "sources": [log.source for log in logs],
        "notes": [*found.notes, *doubts(found, known)],
        "dropped_counts": found.counts(),
        "dropped": [d.plain() for d in found.dropped[:MOST_DROPPED]],
    }
