"""Will a lure or its line touch the bottom, when and where, and what is the least that avoids it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from towscope.towing.lookahead import HOLD, Boat, Manoeuvre
from towscope.towing.moving import Bed, Lines, Passage, State

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Closest:
    """Where one line comes nearest to the bottom.

    Attributes
    ----------
    clearance : float
        Height above the bottom [m] at the closest; negative is below it; NaN: bottom not known.
        With draws, the low end of what is likely.
    time : float
        When [s].
    place : tuple of float
        Where: x, y, z [m] of the nearest point of the line.
    by_lure : bool
        Whether it is the lure that is nearest.
    """

    clearance: float
    time: float
    place: tuple[float, float, float]
    by_lure: bool


@dataclass(frozen=True)
class Lever:
    """One single change that keeps the clearance, checked by simulating it.

    Attributes
    ----------
    kind : str
        "speed", "reel", "turn" (the other way).
    manoeuvre : Manoeuvre
        What to do, begun at once.
    amount : float
        New speed [m/s], line to reel in [m], or angle to turn [rad].
    latest : float
        Latest moment to begin, from now [s].
    clearance : float
        Least clearance when begun at once [m].
    """

    kind: Literal["speed", "reel", "turn"]
    manoeuvre: Manoeuvre
    amount: float
    latest: float
    clearance: float


def closest(lines: Lines, passage: Passage, level: float = 0.9) -> list[Closest]:
    """Find where each line comes nearest to the bottom in a run that was given a bed."""
    raise NotImplementedError


def levers(
    lines: Lines,
    state: State,
    boat: Boat,
    bed: Bed,
    *,
    plan: Manoeuvre = HOLD,
    want: float = 0.6,
    seconds: float = 120.0,
    top_speed: float = 2.0,
    level: float = 0.9,
    current: Array | None = None,
) -> list[Lever]:
    """Find the smallest single changes that keep every line clear of the bottom.

    Parameters
    ----------
    plan : Manoeuvre
        What is meant to be done.
    want : float
        Clearance to keep [m].
    seconds : float
        How far to look ahead.
    top_speed : float
        Fastest that may be gone [m/s].
    level : float
        With draws, how sure it must be.

    Returns
    -------
    list of Lever
        Those that do it, smallest change first; none where the plan is clear as it is, or where
        none of them can do it.
    """
    raise NotImplementedError
