"""Hermite cubics between smoothed fixes: the boat's place, speed and course at any moment.

`Fixes` is what a reader gives: everything that the file says, in its order, good and bad.
`towscope.boat.clean.clean` makes a `BoatTrack` of them: a smooth way in level metres, with every
repair and gap named.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from towscope.arrays import Array
from towscope.geodesy import Globe

MOST_FIXES = 12_000_000


@dataclass(frozen=True)
class Fixes:
    """Fixes as a file gives them, in its order; nothing is left out, moved or mended yet.

    Attributes
    ----------
    time : (n,) array
        Unix time [s] where `dated`, else seconds of the file's own clock; NaN where unreadable.
    first, second : (n,) array
        Latitude and longitude [degrees, WGS 84] where `on_globe`, else x east and y north [m].
    on_globe : bool
        Whether the places are on the globe.
    dated : bool
        Whether the times are of a known day.
    starts : tuple of int
        Where the file itself begins a new stretch, the first fix not counted.
    notes : tuple of str
        What the reader had to pass over.
    source : str
        Name of the file, for messages.
    read : int
        How many fixes the file holds, those that the reader had to pass over counted in; 0 where
        there are none of these.
    """

    time: Array
    first: Array
    second: Array
    on_globe: bool
    dated: bool
    starts: tuple[int, ...] = ()
    notes: tuple[str, ...] = ()
    source: str = "track"
    read: int = 0

    def __len__(self) -> int:
        return int(self.time.size)


@dataclass(frozen=True)
class Gap:
    """A time without fixes.

    Attributes
    ----------
    start, end : float
        Last fix before it and first after it [s on the track's clock].
    distance : float
        How far apart these are [m].
    bridged : bool
        Whether the way goes on smoothly across it; if not, a new stretch begins after it.
    why : str
        What is known of the reason.
    """

    start: float
    end: float
    distance: float
    bridged: bool
    why: str = "no fixes"

    def words(self, zero: float) -> str:
        """Say it, with times counted from `zero` [s]."""
        done = "bridged on a smooth way" if self.bridged else "the way begins anew after it"
        return (
            f"gap from {clock(self.start - zero)} to {clock(self.end - zero)} "
            f"({self.why}, {self.distance:.0f} m apart): {done}"
        )


@dataclass(frozen=True)
class BoatTrack:
    """The boat's way: smoothed fixes, and between them a curve without jumps in place or speed.

    Attributes
    ----------
    time : (n,) array
        Rising moments [s]: from the first fix where `epoch` is known, else on the file's own clock.
    x, y : (n,) array
        Place [m], east and north; of the first fix where `globe` is known.
    vx, vy : (n,) array
        Velocity [m/s].
    sd : (n,) array
        Standard error of each coordinate, as far as the fixes' own scatter tells [m].
    cuts : tuple of int
        Where a new stretch begins, the first fix not counted.
    gaps : tuple of Gap
        Times without fixes.
    repairs : tuple of str
        All that was left out, moved or mended.
    globe : Globe or None
        The frame of x and y on the globe.
    epoch : float or None
        Unix time of moment 0 [s].
    """

    time: Array
    x: Array
    y: Array
    vx: Array
    vy: Array
    sd: Array
    cuts: tuple[int, ...] = ()
    gaps: tuple[Gap, ...] = ()
    repairs: tuple[str, ...] = ()
    globe: Globe | None = None
    epoch: float | None = None

    def __len__(self) -> int:
        return int(self.time.size)

    @property
    def speed(self) -> Array:
        """Speed over ground at each fix [m/s]."""
        return np.hypot(self.vx, self.vy)

    @property
    def stretches(self) -> tuple[tuple[int, int], ...]:
        """First fix of each stretch, and the one beyond its last."""
        return tuple(pairwise((0, *self.cuts, len(self))))

    def at(self, moments: npt.ArrayLike) -> tuple[Array, Array, Array, Array]:
        """Give place and velocity at any moments, held at the ends of the track.

        Parameters
        ----------
        moments : (m,) array
            Moments [s on the track's clock].

        Returns
        -------
        tuple of (m,) array
            x, y [m] and their rates [m/s]; meaningless between stretches.

        Notes
        -----
        The cubic through places and velocities at both ends is what the smoother itself expects
        between two fixes (its accelerations are white noise).
        """
        t = np.clip(np.asarray(moments, dtype=float), self.time[0], self.time[-1])
        if len(self) == 1:
            return tuple(  # type: ignore[return-value]
                np.full(t.shape, float(a[0])) for a in (self.x, self.y, self.vx, self.vy)
            )
        x, vx = between(self.time, self.x, self.vx, t)
        y, vy = between(self.time, self.y, self.vy, t)
        return x, y, vx, vy


def between(time: Array, place: Array, rate: Array, moments: Array) -> tuple[Array, Array]:
    """Give the cubic that meets place and rate at both fixes about each moment (Hermite).

    Parameters
    ----------
    time, place, rate : (n,) array
        Rising moments [s], one coordinate there [m] and its rate [m/s]; two fixes at least.
    moments : (m,) array
        Moments within them [s].

    Returns
    -------
    tuple of (m,) array
        The coordinate [m] and its rate [m/s].
    """
    i = np.clip(np.searchsorted(time, moments, side="right") - 1, 0, len(time) - 2)
    h = time[i + 1] - time[i]
    s = (moments - time[i]) / h
    a, b, u, v = place[i], place[i + 1], rate[i] * h, rate[i + 1] * h
    c2, c3 = 3.0 * (b - a) - 2.0 * u - v, 2.0 * (a - b) + u + v
    return a + s * (u + s * (c2 + s * c3)), (u + s * (2.0 * c2 + 3.0 * s * c3)) / h


def clock(seconds: float) -> str:
    """Write a time into the track.

    >>> clock(754.0), clock(4354.2)
    ('12:34', '1:12:34')
    """
    whole = round(abs(seconds))
    hours, rest = divmod(whole, 3600)
    sign = "-" if seconds < -0.5 else ""
    minutes = f"{rest // 60:02d}" if hours else f"{rest // 60}"
    return f"{sign}{f'{hours}:' if hours else ''}{minutes}:{rest % 60:02d}"
