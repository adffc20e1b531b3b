"""A day to look at: Ada and Tor on the invented lake Long Slate in August, made up by rule.

The same seed gives the same day, ids and all, so that taking it in twice changes nothing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cache
from typing import Any, Final
from zoneinfo import ZoneInfo

import numpy as np

from towscope.constants import FOOT, INCH
from towscope.demo.long_slate import PLACE, true_depth
from towscope.journal.events import AnyEvent, read_event
from towscope.journal.ids import join_id
from towscope.journal.track import LoggedTrack, make_track

ZONE: Final = "America/Chicago"
DEVICE: Final = "long-slate-demo"
FIRST: Final = date(2026, 8, 14)

# Long Slate's own metres: the ramp, and two edges where the bottom falls past 10 m.
_RAMP: Final = (40.0, -300.0)
_WEST: Final = (
    (-1190.0, 158.0),
    (-1080.0, 172.0),
    (-990.0, 250.0),
    (-890.0, 312.0),
    (-790.0, 296.0),
    (-690.0, 266.0),
    (-590.0, 240.0),
    (-500.0, 246.0),
)
_EAST: Final = (
    (620.0, -130.0),
    (700.0, -84.0),
    (800.0, -97.0),
    (900.0, -102.0),
    (1000.0, -98.0),
    (1100.0, -120.0),
    (1200.0, -138.0),
    (1290.0, -164.0),
)

# What is on each rod, in order: lure, body, size [in], colour, line out [ft].
_BOX: Final = {
    "dark": ("small-minnow", "minnow", 2.0, "black-gold", 150.0),
    "perch": ("small-minnow", "minnow", 2.0, "perch", 165.0),
    "large": ("large-minnow", "minnow", 4.0, "perch", 150.0),
    "spoon": ("small-spoon", "spoon", 2.25, "silver", 140.0),
    "shad": ("medium-shad", "shad", 2.25, "purple", 120.0),
}
# Fish for each rod-hour in good light: the truth that the day was made from.
_RATE: Final = {"dark": 2.6, "perch": 1.8, "large": 0.6, "spoon": 0.9, "shad": 1.0}


@dataclass(frozen=True)
class DemoDay:
    """One made-up day: its entries and the boat's track."""

    day: date
    events: tuple[AnyEvent, ...]
    track: LoggedTrack


@cache
def demo_day(day: date = FIRST, seed: int = 1) -> DemoDay:
    """Make up a day.

    Parameters
    ----------
    day : date
        Its date.
    seed : int
        Another seed gives another day.

    Returns
    -------
    DemoDay
        Some thirty entries and four hours of track, once a second.

    Examples
    --------
    >>> made = demo_day()
    >>> made.events[0].kind, len(made.track) > 12_000
    ('conditions', True)
    >>> {event.kind for event in made.events} >= {"line_out", "catch", "bottom_hit", "undo"}
    True
    """
    rng = np.random.default_rng([seed, day.toordinal()])
    start = datetime(day.year, day.month, day.day, 6, 20, tzinfo=ZoneInfo(ZONE))
    track, legs = _track(rng, start)
    return DemoDay(day, tuple(_Log(rng, start, track, legs).write()), track)


def _track(
    rng: np.random.Generator, start: datetime
) -> tuple[LoggedTrack, list[tuple[float, float]]]:
    """Run out, troll an edge to and fro, run to another, troll it, run home."""
    x, y, speeds = [_RAMP[0]], [_RAMP[1]], [0.0]
    legs: list[tuple[float, float]] = []

    def go(target: tuple[float, float], speed: float) -> None:
        while True:
            dx, dy = target[0] - x[-1], target[1] - y[-1]
            far = math.hypot(dx, dy)
            if far < (25.0 if speed < 2 else 70.0):  # nearer, it could only be circled
                return
            wanted = math.atan2(dy, dx)
            held = math.atan2(y[-1] - y[-2], x[-1] - x[-2]) if len(x) > 1 else wanted
            turn = (wanted - held + math.pi) % (2 * math.pi) - math.pi
            limit = speed / (22.0 if speed < 2 else 60.0)  # the turning circle, line out or not
            heading = held + max(-limit, min(limit, turn))
            v = min(speeds[-1] + 0.15, max(speeds[-1] - 0.2, speed)) + rng.normal(0, 0.004)
            speeds.append(max(v, 0.0))
            x.append(x[-1] + speeds[-1] * math.cos(heading))
            y.append(y[-1] + speeds[-1] * math.sin(heading))

    def troll(spots: list[tuple[float, float]], speed: float) -> None:
        first = len(x)
        for i, spot in enumerate(spots):
            go(spot, speed * (1 + 0.06 * (i % 3 - 1)))
        legs.append((float(first), float(len(x))))

    go((0.0, -40.0), 9.0)
    go((-760.0, -60.0), 9.0)
    go((-1040.0, -10.0), 4.0)
    troll(_passes(_WEST, 7, rng), 0.83)
    go((-100.0, 90.0), 9.0)
    go((380.0, 110.0), 9.0)
    go((560.0, 30.0), 4.0)
    troll(_passes(_EAST, 7, rng), 0.85)
    go((700.0, 60.0), 9.0)
    go((200.0, 0.0), 9.0)
    go(_RAMP, 4.0)
    n = len(x)
    drift = np.zeros((2, n))
    for i in range(1, n):  # a receiver wanders by a metre or so over minutes
        drift[:, i] = 0.99 * drift[:, i - 1] + rng.normal(0, 0.12, 2)
    px, py = np.array(x) + drift[0], np.array(y) + drift[1]
    lat, lon = PLACE.to_globe(px, py)
    t = start.timestamp() + np.arange(n, dtype=float)
    depth = true_depth(px, py) + rng.normal(0, 0.05, n)
    temp = 22.4 + 0.9 * np.arange(n) / n + rng.normal(0, 0.03, n)
    measured = np.maximum(np.array(speeds) + rng.normal(0, 0.03, n), 0.0)
    return make_track(np.round(t, 3), lat, lon, measured, np.maximum(depth, 0.8), temp), legs


def _passes(
    edge: tuple[tuple[float, float], ...], count: int, rng: np.random.Generator
) -> list[tuple[float, float]]:
    """Give the points of so many passes to and fro along an edge, none quite like the last."""
    points: list[tuple[float, float]] = []
    for number in range(count):
        out = float(rng.normal(0, 9))
        leg = [(x, y + out + float(rng.normal(0, 4))) for x, y in edge]
        points.extend(leg if number % 2 == 0 else leg[-2::-1])
    return points


class _Log:
    """Writes the day's entries as the crew would have."""

    def __init__(
        self,
        rng: np.random.Generator,
        start: datetime,
        track: LoggedTrack,
        legs: list[tuple[float, float]],
    ) -> None:
        self.rng, self.start, self.track, self.legs = rng, start, track, legs
        self.events: list[AnyEvent] = []
        self.number = 0

    def add(self, second: float, kind: str, **told: Any) -> AnyEvent:
        at = self.start + timedelta(seconds=round(second))
        at = at.astimezone(ZoneInfo(ZONE))
        self.number += 1
        chance = int(self.rng.integers(0, 1 << 62)) + (self.number << 62)
        name = join_id(int(at.timestamp() * 1000) + 9000, chance & ((1 << 74) - 1))
        i = min(int(second), len(self.track) - 1)
        event = read_event(
            {
                "id": name,
                "device": DEVICE,
                "kind": kind,
                "at": at.isoformat(),
                "zone": ZONE,
                "lat": round(float(self.track.lat[i]), 6),
                "lon": round(float(self.track.lon[i]), 6),
                **{key: value for key, value in told.items() if value is not None},
            }
        )
        self.events.append(event)
        return event

    def line(self, second: float, kind: str, rod: str, key: str) -> None:
        lure, body, size, colour, out = _BOX[key]
        self.add(
            second,
            kind,
            rod=rod,
            rig="demo",
            lure=lure,
            body=body,
            size_m=round(size * INCH, 5),
            colour=colour,
            let_out_m=round(out * FOOT, 3),
        )

    def write(self) -> list[AnyEvent]:
        (a0, a1), (b0, b1) = self.legs
        self.add(a0 - 60, "conditions", sky="sunny", wind_m_s=2.2, wind_from="SW")
        self.add(a0 - 30, "conditions", surface_temp_c=22.4, clarity_m=3.2)
        half = (a0 + a1) / 2
        plan = [
            ("port", a0 + 60, half, "dark"),
            ("port", half, a1 - 90, "large"),
            ("starboard", a0 + 150, a1 - 60, "perch"),
            ("centre", a0 + 260, a1 - 30, "spoon"),
            ("port", b0 + 60, b1 - 90, "dark"),
            ("starboard", b0 + 150, (b0 + b1) / 2, "shad"),
            ("starboard", (b0 + b1) / 2, b1 - 60, "perch"),
            ("centre", b0 + 240, b1 - 30, "dark"),
        ]
        clouds = b0 + 0.45 * (b1 - b0)
        before = ""
        for rod, low, high, key in plan:
            changed = before == rod and low in (half, (b0 + b1) / 2)
            self.line(low, "line_change" if changed else "line_out", rod, key)
            self.fish(rod, low + 90, high - 60, key, clouds)
            if high not in (half, (b0 + b1) / 2):
                self.add(high, "line_in", rod=rod)
            before = rod
        self.add(clouds, "conditions", sky="cloudy")
        self.add(clouds + 120, "note", text="Swallows low over the west shore; the bite woke up.")
        self.add((a0 + a1) / 2 - 700, "sonar_mark", depth_m=9.1, count=4)
        for wanted in (a0 + 0.3 * (a1 - a0), b0 + 0.75 * (b1 - b0)):
            second = self.shoal(wanted)
            depth = float(self.track.depth_m[int(second)])
            self.add(second, "bottom_hit", rod="starboard", depth_m=round(depth, 2))
        wrong = self.add(b0 + 900, "strike_missed", rod="starboard")
        self.add(b0 + 915, "undo", target=wrong.id)
        fish = [e for e in self.events if e.kind == "catch"]
        if fish:
            first = fish[0]
            length = round(float(getattr(first, "length_m", 0.5)) + 0.0127, 4)
            self.add(
                first.at_s - self.start.timestamp() + 240,
                "correct",
                target=first.id,
                changes={"length_m": length},
            )
        return sorted(self.events, key=lambda e: e.id)

    def shoal(self, wanted: float) -> float:
        """Find when the lure, a minute behind, came over ground as deep as it ran."""
        low = int(wanted) - 700
        behind = self.track.depth_m[low - 60 : low + 1340]
        return float(low + int(np.argmin(np.abs(behind - 9.9))))

    def fish(self, rod: str, low: float, high: float, key: str, clouds: float) -> None:
        second = low
        while True:
            second += float(self.rng.exponential(3600.0 / _RATE[key]))
            if second < clouds and self.rng.random() < 0.35:  # they bite better under cloud
                continue
            if second > high:
                return
            if self.rng.random() < 0.22:
                self.add(second, "strike_missed", rod=rod)
                continue
            perch = self.rng.random() < 0.12
            length = float(self.rng.normal(0.24, 0.03) if perch else self.rng.normal(0.47, 0.07))
            self.add(
                second,
                "catch",
                rod=rod,
                who="Ada" if rod == "port" else "Tor",
                species="yellow perch" if perch else "walleye",
                length_m=round(min(max(length, 0.18), 0.74), 3),
                kept=bool(0.36 < length < 0.5),
                hook="mouth" if self.rng.random() < 0.2 else "lip",
            )
            second += 120
