"""The steady engine against closed forms, an independent integration, and the trade."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from reference import depth_for_let_out

from towscope.tackle import load
from towscope.towing.questions import (
    FEET,
    MPH,
    depths_by_let_out,
    let_out_for,
    line_shape,
    where_at,
)
from towscope.towing.steady import DEPTH, LAYBACK, LET_OUT, TENSION
from towscope.towing.tow import Doubt, Setting, Tow
from towscope.water import fresh_water

WATER = fresh_water(20.0)
MEDIUM = np.array([WATER.density, WATER.kinematic_viscosity, 1.204, 1.51e-5])
G = 9.80665


def make(pieces: list[list[float]], lure: list[float], tip: float = 0.9) -> Tow:
    """Make a tow of pieces [length, diameter, kg/m, Cn, Cf], a negative coefficient for the law."""
    rows = []
    for length, d, mass, cn, cf in pieces:
        weight = (mass - WATER.density * math.pi / 4 * d * d) * G
        rows.append([length, d, weight, mass * G, cn, cf, 1.0, 1.0])
    n = len(rows)
    return Tow(
        np.array(rows),
        np.array(lure),
        MEDIUM,
        tip,
        tuple(f"line-{i}" for i in range(n)),
        np.full(n, np.nan),
        np.full(n, 100.0),
        Doubt(np.arange(n), np.full(n, 0.1), np.full(n, 0.3), np.full(n, 0.05), 0.3, 0.2, 0.003),
    )


CORE = [200.0, 0.6e-3, 2.34e-3, 1.5, 0.02]


# Closed forms.


def test_a_long_line_lies_at_its_critical_angle() -> None:
    # tan(phi) sin(phi) = 2 w / (rho d Cn V^2): where weight and cross-flow drag balance.
    tow, setting = make([CORE], [4e-4, 1e-4, 0.0]), Setting(0.9)
    w = tow.pieces[0, 2]
    ratio = 2 * w / (WATER.density * 0.6e-3 * 1.5 * 0.9**2)
    cosine = (-ratio + math.sqrt(ratio**2 + 4)) / 2  # sin^2 = ratio cos
    points = line_shape(tow, 150.0, setting, 1.0)
    rise = (points[-10, 3] - points[-20, 3]) / (points[-20, 0] - points[-10, 0])
    assert rise == pytest.approx(math.sqrt(1 - cosine**2), rel=1e-4)


def test_with_no_weight_and_no_friction_the_line_is_a_catenary_on_its_side() -> None:
    # T is constant and k = rho d Cn V^2 / (2 T): s = (cot phi - cot phi0) / k,
    # z = ln(tan(phi0 / 2) / tan(phi / 2)) / k, x = (1 / sin phi - 1 / sin phi0) / k.
    v, d, cn = 1.2, 1e-3, 1.3
    line = [60.0, d, WATER.density * math.pi / 4 * d * d, cn, 0.0]
    tow = make([line], [5e-3, 4e-3, 0.0], tip=0.0)
    q = 0.5 * WATER.density * v * v
    tension, phi0 = q * math.hypot(5e-3, 4e-3), math.atan2(4e-3, 5e-3)
    k = q * d * cn / tension
    for s in (5.0, 20.0, 55.0):
        phi = math.atan(1.0 / (k * s + 1.0 / math.tan(phi0)))
        z = math.log(math.tan(phi0 / 2) / math.tan(phi / 2)) / k
        x = (1.0 / math.sin(phi) - 1.0 / math.sin(phi0)) / k
        where = where_at(tow, s, Setting(v))
        assert where.depth == pytest.approx(z, rel=1e-5)
        assert where.layback == pytest.approx(x, rel=1e-5)
        assert where.tension == pytest.approx(tension, rel=1e-6)


def test_with_no_drag_on_the_line_it_hangs_in_a_catenary() -> None:
    # H = lure drag; with V0 its down-pull and a = H / w: z = a (cosh u - cosh u0).
    v, drag, dive = 0.8, 2e-2, 1e-3
    tow = make([[80.0, 0.6e-3, 2.34e-3, 0.0, 0.0]], [drag, dive, 0.05], tip=0.0)
    q = 0.5 * WATER.density * v * v
    h, v0, w = q * drag, q * dive + 0.05, tow.pieces[0, 2]
    a = h / w
    for s in (10.0, 40.0):
        vertical = v0 + w * s
        z = a * (math.hypot(1.0, vertical / h) - math.hypot(1.0, v0 / h))
        x = a * (math.asinh(vertical / h) - math.asinh(v0 / h))
        where = where_at(tow, s, Setting(v))
        assert where.depth == pytest.approx(z, rel=1e-5)
        assert where.layback == pytest.approx(x, rel=1e-5)


def test_at_rest_the_line_hangs_straight_down() -> None:
    tow = make([CORE], [4e-4, 0.0, 0.1], tip=1.0)
    where = where_at(tow, 30.0, Setting(1e-4))
    assert where.depth == pytest.approx(29.0, rel=1e-4)
    assert where.layback == pytest.approx(0.0, abs=0.05)
    assert where.tension == pytest.approx(
        0.1 + tow.pieces[0, 2] * 29.0 + tow.pieces[0, 3] * 1.0, rel=1e-4
    )


def test_a_gentle_slope_takes_the_tips_height_in_line() -> None:
    # At 13 degrees a tip 3 ft up takes 3 / sin 13 = 13.3 ft of line (the design's own figure).
    tow = make([[200.0, 0.6e-3, 2.34e-3, 1.5, 0.02]], [4e-4, 1e-4, 0.0], tip=3 * FEET)
    flat = make([[200.0, 0.6e-3, 2.34e-3, 1.5, 0.02]], [4e-4, 1e-4, 0.0], tip=0.0)
    speed = 0.98  # near 13 degrees
    deep = where_at(flat, 100.0, Setting(speed)).depth
    more = let_out_for(tow, deep, Setting(speed)).where.let_out - 100.0
    assert more / FEET == pytest.approx(13.3, abs=0.7)


# An independent integration.

LINE = st.tuples(
    st.floats(2.0, 60.0),  # length
    st.floats(0.15e-3, 1.2e-3),  # diameter
    st.floats(1050.0, 9000.0),  # density
    st.one_of(st.just(-1.0), st.floats(0.8, 2.0)),
    st.one_of(st.just(-1.0), st.floats(0.0, 0.05)),
)
RIGS = st.builds(
    lambda lines, drag, dive, weight, tip: make(
        [[le, d, rho * math.pi / 4 * d * d, cn, cf] for le, d, rho, cn, cf in lines],
        [drag, dive * drag, weight],
        tip,
    ),
    st.lists(LINE, min_size=1, max_size=4),
    st.floats(1e-4, 3e-3),
    st.floats(0.0, 1.5),
    st.floats(0.0, 0.5),
    st.floats(0.0, 2.5),
)


@settings(max_examples=80)
@given(RIGS, st.floats(0.4, 2.5), st.floats(0.2, 1.0))
def test_it_agrees_with_dop853_in_angle_and_tension(tow: Tow, speed: float, part: float) -> None:
    # Source: scipy.integrate.solve_ivp, method DOP853, rtol 1e-10, on the equations in phi and T.
    setting = Setting(speed)
    depth, let_out, layback, tension = depth_for_let_out(tow, setting, part * tow.length)
    assume(depth > 0.05)
    longer = tow.with_length(max(tow.length, let_out + 1.0))
    where = where_at(longer, let_out, setting)
    # A tenth of a millimetre or of a millinewton is near enough for a line gone nearly slack.
    assert where.depth == pytest.approx(depth, rel=1e-4, abs=1e-4)
    assert where.layback == pytest.approx(layback, rel=1e-4, abs=1e-4)
    assert where.tension == pytest.approx(tension, rel=1e-4, abs=1e-4)
    asked = let_out_for(longer, depth, setting)
    assert asked.where.let_out == pytest.approx(let_out, rel=1e-4, abs=1e-3)


def test_the_sweep_and_the_single_questions_are_one() -> None:
    tow, setting = load(own=False).tow("demo"), Setting(0.9)
    let_outs = np.linspace(20.0, 100.0, 17)
    rows = depths_by_let_out(tow, let_outs, setting)
    for row in rows:
        answer = let_out_for(tow, float(row[DEPTH]), setting)
        assert answer.where.let_out == pytest.approx(row[LET_OUT], rel=1e-6)
        assert answer.where.layback == pytest.approx(row[LAYBACK], rel=1e-6)
        assert answer.where.tension == pytest.approx(row[TENSION], rel=1e-6)


def test_an_even_current_in_layers_is_the_even_current() -> None:
    tow = load(own=False).tow("demo")
    even = where_at(tow, 50.0, Setting(0.9, ((0.0, -0.1, 0.05),)))
    layers = where_at(tow, 50.0, Setting(0.9, tuple((d, -0.1, 0.05) for d in (0.0, 5.0, 40.0))))
    assert layers.depth == pytest.approx(even.depth, rel=1e-6)
    assert layers.layback == pytest.approx(even.layback, rel=1e-6)
    assert layers.side == pytest.approx(even.side, rel=1e-6)
    assert even.side > 0.0  # from port, so to starboard


def test_a_current_by_depth_against_an_independent_integration() -> None:
    # Source: scipy.integrate.solve_ivp on the vector form, lure depth fixed, current 0.3 m/s at
    # the surface falling evenly to nothing at 10 m.
    from scipy.integrate import solve_ivp

    tow = make([CORE], [4e-4, 1e-4, 0.02], tip=0.0)
    depth, v = 9.0, 0.9

    def ahead(z: float) -> float:
        return v - 0.3 * max(0.0, 1.0 - max(depth - z, 0.0) / 10.0)

    def slope(_: float, y: np.ndarray) -> list[float]:
        phi, tension = math.atan2(y[3], y[2]), math.hypot(y[2], y[3])
        u = ahead(y[1])
        fn = 0.5 * WATER.density * 0.6e-3 * 1.5 * (u * math.sin(phi)) * abs(u * math.sin(phi))
        ft = 0.5 * WATER.density * math.pi * 0.6e-3 * 0.02 * (u * math.cos(phi)) ** 2
        return [
            y[2] / tension,
            y[3] / tension,
            fn * math.sin(phi) + ft * math.cos(phi),
            tow.pieces[0, 2] - fn * math.cos(phi) + ft * math.sin(phi),
        ]

    q = 0.5 * WATER.density * ahead(0.0) ** 2

    def surface(_: float, y: np.ndarray) -> float:
        return float(y[1] - depth)

    surface.terminal = True  # type: ignore[attr-defined]
    run = solve_ivp(
        slope,
        (0.0, 190.0),
        [0.0, 0.0, q * 4e-4, q * 1e-4 + 0.02],
        method="DOP853",
        rtol=1e-10,
        atol=1e-12,
        events=surface,
    )
    setting = Setting(v, ((0.0, 0.3, 0.0), (10.0, 0.0, 0.0)))
    answer = let_out_for(tow, depth, setting)
    assert answer.where.let_out == pytest.approx(float(run.t[-1]), rel=1e-4)
    again = where_at(tow, answer.where.let_out, setting)
    assert again.depth == pytest.approx(depth, rel=1e-6)


# What must be so.


@settings(max_examples=40)
@given(RIGS, st.floats(0.4, 2.0), st.floats(1.05, 1.5))
def test_more_line_runs_deeper(tow: Tow, speed: float, more: float) -> None:
    rows = depths_by_let_out(tow, np.linspace(0.1, 1.0, 30) * tow.length, Setting(speed))
    assert np.all(np.diff(rows[:, DEPTH]) >= -1e-9)


@settings(max_examples=40)
@given(RIGS, st.floats(0.5, 2.0), st.floats(1.05, 1.5))
def test_slower_runs_deeper_where_weight_does_the_sinking(
    tow: Tow, speed: float, more: float
) -> None:
    # A lip's pull grows with speed as drag does; without it, only weight sinks the lure.
    heavy = replace(tow, lure=np.array([tow.lure[0], 0.0, tow.lure[2]]))
    out = 0.9 * tow.length
    slow, fast = (
        depths_by_let_out(heavy, [out], Setting(v))[0, DEPTH] for v in (speed, speed * more)
    )
    assert slow >= fast - 1e-6


@settings(max_examples=40)
@given(RIGS, st.floats(0.5, 2.0), st.floats(1.05, 1.5))
def test_heavier_runs_deeper(tow: Tow, speed: float, more: float) -> None:
    pieces = tow.pieces.copy()
    pieces[:, 2] *= more
    heavier = replace(tow, pieces=pieces, lure=tow.lure * np.array([1.0, 1.0, more]))
    out = 0.9 * tow.length
    light, heavy = (depths_by_let_out(t, [out], Setting(speed))[0, DEPTH] for t in (tow, heavier))
    assert heavy >= light - 1e-6


def test_a_lure_that_floats_above_heavy_core_knows_how_deep_its_line_hangs() -> None:
    tow = make(
        [[10.0, 0.3e-3, 0.08e-3, -1, -1], [60.0, 0.6e-3, 2.34e-3, -1, -1]], [4e-4, 0.0, -0.1]
    )
    where = where_at(tow, 60.0, Setting(0.5))
    assert where.deepest > where.depth + 0.3
    points = line_shape(tow, 60.0, Setting(0.5), 0.25)
    assert points[:, 3].max() == pytest.approx(where.deepest, abs=0.05)


# The trade. Common practice, no source: 10 yd a colour; depth a colour at trolling speeds.


def per_colour(rig: str, speed_mph: float) -> float:
    tow = load(own=False).tow(rig)
    rows = depths_by_let_out(tow, np.array([140.0, 200.0]) * FEET, Setting(speed_mph * MPH))
    return float(rows[1, DEPTH] - rows[0, DEPTH]) / FEET / 2.0


@pytest.mark.parametrize(
    ("rig", "speed", "feet"),
    [("demo", 2.0, 7.0), ("demo", 2.2, 6.5), ("demo", 1.75, 7.5), ("demo-bulky", 2.0, 5.0)],
)
def test_feet_a_colour_are_what_trollers_count_on(rig: str, speed: float, feet: float) -> None:
    assert per_colour(rig, speed) == pytest.approx(feet, abs=0.5)


def test_170_ft_of_thin_core_and_200_ft_of_bulky_run_at_27_to_30_ft() -> None:
    # Common practice, no source: small lure, 30 ft leader, near 2.2 mph.
    shelf = load(own=False)
    for rig, feet in (("demo", 170.0), ("demo-bulky", 200.0)):
        depth = where_at(shelf.tow(rig), feet * FEET, Setting(2.2 * MPH)).depth / FEET
        assert 27.0 <= depth <= 30.0


def test_a_colour_is_ten_yards() -> None:
    shelf = load(own=False)
    for name, line in shelf.lines.items():
        if "core" in name:
            assert line.color_length == pytest.approx(9.144)
