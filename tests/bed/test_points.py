"""Points that come in no order: shuffled rows change nothing, and the bed is as good."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from towscope.bed import layout
from towscope.bed.bed import build
from towscope.bed.cleaning import clean
from towscope.bed.cross_validation import leave_out, thin
from towscope.bed.gridding import Frame, Plate
from towscope.bed.reading import read
from towscope.bed.shoreline import read_shoreline
from towscope.bed.soundings import FileOptions
from towscope.bed.survey_runs import folds
from towscope.geodesy import Place

from .known import PLACE

DATA = Path(__file__).parents[1] / "data"


def table(path: Path, x, y, z, rows=None, extra=None) -> Path:
    lat, lon = PLACE.to_globe(x, y)
    rows = np.arange(x.size) if rows is None else rows
    text = "".join(
        f"{'' if extra is None else extra[k] + ','}{lat[k]:.7f},{lon[k]:.7f},{z[k]:.3f}\n"
        for k in rows
    )
    path.write_text(f"{'' if extra is None else 'time,'}lat,lon,depth_m\n{text}")
    return path


def lattice(seed=0):
    """Soundings every 5 m on lines 20 m apart over a bowl, with spikes."""
    x, y = (v.ravel() for v in np.meshgrid(np.arange(-150, 151, 20.0), np.arange(-150, 151, 5.0)))
    rng = np.random.default_rng(seed)
    z = 9.0 - np.hypot(x, y) / 30.0 + rng.normal(0.0, 0.05, x.size)
    z[rng.choice(x.size, 4, replace=False)] *= 3.0
    return x, y, np.maximum(z, 0.3)


@settings(max_examples=6, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_shuffled_rows_are_cleaned_alike(tmp_path_factory, seed):
    path = tmp_path_factory.mktemp("rows") / "points.csv"
    x, y, z = lattice()
    first = clean([read(table(path, x, y, z), FileOptions())])
    turn = np.random.default_rng(seed).permutation(x.size)
    again = clean([read(table(path, x, y, z, turn), FileOptions())])
    for a, b in ((first.latitude, again.latitude), (first.depth, again.depth)):
        assert np.array_equal(a, b)
    # the same soundings dropped, each by the row that it stood in
    assert sorted((d.depth, d.reason) for d in first.dropped) == sorted(
        (d.depth, d.reason) for d in again.dropped
    )
    for d in again.dropped:
        assert z[turn[d.row - 2]] == pytest.approx(d.depth, abs=1e-3)
    assert 0 < len(first.dropped) <= 8


def test_shuffled_rows_make_the_same_lake_to_the_last_bit(tmp_path):
    x, y, z = lattice()
    beds = []
    for seed in (None, 1, 2):
        turn = None if seed is None else np.random.default_rng(seed).permutation(x.size)
        found = clean([read(table(tmp_path / "p.csv", x, y, z, turn), FileOptions())])
        assert not found.ordered
        beds.append(build(found.latitude, found.longitude, found.depth, ordered=False, cell=5.0))
    for bed in beds[1:]:
        assert np.array_equal(bed.surface, beds[0].surface)
        assert np.array_equal(bed.wet, beds[0].wet)
        assert np.array_equal(bed.sd, beds[0].sd)
        assert bed.facts == beds[0].facts


def test_rows_with_times_are_put_in_their_order(tmp_path):
    t = np.arange(0.0, 400.0, 2.0)
    x, y, z = t, np.zeros(t.size), 5.0 + 0.01 * t
    clock = [f"2025-08-09T11:{k // 60:02d}:{k % 60:02d}Z" for k in range(t.size)]
    turn = np.random.default_rng(3).permutation(t.size)
    log = read(table(tmp_path / "a.csv", x, y, z, turn, clock), FileOptions())
    assert log.track
    assert np.all(np.diff(log.depth) >= 0.0)
    # a night over midnight, clocks alone; then a day without clocks, which orders nothing
    late = np.arange(t.size) + 86_300  # 100 s before midnight, and on
    night = [f"{s // 3600 % 24:02d}:{s // 60 % 60:02d}:{s % 60:02d}" for s in late.tolist()]
    log = read(table(tmp_path / "b.csv", x, y, z, turn, night), FileOptions())
    assert log.track
    assert np.all(np.diff(log.depth) >= 0.0)
    assert not read(
        table(tmp_path / "c.csv", x, y, z, turn, ["8/9/2025"] * t.size), FileOptions()
    ).track


def test_how_far_apart_points_lie_needs_no_order():
    rng = np.random.default_rng(0)
    x, y = (v.ravel() for v in np.meshgrid(np.arange(0, 2000, 40.0), np.arange(0, 2000, 4.0)))
    turn = rng.permutation(x.size)
    along, between = layout.spacing(x[turn], y[turn])
    assert along == pytest.approx(4.0)
    assert between == pytest.approx(40.0, rel=0.1)
    x, y = rng.uniform(0, 2000, (2, 2500))  # 40 m apart at the mean, at random
    assert layout.spacing(x, y)[1] == pytest.approx(40.0, rel=0.25)


def rms(v) -> float:
    return float(np.sqrt(np.mean(np.asarray(v) ** 2)))


def others(x, y, z, hands):
    """Leave the same soundings out of a TIN and of verde's spline."""
    verde = pytest.importorskip("verde")
    from scipy.interpolate import LinearNDInterpolator, NearestNDInterpolator

    def tin(p, c, q):
        inside = LinearNDInterpolator(p, c)(q)
        return np.where(np.isfinite(inside), inside, NearestNDInterpolator(p, c)(q))

    def spline(damping):
        def method(p, c, q):
            fitted = verde.Spline(damping=damping).fit(tuple(p.T), c)
            return fitted.predict(tuple(q.T))

        return method

    points = np.column_stack([x, y])
    found = {}
    for name, method in (("tin", tin), ("spline", spline(1e-5))):
        wrong = []
        for hand in hands:
            kept = np.ones(x.size, bool)
            kept[hand] = False
            wrong.append(method(points[kept], z[kept], points[hand]) - z[hand])
        found[name] = rms(np.concatenate(wrong))
    return found


@pytest.mark.parametrize("lake", ["corpus_christi_soundings.csv", "crystal_lake_contours.geojson"])
def test_left_out_points_of_an_agency_tell_no_worse_than_tin_and_spline(lake):
    # Texas Water Development Board, 2012; North Temperate Lakes LTER (tests/data/README.md)
    found = clean([read(DATA / lake, FileOptions())])
    assert not found.ordered
    lat, lon, z = found.latitude, found.longitude, found.depth
    x, y = Place.about(lat, lon).to_metres(lat, lon)
    bed = build(lat, lon, z, ordered=False)
    assert 0.85 <= bed.facts["band_90_coverage"] <= 0.95
    hands = folds(layout.patches(x, y, 2.0 * bed.facts["between_runs_m"]), 4, least=1)[:2]
    plate = Plate(bed.facts["stiffness_m2"], bed.facts["tension_reach_m"])
    frame = Frame.around(x, y, 4.0, 40.0)
    ours = leave_out(thin(x, y, z, hands, frame), frame, plate).rmse
    assert ours <= min(others(x, y, z, hands).values())


def test_crystal_lake_against_its_published_figures():
    # North Temperate Lakes LTER: 36.7 ha, mean depth 10.4 m, greatest 20.4 m (from memory); its
    # own hypsography (same survey, areas of the contours): 4.00 million m3 by the trapezoid rule.
    path = DATA / "crystal_lake_contours.geojson"
    found = clean([read(path, FileOptions())])
    assert not found.dropped  # a depth of 0 is the shore here, no lost bottom
    assert float(found.depth.max()) == pytest.approx(65 * 0.3048, abs=1e-3)  # Depth_m, not feet
    bed = build(found.latitude, found.longitude, found.depth, ordered=False,
                shoreline=read_shoreline(path), cell=4.0)  # fmt: skip
    got = bed.measure()
    ft = 0.3048
    own = [379176, 346327, 281139, 266127, 256062, 245589, 230372, 209112, 179551, 145943, 113232,
           85596, 56070, 21396, 0]  # fmt: skip
    volume = float(np.trapezoid(own, np.arange(15) * 5 * ft))
    assert got["volume_m3"] == pytest.approx(volume, rel=0.02)
    assert got["area_m2"] == pytest.approx(379176, rel=0.01)
    assert got["mean_depth_m"] == pytest.approx(10.4, abs=0.3)
    assert 65 * ft <= got["max_depth_m"] < 20.5


def test_the_bed_is_held_near_the_deepest_sounding_and_says_where_it_guesses():
    # a cone sounded only round its rim: a plate runs on down past everything that is known
    x, y = (v.ravel() for v in np.meshgrid(np.arange(-300, 301, 20.0), np.arange(-300, 301, 6.0)))
    r = np.hypot(x, y)
    keep = (r > 150.0) & (r < 290.0)
    x, y, z = x[keep], y[keep], (300.0 - r[keep]) / 5.0
    lat, lon = PLACE.to_globe(x, y)
    bed = build(lat, lon, z, ordered=False, cell=10.0)
    deepest = float(z.max())
    assert float(bed.surface.max()) <= 1.03 * deepest + 0.01
    assert bed.facts["deepest_sounding_m"] == pytest.approx(deepest)
    assert bed.facts["beyond_m2"] > 0.0
    from towscope.bed.bed import guesses

    told = guesses({**bed.facts, **bed.measure()}, lambda v: f"{v:.1f} m", lambda v: f"{v:.0f} m2")
    assert "deeper than any sounding (30.0 m)" in told[0]


def test_sparse_stations_are_not_flattened():
    rng = np.random.default_rng(5)
    for count in (14, 40):
        x, y = rng.uniform(-400, 400, (2, count))
        z = rng.uniform(1.0, 4.5, count)
        z[3] = 8.7
        lat, lon = PLACE.to_globe(x, y)
        bed = build(lat, lon, z, ordered=False, place=PLACE, cell=12.0)
        off = bed.sample(x, y)[:, 0] - z
        assert rms(off) < 0.3
        assert abs(off[3]) < 0.7


def test_groups_of_false_echoes_go_and_a_hole_stays():
    t = np.arange(0.0, 1200.0, 2.0)
    z = 1.0 + 0.2 * np.sin(t / 60.0)
    z[100:112] = 26.0  # a dozen in 1 m of water
    z[300:330] += 4.0 * np.sin(np.linspace(0.0, np.pi, 30))  # a hole with banks
    lat, lon = PLACE.to_globe(t, np.zeros(t.size))
    from towscope.bed.soundings import Log

    for track in (True, False):
        rows = np.arange(2, t.size + 2)
        found = clean([Log("log.csv", lat, lon, z, rows, track=track)])
        assert sorted(d.row for d in found.dropped) == list(range(102, 114)), track
        assert {d.reason for d in found.dropped} == {"false echoes"}


def test_a_depth_of_0_is_the_shore_beside_shallows_and_a_lost_bottom_in_the_deep(tmp_path):
    x, y = (
        v.ravel() for v in np.meshgrid(np.arange(0.0, 401.0, 20.0), np.arange(0.0, 401.0, 20.0))
    )
    z = np.minimum(x / 20.0, 10.0)  # the shore along x = 0
    z[np.hypot(x - 300.0, y - 200.0) < 1.0] = 0.0
    found = clean([read(table(tmp_path / "z.csv", x, y, z), FileOptions())])
    assert [d.reason for d in found.dropped] == ["lost bottom"]
    assert np.count_nonzero(found.depth == 0.0) == 21
