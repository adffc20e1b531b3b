"""Looking ahead, and what keeps the lines off the bottom."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from moving_rigs import HALF_TURN, SPEED, thin_core

from towscope.towing.clearance import closest
from towscope.towing.levers import APART, HELM, ROOM, Lever, levers
from towscope.towing.lookahead import (
    Boat,
    Manoeuvre,
    ahead,
    course,
    let_outs,
    settling_time,
    tips,
)
from towscope.towing.moving import Bed, Lines, State, settled, together
from towscope.towing.questions import where_at
from towscope.towing.tow import Setting

NORTH = Boat(0.0, 0.0, SPEED, 0.0)
LINES = Lines.of([thin_core()])
NOW = settled(LINES, 51.8, SPEED)
EAST, NORTHWARD = np.meshgrid(np.arange(-300.0, 301.0, 5.0), np.arange(-200.0, 401.0, 5.0))


def bed(depth) -> Bed:
    """Make a bed from depths [m] on the grid."""
    return Bed(-300.0, -200.0, 5.0, np.broadcast_to(depth, EAST.shape).astype(float))


HUMP = bed(12.2 - 3.5 * np.exp(-(EAST**2 + (NORTHWARD - 60.0) ** 2) / (2 * 25.0**2)))


# The boat's path.


def test_a_full_circle_comes_back_and_a_slow_down_takes_its_distance() -> None:
    times, path = course(NORTH, Manoeuvre(turn=2 * math.pi, radius=20.0), 200.0, 0.5)
    around = 2 * math.pi * 20.0 / SPEED
    # after the circle straight on north
    assert path[-1, 0] == pytest.approx(0.0, abs=1e-6)
    assert path[-1, 1] == pytest.approx((times[-1] - around) * SPEED, abs=1e-6)
    # from 0.894 m/s to rest at 0.15 m/s^2: v^2 / 2a
    _, path = course(NORTH, Manoeuvre(speed=0.0), 30.0)
    assert path[-1, 1] == pytest.approx(SPEED**2 / 0.3, abs=1e-6)
    assert path[-1, 3] == 0.0


@settings(max_examples=50)
@given(
    st.lists(
        st.builds(
            Manoeuvre,
            speed=st.none() | st.floats(0.0, 2.0),
            turn=st.floats(-7.0, 7.0).map(lambda a: a if abs(a) > 0.01 else 0.0),
            radius=st.floats(3.0, 100.0),
            begin=st.floats(0.0, 50.0),
        ),
        max_size=4,
    ),
    st.floats(0.1, 2.0),
)
def test_speed_times_time_is_the_way_gone(plan, step) -> None:
    times, path = course(NORTH, plan, 60.0, step)
    fine, fine_path = course(NORTH, plan, 60.0, 0.05)
    assert np.isfinite(path).all() and (path[:, 3] >= 0.0).all()
    for c in range(2):
        at = np.interp(times, fine, fine_path[:, c])
        inside = times <= fine[-1]
        assert path[inside, c] == pytest.approx(at[inside], abs=5e-3)
    gone = np.hypot(np.diff(fine_path[:, 0]), np.diff(fine_path[:, 1])).sum()
    assert gone == pytest.approx(np.trapezoid(fine_path[:, 3], fine), rel=2e-3, abs=0.01)


def test_tips_keep_their_places_on_the_boat() -> None:
    mounts = np.array([[-2.0, 3.0, 1.0], [1.0, -4.0, 0.5]])
    _, path = course(NORTH, HALF_TURN, 80.0)
    paths = tips(mounts, path)
    apart = np.linalg.norm(paths[0] - paths[1], axis=1)
    assert apart == pytest.approx(np.linalg.norm(mounts[0] - mounts[1]), abs=1e-9)
    # the starboard one goes round the inside of a turn to starboard
    way = np.linalg.norm(np.diff(paths, axis=1), axis=2).sum(axis=1)
    assert way[0] < way[1]


def test_line_comes_in_at_its_rate_and_stops_where_it_should() -> None:
    times = np.arange(0.0, 41.0)
    out = let_outs(
        np.array([50.0]), [Manoeuvre(let_out=(45.0,), line_speed=0.5, begin=10.0)], times
    )
    assert out[0, 10] == 50.0 and out[0, 14] == pytest.approx(48.0) and out[0, 20:].max() == 45.0


# Looking ahead.


def test_looking_ahead_leaves_now_as_it_is() -> None:
    kept = NOW.place.copy()
    ahead(LINES, NOW, NORTH, HALF_TURN, 30.0)
    assert (NOW.place == kept).all()


@pytest.mark.parametrize("speed", [0.6, 1.3])
def test_the_depth_a_new_speed_comes_to_is_the_steady_engines(speed) -> None:
    seconds, depth = settling_time(LINES, NOW, NORTH, Manoeuvre(speed=speed))
    where = where_at(thin_core(), 51.8, Setting(speed))
    assert depth[0] == pytest.approx(where.depth, rel=2e-3)
    # it is there then, and not yet a little earlier
    passage = ahead(LINES, NOW, NORTH, Manoeuvre(speed=speed), float(seconds[0]) + 10.0)
    off = np.abs(passage.depth[0] - depth[0])
    assert (off[passage.time >= seconds[0]] <= 0.15 + 1e-6).all()
    assert off[np.searchsorted(passage.time, seconds[0]) - 2] > 0.15
    assert 15.0 < seconds[0] < 240.0


def test_what_holds_has_settled_already() -> None:
    seconds, depth = settling_time(LINES, NOW, NORTH, Manoeuvre())
    assert seconds[0] == 0.0
    assert depth[0] == pytest.approx(NOW.depth[0], abs=1e-3)


# Clearance.


def test_over_a_flat_bottom_clearance_is_what_is_left_below_the_lure() -> None:
    passage = ahead(LINES, NOW, NORTH, seconds=20.0, bed=bed(15.0))
    assert passage.clearance[0] == pytest.approx(15.0 - passage.depth[0], abs=1e-6)
    (found,) = closest(LINES, passage)
    assert found.by_lure and found.clearance == pytest.approx(15.0 - NOW.depth[0], abs=1e-2)


def test_a_sloping_bottom_is_bilinear_and_the_nearest_point_is_found() -> None:
    # bottom that rises to the north 1 in 10: the lure, deepest, is not the nearest point
    slope = bed(20.0 - 0.35 * (NORTHWARD + 52.0))
    passage = ahead(LINES, NOW, NORTH, seconds=2.0, bed=slope, shapes=True)
    shape = passage.shapes[0, -1]
    shape = shape[np.isfinite(shape[:, 0]) & (shape[:, 2] < 0.0)]
    gaps = shape[:, 2] + 20.0 - 0.35 * (shape[:, 1] + 52.0)
    assert passage.clearance[0, -1] == pytest.approx(gaps.min(), abs=1e-9)
    (found,) = closest(LINES, passage)
    assert not found.by_lure
    assert passage.nearest[0, -1] == pytest.approx(shape[gaps.argmin()])


def test_where_the_bottom_is_not_known_nothing_is_said() -> None:
    nowhere = ahead(LINES, NOW, NORTH, seconds=2.0, bed=bed(np.nan))
    assert np.isnan(nowhere.clearance).all()
    assert math.isnan(closest(LINES, nowhere)[0].clearance)
    assert levers(LINES, NOW, NORTH, bed(np.nan)) == []


def test_a_line_that_hangs_below_its_floating_lure_counts() -> None:
    buoyant = thin_core(lure=(1e-4, 0.0, -0.3))
    lines = Lines.of([buoyant])
    state = settled(lines, 40.0, 0.5)
    passage = ahead(lines, state, replace(NORTH, speed=0.5), seconds=5.0, bed=bed(30.0))
    assert passage.lowest[0, 0, 2] < passage.lure[0, 0, 2] - 0.3
    assert passage.clearance[0, 0] == pytest.approx(30.0 + passage.lowest[0, 0, 2], abs=1e-6)
    assert not closest(lines, passage)[0].by_lure


def _keeps(lever: Lever, plan: Manoeuvre, begin: float, ground: Bed, amount=None) -> float:
    """Least clearance with a lever pulled at a moment, run at a finer step than the search's."""
    change = replace(lever.manoeuvre, begin=lever.manoeuvre.begin + begin)
    if amount is not None and lever.kind == "speed":
        change = replace(change, speed=amount)
    if amount is not None and lever.kind == "reel":
        change = replace(change, let_out=(51.8 - amount,))
    kept = [] if lever.kind == "turn" else [plan]
    passage = ahead(LINES, NOW, NORTH, [*kept, change], 120.0, bed=ground, step=0.25)
    return float(np.nanmin(passage.clearance))


@pytest.mark.parametrize(
    ("plan", "ground", "kinds"),
    [
        (Manoeuvre(), HUMP, {"speed", "reel", "turn"}),
        (HALF_TURN, bed(11.5), {"speed", "reel"}),
        (
            Manoeuvre(turn=math.pi / 2, radius=20.0),
            bed(np.where(EAST > 5.0, 8.0, 14.0)),
            {"speed", "reel", "turn"},
        ),
    ],
    ids=["hump ahead", "turn over a flat", "turn towards a shallow"],
)
def test_each_lever_keeps_the_clearance_and_no_smaller_one_does(plan, ground, kinds) -> None:
    want = 0.5
    assert np.nanmin(ahead(LINES, NOW, NORTH, plan, 120.0, bed=ground).clearance) < want
    found = levers(LINES, NOW, NORTH, ground, plan=plan, want=want, water=ground)
    assert {lever.kind for lever in found} == kinds
    assert found[-1].kind == "turn" or "turn" not in kinds, "line and speed come first"
    for lever in found:
        assert _keeps(lever, plan, 0.0, ground) > want - 0.03
        if lever.latest is None:
            assert lever.kind == "turn"
            assert _keeps(lever, plan, HELM, ground) > want - 0.03
            continue
        # to the latest moment, and hardly later
        assert _keeps(lever, plan, lever.latest, ground) > want - 0.03
        assert _keeps(lever, plan, lever.latest + 6.0, ground) < want
        if lever.kind == "speed":
            assert _keeps(lever, plan, 0.0, ground, lever.amount - 0.05) < want
        if lever.kind == "reel":
            assert _keeps(lever, plan, 0.0, ground, lever.amount - 0.8) < want


def test_a_clear_plan_needs_no_lever() -> None:
    assert levers(LINES, NOW, NORTH, bed(20.0)) == []


def test_a_lure_on_the_bottom_is_lifted_by_line_alone() -> None:
    # it drags: nothing keeps it clear any more, and a snag at speed loads the rod
    ground = bed(NOW.depth[0] - 1.0)
    (lever,) = levers(LINES, NOW, NORTH, ground, want=0.3, water=ground)
    assert (lever.kind, lever.lifts, lever.latest, lever.lines) == ("reel", True, 0.0, (0,))
    goal = lever.manoeuvre.let_out
    assert goal is not None and goal[0] == pytest.approx(51.8 - lever.amount)
    # the steady engine: it comes up by that metre and the margin, and not by much more
    assert where_at(thin_core(), goal[0], Setting(SPEED)).depth < NOW.depth[0] - 1.3 + 0.05
    assert where_at(thin_core(), goal[0] + 1.0, Setting(SPEED)).depth > NOW.depth[0] - 1.3


def test_a_lure_over_ground_that_comes_up_to_the_surface_is_brought_in() -> None:
    (lever,) = levers(LINES, NOW, NORTH, bed(0.5))
    assert lever.lifts and lever.amount == pytest.approx(51.8 - 1.0)


# A turn is named only for a boat that has the water, and for lines that have room.

SHALLOW_AHEAD = bed(np.where(NORTHWARD > 30.0, 8.0, 14.0))


def turn_named(water: Bed | None, lines: Lines = LINES, now: State = NOW) -> float | None:
    found = levers(lines, now, NORTH, SHALLOW_AHEAD, want=0.3, water=water)
    assert {lever.kind for lever in found} >= {"reel"}, "line comes first whatever the water"
    return next((lever.amount for lever in found if lever.kind == "turn"), None)


def test_without_a_chart_of_her_own_way_no_turn_is_named() -> None:
    assert turn_named(None) is None
    assert turn_named(bed(14.0)) is not None


@pytest.mark.parametrize("off", [1.5, math.nan], ids=["shoal", "not charted"])
def test_no_turn_into_a_shoal_or_uncharted_water_though_the_lure_would_clear(off: float) -> None:
    both = turn_named(bed(14.0))
    assert both is not None
    one_side = turn_named(bed(np.where(EAST > 22.0, off, 14.0)))
    assert one_side is not None and one_side < 0.0, "to port, where she has water"
    assert turn_named(bed(np.where(np.abs(EAST) > 22.0, off, 14.0))) is None


@pytest.mark.parametrize("at", [20.0, 8.0])
def test_the_named_turn_is_kept_clear_of_a_rock_by_the_stated_room(at: float) -> None:
    # one shoal patch near the way of each turn; where it is named, no part of the way is nearer
    rock = bed(np.where(np.hypot(EAST - 25.0, NORTHWARD - 40.0) < at, 0.5, 14.0))
    for lever in levers(LINES, NOW, NORTH, SHALLOW_AHEAD, want=0.3, water=rock):
        if lever.kind == "turn":
            for begin in (0.0, HELM):
                change = replace(lever.manoeuvre, begin=begin)
                _, way = course(NORTH, change, 120.0)
                away = np.hypot(way[:, 0] - 25.0, way[:, 1] - 40.0)
                assert away.min() > at + ROOM - 4.0


def test_no_more_speed_over_ground_that_she_would_run_onto() -> None:
    ahead_of_her = bed(np.where(NORTHWARD > 90.0, 0.5, 14.0))
    kinds = {
        lever.kind
        for lever in levers(LINES, NOW, NORTH, SHALLOW_AHEAD, want=0.3, water=ahead_of_her)
    }
    assert "speed" not in kinds and "reel" in kinds


def test_no_turn_that_puts_the_other_lines_on_the_bottom_or_on_each_other() -> None:
    # alone the line has a turn; a deeper one to starboard runs clear of the ground on, not round
    mounts = np.array([[0.0, 0.0, 1.0], [0.0, 9.0, 1.0]])
    deep = Lines.of([thin_core(), thin_core()], mounts=mounts)
    state = settled(deep, [44.0, 51.8], SPEED)
    level = float(state.depth[1]) + 0.3
    ground = bed(np.where((NORTHWARD > 30.0) & (np.abs(EAST) < 3.0), 6.0, level))
    alone = levers(deep.pick([0]), state.pick(1, [0]), NORTH, ground, want=0.05, water=bed(14.0))
    both = levers(deep, state, NORTH, ground, want=0.05, water=bed(14.0))
    (turn,) = (lever.amount for lever in alone if lever.kind == "turn")
    assert turn > 0.0
    # to starboard the other one lies inside the turn, is slowed, and sinks
    assert all(lever.amount < 0.0 for lever in both if lever.kind == "turn")
    swung = ahead(deep, state, NORTH, Manoeuvre(turn=turn, radius=20.0), 120.0, bed=ground)
    assert swung.clearance[1].min() < 0.05
    assert both[0].lines == (0,) or both[1].lines == (0,), "only the line in trouble is reeled"
    # two rods at one place: lines that lie in each other are no lines to turn with
    same = Lines.of([thin_core(), thin_core()])
    assert turn_named(bed(14.0), same, settled(same, [51.8, 51.8], SPEED)) is None
    apart = Lines.of(
        [thin_core(), thin_core()], mounts=np.array([[0.0, -2.5, 1.0], [0.0, 2.5, 1.0]])
    )
    named = turn_named(bed(14.0), apart, settled(apart, [51.8, 40.0], SPEED))
    assert named is not None
    turn = Manoeuvre(turn=named, radius=20.0)
    begun = settled(apart, [51.8, 40.0], SPEED)
    shapes = ahead(apart, begun, NORTH, turn, 120.0, step=1.0, shapes=True).shapes
    assert shapes is not None
    nearest = min(
        float(np.linalg.norm(a[:, None] - b[None], axis=2).min())
        for a, b in (
            (p[np.isfinite(p[:, 0])][:-8], q[np.isfinite(q[:, 0])][:-8])
            for p, q in zip(shapes[0, ::10], shapes[1, ::10], strict=True)
        )
    )
    assert nearest > APART - 0.05


def test_nodes_that_are_not_in_use_are_nowhere(monkeypatch: pytest.MonkeyPatch) -> None:
    # what stood in memory before must not come out as a node: fill it with something finite
    monkeypatch.setattr(np, "empty", lambda *a, **k: np.full(*a, 7e30, **k))
    shapes = ahead(LINES, NOW, NORTH, seconds=2.0, step=1.0, shapes=True).shapes
    assert shapes is not None
    assert np.nanmax(np.abs(shapes)) < 1e4


def test_lines_followed_apart_run_on_together_as_they_did() -> None:
    other = thin_core(lure=(2e-4, 1e-4, 0.1))
    parts = []
    for tow, out, side in ((thin_core(), 51.8, -2.0), (other, 30.0, 2.0)):
        lines = Lines.of([tow], mounts=np.array([[-1.0, side, 1.0]]))
        parts.append((lines, settled(lines, out, SPEED)))
    both, state = together(parts)
    turn = Manoeuvre(turn=1.0, radius=20.0)
    joint = ahead(both, state, NORTH, turn, 40.0)
    for i, (lines, now) in enumerate(parts):
        alone = ahead(lines, now, NORTH, turn, 40.0)
        np.testing.assert_allclose(joint.lure[i], alone.lure[0], atol=1e-9)
        picked = ahead(both.pick([i]), state.pick(1, [i]), NORTH, turn, 40.0)
        np.testing.assert_allclose(picked.lure[0], alone.lure[0], atol=1e-9)


def test_with_draws_so_many_of_them_keep_the_clearance() -> None:
    lines = Lines.of([thin_core()], draws=24)
    state = settled(lines, 51.8, SPEED)
    ground = bed(14.0 - 4.5 * np.exp(-(EAST**2 + (NORTHWARD - 60.0) ** 2) / (2 * 25.0**2)))
    found = levers(lines, state, NORTH, ground, want=0.3, level=0.8)
    assert found
    for lever in found:
        passage = ahead(lines, state, NORTH, lever.manoeuvre, 120.0, bed=ground)
        keep = np.nanmin(passage.clearance, axis=1) > 0.3 - 0.03
        assert keep.mean() >= 0.8


def test_only_the_line_in_trouble_is_reeled_in() -> None:
    lines = Lines.of([thin_core(), thin_core()])
    state = settled(lines, [30.0, 51.8], SPEED)
    found = levers(lines, state, NORTH, HUMP, want=0.5)
    reel = next(lever for lever in found if lever.kind == "reel")
    assert reel.manoeuvre.let_out is not None
    assert reel.manoeuvre.let_out[0] == pytest.approx(30.0)
    assert reel.manoeuvre.let_out[1] == pytest.approx(51.8 - reel.amount)
