"""The shore: the same water however it is drawn, and islands stay land."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import Geod

from towscope.bed.bed import build
from towscope.bed.shoreline import read_shoreline
from towscope.errors import InputError

from .known import KNOWN, PLACE, lines

DATA = Path(__file__).parents[1] / "data"
HECTARE = 1e4


def area(water) -> float:
    """Give the area on the globe [m^2]: Karney (2013), J. Geodesy 87:43-55."""
    return abs(Geod(ellps="WGS84").geometry_area_perimeter(shapely.normalize(water))[0])


def write(path: Path, geometries, properties=None) -> Path:
    each = properties or [{}] * len(geometries)
    features = [
        {
            "type": "Feature",
            "properties": p,
            "geometry": g if isinstance(g, dict) else json.loads(shapely.to_geojson(g)),
        }
        for g, p in zip(geometries, each, strict=True)
    ]
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    return path


def ring(x, y, radius, corners=24):
    turn = np.linspace(0.0, 2.0 * np.pi, corners + 1)
    turn[-1] = 0.0
    return np.column_stack([-92.0 + x + radius * np.cos(turn), 48.0 + y + radius * np.sin(turn)])


# a lake, two islands in it, a pond in the larger one
RINGS = [ring(0, 0, 0.02), ring(0.008, 0, 0.006), ring(-0.01, 0.002, 0.003), ring(0.008, 0, 0.002)]
WATER = shapely.union_all(
    [
        shapely.difference(
            shapely.polygons(RINGS[0]),
            shapely.union_all([shapely.polygons(RINGS[1]), shapely.polygons(RINGS[2])]),
        ),
        shapely.polygons(RINGS[3]),
    ]
)


@settings(max_examples=40, deadline=None)
@given(data=st.data())
def test_a_shore_is_the_same_in_any_shape_winding_and_order(tmp_path_factory, data):
    path = tmp_path_factory.mktemp("shore") / "shore.geojson"
    turned = [r[::-1] if data.draw(st.booleans()) else r for r in RINGS]
    # a ring may begin anywhere
    rings = []
    for r in turned:
        start = data.draw(st.integers(0, len(r) - 2))
        open_ring = np.roll(r[:-1], -start, axis=0)
        rings.append(np.vstack([open_ring, open_ring[:1]]))
    order = data.draw(st.permutations(range(4)))
    shape = data.draw(st.sampled_from(["rings", "pieces", "multiline", "polygon", "multipolygon"]))
    if shape == "rings":
        drawn = [shapely.linestrings(rings[k]) for k in order]
    elif shape == "multiline":
        drawn = [shapely.multilinestrings([shapely.linestrings(rings[k]) for k in order])]
    elif shape == "pieces":  # each ring cut in three, some pieces turned round, all mixed
        drawn = []
        for k in order:
            cuts = sorted(data.draw(st.sets(st.integers(1, 22), min_size=2, max_size=2)))
            for a, b in zip([0, *cuts], [*cuts, 24], strict=True):
                piece = rings[k][a : b + 1]
                drawn.append(
                    shapely.linestrings(piece[::-1] if data.draw(st.booleans()) else piece)
                )
        drawn = [drawn[k] for k in data.draw(st.permutations(range(len(drawn))))]
    else:
        # GeoJSON as programs write it, whatever RFC 7946 says of winding; the pond a polygon itself
        three = [rings[k].tolist() for k in order if k != 3]
        pond = [rings[3].tolist()]
        if shape == "polygon":
            drawn = [{"type": "Polygon", "coordinates": three}]
        else:
            parts = [three, pond] if data.draw(st.booleans()) else [pond, three]
            drawn = [{"type": "MultiPolygon", "coordinates": parts}]
    found = read_shoreline(write(path, drawn))
    expected = WATER if shape != "polygon" else shapely.difference(
        shapely.polygons(RINGS[0]), shapely.union_all([shapely.polygons(r) for r in RINGS[1:3]])
    )  # fmt: skip
    assert shapely.area(shapely.symmetric_difference(found, expected)) < 1e-6 * expected.area


def test_a_real_lake_with_islands_drawn_three_ways(tmp_path):
    # Lake Corpus Christi, Texas Water Development Board (tests/data/README.md): 78 lines, of which
    # 45 close by themselves and the rest join to the outer shore.
    own = read_shoreline(DATA / "corpus_christi_shore.geojson")
    drawn = [
        shapely.geometry.shape(f["geometry"])
        for f in json.loads((DATA / "corpus_christi_shore.geojson").read_text())["features"]
    ]
    closed = [line for line in drawn if line.is_closed]
    assert (len(drawn), len(closed)) == (78, 45)
    # the outer shore by another way: the one ring that the open lines merge to
    outer = shapely.line_merge(shapely.union_all([d for d in drawn if not d.is_closed]))
    outer = max(shapely.get_parts(outer), key=lambda g: g.length)
    assert outer.is_closed
    islands = [shapely.polygons(shapely.get_coordinates(c)) for c in closed]
    # the area by the shoelace on the globe, ring by ring
    expected = area(shapely.polygons(shapely.get_coordinates(outer))) - sum(map(area, islands))
    hole = shapely.Polygon(
        shapely.get_coordinates(outer), [shapely.get_coordinates(c)[::-1] for c in closed]
    )
    ways = {
        "open lines that join": own,
        "closed rings": read_shoreline(write(tmp_path / "rings.geojson", [*closed, outer])),
        "polygon with holes": read_shoreline(write(tmp_path / "holes.geojson", [hole])),
    }
    for way, water in ways.items():
        assert area(water) == pytest.approx(expected, rel=0.005), way
        assert sum(len(p.interiors) for p in shapely.get_parts(water)) == 45, way
    # taken as water, the islands would have made it a ninth larger
    assert area(shapely.polygons(shapely.get_coordinates(outer))) > 1.1 * expected


def test_a_shore_with_a_gap_is_refused_and_a_jetty_is_none(tmp_path):
    round_the_lake = RINGS[0]
    gap = [shapely.linestrings(round_the_lake[:-3]), shapely.linestrings(RINGS[1])]
    with pytest.raises(InputError, match=r"do not close: one .* has its ends .* m apart, near"):
        read_shoreline(write(tmp_path / "gap.geojson", gap))
    # ends half a metre apart are one
    near = round_the_lake.copy()
    near[-1] = near[0] + [4e-6, 0.0]
    assert read_shoreline(
        write(tmp_path / "near.geojson", [shapely.linestrings(near)])
    ).area == pytest.approx(shapely.polygons(round_the_lake).area, rel=1e-3)
    jetty = np.vstack([round_the_lake[3], round_the_lake[3] * 0.3 + np.array([-92, 48]) * 0.7])
    drawn = [shapely.linestrings(round_the_lake), shapely.linestrings(jetty)]
    assert read_shoreline(write(tmp_path / "jetty.geojson", drawn)).area == pytest.approx(
        shapely.polygons(round_the_lake).area
    )


def test_a_polygon_inside_another_is_asked_about(tmp_path):
    both = [shapely.polygons(RINGS[0]), shapely.polygons(RINGS[1])]
    path = write(tmp_path / "two.geojson", both)
    with pytest.raises(InputError, match="islands, or more of the same water"):
        read_shoreline(path)
    assert read_shoreline(path, islands="land").area == pytest.approx(both[0].area - both[1].area)
    assert read_shoreline(path, islands="water").area == pytest.approx(both[0].area)
    # an island's own polygon that fills the hole it lies in, as layers of land and water have it
    holed = shapely.difference(*both)
    path = write(tmp_path / "tiles.geojson", [holed, both[1]])
    with pytest.raises(InputError, match="--islands land or --islands water"):
        read_shoreline(path)
    assert read_shoreline(path, islands="land").area == pytest.approx(holed.area)
    # two lakes side by side are no question
    apart = write(tmp_path / "apart.geojson", [both[1], shapely.polygons(RINGS[2])])
    assert len(shapely.get_parts(read_shoreline(apart))) == 2


def test_the_shore_of_contours_is_the_one_of_depth_0(tmp_path):
    rings = [shapely.linestrings(r) for r in (RINGS[0], RINGS[1])]
    told = [{"depth_m": 0.0}, {"depth_m": 5.0}]
    path = write(tmp_path / "contours.geojson", rings, told)
    assert read_shoreline(path).area == pytest.approx(shapely.polygons(RINGS[0]).area)


def test_no_island_has_water_and_unsounded_water_is_left_out():
    x, y = lines(300.0, 40.0)
    keep = (np.hypot(x, y) < 290.0) & (np.hypot(x - 60.0, y) > 45.0)
    x, y = x[keep], y[keep]
    lat, lon = PLACE.to_globe(x, y)

    def circle(east, north, radius):
        turn = np.linspace(0.0, 2.0 * np.pi, 60, endpoint=False)
        a, b = PLACE.to_globe(east + radius * np.cos(turn), north + radius * np.sin(turn))
        return shapely.polygons(np.column_stack([b, a]))

    # the lake with an island, a long arm that nobody sounded, and another water
    arm_lat, arm_lon = PLACE.to_globe([-20.0, -20.0, 20.0, 20.0], [0.0, -1500.0, -1500.0, 0.0])
    arm = shapely.polygons(np.column_stack([arm_lon, arm_lat]))
    lake = shapely.difference(shapely.union(circle(0, 0, 300), arm), circle(60, 0, 40))
    other = circle(2000.0, 0.0, 100.0)
    bed = build(lat, lon, 6.0 - np.hypot(x, y) / 60.0, shoreline=shapely.union(lake, other),
                place=PLACE, trial=KNOWN, cell=4.0)  # fmt: skip
    assert not bed.on_water(60.0, 0.0)
    assert bed.on_water(150.0, 0.0)
    assert not bed.on_water(0.0, -1400.0)  # it said 0 ft deep
    assert bed.facts["waters_left_out"] == 1
    assert bed.facts["waters_left_out_m2"] == pytest.approx(np.pi * 100**2, rel=0.01)
    assert 2e4 < bed.facts["unsounded_m2"] < 4.8e4
    assert bed.measure()["area_m2"] < np.pi * 300**2 + 2e4
    with pytest.raises(InputError, match="lie outside the shoreline"):
        build(lat, lon, np.full(x.size, 3.0) + x / 900, shoreline=other, place=PLACE, trial=KNOWN)
