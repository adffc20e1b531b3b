"""The run followed live: readings in, a picture a second out.

One thread does all the following. Feeds hand in readings from threads of their own, and pages
listen in the server's loop; neither waits for the engine.
"""

from __future__ import annotations

import json
import math
import threading
import time as clock
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any, Final, Literal

import numpy as np

from towscope.arrays import Array
from towscope.bed import store as lakes
from towscope.boat.kalman import LOST
from towscope.boat.way import STALE, Way
from towscope.clock import time_s
from towscope.constants import ABOVE_NINE_IN_TEN, HALF_OF_90
from towscope.errors import InputError, NoAnswer, one_line
from towscope.files import home, write_whole
from towscope.geodesy import Globe, LevelFrame
from towscope.live import view
from towscope.live.advice import (
    BARELY,
    MOST_DOUBT,
    Advice,
    as_changes,
    ways_out,
)
from towscope.live.follower import AHEAD, Follower, Seen
from towscope.live.ground import BottomAbout
from towscope.live.lines_out import Out, lines_out
from towscope.live.models import BoatNow, Change, LineNow, Notice, Run, Targets, Unfollowed
from towscope.live.stream import Listeners
from towscope.live.vessel import Vessel
from towscope.live.wake import Wake
from towscope.passes.turn_radius import wide_turn
from towscope.towing.cores import cores
from towscope.towing.lookahead import Boat

if TYPE_CHECKING:
    from towscope.boat.feeds.fusion import Present
    from towscope.boat.feeds.model import FeedReading


EVERY: Final = 1.0  # [s]; between pictures
LAG: Final = 2.0  # [s]; so far back the way is settled: what is known then is kept of the lines
LOOK_AGAIN: Final = 3.0  # [s]; how often the journal is asked for what others have logged
TOO_FAST: Final = 4.0  # [m/s]; lines are in
BOAT_EVERY: Final = 0.15  # [s]; between two words on the boat alone
WAYS_OUT_EVERY: Final = 5.0  # [s]; for all rods together
AGAIN: Final = 2.0  # [s]; no sooner, even where another rod has come into trouble
FORGOTTEN: Final = 15.0  # [s]; older ways out are not shown
BEYOND: Final = 30.0  # [s]; past the hit that a way out is followed
AT_LEAST: Final = 75.0  # [s]; and so far at any rate: a turn, or a lift, shows no sooner
FRESH_DEPTH: Final = 6.0  # [s]
PATH_STEP: Final = 0.5  # [s]
STEADY: Final = 24.0  # [s]
FIRST: Final = 6.0  # [s]; of fixes before a course can be told
JUMP: Final = 3.0  # [m]; by which the way may change where it was already followed
TARGETS: Final = "run.json"


class Live:
    """What follows the boat.

    Parameters
    ----------
    vessel : Vessel
        What the app holds: journal, tackle, lake.
    """

    def __init__(self, vessel: Vessel) -> None:
        self.vessel = vessel
        self.listeners = Listeners()
        self.targets = _saved_targets(vessel.lake)
        self._lock = threading.Condition()
        self._stop = False
        self._thread: threading.Thread | None = None
        self._news: list[FeedReading] = []
        self._advice = Advice()
        self._bed_name: str | None = None
        self._ground = BottomAbout(None)
        self._frame: LevelFrame | None = None
        self._wake = Wake()
        self._begun = -math.inf  # moment from which on the boat's way is one [s]
        self._followers: dict[str, Follower] = {}
        self._hands = ThreadPoolExecutor(cores(), "line")  # the kernels let go of the interpreter
        self._outs: list[Out] = []
        self._why: dict[str, str] = {}
        self._stamp: Any = None
        self._looked = -math.inf
        self._dirty = True
        self._ways_out: _WaysOut | None = None
        self._pressing: _Pressing | None = None
        self._found_first = False
        self._told_boat = -math.inf
        self._count = 0
        self._running: tuple[Run, float] | None = None  # the last picture with lines, and when
        vessel.now.current = _stated(self.targets)
        self.run = Run(
            count=0, state="no fix", boat=BoatNow(at=datetime.fromtimestamp(time_s(), UTC))
        )

    # What others call.

    def start(self) -> None:
        """Begin to follow."""
        self._thread = threading.Thread(target=self._go, name="run", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """Stop, and end all streams."""
        with self._lock:
            self._stop = True
            self._lock.notify_all()
        if self._thread is not None:
            self._thread.join(10.0)
            self._thread = None
        self._hands.shutdown()
        self.listeners.close()

    def take(self, reading: FeedReading) -> None:
        """Take a reading of a feed; from any thread."""
        # Here and not by the engine: where the boat is must not wait for what it works on.
        self._tell_boat(reading)
        with self._lock:
            if len(self._news) < 5000:  # the engine is stuck: the newest would not help it
                self._news.append(reading)
            self._lock.notify_all()

    def journal_changed(self) -> None:
        """Look at the journal again now; from any thread."""
        with self._lock:
            self._dirty = True
            self._lock.notify_all()

    def set_targets(self, targets: Targets) -> Targets:
        """Take what the crew wants of the run, and keep it; a lake not named stays.

        Raises
        ------
        InputError
            Where there is no such lake.
        """
        if "lake" not in targets.model_fields_set:
            targets = targets.model_copy(update={"lake": self.targets.lake})
        if targets.lake and targets.lake not in lakes.names():
            raise InputError(
                f"no lake {one_line(targets.lake, 60)!r}; expected one of: "
                + (", ".join(lakes.names()) or "none saved yet")
            )
        home().mkdir(parents=True, exist_ok=True)
        write_whole(home() / TARGETS, targets.model_dump_json(indent=1).encode() + b"\n")
        with self._lock:
            self.targets = targets
            self.vessel.lake = targets.lake
            self.vessel.now.current = _stated(targets)
            self._dirty = True
            self._lock.notify_all()
        return targets

    @property
    def place(self) -> tuple[float, float] | None:
        """Where the boat is now [degrees]; None where that is not known."""
        boat = self.run.boat
        if boat.lat is None or boat.lon is None or self.run.state in ("no fix", "stale"):
            return None
        return boat.lat, boat.lon

    # The thread.

    def _go(self) -> None:
        due = clock.monotonic()
        while True:
            with self._lock:
                while not self._stop and not self._news and clock.monotonic() < due:
                    self._lock.wait(max(due - clock.monotonic(), 0.01))
                if self._stop:
                    return
                news, self._news = self._news, []
            try:
                for reading in news:
                    self._hear(reading)
                now = clock.monotonic()
                if now >= due:
                    due = max(due + EVERY, now + 0.2 * EVERY)
                    self._tell()
                    if self._found_first:  # what to do about a bottom hit is not kept for a second
                        due = clock.monotonic()
            except Exception as error:  # it must never go silent: it says so, and goes on
                self._fault(error)

    def _fault(self, error: Exception) -> None:
        self._followers.clear()
        self._count += 1
        why = one_line(f"a fault in towscope itself ({type(error).__name__}: {error})")
        self.run = Run(
            count=self._count,
            state="no lines",
            boat=self.run.boat,
            unfollowed=[Unfollowed(rod="", why=f"{why}; the lines are begun anew")],
        )
        self.listeners.tell("run", self.run.model_dump_json().encode())

    def _hear(self, reading: FeedReading) -> None:
        """Keep a sounding where it was heard."""
        if reading.depth is None or reading.depth <= 0.0:
            return
        way = self._way(self.vessel.now.present(reading.heard))
        if way is not None:
            boat = way.boat(way.last)
            self._ground.hear(boat.x, boat.y, reading.depth)

    def _tell_boat(self, reading: FeedReading) -> None:
        if reading.lat is None or reading.heard - self._told_boat < BOAT_EVERY:
            return
        self._told_boat = reading.heard
        boat = self.vessel.now.present(reading.heard)
        told = {"lat": boat.lat, "lon": boat.lon, "time_s": reading.time}
        self.listeners.tell("boat", json.dumps(told).encode())

    def _way(self, present: Present) -> Way | None:
        """Give the boat's way in the lines' own metres; None where no fix tells it."""
        if present.way is None or present.lat is None or present.lon is None:
            return None
        if self._frame is None:
            self._settle_ground(present.lat, present.lon)
        assert self._frame is not None
        if present.way.begun != self._begun:  # after a silence, or a leap
            self._begun = present.way.begun
            self._wake.clear()
        return present.way.into(self._frame)

    def _settle_ground(self, latitude: float, longitude: float) -> None:
        """Choose the frame: the lake's, where one is chosen, else one about the first fix."""
        name = self.targets.lake
        self._bed_name = name
        bed = None
        if name:
            try:
                bed = lakes.load(name)
            except (InputError, NoAnswer) as error:
                self._why["lake"] = one_line(error)
        self._ground = BottomAbout(bed)
        self._frame = bed.place if bed is not None else Globe(latitude, longitude)
        self._wake.clear()
        self._followers.clear()

    def _look_at_journal(self, moment: float) -> None:
        if self._dirty or moment - self._looked > LOOK_AGAIN:
            self._looked = moment
            store = self.vessel.store
            newest = store.latest(limit=1)
            tackle = [
                path.stat().st_mtime_ns if path.exists() else 0
                for path in (home() / "tackle.toml", home() / "calibration.json")
            ]
            stamp = (newest[0].id if newest else "", tackle, len(store.days()), self._dirty)
            changed = stamp != self._stamp
            self._dirty = False
            if not changed:
                return
            self._stamp = (*stamp[:3], False)
            spans = {}
            day = store.last_day()
            if day is not None:
                spans = store.day(day).out()
            lake = self._why.pop("lake", None)
            self._outs, self._why = lines_out(spans, self.vessel.shelf())
            if lake:
                self._why["lake"] = lake
            self.listeners.tell("journal", json.dumps({"day": day}).encode())

    def _tell(self) -> None:
        moment = clock.monotonic()
        self._look_at_journal(moment)
        if self._frame is not None and self._bed_name != self.targets.lake:
            place = self.place or (0.0, 0.0)
            self._settle_ground(*place)
        self._count += 1
        self._pressing, self._found_first = None, False
        self.run = self._view(moment)
        self.listeners.tell("run", self.run.model_dump_json().encode())
        if self._pressing is not None:  # it takes as long again: the picture does not wait for it
            self._work_out(self._pressing, moment)
            self._found_first = not self.run.do

    def _view(self, moment: float) -> Run:
        now = self.vessel.now
        present = now.present(moment)
        way = self._way(present)
        unfollowed = [Unfollowed(rod=rod, why=why) for rod, why in self._why.items()]
        base: dict[str, Any] = {
            "count": self._count,
            "unfollowed": unfollowed,
            "keep_off_bottom_m": self.targets.keep_off_bottom_m,
        }
        if way is None:
            at = BoatNow(at=datetime.fromtimestamp(time_s(), UTC), source=self._source)
            return Run(state="no fix", boat=at, **base)
        age = present.place_age or 0.0
        at_s = way.last if present.moment is None else present.moment
        boat = way.boat(at_s)
        self._wake.remember(boat)
        base["boat"] = self._boat_now(present, boat, at_s)
        if age > STALE:
            return self._as_was(base, moment)
        if way.last - way.begun < FIRST:
            return Run(state="no fix", **base)
        if boat.speed > TOO_FAST:
            self._followers.clear()
            base["bottom"] = view.bottom(self._wake, self._ground, boat, 0.0)
            return Run(state="not towing" if self._outs else "no lines", **base)
        current = _as_layer(present.flow)
        seen = self._follow(way, boat, current, at_s)
        # What to change is told by the speed of the last while: nobody reels for a gust.
        towed_at = now.present(moment, STEADY).speed
        assert towed_at is not None
        lines: list[LineNow] = []
        notices: list[Notice] = []
        for out, each in seen:
            line, notice = view.line(
                out,
                each,
                self._wake,
                way.frame,
                self._ground,
                boat,
                towed_at,
                self.targets.depth_m.get(out.span.rod),
                self._advice,
            )
            lines.append(line)
            if notice is not None:
                notices.append(notice)
        notices.sort(key=lambda each: each.seconds)
        if notices and self._old(notices, moment):  # worked out after the picture is told
            self._pressing = _Pressing(
                notices, {line.rod: line for line in lines}, seen, boat, towed_at, current
            )
        back = view.farthest([each for _, each in seen], boat)
        run = Run(
            state="running" if lines else "no lines",
            bottom=view.bottom(self._wake, self._ground, boat, back),
            lines=lines,
            notices=notices,
            do=self._do(notices, moment),
            wide_turn_m=round(wide_turn(back), 1) if seen else None,
            **base,
        )
        self._running = (run, moment) if lines else None
        return run

    def _as_was(self, base: dict[str, Any], moment: float) -> Run:
        """Give the last picture again, dated: without fixes lines and lures are still out there."""
        if self._running is None:
            return Run(state="stale", **base)
        was, drawn = self._running
        rods = {out.span.rod for out in self._outs}
        gone = moment - drawn
        boat: BoatNow = base["boat"]
        notices = [
            notice.model_copy(update={"seconds": notice.seconds - gone})
            for notice in was.notices
            if notice.rod in rods and notice.seconds > gone
        ]
        return Run(
            state="stale",
            as_of=was.boat.at,
            bottom=was.bottom,
            lines=[line for line in was.lines if line.rod in rods],
            notices=notices,
            do=self._do(notices, moment),
            **base | {"boat": was.boat.model_copy(update={"age_s": boat.age_s})},
        )

    @property
    def _source(self) -> str:
        return "" if self.vessel.feeds is None else self.vessel.feeds.source

    def _boat_now(self, present: Present, boat: Boat, at_s: float) -> BoatNow:
        """Give the boat's state as the picture tells it."""
        assert present.lat is not None and present.lon is not None
        assert present.speed is not None and present.ground_speed is not None
        depth: float | None = None
        said: Literal["sounder", "lake", ""] = ""
        if present.depth_age is not None and present.depth_age <= FRESH_DEPTH:
            depth, said = present.depth, "sounder"
        else:
            under = float(self._ground.depth(np.array([boat.x]), np.array([boat.y]))[0][0])
            if not math.isnan(under):
                depth, said = round(under, 2), "lake"
        return BoatNow(
            at=datetime.fromtimestamp(at_s, UTC),
            lat=round(present.lat, 7),
            lon=round(present.lon, 7),
            course_deg=round(math.degrees(boat.course) % 360.0, 1),
            speed_m_s=round(present.speed, 3),
            speed_is=present.speed_is,
            ground_speed_m_s=round(present.ground_speed, 3),
            depth_m=depth,
            depth_from=said,
            source=self._source,
            age_s=round(present.place_age or 0.0, 1),
        )

    def _follow(
        self, way: Way, boat: Boat, current: Array | None, now: float
    ) -> list[tuple[Out, Seen]]:
        until = max(way.last - LAG, way.begun)
        # A line begins as one long towed at an even pace. The first fixes tell that pace badly
        # (a receiver repeats its last place, a phone jumps), and a lure begun at the wrong depth
        # takes minutes to come to the right one: so it begins anew until the pace is known.
        young = way.last - way.begun < STEADY
        bottom = self._ground.bottom(boat.x, boat.y)

        def one(out: Out) -> tuple[Follower, Seen]:
            follower = self._followers.get(out.span.rod)
            if (
                follower is None
                or young
                or follower.out.same_line != out.same_line
                or follower.time is None
                or not until - LOST <= follower.time <= now
                or follower.time < way.begun
                or follower.off(way.boat(follower.time)) > JUMP
            ):
                follower = Follower(out)
                pace = way.pace(until, STEADY)
                follower.begin(replace(way.boat(until), speed=pace), until, current)
            elif follower.out is not out:
                follower.take(out)
            assert follower.time is not None
            moments = _moments(follower.time, until)
            follower.advance(moments, way.at(moments), current)
            moments = _moments(follower.time, now)
            return follower, follower.look(moments, way.at(moments), boat, current, bottom)

        found = list(self._hands.map(one, self._outs))
        self._followers = {
            out.span.rod: each for out, (each, _) in zip(self._outs, found, strict=True)
        }
        return [(out, look) for out, (_, look) in zip(self._outs, found, strict=True)]

    def _old(self, notices: list[Notice], moment: float) -> bool:
        known = self._ways_out
        if known is None or moment - known.moment > WAYS_OUT_EVERY:
            return True
        if not _touching(notices) <= known.touching:
            return True
        return moment - known.moment > AGAIN and not {n.rod for n in notices} <= known.rods

    def _work_out(self, asked: _Pressing, moment: float) -> None:
        """Find what keeps all lines off the bottom: by as much as is in doubt, else barely."""
        x, y = asked.boat.x, asked.boat.y
        bed, water = self._ground.bottom(x, y), self._ground.water(x, y)
        if bed is None:
            bed, water = self._ground.sounded(x, y), None
        noticed = {notice.rod for notice in asked.notices}
        rods = [out.span.rod for out, _ in asked.seen]
        margins = np.array([_doubt(asked.lines[rod]) if rod in noticed else BARELY for rod in rods])
        last = max(notice.seconds for notice in asked.notices)
        seconds = min(max(last + BEYOND, AT_LEAST), AHEAD)
        seen = [each for _, each in asked.seen]
        found = (
            ways_out(seen, asked.boat, bed, water, margins, seconds, asked.current)
            if bed is not None
            else []
        )
        ways = as_changes(found, rods, [each.let_out for each in seen])
        outs = {out.span.rod: out for out, _ in asked.seen}
        if not ways:  # a bottom known only in places: what the steady engine says over the least
            ways = [
                self._advice.lift(
                    [(outs[rod], asked.lines[rod]) for rod in rods if rod in noticed],
                    asked.towed_at,
                )
            ]
        ways = [
            view.in_colors(way, outs[way.rods[0]]) if len(way.rods) == 1 else way for way in ways
        ]
        self._ways_out = _WaysOut(moment, noticed, _touching(asked.notices), ways)

    def _do(self, notices: list[Notice], moment: float) -> list[Change]:
        """Give what to do about notices, counted down since it was worked out."""
        known = self._ways_out
        if known is None or moment - known.moment > FORGOTTEN:
            return []
        if not known.rods & {notice.rod for notice in notices}:
            return []
        gone = moment - known.moment
        return [
            way.model_copy(
                update={"latest_s": None if way.latest_s is None else max(way.latest_s - gone, 0.0)}
            )
            for way in known.ways
        ]


@dataclass(frozen=True)
class _Pressing:
    """Lines in trouble, and all that is needed to work out what to do."""

    notices: list[Notice]
    lines: dict[str, LineNow]
    seen: list[tuple[Out, Seen]]
    boat: Boat
    towed_at: float
    current: Array | None


@dataclass(frozen=True)
class _WaysOut:
    """What was worked out, when, and for which rods; those that touched then apart."""

    moment: float
    rods: set[str]
    touching: set[str]
    ways: list[Change]


def _touching(notices: list[Notice]) -> set[str]:
    return {notice.rod for notice in notices if notice.seconds <= 0.0}


def _doubt(line: LineNow) -> float:
    """Give the clearance to keep of a line's likeliest path [m]: nine in ten keep it off then."""
    if line.off_bottom_m is None or line.off_bottom_low_m is None:
        return BARELY
    doubt = (line.off_bottom_m - line.off_bottom_low_m) / HALF_OF_90 * ABOVE_NINE_IN_TEN
    return min(max(doubt, BARELY), MOST_DOUBT)


def _moments(begin: float, end: float) -> Array:
    """Moments from one to the other, `PATH_STEP` apart or a little less."""
    count = max(0, math.ceil((end - begin) / PATH_STEP - 1e-6))
    if count == 0:
        return np.array([begin])
    return np.linspace(begin, end, count + 1)


def _stated(targets: Targets) -> tuple[float, float] | None:
    """Give the current that the crew states: to the east and to the north [m/s]."""
    if targets.current_m_s <= 0.0:
        return None
    to = math.radians(targets.current_to_deg)
    return targets.current_m_s * math.sin(to), targets.current_m_s * math.cos(to)


def _as_layer(flow: tuple[float, float]) -> Array | None:
    """Give the water's motion as the engine takes it: one layer; None where it lies still."""
    return np.array([[0.0, *flow]]) if any(flow) else None


def _saved_targets(lake: str) -> Targets:
    """Give what the crew wanted last time; a lake named now counts."""
    try:
        targets = Targets.model_validate_json((home() / TARGETS).read_bytes())
    except (OSError, ValueError):
        targets = Targets()
    return targets.model_copy(update={"lake": lake}) if lake else targets
