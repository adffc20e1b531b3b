"""Commands about one rig: letout, depth, speed, table, reel, stock."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

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
    depth_of,
    let_out_of,
    quick_tow,
    series_of,
    setting_of,
    speed_of,
    tow_for,
)
from towscope.errors import InputError

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
    from towscope.towing.questions import let_out_for

    shown = system(units)
    wanted, setting = depth_of(depth), setting_of(speed, current)
    tow = quick_tow(rig, tackle, lure, water, uncalibrated)
    answer = let_out_for(tow, wanted, setting)
    if as_json:
        from towscope.rig_answers import rig_answer

        emit(rig_answer(rig, tow, answer, setting).to_dict())
        return
    from towscope.sheets.terminal import panel
    from towscope.tackle.counting import count

    where = answer.where
    console().print(
        panel(
            f"{rig}: {shown.show(wanted, 'length')} down at {shown.show(setting.speed, 'speed')}",
            f"Let out {shown.show(where.let_out, 'length')}",
            count(tow, where.let_out).words(shown),
            tow,
            answer,
            setting,
            shown,
            f"It takes {shown.range(*answer.let_out_90, 'length')}",
        )
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
    from towscope.towing.questions import depth_of as ask

    shown = system(units)
    setting = setting_of(speed, current)
    tow = quick_tow(rig, tackle, lure, water, uncalibrated)
    let_out = let_out_of(out, tow)
    answer = ask(tow, let_out, setting)
    if as_json:
        from towscope.rig_answers import rig_answer

        emit(rig_answer(rig, tow, answer, setting).to_dict())
        return
    from towscope.sheets.terminal import panel
    from towscope.tackle.counting import count

    console().print(
        panel(
            f"{rig}: {shown.show(let_out, 'length')} out at {shown.show(setting.speed, 'speed')}",
            f"It runs {shown.show(answer.where.depth, 'length')} down",
            count(tow, let_out).words(shown),
            tow,
            answer,
            setting,
            shown,
            f"{shown.range(*answer.depth_90, 'length')} down",
        )
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
    from towscope.towing.questions import speed_for

    shown = system(units)
    wanted = depth_of(depth)
    tow = quick_tow(rig, tackle, lure, water, uncalibrated)
    let_out = let_out_of(out, tow)
    answer = speed_for(tow, let_out, wanted, setting_of("2 mph", current))
    setting = setting_of("2 mph", current).at_speed(answer.speed)
    if as_json:
        from towscope.rig_answers import rig_answer

        emit(
            {
                **rig_answer(rig, tow, answer, setting).to_dict(),
                "speed_90_m_s": answer.speed_90,
                "other_speeds_m_s": answer.other_speeds,
            }
        )
        return
    from towscope.sheets.terminal import panel

    others = ", ".join(shown.show(v, "speed") for v in answer.other_speeds)
    console().print(
        panel(
            f"{rig}: {shown.show(wanted, 'length')} down with {shown.show(let_out, 'length')} out",
            f"Go {shown.show(answer.speed, 'speed', 2)}",
            f"(or {others})" if others else "",
            tow,
            answer,
            setting,
            shown,
            f"It takes {shown.range(*answer.speed_90, 'speed')}",
        )
    )


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
    from towscope.rig_answers import let_out_table
    from towscope.sheets.table import as_csv, default_depths, default_speeds, progress
    from towscope.towing.questions import table as ask

    shown = system(units)
    if output is not None and output.suffix.lower() not in (".pdf", ".csv", ".json"):
        raise InputError(f"-o {output}: expected a name that ends in .pdf, .csv or .json")
    depth_list = series_of(depths, "length", "--depths") if depths else default_depths(shown)
    speed_list = series_of(speeds, "speed", "--speeds") if speeds else default_speeds(shown)
    for value in depth_list:
        depth_of(f"{value} m", "--depths")
    for value in speed_list:
        speed_of(f"{value} m/s", "--speeds")
    mark = (depth_of(depth), speed_of(speed)) if depth and speed else None
    setting = setting_of(f"{min(speed_list)} m/s", current)
    shelf, tow = tow_for(rig, tackle, lure, water, uncalibrated)
    with progress(len(depth_list) * len(speed_list)):
        result = ask(tow, depth_list, speed_list, setting)
    if as_json or (output is not None and output.suffix.lower() == ".json"):
        answer = let_out_table(rig, tow, result).to_dict()
        if output is None:
            emit(answer)
            return
    if output is None:
        from towscope.sheets.terminal import table_grid

        console().print(table_grid(tow, result, shown, f"{rig}: line out", mark))
        return
    from towscope.files import write_whole

    if output.suffix.lower() == ".pdf":
        from towscope.sheets.laminate import sheet

        data = sheet(rig, shelf, tow, result, setting, shown, lure)
    elif output.suffix.lower() == ".csv":
        data = as_csv(result, shown).encode()
    else:
        import json

        data = json.dumps(answer, indent=2).encode()
    write_whole(output, data)
    if as_json:
        emit({"rig": rig, "written": str(output)})
    else:
        echo(f"wrote {output}")


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
    shelf, tow = tow_for(rig, tackle)
    let_out = let_out_of(out, tow) if out else None
    if counter and let_out is None:
        raise InputError("--counter needs --out, the line really out when the counter was read")
    read = let_out_of(counter, tow, "--counter") if counter else None
    answer, words = report(shelf, tow, name, rig, let_out, read, shown)
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
