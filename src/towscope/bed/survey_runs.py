"""A survey cut at gaps and turns: the straight runs that are left out whole."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import numpy.typing as npt

from towscope.arrays import Array

Labels = npt.NDArray[np.int64]

SPAN = 8  # soundings over which a heading is judged: fewer, and the fix's rounding looks like turns
TURN = np.radians(50.0)
FEWEST = 8


def runs(x: Array, y: Array, gap: float | None = None) -> Labels:
    """Give each sounding the number of its run, in the order they were driven.

    A run ends where the log jumps or where the boat has turned by more than 50 degrees from the
    run's mean heading.

    Parameters
    ----------
    x, y : (n,) array
        Places in the order they were sounded [m].
    gap : float, optional
        A longer step than this starts a new run [m]; without it, six times the median step and at
        least 10 m.

    Returns
    -------
    (n,) array of int
        The run of each sounding, from 0.
    """
    n = x.size
    if n < 2:
        return np.zeros(n, np.int64)
    step = np.hypot(np.diff(x), np.diff(y))
    if gap is None:
        moved = step[step > 0.0]
        gap = max(6.0 * float(np.median(moved)), 10.0) if moved.size else 10.0
    half = SPAN // 2
    ahead, behind = np.minimum(np.arange(n) + half, n - 1), np.maximum(np.arange(n) - half, 0)
    heading = np.arctan2(y[ahead] - y[behind], x[ahead] - x[behind])
    jump = np.flatnonzero(step > gap) + 1
    starts = [0, *jump.tolist(), n]
    label = np.zeros(n, np.int64)
    number = 0
    for a, b in pairwise(starts):
        first = a
        east = north = 0.0
        for k in range(a, b):
            long_enough = k - first >= FEWEST
            if long_enough:
                mean = np.arctan2(north, east)
                off = abs((heading[k] - mean + np.pi) % (2.0 * np.pi) - np.pi)
                if off > TURN and b - k >= FEWEST:
                    number += 1
                    first, east, north = k, 0.0, 0.0
            east += np.cos(heading[k])
            north += np.sin(heading[k])
            label[k] = number
        number += 1
    return label


def folds(run: Labels, most: int, seed: int = 1, least: int | None = None) -> list[Labels]:
    """Deal the runs into at most so many hands; each run stays whole.

    Runs of fewer soundings than the least are never left out: they are scraps of turns.

    Parameters
    ----------
    run : (n,) array of int
        The run of each sounding.
    most : int
        Most hands; with no more runs than this, each hand is one run.
    seed : int
        Seed of the deal.
    least : int, optional
        Fewest soundings of a run that is left out; `FEWEST` where not given.

    Returns
    -------
    list of (k,) arrays of int
        The soundings of each hand.
    """
    count = np.bincount(run)
    long = np.flatnonzero(count >= (FEWEST if least is None else least))
    if long.size < 2:  # one run: leave out stretches of it
        blocks = np.minimum(np.arange(run.size) * 8 // max(run.size, 1), 7)
        return [np.flatnonzero(blocks == k) for k in range(8) if run.size >= 16]
    order = np.random.default_rng(seed).permutation(long)
    hands = np.full(count.size, -1)
    hands[order] = np.arange(long.size) % min(most, long.size)
    hand = hands[run]
    return [np.flatnonzero(hand == k) for k in range(int(hand.max()) + 1)]
