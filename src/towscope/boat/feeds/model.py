"""One shape for what a feed's message says and for how the feed is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol


@dataclass(frozen=True)
class FeedReading:
    """What one sentence or message said; None for all that it did not say.

    Attributes
    ----------
    time : float
        When it was so, by the feed's own clock: Unix time [s].
    lat, lon : float or None
        Place [degrees, WGS 84].
    course : float or None
        Course over ground [rad from true north].
    ground_speed : float or None
        Speed over ground [m/s].
    water_speed : float or None
        Speed through the water [m/s].
    depth : float or None
        Depth of water below the surface, the transducer's own depth added [m].
    water_temp : float or None
        Temperature of the water [degC].
    heard : float
        When it came, by this machine: `time.monotonic` [s].
    source : str
        Who said it, within the feed: a talker ("GP"), a sensor, a phone; "" where there is one.
    """

    time: float
    lat: float | None = None
    lon: float | None = None
    course: float | None = None
    ground_speed: float | None = None
    water_speed: float | None = None
    depth: float | None = None
    water_temp: float | None = None
    heard: float = 0.0
    source: str = ""


Take = Callable[[FeedReading], None]
"""What a feed hands its readings to, in the feed's own thread."""


@dataclass(frozen=True)
class Status:
    """How a feed is.

    Attributes
    ----------
    connected : bool
        Whether the way to the instruments is open.
    since : float
        Since when it is so: `time.monotonic` [s].
    heard : float or None
        When the last reading came: `time.monotonic` [s]; None where none has.
    count : int
        Readings so far.
    spoilt : int
        Messages that could not be used.
    why : str
        What is to be said of it, in words; "" where all is well.
    """

    connected: bool
    since: float
    heard: float | None = None
    count: int = 0
    spoilt: int = 0
    why: str = ""


class Feed(Protocol):
    """What says where the boat is. It only ever listens: nothing on the boat is controlled.

    Attributes
    ----------
    name : str
        What it is, in words: "TCP 10.0.0.5:10110".
    """

    @property
    def name(self) -> str:
        """What it is, in words."""

    def start(self, take: Take) -> None:
        """Begin to listen, in a thread of its own; `take` is called with each reading."""

    def stop(self) -> None:
        """Stop within a second; no reading comes after it."""

    def status(self) -> Status:
        """Say how it is."""
