"""Bounds on what a rig may be asked: speeds, depths, let-outs and currents, in SI."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from towscope.errors import InputError

if TYPE_CHECKING:
    from towscope.towing.tow import Setting, Tow

MAX_LET_OUT: Final = 1000.0
MAX_DEPTH: Final = 300.0
MAX_CURRENT: Final = 3.0
SLOWEST_THROUGH: Final = 0.02  # [m/s]; through the water, at least


def check_speed(speed: float, shown: str) -> float:
    """Refuse what is no towing speed [m/s]; `shown` is what was asked, for the message."""
    if not 0.05 <= speed <= 6.0:
        raise InputError(f"{shown}: expected a towing speed, 0.05 to 6 m/s")
    return speed


def check_depth(depth: float, shown: str) -> float:
    """Refuse what is no depth of a lure [m]."""
    if not 0.0 < depth <= MAX_DEPTH:
        raise InputError(f"{shown}: expected a depth, above 0 to {MAX_DEPTH:g} m")
    return depth


def check_let_out(let_out: float, tow: Tow, shown: str) -> float:
    """Refuse what no line past the rod tip can be [m]."""
    if not 0.0 < let_out <= MAX_LET_OUT:
        raise InputError(f"{shown}: expected a length, above 0 to {MAX_LET_OUT:g} m")
    leader = float(tow.pieces[0, 0])
    if len(tow.names) > 1 and let_out < leader:
        raise InputError(
            f"{shown} is shorter than the leader ({leader:.1f} m): expected at least that"
        )
    return let_out


def color_of(tow: Tow) -> tuple[float, float, float] | None:
    """Give one colour's length, the line before the first, and all the coded line of its piece.

    Returns
    -------
    tuple of float or None
        All in [m]; None on a rig without coded line.
    """
    import numpy as np

    coded = np.flatnonzero(np.isfinite(tow.color_length))
    if len(coded) == 0:
        return None
    first = int(coded[0])
    return (
        float(tow.color_length[first]),
        float(tow.pieces[:first, 0].sum()),
        float(tow.pieces[first, 0]),
    )


def outruns(speed: float, layers: Sequence[tuple[float, float, float]]) -> bool:
    """Tell whether a boat goes faster than every layer of a current carries it [m/s]."""
    return all(speed - along >= SLOWEST_THROUGH for _, along, _ in layers)


def check_setting(
    speed: float, layers: Sequence[tuple[float, float, float]], shown: str, shown_current: str
) -> Setting:
    """Give a setting, refusing a current that the boat does not outrun.

    Parameters
    ----------
    speed : float
        Over ground [m/s].
    layers : sequence of (depth, along, across)
        Current by depth, from the top down [m, m/s, m/s].
    shown, shown_current : str
        What was asked, for the messages.
    """
    from towscope.towing.tow import Setting  # with the kernels: not for every `--help`

    over_ground = check_speed(speed, shown)
    depths = [layer[0] for layer in layers]
    if sorted(set(depths)) != depths:
        raise InputError(f"{shown_current}: expected layers from the top down, each depth once")
    for depth, along, across in layers:
        if not (0.0 <= depth <= MAX_DEPTH and abs(along) + abs(across) <= 2.0 * MAX_CURRENT):
            raise InputError(f"{shown_current}: expected 0 to 3 m/s")
        if over_ground - along < SLOWEST_THROUGH:
            raise InputError(
                f"{shown_current}: at {depth:g} m it carries the water along as fast as the "
                "boat goes; expected less than the boat's speed"
            )
    return Setting(over_ground, tuple(layers))
