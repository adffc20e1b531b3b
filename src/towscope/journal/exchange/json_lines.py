"""The journal as JSON Lines: itself, word for word, which comes back the same.

References
----------
JSON Lines, jsonlines.org.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Iterator
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from towscope import clock
from towscope.errors import InputError, one_line
from towscope.journal.events import FORMAT, AnyEvent, read_event
from towscope.journal.exchange.taken import FileTaken
from towscope.journal.times import check_day
from towscope.journal.track import LoggedTrack, make_track

if TYPE_CHECKING:
    from towscope.journal.store import Store

MAX_BYTES: Final = 2_000_000_000
MAX_LINE: Final = 40_000_000
_COLUMNS: Final = ("lat", "lon", "speed_m_s", "depth_m", "surface_temp_c")
# Whole numbers of these steps, as the store keeps them: 7 decimals of a degree are a centimetre.
_DECIMALS: Final = (7, 7, 3, 3, 2)


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
    head = {"towscope_journal": FORMAT, "device": device, "written": clock.now().isoformat()}
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


def take_jsonl(store: Store, path: Path, *, now: datetime | None = None) -> FileTaken:
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
    FileTaken
        What it brought.

    Raises
    ------
    InputError
        Where the file is cut short, damaged, of another version, or no journal.
    """
    shown = one_line(path.name, 60)
    taken = FileTaken()
    events: list[AnyEvent] = []
    pieces: list[tuple[str, str, LoggedTrack]] = []
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
            _check_head(body, shown, now or clock.now(), taken)
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


def _check_head(body: dict[str, Any], shown: str, now: datetime, taken: FileTaken) -> None:
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


def _stretch(body: object, where: str) -> tuple[str, str, LoggedTrack]:
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
