"""What is mended, what is refused, and that each is said."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from towscope.boat.clean import clean
from towscope.boat.track import Fixes
from towscope.errors import InputError
from towscope.geodesy import Globe

T = np.arange(0.0, 400.0)
X, Y = 0.9 * T, 20.0 * np.sin(T / 40.0)


def metres(t=T, x=X, y=Y, **more):
    return Fixes(np.array(t), np.array(x), np.array(y), on_globe=False, dated=False, **more)


def off(track, t=T, x=X, y=Y):
    fx, fy, _, _ = track.at(t)
    return float(np.hypot(fx - x, fy - y).max())


def said(track, words):
    return any(words in repair for repair in track.repairs)


def test_good_fixes_stay_as_they_are():
    track = clean(metres())
    assert off(track) < 0.01
    assert track.repairs == () and track.gaps == () and track.cuts == ()
    assert track.speed[50] == pytest.approx(np.hypot(0.9, 0.5 * np.cos(50 / 40)), abs=2e-3)


@given(st.data())
def test_any_mix_of_faults_gives_the_same_way(data):
    order = np.arange(T.size)
    copies = data.draw(st.lists(st.integers(0, 399), max_size=20))
    spoilt = data.draw(st.lists(st.integers(20, 380), max_size=6, unique=True))
    leaps = data.draw(st.lists(st.integers(10, 389), max_size=6, unique=True))
    swaps = data.draw(st.lists(st.integers(0, 398), max_size=6, unique=True))
    t, x, y = T.copy(), X.copy(), Y.copy()
    x[spoilt] = np.nan
    y[leaps] += 1500.0
    for i in swaps:
        order[[i, i + 1]] = order[[i + 1, i]]
    order = np.concatenate([order, copies]).astype(int)
    order = order[np.argsort(order, kind="stable")] if not swaps else order
    track = clean(metres(t[order], x[order], y[order]))
    assert off(track) < 0.1
    assert bool(track.repairs) == bool(
        copies or spoilt or leaps or any(order[i] > order[i + 1] for i in range(len(order) - 1))
    )


def test_duplicates_are_named():
    t = np.repeat(T, 2)
    track = clean(metres(t, np.repeat(X, 2), np.repeat(Y, 2)))
    assert said(track, "left out 400 fixes: the same as another") and len(track) == 400


def test_fixes_of_one_second_are_averaged():
    track = clean(
        metres(np.repeat(T, 2), np.repeat(X, 2) + np.tile([0.5, -0.5], 400), np.repeat(Y, 2))
    )
    assert said(track, "averaged") and off(track) < 0.05


def test_a_track_turned_round_is_turned_back():
    track = clean(metres(T[::-1], X[::-1], Y[::-1]))
    assert said(track, "turned round") and off(track) < 0.01


def test_a_clock_set_back_is_refused():
    t = np.concatenate([T, T[:200] + 50.5])
    with pytest.raises(InputError, match="runs backwards after fix 400"):
        clean(metres(t, np.concatenate([X, 500.0 + X[:200]]), np.concatenate([Y, Y[:200]])))


def test_a_leap_of_a_kilometre_back_and_forth_is_left_out():
    x = X.copy()
    x[100:105] += 1000.0
    track = clean(metres(x=x))
    assert said(track, "left out 5 fixes up to 999 m off") and off(track) < 0.05


def test_a_leap_for_good_is_a_gap():
    x = X.copy()
    x[200:] += 1000.0
    track = clean(metres(x=x))
    assert track.cuts == (200,)
    assert "leap" in track.gaps[0].why and not track.gaps[0].bridged
    assert track.x[199] == pytest.approx(X[199], abs=0.05)
    assert track.x[200] == pytest.approx(X[200] + 1000.0, abs=0.05)


def test_first_fix_astray():
    x = X.copy()
    x[0] += 5000.0
    track = clean(metres(x=x))
    assert len(track) == 399 and said(track, "left out 1 fix up to 4,999 m off")


def test_short_gap_is_bridged_long_gap_is_not():
    keep = np.ones(400, dtype=bool)
    keep[100:130] = False
    track = clean(metres(T[keep], X[keep], Y[keep]))
    assert [g.bridged for g in track.gaps] == [True] and track.cuts == ()
    assert off(track) < 1.5  # half a minute of a curve, guessed
    keep[200:340] = False
    track = clean(metres(T[keep], X[keep], Y[keep]))
    assert [g.bridged for g in track.gaps] == [True, False] and len(track.stretches) == 2


def test_segments_are_named():
    track = clean(metres(starts=(150,)))
    assert track.gaps[0].why == "a new segment begins in the file" and track.gaps[0].bridged


def test_across_the_date_line():
    lat, lon = Globe(10.0, 179.999).to_globe(X, Y)
    assert (lon < 0).any() and (lon > 0).any()
    track = clean(Fixes(T + 1.7e9, lat, lon, on_globe=True, dated=True))
    assert track.repairs == () and track.epoch == 1.7e9
    assert off(track) < 0.02
    assert track.globe is not None
    back = track.globe.to_globe(track.x, track.y)[1]
    assert back == pytest.approx(lon, abs=1e-6)


def test_null_island_is_no_fix():
    lat, lon = Globe(46.9, -95.2).to_globe(X, Y)
    lat[7] = lon[7] = 0.0
    track = clean(Fixes(T, lat, lon, on_globe=True, dated=False))
    assert said(track, "left out 1 fix of 400: no sane place") and off(track) < 0.02


@pytest.mark.parametrize(
    ("t", "x", "words"),
    [
        ([0.0], [0.0], "1 usable fix;"),
        ([0.0, 0.0], [1.0, 1.0], "1 usable fix;.*left out 1 fix: the same"),
        ([np.nan] * 5, [1.0] * 5, "none of its 5 fixes"),
        ([0.0, 1.0], [np.nan, np.inf], "none of its 2 fixes"),
        (T, 3000.0 * T, "399 of 400 fixes lie where no boat"),
        (30 * T, 870.0 * T, "goes 347 km away"),
    ],
)
def test_refused(t, x, words):
    t = np.array(t, dtype=float)
    with pytest.raises(InputError, match=words):
        clean(metres(t, np.array(x, dtype=float), np.zeros(t.size)))


def test_too_long_is_refused_by_length():
    t = np.arange(0.0, 10e6, 10.0)
    with pytest.raises(InputError, match=r"2778 hours.*at most 48"):
        clean(metres(t, 0 * t, 0 * t), longest=48 * 3600.0)


def test_dense_fixes_are_thinned_and_said():
    t = np.arange(0.0, 400.0, 0.01)
    track = clean(metres(t, 0.9 * t, 20.0 * np.sin(t / 40.0)))
    assert said(track, "averaged 40,000 fixes over 0.2 s each") and len(track) <= 2001
    assert off(track, t=T[1:-1], x=X[1:-1], y=Y[1:-1]) < 0.05
