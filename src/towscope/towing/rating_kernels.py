"""The dive area that makes a lure run as deep as its package says, by halving what it may be."""

from __future__ import annotations

from towscope.arrays import Vector
from towscope.towing.jit import kernel
from towscope.towing.steady import DEPTH, RELATIVE, Room, Towed, settle

STEEPEST = 4.0
"""Most that a lure can pull down for each unit of its drag. A flat plate at a good slant lifts
about 2 to 3 times its drag (Hoerner 1965, Fluid-Dynamic Drag, chapter VII, from memory); a lip
with a body and hooks behind it can do no better."""

FOUND, TOO_STEEP, LINE_ALONE, JUMPS = range(4)


@kernel
def _runs_at(
    towed: Towed, dive: float, let_out: float, lure: Vector, room: Room, out: Vector
) -> float:
    """Depth that a lure of a dive area runs at [m]; `lure` is room for it."""
    lure[0], lure[1], lure[2] = towed.lure[0], dive, towed.lure[2]
    other = Towed(towed.pieces, lure, towed.medium, towed.flow, towed.air_speed, towed.tip)
    settle(other, let_out, RELATIVE, room, out)
    depth: float = out[DEPTH]
    return depth


@kernel
def dive_area(
    towed: Towed, depth: float, let_out: float, lure: Vector, room: Room, out: Vector
) -> tuple[float, float, float]:
    """Give the dive area with which a lure runs at a depth [m] on a let-out [m].

    Parameters
    ----------
    towed : Towed
        The lure on its line at its speed; its dive area is what is looked for.
    depth, let_out : float
        How deep it runs, on how much line [m].
    lure, out : (3,), (7,) array
        Room to work in.
    room : Room
        Room to work in.

    Returns
    -------
    tuple of float
        Dive area [m^2]; the depth that it runs at with it, or at most [m]; and what came of it:
        0 found, 1 no lure of such drag pulls so, 2 the line alone takes it deeper, 3 it would jump
        past that depth.
    """
    high = STEEPEST * towed.lure[0]
    low = -high
    most = _runs_at(towed, high, let_out, lure, room, out)
    if most < depth:
        return high, most, float(TOO_STEEP)
    # The shallowest run that is still under water bounds the search from below.
    if _runs_at(towed, low, let_out, lure, room, out) >= depth:
        return low, most, float(LINE_ALONE)
    for _ in range(200):
        middle = 0.5 * (low + high)
        if _runs_at(towed, middle, let_out, lure, room, out) < depth:
            low = middle
        else:
            high = middle
        if high - low < 1e-9 * towed.lure[0]:
            break
    found = _runs_at(towed, high, let_out, lure, room, out)
    off = abs(found - depth)
    if not off <= max(1e-3 * max(abs(found), abs(depth)), 0.01):
        return high, found, float(JUMPS)
    return high, found, float(FOUND)
