"""Stepping, turns sought, then Brent's method: when a curve stands at a level, none missed.

A step of half an hour may leap over a body that shows above the horizon for ten minutes, so each
turn of the curve near the level is looked at by itself.

References
----------
Brent (1973), Algorithms for Minimization without Derivatives, chapters 4 and 5, as in scipy.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import Final

Curve = Callable[[float], float]

STEP_S: Final = 1800.0
FINE_S: Final = 0.25  # [s]; what a time is found to
# Among samples half an hour apart a body on the sky, which goes 15 degrees an hour, turns at most
# 0.12 degrees above the highest; a turn that is seen farther off does not reach the level.
NEAR_DEG: Final = 0.25


def crossings(
    curve: Curve, start: float, end: float, level: float, *, step: float = STEP_S
) -> list[tuple[float, bool]]:
    """Find the moments at which a curve passes a level.

    Parameters
    ----------
    curve : callable
        Height [degrees] at a moment [s].
    start, end : float
        Where to look [s]; the start counts, the end does not.
    level : float
        The level [degrees].
    step : float
        Time between samples [s].

    Returns
    -------
    list of (float, bool)
        Moments [s] in their order, and whether the curve rises there.

    Examples
    --------
    A ball thrown 20 m up, seen over a fence 15 m high:

    >>> [(round(t, 1), up) for t, up in crossings(lambda t: 20 - 5 * t**2, -3, 3, 15, step=1)]
    [(-1.0, True), (1.0, False)]
    """
    from scipy.optimize import brentq

    count = max(2, int(-(-(end - start) // step)))
    times = [start + (end - start) * k / count for k in range(count + 1)]
    # one sample beyond each end: a turn may lie within the first or last step
    around = [start - step, *times, end + step]
    heights = [curve(t) - level for t in around]
    found: list[tuple[float, bool]] = []
    turned = [(around[0], heights[0])]
    for k in range(1, len(around) - 1):
        before, here, after = heights[k - 1], heights[k], heights[k + 1]
        peak = here > before and here >= after and -NEAR_DEG < here < 0.0
        dip = here < before and here <= after and 0.0 <= here < NEAR_DEG
        if peak or dip:
            sign = 1.0 if peak else -1.0
            at = _turn(curve, sign, around[k - 1], around[k + 1])
            turned.extend(sorted([(at, curve(at) - level), (around[k], here)]))
        else:
            turned.append((around[k], here))
    turned.append((around[-1], heights[-1]))
    for (a, low), (b, high) in pairwise(turned):
        if (low >= 0.0) == (high >= 0.0):
            continue
        moment = float(brentq(lambda t: curve(t) - level, a, b, xtol=FINE_S))
        if start <= moment < end:
            found.append((moment, high > low))
    return found


def _turn(curve: Curve, sign: float, start: float, end: float) -> float:
    return highest(lambda t: sign * curve(t), start, end)


def highest(curve: Curve, start: float, end: float) -> float:
    """Find where a curve with one turn upward between two moments is highest.

    >>> round(highest(lambda t: 20 - 5 * (t - 1) ** 2, -3, 3), 1)
    1.0
    """
    from scipy.optimize import minimize_scalar

    found = minimize_scalar(
        lambda t: -curve(t), bounds=(start, end), method="bounded", options={"xatol": FINE_S}
    )
    return float(found.x)
