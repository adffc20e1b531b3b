"""The command about several lines at once: spread."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from towscope.commands.common import Json, Tackle, Units, console, echo, emit, system
from towscope.commands.rigging import Uncalibrated, WaterTemperature
from towscope.errors import InputError, one_line

SpreadName = Annotated[Path, typer.Argument(metavar="FILE", help="A spread file, or `demo`.")]


def register(app: typer.Typer) -> None:
    """Add this command to the application."""
    app.command()(spread)


def spread(
    file: SpreadName,
    turn: Annotated[
        str, typer.Option("--turn", help='Radius and side of a turn: "60 ft to port".')
    ] = "",
    through: Annotated[
        str, typer.Option("--through", help='Angle of the turn; "180 deg" if left out.')
    ] = "",
    speed: Annotated[str, typer.Option("--speed", help="Another speed than the file's.")] = "",
    bottom: Annotated[
        str, typer.Option("--bottom", help='Depth of the water, to check for bottom hits: "60 ft".')
    ] = "",
    apart: Annotated[
        str, typer.Option("--apart", help="How far apart the lines must stay, this once.")
    ] = "",
    draws: Annotated[
        int, typer.Option("--draws", help="How many what-if runs; 1: best estimate only.")
    ] = 24,
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", help="Write a picture, from above and the side: .png."),
    ] = None,
    tackle: Tackle = None,
    water: WaterTemperature = "",
    uncalibrated: Uncalibrated = False,
    units: Units = "us",
    as_json: Json = False,
) -> None:
    """Check several lines for tangles on a run and in a turn, and say what to change."""
    shown = system(units)
    if output is not None and output.suffix.lower() != ".png":
        raise InputError(f"-o {one_line(output, 80)}: expected a name that ends in .png")
    from towscope.answers.spread import spread as ask

    with _busy(as_json):
        answer = ask(
            file,
            turn=turn or None,
            through=through or None,
            speed=speed or None,
            bottom=bottom or None,
            apart=apart or None,
            draws=draws,
            water=water or None,
            calibrated=not uncalibrated,
            tackle=tackle or (),
        )
    if output is not None:
        from towscope.files import write_whole
        from towscope.sheets.spread_drawing import draw

        write_whole(output, draw(answer, shown))
    if as_json:
        emit({**answer.to_dict(), "written": str(output) if output is not None else None})
        return
    from towscope.sheets.spread import report

    for part in report(answer, shown):
        console().print(part)
    if output is not None:
        echo(f"wrote {output}")


def _busy(quiet: bool) -> Any:
    from contextlib import nullcontext

    terminal = console(stderr=True)
    if quiet or not terminal.is_terminal:
        return nullcontext()
    return terminal.status("simulating the spread")
