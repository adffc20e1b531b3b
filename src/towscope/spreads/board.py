"""Balance of forces on a board at the surface: where it rides, and how hard it pulls.

A board is a body at the surface with a flat side that its clip holds at a slant to its way. The
water pulls it back along its way and out across it,

    D = 1/2 rho U^2 drag_area,    L = 1/2 rho U^2 lift_area,

U being its own speed through the water. Between board and rod the line is straight and hardly
stretches: in the air it sags by a hand's breadth. The line behind pulls the board back and down.
Where a board's own line goes slack nothing holds it at its slant any more, and the pull across
goes too: it stalls.

In a straight run the board rides where the three level forces balance: its line to the rod stands
in the direction of what the water and the line behind pull, whatever its length.

References
----------
Hoerner (1965), Fluid-Dynamic Drag, and Hoerner & Borst (1975), Fluid-Dynamic Lift, for the forces
on plates (from memory). That a slack board stalls is common practice, no source.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from towscope.arrays import Array
from towscope.spreads.plan import Board
from towscope.towing.jit import kernel
from towscope.towing.tow import standard_normal

# Columns of a board's figures: side (-1 to port, 1 to starboard), areas [m^2], mass [kg].
SIDE, LIFT, DRAG, MASS = range(4)
FIGURES = 4

STIFF = 1e4
"""Pull over stretch of the line to a board [N]: 0.05 % at 5 N, so that its length is kept."""
SLACK = 0.02
"""Pull [N] that rounds the corner between a taut line and a slack one."""
HOLD = 0.2
"""Pull on its line [N] at which a board has half its pull across: estimated."""
SEED = 7_411


class Ride(NamedTuple):
    """Where a board rides in a straight run.

    Attributes
    ----------
    aft, across : float
        Of the rod tip [m], across to starboard.
    pull : float
        On its line to the rod [N].
    load : float
        Pull down on it, less what the rod holds up [N].
    """

    aft: float
    across: float
    pull: float
    load: float


@kernel
def water_on_board(
    ux: float, uy: float, side: float, lift_area: float, drag_area: float, density: float
) -> tuple[float, float]:
    """Level force of the water on a board.

    Parameters
    ----------
    ux, uy : float
        Velocity of the water past it [m/s].
    side : float
        -1 pulls to the left of its way, 1 to the right.
    lift_area, drag_area : float
        [m^2].
    density : float
        Of the water [kg/m^3].

    Returns
    -------
    tuple of float
        Force [N].

    Examples
    --------
    How hard does a starboard board of 106 square centimetres pull out at 2 mph, going north?

    >>> east, north = water_on_board(0.0, -0.894, 1.0, 106e-4, 58e-4, 998.0)
    >>> round(east, 1), round(north, 1)
    (4.2, -2.3)
    """
    half = 0.5 * density * math.sqrt(ux * ux + uy * uy)
    return (
        half * (drag_area * ux - side * lift_area * uy),
        half * (drag_area * uy + side * lift_area * ux),
    )


@kernel
def straight_line_pull(stretched: float, length: float) -> float:
    """Pull on the line to a board [N] for the distance it spans and its length [m]."""
    excess = STIFF * (stretched - length) / length
    return 0.5 * (excess + math.sqrt(excess * excess + 4.0 * SLACK * SLACK))


def ride(
    board: Board,
    side: int,
    height: float,
    behind: Array,
    past: tuple[float, float],
    density: float,
) -> Ride:
    """Balance a board in a straight run to the north.

    Parameters
    ----------
    board : Board
        The board.
    side : int
        -1 to port, 1 to starboard.
    height : float
        Of the rod tip above the water [m].
    behind : (3,) array
        Pull of the line behind on the board, east, north and up [N].
    past : tuple of float
        Velocity of the water past it, east and north [m/s].
    density : float
        Of the water [kg/m^3].

    Returns
    -------
    Ride
        Where it rides.

    Examples
    --------
    A medium board on 60 ft, with 1.3 N behind it: how many feet out, and how many back?

    >>> medium = Board("medium", 18.288, 106e-4, 58e-4)
    >>> at = ride(medium, 1, 0.9, np.array([0.0, -1.3, -0.3]), (0.0, -0.894), 998.0)
    >>> round(at.across / 0.3048), round(at.aft / 0.3048)
    (45, 40)
    """
    east = north = pull = 0.0
    level = held = 1.0
    long = reach = board.line
    for _ in range(100):  # the line holds the board at its slant, and the slant pulls the line
        fx, fy = water_on_board(
            past[0], past[1], float(side), board.lift_area * held, board.drag_area, density
        )
        east, north = fx + float(behind[0]), fy + float(behind[1])
        level = math.hypot(east, north)
        long = board.line * (1.0 + pull / STIFF)
        reach = math.sqrt(max(long * long - height * height, 0.01))
        before, pull = pull, level * long / reach
        held = pull / (pull + HOLD)
        if abs(pull - before) < 1e-10:
            break
    load = -float(behind[2]) - pull * height / long
    return Ride(-reach * north / level, reach * east / level, pull, load)


def drawn(board: Board, side: int, draws: int, seed: int = SEED) -> Array:
    """Give a board's figures, in as many draws of what is not sure of them, (draws, 4)."""
    figures = np.empty((draws, FIGURES))
    figures[:] = side, board.lift_area, board.drag_area, board.mass
    if draws > 1:
        z = standard_normal(draws, 2, seed)
        figures[:, LIFT] *= np.exp(board.lift_sd * z[:, 0])
        figures[:, DRAG] *= np.exp(board.drag_sd * z[:, 1])
    return figures
