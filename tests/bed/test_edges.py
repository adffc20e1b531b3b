"""Edges where the bottom is known, stretches a boat can steer, what is handed on as GeoJSON."""

from __future__ import annotations

import json
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from towscope.bed.edges import edges, profile, resample
from towscope.bed.features import find, geojson
from towscope.demo import long_slate
from towscope.errors import InputError, NoAnswer
from towscope.passes.candidates import LEEWAY, Wind, choose, curvature, steerable
from towscope.retold import retold

from .known import lake_of


@pytest.fixture(scope="module")
def step():
    """A break along x = 10: 6 m deep to the west, 14 m to the east, falling over some 25 m."""
    return lake_of(lambda x, y: 10.0 + 4.0 * np.tanh((x - 10.0) / 12.0), cell=2.0)


def test_a_step_edge_lies_where_it_is(step):
    (found,) = edges(step, 10.0)
    assert found.x == pytest.approx(10.0, abs=0.3)
    # the soundings end at 200 m either way; the water may run on half a run's spacing (10 m)
    assert found.length == pytest.approx(420.0, rel=0.02)
    # steepest slope 4 / 12, less what smoothing to 5 m takes: convolution with a Gaussian
    grid = np.arange(-60, 60, 0.05)
    blur = np.exp(-0.5 * (grid / 5.0) ** 2)
    exact = np.sum(blur * 4 / 12 / np.cosh(grid / 12) ** 2) / blur.sum()
    assert found.slope.mean() == pytest.approx(exact, rel=0.06)
    # deeper water to the left: the edge runs south
    assert found.y[-1] < found.y[0]
    across = profile(step, found, 40.0, 4.0)
    assert across[0, 1] == pytest.approx(6.0, abs=0.15)
    assert across[-1, 1] == pytest.approx(14.0, abs=0.15)
    # how far off it may be: depth error over slope, for every point
    assert found.across_sd == pytest.approx(found.sd / found.slope)


def test_off_the_break_there_is_no_edge(step):
    with pytest.raises(NoAnswer, match="deepest"):
        edges(step, 20.0)
    with pytest.raises(InputError, match="below the surface"):
        edges(step, -3.0)
    assert edges(step, 10.0, steep=0.5) == []
    assert edges(step, 10.0, shortest=900.0) == []


def test_a_depth_just_below_the_deepest_is_told_apart_from_it(step):
    deepest = float(step.surface[step.wet].max())
    with pytest.raises(NoAnswer) as said:
        edges(step, deepest + 0.1)  # a third of a foot: whole feet would say the same of both
    asked, most = (float(figure) for figure in re.findall(r"([\d.]+) ft", retold(str(said.value))))
    assert asked - most == pytest.approx(0.1 / 0.3048, abs=0.11)  # each to a tenth


def test_a_ring_closes_and_its_hump_is_found():
    bed = lake_of(lambda x, y: 12.0 - 8.0 * np.exp(-(x**2 + y**2) / (2 * 40.0**2)), cell=2.0)
    found = find(bed, 8.0)
    (edge,) = found.edges
    assert edge.closed
    radius = 40.0 * np.sqrt(2 * np.log(8.0 / 4.0))
    assert np.hypot(edge.x, edge.y) == pytest.approx(radius, abs=1.5)
    assert edge.length == pytest.approx(2 * np.pi * radius, rel=0.02)
    (hump,) = found.humps
    assert np.hypot(hump.x, hump.y) < 4.0
    assert hump.top == pytest.approx(4.0, abs=0.25)
    level = 8.0 * 7 / 6
    assert hump.area == pytest.approx(np.pi * 40**2 * 2 * np.log(8 / (12 - level)), rel=0.05)
    assert not found.bends  # a round hump turns everywhere alike


def test_points_and_inside_turns_are_told_apart():
    # A shelf to the south (6 m), deep to the north (16 m); the break bends out at 0, back at 200.
    def truth(x, y):
        out = 60 * np.exp(-0.5 * (x / 30.0) ** 2) - 60 * np.exp(-0.5 * ((x - 190.0) / 30.0) ** 2)
        return 11.0 + 5.0 * np.tanh((y - out) / 12.0)

    found = find(lake_of(truth, half=300.0, cell=3.0), 11.0)
    tips = {(b.kind, round(b.x / 40), round(b.y / 30)) for b in found.bends[:2]}
    assert tips == {("point", 0, 2), ("inside turn", 5, -2)}


def test_a_flat_has_its_area():
    def truth(x, y):
        return 8.0 + 0.2 * np.maximum(np.maximum(np.abs(x), np.abs(y)) - 80.0, 0.0)

    (flat, *_) = find(lake_of(truth, cell=2.0), 8.2).flats
    assert flat.area == pytest.approx(160.0**2, rel=0.2)  # its rim slopes a little after smoothing
    assert np.hypot(flat.x, flat.y) < 60.0


def test_the_invented_lake_shows_its_structure(slate):
    found = find(slate, 9.5)
    hits = 0
    for east, out, _, side in long_slate.POINTS:
        kind = "point" if out > 0.0 else "inside turn"
        near = [b for b in found.bends if abs(b.x - east) < 60.0 and b.kind == kind]
        hits += any((b.y > long_slate.middle(np.array([east]))[0]) == (side > 0) for b in near)
    # runs 90 m apart cannot see every bend of 30 to 50 m half-width, but most
    assert hits >= 4
    tops = [(h.x, h.y) for h in found.humps]
    assert any(np.hypot(x + 150.0, y + 60.0) < 40.0 for x, y in tops)


def test_geojson_is_geojson(slate):
    answer = geojson(slate, find(slate, 9.5), "Long Slate")
    assert json.loads(json.dumps(answer)) == answer
    assert answer["type"] == "FeatureCollection"
    kinds = {f["properties"]["kind"] for f in answer["features"]}
    assert "edge" in kinds
    import shapely

    for feature in answer["features"]:
        shape = shapely.from_geojson(json.dumps(feature["geometry"]))
        assert shape.is_valid
        west, south, east, north = shape.bounds
        assert -92.0 < west <= east < -91.8
        assert 48.3 < south <= north < 48.5
        if feature["geometry"]["type"] == "Polygon":
            # RFC 7946, 3.1.6: exterior rings anticlockwise
            assert shape.exterior.is_ccw
    worth = [f["properties"]["worth_m"] for f in answer["features"] if "rank" in f["properties"]]
    assert worth == sorted(worth, reverse=True)


def test_curvature_of_a_circle():
    t = np.linspace(0, 3, 80)
    left = curvature(40 * np.cos(t), 40 * np.sin(t))
    assert left[1:-1] == pytest.approx(1 / 40.0, rel=1e-6)
    assert curvature(40 * np.cos(-t), 40 * np.sin(-t))[5] == pytest.approx(-1 / 40.0, rel=1e-6)


@settings(max_examples=30)
@given(
    st.lists(st.floats(-0.6, 0.6), min_size=60, max_size=120),
    st.sampled_from([20.0, 30.0, 60.0]),
)
def test_a_steerable_line_never_turns_tighter(turns, radius):
    heading = np.cumsum(turns)
    x, y = np.cumsum(2 * np.cos(heading)), np.cumsum(2 * np.sin(heading))
    px, py = steerable(x, y, radius)
    step = np.hypot(np.diff(px), np.diff(py))
    if step.min() > 0.2:  # else the line has folded on itself and `choose` cuts it
        assert np.abs(curvature(px, py)).max() <= 1.001 / radius


def test_a_line_that_can_be_steered_is_left_alone():
    x, y = resample(np.array([0.0, 300.0]), np.array([0.0, 100.0]), 2.0)
    px, py = steerable(x, y, 30.0)
    assert np.abs(px - x).max() < 1e-9
    t = np.linspace(0, np.pi, 120)
    px, py = steerable(80 * np.cos(t), 80 * np.sin(t), 30.0)
    assert np.abs(np.hypot(px, py) - 80.0).max() < 0.1


def test_stretches_on_the_step_edge(step):
    (run,) = choose(edges(step, 10.0), Wind(0.0, 3.0), 0.9)
    # wind from the north: into it, with the deep water (east) to starboard
    assert run.heading == pytest.approx(0.0, abs=3.0) or run.heading == pytest.approx(360.0, abs=3)
    assert run.against_wind == "into"
    assert run.deeper_side == "starboard"
    assert "helm" in run.reason
    assert run.x == pytest.approx(10.0, abs=0.5)
    assert run.off < 0.5
    assert run.radius > 100.0


def test_wind_decides_the_direction_and_says_so(step):
    found = edges(step, 10.0)
    fresh = choose(found, Wind(0.0, 9.0), 0.9)[0]
    assert fresh.against_wind == "with"
    assert abs(fresh.heading - 180.0) < 3.0
    beam = choose(found, Wind(270.0, 4.0), 0.9)[0]
    assert beam.against_wind == "across"
    # drift 3 % of 4 m/s against 0.9 m/s: held off by asin(0.12 / 0.9)
    assert beam.crab == pytest.approx(np.degrees(np.arcsin(LEEWAY * 4.0 / 0.9)), abs=0.3)
    assert choose(found, Wind(90.0, 0.5), 0.9)[0].against_wind == "calm"


def test_every_stretch_of_the_invented_lake_can_be_steered(slate):
    for radius in (20.0, 45.0):
        runs = choose(edges(slate, 9.5), Wind(240.0, 4.0), 0.9, radius=radius, most=20)
        assert len(runs) >= 5
        for run in runs:
            assert np.abs(curvature(run.x, run.y)).max() <= 1.02 / radius
            assert run.off <= 8.0
            assert run.length >= 59.0
            # the line keeps to the edge it was made from: bottom near the wanted depth
            depth = slate.sample(run.x, run.y)[:, 0]
            assert np.abs(np.median(depth) - 9.5) < 1.0
        assert [r.worth for r in runs] == sorted((r.worth for r in runs), reverse=True)


def test_bad_questions_are_refused(step):
    found = edges(step, 10.0)
    with pytest.raises(InputError, match="speed of 0 to 40"):
        Wind(0.0, 90.0)
    with pytest.raises(InputError, match="no trolling speed"):
        choose(found, Wind(0.0, 1.0), 20.0)
    with pytest.raises(InputError, match="turns in 1 m"):
        choose(found, Wind(0.0, 1.0), 1.0, radius=1.0)
    with pytest.raises(NoAnswer, match="allow a tighter turn"):
        choose(found, Wind(0.0, 1.0), 1.0, shortest=5000.0)
