"""Entries as they stand as CSV, SI units, one row each.

References
----------
RFC 4180 (2005).
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from towscope.errors import InputError, one_line
from towscope.formats.table import parting
from towscope.journal.events import AnyEvent, read_event
from towscope.journal.ids import join_id

if TYPE_CHECKING:
    from towscope.journal.replay import StandingEntries

_CSV: Final = (
    "id", "kind", "at", "zone", "device", "who", "lat", "lon", "rod", "rig", "lure", "body",
    "size_m", "colour", "let_out_m", "species", "length_m", "weight_kg", "kept", "hook", "bled",
    "depth_m", "count", "sky", "wind_m_s", "wind_from", "surface_temp_c", "clarity_m", "text",
)  # fmt: skip
_FIGURES: Final = frozenset(
    ("lat", "lon", "size_m", "let_out_m", "length_m", "weight_kg", "depth_m", "wind_m_s",
     "surface_temp_c", "clarity_m")
)  # fmt: skip


def to_csv(journal: StandingEntries) -> str:
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
