"""Boards and lines in motion: balances solved apart from our own code, mirror images, the trade."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import fsolve, root

from towscope.spreads import motion_kernels as mk
from towscope.spreads.judge import LEAD, simulate
from towscope.spreads.motion import follow, ready, straight
from towscope.spreads.plan import Board, RodLine, SpreadPlan, Turn
from towscope.tackle.shelf import stock
from towscope.towing.lookahead import Boat, Manoeuvre, course, tips
from towscope.towing.moving import Lines, run, settled
from towscope.towing.questions import where_at
from towscope.towing.tow import Setting

MEDIUM = Board("medium", 20.0, 106e-4, 58e-4, 0.7, 3.7)
SPEED = 0.894


def rod(name, side, across, let_out, board=None, ahead=-2.0, height=1.0, rig="demo"):
    tow = replace(stock().tow(rig), tip=height)
    return RodLine(name, side, ahead, (side or 1) * across, height, rig, tow, let_out, board)


def four(setting=Setting(SPEED)):  # noqa: B008 - frozen
    return SpreadPlan(
        setting,
        (
            rod("port-board", -1, 1.5, 40.0, MEDIUM, ahead=0.0),
            rod("port", -1, 2.0, 50.0),
            rod("starboard", 1, 2.0, 60.0),
            rod("starboard-board", 1, 1.5, 40.0, MEDIUM, ahead=0.0),
        ),
    )


@pytest.mark.parametrize("across", [0.0, 0.15])
def test_a_board_settles_where_its_forces_balance(across):
    """The balance written out anew in three dimensions and solved with scipy; the pull of the line
    behind is the steady engine's, which has its own tests."""
    setting = Setting(SPEED, ((0.0, 0.0, across),))
    one = rod("board", 1, 1.5, 40.0, MEDIUM)
    plan = SpreadPlan(setting, (one,))
    start = straight(ready(plan))
    behind = where_at(replace(one.tow, tip=0.0), 40.0, setting)
    # level direction of the line behind at its top: along the stream, uniform here
    stream = np.array([across, -SPEED])
    stream_speed = np.linalg.norm(stream)
    slope = math.asin(start_slope(start))
    along = stream / stream_speed
    pull_behind = behind.tension * np.append(along * math.cos(slope), -math.sin(slope))
    rho = float(one.tow.medium[0])

    def unbalanced(unknown):
        x, y, tension, upward = unknown
        to_tip = np.array([-x, -y, one.height])
        to_tip /= np.linalg.norm(to_tip)
        held = tension / (tension + 0.2)
        q = 0.5 * rho * stream_speed**2
        drag = q * MEDIUM.drag_area * stream / stream_speed
        out = np.array([-stream[1], stream[0]]) / stream_speed  # a starboard board, going north
        lift = q * MEDIUM.lift_area * held * out
        water = np.append(drag + lift, upward)  # it floats: whatever holds it at the surface
        force = water + pull_behind + tension * to_tip
        return [*force, math.sqrt(x * x + y * y + one.height**2) / MEDIUM.line - 1.0]

    x, y, tension, upward = fsolve(unbalanced, [10.0, -10.0, 5.0, 0.0], xtol=1e-12)
    ride = start.rides[0][0]
    assert ride.across == pytest.approx(x, rel=2e-3)
    assert ride.aft == pytest.approx(-y, rel=2e-3)
    assert ride.pull == pytest.approx(tension, rel=2e-3)
    assert ride.load == pytest.approx(upward, abs=0.01)


def start_slope(start):
    shape = start.state.shape(0)
    along = shape[-1] - shape[-2]
    return float(along[2] / np.linalg.norm(along))


def test_settled_boards_stay_where_they_are():
    """Two ways to the same state: the balance, and two minutes of steps in time."""
    plan = four()
    spread = ready(plan)
    start = straight(spread)
    time, path = course(Boat(0.0, 0.0, SPEED, 0.0), Manoeuvre(), 120.0, 0.5)
    track = follow(spread, start, time, tips(plan.mounts, path), every=20)
    assert track.restless == 0
    for row in range(4):
        moved = track.shape(row, -1) - [0.0, SPEED * 120.0, 0.0] - track.shape(row, 0)
        assert np.abs(moved).max() < 0.03
        pull = track.figure(mk.ROD)[row]
        assert pull[-1] == pytest.approx(pull[0], rel=0.01)


def test_a_board_let_out_from_the_tip_comes_to_the_same_place():
    plan = SpreadPlan(Setting(SPEED), (rod("board", -1, 1.5, 40.0, MEDIUM),))
    spread = ready(plan)
    start = straight(spread)
    time, path = course(Boat(0.0, 0.0, SPEED, 0.0), Manoeuvre(), 240.0, 0.5)
    lines = np.minimum(2.0 + 0.4 * time, 20.0)
    near = straight(ready(plan.with_rod(0, replace(plan.rods[0], board=replace(MEDIUM, line=2.0)))))
    track = follow(spread, near, time, tips(plan.mounts, path), board_lines=lines[None], every=10)
    board = track.shape(0, -1)[-2]
    want = start.state.shape(0)[-1] + [0.0, SPEED * 240.0, 0.0]
    assert np.linalg.norm(board - want) < 0.05


def test_lines_without_boards_are_the_moving_engines():
    plan = SpreadPlan(Setting(SPEED), (rod("port", -1, 2.0, 50.0), rod("starboard", 1, 2.0, 60.0)))
    turn = Turn(20.0, math.pi)
    shown = simulate(plan, turn)
    lines = Lines.of([r.tow for r in plan.rods], mounts=plan.mounts)
    time, path = course(
        Boat(0.0, 0.0, SPEED, 0.0),
        Manoeuvre(turn=turn.through, radius=turn.radius, begin=LEAD),
        float(shown.time[-1]),
        0.25,
    )
    other = run(lines, settled(lines, [50.0, 60.0], SPEED), time, tips(plan.mounts, path), every=2)
    np.testing.assert_allclose(shown.track.shapes[:, :, 0], other.lure, atol=2e-3)


def test_a_mirrored_turn_gives_the_mirror_image():
    plan = SpreadPlan(
        Setting(SPEED, ((0.0, 0.1, 0.1), (10.0, 0.0, 0.0))),
        (rod("board", -1, 1.5, 40.0, MEDIUM), rod("flat", 1, 2.0, 50.0)),
    )
    turn = Turn(18.0, math.radians(150.0))
    one = simulate(plan, turn).track
    two = simulate(plan.mirrored(), turn.other_way()).track
    np.testing.assert_array_equal(one.counts, two.counts)
    for row in range(2):
        for moment in range(0, len(one.time), 10):
            mirrored = two.shape(row, moment) * [-1.0, 1.0, 1.0]
            np.testing.assert_allclose(one.shape(row, moment), mirrored, atol=5e-3)


def test_a_board_that_circles_balances_against_scipy():
    """Far round a circle everything stands still as the boat turns with it. The balance there,
    with the centrifugal force, is solved anew; the line behind is short and light, so that its
    pull (taken as it was in the simulation) is a small part of it."""
    tow = stock().stack([("mono-6", 60.0)], "small-spoon", 1.0)
    line = RodLine("board", 1, 0.0, 1.0, 1.0, "-", tow, 3.0, MEDIUM)
    plan = SpreadPlan(Setting(SPEED), (line,))
    radius = 60.0
    for side in (1, -1):
        sided = plan if side == 1 else plan.mirrored()
        run_ = simulate(sided, Turn(radius, 2.0 * math.pi))  # to starboard: inside, then outside
        moment = int(np.searchsorted(run_.time, LEAD + 2.0 * math.pi * radius / SPEED)) - 4
        x, y, heading, _ = run_.path[moment]
        shape = run_.track.shape(0, moment)
        board, tip = shape[-2], shape[-1]
        centre = np.array([x, y]) + radius * np.array([math.cos(heading), -math.sin(heading)])
        rate = -SPEED / radius  # clockwise
        figures = run_.spread.boards[0]
        along = shape[-3] - shape[-2]
        along /= np.linalg.norm(along)
        behind = where_at(replace(tow, tip=0.0), 3.0, Setting(SPEED)).tension
        rho = float(tow.medium[0])

        def unbalanced(
            unknown,
            *,
            centre=centre,
            tip=tip,
            along=along,
            behind=behind,
            figures=figures,
            rate=rate,
            rho=rho,
        ):
            place, pull = unknown[:2], unknown[2]
            arm = place - centre
            velocity = rate * np.array([-arm[1], arm[0]])
            speed = np.linalg.norm(velocity)
            forward = velocity / speed
            right = np.array([forward[1], -forward[0]])
            q = 0.5 * rho * speed**2
            held = pull / (pull + 0.2)
            water = q * (figures[0] * figures[1] * held * right - figures[2] * forward)
            to_tip = tip - np.append(place, 0.0)
            span = np.linalg.norm(to_tip)
            outward = figures[3] * rate**2 * arm
            force = water + pull * to_tip[:2] / span + outward
            force += behind * (speed / SPEED) ** 2 * along[:2]
            return [*force, span - 20.0]

        answer = root(unbalanced, [*board[:2], 4.0], tol=1e-12)
        assert answer.success
        assert np.linalg.norm(answer.x[:2] - board[:2]) < 0.15
        assert run_.track.figure(mk.ROD)[0, moment] == pytest.approx(answer.x[2], rel=0.02)


def test_the_inside_slows_and_sinks_and_the_outside_speeds_up_and_rises():
    """Common practice, no source."""
    plan = four()
    shown = simulate(plan, Turn(25.0, -math.pi))  # to port
    inside, outside = 0, 3
    depth = shown.track.figure(mk.DEPTH)
    assert depth[inside].max() > depth[inside, 0] + 2.0
    assert depth[inside].min() > depth[inside, 0] - 0.3
    assert depth[outside].min() < depth[outside, 0] - 1.0
    assert depth[outside].max() < depth[outside, 0] + 0.3
    speed = shown.track.figure(mk.SPEED)
    assert np.nanmin(speed[inside]) < 0.6 * SPEED
    assert np.nanmax(speed[outside]) > 1.3 * SPEED
    pull = shown.track.figure(mk.ROD)
    assert pull[outside].max() > 1.5 * pull[outside, 0]


def test_shorter_steps_change_little():
    plan = four()
    turn = Turn(18.0, math.pi)
    from towscope.spreads.judge import FINE, ROUGH, Fineness

    finest = simulate(plan, turn, fineness=Fineness(0.125, 1.0, 0.5))
    for fineness, most in ((FINE, 0.10), (ROUGH, 0.35)):
        other = simulate(plan, turn, fineness=fineness)
        every = round(1.0 / fineness.shown)
        a = finest.track.figure(mk.DEPTH)
        b = other.track.figure(mk.DEPTH)[:, ::every]
        m = min(a.shape[1], b.shape[1])
        assert np.abs(a[:, :m] - b[:, :m]).max() < most
        lure_a, lure_b = finest.track.shapes[:, :m, 0], other.track.shapes[:, ::every, 0][:, :m]
        assert np.linalg.norm(lure_a - lure_b, axis=2).max() < 2.0 * most


def test_a_slack_line_pulls_no_more_than_the_corner_is_round():
    plan = four()
    shown = simulate(plan, Turn(10.0, -math.pi))  # inside of the board: it stalls
    pull = shown.track.figure(mk.ROD)[0]
    assert pull.min() < 0.05
    assert shown.track.restless == 0
    assert np.isfinite(shown.track.shapes[:, -1, 0]).all()


def test_draws_of_boards_and_lines_scatter_around_the_best_estimate():
    plan = four()
    best = straight(ready(plan)).rides[0][0]
    many = straight(ready(plan, 64)).rides[0]
    across = np.array([ride.across for ride in many])
    assert across.min() < best.across < across.max()
    assert float(np.median(across)) == pytest.approx(best.across, rel=0.05)


def test_rods_with_the_same_line_err_together_and_their_lures_do_not():
    spread = ready(four(), 16)
    one, two = spread.rows_of(1), spread.rows_of(2)
    np.testing.assert_array_equal(spread.lines.pieces[one], spread.lines.pieces[two])
    assert np.ptp(spread.lines.pieces[one][:, 1, 6]) > 0.1  # drag of the core does vary
    assert not np.array_equal(spread.lines.lures[one], spread.lines.lures[two])
