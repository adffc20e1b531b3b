"""Running medians along runs, and among neighbours: single spikes and groups of false echoes.

Along a boat's run the soundings before and behind tell; in a table of points, those all round.
Only what is deeper than its surroundings goes in groups: to keep a shallow false echo costs a
little line, to keep a deep one costs a lure.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import numpy.typing as npt
import scipy

from towscope.arrays import Array, Flags
from towscope.bed.layout import neighbours

NEIGHBOURS = 9  # soundings whose median a spike is held against
NEAR = 12.0  # [m]; soundings farther apart share no echo
WIDE = 40.0  # [m]; round a group of false echoes so far out lies mostly bottom
MOSTLY = 0.6  # a share that the foot of a bank never sees above it
FEW = 4  # neighbours that tell a spike
GROUP = 60  # soundings; a longer group is bottom
TIMES, DEEPER = 2.2, 3.0  # a false echo is so many times, and so much [m], below the bottom
WALL = 1.5  # [m/m] and steeper to either side: 56 degrees


def spikes_along(x: Array, y: Array, depth: Array) -> Flags:
    """Tell the soundings that stand alone from the running median of their own run.

    Parameters
    ----------
    x, y, depth : (n,) array
        Soundings in the order they were made [m].
    """
    n = depth.size
    if n < NEIGHBOURS:
        return np.zeros(n, bool)
    median = scipy.ndimage.median_filter(depth, NEIGHBOURS, mode="nearest")
    off = np.abs(depth - median)
    # What the bottom does hereabouts anyway: the median of these departures nearby.
    usual = scipy.ndimage.median_filter(off, 41, mode="nearest")
    step = np.hypot(np.diff(x), np.diff(y))
    reach = np.concatenate([[0.0], np.minimum(step, 50.0)])
    reach = scipy.ndimage.maximum_filter1d(reach, NEIGHBOURS)
    # A sound bottom of 45 degrees is rare; so much may change between neighbours without blame.
    limit = np.maximum(0.15 * median + 0.3, 8.0 * usual) + np.minimum(reach, 3.0)
    lonely = off > limit
    # A real edge is shared by what follows or precedes it; a spike is not.
    near = np.minimum(
        np.abs(depth - np.concatenate([depth[:1], depth[:-1]])),
        np.abs(depth - np.concatenate([depth[1:], depth[-1:]])),
    )
    near[0], near[-1] = abs(depth[0] - depth[1]), abs(depth[-1] - depth[-2])
    return np.asarray(lonely & (near > 0.5 * limit))


def groups(x: Array, y: Array, depth: Array) -> Flags:
    """Tell the groups of soundings far deeper than what precedes and follows them.

    Parameters
    ----------
    x, y, depth : (n,) array
        Soundings in the order they were made [m].
    """
    n = depth.size
    bad = np.zeros(n, bool)
    if n < NEIGHBOURS:
        return bad
    step = np.hypot(np.diff(x), np.diff(y))
    jump = np.diff(depth)
    wall = (np.abs(jump) > DEEPER) & (np.abs(jump) > WALL * step) & (step < NEAR)
    cuts = np.concatenate([[0], np.flatnonzero(wall) + 1, [n]])
    level = np.array([np.median(depth[a:b]) for a, b in pairwise(cuts)])
    size = np.diff(cuts)
    for k in range(len(level)):
        if size[k] > GROUP:
            continue
        # the bottom is what the nearest longer stretch to either side says
        sides = []
        for way in (-1, 1):
            j = k + way
            while 0 <= j < len(level) and size[j] <= 2 and abs(j - k) < 4:
                j += way
            if 0 <= j < len(level):
                edge = (
                    depth[cuts[j + 1] - 3 : cuts[j + 1]]
                    if way < 0
                    else depth[cuts[j] : cuts[j] + 3]
                )
                sides.append(float(np.median(edge)))
        if len(sides) == 2 and level[k] > max(TIMES * max(sides), max(sides) + DEEPER):
            bad[cuts[k] : cuts[k + 1]] = True
    return bad


def spikes_among(x: Array, y: Array, depth: Array) -> Flags:
    """Tell the points that stand alone among those round them, where these are near enough to tell.

    Parameters
    ----------
    x, y, depth : (n,) array
        Soundings in any order [m].
    """
    far, near = _neighbours(x, y, NEIGHBOURS)
    close = far < NEAR
    told = np.count_nonzero(close, axis=1) >= FEW
    lonely = np.zeros(depth.size, bool)
    some = np.flatnonzero(told)
    around = np.where(close[some], depth[near[some]], np.nan)
    median = np.nanmedian(around, axis=1) if some.size else np.zeros(0)
    usual = np.nanmedian(np.abs(around - median[:, None]), axis=1) if some.size else median
    reach = np.max(np.where(close[some], far[some], 0.0), axis=1, initial=0.0)
    limit = np.maximum(0.15 * median + 0.3, 8.0 * usual) + np.minimum(reach, 3.0)
    off = np.abs(depth[some, None] - around)
    lonely[some] = (np.abs(depth[some] - median) > limit) & ~np.any(off <= 0.5 * limit[:, None], 1)
    return lonely


def groups_among(x: Array, y: Array, depth: Array) -> Flags:
    """Tell the points far deeper than the bottom that most points close round them share.

    Parameters
    ----------
    x, y, depth : (n,) array
        Soundings in any order [m].
    """
    far, near = _neighbours(x, y, GROUP)
    close = far < WIDE
    bad = np.zeros(depth.size, bool)
    some = np.flatnonzero(close.sum(axis=1) >= NEIGHBOURS)
    around = np.where(close[some], depth[near[some]], np.nan)
    shallow = np.nanquantile(around, MOSTLY, axis=1) if some.size else np.zeros(0)
    deep = depth[some] > np.maximum(TIMES * shallow, shallow + DEEPER)
    # a wall: right beside it lies the bottom, and nothing between the two
    between = (around > shallow[:, None] * 1.3 + 0.5) & (around < 0.75 * depth[some][:, None])
    bad[some[deep & ~between.any(axis=1)]] = True
    return bad


def _neighbours(x: Array, y: Array, count: int) -> tuple[Array, npt.NDArray[np.int64]]:
    points = np.column_stack([x, y])
    far, near = neighbours(points, points, count + 1)
    return far[:, 1:], near[:, 1:]
