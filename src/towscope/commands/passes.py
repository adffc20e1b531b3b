"""Command about passes: how to run the boat so that the lure follows an edge."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any, Final

import typer

from towscope.commands.common import Json, Tackle, Units, console, emit, system, telling
from towscope.commands.rigging import Lure, Speed, Uncalibrated, WaterTemperature, rig_of
from towscope.files import writable

ENDINGS: Final = (".gpx", ".geojson", ".json", ".pdf", ".png", ".svg")


def passes(
    name: Annotated[str, typer.Argument(metavar="NAME", help="The lake's name.")],
    depth: Annotated[str, typer.Option("--depth", help='Depth of the edge: "31 ft", "9.5 m".')],
    off_bottom: Annotated[
        str, typer.Option("--off-bottom", help='Height of the lure above the bottom: "3 ft".')
    ],
    rig: Annotated[str, typer.Option("--rig", help="A rig's name; `towscope stock` lists.")],
    speed: Speed,
    wind: Annotated[
        str, typer.Option("--wind", help='Where it blows from, and how hard: "SW, 8 mph"; "calm".')
    ],
    out_max: Annotated[str, typer.Option("--out-max", help='Most line out: "200 ft".')] = "",
    count: Annotated[int, typer.Option("--count", help="Most passes.")] = 3,
    risk: Annotated[
        str,
        typer.Option(
            "--risk", help='Raise the lure until it hits bottom no likelier than this: "10%".'
        ),
    ] = "",
    outside: Annotated[
        str,
        typer.Option("--outside", help='Run this far to the deep side of the edge: "15 ft".'),
    ] = "",
    turn: Annotated[
        str, typer.Option("--turn", help='Tightest bend of the line the lure follows: "100 ft".')
    ] = "",
    shortest: Annotated[str, typer.Option("--shortest", help="Shortest pass.")] = "60 m",
    current: Annotated[
        str, typer.Option("--current", help='Current over ground: "0.2 mph from west".')
    ] = "",
    tip: Annotated[
        str, typer.Option("--tip", help='Rod tip from the receiver: "5 ft to port, 8 ft behind".')
    ] = "",
    tackle: Tackle = None,
    lure: Lure = "",
    water: WaterTemperature = "",
    uncalibrated: Uncalibrated = False,
    output: Annotated[
        Path | None,
        typer.Option(
            "-o",
            "--output",
            help="Write .gpx, .geojson, .json, a page (.pdf) or a map (.png, .svg).",
        ),
    ] = None,
    units: Units = "us",
    as_json: Json = False,
) -> None:
    """Plan passes that put the lure on an edge: the boat's way, the line, the turns, the risk."""
    import towscope as ts

    shown = system(units)
    if output is not None:
        writable(output, ENDINGS)
    wanted: dict[str, Any] = {
        "count": count, "risk": risk, "outside": outside, "out_max": out_max, "turn": turn,
        "shortest": shortest, "current": current, "tip": tip,
    }  # fmt: skip
    ask: dict[str, Any] = {
        "depth": depth, "off_bottom": off_bottom, "speed": speed, "wind": wind,
    } | {name: value for name, value in wanted.items() if value != ""}  # fmt: skip
    with telling(quiet=as_json) as progress:
        on = rig_of(rig, tackle, lure, water, uncalibrated)
        found = ts.Lake(name).passes(on, progress=progress, **ask)
        if output is not None:
            progress(1.0, f"writing {output.name}")
            found.save(output)
    if as_json:
        emit(found.to_dict())
        return
    from towscope.sheets.passes import report

    out = console()
    for part in report(found, shown):
        out.print(part)
    if output is not None:
        out.print(f"\n{output} written")
