"""What the commands share: the options that mean the same everywhere, and how answers are shown."""

from __future__ import annotations

import json
import math
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from towscope.errors import InputError

if TYPE_CHECKING:
    from rich.console import Console

    from towscope.units import System

Json = Annotated[bool, typer.Option("--json", help="Print one JSON object in SI units instead.")]
Units = Annotated[
    str, typer.Option("--units", envvar="TOWSCOPE_UNITS", help="Show figures in: us or metric.")
]
Tackle = Annotated[
    list[Path] | None,
    typer.Option(
        "--tackle", metavar="FILE", help="A tackle file that adds to the stock; may repeat."
    ),
]


def system(name: str) -> System:
    """Give the unit system of that name."""
    from towscope.units import SYSTEMS

    try:
        return SYSTEMS[name.lower()]
    except KeyError:
        raise InputError(f'--units "{name}": expected us or metric') from None


def quantity(text: str, kind: str, option: str, color_length_m: float | None = None) -> float:
    """Read an option's quantity, naming the option where it is wrong."""
    from towscope.units import parse

    try:
        return parse(text, kind, color_length_m=color_length_m)
    except InputError as error:
        raise InputError(f"{option}: {error}") from None


def emit(answer: dict[str, Any]) -> None:
    """Print one JSON object, with null for what has no value."""
    sys.stdout.write(json.dumps(plain(answer), indent=2, ensure_ascii=False) + "\n")


def plain(value: Any, decimals: int | None = None) -> Any:
    """Give what JSON can hold: lists for arrays, null for what has no value, six digits."""
    if isinstance(value, dict):
        return {key: plain(item, _decimals(key)) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(item, decimals) for item in value]
    if hasattr(value, "tolist"):
        return plain(value.tolist(), decimals)
    if isinstance(value, float):
        if not math.isfinite(value):
            return None
        return float(f"{value:.6g}") if decimals is None else round(value, decimals)
    return value


def _decimals(key: Any) -> int | None:
    """Give the decimals of what counts from afar.

    A place needs more digits than a measure: six of a longitude leave ten metres open, six of a
    day's seconds or a lake's metres a whole one.
    """
    last = str(key).rpartition("_")[2]
    if last in ("lat", "lon"):
        return 7
    return 3 if key in ("time_s", "x_m", "y_m", "boat_x_m", "boat_y_m") else None


def console(*, stderr: bool = False) -> Console:
    """Give the terminal that answers are drawn on."""
    from rich.console import Console

    return Console(stderr=stderr, highlight=False, emoji=False, markup=False)
