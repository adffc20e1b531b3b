"""Where is the boat now, how fast and over what water: the readings of all feeds made into one."""

from __future__ import annotations

import math
import statistics
import threading
import time
from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from towscope.boat.feeds.kalman import LOST, Steady
from towscope.boat.feeds.model import Reading
from towscope.clock import time_s

HANDOVER: Final = 5.0  # [s] of silence after which another source is taken
SLOW_SOURCE: Final = 3.0  # times its own interval, where that is longer
RETURN: Final = 10.0  # [s] for which a better source must be back before it is taken again
FRESH: Final = 5.0  # [s] for which a speed through the water counts
SLOW: Final = 0.15  # [m/s]; below it the way of the boat is only noise, and its course is held
STUCK: Final = 10.0  # [s] of no speed through the water while the boat goes: the sensor is fouled
MOVING, STILL = 0.5, 0.05  # [m/s] over ground; through water
EASE: Final = 1.5  # [s] over which a speed through the water is evened out
BACKWARDS: Final = 4  # fixes in a row from before: the feed's clock was set back
PAIRED: Final = 2.0  # [s] for which a course and a speed said apart belong together
AHEAD: Final = 3.0  # [s]; a receiver's own velocity is used so long
TRAIL: Final = 3600.0  # [s] kept
TRAIL_STEP: Final = 0.45  # [s] between the points kept
EVEN, UNEVEN = 0.3, 60.0  # [s]; a clock off by so much is evened out at a hand-over, no more
CLOCK: Final = 2.0  # [s]; of a feed whose clock is off by more, the times are not gone by
SPOKEN: Final = 10.0  # [s]; and by more than this, the crew is told


@dataclass(frozen=True)
class Point:
    """The boat at one fix.

    Attributes
    ----------
    time : float
        By the feed's clock, going on evenly where another feed takes over [unix s].
    heard : float
        When it came, `time.monotonic` [s].
    lat, lon : float
        Place, smoothed [degrees].
    course : float or None
        Course over ground [rad from true north].
    ground_speed : float
        Speed over ground [m/s].
    water_speed : float or None
        Speed through the water, by the sensor [m/s].
    depth : float or None
        Depth of the water [m].
    """

    time: float
    heard: float
    lat: float
    lon: float
    course: float | None
    ground_speed: float
    water_speed: float | None = None
    depth: float | None = None


@dataclass(frozen=True)
class Present:
    """The boat now; what is not known is None, and every figure has its age.

    Attributes
    ----------
    at : float
        Now, by this machine's clock [unix s].
    time : float or None
        The last fix, by the feed's clock [unix s].
    clock : float or None
        How far the feed's clock is ahead of this machine's [s].
    lat, lon, place_age : float or None
        Place at the last fix [degrees], and its age [s].
    course, ground_speed : float or None
        Over ground [rad from true north, m/s]; of the same age as the place.
    water_speed, water_speed_age : float or None
        Through the water by the sensor [m/s], and its age [s].
    speed, speed_is : float or None, str
        The speed that the lines are towed at [m/s]; and what it is: "through water", "over
        ground" or "over ground, current taken off".
    depth, depth_age : float or None
        Depth of the water below the surface by the sounder [m], and its age [s].
    water_temp, water_temp_age : float or None
        Temperature of the water [degC], and its age [s].
    feed, source : str
        The feed that says where the boat is, and who within it.
    depth_feed, water_feed : str
        The feeds that say depth and speed through the water.
    notes : tuple of str
        What the crew should know of it, in words.
    """

    at: float
    time: float | None = None
    clock: float | None = None
    lat: float | None = None
    lon: float | None = None
    place_age: float | None = None
    course: float | None = None
    ground_speed: float | None = None
    water_speed: float | None = None
    water_speed_age: float | None = None
    speed: float | None = None
    speed_is: str = "over ground"
    depth: float | None = None
    depth_age: float | None = None
    water_temp: float | None = None
    water_temp_age: float | None = None
    feed: str = ""
    source: str = ""
    depth_feed: str = ""
    water_feed: str = ""
    notes: tuple[str, ...] = ()


Key = tuple[str, str]


@dataclass
class _Choice:
    """Which of several sources of one figure is used: one at a time, with hand-over."""

    order: Sequence[str]
    used: Key | None = None
    _heard: dict[Key, float] = field(default_factory=dict)
    _every: dict[Key, float] = field(default_factory=dict)
    _back: dict[Key, float] = field(default_factory=dict)  # since when it is steadily there

    def take(self, key: Key, heard: float) -> bool:
        """Note that a source spoke; say whether it is the one that is used."""
        last = self._heard.get(key)
        if last is None or heard - last > self._patience(key):
            self._back[key] = heard
        else:
            old = self._every.get(key, heard - last)
            self._every[key] = old + 0.3 * (heard - last - old)
        self._heard[key] = heard
        if len(self._heard) > 64:  # phones and talkers come and go
            for gone in sorted(self._heard, key=self._heard.__getitem__)[:32]:
                if gone != self.used:
                    for kept in (self._heard, self._every, self._back):
                        kept.pop(gone, None)
        if self.used is None or (self.used != key and self._yields(self.used, key, heard)):
            self.used = key
        return self.used == key

    def _yields(self, used: Key, key: Key, heard: float) -> bool:
        """Tell whether the source in use gives way to another that has spoken."""
        if heard - self._heard.get(used, -math.inf) > self._patience(used):
            return True
        return self._rank(key) < self._rank(used) and heard - self._back[key] >= RETURN

    def _patience(self, key: Key) -> float:
        return max(HANDOVER, SLOW_SOURCE * self._every.get(key, 0.0))

    def _rank(self, key: Key) -> int:
        return self.order.index(key[0]) if key[0] in self.order else len(self.order)


@dataclass
class _Figure:
    """A figure of one kind: who says it, its value and when it came."""

    choice: _Choice
    value: float | None = None
    heard: float = -math.inf
    _last: deque[tuple[float, float]] = field(default_factory=lambda: deque(maxlen=3))

    def take(self, key: Key, value: float, heard: float) -> bool:
        """Take a value as it is."""
        if not self.choice.take(key, heard):
            return False
        self.value, self.heard = value, heard
        return True

    def take_middle(self, key: Key, value: float, heard: float) -> bool:
        """Take the middle one of the last three values: one spike is none."""
        if not self.choice.take(key, heard):
            return False
        self._last.append((heard, value))
        near = [v for at, v in self._last if heard - at <= FRESH]
        self.value = statistics.median(near) if len(near) == 3 else value
        self.heard = heard
        return True

    def take_eased(self, key: Key, value: float, heard: float) -> bool:
        """Take a value, evened out over `EASE`."""
        if not self.choice.take(key, heard):
            return False
        step = heard - self.heard
        if self.value is not None and step < FRESH:
            value = self.value + (1.0 - math.exp(-max(step, 0.05) / EASE)) * (value - self.value)
        self.value, self.heard = value, heard
        return True

    def age(self, now: float) -> float | None:
        return None if self.value is None else max(now - self.heard, 0.0)


class Now:
    """Makes one present of the readings of one or more feeds. May be used from any thread.

    Parameters
    ----------
    order : sequence of str
        Names of the feeds, best first. The first that speaks is used; one farther down takes
        over when it falls silent, and gives way again when it has been back for some seconds.

    Attributes
    ----------
    current : tuple of float or None
        Speed of the water to the east and to the north, as the crew states it [m/s].
    dropped, refused : int
        Fixes left out as doubled or late; fixes not believed, as no boat leaps so.

    Examples
    --------
    A boat goes north at 0.9 m/s over ground; the water runs south at 0.2 m/s. How fast are the
    lines towed?

    >>> now = Now()
    >>> now.current = (0.0, -0.2)
    >>> for second in range(20):
    ...     lat = 48.4 + 0.9 * second / 111_214.0
    ...     fix = Reading(1.8e9 + second, lat=lat, lon=-91.9, heard=float(second))
    ...     used = now.take(fix, "cable")
    >>> present = now.present(20.0)
    >>> round(present.speed, 1), present.speed_is
    (1.1, 'over ground, current taken off')
    """

    def __init__(self, order: Sequence[str] = ()) -> None:
        self.order = list(order)
        self.current: tuple[float, float] | None = None
        self.dropped = 0
        self._lock = threading.RLock()
        self._steady = Steady()
        self._place = _Choice(self.order)
        self._times: dict[Key, float] = {}  # of each source's last fix
        self._owner: Key | None = None  # whose fixes the steady picture is made of
        self._depth, self._water, self._warmth = (_Figure(_Choice(self.order)) for _ in range(3))
        self._heard = -math.inf  # when the last fix came
        self._course: float | None = None
        self._early = 0
        self._shift = 0.0  # added to the times of the source in use [s]
        self._said: dict[str, tuple[float, float, float]] = {}  # course, speed: value, time, heard
        self._clock: deque[float] = deque(maxlen=15)
        self._still_since: float | None = None
        self._trail: deque[Point] = deque()

    @property
    def feed(self) -> str:
        """Name of the feed that says where the boat is; "" where none has yet."""
        return "" if self._owner is None else self._owner[0]

    @property
    def refused(self) -> int:
        """Fixes that were not believed, as no boat leaps so."""
        return self._steady.refused

    def take(self, reading: Reading, feed: str = "") -> Reading | None:
        """Take a reading; give what of it is used.

        Parameters
        ----------
        reading : Reading
            What a feed said.
        feed : str
            The feed's name.

        Returns
        -------
        Reading or None
            The same without what another source says better, what came twice or late, and what
            is not believed; None where nothing is left. Places are as they came, not smoothed;
            its time goes on evenly where another source takes over whose clock is a little off.
        """
        key = (feed, reading.source)
        with self._lock:
            if len(self._times) > 64:
                self._times.clear()
            used: dict[str, float] = {}
            if reading.depth is not None and self._depth.take_middle(
                key, reading.depth, reading.heard
            ):
                used["depth"] = reading.depth if self._depth.value is None else self._depth.value
            if reading.water_temp is not None and self._warmth.take(
                key, reading.water_temp, reading.heard
            ):
                used["water_temp"] = reading.water_temp
            if reading.water_speed is not None and self._take_water(
                key, reading.water_speed, reading.heard
            ):
                used["water_speed"] = reading.water_speed
            if reading.lat is not None and reading.lon is not None:
                # a receiver that hangs says its last fix again and again: that is silence
                new = self._times.get(key) != reading.time
                self._times[key] = reading.time
                chosen = self._place.take(key, reading.heard) if new else self._place.used == key
                if chosen and self._take_fix(key, reading, reading.lat, reading.lon):
                    used["lat"], used["lon"] = reading.lat, reading.lon
            elif reading.course is not None or reading.ground_speed is not None:
                self._take_motion(key, reading)
            if not used:
                return None
            if "lat" in used:
                for name in ("course", "ground_speed"):
                    if (value := getattr(reading, name)) is not None:
                        used[name] = value
            return Reading(
                reading.time + self._even(key[0]),
                heard=reading.heard,
                source=reading.source,
                **used,
            )

    def _even(self, feed: str) -> float:
        """Give what is added to a feed's times, so that they go on evenly [s]."""
        return self._shift if self._owner is not None and feed == self._owner[0] else 0.0

    def _take_fix(self, key: Key, reading: Reading, lat: float, lon: float) -> bool:
        """Take a fix of the source in use; say whether it is new and believed."""
        last = self._steady.time
        if key != self._owner:
            self._hand_over(key, reading)
            last = self._steady.time
        reading = replace(reading, time=reading.time + self._shift)
        if last is not None and reading.time <= last:
            self._early += reading.time < last - 1.0
            if self._early < BACKWARDS:
                # the same fix in another sentence may bring what the first did not
                self.dropped += 1
                if reading.time == last:
                    self._doppler(reading, reading.course, reading.ground_speed)
                return False
            self._anew()
        self._early = 0
        if not self._steady.fix(reading.time, lat, lon):
            return False
        self._heard = reading.heard
        own = reading.time - self._shift
        self._clock.append(own - (time_s() - (time.monotonic() - reading.heard)))
        self._doppler(reading, reading.course, reading.ground_speed)
        self._note(reading)
        return True

    def _hand_over(self, key: Key, reading: Reading) -> None:
        """Let another source say the place: its clock may differ by anything."""
        last = self._steady.time
        if self._owner is not None and last is not None:
            expected = last + (reading.heard - self._heard)
            off = expected - reading.time
            self._shift = off if EVEN < abs(off) < UNEVEN else 0.0
            if not 0.0 < reading.time + self._shift - last < LOST:
                self._anew()
        self._owner, self._early = key, 0
        self._clock.clear()
        self._said.clear()

    def _take_motion(self, key: Key, reading: Reading) -> None:
        """Take course and speed said without a place, by the feed that says the place."""
        if self._owner is None or key[0] != self._owner[0]:
            return
        reading = replace(reading, time=reading.time + self._shift)
        for name, value in (("course", reading.course), ("speed", reading.ground_speed)):
            if value is not None:
                self._said[name] = (value, reading.time, reading.heard)
        course, speed = self._said.get("course"), self._said.get("speed")
        if course is None or speed is None or abs(course[2] - speed[2]) > PAIRED:
            return
        self._doppler(reading, course[0], speed[0])
        if reading.course is None or reading.ground_speed is None:
            self._said.clear()  # said in pairs: each is used once

    def _doppler(self, reading: Reading, course: float | None, speed: float | None) -> None:
        if speed is None or self._steady.time is None:
            return
        if course is None:
            if speed > SLOW:
                return  # a speed alone says nothing of where it leads; places tell
            course = 0.0
        if abs(reading.time - self._steady.time) <= AHEAD:
            self._steady.doppler(min(reading.time, self._steady.time), speed, course)

    def _take_water(self, key: Key, speed: float, heard: float) -> bool:
        """Take a speed through the water; say whether it is used."""
        if not self._water.take_eased(key, speed, heard):
            return False
        if speed < STILL and self._steady.speed > MOVING and self._steady.doubt < 0.3:
            self._still_since = heard if self._still_since is None else self._still_since
        else:
            self._still_since = None
        return not self._fouled(heard)

    def _fouled(self, now: float) -> bool:
        """Tell whether the sensor of speed through the water does not turn though the boat goes."""
        since = self._still_since
        return (
            since is not None
            and self._water.heard - since >= STUCK
            and now - self._water.heard <= FRESH
        )

    def _anew(self) -> None:
        refused = self._steady.refused
        self._steady = Steady()
        self._steady.refused = refused

    def _note(self, reading: Reading) -> None:
        """Keep the way gone, and the course while it means something."""
        steady = self._steady
        if steady.speed >= SLOW and steady.doubt < 0.6:
            self._course = steady.course
        place = steady.place()
        if place is None or steady.doubt > 5.0:
            return
        if self._trail and 0.0 <= reading.time - self._trail[-1].time < TRAIL_STEP:
            return
        water = self._water if reading.heard - self._water.heard <= FRESH else None
        deep = self._depth if reading.heard - self._depth.heard <= FRESH else None
        self._trail.append(
            Point(
                reading.time,
                reading.heard,
                *place,
                self._course,
                steady.speed,
                None if water is None else water.value,
                None if deep is None else deep.value,
            )
        )
        while self._trail and reading.heard - self._trail[0].heard > TRAIL:
            self._trail.popleft()

    def trail(self, after: float = -math.inf) -> list[Point]:
        """Give the way gone, of the last hour at most.

        Parameters
        ----------
        after : float
            Only what came after this moment, `time.monotonic` [s].
        """
        with self._lock:
            if self._trail and self._trail[0].heard > after:
                return list(self._trail)
            later: list[Point] = []
            for point in reversed(self._trail):
                if point.heard <= after:
                    break
                later.append(point)
            return later[::-1]

    def present(self, now: float | None = None) -> Present:
        """Give the boat's present.

        Parameters
        ----------
        now : float, optional
            The moment, `time.monotonic` [s]; now if left out.
        """
        with self._lock:
            clock_now = time.monotonic()
            now = clock_now if now is None else now
            place = self._steady.place() if self._owner is not None else None
            known = place is not None and self._steady.doubt < 5.0
            ground = self._steady.speed if known else None
            notes: list[str] = []
            fouled = self._fouled(now)
            if fouled:
                notes.append(
                    "the water-speed sensor reads 0 while the boat moves, so it is left out; "
                    "weed on it?"
                )
            speed, what = self._towed(now, ground, fouled=fouled)
            clock = statistics.median(self._clock) if self._clock else None
            if clock is not None and abs(clock) > SPOKEN:
                side = "ahead of" if clock > 0 else "behind"
                notes.append(f"the feed's clock is {_span(abs(clock))} {side} this machine's")
            age = None if place is None else max(now - self._heard, 0.0)
            owner = self._owner or ("", "")
            return Present(
                at=time_s() + (now - clock_now),
                time=None if self._steady.time is None else self._steady.time - self._shift,
                clock=clock,
                lat=None if place is None else place[0],
                lon=None if place is None else place[1],
                place_age=age,
                course=self._course,
                ground_speed=ground,
                water_speed=self._water.value,
                water_speed_age=self._water.age(now),
                speed=speed,
                speed_is=what,
                depth=self._depth.value,
                depth_age=self._depth.age(now),
                water_temp=self._warmth.value,
                water_temp_age=self._warmth.age(now),
                feed=owner[0],
                source=owner[1],
                depth_feed=_feed_of(self._depth),
                water_feed=_feed_of(self._water),
                notes=tuple(notes),
            )

    def _towed(self, now: float, ground: float | None, *, fouled: bool) -> tuple[float | None, str]:
        """Give the speed that the lines are towed at [m/s], and what it is."""
        age = self._water.age(now)
        if age is not None and age <= FRESH and not fouled:
            return self._water.value, "through water"
        if self.current is not None and ground is not None:
            east, north = self._steady.velocity
            off = math.hypot(east - self.current[0], north - self.current[1])
            return off, "over ground, current taken off"
        return ground, "over ground"


def _feed_of(figure: _Figure) -> str:
    return "" if figure.choice.used is None or figure.value is None else figure.choice.used[0]


def _span(seconds: float) -> str:
    """Say a long time in a word or two.

    >>> _span(3.0), _span(7300.0), _span(86_400.0 * 7168)
    ('3 s', '2.0 h', '19.6 years')
    """
    for size, word in ((31_557_600.0, "years"), (86_400.0, "days"), (3600.0, "h"), (60.0, "min")):
        if seconds >= 1.5 * size:
            return f"{seconds / size:.1f} {word}"
    return f"{seconds:.0f} s"
