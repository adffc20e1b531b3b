"""Options of the journal's commands, and the journal opened."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

if TYPE_CHECKING:
    from towscope.answers.journal import Journal
    from towscope.journal.store import Store

MOST_NAMED: Final = 5
Place = Annotated[
    str,
    typer.Option(
        "--journal",
        metavar="FILE|URL",
        envvar="TOWSCOPE_JOURNAL",
        help="The journal: a file or a postgresql:// address; yours without it.",
    ),
]
Day = Annotated[str, typer.Argument(metavar="[DAY]", help='"today", "yesterday" or "2026-08-14".')]


@contextmanager
def journal_at(
    place: str, tackle: list[Path] | None = None, *, create: bool = True
) -> Iterator[Journal]:
    """Open the journal; at the end, name what was passed over in it because it cannot be used."""
    import towscope as ts

    with ts.open_journal(place or None, tackle=tackle or (), create=create) as journal:
        yield journal
        left, remarks = journal.unusable, journal.remarks
    for line in [*remarks, *(each.why for each in left[:MOST_NAMED])]:
        typer.echo(f"towscope: {line}", err=True)
    if len(left) > MOST_NAMED:
        typer.echo(f"towscope: and {len(left) - MOST_NAMED} more", err=True)


@contextmanager
def store_at(place: str, *, create: bool = True) -> Iterator[Store]:
    """Open the journal's store, as `journal_at`."""
    with journal_at(place, create=create) as journal:
        yield journal.store
