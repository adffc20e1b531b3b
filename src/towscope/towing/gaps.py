"""How near do two lines come to each other, and do they cross as seen from above.

A line is a chain of straight segments; the least distance of two lines is the least over all pairs
of their segments. Segments are taken in bundles with a box around each: pairs of bundles further
apart than the nearest pair found so far are passed over.

The first few metres at the rods are left out (`NEAR_RODS`): there the rods set the distance.

References
----------
Ericson (2005), Real-Time Collision Detection, section 5.1.9, for the closest points of two
segments (from memory).
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from towscope.arrays import Array, Integers
from towscope.towing.cores import share_out
from towscope.towing.jit import kernel

Places = npt.NDArray[np.float32]

NEAR_RODS = 3.0
"""Line at each rod [m] that is left out."""
BUNDLE = 8


@kernel
def segment_gap(
    ax: float,
    ay: float,
    az: float,
    bx: float,
    by: float,
    bz: float,
    cx: float,
    cy: float,
    cz: float,
    dx: float,
    dy: float,
    dz: float,
) -> tuple[float, float, float]:
    """Least distance of the segments a-b and c-d, squared, and where along each it is.

    Returns
    -------
    tuple of float
        Distance squared [m^2], and the share of the way from a to b and from c to d.

    Examples
    --------
    Two lines that pass over each other crosswise, 2 m apart:

    >>> segment_gap(0.0, 0.0, 0.0, 4.0, 0.0, 0.0, 1.0, -1.0, 2.0, 1.0, 1.0, 2.0)
    (4.0, 0.25, 0.5)
    """
    ux, uy, uz = bx - ax, by - ay, bz - az
    vx, vy, vz = dx - cx, dy - cy, dz - cz
    wx, wy, wz = ax - cx, ay - cy, az - cz
    uu = ux * ux + uy * uy + uz * uz
    vv = vx * vx + vy * vy + vz * vz
    uv = ux * vx + uy * vy + uz * vz
    uw = ux * wx + uy * wy + uz * wz
    vw = vx * wx + vy * wy + vz * wz
    tiny = 1e-12
    if uu <= tiny and vv <= tiny:
        s = t = 0.0
    elif uu <= tiny:
        s, t = 0.0, min(max(vw / vv, 0.0), 1.0)
    elif vv <= tiny:
        s, t = min(max(-uw / uu, 0.0), 1.0), 0.0
    else:
        det = uu * vv - uv * uv
        s = 0.0
        if det > tiny * uu * vv:
            s = min(max((uv * vw - uw * vv) / det, 0.0), 1.0)
        t = (uv * s + vw) / vv
        if t < 0.0:
            t, s = 0.0, min(max(-uw / uu, 0.0), 1.0)
        elif t > 1.0:
            t, s = 1.0, min(max((uv - uw) / uu, 0.0), 1.0)
    gx = wx + s * ux - t * vx
    gy = wy + s * uy - t * vy
    gz = wz + s * uz - t * vz
    return gx * gx + gy * gy + gz * gz, s, t


@kernel
def cut(points: Places, count: int, skip: float, out: Array) -> int:
    """Copy a line without so much of it at the rod [m]; gives the nodes left (at least one)."""
    for i in range(count):
        for c in range(3):
            out[i, c] = points[i, c]
    left = skip
    n = count
    while n > 1:
        x = out[n - 2, 0] - out[n - 1, 0]
        y = out[n - 2, 1] - out[n - 1, 1]
        z = out[n - 2, 2] - out[n - 1, 2]
        length = math.sqrt(x * x + y * y + z * z)
        if length > left:
            f = left / length
            out[n - 1, 0] += f * x
            out[n - 1, 1] += f * y
            out[n - 1, 2] += f * z
            return n
        left -= length
        n -= 1
    return 1


@kernel
def _boxes(points: Array, count: int, low: Array, high: Array) -> int:
    """Boxes around bundles of segments; gives how many."""
    segments = max(count - 1, 1)
    n = (segments + BUNDLE - 1) // BUNDLE
    for b in range(n):
        first = b * BUNDLE
        beyond = min(first + BUNDLE + 1, count)
        for c in range(3):
            low[b, c] = high[b, c] = points[first, c]
            for i in range(first + 1, beyond):
                low[b, c] = min(low[b, c], points[i, c])
                high[b, c] = max(high[b, c], points[i, c])
    return n


@kernel
def line_gap(
    a: Array,
    na: int,
    b: Array,
    nb: int,
    la: Array,
    ha: Array,
    lb: Array,
    hb: Array,
    bound: float,
) -> tuple[float, float, float]:
    """Least distance of two lines.

    Parameters
    ----------
    a, b : (n, 3) array
        Nodes [m].
    na, nb : int
        How many of them are in use.
    la, ha, lb, hb : (m, 3) array
        Room for boxes.
    bound : float
        Distances above this [m] are of no interest.

    Returns
    -------
    tuple of float
        Distance [m], infinite where it is above the bound, and where on each line: number of the
        node below, and the share of the way to the next.
    """
    boxes_a = _boxes(a, na, la, ha)
    boxes_b = _boxes(b, nb, lb, hb)
    best = bound * bound
    found = False
    at_a = at_b = 0.0
    for p in range(boxes_a):
        for q in range(boxes_b):
            far = 0.0
            for c in range(3):
                g = max(la[p, c] - hb[q, c], lb[q, c] - ha[p, c], 0.0)
                far += g * g
            if far >= best:
                continue
            for i in range(p * BUNDLE, min((p + 1) * BUNDLE, max(na - 1, 1))):
                i1 = min(i + 1, na - 1)
                for j in range(q * BUNDLE, min((q + 1) * BUNDLE, max(nb - 1, 1))):
                    j1 = min(j + 1, nb - 1)
                    d, s, t = segment_gap(
                        a[i, 0],
                        a[i, 1],
                        a[i, 2],
                        a[i1, 0],
                        a[i1, 1],
                        a[i1, 2],
                        b[j, 0],
                        b[j, 1],
                        b[j, 2],
                        b[j1, 0],
                        b[j1, 1],
                        b[j1, 2],
                    )
                    if d < best:
                        best, at_a, at_b = d, i + s, j + t
                        found = True
    return math.sqrt(best) if found else math.inf, at_a, at_b


@kernel
def plan_crossing(a: Array, na: int, b: Array, nb: int) -> tuple[float, int]:
    """Least height of one line over the other where they cross as seen from above.

    Returns
    -------
    tuple
        Height of a over b [m], the least in size, and how many times they cross; NaN and 0 where
        they do not.
    """
    least, crossings = math.nan, 0
    for i in range(na - 1):
        x, y = a[i, 0], a[i, 1]
        ux, uy = a[i + 1, 0] - x, a[i + 1, 1] - y
        left, right = min(x, x + ux), max(x, x + ux)
        low, high = min(y, y + uy), max(y, y + uy)
        for j in range(nb - 1):
            if (
                (b[j, 0] < left and b[j + 1, 0] < left)
                or (b[j, 0] > right and b[j + 1, 0] > right)
                or (b[j, 1] < low and b[j + 1, 1] < low)
                or (b[j, 1] > high and b[j + 1, 1] > high)
            ):
                continue
            vx, vy = b[j + 1, 0] - b[j, 0], b[j + 1, 1] - b[j, 1]
            wx, wy = b[j, 0] - x, b[j, 1] - y
            det = ux * vy - uy * vx
            if det == 0.0:
                continue
            s = (wx * vy - wy * vx) / det
            t = (wx * uy - wy * ux) / det
            # Half open, so that a crossing at a node counts once.
            if 0.0 <= s < 1.0 and 0.0 <= t < 1.0:
                over = a[i, 2] + s * (a[i + 1, 2] - a[i, 2]) - b[j, 2] - t * (b[j + 1, 2] - b[j, 2])
                crossings += 1
                if not abs(over) >= abs(least):
                    least = over
    return least, crossings


@kernel
def _all_gaps(
    first: int,
    beyond: int,
    shapes: Places,
    counts: Integers,
    pairs: Integers,
    skip: float,
    out: Array,
    crossed: Array,
    least_only: bool,
) -> None:
    k = shapes.shape[2]
    a, b = np.empty((k, 3)), np.empty((k, 3))
    boxes = k // BUNDLE + 2
    la, ha = np.empty((boxes, 3)), np.empty((boxes, 3))
    lb, hb = np.empty((boxes, 3)), np.empty((boxes, 3))
    for p in range(first, beyond):
        i, j = pairs[p, 0], pairs[p, 1]
        bound = math.inf
        for m in range(shapes.shape[1]):
            na = cut(shapes[i, m], counts[i, m], skip, a)
            nb = cut(shapes[j, m], counts[j, m], skip, b)
            out[p, m, 0], out[p, m, 1], out[p, m, 2] = line_gap(a, na, b, nb, la, ha, lb, hb, bound)
            if least_only:
                bound = min(bound, out[p, m, 0])
            if crossed.shape[1] > 0:
                crossed[p, m], _ = plan_crossing(a, na, b, nb)


def gaps(
    shapes: Places,
    counts: Integers,
    pairs: Integers,
    *,
    skip: float = NEAR_RODS,
    crossings: bool = True,
    least_only: bool = False,
) -> tuple[Array, Array]:
    """Least distance of pairs of lines at every moment.

    Parameters
    ----------
    shapes : (rows, m, k, 3) array
        Nodes of the lines [m] from the lure up.
    counts : (rows, m) array of int
        Nodes in use.
    pairs : (p, 2) array of int
        Rows to compare.
    skip : float
        Line at each rod that is left out [m].
    crossings : bool
        Whether to look for crossings as seen from above, too.
    least_only : bool
        Only the least over all moments counts: others may be given as infinite, which is quicker.

    Returns
    -------
    tuple
        (p, m, 3) array: distance [m], and where on either line (number of the node and share of
        the way to the next); (p, m) array: height of the first over the second where they cross
        [m], NaN where they do not; (p, 0) where not asked for.
    """
    out = np.empty((len(pairs), shapes.shape[1], 3))
    crossed = np.full((len(pairs), shapes.shape[1] if crossings else 0), np.nan)
    share_out(
        lambda first, beyond: _all_gaps(
            first, beyond, shapes, counts, pairs, skip, out, crossed, least_only
        ),
        len(pairs),
        10 * shapes.shape[1],
    )
    return out, crossed


def point_at(shape: Array, where: float) -> Array:
    """Place on a line [m] by number of the node and share of the way to the next."""
    i = min(int(where), len(shape) - 1)
    j = min(i + 1, len(shape) - 1)
    return np.asarray(shape[i] + (where - i) * (shape[j] - shape[i]))
