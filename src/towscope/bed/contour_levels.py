"""Round depths for a lake's contours, in the user's unit."""

from __future__ import annotations

import numpy as np

from towscope.arrays import Array
from towscope.units import System


def levels(deepest: float, system: System) -> tuple[Array, Array]:
    """Give round contour depths: in the user's unit, and in metres.

    Parameters
    ----------
    deepest : float
        Greatest depth [m].
    system : System
        The user's units.

    Returns
    -------
    shown, metres : (n,) array
        The depths, six to twelve of them.
    """
    most = system.convert(deepest, "length")
    steps = (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 25.0, 50.0, 100.0, 200.0)
    step = next((s for s in steps if most / s <= 12.0), 500.0)
    shown = np.arange(step, most, step)
    return shown, np.array([system.to_si(float(v), "length") for v in shown])
