"""The let-out table: its usual depths and speeds, and CSV."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from towscope.answers.steady import LetOutTable
    from towscope.units import System

SLOW_CELLS = 60
"""Cells beyond which a table takes more than about a second, and progress is shown."""


def default_depths(system: System) -> list[float]:
    """Give the depths that a sheet shows unless told otherwise [m]."""
    steps = range(10, 50, 5) if system.name == "us" else range(3, 15, 2)
    return [system.to_si(float(d), "length") for d in steps]


def default_speeds(system: System) -> list[float]:
    """Give the speeds that a sheet shows unless told otherwise [m/s]."""
    steps = (1.4, 1.6, 1.8, 2.0, 2.2, 2.4, 2.6) if system.name == "us" else (2.2, 2.6, 3, 3.4, 3.8)
    return [system.to_si(float(v), "speed") for v in steps]


def as_csv(table: LetOutTable, system: System) -> str:
    """Give a table as CSV, one row for each depth and speed, units in the header."""
    length, speed = system.label("length"), system.label("speed")
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(
        [f"depth [{length}]", f"speed [{speed}]"]
        + [f"{name} [{length}]" for name in ("let_out", "let_out_low_90", "let_out_high_90")]
    )
    for i, depth in enumerate(table.depths_m):
        for j, v in enumerate(table.speeds_m_s):
            figures = [table.let_out_m[i, j], table.low_90_m[i, j], table.high_90_m[i, j]]
            writer.writerow(
                [
                    f"{system.convert(float(depth), 'length'):.1f}",
                    f"{system.convert(float(v), 'speed'):.2f}",
                    *(
                        f"{system.convert(float(f), 'length'):.1f}" if f == f else ""
                        for f in figures
                    ),
                ]
            )
    return out.getvalue()


@contextmanager
def progress(cells: int) -> Iterator[None]:
    """Show that work is going on where it takes more than about a second."""
    if cells <= SLOW_CELLS:
        yield
        return
    from rich.console import Console

    with Console(stderr=True).status(f"working out {cells} let-outs, with their spans"):
        yield
