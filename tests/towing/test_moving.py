"""The moving engine against the steady one, mechanics, and the trade."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from moving_rigs import HALF_TURN, SPEED, behind, make, rigs, steady_circle, thin_core

from towscope.errors import NoAnswer
from towscope.tackle import load
from towscope.towing import moving_kernels as mk
from towscope.towing.drag import Fluid, Skin, line_force
from towscope.towing.lookahead import Boat, Manoeuvre, ahead
from towscope.towing.moving import Lines, run, settled, step
from towscope.towing.questions import where_at
from towscope.towing.steady import LENGTH, WATER_WEIGHT
from towscope.towing.tow import Setting

NORTH = Boat(0.0, 0.0, SPEED, 0.0)
FEET = 0.3048
few = settings(max_examples=12)
some = settings(max_examples=40)


# The same forces as the steady engine.

direction = st.tuples(*[st.floats(-1.0, 1.0)] * 3)


@some
@given(direction, direction, st.booleans())
def test_the_forces_and_their_slopes_are_those_of_the_drag_laws(u, t, law) -> None:
    u, t = np.array(u), np.array(t)
    assume(np.linalg.norm(t) > 0.1 and np.linalg.norm(u) > 0.05)
    t /= np.linalg.norm(t)
    assume(np.linalg.norm(u - (u @ t) * t) > 0.02)
    fixed = (-1.0, -1.0) if law else (1.4, 0.01)
    figures = Skin(0.6e-3, *fixed, 1.1, 0.9), Fluid(998.2, 1e-6)
    along, across_rate, along_rate, nn, tt, tn, nt = mk.line_slopes(*u, *t, *figures)
    n = u - along * t
    force = np.array(line_force(*u, *t, *figures))
    assert across_rate * n + along_rate * along * t == pytest.approx(force, rel=1e-12)
    one = np.eye(3)
    by_u = across_rate * one + tt * np.outer(t, t) + nn * np.outer(n, n) + tn * np.outer(t, n)
    h = 1e-6
    slope = np.array(
        [
            np.subtract(
                line_force(*(u + h * e), *t, *figures), line_force(*(u - h * e), *t, *figures)
            )
            for e in one
        ]
    ).T / (2 * h)
    assert by_u == pytest.approx(slope, rel=1e-4, abs=1e-4 * np.abs(slope).max())
    by_t = (
        (along_rate - across_rate) * along * one + nt * np.outer(t, n) - along * nn * np.outer(n, n)
    )
    side = np.cross(t, [0.3, 0.5, 0.8])
    side /= np.linalg.norm(side)
    turned = [(t + s * h * side) / np.linalg.norm(t + s * h * side) for s in (1.0, -1.0)]
    slope_t = np.subtract(
        line_force(*u, *turned[0], *figures), line_force(*u, *turned[1], *figures)
    )
    expected = slope_t / (2 * h)
    assert by_t @ side == pytest.approx(expected, rel=1e-4, abs=1e-4 * np.abs(expected).max())


@some
@given(rigs(), st.floats(0.4, 1.8), st.floats(0.1, 0.9))
def test_at_steady_speed_it_gives_the_steady_engines_answer(tow, speed, share) -> None:
    # Aim: 0.1 % over random rigs, or 3 mm where that is more. Measured: 0.05 % of 3 m or more. Met
    # among other examples, and not mended: 3.2 mm at 2.6 m and 5.7 mN of 0.13 N, on a short core
    # (5 m of leader, 10 m of core) with fine backing out behind it.
    let_out = 12.0 + share * (tow.length - 212.0 + 30.0)
    try:
        where = where_at(tow, let_out, Setting(speed))
    except NoAnswer:  # the lure stays at the surface: the steady engine has no answer to compare
        assume(False)
    assume(where.depth > 0.3 and math.isfinite(where.tension))
    state = settled(Lines.of([tow]), let_out, speed, 0.7)
    layback = float(np.hypot(*(state.tip - state.lure)[0, :2]))
    assert state.depth[0] == pytest.approx(where.depth, rel=1e-3, abs=3e-3)
    assert layback == pytest.approx(where.layback, rel=1e-3)
    assert state.rod[0] == pytest.approx(where.tension, rel=2e-3)


@few
@given(rigs(), st.floats(0.6, 1.5))
def test_so_it_does_in_a_current_that_changes_with_depth(tow, speed) -> None:
    let_out = tow.pieces[0, LENGTH] + 0.8 * tow.pieces[1, LENGTH]
    current = ((0.0, 0.1, 0.05), (4.0, -0.05, 0.0), (15.0, -0.1, -0.05))
    where = where_at(tow, let_out, Setting(speed, current))
    assume(where.depth > 0.3 and math.isfinite(where.tension))
    # heading north: along is north, across (to starboard) is east
    rows = np.array([[d, across, along] for d, along, across in current])
    state = settled(Lines.of([tow]), let_out, speed, 0.0, current=rows)
    assert state.depth[0] == pytest.approx(where.depth, rel=2e-3, abs=3e-3)
    assert (state.tip - state.lure)[0, 1] == pytest.approx(where.layback, rel=1e-3)


def test_a_settled_tow_stays_as_it_is_and_comes_back_to_it() -> None:
    lines = Lines.of([thin_core()])
    state = settled(lines, 51.8, SPEED)
    straight = ahead(lines, state, NORTH, seconds=60.0)
    assert np.ptp(straight.depth) < 1e-3
    # knocked out of it by a turn it returns to the same depth on the new course
    turn = ahead(lines, state, NORTH, HALF_TURN, 400.0)
    assert turn.depth[0, -1] == pytest.approx(state.depth[0], rel=1e-3)
    assert turn.tension[0, -1] == pytest.approx(state.rod[0], rel=1e-3)


def test_at_rest_the_line_hangs_straight_down() -> None:
    lines = Lines.of([thin_core(tip=0.0)])
    state = settled(lines, 30.0, 0.0)
    assert state.depth[0] == pytest.approx(30.0, rel=1e-3)
    assert np.hypot(*state.lure[0, :2]) < 0.05


# Mechanics.


@few
@given(rigs(), st.floats(8.0, 40.0), st.floats(0.5, 1.5))
def test_a_mirrored_turn_gives_the_mirror_image(tow, radius, speed) -> None:
    lines = Lines.of([tow])
    let_out = tow.pieces[0, LENGTH] + 0.5 * tow.pieces[1, LENGTH]
    boat = replace(NORTH, speed=speed)
    state = settled(lines, let_out, speed)
    port, starboard = (
        ahead(lines, state, boat, Manoeuvre(turn=side * 2.0, radius=radius), 60.0)
        for side in (-1.0, 1.0)
    )
    assert port.lure * [-1.0, 1.0, 1.0] == pytest.approx(starboard.lure, abs=2e-4)
    assert port.tension == pytest.approx(starboard.tension, rel=1e-3)


@few
@given(rigs(), st.floats(-0.3, 0.3), st.floats(-0.3, 0.3))
def test_a_current_that_is_the_same_everywhere_only_carries_everything_along(
    tow, east, north
) -> None:
    lines = Lines.of([replace(tow, tip=0.0)], mounts=np.array([[0.0, 0.0, 0.0]]))
    let_out = tow.pieces[0, LENGTH] + 0.5 * tow.pieces[1, LENGTH]
    still = settled(lines, let_out, SPEED)
    times, tip = behind(lines, NORTH, HALF_TURN, 60.0, 0.25)
    at_rest = run(lines, still, times, tip)
    carried = times[:, None] * np.array([east, north, 0.0])
    speed, course = math.hypot(east, SPEED + north), math.atan2(east, SPEED + north)
    current = np.array([[0.0, east, north]])
    moving = run(
        lines,
        settled(lines, let_out, speed, course, current=current),
        times,
        tip + carried,
        current=current,
    )
    assert moving.lure - carried == pytest.approx(at_rest.lure, abs=5e-3)


def _lengths(state, lines, row=0):
    """Chords over lengths of the segments of a row."""
    shape = state.shape(row)
    ends = np.append(lines.knots[0][: len(shape) - 1], state.let_out[row])
    return np.linalg.norm(np.diff(shape, axis=0), axis=1) / np.diff(ends)


@few
@given(
    rigs(), st.lists(st.tuples(st.floats(0.0, 1.5), st.floats(-2.0, 2.0)), min_size=3, max_size=6)
)
def test_length_is_kept_in_any_manoeuvre(tow, legs) -> None:
    lines = Lines.of([tow])
    let_out = tow.pieces[0, LENGTH] + 0.7 * tow.pieces[1, LENGTH]
    plan = [
        Manoeuvre(speed=v, turn=a, radius=12.0, acceleration=0.3, begin=10.0 * i)
        for i, (v, a) in enumerate(legs)
    ]
    passage = ahead(
        lines, settled(lines, let_out, SPEED), NORTH, plan, 10.0 * len(plan), shapes=True
    )
    assert np.isfinite(passage.lure).all() and passage.unsettled.sum() == 0
    assert (passage.tension > 0.0).all()
    ratios = _lengths(passage.state, lines)
    taut = passage.state.pull[0, : len(ratios)] > 2e-3
    assert (np.abs(ratios - 1.0)[taut] < 1e-3).all()
    # where it is limp it may be short, never long
    assert (ratios < 1.001).all()
    # no point of the line is further from the tip than line reaches
    reach = np.linalg.norm(passage.lure - passage.tip, axis=2)
    assert (reach <= let_out * 1.001).all()


def _energy(state, tow, lines):
    """Weight lifted, along one row: line and lure [J], all in the water."""
    shape = state.shape(0)
    ends = np.append(lines.knots[0][: len(shape) - 1], state.let_out[0])
    weight = tow.pieces[lines.part[0, : len(shape) - 1], WATER_WEIGHT]
    lifted = np.sum(weight * np.diff(ends) * 0.5 * (shape[1:, 2] + shape[:-1, 2]))
    return float(lifted + tow.lure[2] * shape[0, 2])


@few
@given(rigs(), st.floats(0.5, 1.5))
def test_no_energy_comes_from_nothing(tow, speed) -> None:
    # The tip held still in still water can give none: what weight has been lifted only comes down.
    # And while it moves, what it gives pays for all that is lifted.
    tow = replace(tow, tip=0.0)
    lines = Lines.of([tow], mounts=np.array([[0.0, 0.0, -0.05]]))
    state = settled(lines, tow.pieces[0, LENGTH] + 0.6 * tow.pieces[1, LENGTH], speed)
    assume(state.depth[0] > 0.5)
    boat = replace(NORTH, speed=speed)
    times, tip = behind(
        lines,
        boat,
        [Manoeuvre(turn=2.0, radius=10.0), Manoeuvre(speed=0.0, begin=25.0)],
        70.0,
        0.25,
    )
    given_, had = 0.0, _energy(state, tow, lines)
    for i in range(1, len(times)):
        new = step(lines, state, tip[:, i], 0.25)
        along = new.tip[0] - new.shape(0)[-2]
        pull = new.rod[0] * along / np.linalg.norm(along)
        given_ += float(pull @ (tip[0, i] - tip[0, i - 1]))
        now = _energy(new, tow, lines)
        if new.place[0, : new.count[0], 2].max() < 0.0:
            assert now - had < given_ + 0.02
            if np.abs(tip[0, i] - tip[0, i - 1]).max() == 0.0:
                # all but the last swing of the moving mass, milliwatts
                assert now < _energy(state, tow, lines) + 2e-3
        state = new


# The scheme.


def test_error_falls_with_the_square_of_the_step() -> None:
    lines = Lines.of([thin_core()])
    state = settled(lines, 51.8, SPEED)
    runs = {}
    for dt in (1.0, 0.5, 0.25, 0.0625):
        times, tip = behind(lines, NORTH, HALF_TURN, 120.0, dt)
        runs[dt] = run(lines, state, times, tip, longest_step=dt).lure[0, :: round(1 / dt)]
    errors = [np.abs(runs[dt] - runs[0.0625]).max() for dt in (1.0, 0.5, 0.25)]
    # measured: 15, 3.7, 0.9 mm; a step of 1 s is good to two centimetres in a turn
    assert errors[0] < 0.03 and errors[2] < 0.002
    assert 3.0 < errors[0] / errors[1] < 5.5 and 3.0 < errors[1] / errors[2] < 5.5


def test_error_falls_with_the_square_of_the_segments() -> None:
    deepest = {}
    for segment in (2.0, 1.0, 0.25):
        lines = Lines.of([thin_core()], segment=segment)
        passage = ahead(lines, settled(lines, 51.8, SPEED), NORTH, HALF_TURN, 120.0)
        deepest[segment] = passage.depth
    errors = [np.abs(deepest[s] / deepest[0.25] - 1.0).max() for s in (2.0, 1.0)]
    # measured: 0.011 %, 0.050 % of depth
    assert errors[1] < 5e-4 and errors[0] < 2e-3
    assert 3.0 < errors[0] / errors[1] < 6.0


@few
@given(rigs(), st.floats(8.0, 40.0), st.floats(0.5, 1.5))
def test_halving_the_step_changes_depth_by_less_than_half_a_percent(tow, radius, speed) -> None:
    lines = Lines.of([tow])
    let_out = tow.pieces[0, LENGTH] + 0.5 * tow.pieces[1, LENGTH]
    state = settled(lines, let_out, speed)
    assume(state.depth[0] > 1.0)
    boat = replace(NORTH, speed=speed)
    plan = [Manoeuvre(turn=math.pi, radius=radius), Manoeuvre(speed=0.6 * speed, begin=30.0)]
    depths = []
    for dt in (0.5, 0.25):
        times, tip = behind(lines, boat, plan, 60.0, dt)
        depths.append(run(lines, state, times, tip, longest_step=dt).depth[0, :: round(0.5 / dt)])
    assert depths[0] == pytest.approx(depths[1], rel=5e-3, abs=5e-3)


def test_a_step_leaves_the_old_state_alone_and_a_run_is_its_steps() -> None:
    lines = Lines.of([thin_core(), load().tow("demo")], draws=3)
    state = settled(lines, [40.0, 51.8], SPEED)
    kept = state.place.copy(), state.pull.copy(), state.count.copy()
    times, tip = behind(lines, NORTH, HALF_TURN, 10.0, 0.5)
    whole = run(lines, state, times, tip, longest_step=0.5)
    live = state
    for i in range(1, len(times)):
        live = step(lines, live, tip[:, i], 0.5)
    assert live.place[:, 0] == pytest.approx(whole.lure[:, -1], abs=1e-9)
    assert all(
        (a == b).all() for a, b in zip(kept, (state.place, state.pull, state.count), strict=True)
    )


@few
@given(st.data())
def test_violent_tips_never_lose_the_line(data) -> None:
    # Jerks, reversals, a tip that runs at the lure: limp line, then a snatch.
    lines = Lines.of([thin_core(lure=(2e-4, 0.0, data.draw(st.sampled_from([-0.05, 0.0, 0.1]))))])
    state = settled(lines, 40.0, SPEED)
    moves = data.draw(
        st.lists(st.tuples(st.floats(-3.0, 3.0), st.floats(-3.0, 3.0)), min_size=20, max_size=40)
    )
    tip = state.tip[0] + np.concatenate(
        [[[0.0, 0.0, 0.0]], np.cumsum([[x, y, 0.0] for x, y in moves], axis=0)]
    )
    passage = run(lines, state, np.arange(len(tip)) * 1.0, tip[None], longest_step=0.25)
    assert np.isfinite(passage.lure).all() and passage.unsettled.sum() == 0
    assert (np.linalg.norm(passage.lure - passage.tip, axis=2) < 40.2).all()
    assert (passage.lure[:, :, 2] < 0.05).all() and passage.depth.max() < 42.0


# Slack, surface, reel.


def test_a_floating_lure_comes_up_when_the_boat_stops_and_stays_at_the_surface() -> None:
    mono = [100.0, 0.3e-3, math.pi / 4 * 0.3e-3**2 * 900.0, -1.0, -1.0]  # floats
    tow = make([mono], [4e-4, 4e-4, -0.03])
    lines = Lines.of([tow])
    state = settled(lines, 30.0, SPEED)
    assert state.depth[0] > 1.0
    passage = ahead(lines, state, NORTH, Manoeuvre(speed=0.0), 120.0)
    assert passage.depth[0, -1] == pytest.approx(0.0, abs=0.05)
    assert passage.depth.min() > -0.05
    # and goes down again when the boat goes on
    again = ahead(
        lines, passage.state, Boat(*passage.tip[0, -1, :2], 0.0, 0.0), Manoeuvre(speed=SPEED), 120.0
    )
    assert again.depth[0, -1] == pytest.approx(state.depth[0], rel=2e-3, abs=5e-3)


def test_what_is_let_out_and_reeled_in_again_is_as_if_it_had_never_been() -> None:
    lines = Lines.of([thin_core()])
    state = settled(lines, 40.0, SPEED)
    plan = [
        Manoeuvre(let_out=(70.0,), line_speed=0.6),
        Manoeuvre(let_out=(40.0,), line_speed=0.5, begin=60.0),
    ]
    passage = ahead(lines, state, NORTH, plan, 400.0)
    assert passage.let_out.max() == pytest.approx(70.0)
    assert passage.let_out[0, -1] == pytest.approx(40.0)
    assert passage.depth[0, -1] == pytest.approx(state.depth[0], rel=1e-3)
    assert abs(passage.state.count[0] - state.count[0]) <= 1


@pytest.mark.parametrize("new", [25.0, 70.0])
def test_a_new_let_out_settles_where_the_steady_engine_says(new) -> None:
    tow = thin_core()
    lines = Lines.of([tow])
    passage = ahead(lines, settled(lines, 45.0, SPEED), NORTH, Manoeuvre(let_out=(new,)), 300.0)
    where = where_at(tow, new, Setting(SPEED))
    assert passage.depth[0, -1] == pytest.approx(where.depth, rel=1e-3)


def test_line_let_out_as_fast_as_the_boat_goes_lets_the_lure_sink() -> None:
    # Common practice, no source: line stripped off at boat speed hangs limp, and the lure drops.
    lines = Lines.of([thin_core()])
    state = settled(lines, 30.0, SPEED)
    fast = ahead(lines, state, NORTH, Manoeuvre(let_out=(57.0,), line_speed=SPEED), 30.0)
    slow = ahead(lines, state, NORTH, Manoeuvre(let_out=(57.0,), line_speed=0.3), 30.0)
    assert fast.depth[0, -1] > slow.depth[0, -1] > state.depth[0]
    assert fast.tension[0, 100 // 5] < 0.5 * state.rod[0]


# Turns.


def test_on_a_20_m_turn_at_2_mph_the_lure_sinks_from_32_to_nearly_45_ft() -> None:
    # From the trade's own reckoning: a small lure, 170 ft of thin core, 30 ft leader; it is back
    # about a minute after the turn.
    shelf = load()
    tow = shelf.stack([("fluoro-10", 30 * FEET), ("thin-core-18", 100.0)], "small-spoon", 3 * FEET)
    lines = Lines.of([tow])
    state = settled(lines, 170 * FEET, SPEED)
    passage = ahead(lines, state, NORTH, HALF_TURN, 180.0)
    assert state.depth[0] / FEET == pytest.approx(32.0, abs=1.0)
    assert passage.depth.max() / FEET == pytest.approx(44.7, abs=1.0)
    turned = math.pi * 20.0 / SPEED
    back = passage.time[np.flatnonzero(passage.depth[0] > state.depth[0] + 1.5 * FEET)[-1]]
    assert back - turned == pytest.approx(60.0, abs=15.0)


@pytest.mark.parametrize(("radius", "let_out"), [(40.0, 50.0), (20.0, 50.0), (12.0, 30.0)])
def test_a_steady_circle_is_that_of_an_independent_integration(radius, let_out) -> None:
    tow = thin_core(tip=0.0)
    lines = Lines.of([tow], mounts=np.array([[0.0, 0.0, -1e-3]]), segment=0.5)
    state = settled(lines, let_out, SPEED)
    passage = ahead(lines, state, NORTH, Manoeuvre(turn=math.inf, radius=radius), 900.0)
    depth, own = steady_circle(tow, let_out, SPEED, radius)
    lure = passage.lure[0, -1]
    assert passage.depth[0, -1] == pytest.approx(depth, rel=3e-3)
    assert math.hypot(lure[0] - radius, lure[1]) == pytest.approx(own, rel=5e-3, abs=0.02)


def test_in_a_steady_circle_the_lure_runs_inside_the_tips_and_deeper_the_tighter() -> None:
    # Ablow & Schechter (1983), Ocean Eng. 10:443, and Chapman (1984), Ocean Eng. 11:327, for the
    # behaviour, from memory: a slack spiral inside the ship's circle, collapsing towards its
    # centre where the circle gets small against the line.
    lines = Lines.of([thin_core()])
    state = settled(lines, 50.0, SPEED)
    depths, radii = [], []
    for radius in (80.0, 40.0, 20.0, 12.0):
        passage = ahead(lines, state, NORTH, Manoeuvre(turn=math.inf, radius=radius), 600.0)
        depths.append(passage.depth[0, -1])
        radii.append(math.hypot(passage.lure[0, -1, 0] - radius, passage.lure[0, -1, 1]) / radius)
    assert state.depth[0] < depths[0] and (np.diff(depths) > 0.0).all()
    assert radii[0] < 1.0 and (np.diff(radii) < 0.0).all() and radii[-1] < 0.3


def test_in_a_turn_the_inside_line_slows_and_sinks_and_the_outside_one_speeds_up_and_rises() -> (
    None
):
    # Common practice, no source.
    tow = thin_core()
    mounts = np.array([[0.0, 4.0, 0.9], [0.0, -4.0, 0.9]])
    lines = Lines.of([tow, tow], mounts=mounts)
    state = settled(lines, 25.0, SPEED)
    passage = ahead(lines, state, NORTH, Manoeuvre(turn=math.pi, radius=25.0), 80.0)
    middle = np.argmin(np.abs(passage.time - 70.0))
    inside, outside = passage.depth
    assert inside[middle] > state.depth[0] + 0.2 and outside[middle] < inside[middle] - 0.5
    # on a wide turn with a long boom the outside one rises above where it ran straight
    wide = replace(lines, mounts=np.array([[0.0, 15.0, 0.9], [0.0, -15.0, 0.9]]))
    state = settled(wide, 25.0, SPEED)
    passage = ahead(wide, state, NORTH, Manoeuvre(turn=math.pi, radius=80.0), 200.0)
    assert (
        passage.depth[1, 300] < state.depth[1] - 0.3 < state.depth[0] + 0.3 < passage.depth[0, 300]
    )


# Draws.


def test_the_best_estimate_lies_in_the_band_of_its_draws() -> None:
    tow = thin_core()
    one, many = Lines.of([tow]), Lines.of([tow], draws=64)
    single = ahead(one, settled(one, 51.8, SPEED), NORTH, HALF_TURN, 120.0)
    drawn = ahead(many, settled(many, 51.8, SPEED), NORTH, HALF_TURN, 120.0)
    low, middle, high = drawn.depth_band(0)
    assert (low < single.depth[0]).all() and (single.depth[0] < high).all()
    assert middle == pytest.approx(single.depth[0], rel=0.03)
    assert ((high - low) / middle).min() > 0.05


# Bad input.


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda lines, s: settled(lines, 500.0, SPEED), "expected 1 to 109"),
        (lambda lines, s: settled(lines, math.nan, SPEED), "expected 1 to 109"),
        (lambda lines, s: step(lines, s, s.tip, 0.0), "step of 0 s"),
        (lambda lines, s: run(lines, s, np.array([0.0, 1.0, 1.0]), np.zeros((1, 3, 3))), "rise"),
        (
            lambda lines, s: run(lines, s, np.array([0.0, 1.0]), np.full((1, 2, 3), np.nan)),
            "nowhere",
        ),
        (lambda lines, s: run(lines, s, np.array([0.0, 1.0]), np.ones((1, 2, 3)) * 1e3), "starts"),
        (
            lambda lines, s: ahead(lines, s, NORTH, Manoeuvre(let_out=(1.0, 2.0))),
            "2 let-outs for 1",
        ),
        (lambda lines, s: Manoeuvre(turn=1.0), "radius inf"),
        (lambda lines, s: Manoeuvre(speed=math.nan), "speed nan"),
        (lambda lines, s: Lines.of([]), "no lines"),
    ],
)
def test_what_makes_no_sense_is_refused_by_name(call, message) -> None:
    lines = Lines.of([thin_core()])
    state = settled(lines, 40.0, SPEED)
    with pytest.raises(ValueError, match=message):
        call(lines, state)
