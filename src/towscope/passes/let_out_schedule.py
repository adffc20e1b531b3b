"""Viterbi's cheapest path over round let-outs: the few changes that keep the lure at its height.

Hands work in round amounts, slowly and seldom: the line wanted from place to place is worked out
first, then the few round steps that come nearest to it.
"""

from __future__ import annotations

import numpy as np
import scipy

from towscope.arrays import Array
from towscope.bed.bed import LakeBed
from towscope.passes.steering import KNOT, CourseLine, FollowedWay, Response, Steps

CHANGE = 3.0  # [m^3]; what a change must gain: depth error squared, times the length it lasts
NEAR = 2.0  # [m]; higher above the bottom a change must gain more, with the height's square
DEEPER = 2.0  # times worse to run too deep than too shallow
TOGETHER = 25.0  # [m]; changes of line closer than this are made in one go
LATE = 10.0  # [m]; before the end of the stretch, the last place for a change of line
EVEN = 6.0  # [m]; bumps shorter than this cannot be followed and are evened out
SMOOTH = 200.0  # [m^4]; how much a bent course of let-outs counts against a depth error


def wanted_depths(bed: LakeBed, line: CourseLine, places: Array, clearance: float) -> Array:
    """Give the depths at which the lure should run along a line.

    Parameters
    ----------
    bed : LakeBed
        The bottom.
    line : CourseLine
        The line.
    places : (n,) array
        Distances along it, at even steps [m].
    clearance : float
        Height to keep above the bottom [m].

    Returns
    -------
    (n,) array
        Depths [m]; before and after the stretch no deeper than at its ends.
    """
    x, y, _, _ = line.on(places)
    depth = bed.sample(x, y)[:, 0] - clearance
    step = float(places[1] - places[0])
    depth = scipy.ndimage.gaussian_filter1d(depth, EVEN / step, mode="nearest")
    first = float(np.interp(0.0, places, depth))
    last = float(np.interp(line.length, places, depth))
    depth = np.where(places < 0.0, np.minimum(depth, first), depth)
    return np.where(places > line.length, np.minimum(depth, last), depth)


def change_cost(clearance: float) -> float:
    """Give what a change must gain so high above the bottom [m^3]."""
    return CHANGE * max(1.0, clearance / NEAR) ** 2


def let_outs(
    trial: FollowedWay,
    wanted: Array,
    places: Array,
    response: Response,
    grain: float,
    least: float,
    most: float,
    change: float = CHANGE,
) -> Steps:
    """Give the few round let-outs that bring the lure nearest to its wanted depths.

    Parameters
    ----------
    trial : FollowedWay
        The way as it was last followed.
    wanted, places : (n,) array
        Wanted depths [m] at distances along the line [m].
    response : Response
        Of the lure's depth to line let out.
    grain : float
        Let-outs are multiples of this [m].
    least, most : float
        Bounds of the let-out [m].
    change : float
        What a change must gain [m^3].

    Returns
    -------
    Steps
        The let-outs, as read.
    """
    knots = trial.way.u
    now = trial.way.out.on(knots)
    lure_u = np.maximum.accumulate(trial.lure_u)
    reached = (places >= lure_u[0]) & (places <= lure_u[-1])
    places, wanted = places[reached], wanted[reached]
    gap = wanted - np.interp(places, lure_u, trial.passage.depth[0])
    g = response.to(places, knots)
    # a change at the first knot stands for what has been out for long
    g[:, 0] = np.gradient(response.twice, response.far)[-1] - g[:, 1:].sum(axis=1)
    bend = np.diff(np.eye(len(knots)), 2, axis=0) / KNOT**2
    a = np.vstack([g, np.sqrt(SMOOTH) * bend, 1e-3 * np.eye(len(knots))])
    b = np.concatenate([gap, -np.sqrt(SMOOTH) * bend @ now, np.zeros(len(knots))])
    ideal = now + np.linalg.lstsq(a, b, rcond=None)[0]
    per_line = float(np.gradient(response.twice, response.far)[-1])
    # the lure is as good as off the stretch before a change made later would tell
    matters = np.where(knots <= trial.way.line.length - LATE, 1.0, 0.0)
    weight = matters * per_line**2 * KNOT
    return steps(knots, np.clip(ideal, least, most), grain, least, most, weight, change)


def steps(
    at: Array,
    ideal: Array,
    grain: float,
    least: float,
    most: float,
    weight: Array,
    change: float = CHANGE,
) -> Steps:
    """Give the stepped course nearest to an ideal one, changes weighed against the gain.

    Parameters
    ----------
    at, ideal : (n,) array
        Places [m] and the ideal value at each.
    grain : float
        Values are multiples of this.
    least, most : float
        Their bounds.
    weight : (n,) array
        What the square of a difference at each place costs, more above the ideal.
    change : float
        What a change costs.

    Returns
    -------
    Steps
        The course.

    References
    ----------
    Viterbi (1967), IEEE Trans. Inf. Theory 13:260-269: the cheapest path through all values.
    """
    low = max(np.floor(ideal.min() / grain), np.ceil(least / grain - 1e-9))
    high = min(np.ceil(ideal.max() / grain), np.floor(most / grain + 1e-9))
    levels = np.arange(low, max(high, low) + 1.0) * grain
    cost = np.zeros(len(levels))
    came = np.empty((len(at), len(levels)), dtype=np.int64)
    own = np.arange(len(levels))
    for i, (value, heavy) in enumerate(zip(ideal.tolist(), weight.tolist(), strict=True)):
        cheapest = int(cost.argmin())
        stay = cost <= cost[cheapest] + change
        came[i] = np.where(stay, own, cheapest)
        cost = (
            np.where(stay, cost, cost[cheapest] + change)
            + heavy * ((levels - value) * np.where(levels > value, DEEPER, 1.0)) ** 2
        )
    k = int(cost.argmin())
    chosen = np.empty(len(at), dtype=np.int64)
    for i in range(len(at) - 1, -1, -1):
        chosen[i] = k
        k = int(came[i, k])
    new = np.concatenate([[True], np.diff(chosen) != 0])
    where = at[new].copy()
    where[0] = -np.inf
    return _merged(where, levels[chosen[new]])


def _merged(at: Array, value: Array) -> Steps:
    """Make one of changes the same way that follow so closely that a hand makes them in one go."""
    places, values = [at[0]], [value[0]]
    last = -np.inf  # where the change under way was last added to
    for place, new in zip(at[1:].tolist(), value[1:].tolist(), strict=True):
        goes_on = len(values) > 1 and (new - values[-1]) * (values[-1] - values[-2]) > 0.0
        if goes_on and place - last < TOGETHER:
            values[-1] = new
        else:
            places.append(place)
            values.append(new)
        last = place
    return Steps(np.array(places), np.array(values))
