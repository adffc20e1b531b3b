from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from towscope.errors import InputError
from towscope.journal.track import LoggedTrack, decode, distance_m, encode, join, make_track, speeds


@settings(max_examples=40, deadline=None)
@given(st.integers(1, 400), st.integers(0, 2**32 - 1), st.booleans())
def test_a_block_gives_back_every_point_to_its_step(count: int, seed: int, gaps: bool) -> None:
    rng = np.random.default_rng(seed)
    t = 1.7e9 + np.cumsum(rng.integers(1, 5000, count)) / 1000
    columns = [
        rng.uniform(-90, 90, count),
        rng.uniform(-180, 180, count),
        rng.uniform(0, 20, count),
        rng.uniform(0, 300, count),
        rng.uniform(-2, 35, count),
    ]
    if gaps:
        for column in columns[2:]:
            column[rng.random(count) < 0.3] = np.nan
    track = make_track(t, *columns)
    back = decode(encode(track))
    for a, b, step in zip(
        track.columns, back.columns, (1e-3, 1e-7, 1e-7, 1e-3, 1e-3, 1e-2), strict=True
    ):
        np.testing.assert_allclose(a, b, rtol=0, atol=step * 0.5001)
    assert encode(back) == encode(track)  # so that the same points have the same name


def test_a_damaged_block_is_named_and_never_believed() -> None:
    block = encode(make_track([1.7e9, 1.7e9 + 1], [45, 45.1], [-93, -93]))
    for bad in (
        b"",
        block[:10],
        block[:-3],
        b"XXXX" + block[4:],
        block[:4] + b"\xff" * 8 + block[12:],
    ):
        with pytest.raises(InputError, match="damaged"):
            decode(bad)


@pytest.mark.parametrize(
    ("lat", "t"), [([45.0, 91.0], [1.7e9, 1.7e9 + 1]), ([45.0, np.nan], [1.7e9, 1.7e9 + 1]),
                   ([45.0, 45.0], [1.7e9, 5.0])]
)  # fmt: skip
def test_impossible_points_are_refused_by_number(lat: list[float], t: list[float]) -> None:
    with pytest.raises(InputError, match="point 2"):
        make_track(t, lat, [-93.0, -93.0])


def test_distance_against_the_ellipsoid() -> None:
    # reference: geographiclib's geodesics on WGS 84 by way of pyproj
    pyproj = pytest.importorskip("pyproj")
    rng = np.random.default_rng(3)
    a, b = rng.uniform(35, 60, 50), rng.uniform(-120, -70, 50)
    c, d = a + rng.uniform(-0.05, 0.05, 50), b + rng.uniform(-0.05, 0.05, 50)
    exact = pyproj.Geod(ellps="WGS84").inv(b, a, d, c)[2]
    np.testing.assert_allclose(distance_m(a, b, c, d), exact, rtol=0.006)


def test_speed_from_places_withstands_a_receivers_jitter() -> None:
    rng = np.random.default_rng(1)
    n = 1200
    lat = 45 + np.arange(n) * 0.9 / 111_195 + rng.normal(0, 0.3, n) / 111_195
    track = make_track(1.7e9 + np.arange(n), lat, np.full(n, -93.0))
    assert np.nanmedian(speeds(track)) == pytest.approx(0.9, abs=0.02)


def test_the_instruments_own_speed_comes_first_and_gaps_have_none() -> None:
    t = [1.7e9, 1.7e9 + 1, 1.7e9 + 1000, 1.7e9 + 2000]
    track = make_track(t, [45, 45.00001, 45.1, 45.2], [-93] * 4, [1.0, np.nan, np.nan, np.nan])
    found = speeds(track)
    assert found[0] == 1.0
    assert found[1] == pytest.approx(1.11, abs=0.01)
    assert np.isnan(found[2:]).all()


def test_stretches_join_in_time_order() -> None:
    early = make_track([1.7e9, 1.7e9 + 1], [45, 45], [-93, -93])
    late = make_track([1.7e9 + 5, 1.7e9 + 6], [45, 45], [-93, -93])
    assert join([late, early]).t_s.tolist() == [1.7e9, 1.7e9 + 1, 1.7e9 + 5, 1.7e9 + 6]
    assert len(join([])) == 0
    assert isinstance(join([early]), LoggedTrack)
