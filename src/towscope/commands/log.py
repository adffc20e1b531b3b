"""`towscope log`: what just happened, in a few words."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from towscope.commands.common import Json, Tackle, Units, console, emit, system
from towscope.commands.journalling import Place, journal_at
from towscope.errors import InputError

HELP = """Log what just happened, in a few words.

out port rig demo 170 ft  |  lure port small-spoon silver  |  change port 180 ft  |  in port, in all

catch port 21.5in released walleye lip  |  miss port  |  hit bottom port 31ft  |  sonar 31ft x3

sky cloudy  |  wind 8 mph NW  |  temp 71F  |  clarity 9ft  |  note WORDS

undo  |  redo  |  undo ID  |  fix last 22in  |  fix ID at 7:40am

A time may stand anywhere: "10 min ago", "7:40am", "yesterday 18:30".
"""


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command("log", help=HELP)
    def log(
        words: Annotated[list[str] | None, typer.Argument(metavar="WORDS...")] = None,
        rig: Annotated[str, typer.Option("--rig", help="The rig on the rod.")] = "",
        lure: Annotated[str, typer.Option("--lure", help="The lure on it.")] = "",
        colour: Annotated[str, typer.Option("--colour", "--color", help="Its colour.")] = "",
        out: Annotated[str, typer.Option("--out", help='Line out: "170 ft", "4.5 colors".')] = "",
        at: Annotated[str, typer.Option("--at", help='When: "10 min ago", "7:40am".')] = "",
        by: Annotated[str, typer.Option("--by", help="Who of the crew.")] = "",
        lat: Annotated[float | None, typer.Option("--lat", help="Where [deg].")] = None,
        lon: Annotated[float | None, typer.Option("--lon", help="Where [deg].")] = None,
        file: Annotated[
            Path | None,
            typer.Option("--file", help="Read lines of words, a time first in each; all or none."),
        ] = None,
        day: Annotated[str, typer.Option("--day", help="The day the file's times are of.")] = "",
        anyway: Annotated[
            bool, typer.Option("--anyway", help="Log what does not fit anyway, flagged.")
        ] = False,
        tackle: Tackle = None,
        journal: Place = "",
        units: Units = "us",
        as_json: Json = False,
    ) -> None:
        system(units)
        said = " ".join(words or ())
        if file is not None and any((words, rig, lure, colour, out, by)):
            raise InputError("either words or --file, not both")
        with journal_at(journal, tackle) as book:
            found = book.log(
                lines_in(file) if file is not None else said,
                at=at, day=day, lat=lat, lon=lon, anyway=anyway,
                rig=rig, lure=lure, colour=colour, out=out, by=by,
            )  # fmt: skip
        if as_json:
            emit(found.to_dict())
            return
        screen = console()
        for line in found.lines:
            screen.print(line, soft_wrap=True)


def lines_in(path: Path) -> list[str]:
    """Read a file of lines of words."""
    from towscope.journal.entry_writer import lines_of

    return lines_of(path)
