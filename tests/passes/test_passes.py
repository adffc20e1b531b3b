"""Passes: the lure on an analytic edge, ways round, risk against known cases, and the files."""

from __future__ import annotations

import itertools
import json
import math
from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest

from gpx_schema import hold_against_schema
from towscope.bed import store
from towscope.bed.bed import LakeBed
from towscope.bed.edges import edges
from towscope.bed.gridding import Frame
from towscope.cli import run
from towscope.constants import HALF_OF_90
from towscope.errors import InputError, NoAnswer
from towscope.geodesy import Place
from towscope.passes import bottom_risk, turns
from towscope.passes import passes as planner
from towscope.passes.candidates import Wind, choose
from towscope.passes.figures import figures
from towscope.passes.files import few, to_geojson, to_gpx
from towscope.passes.let_out_schedule import CHANGE, DEEPER, steps
from towscope.passes.marks import marks
from towscope.passes.safe_water import ROOM, over_water, sailable
from towscope.passes.steering import Steps
from towscope.tackle.shelf import stock
from towscope.towing.questions import depths_by_let_out
from towscope.towing.tow import Setting
from towscope.units import US

SPEED = 0.894
PLACE = Place(48.0, -92.0)
CLEARANCE = 2.0
RADIUS = 200.0


def lake(truth, half=330.0, cell=4.0, sd=0.1) -> LakeBed:
    n = int(2 * half / cell) + 1
    v = -half + cell * np.arange(n)
    x, y = np.meshgrid(v, v)
    return LakeBed(
        PLACE, Frame(-half, -half, cell, n, n), truth(x, y).astype(np.float32),
        np.full((n, n), sd, np.float32), np.ones((n, n), bool), {"between_runs_m": 30.0},
    )  # fmt: skip


def step(off):
    """Give the depth across a step edge: 8 m, falling to 16 m; 12 m on the edge itself."""
    return 12.0 + 4.0 * np.tanh(np.asarray(off) / 12.0)


def off_straight(x, y):
    return np.asarray(y, float)


def off_arc(x, y):
    return RADIUS - np.hypot(x, np.asarray(y, float) + 60.0)


@pytest.fixture(scope="module")
def tow():
    return stock().tow("demo")


def planned(off, tow, **wishes):
    bed = lake(lambda x, y: step(off(x, y)))
    stretches = choose(edges(bed, 12.0), Wind(270.0, 3.0), SPEED, radius=60.0, most=1)
    asked = planner.Wishes(CLEARANCE, SPEED, **{"draws": 20, **wishes})
    found, _ = planner.plan(bed, tow, stretches, asked)
    return bed, found, asked


@pytest.fixture(scope="module")
def straight(tow):
    return planned(off_straight, tow)


@pytest.fixture(scope="module")
def arc(tow):
    return planned(off_arc, tow)


# -- the main job ------------------------------------------------------------------------------


@pytest.mark.parametrize(("case", "off"), [("straight", off_straight), ("arc", off_arc)])
def test_the_lure_follows_the_analytic_step_edge(case, off, request):
    # the edge and the bottom are known in closed form: no bed, contour or smoothing of ours
    _, found, _ = request.getfixturevalue(case)
    (one,) = found
    lure = one.trial.passage.lure[0][one.on_stretch]
    assert one.trial.way.line.length > 400.0
    away = off(lure[:, 0], lure[:, 1])
    assert np.abs(away).max() < 2.0
    height = step(away) + lure[:, 2]
    assert np.abs(height - CLEARANCE).max() < 0.3
    assert one.within == 1.0


def test_the_boat_itself_would_miss_the_edge(arc):
    # it swings wide: a path along the edge would put the lure inside it
    _, ((one),), _ = arc
    boat = one.trial.path[:, :2]
    assert np.abs(off_arc(boat[:, 0], boat[:, 1])).max() > 2.0
    assert one.trial.way.tightest > planner.ROOM  # and is steerable


def test_line_is_round_and_seldom_changed(straight, arc):
    for _, (one,), asked in (straight, arc):
        grains = one.trial.way.out.value / asked.grain
        assert np.abs(grains - np.rint(grains)).max() < 1e-9
        assert one.trial.way.out.changes <= 2


def test_the_line_follows_an_edge_that_grows_deeper(tow):
    # the bed below the line falls by 1.5 m in 300 m: with one let-out half of it would be lost
    bed = lake(lambda x, y: step(y) - np.clip(x, -150.0, 150.0) / 200.0)
    (one,) = choose(edges(bed, 12.0), Wind(90.0, 3.0), SPEED, radius=60.0, most=1)
    x = np.arange(200.0, -200.0, -2.0)
    one = replace(one, x=x, y=0.0 * x)
    ((found,), _) = planner.plan(bed, tow, [one], planner.Wishes(CLEARANCE, SPEED, draws=10))
    assert found.trial.way.out.changes >= 2
    low, high = found.heights
    # seldom and in round steps: a third of a metre is kept, but not much less
    assert abs(low - CLEARANCE) < 0.4
    assert abs(high - CLEARANCE) < 0.4
    assert found.depths[1] - found.depths[0] > 1.0


def test_steps_are_the_cheapest_of_all_courses():
    # against trying every course of levels, one by one
    rng = np.random.default_rng(4)
    for _ in range(5):
        ideal = np.cumsum(rng.normal(0.0, 1.0, 6)) + 10.0
        levels = np.arange(math.floor(ideal.min()), math.ceil(ideal.max()) + 1.0)

        def cost(course, ideal=ideal):
            over = np.asarray(course) - ideal
            off = (over * np.where(over > 0.0, DEEPER, 1.0)) ** 2
            return off.sum() + CHANGE * np.count_nonzero(np.diff(course))

        best = min(itertools.product(levels, repeat=6), key=cost)
        at = 100.0 * np.arange(6.0)
        found = steps(at, ideal, 1.0, 1.0, 50.0, np.ones(6)).on(at)
        assert cost(found) == pytest.approx(cost(best))


def test_shortest_line_and_most_line_are_kept(tow):
    with pytest.raises(NoAnswer, match="may be out"):
        planned(off_straight, tow, most_out=40.0)


# -- the way round -----------------------------------------------------------------------------


def test_ways_round_end_where_they_should_and_are_the_shortest():
    # Dubins (1957): with room for a straight, CSC; side by side within 4 radii, three circles
    rng = np.random.default_rng(1)
    for _ in range(200):
        a = (0.0, 0.0, rng.uniform(0.0, 7.0))
        b = (*rng.uniform(-200.0, 200.0, 2), rng.uniform(0.0, 7.0))
        for word, lengths in turns.shortest(a, b, 30.0):
            x, y, course = turns.points(a, word, lengths, 30.0)
            assert math.hypot(x[-1] - b[0], y[-1] - b[1]) < 0.05
            assert abs(math.remainder(course[-1] - b[2], 2.0 * math.pi)) < 1e-3
    word, lengths = turns.shortest((0, 0, 0.0), (0, 100.0, 0.0), 30.0)[0]
    assert sum(lengths) == pytest.approx(100.0)
    # a half turn onto the reciprocal course two radii to starboard is half a circle
    word, lengths = turns.shortest((0, 0, 0.0), (60.0, 0.0, math.pi), 30.0)[0]
    assert sum(lengths) == pytest.approx(math.pi * 30.0)
    # on the spot, turned round: three circles, 7/3 pi r (two of pi/3 and one of 5 pi/3)
    word, lengths = turns.shortest((0, 0, 0.0), (0, 0, math.pi), 30.0)[0]
    assert word in ("rlr", "lrl")
    assert sum(lengths) == pytest.approx(7.0 / 3.0 * math.pi * 30.0, rel=1e-6)


def test_the_way_round_keeps_off_the_bottom(straight):
    _, (one,), asked = straight
    way = one.link
    assert way is not None
    height = step(way.lure[:, 1]) + way.lure[:, 2]
    assert height.min() > 0.7 * CLEARANCE
    assert way.choice.first == one.stretch.deeper_side  # there is nothing to hit out there
    assert way.choice.speed <= asked.speed + asked.band + 1e-9
    # it ends where the pass begins
    assert math.hypot(*(way.path[-1, :2] - one.trial.path[0, :2])) < 0.6
    assert one.link_risk.hit <= 0.3


def test_no_way_round_over_land(tow):
    bed = lake(lambda x, y: step(y))
    wet = bed.wet.copy()
    wet[:, :60] = False
    assert not over_water(replace(bed, wet=wet), np.array([-300.0]), np.array([0.0]))
    assert not over_water(bed, np.array([-3000.0]), np.array([0.0]))
    assert over_water(replace(bed, wet=wet), np.array([100.0]), np.array([0.0]))
    # nor where the bed is only guessed
    guessed = replace(bed, sd=np.full_like(bed.sd, 9.0))
    assert not over_water(guessed, np.array([100.0]), np.array([0.0]))


def island_lake(seed, cell=5.0):
    """Make a lake of islands, as a polygon with holes and as its bed: deeper the farther off."""
    import shapely

    rng = np.random.default_rng(seed)
    half = 400.0
    shore = shapely.Point(0.0, 0.0).buffer(half - 20.0)
    holes = []
    for _ in range(12):
        x, y = rng.uniform(-300.0, 300.0, 2)
        angle = np.sort(rng.uniform(0.0, 2.0 * np.pi, 9))
        far = rng.uniform(12.0, 45.0, 9)
        ring = np.column_stack([x + far * np.cos(angle), y + far * np.sin(angle)])
        holes.append(shapely.make_valid(shapely.Polygon(ring)))
    water = shore.difference(shapely.union_all(holes))
    n = int(2 * half / cell) + 1
    v = -half + cell * np.arange(n)
    x, y = np.meshgrid(v, v)
    at = shapely.points(x.ravel(), y.ravel())
    wet = shapely.contains(water, at).reshape(n, n)
    off = shapely.distance(water.boundary, at).reshape(n, n)
    depth = np.where(wet, 14.0 * np.tanh(off / 30.0), 0.0).astype(np.float32)
    sd = np.full((n, n), 0.1, np.float32)
    frame = Frame(-half, -half, cell, n, n)
    return water, LakeBed(PLACE, frame, depth, sd, wet, {"between_runs_m": 30.0})


@pytest.mark.parametrize("seed", range(6))
def test_ways_round_never_cross_land_exactly(seed):
    import shapely

    water, bed = island_lake(seed)
    room = water.buffer(-0.5 * ROOM)
    rng = np.random.default_rng(100 + seed)
    i, j = np.nonzero(sailable(bed))
    f = bed.frame
    ways = 0
    for _ in range(25):
        k = rng.integers(len(i), size=2)
        poses = [
            (f.west + j[c] * f.cell, f.south + i[c] * f.cell, rng.uniform(0.0, 7.0)) for c in k
        ]
        for choice in turns._choices(bed, *poses, (50.0, 50.0), SPEED, 0.0, 1.0, 10.0):
            ways += 1
            assert room.covers(shapely.LineString(np.column_stack([choice.x, choice.y])))
    assert ways > 20


def test_planned_ways_among_islands_stay_on_the_water_exactly(tow):
    import shapely

    water, bed = island_lake(3)
    stretches = choose(edges(bed, 9.0), Wind(270.0, 3.0), SPEED, radius=45.0, most=1)
    found, _ = planner.plan(bed, tow, stretches, planner.Wishes(2.0, SPEED, draws=4))
    assert found
    for one in found:
        assert water.covers(shapely.LineString(one.trial.path[:, :2]))
        if one.link is not None:
            assert water.covers(shapely.LineString(one.link.path[:, :2]))


# -- no pass -----------------------------------------------------------------------------------


def test_what_cannot_be_run_at_the_height_asked_is_no_pass(tow):
    # the bottom jumps by 8 m every 25 m: no lure on a line keeps 1.5 m off that
    (one,) = choose(
        edges(lake(lambda x, y: step(y)), 12.0), Wind(90.0, 3.0), SPEED, radius=60.0, most=1
    )
    x = np.arange(200.0, -200.0, -2.0)
    one = replace(one, x=x, y=0.0 * x)

    def jumps(x, y):
        return 12.0 + 0.05 * np.asarray(y) + 4.0 * np.sign(np.sin(2.0 * np.pi * x / 50.0))

    with pytest.raises(NoAnswer) as no:
        planner.plan(
            lake(jumps), tow, [one], planner.Wishes(1.5, SPEED, draws=10),
            length=lambda v: US.show(v, "length"),
        )  # fmt: skip
    said = str(no.value)
    assert "no pass: asked 5 ft off bottom, within 3 ft of that" in said
    assert "What can be reached there: on the bottom to 2" in said and "because" in said


def test_a_pass_is_within_the_stated_band_of_what_was_asked(straight, arc):
    for _, (one,), asked in (straight, arc):
        off = np.abs(one.height[one.on_stretch] - asked.clearance)
        assert np.median(off) <= planner.band(asked.clearance)


# -- risk --------------------------------------------------------------------------------------


def judged(tow, depth, out=50.0, sd=0.0, steering=0.0, speed=0.0, draws=200):
    bed = lake(lambda x, y: np.full(np.shape(x), depth), sd=sd)
    time = np.arange(0.0, 400.0, 2.0)
    path = np.column_stack(
        [-250.0 + SPEED * time, 0.0 * time, np.full(time.size, 0.5 * np.pi), 0 * time + SPEED]
    )
    bottom = planner._bottom(bed, path)
    (found,) = bottom_risk.risk(
        bed, bottom, tow, path, time, np.full(time.size, out), (0.0, 0.0),
        draws=draws, steering=steering, speed=speed,
    )  # fmt: skip
    return found


def sure(tow):
    """Give the same tow without a doubt."""
    zero = {k: 0.0 * np.asarray(getattr(tow.doubt, k)) for k in ("drag", "friction", "weight")}
    doubt = replace(
        tow.doubt, **zero, lure_drag=0.0, lure_dive=0.0, lure_weight=0.0, lure_dive_area=0.0
    )
    return replace(tow, doubt=doubt)


def test_without_errors_the_risk_is_none_or_all(tow):
    runs = float(depths_by_let_out(tow, [50.0], Setting(SPEED))[0, 1])
    clear = judged(sure(tow), runs + 0.2, draws=8)
    assert clear.hit == 0.0
    assert clear.least == pytest.approx((0.2, 0.2, 0.2), abs=0.04)
    assert judged(sure(tow), runs - 0.2, draws=8).hit == 1.0


def test_a_speed_error_sinks_the_lure_as_the_steady_engine_says(tow):
    # independent of the moving engine: steady depths at both speeds
    at = [
        depths_by_let_out(tow, [50.0], Setting(SPEED + d))[0, 1] for d in (0.0, -bottom_risk.SPEED)
    ]
    found = judged(sure(tow), float(at[0]) + 2.0, speed=bottom_risk.SPEED, draws=8)
    assert found.best == pytest.approx(2.0, abs=0.04)
    assert found.corners == pytest.approx(2.0 - float(at[1] - at[0]), abs=0.06)


def test_bed_errors_that_are_left_out_change_neither_the_least_nor_any_touch():
    bed = lake(lambda x, y: np.full(np.shape(x), 12.0), sd=0.5)
    x = np.tile(np.linspace(-200.0, 200.0, 40), (60, 1))
    clear = np.random.default_rng(3).uniform(0.5, 9.0, x.shape)
    every = clear - bottom_risk._bed_errors(bed, x, 0.0 * x, 0.0 * x, 7)
    errors = bottom_risk._bed_errors(bed, x, 0.0 * x, clear, 7)
    assert 0.1 < np.mean(errors != 0.0) < 0.9
    np.testing.assert_array_equal((clear - errors).min(axis=1), every.min(axis=1))
    np.testing.assert_array_equal(clear - errors < 0.0, every < 0.0)


def test_the_bed_error_alone_gives_the_probability_of_a_wave_reaching_the_lure(tow):
    # the field's own standard deviation, at one place over many versions
    bed = lake(lambda x, y: np.full(np.shape(x), 12.0), sd=0.5)
    x = np.tile(np.linspace(-200.0, 200.0, 40), (400, 1))
    error = bottom_risk._bed_errors(bed, x, 0.0 * x, 0.0 * x, 7)  # so low that all of them count
    assert error.std(axis=0) == pytest.approx(np.full(40, 0.5), rel=0.15)
    assert abs(error.mean()) < 0.03
    # neighbours err alike, places far apart do not
    assert np.corrcoef(error[:, 0], np.roll(error, -1, axis=1)[:, 0])[0, 1] > 0.5
    assert abs(np.corrcoef(error[:, 0], error[:, 20])[0, 1]) < 0.2


def test_the_helm_wanders_as_far_as_stated():
    swing = (
        bottom_risk._wander(np.arange(0.0, 2000.0, 5.0), 200, 3) * bottom_risk.STEERING / HALF_OF_90
    )
    assert np.mean(np.abs(swing) < bottom_risk.STEERING) == pytest.approx(0.9, abs=0.02)


@pytest.mark.parametrize("kind", ["line", "bottom", "steering", "speed"])
def test_the_greatest_doubt_is_named(tow, kind):
    # one doubt alone: 12 m of water, falling away to one side where steering is to matter
    def depth(x, y):
        return 12.0 + (0.3 * np.asarray(y, float) if kind == "steering" else 0.0 * np.asarray(y))

    bed = lake(depth, sd=0.8 if kind == "bottom" else 0.0)
    time = np.arange(0.0, 400.0, 2.0)
    path = np.column_stack(
        [-250.0 + SPEED * time, 0.0 * time, np.full(time.size, 0.5 * np.pi), 0 * time + SPEED]
    )
    (found,) = bottom_risk.risk(
        bed, planner._bottom(bed, path), tow if kind == "line" else sure(tow), path, time,
        np.full(time.size, 60.0), (0.0, 0.0), draws=40,
        steering=5.0 if kind == "steering" else 0.0, speed=0.1 if kind == "speed" else 0.0,
    )  # fmt: skip
    assert found.because == kind
    rest = [v for k, v in found.doubts.items() if k != kind]
    assert found.doubts[kind] > 4.0 * max(rest)
    if kind == "steering":  # 5 m to the side on that slope
        assert found.doubts[kind] == pytest.approx(1.5, rel=0.35)
    if kind == "bottom":
        assert found.doubts[kind] == pytest.approx(0.8 * HALF_OF_90, rel=1e-3)


def test_the_verdict_says_which_doubt_does_it(straight):
    from towscope.sheets.pass_words import verdict

    _, (one,), asked = straight
    r = replace(one.risk, best=1.0, corners=0.2, hit=0.04)
    assert verdict(r, asked, US) == "Lure clears (hits bottom 4 %)"
    doubts = {"line": 1.5, "bottom": 0.2, "steering": 0.3, "speed": 0.1}
    r = replace(r, hit=0.42, doubts=doubts)
    said = verdict(r, asked, US)
    assert said.startswith("Lure may hit bottom (42 %): how deep this rig runs is known to 4.9 ft")
    assert "safe" not in said.lower() and "\n" not in said
    for kind, words in (("bottom", "the bottom there"), ("steering", "off the way")):
        assert words in verdict(replace(r, doubts={**doubts, kind: 2.0}), asked, US)
    assert "off the way and" in verdict(replace(r, hit=0.05, corners=-0.1), asked, US)
    assert "all goes as planned" in verdict(replace(r, best=-0.1), asked, US)


def test_safe_means_both_the_corners_and_the_odds(straight):
    _, (one,), asked = straight
    r = one.risk
    assert not replace(r, corners=-0.1, hit=0.0).safe(asked.limit)
    assert not replace(r, corners=0.1, hit=0.2).safe(0.1)
    assert replace(r, corners=0.1, hit=0.1).safe(0.1)
    assert r.least[0] <= r.least[1] <= r.least[2] <= CLEARANCE + 2.5


def test_asked_for_less_risk_it_is_safe_and_higher(tow, straight):
    _, (before,), _ = straight
    _, (after,), _ = planned(off_straight, tow, lower_risk=True, limit=0.1, draws=40)
    assert after.risk.safe(0.1)
    assert after.risk.corners > 0.0  # 5 m off and 0.2 mph off does not hit the bottom
    assert after.clearance > before.clearance
    assert after.heights[0] > before.heights[1]


# -- files -------------------------------------------------------------------------------------

NAMESPACE = "{http://www.topografix.com/GPX/1/1}"


def check_gpx(text: str) -> ElementTree.Element:
    hold_against_schema(text)
    root = ElementTree.fromstring(text)
    assert root.attrib["creator"]
    return root


def test_gpx_is_of_the_schema_and_holds_the_ways(arc):
    import gpxpy

    bed, found, _ = arc
    text = to_gpx(found, bed.place, "Long Slate", US)
    root = check_gpx(text)
    routes, tracks = root.findall(NAMESPACE + "rte"), root.findall(NAMESPACE + "trk")
    assert len(routes) == len(found) + sum(p.link is not None for p in found)
    assert len(tracks) == 2 * len(routes)
    # any reader opens it, here gpxpy; and its track is the lure's path to a few centimetres
    read = gpxpy.parse(text)
    points = read.tracks[1].segments[0].points
    x, y = bed.place.to_metres([p.latitude for p in points], [p.longitude for p in points])
    lure = found[0].trial.passage.lure[0]
    assert math.hypot(x[0] - lure[0, 0], y[0] - lure[0, 1]) < 0.05
    assert points[0].elevation == pytest.approx(float(lure[0, 2]), abs=0.01)
    # a route has few points, and none of the boat's way is far off it
    route = read.routes[0].points
    assert len(route) < 0.1 * len(found[0].trial.path)
    import shapely

    rx, ry = bed.place.to_metres([p.latitude for p in route], [p.longitude for p in route])
    line = shapely.LineString(np.column_stack([rx, ry]))
    far = shapely.distance(shapely.points(found[0].trial.path[:, :2]), line)
    assert far.max() < 1.6


def test_few_points_keep_close():
    t = np.linspace(0.0, 2.0 * np.pi, 500)
    x, y = 100.0 * np.cos(t), 100.0 * np.sin(t)
    kept = few(x, y, np.array([123]), 1.5)
    assert {0, 123, 499} <= set(kept.tolist())
    assert len(kept) < 40


def test_geojson_has_longitude_first_and_json_is_si(arc):
    # RFC 7946, 3.1.1 and 4
    bed, found, asked = arc
    facts = figures(found, bed.place, "L", asked.limit)
    text = json.dumps(to_geojson(found, bed.place, "L", facts), allow_nan=False)
    answer = json.loads(text)
    assert answer["type"] == "FeatureCollection"
    for feature in answer["features"]:
        assert feature["type"] == "Feature"
        line = feature["geometry"]["coordinates"]
        points = line if feature["geometry"]["type"] == "LineString" else [line]
        assert all(abs(lon + 92.0) < 0.1 and abs(lat - 48.0) < 0.1 for lon, lat in points)
    kinds = [f["properties"]["kind"] for f in answer["features"]]
    assert {"edge", "boat", "lure", "start", "on edge", "off edge"} <= set(kinds)
    one = facts["passes"][0]
    assert one["lure_off_line_m"] < 2.0
    assert one["schedule"][0]["kind"] == "start"
    assert 0.0 <= one["risk"]["bottom_hit"] <= 1.0


def test_marks_come_in_order(straight):
    _, (one,), _ = straight
    found = marks(one)
    assert found[0].kind == "start"
    assert found[-1].kind in ("turn", "end")
    assert all(a.time <= b.time for a, b in itertools.pairwise(found))
    assert found[0].out == one.trial.way.out.value[0]


# -- the command -------------------------------------------------------------------------------

ASK = [
    "lake", "passes", "Step", "--depth", "12 m", "--off-bottom", "2 m", "--rig", "demo",
    "--speed", "2 mph", "--wind", "W, 6 mph", "--count", "1",
]  # fmt: skip


@pytest.fixture
def kept():
    store.save("Step", lake(lambda x, y: step(y), half=200.0))


def test_the_command_answers_and_writes(kept, tmp_path, capsys):
    page = tmp_path / "p.pdf"
    assert run([*ASK, "-o", str(page), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["passes"][0]["lure_off_line_m"] < 2.0
    assert answer["not_for_navigation"] is True
    import pypdf

    words = "".join(p.extract_text() for p in pypdf.PdfReader(page).pages)
    assert "lure on the edge" in words
    assert "not for navigation" in words or "for navigation" in words


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (["--wind", "sideways, 8 mph"], "expected a direction"),
        (["--wind", "SW"], "expected a direction"),
        (["--wind", "SW, fast"], "--wind"),
        (["--wind", "400, 3 m/s"], "360"),
        (["--off-bottom", "nan"], "--off-bottom"),
        (["--off-bottom", "13 m"], "less than the depth"),
        (["--risk", "0"], "--risk"),
        (["--count", "0"], "--count"),
        (["--out-max", "1 m"], "--out-max"),
        (["-o", "x.exe"], "expected a name ending"),
        (["--current", "0.2 mph against"], "compass"),
        (["--turn", "1 m"], "--turn"),
        (["--outside", "-5 m"], "--outside"),
    ],
)
def test_bad_input_is_one_line(kept, capsys, more, said):
    assert run([*ASK, *more]) == 2
    err = capsys.readouterr().err
    assert said in err
    assert len(err.strip().splitlines()) == 1


def test_no_such_edge_or_line_is_no_answer(kept, capsys):
    assert run([*ASK, "--depth", "40 m"]) == 1
    assert run([*ASK, "--depth", "8.01 m"]) == 1
    assert run([*ASK, "--out-max", "20 m"]) == 1
    capsys.readouterr()


def test_wishes_are_checked():
    with pytest.raises(InputError, match="off bottom"):
        planner.Wishes(0.0, SPEED)
    assert Steps.held(5.0).changes == 0
