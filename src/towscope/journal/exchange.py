"""A journal as JSON Lines, CSV, GeoJSON and GPX: to other devices and programs, and back.

JSON Lines is the journal itself, word for word, and comes back the same. CSV and GeoJSON hold the
entries as they stand; GPX the boat's track with the catches as waypoints.

References
----------
RFC 4180 (2005), CSV; RFC 7946 (2016), GeoJSON; GPX 1.1 schema, topografix.com (2004); JSON Lines,
jsonlines.org.
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, tzinfo
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Protocol

import numpy as np

from towscope import clock
from towscope.arrays import Array
from towscope.errors import InputError, NoAnswer, one_line
from towscope.formats.table import heading, parting
from towscope.journal.events import FORMAT, AnyEvent, read_event
from towscope.journal.ids import join_id
from towscope.journal.replay import settle
from towscope.journal.times import check_day
from towscope.journal.track import Track, make_track
from towscope.words import counted

if TYPE_CHECKING:
    from towscope.journal.replay import Journal
    from towscope.journal.store import Store
    from towscope.units import System

MAX_BYTES: Final = 2_000_000_000
MAX_LINE: Final = 40_000_000
_COLUMNS: Final = ("lat", "lon", "speed_m_s", "depth_m", "surface_temp_c")
# Whole numbers of these steps, as the store keeps them: 7 decimals of a degree are a centimetre.
_DECIMALS: Final = (7, 7, 3, 3, 2)
_CSV: Final = (
    "id", "kind", "at", "zone", "device", "who", "lat", "lon", "rod", "rig", "lure", "body",
    "size_m", "colour", "let_out_m", "species", "length_m", "weight_kg", "kept", "hook", "bled",
    "depth_m", "count", "sky", "wind_m_s", "wind_from", "surface_temp_c", "clarity_m", "text",
)  # fmt: skip
_FIGURES: Final = frozenset(
    ("lat", "lon", "size_m", "let_out_m", "length_m", "weight_kg", "depth_m", "wind_m_s",
     "surface_temp_c", "clarity_m")
)  # fmt: skip
SUFFIXES: Final = (".jsonl", ".csv", ".geojson", ".gpx")  # what is written
TRACKS: Final = (".gpx", ".nmea", ".log", ".txt", ".tsv", ".csv", ".xml")
TAKEN: Final = tuple(dict.fromkeys((*SUFFIXES, ".json", *TRACKS)))


@dataclass
class Taken:
    """What a file brought.

    Attributes
    ----------
    events, new_events, points, new_points : int
        Entries and track points in it, and how many of them were new here.
    remarks : list of str
        What the crew should know.
    """

    events: int = 0
    new_events: int = 0
    points: int = 0
    new_points: int = 0
    remarks: list[str] = field(default_factory=list)


# -- JSON Lines ----------------------------------------------------------------------------------


def jsonl(store: Store, day: str | None = None, *, device: str = "") -> Iterator[str]:
    """Write a journal, or one day of it, as JSON Lines.

    Parameters
    ----------
    store : Store
        The journal.
    day : str, optional
        Only this day on the water, with all that mends its entries.
    device : str
        The device that writes.

    Yields
    ------
    str
        A head, one line for each entry and each stretch of track, and a tail that counts them.
    """
    head = {"towscope_journal": FORMAT, "device": device, "written": _now().isoformat()}
    yield _dump(head)
    entries = stretches = 0
    events: Iterable[AnyEvent] = (
        sorted(store.raw_day(day), key=lambda e: e.id)
        if day is not None
        else (event for _, event in store.events())
    )
    for event in events:
        yield f'{{"entry":{event.line()}}}\n'
        entries += 1
    for name, date_of, track in store.stretches(day):
        body: dict[str, Any] = {"device": name, "day": date_of}
        body["t_ms"] = np.rint(track.t_s * 1000).astype(np.int64).tolist()
        for column, places in zip(_COLUMNS, _DECIMALS, strict=True):
            values = getattr(track, column)
            if not bool(np.isnan(values).all()):
                body[column] = [
                    None if math.isnan(v) else v for v in np.round(values, places).tolist()
                ]
        yield _dump({"stretch": body})
        stretches += 1
    yield _dump({"end": {"entries": entries, "stretches": stretches}})


def _dump(body: dict[str, Any]) -> str:
    return json.dumps(body, ensure_ascii=False, separators=(",", ":")) + "\n"


def _now() -> datetime:
    return clock.now()


def take_jsonl(store: Store, path: Path, *, now: datetime | None = None) -> Taken:
    """Take in a journal written by `jsonl`: all of it or nothing.

    Parameters
    ----------
    store : Store
        Where it goes.
    path : Path
        The file.
    now : datetime, optional
        The present.

    Returns
    -------
    Taken
        What it brought.

    Raises
    ------
    InputError
        Where the file is cut short, damaged, of another version, or no journal.
    """
    shown = one_line(path.name, 60)
    taken = Taken()
    events: list[AnyEvent] = []
    pieces: list[tuple[str, str, Track]] = []
    ended = False
    for number, line in _lines(path):
        where = f"{shown}, line {number}"
        try:
            body = json.loads(line)
        except (ValueError, RecursionError):
            raise InputError(
                f"{where}: not a line of JSON (cut short?); nothing was taken"
            ) from None
        if not isinstance(body, dict):
            raise InputError(f"{where}: expected a JSON object; nothing was taken")
        if number == 1:
            _check_head(body, shown, now or _now(), taken)
        elif ended:
            raise InputError(f"{where}: more after the end; nothing was taken")
        elif "entry" in body:
            events.append(_entry(body["entry"], where))
        elif "stretch" in body:
            pieces.append(_stretch(body["stretch"], where))
        elif "end" in body:
            ended = True
            if body["end"] != {"entries": len(events), "stretches": len(pieces)}:
                raise InputError(f"{where}: lines are missing before it; nothing was taken")
        else:
            raise InputError(f"{where}: neither entry nor stretch nor end; nothing was taken")
    if not ended:
        raise InputError(f"{shown} is cut short: its last line is missing; nothing was taken")
    taken.events, taken.points = len(events), sum(len(track) for _, _, track in pieces)
    taken.new_events, taken.new_points = store.take(events, pieces)
    return taken


def _lines(path: Path) -> Iterator[tuple[int, str]]:
    shown = one_line(path, 120)
    try:
        if path.is_dir():
            raise InputError(f"{shown} is a folder; expected a file")
        if path.stat().st_size == 0:
            raise InputError(f"{shown} is empty; expected an exported journal")
        with path.open("rb") as stream:
            total = 0
            for number, raw in enumerate(iter(lambda: stream.readline(MAX_LINE), b""), 1):
                total += len(raw)
                if total > MAX_BYTES or (len(raw) == MAX_LINE and not raw.endswith(b"\n")):
                    raise InputError(f"{shown} is far too large for an exported journal")
                yield number, raw.decode("utf-8-sig" if number == 1 else "utf-8")
    except UnicodeDecodeError:
        raise InputError(f"{shown} is not text; expected an exported journal") from None
    except OSError as error:
        raise InputError(f"{shown}: {error.strerror or error}") from None


def _check_head(body: dict[str, Any], shown: str, now: datetime, taken: Taken) -> None:
    version = body.get("towscope_journal")
    if version is None:
        raise InputError(f"{shown} is no exported journal: its first line does not say so")
    if version != FORMAT:
        raise InputError(
            f"{shown} is of format {one_line(version, 20)}; this towscope reads {FORMAT}; "
            "nothing was taken"
        )
    try:
        written = datetime.fromisoformat(str(body.get("written")))
        ahead = (written - now).total_seconds()
    except (ValueError, TypeError):
        raise InputError(f'{shown}: its first line has no time "written"') from None
    if ahead > 120:
        taken.remarks.append(
            f"it was written {ahead / 60:.0f} min in the future: the clock of "
            f"{one_line(body.get('device') or 'that device', 40)} or of this one is wrong"
        )


def _entry(body: object, where: str) -> AnyEvent:
    try:
        if not isinstance(body, dict):
            raise InputError("expected an entry")
        return read_event(json.dumps(body))
    except InputError as error:
        raise InputError(f"{where}: {error}; nothing was taken") from None


def _stretch(body: object, where: str) -> tuple[str, str, Track]:
    try:
        if not isinstance(body, dict):
            raise InputError("expected a stretch of track")
        device, day = body["device"], body["day"]
        if not (isinstance(device, str) and device and len(device) <= 80):
            raise InputError("the stretch names no device")
        if not isinstance(day, str):
            raise InputError("the stretch names no day")
        check_day(day)
        unknown = set(body) - {"device", "day", "t_ms", *_COLUMNS}
        if unknown:
            raise InputError(f'unknown column "{one_line(sorted(unknown)[0], 40)}"')
        t = np.asarray(body["t_ms"], dtype=np.int64) / 1000.0
        columns = {name: np.array(body[name], dtype=float) for name in _COLUMNS if name in body}
        if t.ndim != 1 or not t.size or any(c.ndim != 1 for c in columns.values()):
            raise InputError("a stretch without points")
        return device, day, make_track(t, columns.pop("lat"), columns.pop("lon"), **columns)
    except InputError as error:
        raise InputError(f"{where}: {error}; nothing was taken") from None
    except (KeyError, TypeError, ValueError, OverflowError):
        raise InputError(f"{where}: a damaged stretch of track; nothing was taken") from None


# -- CSV -----------------------------------------------------------------------------------------


def to_csv(journal: Journal) -> str:
    """Write entries as they stand as CSV, SI units, one row each."""
    out = io.StringIO()
    writer = csv.DictWriter(out, _CSV, lineterminator="\r\n")
    writer.writeheader()
    for event in journal.events:
        body = event.model_dump(mode="json", exclude_none=True)
        writer.writerow({name: _cell(body.get(name)) for name in _CSV})
    return out.getvalue()


def _cell(value: Any) -> Any:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str) and value[:1] in ("=", "+", "-", "@", "\t"):
        return f"'{value}"  # a spreadsheet would take it for a formula
    return value


def from_csv(path: Path, *, device: str) -> list[AnyEvent]:
    """Read entries from a CSV file with the columns that `to_csv` writes.

    ``kind`` and ``at`` are needed. A row without an id gets one that follows from what it says, so
    that the same file read twice adds nothing.

    Raises
    ------
    InputError
        Naming row and column.
    """
    from towscope.files import read_text

    shown = one_line(path.name, 60)
    text = read_text(path, expected="entries as CSV", limit=200_000_000)
    try:
        mark = parting(text.partition("\n")[0])
        rows = csv.DictReader(io.StringIO(text, newline=""), strict=True, delimiter=mark)
        names = rows.fieldnames or []
        unknown = [name for name in names if name not in _CSV]
        if unknown or not {"kind", "at"} <= set(names):
            wrong = f'unknown column "{one_line(unknown[0], 40)}"' if unknown else "no kind or at"
            raise InputError(f"{shown}: {wrong}; expected kind, at and any of {', '.join(_CSV)}")
        return [
            _row(row, f"{shown}, row {number}", device, comma=mark != ",")
            for number, row in enumerate(rows, 2)
        ]
    except csv.Error as error:
        raise InputError(f"{shown}: not CSV: {error}") from None


def _row(row: dict[str, Any], where: str, device: str, *, comma: bool = False) -> AnyEvent:
    if None in row or None in row.values():
        raise InputError(f"{where}: more or fewer cells than columns")
    body: dict[str, Any] = {}
    for name, value in row.items():
        if value in ("", None):
            continue
        if value[:1] == "'" and value[1:2] in ("=", "+", "-", "@", "\t"):
            value = value[1:]
        if name in ("kept", "bled"):
            if value.lower() not in ("yes", "no", "true", "false"):
                raise InputError(f'{where}: {name} "{one_line(value, 20)}"; expected yes or no')
            body[name] = value.lower() in ("yes", "true")
        elif comma and name in _FIGURES:
            body[name] = value.replace(",", ".", 1)
        else:
            body[name] = value
    body.setdefault("device", device)
    body.setdefault(
        "id", _made_up(json.dumps(body, sort_keys=True), str(body.get("at", "")), where)
    )
    try:
        return read_event(body)
    except InputError as error:
        raise InputError(f"{where}: {error}") from None


def _made_up(text: str, at: str, where: str) -> str:
    try:
        moment = datetime.fromisoformat(at)
        if moment.tzinfo is None:
            raise InputError(f'{where}: at "{one_line(at, 40)}" has no offset from UTC')
        stamp = int(moment.timestamp() * 1000)
        return join_id(stamp, int.from_bytes(hashlib.sha256(text.encode()).digest()[:9]) << 2)
    except InputError:
        raise
    except (ValueError, OverflowError):
        raise InputError(
            f'{where}: at "{one_line(at, 40)}"; expected such as 2026-08-14T07:42:00-05:00'
        ) from None


# -- GeoJSON -------------------------------------------------------------------------------------


def to_geojson(journal: Journal, track: Track) -> str:
    """Write entries as points and the track as a line, longitude first (RFC 7946).

    An entry without a place gets the boat's at its time, where the track knows it; its properties
    stay as they were entered.
    """
    features: list[dict[str, Any]] = []
    for event in journal.events:
        place = place_of(event, track)
        features.append(
            {
                "type": "Feature",
                "geometry": None
                if place is None
                else {"type": "Point", "coordinates": [round(place[1], 7), round(place[0], 7)]},
                "properties": event.model_dump(mode="json", exclude_none=True),
            }
        )
    if len(track) > 1:
        features.append(
            {
                "type": "Feature",
                "geometry": {
                    "type": "LineString",
                    "coordinates": [
                        [round(x, 7), round(y, 7)]
                        for x, y in zip(track.lon.tolist(), track.lat.tolist(), strict=True)
                    ],
                },
                "properties": {
                    "kind": "track",
                    "from": _iso(track.t_s[0]),
                    "to": _iso(track.t_s[-1]),
                },
            }
        )
    return json.dumps({"type": "FeatureCollection", "features": features}, ensure_ascii=False)


def from_geojson(path: Path) -> list[AnyEvent]:
    """Read the entries back from a file that `to_geojson` wrote.

    Raises
    ------
    InputError
        Where it is not such a file.
    """
    from towscope.files import read_text

    shown = one_line(path.name, 60)
    text = read_text(path, expected="entries as GeoJSON", limit=500_000_000)
    try:
        body = json.loads(text)
        features = body["features"]
        found = [f["properties"] for f in features if f["properties"].get("kind") != "track"]
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        raise InputError(
            f"{shown}: no GeoJSON of a journal; expected a FeatureCollection"
        ) from None
    out: list[AnyEvent] = []
    for number, properties in enumerate(found, 1):
        try:
            out.append(read_event(json.dumps(properties)))
        except InputError as error:
            raise InputError(f"{shown}, feature {number}: {error}") from None
    return out


def place_of(event: AnyEvent, track: Track) -> tuple[float, float] | None:
    """Give where an entry happened, (lat, lon) [deg]: as entered, else the boat's place then."""
    if event.lat is not None and event.lon is not None:
        return event.lat, event.lon
    if not len(track):
        return None
    i = int(np.clip(np.searchsorted(track.t_s, event.at_s), 1, max(len(track) - 1, 1)))
    i = min(i, len(track) - 1)
    if min(abs(track.t_s[i] - event.at_s), abs(track.t_s[i - 1] - event.at_s)) > 120:
        return None
    return (
        float(np.interp(event.at_s, track.t_s, track.lat)),
        float(np.interp(event.at_s, track.t_s, track.lon)),
    )


def _iso(at_s: float) -> str:
    return datetime.fromtimestamp(float(at_s), UTC).isoformat(timespec="milliseconds")


# -- GPX -----------------------------------------------------------------------------------------


def to_gpx(journal: Journal, track: Track, system: System) -> str:
    """Write the track, and catches, bottom hits and sonar marks as waypoints, as GPX 1.1."""
    from gpxpy import gpx

    from towscope.journal.describe import describe

    out = gpx.GPX()
    out.creator = "towscope"
    for event in journal.events:
        place = place_of(event, track)
        if place is None or event.kind not in (
            "catch",
            "strike_missed",
            "bottom_hit",
            "sonar_mark",
        ):
            continue
        out.waypoints.append(
            gpx.GPXWaypoint(
                round(place[0], 7),
                round(place[1], 7),
                time=event.at.astimezone(UTC),
                name=describe(event, system)[:60],
                description=event.id,
            )
        )
    if len(track):
        line = gpx.GPXTrack(name=journal.events[0].day if journal.events else None)
        cuts = [0, *(np.flatnonzero(np.diff(track.t_s) > 120) + 1).tolist(), len(track)]
        for a, b in pairwise(cuts):
            segment = gpx.GPXTrackSegment()
            segment.points = [
                gpx.GPXTrackPoint(
                    round(float(track.lat[i]), 7),
                    round(float(track.lon[i]), 7),
                    time=datetime.fromtimestamp(float(track.t_s[i]), UTC),
                )
                for i in range(a, b)
            ]
            line.segments.append(segment)
        out.tracks.append(line)
    return str(out.to_xml(version="1.1"))


# -- tracks of other programs --------------------------------------------------------------------


class Recorded(Protocol):
    """A recorded track as its one reader gives it (`towscope.boat.read`): good and bad fixes."""

    @property
    def time(self) -> Array: ...  # noqa: D102
    @property
    def first(self) -> Array: ...  # noqa: D102
    @property
    def second(self) -> Array: ...  # noqa: D102
    @property
    def on_globe(self) -> bool: ...  # noqa: D102
    @property
    def dated(self) -> bool: ...  # noqa: D102
    @property
    def notes(self) -> tuple[str, ...]: ...  # noqa: D102
    @property
    def source(self) -> str: ...  # noqa: D102


def track_of(fixes: Recorded, remarks: list[str] | None = None) -> Track:
    """Give the boat's track of recorded fixes.

    Parameters
    ----------
    fixes : Recorded
        As read.
    remarks : list of str, optional
        Where to say what was left out.

    Raises
    ------
    InputError
        Where they are metres, say no day, or none has a time and a place.
    """
    if not fixes.on_globe:
        raise InputError(f"{fixes.source} holds metres; expected places as latitude and longitude")
    if not fixes.dated:
        raise InputError(
            f"{fixes.source} does not say its day; expected a track with dates, as a journal has"
        )
    lon = np.where(fixes.second > 180.0, fixes.second - 360.0, fixes.second)
    with np.errstate(invalid="ignore"):
        placed = (np.abs(fixes.first) <= 90.0) & (np.abs(lon) <= 180.0)
    placed &= ~((fixes.first == 0.0) & (lon == 0.0))  # what receivers say before they know
    timed = np.isfinite(fixes.time)
    good = placed & timed
    if not good.any():
        raise InputError(
            f"{fixes.source}: none of its {counted(good.size, 'point')} has a time and a sane place"
        )
    if remarks is not None:
        remarks.extend(fixes.notes)
        if lost := int((~good).sum()):
            remarks.append(
                f"left out {counted(lost, 'point')} of {good.size:,}: no time or no sane place"
            )
    return make_track(fixes.time[good], fixes.first[good], lon[good])


# -- any file ------------------------------------------------------------------------------------


def take(
    store: Store, path: Path, *, device: str, zone: tzinfo, read: Callable[[Path], Recorded]
) -> Taken:
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
        taken = Taken(len(events), store.append(e for e in events if e.id not in known))
        other = sum(known.get(e.id, e.line()) != e.line() for e in events)
        if other:
            taken.remarks.append(
                f"{counted(other, 'entry differs', 'entries differ')} from the same here: left as "
                "the journal has it"
            )
        return taken
    if kind in TRACKS:
        taken = Taken()
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
