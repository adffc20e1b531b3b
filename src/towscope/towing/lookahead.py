"""What will the lure do in the next minutes if the boat, or the line let out, changes so or so.

A `Manoeuvre` is what somebody at the helm or at a rod may do from one moment on; `course` turns
it into the boat's path, `tips` into the paths of the rod tips.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from towscope.towing.moving import Bed, Lines, Passage, State

Array = npt.NDArray[np.float64]

EASY = 0.15  # [m/s^2]; how briskly a troller is sped up or slowed: estimated from memory


@dataclass(frozen=True)
class Boat:
    """The boat at one moment: place [m] east and north, speed [m/s], course [rad from north]."""

    x: float
    y: float
    speed: float
    course: float


@dataclass(frozen=True)
class Manoeuvre:
    """What is done from one moment on; what is left out is held.

    Attributes
    ----------
    speed : float or None
        Speed to come to [m/s]; 0 stops the boat.
    acceleration : float
        How fast the speed changes [m/s^2].
    turn : float
        Angle to turn through [rad], positive to starboard; infinite goes on in a circle.
    radius : float
        Radius of the turn at the boat's place [m].
    let_out : tuple of float or None
        Line to have out past each rod tip, as read [m].
    line_speed : float
        How fast line is let out or reeled in [m/s].
    begin : float
        How long to hold on before any of it [s].
    """

    speed: float | None = None
    acceleration: float = EASY
    turn: float = 0.0
    radius: float = math.inf
    let_out: tuple[float, ...] | None = None
    line_speed: float = 0.5
    begin: float = 0.0


HOLD = Manoeuvre()


def course(
    boat: Boat, manoeuvre: Manoeuvre, seconds: float, step: float = 0.25
) -> tuple[Array, Array]:
    """Path of the boat through a manoeuvre.

    Returns
    -------
    tuple
        Moments from 0 [s], (m,); and x, y [m], course [rad] and speed [m/s] at each, (m, 4).
    """
    raise NotImplementedError


def tips(mounts: Array, path: Array) -> Array:
    """Paths of rod tips on a boat.

    Parameters
    ----------
    mounts : (lines, 3) array
        Rod tips ahead and to starboard of the boat's place, and above the water [m].
    path : (m, 3 or more) array
        x, y [m] and course [rad] of the boat.

    Returns
    -------
    (lines, m, 3) array
        Their places [m].
    """
    raise NotImplementedError


def ahead(
    lines: Lines,
    state: State,
    boat: Boat,
    manoeuvre: Manoeuvre = HOLD,
    seconds: float = 120.0,
    *,
    current: Array | None = None,
    bed: Bed | None = None,
    shapes: bool = False,
) -> Passage:
    """Follow all lines through a manoeuvre, from a state that is left as it is."""
    raise NotImplementedError


def settling_time(
    lines: Lines,
    state: State,
    boat: Boat,
    manoeuvre: Manoeuvre,
    *,
    within: float = 0.15,
    current: Array | None = None,
) -> tuple[Array, Array]:
    """How long until each lure runs at its new depth.

    Parameters
    ----------
    within : float
        How near the new depth counts as there [m].

    Returns
    -------
    tuple
        Seconds from now (rows,), infinite where it does not settle; and the new depth [m].
    """
    raise NotImplementedError
