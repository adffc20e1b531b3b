"""What the journal's commands share: its options, the store, the present, what is aboard."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Final

import typer

from towscope.errors import InputError

if TYPE_CHECKING:
    from datetime import date

    from towscope.effort.stint import Stint
    from towscope.journal.events import AnyEvent
    from towscope.journal.phrase_parser import Aboard
    from towscope.journal.replay import Journal, Span
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
def store_at(place: str, *, create: bool = True) -> Iterator[Store]:
    """Open the journal; at the end, name what was passed over in it because it cannot be used."""
    from towscope.journal.store import open_store

    with open_store(place or None, create=create) as store:
        yield store
        left, remarks = store.unusable, store.remarks
    for line in [*remarks, *(each.why for each in left[:MOST_NAMED])]:
        typer.echo(f"towscope: {line}", err=True)
    if len(left) > MOST_NAMED:
        typer.echo(f"towscope: and {len(left) - MOST_NAMED} more", err=True)


def present() -> tuple[datetime, str | None]:
    """Give the present in the boat's time zone, and the zone's name."""
    from towscope.effort import fished

    return fished.present()


def which_day(text: str, store: Store, now: datetime) -> str:
    """Give the day that is asked for; without one today, or the last there is."""
    from towscope.journal.times import day_at, parse_day

    if text:
        return parse_day(text, day_at(now)).isoformat()
    today: date = day_at(now)
    return store.last_day(now) or today.isoformat()


def aboard_at(
    journal: Journal,
    before: Journal | None,
    now: datetime,
    files: list[Path] | None,
    anyway: bool,
    tackle: bool = True,
) -> Aboard:
    """Say what the crew's words are read against: rods, lines out and, where asked, the tackle."""
    from towscope.journal.phrase_parser import Aboard

    last: dict[str, Span] = {}
    for state in (before, journal):
        if state is not None:
            last.update({span.rod: span for span in state.spans()})

    if not tackle:
        return Aboard(now=now, out=journal.out(), last=last, species=species_named, anyway=anyway)
    from towscope.tackle import load

    shelf = load(files or ())

    def let_out(text: str, rig: str, lure: str) -> float:
        from towscope.commands.rigging import let_out_of, tow_for

        known = lure if lure in shelf.lures else ""
        return round(let_out_of(text, tow_for(rig, files, known)[1], "line out"), 5)

    return Aboard(
        now=now,
        out=journal.out(),
        last=last,
        rigs={name: rig.lure for name, rig in shelf.rigs.items()},
        lures={name: (lure.body, lure.size, lure.colour) for name, lure in shelf.lures.items()},
        let_out=let_out,
        species=species_named,
        anyway=anyway,
    )


def species_named(text: str) -> str | None:
    """Give the one name of a fish; None for what is no fish."""
    from towscope.fish import find_species

    try:
        return find_species(text).name
    except InputError:
        return None


def effort_of(
    store: Store,
    files: list[Path] | None,
    *,
    first: date | None = None,
    last: date | None = None,
    running_m_s: float | None = None,
) -> list[Stint]:
    """Give the effort of many days, with depths by the engine for the tackle aboard.

    Parameters
    ----------
    store : Store
        The journal.
    files : list of Path or None
        Further tackle files.
    first, last : date, optional
        Only from and to these days.
    running_m_s : float, optional
        Above this speed the boat is not fishing [m/s].
    """
    from towscope.calibration.calibrated_rig import depths_of
    from towscope.effort import fished
    from towscope.effort.effort import RUNNING_M_S
    from towscope.tackle import load

    limit = RUNNING_M_S if running_m_s is None else running_m_s
    depths = depths_of(load(files or ()))
    return fished.effort_of(store, depths, first=first, last=last, running_m_s=limit)


def plain(event: AnyEvent, journal: Journal | None = None) -> dict[str, Any]:
    """Give an entry for JSON, with its checks."""
    from towscope.effort.timeline import entry_figures

    return entry_figures(event, journal)
