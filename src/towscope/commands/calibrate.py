"""Command about what readings teach of a rig: calibrate."""

from __future__ import annotations

from contextlib import ExitStack, nullcontext
from pathlib import Path
from typing import Annotated, Any

import typer

from towscope.commands.common import Json, Tackle, Units, console, echo, emit, system
from towscope.commands.rigging import RigName
from towscope.errors import InputError

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
    from towscope.answers import calibrate as answers

    shown = system(units)
    _check_words(readings, show, forget, output)
    if forget:
        _forget(rig, tackle, as_json)
        return
    with ExitStack() as open_:
        journal = None
        if readings == answers.JOURNAL and not Path(readings).exists():
            from towscope.commands.journalling import store_at

            journal = open_.enter_context(store_at("", create=False))
        open_.enter_context(_busy())
        answer = answers.calibrate(
            rig,
            readings or None,
            since=since or None,
            track=track,
            lake=lake or None,
            tip=tip or None,
            deepest=deepest,
            tackle=tackle or (),
            journal=journal,
        )
    written = None if show or dry_run else str(answer.save())
    if output is not None:
        from towscope.files import write_whole
        from towscope.sheets.calibration import draw

        kind = output.suffix.lower()[1:]
        write_whole(output, draw(answer.found, answer.weighed.posterior, shown, kind))
    if as_json:
        picture_at = None if output is None else str(output)
        emit({**answer.to_dict(), "written": written, "picture": picture_at})
        return
    from towscope.sheets.calibrated import summary

    new, notes = answer.readings_new, list(answer.notes)
    for text in summary(answer.found, shown, new, notes, kept=written is not None):
        console().print(text)
    if output is not None:
        echo(f"wrote {output}")


def _check_words(readings: str, show: bool, forget: bool, output: Path | None) -> None:
    if output is not None and output.suffix.lower() not in ENDINGS:
        raise InputError(f"-o {output}: expected a name that ends in {', '.join(ENDINGS)}")
    if sum((bool(readings), show, forget)) != 1:
        raise InputError("expected READINGS, --show or --forget: one of them")


def _busy() -> Any:
    """Show that work is going on."""
    terminal = console(stderr=True)
    if not terminal.is_terminal:
        return nullcontext()
    return terminal.status("weighing the readings; some thousand take a minute or two")


def _forget(rig: str, tackle: list[Path] | None, as_json: bool) -> None:
    from towscope.calibration.calibrate import forget
    from towscope.tackle import load

    shelf = load(tackle or ())
    shelf.rig(rig)
    gone, left = forget(rig, shelf)
    if as_json:
        emit({"rig": rig, "forgotten_readings": gone, "readings_left": left})
        return
    rest = f"; {left} of other rigs stay" if left else ""
    echo(f"forgot {gone} readings of {rig}{rest}")
