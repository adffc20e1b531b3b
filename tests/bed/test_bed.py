"""Beds of lakes whose bottoms are known: analytic ones, the invented one, a measured one."""

from __future__ import annotations

import numpy as np
import pytest

from towscope.bed.bed import build
from towscope.bed.cross_validation import leave_out, thin
from towscope.bed.edges import contours
from towscope.bed.gridding import Frame, surface
from towscope.bed.structure import length_of
from towscope.bed.survey_runs import folds, runs
from towscope.constants import HALF_OF_90
from towscope.demo import long_slate
from towscope.errors import InputError, NoAnswer
from towscope.geodesy import Place

from .known import PLACE, lake_of, lines


def circle(radius: float, n: int = 360):
    import shapely

    t = np.linspace(0, 2 * np.pi, n, endpoint=False)
    lat, lon = PLACE.to_globe(radius * np.cos(t), radius * np.sin(t))
    return shapely.Polygon(np.column_stack([lon, lat]))


@pytest.fixture(scope="module")
def cone():
    return lake_of(
        lambda x, y: 12.0 * (1 - np.hypot(x, y) / 180.0),
        keep=lambda x, y: np.hypot(x, y) < 175.0,
        shoreline=circle(180.0),
        cell=2.0,
        trial=None,
    )


def test_a_cone_has_its_volume_area_slope_and_contour(cone):
    # solid geometry: V = pi r^2 h / 3, slope h / r, contour 2 pi r (1 - d/h)
    found = cone.measure()
    assert found["area_m2"] == pytest.approx(np.pi * 180**2, rel=0.005)
    assert found["volume_m3"] == pytest.approx(np.pi * 180**2 * 12 / 3, rel=0.005)
    assert found["mean_depth_m"] == pytest.approx(4.0, rel=0.005)
    # the tip is between soundings: a smooth surface rounds it
    assert found["max_depth_m"] == pytest.approx(12.0, abs=0.3)
    t = np.linspace(0, 2 * np.pi, 50)
    rows = cone.sample(90 * np.cos(t), 90 * np.sin(t))
    assert np.hypot(rows[:, 1], rows[:, 2]) == pytest.approx(12 / 180, abs=0.006)
    assert length_of(cone, 6.0) == pytest.approx(2 * np.pi * 90, rel=0.005)
    (line,) = contours(cone, 6.0)
    assert np.hypot(*line) == pytest.approx(90.0, abs=0.4)
    # deeper water lies to the left of a contour: here inside, so it runs anticlockwise
    assert np.sum(line[0][:-1] * line[1][1:] - line[0][1:] * line[1][:-1]) > 0


def test_a_paraboloid_has_its_volume_and_depths():
    # V = pi r^2 h / 2
    bed = lake_of(
        lambda x, y: 10.0 * (1 - (x**2 + y**2) / 180.0**2),
        keep=lambda x, y: np.hypot(x, y) < 175.0,
        shoreline=circle(180.0),
        cell=2.0,
    )
    found = bed.measure()
    assert found["volume_m3"] == pytest.approx(np.pi * 180**2 * 10 / 2, rel=0.004)
    assert found["max_depth_m"] == pytest.approx(10.0, abs=0.02)
    x, y = np.random.default_rng(0).uniform(-110, 110, (2, 200))
    rows = bed.sample(x, y)
    assert rows[:, 0] == pytest.approx(10.0 * (1 - (x**2 + y**2) / 180.0**2), abs=0.03)
    assert rows[:, 1] == pytest.approx(-20.0 * x / 180.0**2, abs=0.004)


def test_a_tilted_plane_keeps_its_slope_and_straight_contour():
    bed = lake_of(lambda x, y: 15.0 + 0.03 * x + 0.04 * y, cell=2.0)
    x, y = np.random.default_rng(0).uniform(-190, 190, (2, 200))
    rows = bed.sample(x, y)
    assert rows[:, 0] == pytest.approx(15.0 + 0.03 * x + 0.04 * y, abs=0.01)
    assert rows[:, 1] == pytest.approx(0.03, abs=1e-3)
    assert rows[:, 2] == pytest.approx(0.04, abs=1e-3)
    for line_x, line_y in contours(bed, 15.0):
        assert 0.03 * line_x + 0.04 * line_y == pytest.approx(0.0, abs=0.01)


def test_a_sinusoid_is_followed_between_the_runs():
    def truth(x, y):
        return 10.0 + 2.0 * np.sin(2 * np.pi * x / 120.0) * np.cos(2 * np.pi * y / 150.0)

    bed = lake_of(truth, cell=2.0)
    x, y = np.random.default_rng(1).uniform(-180, 180, (2, 500))
    off = bed.sample(x, y)[:, 0] - truth(x, y)
    assert np.sqrt(np.mean(off**2)) < 0.03
    slope = bed.sample(x, y)[:, 1]
    exact = 4 * np.pi / 120 * np.cos(2 * np.pi * x / 120) * np.cos(2 * np.pi * y / 150)
    assert np.sqrt(np.mean((slope - exact) ** 2)) < 0.006


def test_the_error_grows_away_from_the_soundings(slate):
    from scipy.spatial import cKDTree

    run_x, run_y = (np.concatenate(v) for v in zip(*long_slate.tracks(90.0), strict=True))
    rng = np.random.default_rng(0)
    x, y = rng.uniform(-1500, 1500, 20_000), rng.uniform(-500, 500, 20_000)
    wet = np.array([slate.on_water(a, b) for a, b in zip(x, y, strict=True)])
    rows = slate.sample(x[wet], y[wet])
    far = cKDTree(np.column_stack([run_x, run_y])).query(np.column_stack([x[wet], y[wet]]))[0]
    level = np.hypot(rows[:, 1], rows[:, 2]) < 0.05
    close, middle = level & (far < 3.0), level & (far > 30.0)
    assert close.sum() > 100
    assert middle.sum() > 100
    assert np.median(rows[middle, 3]) > 3.0 * np.median(rows[close, 3])


def test_the_invented_lake_is_found_with_honest_errors(slate):
    f = slate.frame
    j, i = np.meshgrid(np.arange(f.columns), np.arange(f.rows))
    true = long_slate.true_depth(f.west + j * f.cell, f.south + i * f.cell)
    off = (slate.surface - true)[slate.wet]
    assert np.sqrt(np.mean(off**2)) < 1.5  # runs 90 m apart over breaks 30 m wide
    inside = np.abs(off) <= HALF_OF_90 * slate.sd[slate.wet]
    assert 0.85 < inside.mean() < 0.99  # sd is of a sounding there: a little more than the bed's
    found = slate.measure()
    assert found["area_m2"] == pytest.approx(np.count_nonzero(true > 0) * f.cell**2, rel=0.03)
    assert found["volume_m3"] == pytest.approx(true[true > 0].sum() * f.cell**2, rel=0.03)


def test_lake_227_against_its_published_figures(real_bed):
    # Brunskill & Schindler (1971), J. Fish. Res. Board Can. 28:139-155: 5.0 ha, mean 4.4 m,
    # greatest 10.0 m (from memory, see the data's README).
    found = real_bed.measure()
    # The soundings stop short of the shore and nobody gives it: their hull holds 4.8 ha, and the
    # rim is the bed run out to depth 0, at most a run's spacing (8 m) farther: 10 %.
    assert found["area_m2"] == pytest.approx(5.0e4, rel=0.10)
    # The survey's deepest sounding is 1.07 m deeper than the old figure; if the water stood so
    # much higher, the mean depth of much the same water would be up to 0.9 m greater.
    assert 4.4 < found["mean_depth_m"] < 5.3
    assert 10.0 < found["max_depth_m"] <= 11.07


def test_lake_227_left_out_runs_tell_no_worse_than_tin_and_spline(real, real_bed):
    # The full table, with kriging and every run on its own, is bench/bed.py.
    verde = pytest.importorskip("verde")
    from scipy.interpolate import LinearNDInterpolator, NearestNDInterpolator

    x, y = Place.about(real.latitude, real.longitude).to_metres(real.latitude, real.longitude)
    z = real.depth
    hands = folds(runs(x, y), 8)
    found = real_bed
    frame = Frame.around(x, y, 2.0, 25.0)
    from towscope.bed.gridding import Plate

    plate = Plate(found.facts["stiffness_m2"], found.facts["tension_reach_m"])
    ours = leave_out(thin(x, y, z, hands, frame), frame, plate).rmse

    def others(method):
        wrong = []
        for hand in hands:
            kept = np.ones(x.size, bool)
            kept[hand] = False
            wrong.append(method(x[kept], y[kept], z[kept], x[hand], y[hand]) - z[hand])
        return float(np.sqrt(np.mean(np.concatenate(wrong) ** 2)))

    def tin(a, b, c, to_a, to_b):
        p, q = np.column_stack([a, b]), np.column_stack([to_a, to_b])
        inside, beyond = LinearNDInterpolator(p, c)(q), NearestNDInterpolator(p, c)(q)
        return np.where(np.isfinite(inside), inside, beyond)

    def spline(damping):
        def method(a, b, c, to_a, to_b):
            return verde.Spline(damping=damping).fit((a, b), c).predict((to_a, to_b))

        return method

    best = min(others(tin), others(spline(None)), others(spline(1e-5)))
    assert ours <= best
    assert 0.85 <= found.facts["band_90_coverage"] <= 0.95


def test_depth_at_a_place_and_where_there_is_none(real_bed):
    depth, sd = real_bed.depth_at(49.688, -93.689)
    assert 10.0 < depth < 11.0
    assert 0.0 < sd < 1.0
    with pytest.raises(NoAnswer, match="from the sounded water"):
        real_bed.depth_at(49.70, -93.689)
    with pytest.raises(InputError, match="latitude -90 to 90"):
        real_bed.depth_at(149.0, -93.689)


def test_what_makes_no_bed_is_refused():
    lat, lon = PLACE.to_globe([0.0, 5.0], [0.0, 5.0])
    with pytest.raises(InputError, match="2 soundings: too few"):
        build(lat, lon, np.array([3.0, 4.0]))
    spot = np.full(20, 48.0), np.full(20, -92.0)
    with pytest.raises(InputError, match="one spot"):
        build(*spot, np.linspace(1, 2, 20))
    with pytest.raises(InputError, match="span"):
        build(np.linspace(40, 50, 50), np.linspace(-92, -90, 50), np.linspace(1, 2, 50))
    x, y = lines(500.0, 50.0)
    with pytest.raises(InputError, match="larger cells"):
        build(*PLACE.to_globe(x, y), 5.0 + 0.001 * x, cell=0.1)


def test_metres_are_metres_on_the_globe():
    # pyproj's Geod (Karney 2013, J. Geodesy 87:43-55)
    from pyproj import Geod

    place = Place(48.4, -91.9)
    rng = np.random.default_rng(0)
    x, y = rng.uniform(-5000, 5000, (2, 40))
    lat, lon = place.to_globe(x, y)
    _, _, far = Geod(ellps="WGS84").inv(lon[:-1], lat[:-1], lon[1:], lat[1:])
    assert np.hypot(np.diff(x), np.diff(y)) == pytest.approx(far, rel=1e-6)
    back = place.to_metres(lat, lon)
    assert np.abs(back[0] - x).max() < 1e-6


def test_runs_are_found_at_turns_and_gaps():
    t = np.arange(0.0, 200.0, 4.0)
    x = np.concatenate([t, np.full(t.size, 204.0), 204.0 - t, t])
    y = np.concatenate([np.zeros(t.size), t, np.full(t.size, 204.0), np.full(t.size, 500.0)])
    found = runs(x, y)
    assert found.max() == 3
    assert all(np.bincount(found)[k] == pytest.approx(50, abs=6) for k in range(4))
    hands = folds(found, 2)
    assert sum(h.size for h in hands) == x.size
    assert all(len(set(found[h])) == 2 for h in hands)


def test_cost_is_close_to_linear_in_soundings():
    # Each tenfold of soundings on one grid may cost at most tenfold, and a little for the noise
    # of the clock; what is measured is processor time, so that a busy machine does not matter.
    from time import process_time

    from towscope.bed.gridding import Plate

    frame = Frame(0.0, 0.0, 5.0, 200, 200)
    rng = np.random.default_rng(0)
    spent = []
    for n in (1_000, 10_000, 100_000, 1_000_000):
        x, y = rng.uniform(0, 990, (2, n))
        z = 10 + np.sin(x / 100) + rng.normal(0, 0.1, n)
        surface(x, y, z, frame, Plate(100.0, 500.0))
        start = process_time()
        surface(x, y, z, frame, Plate(100.0, 500.0))
        spent.append(process_time() - start)
    assert spent[3] < 13.0 * max(spent[2], 0.02)
