"""Commands about one rig: letout, depth, speed, table, reel, stock."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from towscope import arguments
from towscope.commands.common import Json, Tackle, Units, console, echo, emit, system
from towscope.commands.rigging import (
    Current,
    Depth,
    Lure,
    Out,
    RigName,
    Speed,
    Uncalibrated,
    WaterTemperature,
    rig_of,
)
from towscope.errors import InputError

if TYPE_CHECKING:
    from towscope.answers.rig import Rig
    from towscope.answers.steady import LetOutTable, RigAnswer
    from towscope.units import System

OutFile = Annotated[
    Path | None, typer.Option("-o", "--output", help="Write to a file: .pdf, .csv or .json.")
]


def register(app: typer.Typer) -> None:
    """Add these commands to the application."""
    app.command()(letout)
    app.command()(depth)
    app.command()(speed)
    app.command()(table)
    app.command()(reel)
    app.command()(stock)


def letout(
    rig: RigName,
    depth: Depth,
    speed: Speed,
    tackle: Tackle = None,
    lure: Lure = "",
    current: Current = "",
    water: WaterTemperature = "",
    uncalibrated: Uncalibrated = False,
    units: Units = "us",
    as_json: Json = False,
) -> None:
    """How much line to let out for this depth at this speed."""
    shown = system(units)
    asked = rig_of(rig, tackle, lure, water, uncalibrated)
    answer = asked.let_out(depth, speed, current=current)
    if as_json:
        emit(answer.to_dict())
        return
    _print(
        asked,
        answer,
        shown,
        f"{shown.show(answer.depth_m, 'length')} down at {shown.show(answer.speed_m_s, 'speed')}",
        f"Let out {shown.show(answer.let_out_m, 'length')}",
        f"It takes {shown.range(*answer.let_out_90_m, 'length')}",
    )


def depth(
    rig: RigName,
    out: Out,
    speed: Speed,
    tackle: Tackle = None,
    lure: Lure = "",
    current: Current = "",
    water: WaterTemperature = "",
    uncalibrated: Uncalibrated = False,
    units: Units = "us",
    as_json: Json = False,
) -> None:
    """How deep the lure runs with this much line out at this speed."""
    shown = system(units)
    asked = rig_of(rig, tackle, lure, water, uncalibrated)
    answer = asked.depth(out, speed, current=current)
    if as_json:
        emit(answer.to_dict())
        return
    _print(
        asked,
        answer,
        shown,
        f"{shown.show(answer.let_out_m, 'length')} out at {shown.show(answer.speed_m_s, 'speed')}",
        f"It runs {shown.show(answer.depth_m, 'length')} down",
        f"{shown.range(*answer.depth_90_m, 'length')} down",
    )


def speed(
    rig: RigName,
    out: Out,
    depth: Depth,
    tackle: Tackle = None,
    lure: Lure = "",
    current: Current = "",
    water: WaterTemperature = "",
    uncalibrated: Uncalibrated = False,
    units: Units = "us",
    as_json: Json = False,
) -> None:
    """How fast to go for this depth with this much line out."""
    shown = system(units)
    asked = rig_of(rig, tackle, lure, water, uncalibrated)
    answer = asked.speed(depth, out, current=current)
    if as_json:
        emit(answer.to_dict())
        return
    assert answer.speed_90_m_s is not None
    others = ", ".join(shown.show(v, "speed") for v in answer.other_speeds_m_s or ())
    wanted = arguments.depth(depth)
    _print(
        asked,
        answer,
        shown,
        f"{shown.show(wanted, 'length')} down with {shown.show(answer.let_out_m, 'length')} out",
        f"Go {shown.show(answer.speed_m_s, 'speed', 2)}",
        f"It takes {shown.range(*answer.speed_90_m_s, 'speed')}",
        f"(or {others})" if others else "",
    )


def _print(
    rig: Rig,
    answer: RigAnswer,
    shown: System,
    asked: str,
    headline: str,
    sure: str,
    beside: str | None = None,
) -> None:
    """Draw an answer; beside the headline the line out as it is counted, or else `beside`."""
    from towscope.sheets.terminal import panel
    from towscope.tackle.counting import count

    counted = count(rig.tow, answer.let_out_m).words(shown) if beside is None else beside
    console().print(panel(f"{rig.name}: {asked}", headline, counted, rig, answer, shown, sure))


def table(
    rig: RigName,
    depths: Annotated[
        str, typer.Option("--depths", help='Depths down: "10 to 40 ft by 5", "12, 18, 24 ft".')
    ] = "",
    speeds: Annotated[
        str, typer.Option("--speeds", help='Speeds across: "1.4 to 2.6 mph by 0.2".')
    ] = "",
    depth: Annotated[str, typer.Option("--depth", help="Mark the cell of this depth...")] = "",
    speed: Annotated[str, typer.Option("--speed", help="...and this speed.")] = "",
    tackle: Tackle = None,
    lure: Lure = "",
    current: Current = "",
    water: WaterTemperature = "",
    uncalibrated: Uncalibrated = False,
    output: OutFile = None,
    units: Units = "us",
    as_json: Json = False,
) -> None:
    """Line out for every depth and speed; -o sheet.pdf makes a sheet to laminate."""
    from towscope.sheets.table import default_depths, default_speeds, progress

    shown = system(units)
    if output is not None and output.suffix.lower() not in (".pdf", ".csv", ".json"):
        raise InputError(f"-o {output}: expected a name that ends in .pdf, .csv or .json")
    down = arguments.series(depths or default_depths(shown), "length", "depths")
    across = arguments.series(speeds or default_speeds(shown), "speed", "speeds")
    mark = (arguments.depth(depth), arguments.speed(speed)) if depth and speed else None
    asked = rig_of(rig, tackle, lure, water, uncalibrated)
    with progress(len(down) * len(across)):
        answer = asked.table(down, across, current=current)
    if output is not None:
        _write_table(output, asked, answer, shown)
    if as_json:
        emit(answer.to_dict() if output is None else {"rig": rig, "written": str(output)})
    elif output is not None:
        echo(f"wrote {output}")
    else:
        from towscope.sheets.terminal import table_grid

        console().print(table_grid(asked, answer, shown, f"{rig}: line out", mark))


def _write_table(output: Path, rig: Rig, answer: LetOutTable, shown: System) -> None:
    from towscope.files import write_whole

    ending = output.suffix.lower()
    if ending == ".pdf":
        from towscope.sheets.laminate import sheet

        data = sheet(rig, answer, shown)
    elif ending == ".csv":
        from towscope.sheets.table import as_csv

        data = as_csv(answer, shown).encode()
    else:
        import json

        data = json.dumps(answer.to_dict(), indent=2).encode()
    write_whole(output, data)


def reel(
    name: Annotated[str, typer.Argument(metavar="REEL", help="A reel's name in the tackle.")],
    rig: Annotated[str, typer.Argument(metavar="RIG", help="The rig to wind on it.")],
    out: Annotated[
        str, typer.Option("--out", help="What a counter shows with this much line out.")
    ] = "",
    counter: Annotated[
        str, typer.Option("--counter", help="What the counter showed for that --out, measured.")
    ] = "",
    tackle: Tackle = None,
    units: Units = "us",
    as_json: Json = False,
) -> None:
    """Check a reel: does the line fit, how much backing, how far the counter is off."""
    from towscope.sheets.reel import report

    shown = system(units)
    wound = rig_of(rig, tackle, uncalibrated=True)
    let_out = arguments.let_out(out, wound.tow) if out else None
    if counter and let_out is None:
        raise InputError("--counter needs --out, the line really out when the counter was read")
    read = arguments.let_out(counter, wound.tow, "counter") if counter else None
    answer, words = report(wound.shelf, wound.tow, name, rig, let_out, read, shown)
    if as_json:
        emit(answer)
    else:
        echo(words)


def stock(
    kind: Annotated[
        str, typer.Argument(metavar="[KIND]", help="rigs, lures, lines or reels; all if left out.")
    ] = "",
    tackle: Tackle = None,
    units: Units = "us",
    as_json: Json = False,
) -> None:
    """List rigs, lures, lines and reels, and where their figures come from."""
    from towscope.sheets.stock import listing
    from towscope.tackle import load

    shown = system(units)
    kinds = ("rigs", "lures", "lines", "reels")
    if kind and kind not in kinds:
        raise InputError(f'"{kind}": expected one of {", ".join(kinds)}')
    shelf = load(tackle or ())
    chosen = (kind,) if kind else kinds
    if as_json:
        emit(
            {
                k: {name: part.model_dump() for name, part in getattr(shelf, k).items()}
                for k in chosen
            }
        )
        return
    for grid in listing(shelf, chosen, shown):
        console().print(grid)
