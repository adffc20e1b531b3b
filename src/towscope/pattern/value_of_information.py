"""Expected catch plus what it teaches: which lures should run on the rods now.

Each choice is worth the fish it can be expected to catch in its time, and the fish that what it
teaches will bring in the rest of the day. The second is found by imagining: for each lure that
could go in, every catch it could make, and what the crew would then know and run.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from towscope.arrays import Array
from towscope.towing.jit import kernel

# Reeling in 50 m, tying on and letting out again: common practice, no source.
CHANGE_HOURS = 5.0 / 60.0


@kernel
def _best_sum(rates: Array, held: Array, copies: Array, free: int) -> float:
    """Give the catch rate of the best lures for the free rods."""
    total = 0.0
    left = copies - held
    for _ in range(free):
        best, at = -1.0, -1
        for j in range(rates.shape[0]):
            if left[j] > 0.5 and rates[j] > best:
                best, at = rates[j], j
        if at < 0:
            break
        total += best
        left[at] -= 1.0
    return total


@kernel
def _learning(
    rates: Array, exposure: Array, most: int, held: Array, copies: Array, free: int
) -> Array:
    """Say how much better the best choice becomes by having fished each lure for some time.

    Parameters
    ----------
    rates : ndarray (draws, lures)
        Equally likely catch rates [fish per rod-hour].
    exposure : ndarray (lures,)
        For how long each would be tried [rod-hours].
    most : int
        Largest catch told apart; more count as that.

    Returns
    -------
    ndarray (lures,)
        Expected gain of the best choice [fish per hour].
    """
    draws, lures = rates.shape
    mean = np.zeros(lures)
    for s in range(draws):
        for j in range(lures):
            mean[j] += rates[s, j] / draws
    before = _best_sum(mean, held, copies, free)
    gain = np.zeros(lures)
    weight = np.empty(draws)
    after = np.empty(lures)
    for k in range(lures):
        if copies[k] - held[k] < 0.5:
            continue
        left = np.ones(draws)
        value = 0.0
        for n in range(most + 1):
            total = 0.0
            for s in range(draws):
                if n < most:
                    m = rates[s, k] * exposure[k]
                    p = np.exp(-m)
                    for i in range(1, n + 1):
                        p *= m / i
                    left[s] -= p
                    weight[s] = p
                else:
                    weight[s] = max(left[s], 0.0)
                total += weight[s]
            if total <= 1e-12 * draws:
                continue
            for j in range(lures):
                after[j] = 0.0
            for s in range(draws):
                w = weight[s] / total
                for j in range(lures):
                    after[j] += w * rates[s, j]
            value += total / draws * _best_sum(after, held, copies, free)
        gain[k] = max(value - before, 0.0)
    return gain


@dataclass(frozen=True)
class LureChoice:
    """What to run, and what each lure is worth now.

    Attributes
    ----------
    lures : list of int
        Lure for each rod.
    changed : list of int
        Rods whose lure changes.
    mean : ndarray (lures,)
        Expected catch rate [fish per rod-hour].
    learning : ndarray (lures,)
        What a trial of each would add to the rest of the day [fish per hour of trial].
    """

    lures: list[int]
    changed: list[int]
    mean: Array
    learning: Array


def choose(
    rates: Array,
    running: list[int],
    locked: list[bool],
    copies: Array,
    *,
    hours_left: float,
    memory_hours: float = 6.0,
    trial_hours: float = 1.5,
    change_hours: float = CHANGE_HOURS,
    changes: int = 1,
    weight: float = 1.0,
) -> LureChoice:
    """Choose lures for the rods for the next half hour.

    Parameters
    ----------
    rates : ndarray (draws, lures)
        Equally likely catch rates of each lure [fish per rod-hour].
    running : list of int
        Lure now on each rod; -1 where none.
    locked : list of bool
        Rods that are not to be touched.
    copies : ndarray (lures,)
        How many of each are aboard.
    hours_left : float
        Time left to fish [h].
    memory_hours : float
        How long what is learnt stays true [h].
    trial_hours : float
        How long a trial is thought to last when its lesson is weighed [h]: half an hour alone
        seldom turns a choice, several in a row do.
    change_hours : float
        How long a line is out of the water while its lure is changed [h]: what a change costs.
    changes : int
        How many running lures may change at most.
    weight : float
        How much learning counts against catching; 1 is its full worth.

    Returns
    -------
    LureChoice
        The choice.

    References
    ----------
    Frazier & Powell (2010), "Paradoxes in learning and the marginal value of information",
    Decision Analysis 7:378-403: the knowledge gradient of several trials in a row.
    """
    rods, lures = len(running), rates.shape[1]
    mean = rates.mean(axis=0)
    held = np.zeros(lures)
    for rod in range(rods):
        if locked[rod] and running[rod] >= 0:
            held[running[rod]] += 1.0
    free = sum(not x for x in locked)
    later = memory_hours * (1.0 - np.exp(-max(hours_left - trial_hours, 0.0) / memory_hours))
    gain = _learning(
        np.ascontiguousarray(rates), np.full(lures, trial_hours), 4, held, copies, free
    )
    learning = weight * later * gain / trial_hours
    score = mean + learning
    cost = mean * min(change_hours / trial_hours, 1.0)

    def pick(left: Array, than: int = -1) -> tuple[int, float]:
        """Choose the best lure that is left, and say what it brings more than another.

        Scores come from draws: lures that these cannot tell apart are taken in the order in which
        they are aboard, so that the luck of the draws does not decide.
        """
        open_ = np.where(left > 0.5, score - (cost if than >= 0 else 0.0), -np.inf)
        best = int(np.argmax(open_))
        noise = 2.0 * (rates - rates[:, [best]]).std(axis=0) / np.sqrt(len(rates))
        lure = int(np.argmax(open_ >= open_[best] - noise))
        if than < 0:
            return lure, float(open_[lure])
        doubt = 2.0 * float((rates[:, lure] - rates[:, than]).std()) / np.sqrt(len(rates))
        return lure, float(open_[lure] - score[than]) - doubt

    out = list(running)
    left = copies - held
    for rod in range(rods):
        if not locked[rod] and out[rod] >= 0:
            left[out[rod]] -= 1.0
    changed: list[int] = []
    for rod in range(rods):
        if locked[rod] or out[rod] >= 0:
            continue
        lure, worth = pick(left)
        if not np.isfinite(worth):
            continue
        out[rod] = lure
        left[out[rod]] -= 1.0
        changed.append(rod)
    for _ in range(changes):
        best: tuple[float, int, int] | None = None
        for rod in range(rods):
            if locked[rod] or rod in changed or out[rod] < 0:
                continue
            lure, better = pick(left, out[rod])
            if np.isfinite(better) and better > 0.0 and (best is None or better > best[0]):
                best = (better, rod, lure)
        if best is None:
            break
        _, rod, lure = best
        left[out[rod]] += 1.0
        out[rod] = lure
        left[lure] -= 1.0
        changed.append(rod)
    return LureChoice(out, changed, mean, learning)
