"""Command about passes: how to run the boat so that the lure follows an edge."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from towscope.commands.common import Json, Tackle, Units, console, emit, quantity, system
from towscope.commands.rigging import Lure, Speed, Uncalibrated, WaterTemperature
from towscope.compass import bearing
from towscope.errors import InputError
from towscope.files import folder_there

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from towscope.bed.bed import Bed
    from towscope.passes.candidates import Wind
    from towscope.passes.passes import Pass, Wishes
    from towscope.passes.planning import Ask
    from towscope.units import System

ENDINGS = (".gpx", ".geojson", ".json", ".pdf", ".png", ".svg")


def passes(
    name: Annotated[str, typer.Argument(metavar="NAME", help="The lake's name.")],
    depth: Annotated[str, typer.Option("--depth", help='Depth of the edge: "31 ft", "9.5 m".')],
    clearance: Annotated[
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
    shown = system(units)
    if output is not None and output.suffix.lower() not in ENDINGS:
        raise InputError(f'-o "{output.name}": expected a name ending in {", ".join(ENDINGS)}')
    if output is not None:
        folder_there(output)
    from towscope.bed import store
    from towscope.commands.rigging import depth_of, tow_for
    from towscope.passes.planning import MOST

    if not 1 <= count <= MOST:
        raise InputError(f"--count {count}: expected 1 to {MOST}")

    deep = depth_of(depth)
    blowing = wind_of(wind)
    wishes = _wishes(clearance, speed, out_max, risk, outside, current, tip, shown)
    if wishes.clearance >= deep:
        raise InputError(
            f'--off-bottom "{clearance}": expected less than the depth of the edge, {depth}'
        )
    ask = _ask(deep, blowing, wishes, count, turn, shortest)
    _, tow = tow_for(rig, tackle, lure, water, uncalibrated)
    from towscope.commands.lake import _telling
    from towscope.passes import planning

    with _telling(quiet=as_json) as told:
        told("reading the lake")
        bed = store.load(name)
        said = str(bed.facts.get("name", name))
        found = planning.planned(
            bed,
            tow,
            ask,
            lake=said,
            rig=rig,
            told=lambda share, line: told(f"{share:.0%}: {line}"),
            length=lambda v: shown.show(v, "length"),
        )
        planned, left_out, answer = found.passes, found.left_out, found.figures
        if output is not None:
            told(f"writing {output.name}")
            from towscope.sheets.passes import title

            heading = title(said, rig, deep, wishes, shown)
            _write(output, bed, planned, left_out, answer, heading, wishes, blowing, shown)
    if as_json:
        emit(answer)
        return
    from towscope.sheets.passes import report, title

    out = console()
    heading = title(said, rig, deep, wishes, shown)
    for part in report(planned, left_out, heading, wishes, bed.place, shown):
        out.print(part)
    if output is not None:
        out.print(f"\n{output} written")


def wind_of(text: str) -> Wind:
    """Read a wind: where from, and how hard."""
    from towscope.passes.candidates import Wind
    from towscope.units import parse_wind

    if text.strip().lower() in ("calm", "none", "0"):
        return Wind(0.0, 0.0)
    parts = [p.strip() for p in text.split(",")]
    expected = (
        f'--wind "{text}": expected a direction and a speed, "SW, 8 mph", "SW, 3 bft" or '
        '"240, 3 m/s" (0 to 360 degrees)'
    )
    if len(parts) != 2 or not all(parts):
        raise InputError(expected)
    side, hard = parts
    source = bearing(re.sub(r"(?i)^from\s+", "", side))
    if source is None:
        raise InputError(expected)
    try:
        strength = parse_wind(hard)
    except InputError as error:
        raise InputError(f"--wind: {error}") from None
    if not 0.0 <= strength <= 40.0:
        raise InputError(f'--wind "{text}": expected a speed of 0 to 40 m/s')
    return Wind(source, strength)


def _wishes(
    clearance: str,
    speed: str,
    out_max: str,
    risk: str,
    outside: str,
    current: str,
    tip: str,
    shown: System,
) -> Wishes:
    import math

    from towscope.commands.afloat import mount_of
    from towscope.commands.rigging import speed_of
    from towscope.passes.passes import SAFE, Wishes
    from towscope.passes.steering import Hand

    height = quantity(clearance, "length", "--off-bottom")
    if not 0.05 <= height <= 100.0:
        raise InputError(f'--off-bottom "{clearance}": expected 0.2 to 300 ft')
    limit = quantity(risk, "ratio", "--risk") if risk else SAFE
    if not 0.005 <= limit <= 0.9:
        raise InputError(f'--risk "{risk}": expected 0.5 % to 90 %')
    most = quantity(out_max, "length", "--out-max") if out_max else math.inf
    if not most >= 5.0:
        raise InputError(f'--out-max "{out_max}": expected 5 m (16 ft) or more')
    side = quantity(outside, "length", "--outside") if outside else 0.0
    if not 0.0 <= side <= 100.0:
        raise InputError(f'--outside "{outside}": expected 0 to 300 ft')
    return Wishes(
        height,
        speed_of(speed),
        most_out=most,
        grain=shown.to_si(5.0, "length") if shown.name == "us" else 1.0,
        limit=limit,
        lower_risk=bool(risk),
        outside=side,
        hand=Hand(
            mount=mount_of(tip) if tip else (0.0, 0.0),
            current=_current(current) if current else None,
        ),
    )


def _current(text: str) -> npt.NDArray[np.float64]:
    from towscope.commands.afloat import current_over_ground

    # Passes go many ways: only a current by the compass means anything.
    if not re.search(r"\b(from|to|towards?)\b", text) or re.search(r"port|starboard", text):
        raise InputError(f'--current "{text}": expected it by the compass: "0.2 mph from west"')
    return current_over_ground(text, None)[0]  # type: ignore[arg-type]  # no track is looked at


def _ask(deep: float, blowing: Wind, wishes: Wishes, count: int, turn: str, shortest: str) -> Ask:
    from towscope.passes.planning import Ask

    least = quantity(shortest, "length", "--shortest")
    if not 30.0 <= least <= 5000.0:
        raise InputError(f'--shortest "{shortest}": expected 100 ft (30 m) or more')
    radius = quantity(turn, "length", "--turn") if turn else None
    if radius is not None and not 10.0 <= radius <= 1000.0:
        raise InputError(f'--turn "{turn}": expected 33 ft (10 m) to 3,300 ft')
    return Ask(deep, blowing, wishes, count, radius, least)


def _write(
    output: Path,
    bed: Bed,
    planned: list[Pass],
    left_out: list[str],
    answer: dict[str, Any],
    heading: str,
    wishes: Wishes,
    blowing: Wind,
    shown: System,
) -> None:
    import json

    from towscope.files import write_whole
    from towscope.formats.plain import plain
    from towscope.passes import files as files

    kind = output.suffix.lower()
    name = str(answer["lake"])
    reasons = [each.stretch.reason for each in planned]
    if kind == ".gpx":
        text = files.to_gpx(planned, bed.place, name, shown, reasons)
        write_whole(output, text.encode() + b"\n")
    elif kind == ".geojson":
        lines = files.to_geojson(planned, bed.place, name, answer)
        write_whole(output, json.dumps(lines, allow_nan=False).encode() + b"\n")
    elif kind == ".json":
        write_whole(output, json.dumps(plain(answer), indent=1, allow_nan=False).encode() + b"\n")
    elif kind == ".pdf":
        from towscope.sheets.passes import lead, page

        under = lead(bed, blowing, shown)
        write_whole(output, page(bed, planned, left_out, heading, under, wishes, shown))
    else:
        from towscope.sheets import lake_map
        from towscope.sheets.passes import map_of

        only = 1 if len(planned) == 1 else None
        lake_map.save(map_of(bed, planned, heading, shown, only=only), output)
