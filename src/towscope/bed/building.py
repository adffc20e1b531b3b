"""How does a lake come of files of soundings: read, cleaned, solved for its bed, and kept."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from towscope.bed import store
from towscope.bed.cleaning import Clean, clean, doubts
from towscope.bed.reading import read
from towscope.bed.soundings import Reading

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

MOST_DROPPED = 10_000  # rows that are kept by name
Told = Callable[[str], None]


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
    how: Reading,
    cleaning: Cleaning,
    told: Told,
    ask_unit: Callable[[str], str | None] | None = None,
) -> tuple[Clean, bool]:
    """Read and clean soundings.

    Parameters
    ----------
    files : list of Path
        The files.
    how : Reading
        What they do not say.
    cleaning : Cleaning
        How to clean.
    told : callable
        Called with a line on what is being done.
    ask_unit : callable, optional
        Asks for the unit of a file's depths where that is unclear.

    Returns
    -------
    tuple
        The soundings, and whether their unit was known.

    Raises
    ------
    InputError
        Where a file can't be read.
    """
    logs = []
    known = how.unit is not None
    for path in files:
        told(f"reading {path.name}")
        log = read(path, how, told)
        unclear = [n for n in log.notes if "--depth-unit" in n]
        if unclear and not known and ask_unit is not None and (unit := ask_unit(path.name)):
            how = replace(how, unit=unit)
            known, log = True, read(path, how, told)
            unclear = []
        known = known or not unclear
        logs.append(log)
    told("cleaning")
    found = clean(
        logs,
        temperature=cleaning.temperature,
        level=cleaning.level,
        spikes=cleaning.spikes,
        strays=cleaning.strays,
    )
    return found, known


def build(
    name: str,
    files: list[Path],
    how: Reading,
    cleaning: Cleaning,
    told: Told,
    *,
    shore: BaseGeometry | None = None,
    cell: float | None = None,
    ask_unit: Callable[[str], str | None] | None = None,
) -> tuple[Path, dict[str, Any]]:
    """Build a lake from files of soundings, and keep it.

    Parameters
    ----------
    name : str
        What to call it.
    files, how, cleaning, told, ask_unit
        As `soundings` takes them.
    shore : shapely geometry, optional
        The water, as `towscope.bed.bed.build` takes it.
    cell : float, optional
        Cell size [m]; as the tracks allow where not given.

    Returns
    -------
    tuple
        Its folder; and what went in beside the bed: sources, notes, what was dropped.

    Raises
    ------
    InputError
        Where the soundings make no lake, or the disk refuses.
    """
    from towscope.bed.bed import build as make

    store.free(name)
    found, known = soundings(files, how, cleaning, told, ask_unit)
    bed = make(
        found.latitude, found.longitude, found.depth, cell=cell, shoreline=shore,
        ordered=found.ordered, told=told,
    )  # fmt: skip
    facts = {
        "sources": [p.name for p in files],
        "notes": [*found.notes, *doubts(found, known)],
        "dropped_counts": found.counts(),
        "dropped": [d.plain() for d in found.dropped[:MOST_DROPPED]],
    }
    told("writing")
    return store.save(name, bed, facts), facts
