"""Readings in one shape, read from a table: line out, speed, bottom, what the lure did."""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Callable
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from towscope.constants import FOOT
from towscope.errors import InputError, one_line
from towscope.files import read_text
from towscope.formats.table import parting
from towscope.towing.tow import Tow
from towscope.units import parse

MAX_READINGS: Final = 20_000
MAX_BYTES: Final = 5_000_000

# How surely each kind tells a depth where no error is given [m]: common practice, no source. A
# lure sinks into mud before it is felt; while line runs out it has not quite sunk to where it
# would settle; a fish finder's cone shows a lure a little off.
KINDS: Final[dict[str, float]] = {
    "bottom hit": 0.5 * FOOT,
    "soft bottom hit": 1.0 * FOOT,
    "first bottom hit": 0.7 * FOOT,
    "miss": 0.5 * FOOT,
    "recorder": 0.5 * FOOT,
    "sonar mark": 1.0 * FOOT,
}
_SPELLINGS: Final = {
    "hit": "bottom hit", "hard": "bottom hit", "hard hit": "bottom hit", "tick": "bottom hit",
    "soft": "soft bottom hit", "soft hit": "soft bottom hit", "first": "first bottom hit",
    "first hit": "first bottom hit", "clear": "miss", "sonar": "sonar mark",
}  # fmt: skip
_COLUMNS: Final = {
    "time": "", "rig": "", "lure": "", "kind": "", "let_out": "length", "speed": "speed",
    "water_speed": "speed", "bottom_depth": "length", "error": "length", "course": "angle",
}  # fmt: skip
_NEEDED: Final = ("let_out", "speed", "bottom_depth", "kind")
EXPECTED: Final = (
    "a table of readings (CSV) that begins "
    '"time,rig,let_out [ft],speed [mph],bottom_depth [ft],kind"'
)


@dataclass(frozen=True)
class Reading:
    """One thing read.

    Attributes
    ----------
    rig, lure : str
        The rig, and its lure where it is not the rig's own.
    let_out : float
        Line past the rod tip, as it was read [m].
    speed : float
        Speed as it was read [m/s].
    water : bool
        Whether that is the speed through the water; else over ground, where currents come in.
    depth : float
        Depth of the bottom at the lure, or of the lure itself by logger or sonar [m].
    kind : str
        One of `KINDS`.
    error : float
        Standard error of that depth [m].
    time : float or None
        Unix time [s].
    day : str
        Local date, ISO 8601; "" where no time is known.
    course : float or None
        Course over ground [deg from north].
    ratio : float
        How deep the lure ran then against how deep it would run long settled: 1 in a steady tow.
    where : str
        Where it was read, for messages.
    """

    rig: str
    let_out: float
    speed: float
    depth: float
    kind: str
    error: float
    lure: str = ""
    time: float | None = None
    day: str = ""
    course: float | None = None
    ratio: float = 1.0
    where: str = ""
    water: bool = False

    @property
    def key(self) -> tuple[Any, ...]:
        """What makes two readings the same one."""
        when = None if self.time is None else round(self.time)
        figures = (round(v, 4) for v in (self.let_out, self.speed))
        return (self.rig, self.lure, self.kind, when, *figures)

    def plain(self) -> dict[str, Any]:
        """Give it for keeping; what is usual is left out."""
        usual = {"lure": "", "time": None, "day": "", "course": None, "ratio": 1.0}
        usual["water"] = False
        return {k: v for k, v in asdict(self).items() if k not in usual or v != usual[k]}


def load_readings(
    path: Path, rig: str, tow_of: Callable[[str, str], Tow], *, speeds_known: bool = True
) -> list[Reading]:
    """Read readings from a table.

    Parameters
    ----------
    path : Path
        CSV; its first line names the columns, with their units in brackets: ``let_out [ft]``. A
        column without a unit has one in each cell. ``water_speed`` in place of ``speed`` is the
        speed through the water. ``kind`` is bottom hit, soft bottom hit, first bottom hit,
        clear, logger or sonar.
    rig : str
        The rig of rows that name none.
    tow_of : callable
        Gives the tow of a rig and a lure ("" for the rig's own).
    speeds_known : bool
        False where a track will give the speed of rows without one.

    Returns
    -------
    list of Reading
        In the order of the file.

    Raises
    ------
    InputError
        With the line and what is wrong in it.
    """
    shown = one_line(path.name, 60)
    text = read_text(path, expected=EXPECTED, limit=MAX_BYTES)
    return readings_in(text, shown, rig, tow_of, speeds_known=speeds_known)


def readings_in(
    text: str,
    shown: str,
    rig: str,
    tow_of: Callable[[str, str], Tow],
    *,
    speeds_known: bool = True,
) -> list[Reading]:
    r"""Read readings from the text of a table that goes by the name `shown`; see `load_readings`.

    Examples
    --------
    A bottom hit at 31 ft with 170 ft out at 2 mph:

    >>> from towscope.tackle.shelf import stock
    >>> table = "let_out [ft],speed [mph],bottom_depth [ft],kind\n170,2.0,31,bottom hit\n"
    >>> reading, = readings_in(table, "readings.csv", "demo", lambda rig, lure: stock().tow(rig))
    >>> reading.kind, round(reading.let_out, 2), round(reading.error, 3)
    ('bottom hit', 51.82, 0.152)
    """
    head, sep = _first(text, shown)
    units = _units(head, shown, speeds_known)
    readings: list[Reading] = []
    try:
        rows = csv.reader(io.StringIO(text), delimiter=sep, strict=True)
        for cells in rows:
            if rows.line_num <= head[0] or not any(c.strip() for c in cells):
                continue
            if cells[0].lstrip().startswith("#"):
                continue
            where = f"{shown}, line {rows.line_num}"
            if len(cells) != len(units):
                raise InputError(f"{where}: {len(cells)} columns; expected {len(units)}")
            row = {name: c.strip() for (name, _), c in zip(units, cells, strict=True)}
            readings.append(_reading(row, dict(units), where, rig, tow_of, speeds_known))
            if len(readings) > MAX_READINGS:
                raise InputError(f"{shown} holds over {MAX_READINGS} readings; expected fewer")
    except csv.Error as error:
        raise InputError(f"{shown}: {error}; expected {EXPECTED}") from None
    if not readings:
        raise InputError(f"{shown} holds no readings; expected {EXPECTED}, then a row for each")
    return readings


def _first(text: str, shown: str) -> tuple[tuple[int, str], str]:
    """Give number and text of the first line that says something, and what parts its columns."""
    for number, line in enumerate(text.splitlines(), 1):
        if line.strip() and not line.lstrip().startswith("#"):
            return (number, line), parting(line)
    raise InputError(f"{shown} is empty; expected {EXPECTED}")


def _units(head: tuple[int, str], shown: str, speeds_known: bool) -> list[tuple[str, str]]:
    sep = parting(head[1])
    found: list[tuple[str, str]] = []
    for cell in next(csv.reader([head[1]], delimiter=sep)):
        match = re.fullmatch(r"\s*([A-Za-z_ ]+?)\s*(?:[\[(]\s*(.*?)\s*[\])])?\s*", cell)
        name = match[1].lower().replace(" ", "_") if match else ""
        if match is None or name not in _COLUMNS:
            raise InputError(
                f'{shown}, line {head[0]}: column "{one_line(cell, 30)}"; expected {EXPECTED}'
            )
        unit = match[2] or ""
        if unit and not _COLUMNS[name]:
            raise InputError(f"{shown}, line {head[0]}: {name} has no unit; found [{unit}]")
        colours = name == "let_out" and "col" in unit.lower()
        if unit and not colours:
            try:
                parse(f"1 {unit}", _COLUMNS[name])
            except InputError as error:
                raise InputError(f"{shown}, line {head[0]}: {name}: {error}") from None
        found.append((name, unit))
    names = [name for name, _ in found]
    for name in _NEEDED:
        if name == "speed" and (not speeds_known or "water_speed" in names):
            continue
        if name not in names:
            raise InputError(f"{shown}: no column {name}; expected {EXPECTED}")
    if len(set(names)) != len(names):
        raise InputError(f"{shown}: a column comes twice; expected each once")
    return found


def _reading(
    row: dict[str, str],
    units: dict[str, str],
    where: str,
    rig: str,
    tow_of: Callable[[str, str], Tow],
    speeds_known: bool,
) -> Reading:
    kind = " ".join(row["kind"].lower().replace("_", " ").split())
    kind = _SPELLINGS.get(kind, kind)
    if kind not in KINDS:
        raise InputError(
            f'{where}: kind "{one_line(row["kind"], 30)}"; expected {", ".join(KINDS)}'
        )
    own = row.get("rig") or rig
    lure = row.get("lure", "")
    try:
        tow = tow_of(own, lure)
    except InputError as error:
        raise InputError(f"{where}: {error}") from None
    time, day = _time(row.get("time", ""), where)
    water = bool(row.get("water_speed"))
    if water:
        speed = _figure(row, units, "water_speed", where)
    elif not row.get("speed"):
        if speeds_known:
            raise InputError(f'{where}: no speed; expected the speed when read, such as "2 mph"')
        speed = math.nan
    else:
        speed = _figure(row, units, "speed", where)
    course = _figure(row, units, "course", where) % 360.0 if row.get("course") else None
    reading = Reading(
        rig=own,
        lure=lure,
        let_out=_let_out(row, units, where, tow),
        speed=speed,
        depth=_figure(row, units, "bottom_depth", where),
        kind=kind,
        error=_figure(row, units, "error", where) if row.get("error") else KINDS[kind],
        time=time,
        day=day,
        course=course,
        where=where,
        water=water,
    )
    check(reading, tow)
    return reading


def check(reading: Reading, tow: Tow) -> None:
    """Refuse a reading that cannot be.

    Raises
    ------
    InputError
        Naming what is impossible.
    """
    feet = f"{reading.depth / FOOT:.0f} ft"
    if not 0.05 <= reading.speed <= 6.0 and not math.isnan(reading.speed):
        raise InputError(f"{reading.where}: speed {reading.speed:g} m/s; expected 0.05 to 6 m/s")
    if not reading.let_out >= 1.0:
        raise InputError(f"{reading.where}: let_out {reading.let_out:.1f} m; expected 1 m or more")
    out = reading.let_out * tow.counter_factor
    if out > tow.length * 1.1:
        raise InputError(
            f"{reading.where}: let_out {out / FOOT:.0f} ft; "
            f"the rig holds {tow.length / FOOT:.0f} ft"
        )
    if not 0.3 <= reading.depth <= 300.0:
        raise InputError(
            f"{reading.where}: bottom_depth {feet}: expected 1 to 1000 ft, water that a lure can "
            "run in below the rod tip"
        )
    reach = 1.2 * out - tow.tip
    if reading.kind != "miss" and reading.depth - 3.0 * reading.error > reach:
        raise InputError(
            f"{reading.where}: {reading.kind} at {feet} with {out / FOOT:.0f} ft out: "
            f"deeper than the line is long; expected at most {max(reach, 0.0) / FOOT:.0f} ft"
        )
    if not 0.01 <= reading.error <= 20.0:
        raise InputError(f"{reading.where}: error {reading.error:g} m; expected 0.01 to 20 m")


def _figure(row: dict[str, str], units: dict[str, str], name: str, where: str) -> float:
    text = row[name]
    if not text:
        raise InputError(f"{where}: no {name}; expected a figure")
    try:
        return parse(f"{text} {units[name]}" if units[name] else text, _COLUMNS[name])
    except InputError as error:
        raise InputError(f"{where}: {name}: {error}") from None


def _let_out(row: dict[str, str], units: dict[str, str], where: str, tow: Tow) -> float:
    """Read a let-out [m]; colours are counted past the leader."""
    text = row["let_out"]
    text = f"{text} {units['let_out']}" if units["let_out"] else text
    coded = [i for i, c in enumerate(tow.color_length) if math.isfinite(c)]
    color = float(tow.color_length[coded[0]]) if coded else None
    before = float(tow.pieces[: coded[0], 0].sum()) if coded else 0.0
    if not row["let_out"]:
        raise InputError(f"{where}: no let_out; expected the line out")
    try:
        value = parse(text, "length", color_length_m=color)
    except InputError as error:
        raise InputError(f"{where}: let_out: {error}") from None
    return value + (before if "col" in text.lower() else 0.0)


def _time(text: str, where: str) -> tuple[float | None, str]:
    if not text:
        return None, ""
    try:
        seconds = float(text)
        if not 6e8 < seconds < 4.2e9:
            raise InputError(f'{where}: time "{one_line(text, 30)}"; expected ISO 8601')
        return seconds, datetime.fromtimestamp(seconds, UTC).date().isoformat()
    except ValueError:
        pass
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise InputError(
            f'{where}: time "{one_line(text, 30)}"; expected such as 2026-08-14T07:40:00-05:00'
        ) from None
    day = moment.date().isoformat()
    if moment.tzinfo is None:  # the boat's own clock: order and day are all that is asked of it
        moment = moment.replace(tzinfo=UTC)
    return moment.timestamp(), day
