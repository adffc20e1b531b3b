"""The command about several lines at once: spread."""

from __future__ import annotations

import math
import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from towscope.commands.common import Json, Tackle, Units, console, echo, emit, quantity, system
from towscope.commands.rigging import (
    Uncalibrated,
    WaterTemperature,
    calibrated_tow,
    let_out_of,
    setting_of,
)
from towscope.errors import InputError, one_line

if TYPE_CHECKING:
    from towscope.spread.plan import Plan, Turn
    from towscope.tackle.shelf import Shelf

MAX_DRAWS = 256
_TURN = re.compile(r"\s*(?P<radius>.+?)\s+(?:to\s+)?(?P<side>port|starboard)\s*")

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
    if not 1 <= draws <= MAX_DRAWS:
        raise InputError(f"--draws {draws}: expected 1 to {MAX_DRAWS}")
    if output is not None and output.suffix.lower() != ".png":
        raise InputError(f"-o {one_line(output, 80)}: expected a name that ends in .png")
    if through and not turn:
        raise InputError("--through needs --turn, the radius and side of the turn")
    asked = turn_of(turn, through) if turn else None
    depth = _length(bottom, "--bottom", 0.5, 300.0) if bottom else None
    plan = plan_of(file, tackle, water, speed, apart, uncalibrated)

    from towscope.spread.answer import ask

    with _busy(as_json):
        answer = ask(plan, asked, bottom=depth, draws=draws)
    if output is not None:
        from towscope.files import write_whole
        from towscope.sheets.spread_drawing import picture

        write_whole(output, picture(answer, shown))
    if as_json:
        from towscope.spread.answer import as_dict

        emit({**as_dict(answer), "written": str(output) if output is not None else None})
        return
    from towscope.sheets.spread import report

    for part in report(answer, shown):
        console().print(part)
    if output is not None:
        echo(f"wrote {output}")


def plan_of(
    file: Path,
    tackle: list[Path] | None,
    water: str = "",
    speed: str = "",
    apart: str = "",
    uncalibrated: bool = False,
) -> Plan:
    """Read a spread file and make its rods ready.

    Raises
    ------
    InputError
        One line that names the file, the place in it, what is wrong and what is expected.
    """
    from towscope.spread.plan import Plan
    from towscope.spread.reading import read
    from towscope.tackle import load
    from towscope.water import fresh_water

    said, shown = read(file)
    shelf = load(tackle or ()).over(said, shown)
    if water:
        shelf = shelf.in_water(fresh_water(quantity(water, "temperature", "--water")))
    try:
        setting = setting_of(speed or f"{said.boat.speed!r} m/s", said.boat.current)
    except InputError as error:
        raise InputError(str(error).replace("--current", f"{shown}: boat.current")) from None
    rods = tuple(_rod(said, name, shelf, shown, uncalibrated) for name in said.rods)
    keep = _length(apart, "--apart", 0.05, 20.0) if apart else said.apart
    return Plan(setting, rods, keep)


def _rod(said: Any, name: str, shelf: Shelf, shown: str, uncalibrated: bool) -> Any:
    from dataclasses import replace

    from towscope.spread.plan import SIDES, RodLine
    from towscope.spread.reading import board_of

    rod, place = said.rods[name], f"{shown}: rods.{name}"
    try:
        rig = shelf.rig(rod.rig)
    except InputError as error:
        raise InputError(f"{place}.rig: {error}") from None
    if rod.lure is not None:
        shelf.lure(rod.lure, f"{place}.lure")
        other = rig.model_copy(update={"lure": rod.lure})
        shelf = replace(shelf, rigs={**shelf.rigs, rod.rig: other})
    tow = shelf.tow(rod.rig) if uncalibrated else calibrated_tow(shelf, rod.rig)
    height = rod.tip_height if rod.tip_height is not None else tow.tip
    tow = replace(tow, tip=height)
    let_out = let_out_of(rod.let_out, tow, f"{place}.let_out")
    board = None
    if rod.board is not None:
        board = board_of(said.boards, rod.board.kind, rod.board.line, height, f"{place}.board")
    side = SIDES[rod.side]
    made = RodLine(
        name, side, -rod.aft, (side or 1) * rod.across, height, rod.rig, tow, let_out, board
    )
    if made.out * tow.counter_factor > tow.length:
        raise InputError(
            f"{place}.let_out: {made.out:.1f} m of line in all, and rig "
            f'"{rod.rig}" holds {tow.length:.1f} m; expected no more than that'
        )
    return made


def turn_of(text: str, through: str = "") -> Turn:
    """Read a turn: radius and side, and its angle."""
    from towscope.spread.plan import Turn

    match = _TURN.fullmatch(text)
    if match is None:
        raise InputError(
            f'--turn "{one_line(text, 60)}": expected a radius and a side, "60 ft to port"'
        )
    radius = _length(match["radius"], "--turn", 2.0, 2000.0)
    angle = quantity(through, "angle", "--through") if through else 180.0
    if not 5.0 <= angle <= 720.0:
        raise InputError(f'--through "{one_line(through, 40)}": expected 5 to 720 deg')
    return Turn(radius, math.radians(angle) * (1.0 if match["side"] == "starboard" else -1.0))


def _length(text: str, option: str, low: float, high: float) -> float:
    length = quantity(text, "length", option)
    if not low <= length <= high:
        raise InputError(f'{option} "{one_line(text, 40)}": expected {low:g} to {high:g} m')
    return length


def _busy(quiet: bool) -> Any:
    from contextlib import nullcontext

    terminal = console(stderr=True)
    if quiet or not terminal.is_terminal:
        return nullcontext()
    return terminal.status("simulating the spread")
