"""The boat's state by one filter of its best feed's fixes: where is it, how fast, over what water.

What any screen, answer or record says of the boat now is a `Present`, made here and nowhere else.
"""

from __future__ import annotations

import math
import statistics
import threading
import time
from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from towscope.boat.feeds.choice import Choice, ChosenFigure, Key
from towscope.boat.feeds.model import FeedReading
from towscope.boat.kalman import LOST, Steady
from towscope.boat.water import FRESH, GROUND, SENSOR, WaterMotion
from towscope.boat.way import SPEED_OVER, Way
from towscope.clock import time_s

STUCK: Final = 10.0  # [s] of no speed through the water while the boat goes: the sensor is fouled
THINNEST: Final = 0.18  # [s]; the way is smoothed no more often than the boat can have changed it
SETTLED: Final = 6.0  # [s] of fixes before a speed over ground is known well
KNOWN: Final = 5.0  # [m/s]; standard error of a speed by which anything is said
SLOW: Final = 0.15  # [m/s]; a speed said without a course leads nowhere below it
MOVING, STILL = 0.5, 0.05  # [m/s] over ground; through water
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
    ground_speed : float
        Speed over ground [m/s].
    speed : float
        Speed that the lines are towed at, as `Present` says it [m/s].
    depth : float or None
        Depth of the water [m].
    """

    time: float
    heard: float
    lat: float
    lon: float
    ground_speed: float
    speed: float
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
        Place, straight on from the last fix for some seconds [degrees]; age of that fix [s].
    course, ground_speed : float or None
        Over ground, by the fixes of the last seconds [rad from true north, m/s].
    water_speed, water_speed_age : float or None
        Through the water by the sensor [m/s], and its age [s].
    speed, speed_is : float or None, str
        The speed that the lines are towed at [m/s]; and what it is: "through water", "over
        ground" or "over ground, current taken off".
    flow : tuple of float
        Speed of the water to the east and to the north, by which it is so [m/s].
    way : Way or None
        The way of the last while, that place, course and speed are taken from.
    moment : float or None
        Now by the way's clock, no farther on than it is believed [s].
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
    speed_is: str = GROUND
    flow: tuple[float, float] = (0.0, 0.0)
    way: Way | None = field(default=None, repr=False, compare=False)
    moment: float | None = None
    depth: float | None = None
    depth_age: float | None = None
    water_temp: float | None = None
    water_temp_age: float | None = None
    feed: str = ""
    source: str = ""
    depth_feed: str = ""
    water_feed: str = ""
    notes: tuple[str, ...] = ()


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
    ...     fix = FeedReading(1.8e9 + second, lat=lat, lon=-91.9, heard=float(second))
    ...     used = now.take(fix, "cable")
    >>> present = now.present(20.0)
    >>> round(present.speed, 1), present.speed_is
    (1.1, 'over ground, current taken off')
    """

    def __init__(self, order: Sequence[str] = ()) -> None:
        self.order = list(order)
        self.dropped = 0
        self._lock = threading.RLock()
        self._steady = Steady()
        self._place = Choice(self.order)
        self._times: dict[Key, float] = {}  # of each source's last fix
        self._owner: Key | None = None  # whose fixes the steady picture is made of
        self._depth, self._sensor, self._warmth = (
            ChosenFigure(Choice(self.order)) for _ in range(3)
        )
        self._water = WaterMotion()
        self._known_way: Way | None = None  # the way as far as it was last asked for
        self._heard = -math.inf  # when the last fix came
        self._early = 0
        self._shift = 0.0  # added to the times of the source in use [s]
        self._said: dict[str, tuple[float, float, float]] = {}  # course, speed: value, time, heard
        self._clock: deque[float] = deque(maxlen=15)
        self._still_since: float | None = None
        self._trail: deque[Point] = deque()

    @property
    def current(self) -> tuple[float, float] | None:
        """Speed of the water to the east and to the north, as the crew states it [m/s]."""
        return self._water.current

    @current.setter
    def current(self, stated: tuple[float, float] | None) -> None:
        with self._lock:
            self._water.current = stated

    @property
    def feed(self) -> str:
        """Name of the feed that says where the boat is; "" where none has yet."""
        return "" if self._owner is None else self._owner[0]

    @property
    def refused(self) -> int:
        """Fixes that were not believed, as no boat leaps so."""
        return self._steady.refused

    def take(self, reading: FeedReading, feed: str = "") -> FeedReading | None:
        """Take a reading; give what of it is used.

        Parameters
        ----------
        reading : FeedReading
            What a feed said.
        feed : str
            The feed's name.

        Returns
        -------
        FeedReading or None
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
            return FeedReading(
                reading.time + self._even(key[0]),
                heard=reading.heard,
                source=reading.source,
                **used,
            )

    def _even(self, feed: str) -> float:
        """Give what is added to a feed's times, so that they go on evenly [s]."""
        return self._shift if self._owner is not None and feed == self._owner[0] else 0.0

    def _take_fix(self, key: Key, reading: FeedReading, lat: float, lon: float) -> bool:
        """Take a fix of the source in use; say whether it is new and believed."""
        last = self._steady.newest
        if key != self._owner:
            self._hand_over(key, reading)
            last = self._steady.newest
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
        self._renew()
        self._heard = reading.heard
        own = reading.time - self._shift
        self._clock.append(own - (time_s() - (time.monotonic() - reading.heard)))
        self._doppler(reading, reading.course, reading.ground_speed)
        self._note(reading)
        return True

    def _hand_over(self, key: Key, reading: FeedReading) -> None:
        """Let another source say the place: its clock may differ by anything."""
        last = self._steady.newest
        if self._owner is not None and last is not None:
            expected = last + (reading.heard - self._heard)
            off = expected - reading.time
            self._shift = off if EVEN < abs(off) < UNEVEN else 0.0
            if not 0.0 < reading.time + self._shift - last < LOST:
                self._anew()
        self._owner, self._early = key, 0
        self._clock.clear()
        self._said.clear()

    def _take_motion(self, key: Key, reading: FeedReading) -> None:
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

    def _doppler(self, reading: FeedReading, course: float | None, speed: float | None) -> None:
        if speed is None or self._steady.time is None:
            return
        if course is None:
            if speed > SLOW:
                return  # a speed alone says nothing of where it leads; places tell
            course = 0.0
        if abs(reading.time - self._steady.time) <= AHEAD:
            self._steady.doppler(min(reading.time, self._steady.time), speed, course)
            self._renew()

    def _take_water(self, key: Key, speed: float, heard: float) -> bool:
        """Take a speed through the water; say whether it is used."""
        if not self._sensor.take_eased(key, speed, heard):
            return False
        steady = self._steady
        if speed < STILL and steady.speed > MOVING and steady.doubt < 0.3:
            self._still_since = heard if self._still_since is None else self._still_since
        else:
            self._still_since = None
        if self._fouled(heard):
            self._water.forget()
            return False
        way = self._way()
        # by the first fixes the speed over ground is not known well enough to compare it with
        if way is not None and way.last - way.begun >= SETTLED:
            ground = way.boat(self._moment(way, heard)).speed
            self._water.hear(speed, ground, heard)
        return True

    def _fouled(self, now: float) -> bool:
        """Tell whether the sensor of speed through the water does not turn though the boat goes."""
        since = self._still_since
        return (
            since is not None
            and self._sensor.heard - since >= STUCK
            and now - self._sensor.heard <= FRESH
        )

    def _anew(self) -> None:
        refused = self._steady.refused
        self._steady = Steady()
        self._steady.refused = refused
        self._known_way = None

    def _renew(self) -> None:
        """Let go of the way that was smoothed, unless it is from a moment ago: talk at 20 Hz."""
        known, time_of_fix = self._known_way, self._steady.time
        if known is None or time_of_fix is None:
            return
        if known.begun != self._steady.begun or not 0.0 < time_of_fix - known.last < THINNEST:
            self._known_way = None

    def _moment(self, way: Way, now: float) -> float:
        """Give the moment by the feed's clock, as far on as the way is believed [s]."""
        newer = 0.0 if self._steady.time is None else self._steady.time - way.last
        return way.after(max(now - self._heard, 0.0) + newer)

    def _way(self) -> Way | None:
        """Give the way of the last while; None where nothing is known of it yet."""
        if self._known_way is None and self._steady.doubt < KNOWN:
            self._known_way = self._steady.way()
        return self._known_way

    def _note(self, reading: FeedReading) -> None:
        """Keep the way gone."""
        if self._trail and 0.0 <= reading.time - self._trail[-1].time < TRAIL_STEP:
            return
        now = self.present(reading.heard)
        if now.lat is None or now.lon is None or now.ground_speed is None or now.speed is None:
            return
        deep = now.depth if now.depth_age is not None and now.depth_age <= FRESH else None
        self._trail.append(
            Point(reading.time, reading.heard, now.lat, now.lon, now.ground_speed, now.speed, deep)
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

    def present(self, now: float | None = None, over: float = SPEED_OVER) -> Present:
        """Give the boat's present.

        Parameters
        ----------
        now : float, optional
            The moment, `time.monotonic` [s]; now if left out.
        over : float
            Over how long its speed is averaged [s].
        """
        with self._lock:
            clock_now = time.monotonic()
            now = clock_now if now is None else now
            way = self._way() if self._owner is not None else None
            notes: list[str] = []
            fouled = self._fouled(now)
            if fouled:
                notes.append(
                    "the water-speed sensor reads 0 while the boat moves, so it is left out; "
                    "weed on it?"
                )
            clock = statistics.median(self._clock) if self._clock else None
            if clock is not None and abs(clock) > SPOKEN:
                side = "ahead of" if clock > 0 else "behind"
                notes.append(f"the feed's clock is {_span(abs(clock))} {side} this machine's")
            time_of_fix = self._steady.time
            owner = self._owner or ("", "")
            present = Present(
                at=time_s() + (now - clock_now),
                time=None if time_of_fix is None else time_of_fix - self._shift,
                clock=clock,
                place_age=None if time_of_fix is None else max(now - self._heard, 0.0),
                water_speed=self._sensor.value,
                water_speed_age=self._sensor.age(now),
                depth=self._depth.value,
                depth_age=self._depth.age(now),
                water_temp=self._warmth.value,
                water_temp_age=self._warmth.age(now),
                feed=owner[0],
                source=owner[1],
                depth_feed=_feed_of(self._depth),
                water_feed=_feed_of(self._sensor),
                notes=tuple(notes),
            )
            return self._moving(present, way, now, over, fouled=fouled)

    def _moving(
        self, present: Present, way: Way | None, now: float, over: float, *, fouled: bool
    ) -> Present:
        """Add where the boat is, how it goes, and how the lines are towed."""
        age = present.water_speed_age
        sensed = age is not None and age <= FRESH and not fouled
        if way is None:  # a sensor alone tells how the lines are towed
            place = self._steady.place() or (None, None)
            present = replace(present, lat=place[0], lon=place[1])
            if sensed:
                return replace(present, speed=present.water_speed, speed_is=SENSOR)
            return present
        moment = self._moment(way, now)
        boat = way.boat(moment, over)
        lat, lon = way.frame.to_globe(boat.x, boat.y)
        towed = self._water.towed(boat.speed, boat.course, now)
        speed, said = towed.speed, towed.said
        if sensed and said != SENSOR and present.water_speed is not None:
            # too young a way to compare the sensor with
            speed, said = present.water_speed, SENSOR
        return replace(
            present,
            lat=float(lat),
            lon=float(lon),
            course=boat.course % (2.0 * math.pi) if way.steered else None,
            ground_speed=boat.speed,
            speed=speed,
            speed_is=said,
            flow=towed.flow,
            way=way,
            moment=moment,
        )


def _feed_of(figure: ChosenFigure) -> str:
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
