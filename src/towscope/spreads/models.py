"""Schema of a spread file: the boat, its rods, and the boards that take lines out.

A spread file is a tackle file that says more: it may bring lines, lures and rigs of its own.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from towscope.errors import InputError
from towscope.tackle.models import Area, Part, Ratio, TackleFile, reading

MAX_RODS = 12

BoardLine = Annotated[float, reading("length", 3.0, 150.0, "3 to 150 m (60 ft is usual)")]
Across = Annotated[float, reading("length", -10.0, 10.0, "at most 10 m from the boat's middle")]
Aft = Annotated[float, reading("length", -15.0, 15.0, "at most 15 m from the boat's middle")]
TipHeight = Annotated[float, reading("length", 0.0, 8.0, "0 to 8 m above the water")]
Speed = Annotated[float, reading("speed", 0.1, 5.0, "0.1 to 5 m/s (0.2 to 11 mph)")]
Mass = Annotated[float, reading("mass", 0.02, 50.0, "20 g to 50 kg")]
Buoyancy = Annotated[float, reading("force", 0.1, 500.0, "0.1 to 500 N")]
Apart = Annotated[float, reading("length", 0.05, 20.0, "5 cm to 20 m (2 ft is usual)")]


class BoatPart(Part):
    """The boat: how fast it goes, and the current it goes in.

    Attributes
    ----------
    speed : float
        Over ground [m/s]; the same in a turn as before it.
    current : str
        As people say it: "0.3 mph against", "from port"; seen from the boat before its turn.
    """

    speed: Speed
    current: str = ""


class BoardPart(Part):
    """A board that pulls a line out to the side.

    Attributes
    ----------
    lift_area, drag_area : float
        Areas that, times the dynamic pressure of the water past it, give its pull across and along
        its way [m^2].
    mass : float
        Of the board and the water that moves with it [kg].
    buoyancy : float
        What it carries before it goes under [N].
    lift_sd, drag_sd : float
        Standard deviations of the logarithm of either area.
    """

    lift_area: Area
    drag_area: Area
    mass: Mass = 0.8
    buoyancy: Buoyancy = 4.0
    lift_sd: Ratio = 0.20
    drag_sd: Ratio = 0.20


class BoardUse(Part):
    """A board on a rod's line: which, and how far out.

    Attributes
    ----------
    kind : str
        Name of the board.
    line : float
        Line from the rod tip to the board [m].
    """

    kind: str = "medium"
    line: BoardLine


class Rod(Part):
    """A rod at its place on the boat.

    Attributes
    ----------
    side : str
        Port, starboard or stern.
    across : float
        Of the tip, from the boat's middle [m]: out to its own side; on the stern to starboard.
    aft : float
        Of the tip, from the place of the boat that follows the course [m].
    tip_height : float or None
        Above the water [m]; the rig's own if left out.
    rig : str
        Name of the rig.
    lure : str or None
        Another lure on the same rig.
    let_out : str
        Line past the rod tip, or behind the board; colours count as the rig's line does.
    board : BoardUse or None
        The board on it.
    """

    side: Literal["port", "starboard", "stern"]
    across: Across = 0.0
    aft: Aft = 0.0
    tip_height: TipHeight | None = None
    rig: str
    lure: str | None = None
    let_out: str
    board: BoardUse | None = None

    @model_validator(mode="after")
    def _placed(self) -> Self:
        if self.side != "stern" and self.across < 0.0:
            raise InputError(
                f"across is counted out to {self.side}: expected 0 or more, or the other side"
            )
        if self.board is not None and self.side == "stern":
            raise InputError(
                "a planer board needs a side to pull to; expected side port or starboard"
            )
        return self


class SpreadFile(TackleFile):
    """A whole spread file.

    Attributes
    ----------
    apart : float
        How far lines are to stay apart [m].
    """

    apart: Apart = 0.6096
    boat: BoatPart
    rods: Annotated[dict[str, Rod], Field(min_length=1, max_length=MAX_RODS)]
    boards: dict[str, BoardPart] = Field(default_factory=dict)
