"""Level metres against geodesics on the ellipsoid."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from towscope.geodesy import Globe, Place


# Reference: pyproj.Geod (PROJ; Karney 2013, J. Geodesy 87:43-55), an independent code.
@given(
    lat=st.floats(-80, 80),
    lon=st.floats(-180, 180),
    bearing=st.floats(-180, 180),
    far=st.floats(0, 50_000),
)
def test_distance_and_bearing_from_the_start(lat, lon, bearing, far):
    geod = pytest.importorskip("pyproj").Geod(ellps="WGS84")
    to_lon, to_lat, _ = geod.fwd(lon, lat, bearing, far)
    x, y = Globe(lat, lon).to_metres([to_lat], [to_lon])
    angle = np.radians(bearing)
    assert x[0] == pytest.approx(far * np.sin(angle), abs=0.002)
    assert y[0] == pytest.approx(far * np.cos(angle), abs=0.002)
    back_lat, back_lon = Globe(lat, lon).to_globe(x, y)
    off = geod.inv(to_lon, to_lat, back_lon[0], back_lat[0])[2]
    assert off < 0.001


def test_distances_between_two_points_off_the_start():
    geod = pytest.importorskip("pyproj").Geod(ellps="WGS84")
    here = Globe(46.9, -95.2)
    lat, lon = here.to_globe([3000.0, 3400.0], [2000.0, 1200.0])
    apart = geod.inv(lon[0], lat[0], lon[1], lat[1])[2]
    assert apart == pytest.approx(np.hypot(400.0, 800.0), rel=1e-6)


def test_no_seam_at_the_date_line():
    x, _ = Globe(10.0, 179.9995).to_metres([10.0, 10.0], [179.9999, -179.9999])
    assert x[1] - x[0] == pytest.approx(0.0002 * 111_320 * np.cos(np.radians(10.0)), rel=2e-3)
    _, lon = Globe(10.0, 179.9995).to_globe(x, [0.0, 0.0])
    assert lon == pytest.approx([179.9999, -179.9999], abs=1e-9)


@pytest.mark.parametrize("frame", [Globe, Place])
def test_figures_of_numpy_mean_the_same_place(frame):
    own = frame(48.4, -91.9).to_metres([48.5], [-91.8])
    assert frame(np.float64(48.4), np.float64(-91.9)).to_metres([48.5], [-91.8]) == own
