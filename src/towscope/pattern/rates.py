"""Garwood's exact interval: a catch rate from one count and its hours.

Exact, from the count and the hours alone; what lies behind the count is the regression's business.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import scipy

from towscope.errors import InputError

CONFIDENCE = 0.90


@dataclass(frozen=True)
class Rate:
    """A catch rate and its interval.

    Attributes
    ----------
    catches : int
        Fish caught.
    hours : float
        Rod-hours fished [h].
    per_hour, low, high : float
        Fish per rod-hour, and the ends of the interval.
    """

    catches: int
    hours: float
    per_hour: float
    low: float
    high: float


def interval(catches: int, confidence: float = CONFIDENCE) -> tuple[float, float]:
    """Give the exact interval for the expected number behind a count (Garwood).

    Parameters
    ----------
    catches : int
        The count [fish].
    confidence : float
        How often such intervals hold the truth at least, over 0 and under 1.

    Returns
    -------
    tuple of float
        Lower and upper end [fish]; the lower is 0 where nothing was caught.

    Raises
    ------
    InputError
        Where the count is negative or the confidence no share.

    References
    ----------
    Garwood, F. (1936), "Fiducial limits for the Poisson distribution", Biometrika 28:437-442.

    Examples
    --------
    Three fish: how many should we have expected?

    >>> low, high = interval(3)
    >>> f"{low:.2f} to {high:.2f}"
    '0.82 to 7.75'
    """
    if catches < 0:
        raise InputError(f"{catches} catches: expected 0 or more")
    if not 0.0 < confidence < 1.0:
        raise InputError(f"confidence {confidence:g}: expected over 0 and under 1, such as 0.9")
    tail = 0.5 * (1.0 - confidence)
    low = float(scipy.special.gammaincinv(catches, tail)) if catches else 0.0
    return low, float(scipy.special.gammaincinv(catches + 1, 1.0 - tail))


def rate(catches: int, hours: float, confidence: float = CONFIDENCE) -> Rate:
    """Give a catch rate with its exact interval.

    Parameters
    ----------
    catches : int
        The count [fish].
    hours : float
        Rod-hours fished [h], over 0.
    confidence : float
        As for `interval`.

    Raises
    ------
    InputError
        Where no time was fished.

    Examples
    --------
    Three fish in six rod-hours:

    >>> r = rate(3, 6.0)
    >>> f"{r.per_hour:.2f} fish per rod-hour, {r.low:.2f} to {r.high:.2f}"
    '0.50 fish per rod-hour, 0.14 to 1.29'
    """
    if not (math.isfinite(hours) and hours > 0.0):
        raise InputError(f"{hours:g} rod-hours: expected over 0")
    low, high = interval(catches, confidence)
    return Rate(catches, hours, catches / hours, low / hours, high / hours)


def fish_to_tell(ratio: float, probability: float = 0.9) -> int:
    """Say how many fish it takes to tell a lure that catches `ratio` times as well from another.

    With equal hours, the log of the ratio of two counts has a variance near ``1/n1 + 1/n2``; the
    count is the one at which the better lure is expected to be called better with `probability`.

    Parameters
    ----------
    ratio : float
        How much better, over 1.
    probability : float
        How sure one wants to be, over 0.5.

    Returns
    -------
    int
        Fish on both together.

    References
    ----------
    Delta method for the log rate ratio: Rothman, Greenland & Lash, *Modern Epidemiology*, 3rd ed.
    (2008), ch. 14.

    Examples
    --------
    >>> fish_to_tell(2.0)
    16
    """
    from scipy.special import ndtri

    if not ratio > 1.0 or not 0.5 < probability < 1.0:
        raise InputError(
            f"ratio {ratio:g} at {probability:g}: expected a ratio over 1 and a probability "
            "between 0.5 and 1"
        )
    sd = math.log(ratio) / float(ndtri(probability))
    worse = (1.0 + 1.0 / ratio) / sd**2
    return math.ceil(worse * (1.0 + ratio) - 1e-9)
