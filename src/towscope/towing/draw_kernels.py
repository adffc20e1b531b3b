"""Versions of a tow from its stated uncertainty: its figures, shifted by normal figures."""

from __future__ import annotations

from towscope.arrays import Cube, IntegerVector, Matrix, Vector
from towscope.towing.elementary import exponential
from towscope.towing.jit import kernel
from towscope.towing.steady import FRICTION_SCALE, NORMAL_SCALE, WATER_WEIGHT

# Columns of what is unsure of a lure: drag, dive (logarithms), weight [N], dive area added [m^2].
DRAG, DIVE, WEIGHT, TRIM = range(4)


@kernel
def shifted(
    pieces: Matrix,
    lure: Vector,
    group: IntegerVector,
    line_sd: Matrix,
    lure_sd: Vector,
    normal: Matrix,
    drawn: Cube,
    lures: Matrix,
) -> None:
    """Fill in versions of a tow.

    Parameters
    ----------
    pieces, lure : (n, 8), (3,) array
        The tow as stated.
    group : (n,) array of int
        Pieces with the same number are of one line, and err together.
    line_sd : (n, 3) array
        Standard deviations of the logarithm of each piece's drag, friction and weight.
    lure_sd : (4,) array
        Standard deviations of the lure's; columns as the constants above.
    normal : (m, 3 groups + 4) array
        Normal figures: three for each group, four for the lure.
    drawn, lures : (m, n, 8), (m, 3) array
        Filled.
    """
    own = normal.shape[1] - 4
    for j in range(normal.shape[0]):
        for i in range(pieces.shape[0]):
            for c in range(8):
                drawn[j, i, c] = pieces[i, c]
            first = 3 * group[i]
            drawn[j, i, NORMAL_SCALE] *= exponential(line_sd[i, 0] * normal[j, first])
            drawn[j, i, FRICTION_SCALE] *= exponential(line_sd[i, 1] * normal[j, first + 1])
            drawn[j, i, WATER_WEIGHT] *= exponential(line_sd[i, 2] * normal[j, first + 2])
        lures[j, 0] = lure[0] * exponential(lure_sd[DRAG] * normal[j, own])
        dive = lure[1] * exponential(lure_sd[DIVE] * normal[j, own + 1])
        lures[j, 1] = dive + lure_sd[TRIM] * normal[j, own + 3]
        lures[j, 2] = lure[2] + lure_sd[WEIGHT] * normal[j, own + 2]
