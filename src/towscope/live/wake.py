"""The boat's wake: the way behind it, along which lines, lures and the bottom are laid out."""

from __future__ import annotations

import math
from collections import deque
from typing import Final

import numpy as np

from towscope.arrays import Array
from towscope.towing.lookahead import Boat

WAKE: Final = 3000.0  # [m]; how much of the way is kept
WAKE_STEP: Final = 2.0  # [m]


class Wake:
    """Where the boat went, in level metres."""

    def __init__(self) -> None:
        self._points: deque[tuple[float, float]] = deque()

    def clear(self) -> None:
        """Forget it."""
        self._points.clear()

    def remember(self, boat: Boat) -> None:
        """Add to the wake where the boat has come far enough."""
        if self._points and math.dist(self._points[-1], (boat.x, boat.y)) < WAKE_STEP:
            return
        self._points.append((boat.x, boat.y))
        while len(self._points) > WAKE / WAKE_STEP:
            self._points.popleft()

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
        points = [(boat.x, boat.y), *reversed(self._points)]
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
