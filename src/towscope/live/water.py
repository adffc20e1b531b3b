"""How fast does the water go by: by a sensor where there is one, else by what the crew states."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from towscope.arrays import Array
from towscope.towing.lookahead import Boat

FRESH: Final = 6.0  # [s]; how long a sensor's word holds
SLOW: Final = 15.0  # [s]; over so long the sensor's difference from speed over ground is averaged
FASTEST: Final = 2.0  # [m/s]; a stronger current than that is no lake's


@dataclass(frozen=True)
class Towed:
    """How the lines are towed.

    Attributes
    ----------
    speed : float
        Through the water [m/s].
    said : str
        What that speed is, in words.
    current : (1, 3) array or None
        Depth [m], speed of the water to the east and to the north [m/s].
    """

    speed: float
    said: str
    current: Array | None


class Water:
    """What is known of the water's own motion."""

    def __init__(self) -> None:
        self._slip: float | None = None
        self._heard = -math.inf

    def hear(self, water_speed: float, boat: Boat, time: float) -> None:
        """Take a sensor's speed through the water [m/s]."""
        slip = min(max(boat.speed - water_speed, -FASTEST), FASTEST)
        gone = time - self._heard
        if self._slip is None or gone > 2.0 * SLOW or gone < 0.0:
            self._slip = slip
        else:
            self._slip += (1.0 - math.exp(-gone / SLOW)) * (slip - self._slip)
        self._heard = time

    def towed(self, boat: Boat, time: float, stated: tuple[float, float]) -> Towed:
        """Say how the lines are towed.

        Parameters
        ----------
        boat : Boat
            The boat now.
        time : float
            Now [s].
        stated : tuple of float
            Current that the crew states: speed [m/s], and where it goes [degrees].
        """
        ahead = np.array([math.sin(boat.course), math.cos(boat.course)])
        if self._slip is not None and 0.0 <= time - self._heard <= FRESH:
            flow = self._slip * ahead
            speed = max(boat.speed - self._slip, 0.0)
            return Towed(speed, "through water", np.array([[0.0, flow[0], flow[1]]]))
        if stated[0] > 0.0:
            to = math.radians(stated[1])
            flow = stated[0] * np.array([math.sin(to), math.cos(to)])
            speed = float(np.hypot(*(boat.speed * ahead - flow)))
            return Towed(
                speed, "over ground, current taken off", np.array([[0.0, flow[0], flow[1]]])
            )
        return Towed(boat.speed, "over ground", None)
