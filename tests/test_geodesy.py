"""Level metres against geodesics on the ellipsoid that PROJ has no part in."""

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st

from towscope.geodesy import Globe, Place

GEOD = Geodesic.WGS84


# Reference: geographiclib in Python (Karney 2013, J. Geodesy 87:43-55); ours is PROJ's own code.
@given(
    lat=st.floats(-80, 80),
    lon=st.floats(-180, 180),
    bearing=st.floats(-180, 180),
    far=st.floats(0, 50_000),
)
def test_distance_and_bearing_from_the_start(lat, lon, bearing, far):
    to = GEOD.Direct(lat, lon, bearing, far)
    to_lat, to_lon = to["lat2"], to["lon2"]
    x, y = Globe(lat, lon).to_metres([to_lat], [to_lon])
    angle = np.radians(bearing)
    assert x[0] == pytest.approx(far * np.sin(angle), abs=0.002)
    assert y[0] == pytest.approx(far * np.cos(angle), abs=0.002)
    back_lat, back_lon = Globe(lat, lon).to_globe(x, y)
    off = GEOD.Inverse(to_lat, to_lon, back_lat[0], back_lon[0])["s12"]
    assert off < 0.001


def test_distances_between_two_points_off_the_start():
    here = Globe(46.9, -95.2)
    lat, lon = here.to_globe([3000.0, 3400.0], [2000.0, 1200.0])
    apart = GEOD.Inverse(lat[0], lon[0], lat[1], lon[1])["s12"]
    assert apart == pytest.approx(np.hypot(400.0, 800.0), rel=1e-6)


def test_the_textbook_line_from_flinders_peak_to_buninyong():
    # Source: worked example of the Geocentric Datum of Australia Technical Manual (GRS 80, as good
    # as WGS 84 here): 54,972.271 m at 306 deg 52' 05.37"; from memory
    def degrees(d: float, m: float, s: float) -> float:
        return d + m / 60.0 + s / 3600.0

    peak = Globe(-degrees(37, 57, 3.72030), degrees(144, 25, 29.52440))
    x, y = peak.to_metres([-degrees(37, 39, 10.15610)], [degrees(143, 55, 35.38390)])
    assert np.hypot(x[0], y[0]) == pytest.approx(54_972.271, abs=0.001)
    bearing = np.degrees(np.arctan2(x[0], y[0])) % 360.0
    assert bearing == pytest.approx(degrees(306, 52, 5.37), abs=0.005 / 3600.0)


def test_no_seam_at_the_date_line():
    x, _ = Globe(10.0, 179.9995).to_metres([10.0, 10.0], [179.9999, -179.9999])
    assert x[1] - x[0] == pytest.approx(0.0002 * 111_320 * np.cos(np.radians(10.0)), rel=2e-3)
    _, lon = Globe(10.0, 179.9995).to_globe(x, [0.0, 0.0])
    assert lon == pytest.approx([179.9999, -179.9999], abs=1e-9)


@pytest.mark.parametrize("frame", [Globe, Place])
def test_figures_of_numpy_mean_the_same_place(frame):
    own = frame(48.4, -91.9).to_metres([48.5], [-91.8])
    assert frame(np.float64(48.4), np.float64(-91.9)).to_metres([48.5], [-91.8]) == own
