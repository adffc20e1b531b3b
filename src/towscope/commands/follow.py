"""Command about a day's track: follow."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from towscope.commands.common import Json, Tackle, Units, console, echo, emit, system
from towscope.commands.rigging import Lure, Out, RigName, Uncalibrated, WaterTemperature, rig_of
from towscope.errors import InputError
from towscope.progress import Progress, unheard

if TYPE_CHECKING:
    from towscope.answers.follow import FollowAnswer
    from towscope.units import System

ENDINGS = (".png", ".svg", ".pdf", ".csv", ".json")

TrackFile = Annotated[
    str,
    typer.Argument(
        metavar="TRACK",
        help="The boat's track: GPX, an NMEA 0183 log, or a table with time_s,x_m,y_m or "
        "time,lat,lon; `demo` for the demo hour.",
    ),
]
Every = Annotated[str, typer.Option("--every", help='Time between the moments given: "1s".')]
MovingCurrent = Annotated[
    str,
    typer.Option(
        "--current",
        help='Current: "0.3 mph from west", "from 240 deg", "to NE"; by depth: '
        '"0.4 mph to east at 0 ft, 0 mph at 30 ft"; "with", "against", "from port" or "from '
        'starboard" are meant for the first course.',
    ),
]
Tip = Annotated[
    str,
    typer.Option(
        "--tip", help='Rod tip from where the fixes are taken: "5 ft to port, 8 ft behind".'
    ),
]
Bottom = Annotated[str, typer.Option("--bottom", help='Depth of a level bottom: "40 ft".')]
LakeName = Annotated[str, typer.Option("--lake", metavar="NAME", help="A saved lake: its bottom.")]
Keep = Annotated[
    str,
    typer.Option("--keep", help="Find the most line that stays this far off bottom all along."),
]
OutFile = Annotated[
    Path | None,
    typer.Option("-o", "--output", help="Write a picture (.png, .svg, .pdf), .csv or .json."),
]


def register(app: typer.Typer) -> None:
    """Add this command to the application."""
    app.command()(follow)


def follow(
    rig: RigName,
    track: TrackFile,
    out: Out,
    tackle: Tackle = None,
    lure: Lure = "",
    current: MovingCurrent = "",
    water: WaterTemperature = "",
    uncalibrated: Uncalibrated = False,
    every: Every = "1s",
    tip: Tip = "",
    bottom: Bottom = "",
    lake: LakeName = "",
    keep: Keep = "",
    output: OutFile = None,
    units: Units = "us",
    as_json: Json = False,
) -> None:
    """Where the lure ran behind a recorded track: how deep, how sure, and why."""
    from towscope.demo.track import demo_fixes

    shown = system(units)
    if output is not None and output.suffix.lower() not in ENDINGS:
        raise InputError(f"-o {output}: expected a name that ends in {', '.join(ENDINGS)}")
    is_demo = track == "demo" and not Path(track).exists()
    with _progress() as told:
        answer = rig_of(rig, tackle, lure, water, uncalibrated).follow(
            demo_fixes() if is_demo else track,
            out,
            every=every,
            current=current or None,
            tip=tip or None,
            bottom=bottom or None,
            lake=lake or None,
            keep=keep or None,
            name="the demo hour" if is_demo else None,
            progress=told,
        )
    if output is not None:
        _write(output, answer, shown)
    if as_json:
        emit({**answer.to_dict(), **({} if output is None else {"written": str(output)})})
        return
    from towscope.sheets.followed import summary

    if output is not None:
        echo(f"wrote {output}")
    for text in summary(answer, shown):
        console().print(text)


def _progress() -> Any:
    """Show how far it is, on a terminal and where it takes a while."""
    import contextlib
    import sys
    import time
    from collections.abc import Iterator

    @contextlib.contextmanager
    def bar() -> Iterator[Progress]:
        if not sys.stderr.isatty():
            yield unheard
            return
        begun = time.monotonic()
        drawn = False

        def told(share: float, doing: str) -> None:
            nonlocal drawn
            if time.monotonic() - begun > 1.0:
                sys.stderr.write(f"\r{doing}: {share * 100:3.0f} %")
                sys.stderr.flush()
                drawn = True

        yield told
        if drawn:
            sys.stderr.write("\r" + " " * 20 + "\r")

    return bar()


def _write(output: Path, answer: FollowAnswer, shown: System) -> None:
    from towscope.files import write_whole

    ending = output.suffix.lower()
    if ending == ".json":
        import json

        data = json.dumps(answer.to_dict(), ensure_ascii=False).encode()
    elif ending == ".csv":
        from towscope.sheets.followed import as_csv

        data = as_csv(answer.track, answer.way).encode()
    else:
        from towscope.sheets.follow import draw

        bottom = answer.level_m if answer.bottom_m is None else answer.bottom_m
        data = draw(answer.rig, answer.name, answer.track, answer.way, shown, ending[1:], bottom)
    write_whole(output, data)
