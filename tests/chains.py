"""What a reference chain is worth, and how far from it its own noise lets a sound answer lie."""

from __future__ import annotations

import emcee
import numpy as np
from scipy import stats

from towscope.arrays import Array


def worth(chain: Array) -> Array:
    """Give how many independent draws a chain is worth, by emcee's own autocorrelation time.

    Parameters
    ----------
    chain : (steps, walkers, n) array
        The chain.
    """
    steps, walkers = chain.shape[:2]
    return np.asarray(steps * walkers / emcee.autocorr.integrated_time(chain, tol=0))


def quantile_noise(level: float) -> float:
    """Standard error of a quantile of a normal sample, times sqrt(n), in standard deviations.

    Stuart & Ord, Kendall's Advanced Theory of Statistics, vol. 1, section 10.10 (from memory):
    sqrt(q (1 - q)) over the density there.
    """
    return float(np.sqrt(level * (1.0 - level)) / stats.norm.pdf(stats.norm.ppf(level)))
