"""Root finding on the engine: the dive area that makes a lure run as deep as its package says."""

from __future__ import annotations

import numpy as np

from towscope.errors import InputError
from towscope.towing.rating_kernels import JUMPS, LINE_ALONE, STEEPEST, TOO_STEEP, dive_area
from towscope.towing.runner import run
from towscope.towing.steady import ANSWER, room_for
from towscope.towing.tow import Setting, Tow

# Drag area for each square of the lure's length: frontal area of the body at the proportions of
# its kind, with a drag coefficient near 1.2 for a body that wags, and its lip, hooks or blade.
# Estimated from memory of such lures' proportions; the stated uncertainty of 30 % is for this.
DRAG_PER_SIZE_SQUARED = {
    "minnow": 0.060,
    "shad": 0.140,
    "deep-lipped": 0.160,
    "spoon": 0.050,
    "harness": 0.080,
}


def estimated_drag_area(body: str, size: float) -> float:
    """Estimate a lure's drag area from its kind and length.

    Parameters
    ----------
    body : str
        A kind of lure that `DRAG_PER_SIZE_SQUARED` names.
    size : float
        Length of the lure [m].

    Returns
    -------
    float
        Drag area [m^2].

    Examples
    --------
    A 2 in minnow drags like a disc of about an inch and a half square centimetres:

    >>> round(estimated_drag_area("minnow", 0.0508) * 1e4, 1)
    1.5
    """
    return DRAG_PER_SIZE_SQUARED[body] * size**2


def dive_area_for(tow: Tow, depth: float, let_out: float, speed: float, place: str) -> float:
    """Solve for the dive area that makes a rating true.

    Parameters
    ----------
    tow : Tow
        The lure on the rating's line; its dive area is what is looked for.
    depth, let_out, speed : float
        The rating [m, m, m/s].
    place : str
        Where the rating stands, for the message.

    Returns
    -------
    float
        Dive area [m^2].

    Raises
    ------
    InputError
        Where no force that such a lure can make does it.
    """
    if depth >= let_out - tow.tip:
        raise InputError(
            f"{place}: {depth:.1f} m down on {let_out:.1f} m of line: deeper than the line is long"
        )
    room, out, lure = room_for(len(tow.pieces)), np.empty(ANSWER), np.empty(3)
    towed = tow.towed(Setting(speed))
    area, found, came = run(dive_area, towed, depth, let_out, lure, room, out)
    if came == TOO_STEEP:
        raise InputError(
            f"{place}: no lure of this drag can do that: pulling down {STEEPEST:g} times as hard "
            f"as it drags, it would run {found:.1f} m down, not {depth:.1f} m; check the figures"
        )
    if came == LINE_ALONE:
        raise InputError(
            f"{place}: the line alone takes any such lure deeper than {depth:.1f} m; "
            "check the figures"
        )
    if came == JUMPS:
        raise InputError(
            f"{place}: the lure would jump from the surface to {found:.1f} m at this speed; "
            f"it cannot run at {depth:.1f} m there"
        )
    return area
