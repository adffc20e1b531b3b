"""Command about what readings teach of a rig: calibrate."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from towscope.boat.spoken import mount_of
from towscope.commands.common import Json, Tackle, Units, console, echo, emit, quantity, system
from towscope.commands.rigging import RigName
from towscope.errors import InputError

if TYPE_CHECKING:
    from towscope.calibration.readings import Reading
    from towscope.tackle.shelf import Shelf

ReadingsFile = Annotated[
    str,
    typer.Argument(
        metavar="[READINGS]",
        help='A table "time,rig,let_out [ft],speed [mph],bottom_depth [ft],kind[,error [ft]]"; '
        "kind is bottom hit, soft bottom hit, first bottom hit, miss, recorder or sonar mark. "
        "Or `journal`: the bottom hits in yours.",
    ),
]
Show = Annotated[bool, typer.Option("--show", help="Show this rig's saved readings; add none.")]
Forget = Annotated[bool, typer.Option("--forget", help="Take this rig's readings out again.")]
Since = Annotated[
    str, typer.Option("--since", help="Leave out this rig's readings before a date: 2026-08-20.")
]
TrackOf = Annotated[
    Path | None,
    typer.Option("--track", help="The boat's track: where the lure was, and how it had turned."),
]
Lake = Annotated[
    str, typer.Option("--lake", help="A saved lake: its bottom under the lure, with --track.")
]
Deepest = Annotated[
    str,
    typer.Option("--deepest", help='Deepest bottom you could take a reading over next: "45 ft".'),
]
Dry = Annotated[bool, typer.Option("--dry-run", help="Show what the readings say; save nothing.")]
Picture = Annotated[
    Path | None, typer.Option("-o", "--output", help="Write a picture: .png, .svg or .pdf.")
]
MANY = 300
ENDINGS = (".png", ".svg", ".pdf")


def register(app: typer.Typer) -> None:
    """Add this command to the application."""
    app.command()(calibrate)


def calibrate(
    rig: RigName,
    readings: ReadingsFile = "",
    show: Show = False,
    forget: Forget = False,
    since: Since = "",
    track: TrackOf = None,
    lake: Lake = "",
    tip: Annotated[
        str,
        typer.Option("--tip", help='Rod tip from where fixes are taken: "5 ft to port, 8 ft aft".'),
    ] = "",
    deepest: Deepest = "60 ft",
    dry_run: Dry = False,
    tackle: Tackle = None,
    output: Picture = None,
    units: Units = "us",
    as_json: Json = False,
) -> None:
    """Learn from bottom hits how this line and lure run; every later answer uses it."""
    from towscope.calibration import store
    from towscope.tackle import load

    shown = system(units)
    _check_words(readings, show, forget, track, lake, output)
    deepest_m = quantity(deepest, "length", "--deepest")
    shelf = load(tackle or ())
    shelf.rig(rig)
    if forget:
        _forget(rig, shelf, as_json)
        return
    from towscope.calibration.calibrate import any_of, later, weigh

    old = store.readings_of(store.load())
    new: list[Reading] = []
    notes: list[str] = []
    if readings:
        new, notes = _new_readings(readings, rig, shelf, track, lake, tip)
    if since:
        old, new = (later(group, rig, since) for group in (old, new))
    every = store.join(old, new)
    if not every or (show and not any_of(every, rig, shelf)):
        raise InputError(
            f"no saved readings of {rig}; expected `towscope calibrate {rig} READINGS`"
        )
    with _busy(len(every)):
        weighed = weigh(rig, every, shelf, deepest=deepest_m)
    found, posterior = weighed.found, weighed.posterior
    notes += weighed.notes
    written = None if show or dry_run else str(weighed.keep())
    if output is not None:
        from towscope.files import write_whole
        from towscope.sheets.calibration import picture

        write_whole(output, picture(found, posterior, shown, output.suffix.lower()[1:]))
    if as_json:
        from towscope.sheets.findings import as_dict

        answer = as_dict(found, posterior, len(new), notes)
        picture_at = None if output is None else str(output)
        emit({**answer, "written": written, "picture": picture_at})
        return
    from towscope.sheets.calibrated import summary

    for text in summary(found, shown, len(new), notes, kept=written is not None):
        console().print(text)
    if output is not None:
        echo(f"wrote {output}")


def _check_words(
    readings: str, show: bool, forget: bool, track: Path | None, lake: str, output: Path | None
) -> None:
    if output is not None and output.suffix.lower() not in ENDINGS:
        raise InputError(f"-o {output}: expected a name that ends in {', '.join(ENDINGS)}")
    if sum((bool(readings), show, forget)) != 1:
        raise InputError("expected READINGS, --show or --forget: one of them")
    if lake and track is None and readings != "journal":
        raise InputError("--lake needs --track: without it nobody knows where the lure was")


def _new_readings(
    readings: str, rig: str, shelf: Shelf, track: Path | None, lake: str, tip: str
) -> tuple[list[Reading], list[str]]:
    from towscope.calibration.calibrate import tows_of
    from towscope.calibration.readings import load_readings
    from towscope.calibration.readings_from_journal import (
        bottom_of,
        journal_readings,
        place_readings,
    )

    tow_of = tows_of(shelf)
    bottom = bottom_of(lake) if lake else None
    mount = mount_of(tip, "--tip") if tip else (0.0, 0.0)
    if readings == "journal" and not Path(readings).exists():
        from towscope.commands.journalling import store_at

        with store_at("", create=False) as store:
            return journal_readings(store, rig, shelf, tow_of, bottom, mount)
    read = load_readings(Path(readings), rig, tow_of, speeds_known=track is None)
    named = [replace(m, lure=m.lure or shelf.rig(m.rig).lure) for m in read]
    if track is None:
        return named, []
    from towscope.boat.clean import clean
    from towscope.boat.read import read_fixes

    way = clean(read_fixes(track))
    return place_readings(named, way, tow_of, bottom, mount), list(way.repairs)


def _busy(readings: int) -> Any:
    """Show that work is going on, where there is much of it."""
    from contextlib import nullcontext

    terminal = console(stderr=True)
    if readings < MANY or not terminal.is_terminal:
        return nullcontext()
    return terminal.status(f"weighing {readings:,} readings; some thousand take a minute or two")


def _forget(rig: str, shelf: Shelf, as_json: bool) -> None:
    from towscope.calibration.calibrate import forget

    gone, left = forget(rig, shelf)
    if as_json:
        emit({"rig": rig, "forgotten_readings": gone, "readings_left": left})
        return
    rest = f"; {left} of other rigs stay" if left else ""
    echo(f"forgot {gone} readings of {rig}{rest}")
