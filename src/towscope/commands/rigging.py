"""Options of the commands about a rig, and the tow they come to."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from towscope import arguments
from towscope.commands.common import quantity
from towscope.errors import InputError

if TYPE_CHECKING:
    from towscope.tackle.shelf import Shelf
    from towscope.towing.tow import Setting, Tow

RigName = Annotated[
    str, typer.Argument(metavar="RIG", help="A rig's name; `towscope stock` lists.")
]
Lure = Annotated[str, typer.Option("--lure", help="Another lure on the same rig.")]
Speed = Annotated[str, typer.Option("--speed", help='Speed over ground: "2 mph", "3.2 km/h".')]
Depth = Annotated[str, typer.Option("--depth", help='Depth of the lure: "31 ft", "9.5 m".')]
Out = Annotated[str, typer.Option("--out", help='Line out: "170 ft", "4.5 colors".')]
Current = Annotated[
    str,
    typer.Option(
        "--current",
        help='Current: "0.3 mph against", "with", "from port", "from starboard"; by depth: '
        '"0.4 mph with at 0 ft, 0 mph at 30 ft".',
    ),
]
WaterTemperature = Annotated[
    str, typer.Option("--water", help='Water temperature: "70 degF"; else the tackle file\'s.')
]

Uncalibrated = Annotated[
    bool,
    typer.Option("--uncalibrated", help="Leave the calibration out (`towscope calibrate`)."),
]

MAX_DEPTH, MAX_SERIES = 300.0, 100


def tow_for(
    rig: str, files: list[Path] | None, lure: str = "", water: str = "", uncalibrated: bool = True
) -> tuple[Shelf, Tow]:
    """Load the tackle and make a rig ready; as its readings leave it, unless `uncalibrated`."""
    from dataclasses import replace

    from towscope.tackle import load
    from towscope.towing.jit import start_light
    from towscope.water import fresh_water

    start_light()

    shelf = load(files or ())
    if water:
        shelf = shelf.in_water(fresh_water(quantity(water, "temperature", "--water")))
    if lure:
        other = shelf.rig(rig).model_copy(update={"lure": lure})
        shelf = replace(shelf, rigs={**shelf.rigs, rig: other})
    return shelf, shelf.tow(rig) if uncalibrated else calibrated_tow(shelf, rig)


def quick_tow(
    rig: str, files: list[Path] | None, lure: str = "", water: str = "", uncalibrated: bool = False
) -> Tow:
    """Make a rig ready as `tow_for` does, from what is kept where nothing has changed since."""
    from towscope.files import home
    from towscope.tackle.ready_cache import digest, find, keep
    from towscope.towing.jit import start_light

    start_light()
    mine = home() / "tackle.toml"
    readings = home() / "calibration.json"
    if not uncalibrated and readings.exists():
        return tow_for(rig, files, lure, water, uncalibrated)[1]
    name = digest([*([mine] if mine.exists() else []), *(files or ())], [rig, lure, water])
    folder = home() / "ready"
    tow = find(folder, name) if name is not None else None
    if tow is None:
        tow = tow_for(rig, files, lure, water, uncalibrated=True)[1]
        if name is not None:
            keep(folder, name, tow)
    return tow


def calibrated_tow(shelf: Shelf, rig: str) -> Tow:
    """Make a rig ready as its readings leave it."""
    from towscope.calibration import calibrated_rig

    return calibrated_rig.calibrated_tow(shelf, rig)


def speed_of(text: str, option: str = "--speed") -> float:
    """Read a towing speed [m/s]."""
    return arguments.speed(text, option)


def depth_of(text: str, option: str = "--depth") -> float:
    """Read a depth [m]."""
    return arguments.depth(text, option)


def let_out_of(text: str, tow: Tow, option: str = "--out") -> float:
    """Read line out [m]; colours are counted past the leader."""
    return arguments.let_out(text, tow, option)


def setting_of(speed: str, current: str) -> Setting:
    """Read a speed and a current."""
    return arguments.setting(speed, current, ("--speed", "--current"))


def current_of(text: str) -> arguments.Layers:
    """Read a current: layers of (depth, along, across) [m, m/s, m/s]."""
    return arguments.layers(text, "--current")


def series_of(text: str, kind: str, option: str) -> list[float]:
    """Read a list ("10, 20, 30 ft") or a range ("10 to 40 ft by 5") of quantities, in SI."""
    last = re.search(r"([A-Za-z][A-Za-z/]*)\s*(?:by\s+[\d.]+\s*)?$", text)

    def one(item: str) -> float:
        bare = re.fullmatch(r"\s*[\d.]+\s*", item)
        return quantity(f"{item.strip()} {last[1]}" if bare and last else item, kind, option)

    if match := re.fullmatch(r"\s*(.+?)\s+to\s+(.+?)\s+by\s+(.+?)\s*", text):
        low, high, step = (one(match[i]) for i in (1, 2, 3))
        if step <= 0.0 or high < low or (high - low) / step > MAX_SERIES:
            raise InputError(
                f'{option} "{text}": expected a rising range, {MAX_SERIES} steps at most'
            )
        return [low + i * step for i in range(int((high - low) / step + 1e-6) + 1)]
    items = text.split(",")
    if len(items) > MAX_SERIES:
        raise InputError(f"{option}: expected at most {MAX_SERIES} values, not {len(items)}")
    values = [one(item) for item in items]
    if sorted(set(values)) != values:
        raise InputError(f'{option} "{text}": expected rising values')
    return values
