"""Will a lure or its line hit the bottom, when and where."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from towscope.arrays import Array
from towscope.towing.lookahead_kernels import nearest_bottom
from towscope.towing.moving import Lines, Passage


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


def closest(lines: Lines, passage: Passage, level: float = 0.9) -> list[Closest]:
    """Find where each line comes nearest to the bottom in a run that was given a bed.

    Parameters
    ----------
    lines : Lines
        What is towed.
    passage : Passage
        The run.
    level : float
        With draws: so many of them stay at least so clear.

    Returns
    -------
    list of Closest
        One for each line.
    """
    return [closest_of(passage, i, rank(level, lines.draws)) for i in range(len(lines.tows))]


def rank(level: float, draws: int) -> int:
    """Tell which draw counts, from the least clear up."""
    return math.floor((1.0 - level) * draws + 1e-9) if draws > 1 else 0


def least(passage: Passage, line: int) -> Array:
    """Give each draw's least clearance of a line [m], infinite where the bottom is not known."""
    own = passage.clearance[line * passage.draws : (line + 1) * passage.draws]
    return np.asarray(np.where(np.isnan(own), np.inf, own).min(axis=1))


def closest_of(passage: Passage, line: int, rank: int) -> Closest:
    """Find where one line comes nearest, by the draw of that rank."""
    room = np.empty(passage.draws)
    first = line * passage.draws
    row, m, clearance = nearest_bottom(
        passage.clearance[:, :, None], 0, first, passage.draws, rank, room
    )
    if m < 0:
        return Closest(math.nan, math.nan, (math.nan,) * 3, False)
    x, y, z = (float(value) for value in passage.nearest[row, m])
    by_lure = bool((passage.lure[row, m] == (x, y, z)).all())
    return Closest(float(clearance), float(passage.time[m]), (x, y, z), by_lure)
