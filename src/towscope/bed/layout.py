"""Shortest spanning tree of unordered soundings: how far apart they lie, and their neighbours.

What a boat's run tells by its order (`towscope.bed.survey_runs`), a table of points must tell by
its places alone, so that shuffling its rows changes nothing. The shortest tree that joins the
points takes the place of the way driven.

References
----------
Preparata & Shamos (1985), Computational Geometry, chapter 6: the shortest spanning tree of points
is part of their Delaunay triangulation.
"""

from __future__ import annotations

import numpy as np
import scipy

from towscope.arrays import Array
from towscope.bed.survey_runs import Labels

MANY = 100_000  # points; more are thinned before they are joined
SCATTERED = 0.42  # of the mean distance: half of it where points fall at random, all on a grid
ACROSS = 200  # cells across the lake, on which the sounded area is measured


def spacing(x: Array, y: Array) -> tuple[float, float]:
    """Give how far apart points are along their lines, and between lines, as they mostly are [m].

    For points on no lines both are the same. The second is the sounded area over the length of
    the shortest tree that joins the points.

    Parameters
    ----------
    x, y : (n,) array
        Points in any order [m].

    Examples
    --------
    Lines 40 m apart (the area ends at the outermost ones, so that a little less comes out):

    >>> x, y = (v.ravel() for v in np.meshgrid(np.arange(0, 1000, 40.0), np.arange(0, 1000, 2.0)))
    >>> [round(v) for v in spacing(x, y)]
    [2, 38]
    """
    points = _distinct(x, y)
    along = _nearest(*points.T)
    wide = max(float(np.ptp(x)), float(np.ptp(y)))
    size = wide / ACROSS + 1e-9
    edges = _tree(points, along) if len(points) > 1 else np.zeros(0)
    if not edges.size:
        return along, along
    step = edges[edges < 6.0 * max(float(np.median(edges)), size / 6.0)]
    area = covered(x, y, size, 1.2 * float(np.quantile(step, 0.9)))
    each = float(np.sqrt(area / len(points)))
    between = area / float(step.sum()) if step.size else along
    if along > SCATTERED * each:  # no lines: the tree, thinned where they are many, says less
        between = each
    return along, float(np.clip(between, along, max(wide, along)))


def covered(x: Array, y: Array, size: float, gap: float = 0.0) -> float:
    """Give the area that points cover, gaps between them closed [m^2].

    Parameters
    ----------
    x, y : (n,) array
        Points [m].
    size : float
        Cell that the area is counted in [m].
    gap : float
        Least distance over which gaps are closed [m]; twelve cells at the least.
    """
    reach = int(np.clip(np.ceil(gap / size), 12, 80))
    i = np.floor((x - x.min()) / size).astype(np.int64)
    j = np.floor((y - y.min()) / size).astype(np.int64)
    pad = reach + 8
    grid = np.zeros((int(i.max()) + 2 * pad, int(j.max()) + 2 * pad), bool)
    grid[i + pad, j + pad] = True
    closed = scipy.ndimage.distance_transform_edt(~grid) <= reach
    closed = scipy.ndimage.binary_fill_holes(closed)
    inner = scipy.ndimage.distance_transform_edt(closed) > reach
    return float(np.count_nonzero(inner)) * size**2


def patches(x: Array, y: Array, size: float) -> Labels:
    """Give each point the number of the square patch it lies in.

    Parameters
    ----------
    x, y : (n,) array
        Points in any order [m].
    size : float
        Side of a patch [m].
    """
    i = np.floor((x - x.min()) / size).astype(np.int64)
    j = np.floor((y - y.min()) / size).astype(np.int64)
    _, label = np.unique(i * (int(j.max()) + 1) + j, return_inverse=True)
    return np.asarray(label.ravel(), np.int64)


def _nearest(x: Array, y: Array) -> float:
    """Give the median distance from a point to the next one elsewhere [m]."""
    if x.size > 4 * MANY:  # a window of the middle says as much
        keep = np.ones(x.size, bool)
        share = 0.5 * np.sqrt(MANY / x.size)
        for v in (x, y):
            low, high = np.quantile(v, (max(0.5 - 2.0 * share, 0.0), min(0.5 + 2.0 * share, 1.0)))
            keep &= (v >= low) & (v <= high)
        if np.count_nonzero(keep) > 1000:
            x, y = x[keep], y[keep]
    if x.size < 2:
        return 1.0
    points = np.column_stack([x, y])
    return max(float(np.median(neighbours(points, points, 2)[0][:, 1])), 0.05)


def neighbours(points: Array, at: Array, count: int) -> tuple[Array, Labels]:
    """Give the points nearest to some places: how far [m] and which, a row for each place.

    Parameters
    ----------
    points : (n, 2) array
        Points [m].
    at : (m, 2) array
        Places [m].
    count : int
        How many points, or all where they are fewer.
    """
    far, which = scipy.spatial.cKDTree(points).query(at, k=min(count, len(points)))
    shape = (len(at), -1)
    return np.asarray(far, float).reshape(shape), np.asarray(which, np.int64).reshape(shape)


def _tree(points: Array, along: float) -> Array:
    """Give the lengths of the edges of the shortest tree that joins the points [m]."""
    cell = along
    while len(points) > MANY:  # lines fill few cells and keep theirs small
        node = np.floor((points - points.min(axis=0)) / cell).astype(np.int64)
        _, group = np.unique(node[:, 0] * 10_000_000 + node[:, 1], return_inverse=True)
        count = np.bincount(group)
        points = np.column_stack([np.bincount(group, points[:, k]) / count for k in (0, 1)])
        cell *= 1.5
    try:
        sides = scipy.spatial.Delaunay(points).simplices[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
    except (scipy.spatial.QhullError, ValueError):  # fewer than three, or all in one line
        return np.asarray(np.hypot(*np.diff(_distinct(*points.T), axis=0).T))
    sides = np.unique(np.sort(sides, axis=1), axis=0)
    length = np.hypot(*(points[sides[:, 0]] - points[sides[:, 1]]).T)
    graph = scipy.sparse.coo_matrix(
        (length, (sides[:, 0], sides[:, 1])), shape=(len(points), len(points))
    )
    return np.asarray(scipy.sparse.csgraph.minimum_spanning_tree(graph.tocsr()).data, float)


def _distinct(x: Array, y: Array) -> Array:
    """Give each place once, from west to east."""
    turn = np.lexsort((y, x))
    points = np.column_stack([x[turn], y[turn]])
    fresh = np.append(True, np.any(np.diff(points, axis=0) != 0.0, axis=1))
    return np.asarray(points[fresh], float)
