"""Expected narrowing of the usual answers: which reading would teach most next."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from towscope.arrays import Array
from towscope.calibration.apply import depths_at, usual_let_outs
from towscope.calibration.model import Customs
from towscope.calibration.readings import KINDS
from towscope.constants import FOOT, HALF_OF_90, MPH
from towscope.towing.steady import LENGTH
from towscope.towing.tow import Tow

SPEEDS = np.arange(1.2, 2.81, 0.2) * MPH
STEP = 10.0 * FOOT
SHALLOWEST, DEEPEST = 8.0 * FOOT, 60.0 * FOOT
VERSIONS = 200
MORE = 1.15  # times the longest let-out in use: nobody strips the reel for a reading


@dataclass(frozen=True)
class Lesson:
    """A reading to make.

    Attributes
    ----------
    let_out, speed, depth : float
        Line out and speed as read, and depth of a bottom that the lure should just hit [m, m/s].
    half_width, after : float
        Mean half-width of the 90 % intervals at the usual settings, now and once it is made [m].
    """

    let_out: float
    speed: float
    depth: float
    half_width: float
    after: float


def versions(tow: Tow, let_outs: Array, speed: float, count: int = VERSIONS) -> Array:
    """Depths (m, n) of a calibrated tow's versions at let-outs and a speed, as read [m]."""
    assert tow.learnt is not None
    few = tow.learnt.draws(tow, min(count, len(tow.learnt.lures)), 20_190)
    along = few.along if few.along.size else np.zeros(len(few))
    longest = tow.length
    return np.array(
        [
            depths_at(tow, p, lure, np.minimum(let_outs * c, longest), speed, float(a))
            for p, lure, c, a in zip(few.pieces, few.lures, few.let_out_scale, along, strict=True)
        ]
    )


def teaches_most(
    tow: Tow,
    usual: Sequence[tuple[float, float]],
    customs: Customs,
    *,
    deepest: float = DEEPEST,
) -> Lesson | None:
    """Find the reading that narrows the usual answers most.

    Parameters
    ----------
    tow : Tow
        The calibrated rig.
    usual : sequence of (let-out, speed)
        What is usually run [m, m/s].
    customs : Customs
        How well things are read.
    deepest : float
        Deepest bottom to be had [m].

    Returns
    -------
    Lesson or None
        The reading; None where no candidate is in reach.

    Notes
    -----
    By the linear rule: a reading whose predicted depth varies with a usual answer over the versions
    by so much covariance takes its square, over the reading's own variance with its error, off the
    answer's variance. The reading is made on another day, in a current not known.

    References
    ----------
    MacKay (1992), Neural Computation 4:590-604, for choosing data by their expected gain.
    """
    targets = []
    for speed in sorted({v for _, v in usual}):
        outs = np.array(sorted(out for out, v in usual if v == speed))
        targets.append(versions(tow, outs, speed))
    answers = np.concatenate(targets, axis=1)
    answers = answers - answers.mean(0)
    variance = (answers**2).mean(0) + 1e-12
    now = HALF_OF_90 * float(np.sqrt(variance).mean())
    coded = np.flatnonzero(np.isfinite(tow.color_length))
    leader = float(tow.pieces[: coded[0], LENGTH].sum()) if len(coded) else 0.0
    first = STEP * math.ceil((leader + 9.0) / STEP)
    last = min(float(usual_let_outs(tow)[-1]), max(MORE * max(out for out, _ in usual), first))
    outs = np.arange(first, max(last, first) + 1e-6, STEP)
    slowest, fastest = min(v for _, v in usual), max(v for _, v in usual)
    speeds = [v for v in SPEEDS if slowest - 0.05 <= v <= fastest + 0.05]
    best: Lesson | None = None
    tables = {v: versions(tow, outs, float(v)) for v in speeds}
    for i, v in enumerate(speeds):
        table = tables[v]
        near = tables[speeds[i + 1] if i + 1 < len(speeds) else speeds[i - 1]]
        apart = (speeds[i + 1] if i + 1 < len(speeds) else speeds[i - 1]) - v
        middle = table.mean(0)
        by_speed = (near.mean(0) - middle) / apart if apart else np.zeros(len(outs))
        by_out = np.gradient(middle, outs) if len(outs) > 1 else np.zeros(1)
        error = (
            KINDS["bottom hit"] ** 2
            + by_speed**2 * (customs.speed_error**2 + customs.current**2)
            + (by_out * customs.let_out_error) ** 2
        )
        off = table - middle
        shared = off.T @ answers / len(off)
        left = variance - shared**2 / ((off**2).mean(0) + error)[:, None]
        after = HALF_OF_90 * np.sqrt(np.maximum(left, 0.0)).mean(1)
        after[(middle < SHALLOWEST) | (middle > deepest) | ~np.isfinite(after)] = np.inf
        k = int(np.argmin(after))
        if math.isfinite(after[k]) and (best is None or after[k] < best.after):
            best = Lesson(float(outs[k]), float(v), float(middle[k]), now, float(after[k]))
    return best
