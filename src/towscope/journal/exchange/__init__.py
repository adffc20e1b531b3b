"""A journal as JSON Lines, CSV, GeoJSON and GPX: to other devices and programs, and back."""

from __future__ import annotations

from collections.abc import Callable
from datetime import tzinfo
from pathlib import Path
from typing import TYPE_CHECKING, Final

from towscope.errors import InputError, NoAnswer, one_line
from towscope.formats.table import heading, parting
from towscope.journal.exchange.geojson import from_geojson, to_geojson
from towscope.journal.exchange.gpx import to_gpx
from towscope.journal.exchange.json_lines import jsonl, take_jsonl
from towscope.journal.exchange.recorded import Recorded, track_of
from towscope.journal.exchange.table import from_csv, to_csv
from towscope.journal.exchange.taken import FileTaken
from towscope.journal.replay import settle
from towscope.words import counted

if TYPE_CHECKING:
    from towscope.journal.store import Store
    from towscope.units import System

__all__ = [
    "SUFFIXES", "TAKEN", "TRACKS", "Recorded", "Taken", "from_csv", "from_geojson", "jsonl", "take",
    "take_jsonl", "to_csv", "to_geojson", "to_gpx", "track_of", "written",
]  # fmt: skip

SUFFIXES: Final = (".jsonl", ".csv", ".geojson", ".gpx")  # what is written
TRACKS: Final = (".gpx", ".nmea", ".log", ".txt", ".tsv", ".csv", ".xml")
TAKEN: Final = tuple(dict.fromkeys((*SUFFIXES, ".json", *TRACKS)))


def take(
    store: Store, path: Path, *, device: str, zone: tzinfo, read: Callable[[Path], Recorded]
) -> FileTaken:
    """Take in a file: a journal, entries, or the boat's track as any program recorded it.

    Parameters
    ----------
    store : Store
        Where it goes.
    path : Path
        The file.
    device : str
        The device to name for what names none.
    zone : tzinfo
        Where a track's days part.
    read : callable
        What reads a recorded track, GPX, NMEA 0183 or a table: `towscope.boat.read.read_fixes`.

    Raises
    ------
    InputError
        Naming what is wrong; nothing was taken then.
    """
    kind = path.suffix.lower()
    if kind == ".jsonl":
        return take_jsonl(store, path)
    if kind in (".geojson", ".json") or (kind == ".csv" and _holds_entries(path)):
        events = from_csv(path, device=device) if kind == ".csv" else from_geojson(path)
        # these hold entries as they stand, perhaps corrected since they were made: the journal's
        # own wording stays
        known = store.lines_of([e.id for e in events])
        taken = FileTaken(len(events), store.append(e for e in events if e.id not in known))
        other = sum(known.get(e.id, e.line()) != e.line() for e in events)
        if other:
            taken.remarks.append(
                f"{counted(other, 'entry differs', 'entries differ')} from the same here: left as "
                "the journal has it"
            )
        return taken
    if kind in TRACKS:
        taken = FileTaken()
        track = track_of(read(path), taken.remarks)
        taken.points = len(track)
        taken.new_points = store.add_track(track, f"{kind[1:]}:{device}"[:80], zone)
        return taken
    raise InputError(f"{one_line(path.name, 60)}: expected a file that ends in {', '.join(TAKEN)}")


def written(
    store: Store,
    kind: str,
    day: str | None,
    date_of: Callable[[], str],
    system: System,
    device: str,
) -> tuple[str, str | None]:
    """Write a journal, or a day of it, in the form that a file's ending names.

    Parameters
    ----------
    store : Store
        The journal.
    kind : str
        One of `SUFFIXES`.
    day : str or None
        Only this day; without it all, or where a form holds one day, the one `date_of` gives.
    date_of : callable
        Gives that day.
    system : System
        Units of names in it.
    device : str
        The device that writes.

    Returns
    -------
    (str, str or None)
        The text, and which day it is; None for all.

    Raises
    ------
    NoAnswer
        Where there is nothing to write.
    """
    if day is None and not store.days():
        raise NoAnswer("the journal is empty: no file written")
    if day is not None and not store.day(day).events and not len(store.track(day)):
        raise NoAnswer(f"nothing was logged on {day}: no file written")
    if kind == ".jsonl":
        return "".join(jsonl(store, day, device=device)), day
    if kind == ".csv" and day is None:
        return to_csv(settle((event for _, event in store.events()), check=False)), None
    one = day or date_of()
    state, track = store.day(one), store.track(one)
    if kind == ".geojson":
        return to_geojson(state, track), one
    if kind == ".csv":
        if not state.events:
            raise NoAnswer(f"no entry on {one}, only the boat's track: no file written")
        return to_csv(state), one
    text = to_gpx(state, track, system)
    if not len(track) and "<wpt" not in text:
        raise NoAnswer(f"nothing on {one} has a place: no file written")
    return text, one


def _holds_entries(path: Path) -> bool:
    """Tell a table of entries from one of a track, by its headings."""
    try:
        with path.open("rb") as stream:
            first = stream.readline(10_000).decode("utf-8-sig", "replace")
    except OSError:
        return True  # said by the reader
    names = {heading(name) for name in first.split(parting(first))}
    return not ({"lat", "latitude", "x_m"} & names and not {"kind", "at"} & names)
