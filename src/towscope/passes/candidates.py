"""Lines of limited curvature along edges: which stretches to run, which way in this wind, and why.

The geometric half of a pass: from edges to lines of limited curvature with a direction. What the
lures then do is asked of the engine elsewhere.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
import scipy

from towscope.arrays import Array
from towscope.bed.edges import Edge, resample
from towscope.errors import InputError, NoAnswer
from towscope.passes.turn_radius import RADIUS

STEP = 2.0  # [m]; between points of a line
OFF = 8.0  # [m]; the farthest a steerable line may leave its edge
SHORTEST = 60.0  # [m]; a shorter pass is all setting and lifting
LONGEST = 1500.0  # [m]; a longer one is better run in pieces
LEEWAY = 0.03  # drift of a small open boat per wind speed (from memory, common practice)
CALM, FRESH = 1.5, 6.0  # [m/s]; below, wind does not decide; above, waves do
# What stands for the direction (common practice, no source): into a light or moderate wind a boat
# answers its helm at walking speed; a fresh one brings waves that stop and surge her.


@dataclass(frozen=True)
class Wind:
    """The wind.

    Attributes
    ----------
    source : float
        Where it blows from [degrees clockwise from north].
    speed : float
        Speed [m/s].
    """

    source: float
    speed: float

    def __post_init__(self) -> None:
        if not (np.isfinite(self.source) and np.isfinite(self.speed) and 0 <= self.speed <= 40.0):
            raise InputError(
                f"a wind from {self.source:g} degrees at {self.speed:g} m/s: expected a direction "
                "and a speed of 0 to 40 m/s"
            )

    @property
    def drift(self) -> tuple[float, float]:
        """How fast it sets a boat eastward and northward [m/s]."""
        to = np.radians(self.source + 180.0)
        return (float(LEEWAY * self.speed * np.sin(to)), float(LEEWAY * self.speed * np.cos(to)))


@dataclass(frozen=True)
class Stretch:
    """One steerable line along an edge, run from its first point to its last.

    Attributes
    ----------
    x, y : (n,) array
        The line the lures should follow, at even steps [m].
    depth : float
        Depth of the edge [m].
    heading : float
        Mean direction of the run [degrees clockwise from north].
    against_wind : str
        ``"into"``, ``"with"``, ``"across"`` or ``"calm"``.
    reason : str
        Why this way, in plain words.
    crab : float
        How far the bow must point to windward of the line, at most [degrees].
    off : float
        The farthest the line leaves the edge [m].
    radius : float
        Its tightest turn [m].
    deeper_side : str
        ``"port"`` or ``"starboard"``.
    slope : float
        Mean slope of the edge [m/m].
    across_sd : float
        How far off across the edge its line may be [m].
    worth : float
        What the stretches are ranked by [m].
    """

    x: Array
    y: Array
    depth: float
    heading: float
    against_wind: str
    reason: str
    crab: float
    off: float
    radius: float
    deeper_side: Literal["port", "starboard"]
    slope: float
    across_sd: float
    worth: float

    @property
    def length(self) -> float:
        """Length [m]."""
        return float(np.hypot(np.diff(self.x), np.diff(self.y)).sum())


def curvature(x: Array, y: Array) -> Array:
    """Give the curvature of a line at its points, positive in a left turn, (n,) [1/m].

    The reciprocal of the radius of the circle through each point and its neighbours; 0 at the ends.
    """
    ax, ay = np.diff(x)[:-1], np.diff(y)[:-1]
    bx, by = np.diff(x)[1:], np.diff(y)[1:]
    cx, cy = ax + bx, ay + by
    product = np.hypot(ax, ay) * np.hypot(bx, by) * np.hypot(cx, cy)
    inner = 2.0 * (ax * by - ay * bx) / np.maximum(product, 1e-12)
    return np.concatenate([[0.0], inner, [0.0]])


def steerable(x: Array, y: Array, radius: float = RADIUS) -> tuple[Array, Array]:
    """Give the line nearest to another that turns nowhere tighter than a radius.

    Least squares from the line with a penalty on its bending, which is raised only where the
    result still turns too tightly, and only as far as needed.

    Parameters
    ----------
    x, y : (n,) array
        The line, at even steps [m].
    radius : float
        Least radius [m].

    Returns
    -------
    x, y : (n,) array
        The steerable line [m].

    References
    ----------
    Whittaker (1923), Proc. Edinb. Math. Soc. 41:63-75 (graduation), with local weights.
    """
    n = x.size
    if n < 5:
        return x.copy(), y.copy()
    limit = 0.97 / radius
    weight = np.full(n - 2, 1.0)
    px, py = x, y
    for _ in range(80):
        px, py = _whittaker(x, weight), _whittaker(y, weight)
        tight = np.abs(curvature(px, py)[1:-1]) > limit
        if not tight.any():
            break
        # The bend is spread by giving way on either side of it as well.
        near = scipy.ndimage.gaussian_filter1d(tight.astype(float), 4.0, mode="nearest")
        weight *= 1.0 + np.minimum(near / 0.2, 1.0)
    return px, py


def _whittaker(values: Array, weight: Array) -> Array:
    """Solve (I + D'WD) u = values, D the second difference: five diagonals."""
    n = values.size
    ab = np.zeros((3, n))
    ab[2] = 1.0
    ab[2, :-2] += weight
    ab[2, 1:-1] += 4.0 * weight
    ab[2, 2:] += weight
    ab[1, 1:-1] += -2.0 * weight
    ab[1, 2:] += -2.0 * weight
    ab[0, 2:] += weight
    return np.asarray(scipy.linalg.solveh_banded(ab, values, check_finite=False))


def choose(
    edges_found: list[Edge],
    wind: Wind,
    speed: float,
    *,
    radius: float = RADIUS,
    off: float = OFF,
    shortest: float = SHORTEST,
    most: int = 8,
) -> list[Stretch]:
    """Choose the stretches to run, the best first.

    Parameters
    ----------
    edges_found : list of Edge
        The edges.
    wind : Wind
        The wind.
    speed : float
        Speed through the water [m/s].
    radius : float
        Tightest turn [m].
    off : float
        Farthest a line may leave its edge [m]; where the edge bends tighter, the line ends.
    shortest : float
        Shortest pass [m].
    most : int
        Most passes.

    Returns
    -------
    list of Stretch
        The stretches.

    Raises
    ------
    NoAnswer
        Where no edge can be followed so closely with such a turn.
    """
    if not 0.1 <= speed <= 5.0:
        raise InputError(f"a speed of {speed:g} m/s is no trolling speed; expected 0.1 to 5 m/s")
    if not radius >= 5.0:
        raise InputError(
            f"no boat under way with lines out turns in {radius:g} m; expected over 5 m"
        )
    found: list[Stretch] = []
    for edge in edges_found:
        for first, last, x, y, away in _lines(edge, radius, off, shortest):
            found += [_stretch(edge, first, last, part_x, part_y, away, wind, speed)
                      for part_x, part_y in _pieces(x, y)]  # fmt: skip
    if not found:
        raise NoAnswer(
            f"no edge here can be followed within {off:.0f} m by a line turning in {radius:.0f} m "
            f"for {shortest:.0f} m; allow a tighter turn, a wider berth or a shorter pass"
        )
    return sorted(found, key=lambda s: -s.worth)[:most]


def _lines(
    edge: Edge, radius: float, off: float, shortest: float
) -> list[tuple[int, int, Array, Array, float]]:
    """Give steerable lines along an edge, broken where it bends too tightly to be followed."""
    x, y = resample(edge.x, edge.y, STEP)
    waiting = [(0, x.size)]
    done = []
    while waiting:
        a, b = waiting.pop()
        if (b - a) * STEP < shortest:
            continue
        px, py = steerable(x[a:b], y[a:b], radius)
        away = np.hypot(px - x[a:b], py - y[a:b])
        # what counts is the distance across, not how far a point slid along
        tx, ty = np.gradient(x[a:b]), np.gradient(y[a:b])
        across = np.abs((px - x[a:b]) * ty - (py - y[a:b]) * tx) / np.maximum(
            np.hypot(tx, ty), 1e-9
        )
        across = np.minimum(across, away)
        worst = int(across.argmax())
        tight = float(np.abs(curvature(px, py)).max()) > 1.0 / radius
        if across[worst] <= off and not tight:
            qx, qy = resample(px, py, STEP)
            done.append((a, b, qx, qy, float(across[worst])))
            continue
        if tight and across[worst] <= off:
            worst = int(np.abs(curvature(px, py)).argmax())
        cut = a + min(max(worst, 3), b - a - 3)
        if cut in (a, b):
            continue
        waiting += [(a, cut), (cut, b)]
    return sorted(done)


def _pieces(x: Array, y: Array) -> list[tuple[Array, Array]]:
    """Break a very long line in equal pieces."""
    length = float(np.hypot(np.diff(x), np.diff(y)).sum())
    count = max(int(np.ceil(length / LONGEST)), 1)
    cuts = [(x.size - 1) * k // count for k in range(count + 1)]
    return [(x[a : b + 1], y[a : b + 1]) for a, b in pairwise(cuts)]


def _stretch(
    edge: Edge, first: int, last: int, x: Array, y: Array, off: float, wind: Wind, speed: float
) -> Stretch:
    step = np.hypot(np.diff(edge.x), np.diff(edge.y))
    at = np.concatenate([[0.0], np.cumsum(step)])
    mine = (at >= first * STEP - 1.0) & (at <= last * STEP + 1.0)
    slope = float(edge.slope[mine].mean()) if mine.any() else float(edge.slope.mean())
    across = edge.across_sd[mine] if mine.any() else edge.across_sd
    length = float(np.hypot(np.diff(x), np.diff(y)).sum())
    sure = float(np.mean(1.0 / (1.0 + (across / 10.0) ** 2)))
    worth = length * sure * min(slope, 0.5) / 0.5
    one = _direction(x, y, wind, speed)
    other = _direction(x[::-1], y[::-1], wind, speed)
    chosen, back = (one, False) if one[0] >= other[0] else (other, True)
    if back:
        x, y = x[::-1].copy(), y[::-1].copy()
    tight = float(np.abs(curvature(x, y)).max())
    return Stretch(
        x, y, edge.depth, chosen[1], chosen[2], chosen[3], chosen[4], off,
        1.0 / tight if tight > 1e-9 else float("inf"),
        "starboard" if back else "port", slope, float(np.median(across)), worth,
    )  # fmt: skip


def _direction(
    x: Array, y: Array, wind: Wind, speed: float
) -> tuple[float, float, str, str, float]:
    """Judge one direction: how good, heading, how the wind stands, why, and the crab angle."""
    dx, dy = np.diff(x), np.diff(y)
    step = np.maximum(np.hypot(dx, dy), 1e-9)
    heading = float(np.degrees(np.arctan2(dx.sum(), dy.sum())) % 360.0)
    ring = abs(dx.sum()) + abs(dy.sum()) < 0.3 * step.sum()  # it comes back on itself
    drift_x, drift_y = wind.drift
    sideways = np.abs(drift_x * dy - drift_y * dx) / step
    crab = float(np.degrees(np.arcsin(np.minimum(sideways.max() / speed, 1.0))))
    ahead = -(drift_x * dx.sum() + drift_y * dy.sum()) / max(LEEWAY * wind.speed, 1e-9)
    into = float(ahead / max(float(np.hypot(dx.sum(), dy.sum())), 1e-9))  # 1 into, -1 with the wind
    if wind.speed < CALM:
        return 0.0, heading, "calm", "too little wind to matter: run it either way", crab
    if ring:
        return 0.0, heading, "across", (
            "it closes on itself, so every wind comes once: begin on the lee side"
        ), crab  # fmt: skip
    label = "into" if into > 0.707 else "with" if into < -0.707 else "across"
    if wind.speed <= FRESH:
        score = into
        why = {
            "into": "into the wind the boat answers the helm and holds a slow, even speed",
            "across": "nearly across the wind; this way it comes from ahead, so the boat can be "
            f"held on the line with the bow {crab:.0f} degrees to windward",
            "with": "only with the wind here",
        }[label]
    else:
        score = -into
        why = {
            "with": "a fresh wind: with it the waves neither stop the boat nor snatch the lines",
            "across": "a fresh wind nearly across; this way the waves come from behind: hold the "
            f"bow {crab:.0f} degrees to windward",
            "into": "only into the wind here",
        }[label]
    return score, heading, label, why, crab
