"""Where does the boat go, from fix to fix: made smooth as far back as the lines need it.

The newest fix scatters, and a turn shows only a second or two after it began. So the lines are
followed to `LAG` ago along the smoothed way, and from there on along the best that is known: what
is shown now is looked ahead by that much, what is kept is not.
"""

from __future__ import annotations

import math
from collections import deque
from typing import Final, Protocol

import numpy as np
import numpy.typing as npt

from towscope.arrays import Array
from towscope.boat.smooth import USUAL_SCATTER, Smoothed, agility, scatter, smooth
from towscope.towing.lookahead import Boat

LAG: Final = 2.0  # [s]
WINDOW: Final = 40.0  # [s]; fixes that the smoothing looks at
THINNEST: Final = 0.18  # [s]; of fixes nearer in time than this one is enough
BREAK: Final = 20.0  # [s]; longer without a fix, and the lines start anew
WAKE: Final = 3000.0  # [m]; how much of the way is kept
WAKE_STEP: Final = 2.0  # [m]
JUDGE_EVERY: Final = 20.0  # [s]; between looks at how much fixes scatter
USUAL_AGILITY: Final = 10.0**-2.0  # [m^2/s^3]
STEERED: Final = 0.25  # [m/s]; slower than this, fixes scatter too much to tell where it heads
SPEED_OVER: Final = 6.0  # [s]


class Frame(Protocol):
    """Level metres about a place: a lake's own, or a globe's about the first fix."""

    def to_metres(self, latitude: npt.ArrayLike, longitude: npt.ArrayLike) -> tuple[Array, Array]:
        """Give metres east and north of places [degrees]."""

    def to_globe(self, x: npt.ArrayLike, y: npt.ArrayLike) -> tuple[Array, Array]:
        """Give latitude and longitude [degrees] of points [m]."""


class Way:
    """The boat's way in level metres, kept up with as fixes come.

    Parameters
    ----------
    frame : Frame
        What turns places into metres and back.
    """

    def __init__(self, frame: Frame) -> None:
        self.frame = frame
        self._t: deque[float] = deque()
        self._x: deque[float] = deque()
        self._y: deque[float] = deque()
        self._spread = USUAL_SCATTER
        self._agility = USUAL_AGILITY
        self._judged = -math.inf
        self._knots: tuple[Array, ...] | None = None
        self._heading: float | None = None  # course before the first fix that is kept [rad]
        self.wake: deque[tuple[float, float, float]] = deque()
        self.begun = -math.inf

    @property
    def last(self) -> float:
        """Moment of the newest fix [s]; minus infinity where none has come."""
        return self._t[-1] if self._t else -math.inf

    def add(self, time: float, latitude: float, longitude: float) -> bool:
        """Take a fix; tell whether it was one to use."""
        if not self._t or time - self._t[-1] > BREAK or time < self._t[-1] - BREAK:
            for each in (self._t, self._x, self._y):
                each.clear()
            self.wake.clear()
            self._heading = None
            self.begun = time
            self._judged = -math.inf
        elif time - self._t[-1] < THINNEST:
            return False
        x, y = self.frame.to_metres([latitude], [longitude])
        self._t.append(time)
        self._x.append(float(x[0]))
        self._y.append(float(y[0]))
        while time - self._t[0] > WINDOW:
            for each in (self._t, self._x, self._y):
                each.popleft()
        self._knots = None
        return True

    def _smooth(self) -> tuple[Array, ...]:
        if self._knots is None:
            t, x, y = (np.array(each) for each in (self._t, self._x, self._y))
            if self.last - self._judged > JUDGE_EVERY and len(t) >= 12:
                self._spread = max(scatter(t, x, y), 0.02)
                self._agility = agility([(t, x, y)], self._spread)
                self._judged = self.last
            found = smooth(t, x, y, self._spread, self._agility)
            if len(t) == 1:
                found.vx[:] = found.vy[:] = 0.0
            self._knots = (t, found.x, found.y, found.vx, found.vy, self._headings(t, found))
        return self._knots

    def _headings(self, t: Array, found: Smoothed) -> Array:
        """Give the course at each fix; of a boat that hardly moves, the last it was steered on."""
        course = np.arctan2(found.vx, found.vy)
        steered = np.flatnonzero(np.hypot(found.vx, found.vy) >= STEERED)
        if not steered.size:
            return course if self._heading is None else np.full(len(t), self._heading)
        if self._heading is None or steered[0] == 0:
            self._heading = float(course[steered[0]])
        last = np.searchsorted(steered, np.arange(len(t)), side="right") - 1
        return np.where(last < 0, self._heading, course[steered[np.maximum(last, 0)]])

    def path(self, moments: Array) -> Array:
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
        t, x, y, vx, vy, headings = self._smooth()
        out = np.empty((len(moments), 4))
        if len(t) == 1:
            out[:] = x[0], y[0], 0.0, 0.0
            return out
        i = np.clip(np.searchsorted(t, moments) - 1, 0, len(t) - 2)
        span = t[i + 1] - t[i]
        q = np.clip((moments - t[i]) / span, 0.0, 1.0)
        beyond = np.maximum(moments - t[-1], 0.0)
        # between fixes the cubic that meets place and velocity at both (Hermite)
        a, b = q * q * (3.0 - 2.0 * q), q * (1.0 - q) ** 2
        c, d = q * q * (q - 1.0), 6.0 * q * (1.0 - q)
        e, f = (1.0 - q) * (1.0 - 3.0 * q), q * (3.0 * q - 2.0)
        speeds = []
        for column, (p, v) in enumerate(((x, vx), (y, vy))):
            step = p[i + 1] - p[i]
            out[:, column] = p[i] + a * step + span * (b * v[i] + c * v[i + 1]) + beyond * v[-1]
            speeds.append(d * step / span + e * v[i] + f * v[i + 1])
        out[:, 3] = np.hypot(speeds[0], speeds[1])
        heading = headings[np.where(moments >= t[i + 1], i + 1, i)]
        out[:, 2] = np.where(out[:, 3] < STEERED, heading, np.arctan2(speeds[0], speeds[1]))
        return out

    def boat(self, now: float, over: float = SPEED_OVER) -> Boat:
        """Give the boat now: its course over the last few seconds, its speed over some more.

        Parameters
        ----------
        now : float
            The moment [s].
        over : float
            Over how long the speed is averaged [s]; the course over half of it.
        """
        moments = np.linspace(now - over, now, 13)
        path = self.path(moments[moments >= self.begun] if now > self.begun else moments[-1:])
        recent = path[len(path) // 2 :]
        weight = recent[:, 3] + 0.01  # of a boat that lies still too the course is one
        east = float((weight * np.sin(recent[:, 2])).sum())
        north = float((weight * np.cos(recent[:, 2])).sum())
        x, y = (float(v) for v in path[-1, :2])
        return Boat(x, y, float(path[:, 3].mean()), math.atan2(east, north))

    def pace(self, now: float, over: float) -> float:
        """Give the speed that the boat mostly went at over the last while [m/s].

        Parameters
        ----------
        now : float
            The moment [s].
        over : float
            Over how long [s]; the middle one counts, so that a few bad fixes are no pace.
        """
        moments = np.linspace(max(now - over, self.begun), now, 25)
        return float(np.median(self.path(moments)[:, 3]))

    def remember(self, boat: Boat, time: float) -> None:
        """Add to the wake where the boat has come far enough."""
        if self.wake and math.dist(self.wake[-1][1:], (boat.x, boat.y)) < WAKE_STEP:
            return
        self.wake.append((time, boat.x, boat.y))
        while len(self.wake) > WAKE / WAKE_STEP:
            self.wake.popleft()

    def behind(self, boat: Boat, farthest: float, step: float) -> tuple[Array, Array, Array]:
        """Give points back along the wake.

        Parameters
        ----------
        boat : Boat
            Where the boat is.
        farthest, step : float
            How far back, and the distance between points [m].

        Returns
        -------
        tuple of (n,) array
            Distance along, from 0 at the boat down (negative), and x, y [m].
        """
        points = [(boat.x, boat.y), *((x, y) for _, x, y in reversed(self.wake))]
        x, y = np.array(points).T
        gone = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))])
        keep = np.concatenate([[True], np.diff(gone) > 1e-9])
        gone, x, y = gone[keep], x[keep], y[keep]
        wanted = np.arange(0.0, farthest + step, step)
        # where the wake is short, the way behind is taken to have been straight
        s, c = math.sin(boat.course), math.cos(boat.course)
        rest = np.maximum(wanted - gone[-1], 0.0)
        at = np.minimum(wanted, gone[-1])
        return (
            -wanted,
            np.interp(at, gone, x) - rest * s,
            np.interp(at, gone, y) - rest * c,
        )

    def place_along(self, boat: Boat, x: Array, y: Array, farthest: float) -> tuple[Array, Array]:
        """Tell how far along, and how far to starboard of the wake, points behind lie [m]."""
        along, wx, wy = self.behind(boat, farthest, WAKE_STEP)
        i = np.argmin((wx[None] - x[:, None]) ** 2 + (wy[None] - y[:, None]) ** 2, axis=1)
        j = np.clip(i, 1, len(along) - 2)
        tx, ty = wx[j - 1] - wx[j + 1], wy[j - 1] - wy[j + 1]  # the way the boat went
        size = np.maximum(np.hypot(tx, ty), 1e-9)
        tx, ty = tx / size, ty / size
        dx, dy = x - wx[i], y - wy[i]
        return along[i] + dx * tx + dy * ty, dx * ty - dy * tx
