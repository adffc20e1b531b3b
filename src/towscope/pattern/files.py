"""Readers of stints (CSV, JSON Lines) and of what is aboard (TOML)."""

from __future__ import annotations

import csv
import io
import json
import math
from dataclasses import fields
from datetime import date
from pathlib import Path
from typing import Any, Final

from towscope.effort.stint import Stint
from towscope.errors import InputError, one_line
from towscope.files import read_text
from towscope.formats.toml import read_toml
from towscope.pattern.binning import LureLook
from towscope.pattern.next import Aboard, RodAboard

MAX_BYTES: Final = 200_000_000
_NUMBERS: Final = {
    "size_m": (0.0, 2.0), "depth_m": (0.0, 500.0), "speed_m_s": (0.0, 20.0),
    "let_out_m": (0.0, 2000.0), "start_s": (-1e10, 1e11), "end_s": (-1e10, 1e11),
    "hours": (0.0, 9000.0), "lat": (-90.0, 90.0), "lon": (-180.0, 180.0),
    "surface_temp_c": (-2.0, 45.0), "hour": (0.0, 24.0),
}  # fmt: skip
_COUNTS: Final = ("catches", "strikes_missed")
_NAMES: Final = [f.name for f in fields(Stint)]
_NEEDED: Final = ("lure", "start_s", "end_s", "hours", "catches")
_NULLABLE: Final = ("size_m", "depth_m", "speed_m_s", "let_out_m", "lat", "lon", "surface_temp_c")


def read_stints(path: Path) -> list[Stint]:
    """Read stints from a file.

    Parameters
    ----------
    path : Path
        ``.csv`` with a header, or ``.jsonl`` with one object a line; the columns are the fields
        of `towscope.effort.stint.Stint`. Needed are lure, start_s, end_s, hours and catches; the
        rest may be missing or empty. In CSV, species are parted by semicolons.

    Raises
    ------
    InputError
        With the line and the column that is wrong.
    """
    shown = one_line(path, 80)
    expected = "stints (CSV with a header, or JSON Lines)"
    text = read_text(path, expected=expected, limit=MAX_BYTES)
    out = []
    if path.suffix.lower() in (".jsonl", ".ndjson", ".json"):
        for number, line in enumerate(text.splitlines(), 1):
            if not line.strip():
                continue
            try:
                row = json.loads(line)
            except (ValueError, RecursionError):
                raise InputError(f"{shown}, line {number}: not JSON; expected {expected}") from None
            if not isinstance(row, dict):
                raise InputError(f"{shown}, line {number}: not an object; expected {expected}")
            out.append(_stint(row, f"{shown}, line {number}"))
    else:
        try:
            rows = csv.DictReader(io.StringIO(text), strict=True)
            head = [h.strip() for h in rows.fieldnames or []]
            _columns(head, shown)
            rows.fieldnames = head
            for row in rows:
                where = f"{shown}, line {rows.line_num}"
                if None in row or any(v is None for v in row.values()):
                    raise InputError(f"{where}: expected {len(head)} columns")
                out.append(_stint({k: v for k, v in row.items() if v != ""}, where))
        except csv.Error as error:
            raise InputError(f"{shown}: {error}; expected {expected}") from None
    if not out:
        raise InputError(f"{shown} holds no stints; expected {expected}")
    return out


def _columns(head: list[str], shown: str) -> None:
    missing = [n for n in _NEEDED if n not in head]
    if missing:
        raise InputError(f"{shown}: no column {missing[0]}; expected at least {', '.join(_NEEDED)}")


def _stint(row: dict[str, Any], where: str) -> Stint:
    unknown = [k for k in row if k not in _NAMES]
    if unknown:
        raise InputError(
            f'{where}: unknown column "{one_line(unknown[0], 40)}"; expected {", ".join(_NAMES)}'
        )
    values: dict[str, Any] = {}
    for name in _NAMES:
        raw = row.get(name)
        if raw is None:
            if name in _NEEDED:
                raise InputError(f"{where}: no {name}")
            continue
        values[name] = _value(name, raw, where)
    if values["end_s"] < values["start_s"]:
        raise InputError(f"{where}: end_s is before start_s")
    middle = 0.5 * (values["start_s"] + values["end_s"])
    blank: dict[str, Any] = {
        n: None if n in _NULLABLE or n == "light" else 0 if n == "strikes_missed" else ""
        for n in _NAMES
    }
    blank |= {"day": date.fromtimestamp(middle).isoformat() if "day" not in values else ""}
    blank |= {"hour": middle / 3600.0 % 24.0, "species": ()}
    values = blank | values
    if not values["species"] and values["catches"]:
        values["species"] = ("",) * values["catches"]
    return Stint(**values)


def _value(name: str, raw: Any, where: str) -> Any:
    shown = f'{where}: {name} "{one_line(raw, 40)}"'
    if name in _NUMBERS or name in _COUNTS:
        try:
            if isinstance(raw, bool):
                raise ValueError
            number = float(raw)
        except (TypeError, ValueError):
            raise InputError(f"{shown} is no number") from None
        low, high = _NUMBERS.get(name, (0.0, 1e5))
        if not math.isfinite(number) or not low <= number <= high:
            raise InputError(f"{shown}: expected {low:g} to {high:g}")
        if name in _COUNTS:
            if number != int(number):
                raise InputError(f"{shown}: expected a whole number")
            return int(number)
        return number
    if name == "species":
        parts = raw.split(";") if isinstance(raw, str) else raw
        if not isinstance(parts, list) or not all(isinstance(p, str) for p in parts):
            raise InputError(f"{shown}: expected names")
        return tuple(p.strip() for p in parts)
    if not isinstance(raw, str) or len(raw) > 200:
        raise InputError(f"{shown}: expected a short text")
    if name == "day":
        try:
            return date.fromisoformat(raw.strip()).isoformat()
        except ValueError:
            raise InputError(f"{shown}: expected a date such as 2026-08-14") from None
    return raw.strip()


def read_aboard(path: Path) -> Aboard:
    """Read what is aboard.

    Parameters
    ----------
    path : Path
        TOML with a table ``[aboard]``: ``lures``, an array of names or of tables with ``name``,
        ``body``, ``size`` ("2 in"), ``colour`` and ``copies``; and under ``[aboard.rods]`` a table
        for each rod with ``lure`` and ``locked``.

    Raises
    ------
    InputError
        With what is wrong.
    """
    shown = one_line(path, 80)
    text = read_text(path, expected="rods and lures (TOML)")
    try:
        whole = read_toml(text)
    except InputError as error:
        raise InputError(f"{shown}: {error}; expected TOML with a table [aboard]") from None
    table = whole.get("aboard")
    if not isinstance(table, dict):
        raise InputError(f"{shown}: no table [aboard]")
    _known(table, ("lures", "rods"), f"{shown}, [aboard]")
    lures, copies = [], {}
    entries = table.get("lures", [])
    if not isinstance(entries, list):
        raise InputError(f"{shown}: aboard.lures: expected an array of lures")
    for entry in entries:
        lure, count = _lure(entry, shown)
        lures.append(lure)
        if count > 1:
            copies[lure.name] = count
    rods = table.get("rods", {})
    if not isinstance(rods, dict):
        raise InputError(f"{shown}: expected a table for each rod, such as [aboard.rods.port]")
    found = []
    for name, rod in rods.items():
        where = f"{shown}, rod {one_line(name, 40)}"
        if not isinstance(rod, dict):
            raise InputError(f"{where}: expected a table with lure and locked")
        _known(rod, ("lure", "locked"), where)
        lure_name, locked = rod.get("lure", ""), rod.get("locked", False)
        if not isinstance(lure_name, str):
            raise InputError(f"{where}: lure: expected a name")
        if not isinstance(locked, bool):
            raise InputError(f"{where}: locked: expected true or false")
        found.append(RodAboard(name, lure_name, locked))
    return Aboard(tuple(found), tuple(lures), copies)


def _lure(entry: Any, shown: str) -> tuple[LureLook, int]:
    from towscope.units import parse

    if isinstance(entry, str):
        entry = {"name": entry}
    if not isinstance(entry, dict) or not isinstance(entry.get("name"), str) or not entry["name"]:
        raise InputError(f'{shown}: aboard.lures: expected a name, or {{ name = "...", ... }}')
    where = f"{shown}, lure {one_line(entry['name'], 40)}"
    _known(entry, ("name", "body", "size", "colour", "copies"), where)
    for key in ("body", "colour"):
        if not isinstance(entry.get(key, ""), str):
            raise InputError(f"{where}: {key}: expected text")
    size = None
    if "size" in entry:
        try:
            size = parse(entry["size"], "length")
        except InputError as error:
            raise InputError(f"{where}: size: {error}") from None
        if not 0.0 < size < 2.0:
            raise InputError(f'{where}: size "{entry["size"]}": expected a lure\'s length')
    copies = entry.get("copies", 1)
    if not isinstance(copies, int) or isinstance(copies, bool) or not 1 <= copies <= 100:
        raise InputError(f"{where}: copies: expected a whole number from 1 to 100")
    return LureLook(entry["name"], entry.get("body", ""), size, entry.get("colour", "")), copies


def _known(table: dict[str, Any], keys: tuple[str, ...], where: str) -> None:
    for key in table:
        if key not in keys:
            raise InputError(
                f'{where}: unknown key "{one_line(key, 40)}"; expected {", ".join(keys)}'
            )
