"""The boat's way of the last while: a cubic between its smoothed fixes, straight on after them."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

import numpy as np

from towscope.arrays import Array
from towscope.boat.track import between
from towscope.geodesy import LevelFrame
from towscope.towing.lookahead import Boat

STEERED: Final = 0.25  # [m/s]; slower than this, fixes scatter too much to tell where it heads
SPEED_OVER: Final = 6.0  # [s]; the boat's speed is said over so long, its course over half of it
STALE: Final = 8.0  # [s]; so far on from the last fix the boat is taken to go straight


@dataclass(frozen=True)
class Way:
    """The boat's way in level metres, each place by the fixes before it and after it.

    Attributes
    ----------
    frame : LevelFrame
        What x and y are counted from.
    time : (n,) array
        Rising moments of the fixes, by the feed's clock [s].
    x, y, vx, vy : (n,) array
        Place [m] and velocity [m/s], east and north.
    before : float or None
        Course that the boat was last steered on before all this [rad]; None where not known.
    begun : float
        Moment from which on it is one way [s].
    """

    frame: LevelFrame
    time: Array
    x: Array
    y: Array
    vx: Array
    vy: Array
    before: float | None
    begun: float

    @property
    def last(self) -> float:
        """Moment of the newest fix [s]."""
        return float(self.time[-1])

    def after(self, age: float) -> float:
        """Give the moment so long after the newest fix, no farther on than it is believed [s]."""
        return self.last + min(age, STALE)

    def into(self, frame: LevelFrame) -> Way:
        """Give the same way in another frame.

        Both are level and look north close about the boat: velocities stay what they are.
        """
        x, y = frame.to_metres(*self.frame.to_globe(self.x, self.y))
        return replace(self, frame=frame, x=x, y=y)

    @property
    def steered(self) -> bool:
        """Whether the boat's course is known: whether it has gone at all."""
        return self.before is not None or bool((np.hypot(self.vx, self.vy) >= STEERED).any())

    @cached_property
    def _headings(self) -> Array:
        """Give the course at each fix; of a boat that hardly moves, the last it was steered on."""
        course = np.arctan2(self.vx, self.vy)
        steered = np.flatnonzero(np.hypot(self.vx, self.vy) >= STEERED)
        if not steered.size:
            return course if self.before is None else np.full(len(course), self.before)
        first = float(course[steered[0]]) if self.before is None else self.before
        last = np.searchsorted(steered, np.arange(len(course)), side="right") - 1
        return np.where(last < 0, first, course[steered[np.maximum(last, 0)]])

    def at(self, moments: Array) -> Array:
        """Give the boat at moments.

        Parameters
        ----------
        moments : (m,) array
            Rising moments [s]; those after the newest fix are reached straight on.

        Returns
        -------
        (m, 4) array
            x, y [m], course [rad from north] and speed over ground [m/s].
        """
        out = np.empty((len(moments), 4))
        if len(self.time) == 1:
            out[:] = self.x[0], self.y[0], self._headings[0], 0.0
            return out
        within = np.clip(moments, self.time[0], self.time[-1])
        beyond = np.maximum(moments - self.time[-1], 0.0)
        x, vx = between(self.time, self.x, self.vx, within)
        y, vy = between(self.time, self.y, self.vy, within)
        out[:, 0], out[:, 1] = x + beyond * self.vx[-1], y + beyond * self.vy[-1]
        out[:, 3] = np.hypot(vx, vy)
        held = self._headings[np.searchsorted(self.time, moments, side="right").clip(1) - 1]
        out[:, 2] = np.where(out[:, 3] < STEERED, held, np.arctan2(vx, vy))
        return out

    def boat(self, moment: float, over: float = SPEED_OVER) -> Boat:
        """Give the boat at a moment: its course over the last seconds, its speed over some more.

        Parameters
        ----------
        moment : float
            The moment [s].
        over : float
            Over how long the speed is averaged [s]; the course over half of it.
        """
        moments = np.linspace(moment - over, moment, 13)
        path = self.at(moments[moments >= self.begun] if moment > self.begun else moments[-1:])
        recent = path[len(path) // 2 :]
        weight = recent[:, 3] + 0.01  # of a boat that lies still too the course is one
        east = float((weight * np.sin(recent[:, 2])).sum())
        north = float((weight * np.cos(recent[:, 2])).sum())
        x, y = (float(v) for v in path[-1, :2])
        return Boat(x, y, float(path[:, 3].mean()), math.atan2(east, north))

    def pace(self, moment: float, over: float) -> float:
        """Give the speed that the boat mostly went at over the last while [m/s].

        Parameters
        ----------
        moment : float
            The moment [s].
        over : float
            Over how long [s]; the middle one counts, so that a few bad fixes are no pace. Of a way
            that began a moment ago only the later half counts: a receiver that has just found
            itself repeats its place, or creeps to it.
        """
        moments = np.linspace(max(moment - over, 0.5 * (self.begun + moment)), moment, 25)
        return float(np.median(self.at(moments)[:, 3]))
