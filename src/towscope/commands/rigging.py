"""Options of the commands about a rig, and the tow they come to."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from towscope.answers.rig import Rig

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


def rig_of(
    name: str, files: list[Path] | None, lure: str = "", water: str = "", uncalibrated: bool = False
) -> Rig:
    """Find the rig that is asked about, with what the options put on it."""
    from towscope.answers import rig

    found = rig.rig(name, tackle=files or ())
    return found.with_(lure=lure or None, water=water or None, calibrated=not uncalibrated)
