"""One file of readings and what they come to, saved between outings and given to a rig.

One file, ``calibration.json`` in the user's folder: every reading as evidence, and what
they come to. It is written whole or not at all; forgetting a rig takes its readings
out and works out the rest anew.
"""

from __future__ import annotations

import base64
import json
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from towscope.arrays import Array
from towscope.errors import InputError, one_line
from towscope.files import home, read_text, write_whole
from towscope.towing.steady import AIR_WEIGHT, DIAMETER, FRICTION, NORMAL
from towscope.towing.tow import Tow

if TYPE_CHECKING:
    from towscope.calibration.posterior import Posterior
    from towscope.calibration.readings import Reading


FORMAT = 1
DRAWS = 512
NAME = "calibration.json"
TOLD = 0.9  # calibrated: where a figure of it is at most so unsure as before
EXPECTED = "what towscope calibrate saves"
MAX_BYTES = 60_000_000


@dataclass(frozen=True)
class SavedCalibration:
    """What is kept.

    Attributes
    ----------
    readings : tuple of dict
        Every reading, with the fields of `towscope.calibration.readings.Reading`.
    figures : dict
        Name of a figure to its draws, packed.
    stated : dict
        Lines and lures to their figures then: if those change, the readings no longer hold.
    lines : dict
        Rig to the lines on it then.
    told : frozenset of str
        Lines and lures that the readings told something of.
    made : str
        When it was worked out, ISO 8601.
    counter_sd : float
        How unsure an untold counter's scale is.
    """

    readings: tuple[dict[str, Any], ...]
    figures: dict[str, str]
    stated: dict[str, list[float]]
    lines: dict[str, list[str]]
    told: frozenset[str]
    made: str
    counter_sd: float

    def draws(self, name: str) -> Array | None:
        """Draws of a figure; None where it is not known."""
        packed = self.figures.get(name)
        if packed is None:
            return None
        return np.frombuffer(base64.b64decode(packed), "<f4").astype(float)

    @property
    def count(self) -> int:
        """How many draws each figure has."""
        first = next(iter(self.figures), None)
        known = None if first is None else self.draws(first)
        return 0 if known is None else len(known)


def place() -> Path:
    """Give the file, there or not."""
    return home() / NAME


def load() -> SavedCalibration | None:
    """Give what is kept; None where nothing is.

    Raises
    ------
    InputError
        Where the file is broken.
    """
    path = place()
    if not path.exists():
        return None
    text = read_text(path, expected=EXPECTED, limit=MAX_BYTES)
    try:
        data = json.loads(text)
        if data["format"] != FORMAT:
            raise ValueError("it is of another version")
        kept = SavedCalibration(
            tuple(dict(m) for m in data["readings"]),
            {str(k): str(v) for k, v in data["figures"].items()},
            {str(k): [float(f) for f in v] for k, v in data["stated"].items()},
            {str(k): [str(n) for n in v] for k, v in data["lines"].items()},
            frozenset(str(n) for n in data["told"]),
            str(data["made"]),
            float(data["counter_sd"]),
        )
        lengths = {len(v) for v in kept.figures.values()}
        if len(lengths) > 1 or (kept.figures and kept.count < 1):
            raise ValueError("its draws are cut short")
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise InputError(
            f"{one_line(path, 120)} is broken ({one_line(error, 60)}); move it away, and run "
            "towscope calibrate again, or ask with --uncalibrated"
        ) from None
    return kept


def save(posterior: Posterior, tows: dict[tuple[str, str], Tow], made: str) -> Path:
    """Keep a posterior and its readings, in place of what was kept.

    Parameters
    ----------
    posterior : Posterior
        What was found.
    tows : dict
        Rig and lure to tow, as stated.
    made : str
        When, ISO 8601.
    """
    problem = posterior.problem
    every = max(1, len(posterior.x) // DRAWS)
    x = posterior.x[::every][:DRAWS]
    stated: dict[str, list[float]] = {}
    for (_, lure), tow in tows.items():
        stated.update(_stated(tow, lure))
    spread = posterior.z.std(0)
    told = {
        f.name.rsplit(":", 1)[0]
        for f, s in zip(problem.figures, spread, strict=True)
        if s <= TOLD and f.name.startswith(("line:", "lure:"))
    }
    data = {
        "format": FORMAT,
        "about": EXPECTED + "; towscope calibrate RIG --forget takes a rig's readings out",
        "made": made,
        "counter_sd": problem.customs.counter,
        "told": sorted(told),
        "stated": stated,
        "lines": {rig: list(dict.fromkeys(tow.names)) for (rig, _), tow in tows.items()},
        "readings": [m.plain() for m in problem.readings],
        "figures": {
            f.name: base64.b64encode(x[:, j].astype("<f4").tobytes()).decode()
            for j, f in enumerate(problem.figures)
        },
    }
    path = place()
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(f"cannot save the calibration: {error.strerror or error}") from None
    write_whole(path, json.dumps(data, allow_nan=False).encode())
    return path


def forget_all() -> None:
    """Take the file away."""
    try:
        place().unlink(missing_ok=True)
    except OSError as error:
        raise InputError(f"cannot forget the calibration: {error.strerror or error}") from None


def readings_of(kept: SavedCalibration | None) -> list[Reading]:
    """Give the readings that are kept."""
    from towscope.calibration.readings import Reading

    try:
        return [Reading(**m) for m in (kept.readings if kept else ())]
    except TypeError as error:
        raise InputError(f"{place()} is broken ({one_line(error, 60)})") from None


def join(old: Sequence[Reading], new: Iterable[Reading]) -> list[Reading]:
    """Add new readings to old ones; the same reading read again replaces itself."""
    known = {m.key: m for m in old}
    known.update({m.key: m for m in new})
    return list(known.values())


def calibrated(tow: Tow, rig: str, lure: str, today: str) -> Tow:
    """Give a rig as the kept readings leave it; as it is where none tell anything of it.

    Parameters
    ----------
    tow : Tow
        The rig as stated.
    rig, lure : str
        Their names.
    today : str
        Date, ISO 8601: readings of the same day tell its current too.
    """
    kept = load()
    if kept is None:
        return tow
    now = _stated(tow, lure)
    good = {name for name, was in kept.stated.items() if name in now and _same(was, now[name])}
    if not good & kept.told:
        return tow
    from towscope.calibration.apply import take_in

    def figure(name: str) -> Array | None:
        kind, _, rest = name.partition(":")
        if kind in ("line", "lure") and f"{kind}:{rest.rsplit(':', 1)[0]}" not in good:
            return None
        return kept.draws(name)

    own = [m for m in kept.readings if _tells(m, rig, lure, good & kept.told, kept.lines)]
    since = max((str(m.get("day", "")) for m in own), default="")
    along = kept.draws(f"current:{today}") if today else None
    return take_in(
        tow, lure, rig, figure, count=kept.count, counter_sd=kept.counter_sd,
        along=np.empty(0) if along is None else along, since=since, readings=len(own),
    )  # fmt: skip


def stale(tow: Tow, lure: str, kept: SavedCalibration) -> list[str]:
    """Name lines and lures of a rig whose stated figures have changed since calibration."""
    now = _stated(tow, lure)
    return [
        name.partition(":")[2]
        for name in now
        if name in kept.stated and not _same(kept.stated[name], now[name])
    ]


def _tells(
    reading: dict[str, Any], rig: str, lure: str, told: set[str], lines: dict[str, list[str]]
) -> bool:
    name = str(reading.get("rig"))
    shared = any(f"line:{line}" in told for line in lines.get(name, ()))
    return name == rig or reading.get("lure") == lure or shared


def _stated(tow: Tow, lure: str) -> dict[str, list[float]]:
    """Give the figures that calibration is relative to, which do not hang on the water."""
    found = {}
    for name, row in zip(tow.names, tow.pieces, strict=True):
        figures = [float(row[c]) for c in (DIAMETER, AIR_WEIGHT, NORMAL, FRICTION, 6, 7)]
        found[f"line:{name}"] = [float(f"{v:.6g}") for v in figures]
    found[f"lure:{lure}"] = [float(f"{v:.6g}") for v in tow.lure]
    return found


def _same(was: Sequence[float], now: Sequence[float]) -> bool:
    if len(was) != len(now):
        return False
    if len(now) == 3:  # a lure: its dive area is solved from its rating, in whatever water
        was, now = [was[0], was[2]], [now[0], now[2]]
    return all(
        math.isclose(a, b, rel_tol=1e-3, abs_tol=1e-9) for a, b in zip(was, now, strict=True)
    )
