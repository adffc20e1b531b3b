"""The state of a tow that has long been going straight: a first guess of each line, for `travel`.

Each segment is laid at its own angle of balance between weight and drag; long steps in the boat's
own frame, in which everything stands still, then end at the answer.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from towscope.arrays import IntegerVector, Matrix, Vector
from towscope.towing.jit import kernel
from towscope.towing.moving_kernels import INSERT, Chains, Gear, Line, line_of_row
from towscope.towing.steady import DIAMETER, LENGTH, NORMAL, WATER_WEIGHT

# How segments are laid out: shares of the longest, and factors from one to the next.
FINEST, SHORTEST_SEGMENT, GROWTH, COARSEST, SLOW_GROWTH = 0.1, 0.03, 1.22, 1.5, 1.03
BEND_SHARE = 0.15  # of the length a line bends within
ACROSS, SKIN, BRISK = 1.4, 0.015, 400.0  # rough drag, friction, and pressure at 0.9 m/s [Pa]
PULL = 0.5  # [N]; where nothing is known


class Straight(NamedTuple):
    """A boat that goes straight on.

    Attributes
    ----------
    mounts : (lines, 3) array
        Rod tips ahead and to starboard of the boat's place, and above the water [m].
    let_outs : (rows,) array
        Line truly past each rod tip [m].
    x, y : float
        Velocity of the boat over ground, east and north [m/s].
    course : float
        Its course [rad from north].
    """

    mounts: Matrix
    let_outs: Vector
    x: float
    y: float
    course: float


@kernel
def nodes_for(knots: Vector, let_out: float) -> int:
    """Nodes in use with so much line out, the rod tip included."""
    count = 2
    while count < knots.shape[0]:
        here, top = knots[count - 1], knots[count - 2]
        if not let_out - here > INSERT * (here - top):
            break
        count += 1
    return count


@kernel
def _lay(
    line: Line,
    medium: Vector,
    tip: float,
    let_out: float,
    count: int,
    speed: float,
    behind_x: float,
    behind_y: float,
    place: Matrix,
    pull: Vector,
) -> None:
    """Fill in the nodes of a line from its rod tip [m], and the pull of its segments [N]."""
    pressure = 0.5 * medium[0] * max(speed, 1e-3) ** 2
    lure = line.lure
    taken = math.hypot(pressure * lure[0], pressure * lure[1] + lure[2])
    steep = 1.0 / 3.0
    # from the lure up: each segment's slope, and what it adds to the pull
    for j in range(count - 1):
        p = line.part[j]
        below = let_out - line.knots[j]
        above = let_out - line.knots[j + 1] if j < count - 2 else 0.0
        length = below - above
        weight, diameter = line.pieces[p, WATER_WEIGHT], line.pieces[p, DIAMETER]
        normal = line.pieces[p, NORMAL]
        drag = max(normal, 0.1) if normal >= 0.0 else ACROSS
        k = weight / (pressure * diameter * drag)
        # tan(phi) sin(phi) = k, solved so that nothing cancels where k is large
        cosine = 2.0 / (math.sqrt(k * k + 4.0) + abs(k)) if k > 0.0 else 1.0
        sine = math.sqrt(1.0 - cosine * cosine)
        place[j, 0], place[j, 1], place[j, 2] = sine, cosine, length
        if j == count - 2:
            steep = max(steep, sine)
    for j in range(count - 1):
        p = line.part[j]
        sine, cosine, length = place[j, 0], place[j, 1], place[j, 2]
        above = let_out - line.knots[j + 1] if j < count - 2 else 0.0
        dry = min(max((tip / steep - above) / length, 0.0), 1.0)
        drop = length * (dry * steep + (1.0 - dry) * sine)
        out = length * (dry * math.sqrt(1.0 - steep * steep) + (1.0 - dry) * cosine)
        own = (
            line.pieces[p, WATER_WEIGHT] * drop
            + pressure * math.pi * SKIN * line.pieces[p, DIAMETER] * out
        )
        taken += own
        pull[j] = max(taken - 0.5 * own, 1e-3)
        place[j, 0], place[j, 1] = out, drop
    # from the rod down: where the segments end
    gone = 0.0
    down = 0.0
    last = count - 1
    place[last, 0] = place[last, 1] = place[last, 2] = 0.0
    for i in range(last):
        j = last - 1 - i
        gone += place[j, 0]
        down += place[j, 1]
        place[j, 0], place[j, 1], place[j, 2] = behind_x * gone, behind_y * gone, -down


@kernel
def lay_out(gear: Gear, medium: Vector, seen: Vector, going: Straight, chains: Chains) -> None:
    """Fill in a first guess of all lines behind a boat at the origin that goes straight on.

    Parameters
    ----------
    gear : Gear
        What is towed.
    medium : (4,) array
        Density and kinematic viscosity of water, then of air.
    seen : (2,) array
        Water past the boat at the surface, to the east and to the north [m/s].
    going : Straight
        The boat.
    chains : Chains
        Filled: places, pulls and nodes in use; rates and pulls at the rods are nought.
    """
    s, c = math.sin(going.course), math.cos(going.course)
    for r in range(chains.used.shape[0]):
        place, rate, pull = chains.place[r], chains.rate[r], chains.pull[r]
        for i in range(place.shape[0]):
            pull[i] = PULL
            for axis in range(3):
                place[i, axis] = rate[i, axis] = 0.0
        line, which = line_of_row(gear, r), gear.line_of[r]
        count = nodes_for(line.knots, going.let_outs[r])
        chains.used[r] = count
        chains.rods[r] = 0.0
        x, y = seen[0] + gear.drift[r, 0], seen[1] + gear.drift[r, 1]
        speed = math.hypot(x, y)
        behind_x, behind_y = -s, -c
        if speed > 1e-6:
            behind_x, behind_y = x / speed, y / speed
        ahead, starboard = going.mounts[which, 0], going.mounts[which, 1]
        tip = going.mounts[which, 2]
        _lay(
            line, medium, tip, going.let_outs[r], count, speed, behind_x, behind_y, place, pull
        )  # fmt: skip
        for i in range(count):
            place[i, 0] += ahead * s + starboard * c
            place[i, 1] += ahead * c - starboard * s
            place[i, 2] += tip


@kernel
def set_going(chains: Chains, x: float, y: float, rate_x: float, rate_y: float) -> None:
    """Move all lines to where the boat is, going with it: at the end of the long steps."""
    for r in range(chains.used.shape[0]):
        for i in range(chains.used[r]):
            chains.place[r, i, 0] += x
            chains.place[r, i, 1] += y
        for i in range(chains.rate.shape[1]):
            going = i < chains.used[r]
            chains.rate[r, i, 0] = rate_x if going else 0.0
            chains.rate[r, i, 1] = rate_y if going else 0.0
            chains.rate[r, i, 2] = 0.0


@kernel
def knots_of(
    pieces: Matrix, lure: Vector, segment: float, knots: Vector, part: IntegerVector
) -> int:
    """Lay out where nodes of a line may be; gives how many there are.

    A line bends most just above the lure and just above a join, where it takes up the angle of its
    own weight and drag, within a length of tension over cross-flow drag. Both go with the square
    of the speed, so that the length is one of areas: what pulls below, over diameter and drag
    coefficient. Segments start with a share of it and grow, at first fast, then slowly.

    Parameters
    ----------
    pieces, lure : (n, 8), (3,) array
        The line.
    segment : float
        Longest segment [m], but for what it grows by.
    knots, part : (k,) array
        Filled as far as they have room: lengths from the lure [m], and the piece of each segment.
    """
    count = 1
    if knots.shape[0] > 0:
        knots[0] = 0.0
    start = 0.0
    below = math.hypot(lure[0], lure[1] + lure[2] / BRISK)
    for i in range(pieces.shape[0]):
        length, diameter = pieces[i, LENGTH], pieces[i, DIAMETER]
        bend = below / (ACROSS * diameter)
        first = segment * min(max(BEND_SHARE * bend, SHORTEST_SEGMENT), FINEST)
        size = first
        total = 0.0
        while total < length - 1e-9:
            total += size
            size = min(size * (GROWTH if size < segment else SLOW_GROWTH), COARSEST * segment)
        size = first
        gone = 0.0
        while gone < length - 1e-9:
            gone += size
            size = min(size * (GROWTH if size < segment else SLOW_GROWTH), COARSEST * segment)
            if count < knots.shape[0]:
                knots[count] = start + gone * (length / total)
            if count <= part.shape[0]:
                part[count - 1] = i
            count += 1
        start += length
        below += math.pi * SKIN * diameter * length
    return count
