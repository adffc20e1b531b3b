"""Line on a spool, against hand-worked volumes and a turn-by-turn winding."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from towscope.errors import InputError
from towscope.tackle.models import Reel
from towscope.tackle.spool import capacity, counter, fill

REEL = Reel(capacity="200 yd of 0.36 mm", full_diameter="48 mm", arbor_diameter="22 mm")


def test_the_rated_line_fills_the_spool_exactly() -> None:
    state = fill(REEL, [(200 * 0.9144, 0.36e-3)])
    assert state.share == pytest.approx(1.0)
    assert state.backing == pytest.approx(0.0, abs=1e-9)


def test_capacity_goes_with_the_square_of_the_diameter() -> None:
    # By hand: 200 yd of 0.36 mm hold 200 * (0.36 / 0.60)^2 = 72 yd of 0.60 mm.
    state = fill(REEL, [(50 * 0.9144, 0.6e-3)])
    assert state.fits
    assert state.backing / 0.9144 == pytest.approx(22.0, abs=0.01)
    assert not fill(REEL, [(73 * 0.9144, 0.6e-3)]).fits
    assert fill(REEL, [(73 * 0.9144, 0.6e-3)]).over / 0.9144 == pytest.approx(1.0, abs=0.01)


@given(st.floats(5.0, 60.0), st.floats(10.0, 80.0))
def test_the_counter_against_a_winding_turn_by_turn(out: float, core: float) -> None:
    parts = [(core, 0.6e-3), (20.0, 0.25e-3)]
    state = fill(REEL, parts)
    if not state.fits or out > core:
        return
    # Wind it off a turn at a time: each takes one circumference, and its area out of the ring.
    width, packing = state.width, REEL.packing
    used = sum(math.pi / 4 * d * d * length for length, d in parts) / packing
    diameter = math.sqrt(0.022**2 + used / (math.pi / 4 * width))
    gone, turns = 0.0, 0.0
    while gone < out:
        step = min(math.pi * diameter * 0.01, out - gone)
        turns += step / (math.pi * diameter)
        gone += step
        area = math.pi / 4 * 0.6e-3**2 * step / packing
        diameter = math.sqrt(diameter**2 - area / (math.pi / 4 * width))
    assert counter(REEL, parts, out) == pytest.approx(turns * math.pi * 0.048, rel=1e-3)


def test_a_counter_reads_more_as_the_spool_shrinks() -> None:
    parts = [(65.0, 0.6e-3)]
    errors = [counter(REEL, parts, out) / out for out in (5.0, 20.0, 40.0, 60.0)]
    assert errors == sorted(errors)
    assert errors[0] == pytest.approx(1.0, abs=0.05)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "200",
        "200 yd",
        "yd of mm",
        "200 mph of 0.3 mm",
        "200 yd of 0.3",
        "0 yd of 0.3 mm",
        "200 yd of 30 mm",
        "-5 yd of 0.3 mm",
        "1e9 yd of 0.3 mm",
    ],
)
def test_a_rating_that_is_none_is_refused(text: str) -> None:
    with pytest.raises(InputError):
        capacity(text)


def test_a_counter_needs_the_spools_measures() -> None:
    with pytest.raises(InputError, match="full_diameter and arbor_diameter"):
        counter(Reel(capacity="200 yd of 0.36 mm"), [(50.0, 0.6e-3)], 20.0)
