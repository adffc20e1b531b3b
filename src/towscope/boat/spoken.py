"""Currents over ground, winds and places of rod tips, as people say them: read, checked, in SI."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

from towscope.arguments import layers, quantity
from towscope.compass import bearing
from towscope.errors import ArgumentError, InputError
from towscope.tackle.validate import MAX_DEPTH
from towscope.units import parse_wind

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from towscope.boat.track import BoatTrack

_LAYER = re.compile(
    r"\s*(?P<speed>.+?)\s+(?P<way>from|to|towards?)\s+(?:the\s+)?(?P<side>[A-Za-z-]+|[\d.]+\s*"
    r"(?:deg|degrees|°))(?:\s+at\s+(?P<depth>.+?))?\s*",
    re.IGNORECASE,
)
_TIP = re.compile(
    r"\s*(?P<far>.+?)\s+(?:to\s+)?(?P<side>port|starboard|ahead|behind|forward|aft)\s*",
    re.IGNORECASE,
)
MAX_SPEED, MAX_TIP, MAX_WIND = 3.0, 50.0, 40.0  # [m/s], [m], [m/s]


def current_over_ground(
    text: str, track: BoatTrack, name: str = "current"
) -> tuple[npt.NDArray[np.float64], tuple[str, ...]]:
    """Read a current by the compass, or by the boat's first course.

    Parameters
    ----------
    text : str
        ``"0.3 mph from west"``, ``"0.2 knot to 40 deg at 0 ft, 0 mph at 30 ft"``, or as a
        straight tow's current is said: ``"0.3 mph against"``.
    track : BoatTrack
        The boat's way.
    name : str
        The argument's name, for messages.

    Returns
    -------
    tuple
        Layers of depth [m], speed to the east and to the north [m/s]; and what had to be assumed.

    Raises
    ------
    InputError
        Where it cannot be read.
    """
    import numpy as np

    parts = text.split(",")
    matches = [_LAYER.fullmatch(part) for part in parts]
    if not any(match and match["side"].lower() not in ("port", "starboard") for match in matches):
        course = math.atan2(float(track.vx[0]), float(track.vy[0]))
        s, c = math.sin(course), math.cos(course)
        rows = [
            (depth, along * s + across * c, along * c - across * s)
            for depth, along, across in layers(text, name)
        ]
        moving = any(abs(a) + abs(b) > 0.0 for _, a, b in rows)
        said = f"the current is meant for the first course, {math.degrees(course) % 360:.0f}°"
        return np.array(rows), (said,) if moving else ()
    return compass_current(text, name), ()


def compass_current(text: str, name: str = "current") -> npt.NDArray[np.float64]:
    """Read a current by the compass: layers of depth [m], speed east and north [m/s].

    >>> compass_current("0.5 m/s from west").round(2).tolist()
    [[0.0, 0.5, 0.0]]
    """
    import numpy as np

    if not re.search(r"\b(from|to|towards?)\b", text) or re.search(r"port|starboard", text):
        raise ArgumentError(name, f' "{text}": expected it by the compass: "0.2 mph from west"')
    rows = []
    for part in text.split(","):
        match = _LAYER.fullmatch(part)
        still = re.fullmatch(r"\s*0+(?:\.0*)?\s*\S+\s+at\s+(.+?)\s*", part)
        if match is None and still is None:
            raise ArgumentError(
                name,
                f' "{part.strip()}": expected such as "0.3 mph from west" or '
                '"0.4 mph to 30 deg at 10 ft"',
            )
        speed = quantity(match["speed"], "speed", name) if match else 0.0
        if not 0.0 <= speed <= MAX_SPEED:
            raise ArgumentError(name, f' "{part.strip()}": expected 0 to 3 m/s')
        depth_text = match["depth"] if match else still[1] if still else None
        if depth_text is None and "," in text:
            raise ArgumentError(name, f' "{part.strip()}": expected its depth too, "at 30 ft"')
        depth = quantity(depth_text, "length", name) if depth_text else 0.0
        if not 0.0 <= depth <= MAX_DEPTH:
            raise ArgumentError(
                name, f' "{part.strip()}": expected a depth of 0 to {MAX_DEPTH:g} m'
            )
        toward = _bearing(match["side"], name, part.strip()) if match else 0.0
        if match and match["way"].lower() == "from":
            toward += math.pi
        rows.append((depth, speed * math.sin(toward), speed * math.cos(toward)))
    depths = [row[0] for row in rows]
    if sorted(set(depths)) != depths:
        raise ArgumentError(name, f' "{text}": expected layers from the top down, each depth once')
    return np.array(rows)


def _bearing(side: str, name: str, part: str) -> float:
    """Read a direction [rad from north]."""
    degrees = bearing(side)
    if degrees is None:
        raise ArgumentError(name, f' "{part}": expected north, NE, ... or degrees ("240 deg")')
    return math.radians(degrees)


def mount_of(text: str, name: str = "tip") -> tuple[float, float]:
    """Read where a rod tip is: ahead and to starboard [m].

    >>> [round(v, 2) for v in mount_of("5 ft to port, 8 ft behind")]
    [-2.44, -1.52]
    """
    ahead = starboard = 0.0
    for part in text.split(","):
        match = _TIP.fullmatch(part)
        if match is None:
            raise ArgumentError(name, f' "{text}": expected such as "5 ft to port, 8 ft behind"')
        far = quantity(match["far"], "length", name)
        if not 0.0 <= far <= MAX_TIP:
            raise ArgumentError(name, f' "{part.strip()}": expected 0 to {MAX_TIP:g} m')
        side = match["side"].lower()
        if side in ("port", "starboard"):
            starboard += far if side == "starboard" else -far
        else:
            ahead += far if side in ("ahead", "forward") else -far
    return ahead, starboard


def wind_of(text: str, name: str = "wind") -> tuple[float, float]:
    """Read a wind: where from [degrees from north], and how hard [m/s].

    >>> wind_of("calm"), wind_of("SW, 5 m/s"), wind_of("240, 3 m/s")
    ((0.0, 0.0), (225.0, 5.0), (240.0, 3.0))
    """
    if text.strip().lower() in ("calm", "none", "0"):
        return 0.0, 0.0
    parts = [p.strip() for p in text.split(",")]
    expected = ArgumentError(
        name,
        f' "{text}": expected a direction and a speed, "SW, 8 mph", "SW, 3 bft" or '
        '"240, 3 m/s" (0 to 360 degrees)',
    )
    if len(parts) != 2 or not all(parts):
        raise expected
    side, hard = parts
    source = bearing(re.sub(r"(?i)^from\s+", "", side))
    if source is None:
        raise expected
    try:
        strength = parse_wind(hard)
    except InputError as error:
        raise ArgumentError(name, f": {error}") from None
    if not 0.0 <= strength <= MAX_WIND:
        raise ArgumentError(name, f' "{text}": expected a speed of 0 to {MAX_WIND:g} m/s')
    return source, strength
