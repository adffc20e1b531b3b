"""The boat's last turns, speeds and let-outs held against the usual: why a lure ran so deep."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from towscope.follow.lure_path import Followed

TURN_TIME, SPEED_TIME = 120.0, 60.0  # [s]; so long a turn or a change of speed is felt
TURN = math.radians(25.0)
SHARE = 0.07  # of the usual speed or let-out; less is no reason


@dataclass(frozen=True)
class Reason:
    """What the boat had been doing.

    Attributes
    ----------
    turn : float
        Angle turned through [rad], positive to starboard; 0 where it went straight.
    speed : float
        Mean speed over ground [m/s].
    usual_speed : float
        Usual speed on the whole track [m/s].
    more_line : float
        Line out beyond the usual [m]; 0 where it was about usual.
    """

    turn: float
    speed: float
    usual_speed: float
    more_line: float

    @property
    def slower(self) -> bool:
        """Whether it had been going slower than usual."""
        return self.speed < (1.0 - SHARE) * self.usual_speed

    @property
    def faster(self) -> bool:
        """Whether it had been going faster than usual."""
        return self.speed > (1.0 + SHARE) * self.usual_speed


def reason(way: Followed, index: int) -> Reason:
    """Find what the boat had been doing up to a moment.

    Parameters
    ----------
    way : Followed
        The lure's way.
    index : int
        The moment.

    Returns
    -------
    Reason
        What stands out.
    """
    now, same = way.time[index], way.stretch == way.stretch[index]
    before = same & (way.time <= now)
    lately = before & (way.time >= now - TURN_TIME)
    course = way.boat[lately, 2]
    # the turn is the greatest swing to where it points now, or to where it was turned back
    swings = course[None, :] - course[:, None] if course.size <= 2000 else np.zeros((1, 1))
    rising = np.triu(swings)
    high, low = float(rising.max()), float(rising.min())
    turn = high if high >= -low else low
    recent = before & (way.time >= now - SPEED_TIME)
    trolling = way.trolling if way.trolling.any() else np.ones(len(way.time), dtype=bool)
    usual = float(np.median(way.boat[trolling, 3]))
    line = float(way.let_out[index] - np.median(way.let_out))
    return Reason(
        turn if abs(turn) >= TURN else 0.0,
        float(way.boat[recent, 3].mean()),
        usual,
        line if abs(line) > SHARE * float(np.median(way.let_out)) else 0.0,
    )
