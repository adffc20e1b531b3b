"""Feed of a boat that is not there: the demo day played as if it were now."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final, Protocol

import numpy as np
import numpy.typing as npt

from towscope.arrays import Array
from towscope.boat.feeds.model import FeedReading
from towscope.boat.feeds.playback import play
from towscope.boat.feeds.reconnect import Life, Worker
from towscope.clock import time_s
from towscope.geodesy import Globe

TROLLING: Final = 1.3  # [m/s]; faster, and the lines are in
SHORTEST: Final = 600.0  # [s] of a trolling stretch
RADIUS: Final = 22.0  # [m] of the turns it makes by itself, walking at trolling speed
BACK: Final = 2.0  # [m/s] on its way from the last stretch to the first
HISS: Final = (0.10, 0.02, 0.03)  # [m, m/s, m]: of place, speed and depth, sentence by sentence
SAIL: Final = 60.0  # [m] between the points it walks back along


class Played(Protocol):
    """A day's track: what `towscope.journal.track.Track` is."""

    @property
    def t_s(self) -> Array:
        """Moments, rising [unix s]."""

    @property
    def lat(self) -> Array:
        """Latitude [degrees]."""

    @property
    def lon(self) -> Array:
        """Longitude [degrees]."""

    @property
    def depth_m(self) -> Array:
        """Depth of the water [m], NaN where unknown."""

    @property
    def surface_temp_c(self) -> Array:
        """Temperature of the water [degC], NaN where unknown."""


@dataclass(frozen=True)
class Step:
    """The boat at one moment of its round.

    Attributes
    ----------
    time : float
        Seconds since the round began [s].
    lat, lon : float
        Place [degrees].
    course, speed : float
        Over ground [rad from north, m/s].
    depth, warmth : float or None
        Of the water [m, degC].
    """

    time: float
    lat: float
    lon: float
    course: float
    speed: float
    depth: float | None
    warmth: float | None


class SimulatedFeed(Worker):
    """A made-up boat on a made-up day: it trolls, moves on to the next stretch, and goes round.

    Parameters
    ----------
    track : Played
        The day's track, once a second or so.
    begin : float, optional
        Where in it to begin [on the track's clock]; a quarter into its first trolling stretch if
        left out.
    pace : float
        How many times faster than it was.
    depth : callable, optional
        Gives the depth of the water at latitudes and longitudes [degrees] as metres; the track's
        own soundings if left out.
    water_speed : bool
        Whether it has a sensor of speed through the (still) water.
    seed : int
        Another seed gives other noise.

    Notes
    -----
    Its times are today's: the first is the moment it is started.
    """

    def __init__(
        self,
        track: Played,
        *,
        begin: float | None = None,
        pace: float = 1.0,
        depth: Callable[[Array, Array], Array] | None = None,
        water_speed: bool = False,
        seed: int = 1,
    ) -> None:
        super().__init__("Demo boat" if pace == 1.0 else f"Demo boat, {pace:g} times as fast")
        self.track, self.begin, self.pace = track, begin, pace
        self.depth, self.water_speed, self.seed = depth, water_speed, seed

    def _listen(self, life: Life) -> None:
        life.opened()
        play(self.readings(time_s()), life, self.pace)

    def readings(self, now: float) -> Iterator[FeedReading]:
        """Give its readings without end, the first at `now` [unix s]."""
        rng = np.random.default_rng(self.seed)
        for step in walk(self.track, self.begin, self.depth):
            hiss = rng.normal(0.0, 1.0, 5)
            at = now + step.time
            north = HISS[0] * hiss[0] / 111_195.0
            east = HISS[0] * hiss[1] / (111_195.0 * math.cos(math.radians(step.lat)))
            speed = max(step.speed + HISS[1] * hiss[2], 0.0)
            course = (step.course + 0.02 * hiss[3]) % (2.0 * math.pi)
            yield FeedReading(at, step.lat + north, step.lon + east, course, speed, source="GN")
            if self.water_speed:
                yield FeedReading(at, water_speed=max(step.speed, 0.0), source="VW")
            if step.depth is not None:
                deep = max(step.depth + HISS[2] * hiss[4], 0.3)
                yield FeedReading(at, depth=round(deep, 2), source="SD")
            if step.warmth is not None and int(step.time) % 5 == 0:
                yield FeedReading(at, water_temp=round(step.warmth, 1), source="SD")


def stretches(track: Played) -> list[tuple[int, int]]:
    """Give where the boat trolls: first point of each stretch, and the one after its last."""
    t, x, y = _metres(track)
    # over 20 s, so that a fix's noise is no speed
    wide = 10
    speed = np.full(t.size, np.inf)
    speed[wide:-wide] = np.hypot(x[2 * wide :] - x[: -2 * wide], y[2 * wide :] - y[: -2 * wide]) / (
        t[2 * wide :] - t[: -2 * wide]
    )
    slow = np.concatenate([[False], speed < TROLLING, [False]])
    edges = np.flatnonzero(np.diff(slow.astype(int)))
    found = [
        (int(a), int(b))
        for a, b in zip(edges[::2], edges[1::2], strict=True)
        if t[b - 1] - t[a] >= SHORTEST
    ]
    return found or [(0, int(t.size))]


def walk(
    track: Played,
    begin: float | None = None,
    depth: Callable[[Array, Array], Array] | None = None,
) -> Iterator[Step]:
    """Go round a day's trolling stretches without end, once a second or so, never leaping.

    Parameters
    ----------
    track : Played
        The day's track.
    begin : float, optional
        Where in it to begin [on the track's clock], no sooner than its first trolling stretch.
    depth : callable, optional
        As `SimulatedFeed` has it.

    Yields
    ------
    Step
        From the last stretch the boat goes back to the first on the way that the track itself
        took, so that it stays on the water.
    """
    parts = stretches(track)
    first, last = parts[0][0], parts[-1][1]
    t, x, y = _metres(track)
    globe = Globe(float(track.lat[0]), float(track.lon[0]))
    back_x, back_y = _steer(x[first:last], y[first:last], _way_back(x, y, parts))
    px, py = np.concatenate([x[first:last], back_x]), np.concatenate([y[first:last], back_y])
    pt = np.concatenate(
        [t[first:last] - t[first], t[last - 1] - t[first] + 1.0 + np.arange(back_x.size)]
    )
    near = np.concatenate([np.arange(first, last), _nearest(x, y, back_x, back_y)])
    # velocity over 4 s, as a receiver's own filter would give it; all round, the end meeting
    # the beginning
    around = float(pt[-1]) + 1.0
    ends = np.array([-2, 2])[:, None] + np.arange(px.size)
    lap, turn = ends % px.size, np.where(ends < 0, -around, np.where(ends >= px.size, around, 0.0))
    span = np.diff(pt[lap] + turn, axis=0)[0]
    vx, vy = np.diff(px[lap], axis=0)[0] / span, np.diff(py[lap], axis=0)[0] / span
    if begin is None:
        begin = float(t[first + (parts[0][1] - first) // 4])
    start = int(np.clip(np.searchsorted(t, begin) - first, 0, last - first - 1))
    zero = -float(pt[start])
    while True:
        for low in range(start, px.size, 300):
            part = slice(low, low + 300)
            lat, lon = globe.to_globe(px[part], py[part])
            deep = track.depth_m[near[part]] if depth is None else depth(lat, lon)
            warm = track.surface_temp_c[near[part]]
            for j in range(lat.size):
                east, north = float(vx[low + j]), float(vy[low + j])
                yield Step(
                    zero + float(pt[low + j]),
                    float(lat[j]),
                    float(lon[j]),
                    math.atan2(east, north) % (2.0 * math.pi),
                    math.hypot(east, north),
                    _known(float(deep[j])),
                    _known(float(warm[j])),
                )
        zero, start = zero + around, 0


def _known(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _nearest(x: Array, y: Array, px: Array, py: Array) -> npt.NDArray[np.intp]:
    """Give the track's point that each other point lies nearest to."""
    thin = slice(None, None, 5)
    off = (px[:, None] - x[None, thin]) ** 2 + (py[:, None] - y[None, thin]) ** 2
    return np.asarray(5 * np.argmin(off, axis=1))


def _metres(track: Played) -> tuple[Array, Array, Array]:
    """Give times, and metres about the track's first point."""
    x, y = Globe(float(track.lat[0]), float(track.lon[0])).to_metres(track.lat, track.lon)
    return track.t_s, x, y


def _way_back(x: Array, y: Array, parts: list[tuple[int, int]]) -> list[tuple[float, float]]:
    """Give points from the last stretch's end to the first's beginning, over water gone before.

    Between stretches it is the way there, backwards; along a stretch, whose passes run to and
    fro over the same water, the shortest way through its points.
    """
    points: list[tuple[float, float]] = []
    here = (float(x[parts[-1][1] - 1]), float(y[parts[-1][1] - 1]))
    for number in range(len(parts) - 1, -1, -1):
        a, b = parts[number]
        points += _through(x[a:b:30], y[a:b:30], here, (float(x[a]), float(y[a])))
        if number:
            before = parts[number - 1][1]
            points += [(float(x[i]), float(y[i])) for i in range(a, before - 1, -8)]
            here = (float(x[before - 1]), float(y[before - 1]))
    # beyond the beginning, to come to it the way it goes on
    (ax, ay), a = points[-1], parts[0][0]
    along = math.atan2(y[a + 10] - ay, x[a + 10] - ax)
    points.insert(-1, (ax - 5.0 * RADIUS * math.cos(along), ay - 5.0 * RADIUS * math.sin(along)))
    return points


def _through(
    x: Array, y: Array, start: tuple[float, float], end: tuple[float, float]
) -> list[tuple[float, float]]:
    """Give a way through points from one place to another in steps of at most `SAIL`, greedily."""
    points, here = [start], start
    unused = np.ones(x.size, bool)
    while math.dist(here, end) > SAIL:
        near = unused & (np.hypot(x - here[0], y - here[1]) <= SAIL)
        if not near.any():
            break
        best = int(np.argmin(np.where(near, np.hypot(x - end[0], y - end[1]), np.inf)))
        unused[best] = False
        here = (float(x[best]), float(y[best]))
        points.append(here)
    return [*points[1:], end]


def _steer(x: Array, y: Array, points: list[tuple[float, float]]) -> tuple[Array, Array]:
    """Walk from the end of a way along points, once a second, in turns that a boat can make."""
    px, py = float(x[-1]), float(y[-1])
    ahead = min(5, x.size - 1)
    heading = math.atan2(py - float(y[-1 - ahead]), px - float(x[-1 - ahead]))
    end = points[-1]
    found: list[tuple[float, float]] = []
    speed = TROLLING
    for ax, ay in points:
        for _ in range(3600):
            far = math.hypot(ax - px, ay - py)
            turn = (math.atan2(ay - py, ax - px) - heading + math.pi) % (2.0 * math.pi) - math.pi
            if far < RADIUS and ((ax, ay) != end or far < speed or abs(turn) > 1.4):
                break  # nearer, it could only be circled
            limit = speed / RADIUS
            heading += max(-limit, min(limit, turn))
            # it goes on at trolling speed
            wanted = 0.85 if math.dist(end, (px, py)) < SAIL else BACK
            speed += max(-0.1, min(0.1, wanted - speed))
            px, py = px + speed * math.cos(heading), py + speed * math.sin(heading)
            found.append((px, py))
    way = np.array(found).reshape(-1, 2)
    return way[:, 0], way[:, 1]
