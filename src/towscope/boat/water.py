"""Speed through the water: by a sensor, else over ground less the current that is stated."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

FRESH: Final = 5.0  # [s] for which a sensor's speed counts
SLOW: Final = 15.0  # [s]; over so long the sensor's difference from speed over ground is averaged
FASTEST: Final = 2.0  # [m/s]; a stronger current than that is no lake's

SENSOR: Final = "through water"
STATED: Final = "over ground, current taken off"
GROUND: Final = "over ground"


@dataclass(frozen=True)
class TowedSpeed:
    """How the lines are towed.

    Attributes
    ----------
    speed : float
        Through the water [m/s].
    said : str
        What that speed is, in words: "through water" by a sensor, "over ground, current taken off"
        where the crew states one, else "over ground".
    flow : tuple of float
        Speed of the water to the east and to the north [m/s].
    """

    speed: float
    said: str
    flow: tuple[float, float] = (0.0, 0.0)


class WaterMotion:
    """What is known of the water's own motion.

    Attributes
    ----------
    current : tuple of float or None
        Speed of the water to the east and to the north, as the crew states it [m/s].

    Examples
    --------
    A boat goes north at 0.9 m/s over ground; the water runs south at 0.2 m/s. How fast are the
    lines towed?

    >>> water = WaterMotion()
    >>> water.current = (0.0, -0.2)
    >>> round(water.towed(0.9, 0.0, 0.0).speed, 2)
    1.1
    """

    def __init__(self) -> None:
        self.current: tuple[float, float] | None = None
        self._slip: float | None = None  # of the speed over ground over that through the water
        self._heard = -math.inf

    def hear(self, speed: float, ground_speed: float, heard: float) -> None:
        """Take a sensor's speed through the water.

        Parameters
        ----------
        speed, ground_speed : float
            Through the water, and over ground then [m/s].
        heard : float
            When it came [s].
        """
        slip = min(max(ground_speed - speed, -FASTEST), FASTEST)
        gone = heard - self._heard
        if self._slip is None or gone > 2.0 * SLOW or gone < 0.0:
            self._slip = slip
        else:
            self._slip += (1.0 - math.exp(-gone / SLOW)) * (slip - self._slip)
        self._heard = heard

    def forget(self) -> None:
        """Let go of what the sensor said: it is not to be believed."""
        self._slip, self._heard = None, -math.inf

    def towed(self, ground_speed: float, course: float, now: float) -> TowedSpeed:
        """Say how the lines are towed.

        Parameters
        ----------
        ground_speed, course : float
            Of the boat over ground [m/s, rad from north].
        now : float
            The moment, by the same clock as `hear` [s].
        """
        ahead = (math.sin(course), math.cos(course))
        if self._slip is not None and 0.0 <= now - self._heard <= FRESH:
            slip = min(self._slip, ground_speed)
            return TowedSpeed(ground_speed - slip, SENSOR, (slip * ahead[0], slip * ahead[1]))
        if self.current is not None:
            east, north = self.current
            off = math.hypot(ground_speed * ahead[0] - east, ground_speed * ahead[1] - north)
            return TowedSpeed(off, STATED, self.current)
        return TowedSpeed(ground_speed, GROUND)
