"""Kalman filter of the boat's fixes, smoothed back: where is it, how fast, how did it get there.

The same picture of a boat as in `towscope.boat.smooth` (its acceleration is white noise), filtered
forward as fixes come. Where the receiver says speed and course itself, these are weighed in: a
receiver measures them from the satellites' Doppler shift, far better than places can give them.
What the filter knew at each fix is kept for a while, so that a Rauch-Tung-Striebel pass back over
it gives the way gone, each place by the fixes before it and after it.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from typing import Final

import numpy as np

from towscope.boat.filter_steps import expected_after, with_place, with_velocity
from towscope.boat.smooth import FIRST_SPEED, GATE, MOST_IN_A_ROW, NEAR, smooth_back
from towscope.boat.way import STEERED, Way
from towscope.geodesy import Globe

SPREAD: Final = (0.1, 3.0)  # [m]; least and most scatter of a fix that is reckoned with
USUAL_SPREAD: Final = 0.5  # [m] until enough fixes tell
AGILITY: Final = 0.01  # [m^2/s^3]; a boat that trolls, turning with 20 m radius at walking speed
QUICK: Final = 0.1  # [1/s^3] times scatter squared: least agility, so that noise costs no lag
DOPPLER: Final = 0.08  # [m/s]; standard error of a receiver's own velocity: from memory
KEPT: Final = 30  # fixes by which the scatter is told
LOST: Final = 20.0  # [s] without a fix after which the way begins anew
FAR: Final = 20_000.0  # [m] from where the metres are counted from: there they begin anew
WINDOW: Final = 40.0  # [s]; how far back the way is kept

State = tuple[float, float, float, float]  # x, vx, y, vy [m, m/s]
Cover = tuple[float, float, float]  # variance of place, covariance, variance of velocity


@dataclass
class _Knot:
    """What was known at one fix: as it was expected, and with the fix weighed in."""

    time: float
    expected: State
    expected_cover: Cover
    state: State
    cover: Cover


class Steady:
    """Takes fixes as they come and gives the boat's place and velocity.

    Examples
    --------
    A boat goes east at 0.9 m/s, a fix each second. How fast is it said to go?

    >>> steady = Steady()
    >>> for second in range(30):
    ...     taken = steady.fix(float(second), 48.4, -91.9 + 0.9 * second / 74_022.0)
    >>> round(steady.speed, 2), round(math.degrees(steady.course))
    (0.9, 90)
    """

    def __init__(self) -> None:
        self.newest: float | None = None  # moment of the newest fix, believed or not [s]
        self.refused = 0
        self.begun = -math.inf  # moment of the first fix of this way [s]
        self._globe: Globe | None = None
        self._knots: deque[_Knot] = deque()
        self._heading: float | None = None  # last steered on before the first knot [rad]
        self._doubted: list[tuple[float, float, float]] = []  # time, latitude, longitude
        self._last: deque[tuple[float, float, float]] = deque(maxlen=3)
        self._off: deque[float] = deque(maxlen=KEPT)
        self._spread = USUAL_SPREAD

    @property
    def time(self) -> float | None:
        """Moment of the newest fix that was believed, by the feed's clock [s]."""
        return self._knots[-1].time if self._knots else None

    @property
    def velocity(self) -> tuple[float, float]:
        """Velocity to the east and to the north [m/s]."""
        if not self._knots:
            return 0.0, 0.0
        _, vx, _, vy = self._knots[-1].state
        return vx, vy

    @property
    def speed(self) -> float:
        """Speed over ground [m/s]."""
        return math.hypot(*self.velocity)

    @property
    def course(self) -> float:
        """Course over ground [rad from true north]."""
        return math.atan2(*self.velocity) % (2.0 * math.pi)

    @property
    def doubt(self) -> float:
        """Standard error of the velocity [m/s]."""
        return math.sqrt(self._knots[-1].cover[2]) if self._knots else math.inf

    def place(self) -> tuple[float, float] | None:
        """Give latitude and longitude at the last fix [degrees]."""
        if self._globe is None or not self._knots:
            return None
        x, _, y, _ = self._knots[-1].state
        lat, lon = self._globe.to_globe(x, y)
        return float(lat), float(lon)

    def way(self) -> Way | None:
        """Give the way of the last `WINDOW`; None where no fix has come.

        References
        ----------
        Rauch, Tung & Striebel (1965), AIAA Journal 3:1445-1450.
        """
        if self._globe is None or not self._knots:
            return None
        time, state, cover, expected, expected_cover = (
            np.array([getattr(knot, name) for knot in self._knots])
            for name in ("time", "state", "cover", "expected", "expected_cover")
        )
        smooth_back(time, state, cover, expected, expected_cover)
        x, vx, y, vy = state.T.copy()
        return Way(self._globe, time, x, y, vx, vy, self._heading, self.begun)

    def fix(self, time: float, lat: float, lon: float) -> bool:
        """Take a fix.

        Parameters
        ----------
        time : float
            When it was, by the feed's clock, later than the one before [s].
        lat, lon : float
            Place [degrees].

        Returns
        -------
        bool
            Whether it is believed. One that lies too far off is not, until it is borne out by
            those that follow.
        """
        silent = self.newest is None or time - self.newest > LOST
        self.newest = time
        if silent or self._globe is None or not self._knots:
            self._heading = None
            self._begin(time, lat, lon)
            return True
        state, cover = self._ahead(time)
        if math.hypot(state[0], state[2]) > FAR:
            self._recentre()
            state, cover = self._ahead(time)
        x, y = (float(each) for each in self._globe.to_metres(lat, lon))
        variance = self._spread**2
        away = (x - state[0]) ** 2 + (y - state[2]) ** 2
        if away > GATE * (cover[0] + variance) and away > NEAR * NEAR:
            if not self._borne_out(time, lat, lon):
                self.refused += 1
                return False
            self._begin_over()
            return True
        self._doubted.clear()
        self._take(time, x, y, state, cover)
        return True

    def doppler(self, time: float, speed: float, course: float) -> None:
        """Take a velocity that the receiver itself says.

        Parameters
        ----------
        time : float
            When it was, by the feed's clock [s]: within a second of the last fix.
        speed, course : float
            Over ground [m/s, rad from true north].
        """
        if not self._knots or abs(time - self._knots[-1].time) > 1.0:
            return
        knot = self._knots[-1]
        east, north = speed * math.sin(course), speed * math.cos(course)
        found = with_velocity(east, north, DOPPLER**2, *knot.state, *knot.cover)
        knot.state, knot.cover = found[:4], found[4:]

    def _begin(self, time: float, lat: float, lon: float) -> None:
        self._globe, self.begun = Globe(lat, lon), time
        self._knots.clear()
        self._doubted.clear()
        self._last.clear()
        self._last.append((time, 0.0, 0.0))
        state, cover = (0.0, 0.0, 0.0, 0.0), (self._spread**2, 0.0, FIRST_SPEED**2)
        self._knots.append(_Knot(time, state, cover, state, cover))

    def _begin_over(self) -> None:
        """Begin anew with the fixes that were doubted: the boat really is there."""
        kept = list(self._doubted)
        self._heading = self._steered()
        self._begin(*kept[0])
        assert self._globe is not None
        for time, lat, lon in kept[1:]:
            x, y = (float(each) for each in self._globe.to_metres(lat, lon))
            self._take(time, x, y, *self._ahead(time))

    def _recentre(self) -> None:
        """Count metres from where the boat is now."""
        assert self._globe is not None
        before = self._globe
        x, _, y, _ = self._knots[-1].state
        lat, lon = before.to_globe(x, y)
        self._globe = Globe(float(lat), float(lon))

        def moved(x: float, y: float) -> tuple[float, float]:
            assert self._globe is not None
            to_x, to_y = self._globe.to_metres(*before.to_globe(x, y))
            return float(to_x), float(to_y)

        for knot in self._knots:
            for name in ("expected", "state"):
                x, vx, y, vy = getattr(knot, name)
                to_x, to_y = moved(x, y)
                setattr(knot, name, (to_x, vx, to_y, vy))
        last = [(t, *moved(x, y)) for t, x, y in self._last]
        self._last.clear()
        self._last.extend(last)

    def _ahead(self, time: float) -> tuple[State, Cover]:
        """Give what is expected at a moment, and how surely."""
        knot = self._knots[-1]
        h = time - knot.time
        agility = max(AGILITY, QUICK * self._spread**2)
        found = expected_after(h, agility, *knot.state, *knot.cover)
        return found[:4], found[4:]

    def _take(self, time: float, x: float, y: float, expected: State, cover: Cover) -> None:
        """Weigh a place in."""
        found = with_place(x, y, self._spread**2, *expected, *cover)
        self._knots.append(_Knot(time, expected, cover, found[:4], found[4:]))
        while time - self._knots[0].time > WINDOW:
            self._heading = _steered(self._knots.popleft(), self._heading)
        self._scatter(time, x, y)

    def _steered(self) -> float | None:
        """Give the course that the boat was last steered on [rad]."""
        heading = self._heading
        for knot in self._knots:
            heading = _steered(knot, heading)
        return heading

    def _borne_out(self, time: float, lat: float, lon: float) -> bool:
        """Tell whether fixes that are far off agree among themselves: the boat really is there."""
        assert self._globe is not None
        if self._doubted:
            before, *there = self._doubted[-1]
            bx, by = self._globe.to_metres(*there)
            x, y = self._globe.to_metres(lat, lon)
            # places that the frame cannot hold, at the other end of the globe, bear nothing out
            if not math.hypot(x - bx, y - by) <= 2.0 * NEAR + 20.0 * max(time - before, 0.0):
                self._doubted.clear()
        self._doubted.append((time, lat, lon))
        return len(self._doubted) > MOST_IN_A_ROW

    def _scatter(self, time: float, x: float, y: float) -> None:
        """Learn how much fixes scatter, from how far each lies off the line of its neighbours."""
        self._last.append((time, x, y))
        if len(self._last) < 3:
            return
        (t0, x0, y0), (t1, x1, y1), (t2, x2, y2) = self._last
        if not 0.0 < t2 - t0 < 8.0 or not t0 < t1 < t2:
            return
        w = (t1 - t0) / (t2 - t0)
        norm = math.sqrt(1.0 + w * w + (1.0 - w) ** 2)
        self._off.append(math.hypot(x1 - x0 - w * (x2 - x0), y1 - y0 - w * (y2 - y0)) / norm)
        if len(self._off) >= 8:
            # the median of the length of a vector of two normal parts is 1.18 of their spread
            middle = sorted(self._off)[len(self._off) // 2] / 1.1774
            self._spread = min(max(middle, SPREAD[0]), SPREAD[1])


def _steered(knot: _Knot, before: float | None) -> float | None:
    """Give the course at a knot; of a boat that hardly moves, the one before [rad]."""
    _, vx, _, vy = knot.state
    return math.atan2(vx, vy) if math.hypot(vx, vy) >= STEERED else before
