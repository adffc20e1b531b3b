"""Passes as they are asked for, text with units or figures in SI: read, checked, in SI."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Unpack

import numpy as np
from typing_extensions import TypedDict

from towscope import arguments
from towscope.arrays import Array
from towscope.boat.spoken import compass_current, mount_of, wind_of
from towscope.constants import FOOT
from towscope.errors import ArgumentError
from towscope.passes.candidates import SHORTEST, Wind
from towscope.passes.passes import SAFE, Wishes
from towscope.passes.planning import MOST, PassQuestion
from towscope.passes.steering import Hand
from towscope.words import feet

Text = str | float
Current = str | Sequence[tuple[float, float, float]]


class Wanted(TypedDict, total=False):
    """What more may be said of the passes.

    Attributes
    ----------
    count : int
        Most passes; 3.
    risk : str or float
        A bottom hit likelier than this is not called safe; the lure is raised until it is.
    safer : bool
        Whether to raise it; where left out, if a risk is given.
    outside : str or float
        How far to the deep side of the edge the lure is to run [m].
    out_max : str or float
        Most line past the rod tip [m].
    turn : str or float
        Tightest bend of the line the lure follows [m]; as its layback allows where left out.
    shortest : str or float
        Shortest pass [m]; 60 m.
    current : str or sequence of (depth, east, north)
        ``"0.2 mph from west"``, or layers in SI [m, m/s, m/s].
    tip : str or (float, float)
        Rod tip from the receiver: ``"5 ft to port, 8 ft behind"``, or ahead and to starboard [m].
    """

    count: int
    risk: Text
    safer: bool
    outside: Text
    out_max: Text | None
    turn: Text
    shortest: Text
    current: Current | None
    tip: str | tuple[float, float]


def asked(
    depth: Text,
    off_bottom: Text,
    speed: Text,
    wind: str | tuple[float, float],
    **more: Unpack[Wanted],
) -> PassQuestion:
    """Read what passes are wanted.

    Parameters
    ----------
    depth, off_bottom, speed : str or float
        Depth of the edge, height of the lure above the bottom, speed over ground [m, m, m/s].
    wind : str or (float, float)
        ``"SW, 8 mph"``, ``"calm"``, or where from [degrees from north] and how hard [m/s].
    **more
        As `Wanted` names them.

    Raises
    ------
    InputError
        Naming the argument, what is wrong and what is expected.
    """
    count, risk, tip = more.get("count", 3), more.get("risk"), more.get("tip", (0.0, 0.0))
    if not 1 <= count <= MOST:
        raise ArgumentError("count", f" {count}: expected 1 to {MOST}")
    deep = arguments.depth(depth)
    source, strength = wind_of(wind) if isinstance(wind, str) else wind
    height = _length(off_bottom, "off_bottom", 0.05, 100.0, "0.2 to 300 ft")
    limit = SAFE if risk is None else arguments.quantity(risk, "ratio", "risk")
    if not 0.005 <= limit <= 0.9:
        raise ArgumentError("risk", f' "{risk}": expected 0.5 % to 90 %')
    most_out = _optional(more.get("out_max"), "out_max", 5.0, math.inf, "5 m (16 ft) or more")
    if height >= deep:
        raise ArgumentError(
            "off_bottom", f' "{off_bottom}": expected less than the depth of the edge, {depth}'
        )
    wishes = Wishes(
        height,
        arguments.speed(speed),
        most_out=math.inf if most_out is None else most_out,
        grain=5.0 * FOOT if feet() else 1.0,
        limit=limit,
        lower_risk=more.get("safer", risk is not None),
        outside=_length(more.get("outside", 0.0), "outside", 0.0, 100.0, "0 to 300 ft"),
        hand=Hand(
            mount=mount_of(tip) if isinstance(tip, str) else tip,
            current=_current(more.get("current")),
        ),
    )
    return PassQuestion(
        deep,
        Wind(source % 360.0, strength),
        wishes,
        count,
        _optional(more.get("turn"), "turn", 10.0, 1000.0, "33 ft (10 m) to 3,300 ft"),
        _length(more.get("shortest", SHORTEST), "shortest", 30.0, 5000.0, "100 ft (30 m) or more"),
    )


def _length(value: Text, name: str, low: float, high: float, expected: str) -> float:
    length = arguments.quantity(value, "length", name)
    if not low <= length <= high:
        raise ArgumentError(name, f' "{value}": expected {expected}')
    return length


def _optional(
    value: Text | None, name: str, low: float, high: float, expected: str
) -> float | None:
    return None if value is None else _length(value, name, low, high, expected)


def _current(value: Current | None) -> Array | None:
    if value is None:
        return None
    return compass_current(value) if isinstance(value, str) else np.asarray(value, float)
