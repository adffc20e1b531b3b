"""Table of moments and let-outs read: how much line was out at each moment."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import numpy as np

from towscope.arrays import Array
from towscope.boat.track import clock
from towscope.errors import ArgumentError, InputError, one_line
from towscope.files import read_text
from towscope.formats.iso import unix_time

FASTEST_LINE = 3.0  # [m/s]; no reel and no hand moves lead-core faster
MOST_ROWS = 100_000
EXPECTED = 'a table "time_s,let_out" or "time,let_out" with let-outs such as "170 ft"'


def read_schedule(
    path: Path, length_of: Callable[[str, str], float], epoch: float | None
) -> tuple[Array, Array]:
    """Read a let-out schedule.

    Parameters
    ----------
    path : Path
        A table: `time_s` in seconds on the track's clock, or `time` in ISO 8601 with its zone;
        `let_out` with its unit, or `let_out_m` in bare metres.
    length_of : callable
        Reads one let-out [m], given its text and where it stands.
    epoch : float or None
        Unix time of the track's moment 0 [s], where it is known.

    Returns
    -------
    tuple of (k,) array
        Moments [s on the track's clock] and let-outs [m]; straight between them.

    Raises
    ------
    InputError
        Naming the line that is wrong.
    """
    shown = one_line(path.name, 60)
    rows = list(csv.reader(read_text(path, expected=EXPECTED).splitlines()))
    names = [name.strip().lower() for name in rows[0]]
    time_name = next((n for n in ("time_s", "time") if n in names), None)
    out_name = next((n for n in ("let_out", "let_out_m") if n in names), None)
    if time_name is None or out_name is None or len(rows) > MOST_ROWS:
        raise ArgumentError("let_out", f" {shown}: expected {EXPECTED}")
    moments: list[float] = []
    outs: list[float] = []
    for number, row in enumerate(rows[1:], 2):
        if not any(cell.strip() for cell in row):
            continue
        where = f"{shown}, line {number}"
        try:
            when, out = row[names.index(time_name)].strip(), row[names.index(out_name)].strip()
        except IndexError:
            raise InputError(f"{where}: too few columns; expected {EXPECTED}") from None
        moments.append(_moment(when, time_name == "time", epoch, where))
        outs.append(length_of(f"{out} m" if out_name == "let_out_m" else out, where))
        if len(moments) > 1:
            step = moments[-1] - moments[-2]
            if not step > 0.0:
                raise InputError(f"{where}: time does not rise; expected rising times")
            if abs(outs[-1] - outs[-2]) > FASTEST_LINE * step:
                raise InputError(
                    f"{where}: {abs(outs[-1] - outs[-2]):.0f} m of line in {clock(step)}; expected "
                    f"at most {FASTEST_LINE:g} m a second"
                )
    if not moments:
        raise ArgumentError("let_out", f" {shown}: no rows; expected {EXPECTED}")
    return np.array(moments), np.array(outs)


def _moment(text: str, written: bool, epoch: float | None, where: str) -> float:
    try:
        if not written:
            value = float(text)
            if not np.isfinite(value):
                raise ValueError
            return value
        moment = unix_time(text)
    except (ValueError, OverflowError):
        expected = "an ISO 8601 time with its zone" if written else "seconds"
        raise InputError(f'{where}: "{one_line(text, 40)}"; expected {expected}') from None
    if epoch is None:
        raise InputError(f"{where}: the track has no date; expected a time_s column")
    return moment - epoch
