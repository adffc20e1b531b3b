"""Change-point odds on a line's readings: whether it was stretched, cut or re-spooled."""

from __future__ import annotations

import copy
import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import scipy

from towscope.calibration.model import DepthTable, Evidence
from towscope.calibration.posterior import Mode, Posterior, climb_from

FEWEST = 3  # readings on either side
MOST_SPLITS = 10
ODDS = 20.0  # that a change must be likelier by, for every moment it is looked for at


@dataclass(frozen=True)
class LineShift:
    """A line that became another.

    Attributes
    ----------
    since : str
        Date of the first reading after it; "" where it has none.
    index : int
        Number of that reading among the rig's, in time order.
    odds : float
        How much likelier a change is than none, given the readings (a Bayes factor).
    deeper : float
        How much deeper it runs since, at the readings' settings [m].
    """

    since: str
    index: int
    odds: float
    deeper: float


def only(
    problem: Evidence, table: DepthTable, keep: npt.NDArray[np.bool_]
) -> tuple[Evidence, DepthTable]:
    """Give the same problem with some of its readings."""
    part = copy.copy(problem)
    part.readings = [m for m, k in zip(problem.readings, keep, strict=True) if k]
    for name in (
        "rig", "kind", "depth", "bare_error", "error", "ratio", "room", "given", "where", "lines",
        "spread",
    ):  # fmt: skip
        setattr(part, name, np.ascontiguousarray(getattr(problem, name)[keep]))
    return part, DepthTable(
        table.at[keep], table.value[keep], table.slope[keep], table.curve[keep], table.active[keep]
    )


def change_in(posterior: Posterior, rig: str, lure: str) -> LineShift | None:
    """Look for a moment at which a rig's line became another.

    Parameters
    ----------
    posterior : Posterior
        From all readings as one line's.
    rig, lure : str
        Which.

    Returns
    -------
    LineShift or None
        The likeliest change, where one is far likelier than none.

    Notes
    -----
    The marginal likelihood of the readings before and after as two lines', each as unsure as
    stated, is held against theirs as one line's. More freedom fits better and is worth less
    beforehand; the marginal likelihood weighs the one against the other.

    References
    ----------
    Kass & Raftery (1995), J. Am. Stat. Assoc. 90:773-795.
    """
    problem = posterior.problem
    own = np.array([m.rig == rig and m.lure == lure for m in problem.readings])
    timed = own & np.array([m.time is not None for m in problem.readings])
    if int(timed.sum()) < 2 * FEWEST:
        return None
    part, table = only(problem, posterior.table, timed)
    order = np.argsort([m.time or 0.0 for m in part.readings], kind="stable")
    days = [part.readings[i].day for i in order]
    n = len(order)
    splits = [k for k in range(FEWEST, n - FEWEST + 1) if days[k] != days[k - 1]]
    if not splits and len(set(days)) == 1:
        splits = list(range(FEWEST, n - FEWEST + 1))
    if len(splits) > MOST_SPLITS:
        splits = [splits[i] for i in np.linspace(0, len(splits) - 1, MOST_SPLITS).astype(int)]
    if not splits:
        return None
    start = posterior.modes[0].z
    whole = _evidence(part, table, start)
    best: LineShift | None = None
    for k in splits:
        before, after = np.zeros(n, bool), np.zeros(n, bool)
        before[order[:k]], after[order[k:]] = True, True
        sides = []
        for mask in (before, after):
            side, side_table = only(part, table, mask)
            sides.append(_best(side, side_table, start))
        gain = sides[0].evidence + sides[1].evidence - whole
        if best is not None and gain <= math.log(best.odds):
            continue
        x0, x1 = (part.to_x(mode.z)[0] for mode in sides)
        deeper = float((part.depths(x1, table) - part.depths(x0, table)).mean())
        best = LineShift(days[k], k, math.exp(min(gain, 50.0)), deeper)
    if best is None or best.odds < ODDS * len(splits):
        return None
    return best


def _best(problem: Evidence, table: DepthTable, start: npt.NDArray[np.float64]) -> Mode:
    return max(climb_from(problem, table, start), key=lambda m: m.evidence)


def _evidence(problem: Evidence, table: DepthTable, start: npt.NDArray[np.float64]) -> float:
    return float(scipy.special.logsumexp([m.evidence for m in climb_from(problem, table, start)]))
