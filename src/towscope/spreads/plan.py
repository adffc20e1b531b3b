"""Every rod of a spread at its place, with its tow, its let-out and its board."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from towscope.arrays import Array
from towscope.towing.steady import LENGTH
from towscope.towing.tow import Setting, Tow

SIDES = {"port": -1, "stern": 0, "starboard": 1}


@dataclass(frozen=True)
class Board:
    """A board on a line, SI; figures as `towscope.spreads.models.BoardPart` has them.

    Attributes
    ----------
    kind : str
        Its name.
    line : float
        Line from the rod tip to it [m].
    lift_area, drag_area : float
        [m^2].
    mass : float
        With the water that moves with it [kg].
    buoyancy : float
        What it carries before it goes under [N].
    lift_sd, drag_sd : float
        Standard deviations of the logarithm of either area.
    """

    kind: str
    line: float
    lift_area: float
    drag_area: float
    mass: float = 0.8
    buoyancy: float = 4.0
    lift_sd: float = 0.20
    drag_sd: float = 0.20


@dataclass(frozen=True)
class RodLine:
    """One rod and what it tows.

    Attributes
    ----------
    name : str
        What it is called.
    side : int
        -1 to port, 0 on the stern, 1 to starboard.
    ahead, starboard, height : float
        Of its tip, from the place of the boat that follows the course, and above the water [m].
    rig : str
        Name of its rig.
    tow : Tow
        The rig, ready for the engine.
    let_out : float
        Line past the rod tip, or behind the board [m].
    board : Board or None
        The board on its line.
    """

    name: str
    side: int
    ahead: float
    starboard: float
    height: float
    rig: str
    tow: Tow
    let_out: float
    board: Board | None = None

    @property
    def out(self) -> float:
        """All line past the rod tip [m]."""
        return self.let_out + (self.board.line if self.board is not None else 0.0)

    @property
    def spare(self) -> float:
        """Line left on the reel [m]."""
        return self.tow.length - self.out

    def strength_at(self, length: float) -> float:
        """Strength of the line so far from the lure [N], NaN where it is not known."""
        ends = np.cumsum(self.tow.pieces[:, LENGTH])
        piece = min(int(np.searchsorted(ends, length)), len(ends) - 1)
        return float(self.tow.strength[piece])


@dataclass(frozen=True)
class SpreadPlan:
    """A spread and how it is run.

    Attributes
    ----------
    setting : Setting
        Speed over ground, and current as seen from the boat before its turn.
    rods : tuple of RodLine
        The rods.
    apart : float
        How far lines are to stay apart [m].
    """

    setting: Setting
    rods: tuple[RodLine, ...]
    apart: float = 0.6096

    @property
    def speed(self) -> float:
        """Speed of the boat over ground [m/s]."""
        return self.setting.speed

    @property
    def mounts(self) -> Array:
        """Rod tips ahead, to starboard and above the water [m], (rods, 3)."""
        return np.array([[rod.ahead, rod.starboard, rod.height] for rod in self.rods])

    @property
    def current(self) -> Array | None:
        """Depth [m], water moving east and north [m/s], for a boat that sets out to the north."""
        if not self.setting.current:
            return None
        return np.array([[depth, across, along] for depth, along, across in self.setting.current])

    @property
    def longest(self) -> float:
        """Most line past a rod tip [m]."""
        return max(rod.out for rod in self.rods)

    def index(self, name: str) -> int:
        """Place of a rod in the list."""
        return [rod.name for rod in self.rods].index(name)

    def with_rod(self, index: int, rod: RodLine) -> SpreadPlan:
        """Give the same spread with one rod changed."""
        rods = list(self.rods)
        rods[index] = rod
        return replace(self, rods=tuple(rods))

    def without(self, index: int) -> SpreadPlan:
        """Give the same spread with one rod fetched in."""
        return replace(self, rods=self.rods[:index] + self.rods[index + 1 :])

    def at_speed(self, speed: float) -> SpreadPlan:
        """Give the same spread at another speed [m/s]."""
        return replace(self, setting=self.setting.at_speed(speed))

    def mirrored(self) -> SpreadPlan:
        """Give the mirror image: port for starboard."""
        rods = tuple(replace(r, side=-r.side, starboard=-r.starboard) for r in self.rods)
        current = tuple((depth, along, -across) for depth, along, across in self.setting.current)
        return replace(self, rods=rods, setting=replace(self.setting, current=current))


@dataclass(frozen=True)
class Turn:
    """A turn of the boat.

    Attributes
    ----------
    radius : float
        At the boat's place [m].
    through : float
        Angle [rad], positive to starboard.
    """

    radius: float
    through: float

    @property
    def side(self) -> str:
        """Which way."""
        return "starboard" if self.through > 0.0 else "port"

    def at(self, radius: float) -> Turn:
        """Give the same turn on another radius [m]."""
        return replace(self, radius=radius)

    def other_way(self) -> Turn:
        """Give the same turn to the other side."""
        return replace(self, through=-self.through)

    def seconds(self, speed: float) -> float:
        """How long it takes [s]."""
        return self.radius * abs(self.through) / speed


HALF_TURN = math.pi
