"""Options that mean the same in every command, and how answers are shown."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from towscope.errors import InputError
from towscope.formats.plain import plain
from towscope.progress import Progress, unheard

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
    from towscope.words import shown_in

    try:
        found = SYSTEMS[name.lower()]
        shown_in(found.name)
        return found
    except KeyError:
        raise InputError(f'--units "{name}": expected us or metric') from None


def quantity(text: str, kind: str, option: str, color_length_m: float | None = None) -> float:
    """Read an option's quantity, naming the option where it is wrong."""
    from towscope.units import parse

    try:
        return parse(text, kind, color_length_m=color_length_m)
    except InputError as error:
        raise InputError(f"{option}: {error}") from None


@contextmanager
def telling(*, quiet: bool) -> Iterator[Progress]:
    """Show on standard error what is being done, while it is, unless a program is reading."""
    if quiet:
        yield unheard
        return
    from time import monotonic

    start = monotonic()
    with console(stderr=True).status("starting") as status:
        yield lambda share, doing: status.update(
            f"{share:.0%}: {doing} ({monotonic() - start:.0f} s)"
        )


def emit(answer: dict[str, Any]) -> None:
    """Print one JSON object, with null for what has no value."""
    sys.stdout.write(json.dumps(plain(answer), indent=2, ensure_ascii=False) + "\n")


def console(*, stderr: bool = False) -> Console:
    """Give the terminal that answers are drawn on."""
    from towscope.sheets.screen import Screen

    return Screen(stderr=stderr)


def echo(text: str) -> None:
    """Print a plain line, spelled by the unit system."""
    from towscope.words import spelled

    typer.echo(spelled(text))
