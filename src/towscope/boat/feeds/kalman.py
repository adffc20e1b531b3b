"""How does the boat go, said now: its place and velocity from fixes that scatter, without lag.

The same picture of a boat as in `towscope.boat.smooth` (its acceleration is white noise), filtered
forward only, as nothing is known yet of what comes. Where the receiver says speed and course
itself, these are weighed in: a receiver measures them from the satellites' Doppler shift, far
better than places can give them.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from typing import Final

from towscope.boat.smooth import FIRST_SPEED, GATE, MOST_IN_A_ROW, NEAR
from towscope.geodesy import ECCENTRICITY_2, SEMI_MAJOR

SPREAD: Final = (0.1, 3.0)  # [m]; least and most scatter of a fix that is reckoned with
USUAL_SPREAD: Final = 0.5  # [m] until enough fixes tell
AGILITY: Final = 0.01  # [m^2/s^3]; a boat that trolls, turning with 20 m radius at walking speed
QUICK: Final = 0.1  # [1/s^3] times scatter squared: least agility, so that noise costs no lag
DOPPLER: Final = 0.08  # [m/s]; standard error of a receiver's own velocity: from memory
KEPT: Final = 30  # fixes by which the scatter is told
LOST: Final = 30.0  # [s] without a fix after which the way begins anew
FAR: Final = 500.0  # [m] from where the metres are counted from: there they begin anew


@dataclass(frozen=True)
class Near:
    """Level metres close about a place, by the globe's two radii of curvature there.

    Within `FAR` of it they differ from those of `towscope.geodesy.Globe` by under 4 cm, and cost
    next to nothing, which counts for talk at 20 Hz.

    Attributes
    ----------
    lat, lon : float
        The place [degrees].

    References
    ----------
    Torge, W. & Mueller, J. (2012), Geodesy, 4th ed., sec. 4.1 (meridian and prime vertical).
    """

    lat: float
    lon: float

    @property
    def scale(self) -> tuple[float, float]:
        """Metres to a degree of longitude and of latitude."""
        sine, cosine = math.sin(math.radians(self.lat)), math.cos(math.radians(self.lat))
        w = 1.0 - ECCENTRICITY_2 * sine**2
        prime, meridian = SEMI_MAJOR / math.sqrt(w), SEMI_MAJOR * (1.0 - ECCENTRICITY_2) / w**1.5
        return math.radians(prime) * max(cosine, 1e-9), math.radians(meridian)

    def to_metres(self, lat: float, lon: float) -> tuple[float, float]:
        """Give metres east and north."""
        east, north = self.scale
        return ((lon - self.lon + 180.0) % 360.0 - 180.0) * east, (lat - self.lat) * north

    def to_globe(self, x: float, y: float) -> tuple[float, float]:
        """Give latitude and longitude [degrees]."""
        east, north = self.scale
        lat = min(max(self.lat + y / north, -90.0), 90.0)
        return lat, (self.lon + x / east + 180.0) % 360.0 - 180.0


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
        self.time: float | None = None  # of the state, by the feed's clock [s]
        self.refused = 0
        self._near: Near | None = None
        self._state = (0.0, 0.0, 0.0, 0.0)  # x, y, vx, vy [m, m/s]
        self._cover = (0.0, 0.0, 0.0)  # variance of place, covariance, variance of velocity
        self._doubted: list[tuple[float, float, float]] = []
        self._last: deque[tuple[float, float, float]] = deque(maxlen=3)
        self._off: deque[float] = deque(maxlen=KEPT)
        self._spread = USUAL_SPREAD

    @property
    def speed(self) -> float:
        """Speed over ground [m/s]."""
        return math.hypot(self._state[2], self._state[3])

    @property
    def course(self) -> float:
        """Course over ground [rad from true north]."""
        return math.atan2(self._state[2], self._state[3]) % (2.0 * math.pi)

    @property
    def velocity(self) -> tuple[float, float]:
        """Velocity to the east and to the north [m/s]."""
        return self._state[2], self._state[3]

    @property
    def doubt(self) -> float:
        """Standard error of the velocity [m/s]."""
        return math.sqrt(self._cover[2])

    def place(self, time: float | None = None) -> tuple[float, float] | None:
        """Give latitude and longitude [degrees] at a moment [s], or at the last fix."""
        if self._near is None or self.time is None:
            return None
        ahead = 0.0 if time is None else time - self.time
        x, y, vx, vy = self._state
        return self._near.to_globe(x + ahead * vx, y + ahead * vy)

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
        if self._near is None or self.time is None or time - self.time > LOST:
            self._begin(time, lat, lon)
            return True
        self._ahead(time)
        if math.hypot(self._state[0], self._state[1]) > FAR:
            self._recentre()
        x, y = self._near.to_metres(lat, lon)
        variance = self._spread**2
        px, py, _, _ = self._state
        expected = self._cover[0] + variance
        ex, ey = x - px, y - py
        away = ex * ex + ey * ey
        if away > GATE * expected and away > NEAR * NEAR:
            if not self._borne_out(time, x, y):
                self.refused += 1
                return False
            self._begin(time, lat, lon)
            return True
        self._doubted.clear()
        self._weigh(ex, ey, variance, place=True)
        self._scatter(time, x, y)
        return True

    def doppler(self, time: float, speed: float, course: float) -> None:
        """Take a velocity that the receiver itself says.

        Parameters
        ----------
        time : float
            When it was, by the feed's clock [s].
        speed, course : float
            Over ground [m/s, rad from true north].
        """
        if self.time is None or not 0.0 <= time - self.time <= LOST:
            if self.time is None or self.time - time > 1.0 or time - self.time > LOST:
                return
            time = self.time
        self._ahead(time)
        _, _, vx, vy = self._state
        ex, ey = speed * math.sin(course) - vx, speed * math.cos(course) - vy
        self._weigh(ex, ey, DOPPLER**2, place=False)

    def _begin(self, time: float, lat: float, lon: float) -> None:
        self._near, self.time = Near(lat, lon), time
        self._state = (0.0, 0.0, 0.0, 0.0)
        self._cover = (self._spread**2, 0.0, FIRST_SPEED**2)
        self._doubted.clear()
        self._last.clear()
        self._last.append((time, 0.0, 0.0))

    def _recentre(self) -> None:
        """Count metres from where the boat is now."""
        assert self._near is not None
        px, py, vx, vy = self._state
        before, self._near = self._near, Near(*self._near.to_globe(px, py))
        self._state = (0.0, 0.0, vx, vy)
        # what is kept of single fixes moves along
        for kept in (self._doubted, self._last):
            moved = [(t, *self._near.to_metres(*before.to_globe(x, y))) for t, x, y in kept]
            kept.clear()
            kept.extend(moved)

    def _ahead(self, time: float) -> None:
        """Go on to a moment."""
        assert self.time is not None
        h = time - self.time
        if h <= 0.0:
            return
        agility = max(AGILITY, QUICK * self._spread**2)
        x, y, vx, vy = self._state
        a, b, c = self._cover
        self._state = (x + h * vx, y + h * vy, vx, vy)
        self._cover = (
            a + h * (2.0 * b + h * c) + agility * h**3 / 3.0,
            b + h * c + agility * h * h / 2.0,
            c + agility * h,
        )
        self.time = time

    def _weigh(self, ex: float, ey: float, variance: float, *, place: bool) -> None:
        x, y, vx, vy = self._state
        a, b, c = self._cover
        if place:
            s = a + variance
            ka, kb = a / s, b / s
            self._cover = (a * (1.0 - ka), b * (1.0 - ka), c - kb * b)
        else:
            s = c + variance
            ka, kb = b / s, c / s
            self._cover = (a - ka * b, b * (1.0 - kb), c * (1.0 - kb))
        self._state = (x + ka * ex, y + ka * ey, vx + kb * ex, vy + kb * ey)

    def _borne_out(self, time: float, x: float, y: float) -> bool:
        """Tell whether fixes that are far off agree among themselves: the boat really is there."""
        if self._doubted:
            before, bx, by = self._doubted[-1]
            if math.hypot(x - bx, y - by) > 2.0 * NEAR + 20.0 * max(time - before, 0.0):
                self._doubted.clear()
        self._doubted.append((time, x, y))
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
