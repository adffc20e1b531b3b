"""The run followed live: the same lure path as a replay, touches told before they come, streams."""

import math
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from towscope.bed.bed import LakeBed
from towscope.bed.gridding import Frame
from towscope.boat.clean import clean
from towscope.boat.feeds.model import FeedReading
from towscope.boat.track import Fixes
from towscope.demo.home import Playing, lay_out
from towscope.errors import InputError
from towscope.follow.lure_path import follow
from towscope.geodesy import Globe, Place
from towscope.live import engine
from towscope.live.engine import Live
from towscope.live.ground import BottomAbout
from towscope.live.lines_out import lines_out, mount_of
from towscope.live.models import Run, Targets
from towscope.towing.questions import where_at
from towscope.towing.tow import Setting
from towscope.web.context import AppContext


class Clock:
    """A clock that the test turns."""

    now = 1000.0

    def monotonic(self) -> float:
        return self.now


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    made = Clock()
    monkeypatch.setattr(engine, "clock", made)
    return made


@pytest.fixture
def playing(own_home: Path) -> Playing:
    return lay_out(own_home)


@pytest.fixture
def live(playing: Playing, clock: Clock) -> Iterator[Live]:
    made = Live(AppContext(lake=playing.lake))
    yield made
    made.vessel.close()


def _hear(live: Live, clock: Clock, time: float, lat: float, lon: float, **told: float) -> None:
    """Hand in a fix as a feed does, in a thread's stead."""
    used = live.vessel.now.take(FeedReading(time, lat, lon, heard=clock.now, **told), "cable")
    if used is not None:
        live._hear(used)


def _play(live: Live, playing: Playing, clock: Clock, seconds: int, every: int = 1) -> list[Run]:
    """Hand in a fix a second, in a thread's stead; give a picture every so often."""
    track, seen = playing.track, []
    first = int(np.searchsorted(track.t_s, playing.now_s))
    for k in range(seconds):
        i = first + k
        clock.now = 1000.0 + k
        _hear(live, clock, float(track.t_s[i]), float(track.lat[i]), float(track.lon[i]))
        if k % every == 0:
            live._tell()
            seen.append(live.run)
    return seen


def _only(live: Live, rod: str) -> None:
    """Leave one line out, for time's sake."""
    live._look_at_journal(0.0)
    live._outs = [out for out in live._outs if out.span.rod == rod]
    live._looked, live._dirty = math.inf, False


def test_the_lure_goes_where_a_replay_of_the_track_says(
    live: Live, playing: Playing, clock: Clock
) -> None:
    # Source: `towscope follow` on the same fixes, which sees the whole track at once.
    _only(live, "centre")
    pictures = _play(live, playing, clock, 260, 2)
    track = playing.track
    first = int(np.searchsorted(track.t_s, playing.now_s))
    own = slice(first, first + 260)
    fixes = Fixes(track.t_s[own], track.lat[own], track.lon[own], on_globe=True, dated=True)
    cleaned = clean(fixes)
    out = live._outs[0]
    way = follow(out.tow, cleaned, out.let_out, mount=out.mount[:2], draws=1)
    assert cleaned.globe is not None and cleaned.epoch is not None
    time, lat, lon, depth = (
        np.array([value(run) for run in pictures if run.lines])
        for value in (
            lambda run: run.boat.at.timestamp(),
            lambda run: run.lines[0].lat,
            lambda run: run.lines[0].lon,
            lambda run: run.lines[0].depth_m,
        )
    )
    x, y = cleaned.globe.to_metres(lat, lon)
    at = time - cleaned.epoch
    off = np.hypot(
        x - np.interp(at, way.time, way.lure[:, 0]), y - np.interp(at, way.time, way.lure[:, 1])
    )
    late = at > at[0] + 90.0  # both begin as if the boat had long gone straight
    layback = -pictures[-1].lines[0].along_m
    assert late.sum() > 60
    assert off[late].max() < 0.01 * layback
    deep = np.interp(at, way.time, way.depth)
    assert np.abs(depth / deep - 1.0)[late].max() < 0.01


def test_a_hit_is_told_with_what_to_do(live: Live, playing: Playing, clock: Clock) -> None:
    _only(live, "port")
    pictures = _play(live, playing, clock, 130, 3)
    told = [run.notices[0] for run in pictures if run.notices]
    assert told, "the made-up boat turns towards a rise here"
    first = told[0]
    assert first.rod == "port" and 5.0 < first.seconds <= 120.0
    ways = [way for run in pictures for way in run.do]
    assert ways and {way.kind for way in ways} <= {"reel", "speed", "turn"}
    for run in pictures:
        assert not run.do or run.do[0].kind != "turn", "line or speed first"
    for way in ways:  # nobody at the helm is hurried
        assert (way.latest_s is None) == (way.kind == "turn")
    now = pictures[-1].lines[0]
    for way in ways:
        if way.kind == "reel":  # said as those count who count colours: 10 yd each
            assert way.by_m is not None
            assert way.colors_out is not None
            assert now.colors_out is not None
            assert way.colors_out == pytest.approx(now.colors_out + way.by_m / 9.144, abs=0.02)


def test_with_no_lake_the_sounder_warns_of_what_the_boat_has_passed(
    playing: Playing, clock: Clock
) -> None:
    live = Live(AppContext(lake=""))
    try:
        _only(live, "port")
        first = int(np.searchsorted(playing.track.t_s, playing.now_s))
        globe = Globe(float(playing.track.lat[first]), float(playing.track.lon[first]))
        notices, ways = [], []
        for k in range(96):  # straight north at 1 m/s; from 80 m on the water is 6.5 m deep
            clock.now = 1000.0 + k
            lat, lon = globe.to_globe([0.0], [float(k)])
            depth = 14.0 if k < 80 else 6.5
            _hear(live, clock, playing.now_s + k, float(lat[0]), float(lon[0]), depth=depth)
            if k >= 60 and k % 3 == 0:
                live._tell()
                assert not (k < 80 and live.run.notices)
                notices += live.run.notices
                ways += live.run.do
        # the lure runs some 40 m behind: it is told while there is time, and what to do
        assert notices and notices[0].sure == "will hit bottom"
        assert 20.0 < notices[0].seconds < 60.0
        assert {"reel", "speed"} & {way.kind for way in ways}
        # the sounder knows the wake alone: nothing of the water to either side
        assert "turn" not in {way.kind for way in ways}
    finally:
        live.vessel.close()


def _over(live: Live, clock: Clock, depth: object, seconds: int, every: int = 3) -> list[Run]:
    """Go straight north at 1 m/s over a lake whose bottom is given; a picture every so often."""
    n = 161
    v = -400.0 + 5.0 * np.arange(n)
    x, y = np.meshgrid(v, v)
    deep = np.asarray(depth(x, y), dtype=np.float32)  # type: ignore[operator]
    place = Place(48.4, -91.9)
    bed = LakeBed(
        place, Frame(-400.0, -400.0, 5.0, n, n), deep, np.full((n, n), 0.1, np.float32),
        np.isfinite(deep), {},
    )  # fmt: skip
    live._ground, live._frame = BottomAbout(bed), place
    live._bed_name = live.targets.lake
    seen = []
    for k in range(seconds):
        clock.now = 1000.0 + k
        lat, lon = place.to_globe([0.0], [float(k) - 60.0])
        _hear(live, clock, 1e9 + k, float(lat[0]), float(lon[0]))
        if k >= 8 and k % every == 0:
            live._tell()
            seen.append(live.run)
    return seen


def _rigged(live: Live, out_m: dict[str, float]) -> None:
    """Put the same rig out on some rods, each with so much line."""
    live._look_at_journal(0.0)
    one = live._outs[0]
    live._outs = [
        replace(
            one,
            span=replace(one.span, rod=rod),
            let_out=out,
            mount=mount_of(rod, one.tow.tip),
        )
        for rod, out in out_m.items()
    ]
    live._looked, live._dirty = math.inf, False


def test_a_lure_that_drags_is_lifted_by_line_at_once_and_nothing_else(
    live: Live, clock: Clock
) -> None:
    _rigged(live, {"port": 40.0})
    tow = live._outs[0].tow
    runs_at = where_at(tow, 40.0, Setting(1.0)).depth
    pictures = _over(live, clock, lambda x, y: np.full(np.shape(x), runs_at - 0.8), 44)
    dragging = [run for run in pictures if run.notices and run.notices[0].seconds == 0.0]
    assert len(dragging) > 5
    # the very first picture may still be working it out; after that it is there all the time
    for run in dragging[1:]:
        (way,) = run.do
        assert way.kind == "reel" and way.lifts and way.rods == ["port"]
        assert way.latest_s == 0.0
        assert way.by_m is not None and -25.0 < way.by_m < -1.5
        assert way.let_out_m is not None
        # the steady engine: with that much line it runs clear of the bottom
        assert where_at(tow, way.let_out_m, Setting(1.0)).depth < runs_at - 0.8


def test_one_action_is_for_all_rods_and_was_tried_with_all(live: Live, clock: Clock) -> None:
    _rigged(live, {"port": 36.0, "centre": 40.0, "starboard": 40.0})
    tow = live._outs[0].tow
    deep = where_at(tow, 40.0, Setting(1.0)).depth

    def depth(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return np.where(y > 0.0, deep - 1.2, deep + 6.0)

    pictures = _over(live, clock, depth, 80, 6)
    several = [run for run in pictures if len(run.notices) > 1 and run.do]
    assert several
    for run in several:
        kinds = [way.kind for way in run.do]
        assert len(kinds) == len(set(kinds)), "one of each for the whole boat, not one for each rod"
        for way in run.do:
            if way.kind == "reel":
                assert set(way.rods) <= {"port", "centre", "starboard"} and way.rods


def test_no_turn_is_named_towards_a_shore_that_the_lures_alone_would_clear(
    live: Live, clock: Clock
) -> None:
    """The lures run far behind: they would clear the rise by a turn that the boat can't make."""
    _rigged(live, {"port": 40.0})
    tow = live._outs[0].tow
    deep = where_at(tow, 40.0, Setting(1.0)).depth

    def depth(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        rise = np.where((y > 20.0) & (np.abs(x) < 12.0), deep - 2.0, deep + 6.0)
        return np.where(np.abs(x) > banks, np.nan, rise)

    named = {}
    for banks in (390.0, 28.0):
        live._ways_out = None
        live._followers.clear()
        ways = [way for run in _over(live, clock, depth, 74, 6) for way in run.do]
        assert "reel" in {way.kind for way in ways}
        named[banks] = {way.turn_deg for way in ways if way.kind == "turn"}
    assert named[390.0], "with open water to both sides there is a turn"
    assert not named[28.0]


def test_a_line_begins_at_the_depth_of_the_boats_pace_not_of_its_first_fixes(
    live: Live, playing: Playing, clock: Clock
) -> None:
    _only(live, "port")
    tow, out = live._outs[0].tow, live._outs[0].let_out
    steady = where_at(tow, out, Setting(0.9)).depth
    globe = Globe(48.4, -91.9)
    seen = {}
    for k in range(40):  # the receiver repeats its last place for four seconds, then tells the way
        clock.now = 1000.0 + k
        lat, lon = globe.to_globe([0.0], [0.9 * max(k, 4)])
        _hear(live, clock, 1e9 + k, float(lat[0]), float(lon[0]))
        if k >= 6 and k % 2 == 0:
            live._tell()
            if k >= 12:
                seen[k] = live.run.lines[0].depth_m
    assert len(seen) == 14
    for k, depth in seen.items():
        assert depth == pytest.approx(steady, rel=0.06), f"after {k} s"


def test_one_change_brings_it_to_the_wanted_depth(
    live: Live, playing: Playing, clock: Clock
) -> None:
    _only(live, "port")
    live.targets = live.targets.model_copy(update={"depth_m": {"port": 6.0}})
    run = _play(live, playing, clock, 30, 10)[-1]
    line = run.lines[0]
    assert line.change is not None and line.change.kind == "reel"
    assert line.change.let_out_m is not None and line.change.by_m is not None
    assert line.change.let_out_m == pytest.approx(line.let_out_m + line.change.by_m)
    # the steady engine, asked the other way round, at a speed that it was told to the grain
    reached = where_at(live._outs[0].tow, line.change.let_out_m, Setting(0.9)).depth
    assert reached == pytest.approx(6.0, abs=0.8)


def test_a_line_far_out_is_followed_round_a_hard_turn_and_while_the_boat_lies_still(
    live: Live, playing: Playing, clock: Clock
) -> None:
    _only(live, "port")
    live._outs = [replace(out, mount=mount_of("port outer", out.tow.tip)) for out in live._outs]
    # a minute straight on at 1 m/s, twice round on 6 m, then drifting with the engine off
    first = int(np.searchsorted(playing.track.t_s, playing.now_s))
    time = np.arange(220.0)
    going = np.where(time < 160.0, 1.0, 0.02)
    course = np.cumsum(np.where((time >= 60.0) & (time < 135.0), going / 6.0, 0.0))
    rng = np.random.default_rng(7)
    x, y = (np.cumsum(going * way(course)) + rng.normal(0.0, 0.3, 220) for way in (np.sin, np.cos))
    globe = Globe(float(playing.track.lat[first]), float(playing.track.lon[first]))
    lat, lon = globe.to_globe(x, y)
    courses = []
    for k in range(220):
        clock.now = 1000.0 + k
        _hear(live, clock, playing.now_s + k, float(lat[k]), float(lon[k]))
        if k >= 10 and k % 3 == 0:
            live._tell()
            run = live.run
            assert (run.state, run.unfollowed) == ("running", []), f"after {k} s"
            assert run.lines[0].ahead.depth_m
            assert run.boat.course_deg is not None
            courses.append((k, run.boat.course_deg))
    # Lying still the boat keeps heading as it did: its rods do not swing about with the scatter.
    still = [deg for k, deg in courses if k > 190]
    assert max(abs((deg - still[0] + 180.0) % 360.0 - 180.0) for deg in still) < 45.0


def test_silence_is_said_and_a_run_home_is_not_towing(
    live: Live, playing: Playing, clock: Clock
) -> None:
    _only(live, "port")
    assert live._view(clock.now).state == "no fix"
    _play(live, playing, clock, 12, 4)
    clock.now += 5.0
    assert live._view(clock.now).state == "running"
    clock.now += 5.0
    stale = live._view(clock.now)
    assert stale.state == "stale"
    assert stale.boat.age_s == pytest.approx(10.0, abs=0.2)
    start = clock.now
    for k in range(20):  # a new start, at ten miles per hour
        clock.now = start + 30.0 + k
        _hear(live, clock, 2e9 + k, 48.40 + k * 4e-5, -91.9)
    assert live._view(clock.now).state == "not towing"


def test_lines_that_cannot_be_followed_are_named(live: Live) -> None:
    live._look_at_journal(0.0)
    spans = {out.span.rod: out.span for out in live._outs}
    port = next(iter(spans.values()))
    from dataclasses import replace

    odd = {
        "a": replace(port, rod="a", rig=""),
        "b": replace(port, rod="b", let_out_m=None),
        "c": replace(port, rod="c", rig="no-such"),
        "d": replace(port, rod="d", let_out_m=900.0),
    }
    lines, why = lines_out({**spans, **odd}, live.vessel.shelf())
    assert {line.span.rod for line in lines} == set(spans)
    assert set(why) == set(odd)
    assert "no-such" in why["c"] and "900" in why["d"]


def test_targets_are_kept_and_an_unknown_lake_is_named(live: Live, own_home: Path) -> None:
    wanted = Targets(depth_m={"port": 8.0}, keep_off_bottom_m=1.5, lake="Long Slate")
    live.set_targets(wanted)
    assert Live(AppContext()).targets == wanted
    assert live.set_targets(Targets(keep_off_bottom_m=2.0)).lake == "Long Slate"
    with pytest.raises(InputError, match="Nowhere"):
        live.set_targets(Targets(lake="Nowhere"))
