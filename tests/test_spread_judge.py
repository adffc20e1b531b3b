"""What is said of a spread: faults, the tightest turn, the order, the changes that help."""

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from towscope.spreads.advise import advise
from towscope.spreads.judge import ROUGH, gets_through, judge, simulate
from towscope.spreads.order import _order, moved, orders
from towscope.spreads.plan import Board, RodLine, SpreadPlan, Turn
from towscope.spreads.tightest import NARROWEST, tightest
from towscope.tackle.shelf import stock
from towscope.towing.tow import Setting

MEDIUM = Board("medium", 18.3, 106e-4, 58e-4, 0.7, 3.7)
SPEED = 0.894


def rod(name, side, across, let_out, board=None, ahead=-2.0):
    tow = replace(stock().tow("demo"), tip=1.0)
    return RodLine(name, side, ahead, (side or 1) * across, 1.0, "demo", tow, let_out, board)


def two(a=50.0, b=65.0, across=2.4):
    return SpreadPlan(Setting(SPEED), (rod("port", -1, across, a), rod("starboard", 1, across, b)))


def four():
    return SpreadPlan(
        Setting(SPEED),
        (
            rod("port-board", -1, 1.5, 40.0, MEDIUM, -0.6),
            rod("port", -1, 2.4, 50.0, None, -2.7),
            rod("starboard", 1, 2.4, 65.0, None, -2.7),
            rod("starboard-board", 1, 1.5, 40.0, MEDIUM, -0.6),
        ),
    )


def test_lines_far_apart_never_meet():
    plan = two(across=9.0)
    for turn in (None, Turn(60.0, math.pi), Turn(60.0, -math.pi)):
        verdict = judge(simulate(plan, turn, fineness=ROUGH))
        assert verdict.word == "clear"
        assert not verdict.pairs[0].crossings
        assert verdict.pairs[0].apart > 8.0


def test_lines_from_one_tip_touch_and_are_told_so():
    plan = two(across=0.01)
    verdict = judge(simulate(plan, None, fineness=ROUGH))
    assert [fault.kind for fault in verdict.faults] == ["tangle"]
    assert verdict.word == "fails"


def test_a_deep_line_carried_under_a_shallow_one_crosses_well_below_it():
    """A current from port below 6 m takes the deep line across, far under the shallow one."""
    current = ((0.0, 0.0, 0.0), (6.0, 0.0, 0.0), (9.0, 0.0, 0.3), (30.0, 0.0, 0.3))
    shallow = replace(stock().stack([("mono-10", 100.0)], "small-spoon", 1.0), tip=1.0)
    plan = SpreadPlan(
        Setting(SPEED, current),
        (
            rod("deep", -1, 1.2, 90.0),
            RodLine("shallow", 1, -2.0, 1.2, 1.0, "-", shallow, 70.0),
        ),
    )
    verdict = judge(simulate(plan, None, fineness=ROUGH))
    pair = verdict.pairs[0]
    assert len(pair.crossings) == 1
    begin, end, height = pair.crossings[0]
    assert begin < end
    assert height < -2.0  # the first of the pair, the deep one, lies below
    assert 1.0 < pair.apart <= -height + 1e-6
    assert verdict.word == "clear"


def test_the_bottom_and_the_draws():
    plan, turn = two(), Turn(15.0, math.pi)
    best = simulate(plan, turn, fineness=ROUGH)
    many = simulate(plan, turn, draws=16, fineness=ROUGH)
    deepest = judge(best).rods[1].line_deepest
    assert judge(best, many, deepest - 0.5).faults[0].kind == "bottom"
    edge = judge(best, many, deepest + 0.1)
    assert edge.word == "doubtful"
    assert 0.1 < edge.rods[1].hits_bottom < 0.9
    assert judge(best, many, 2.0 * deepest).word == "clear"
    low, high = edge.rods[1].deepest_90
    assert low < edge.rods[1].deepest < high


def test_a_board_with_too_much_behind_it_goes_under():
    heavy = replace(stock().tow("demo"), lure=np.array([1e-3, 8e-3, 6.0]), tip=1.0)
    line = RodLine("board", 1, 0.0, 1.5, 1.0, "demo", heavy, 30.0, MEDIUM)
    verdict = judge(simulate(SpreadPlan(Setting(SPEED), (line,)), None, fineness=ROUGH))
    assert "sunk" in [fault.kind for fault in verdict.faults]


def test_a_line_near_its_strength_is_told_so():
    weak = replace(stock().tow("demo"), tip=1.0)
    weak = replace(weak, strength=np.full(len(weak.strength), 4.0))
    other = replace(rod("b", 1, 2.0, 60.0), tow=weak)
    plan = SpreadPlan(Setting(SPEED), (rod("a", -1, 2.0, 60.0), other))
    verdict = judge(simulate(plan, None, fineness=ROUGH))
    assert [(fault.kind, fault.rods) for fault in verdict.faults] == [("pull", ("b",))]


def test_the_tightest_turn_is_the_edge():
    plan, turn, bottom = two(), Turn(1.0, math.pi), 22.0
    found = tightest(plan, turn, bottom)
    assert found.radius is not None
    assert found.radius > NARROWEST
    assert found.limit == "bottom"
    assert not gets_through(plan, turn.at(found.radius), bottom).faults
    assert gets_through(plan, turn.at(0.95 * found.radius), bottom).faults
    for wider in (1.2, 1.6, 2.5):
        assert not gets_through(plan, turn.at(wider * found.radius), bottom).faults


def test_a_turn_that_no_radius_makes_good():
    found = tightest(two(), Turn(1.0, math.pi), 10.0)  # the lure runs deeper than that
    assert found.radius is None
    assert found.rods == ("port",) or found.rods == ("starboard",)


def test_mirrored_spreads_have_the_same_tightest_turn():
    plan = two()
    one = tightest(plan, Turn(1.0, math.pi), 22.0)
    other = tightest(plan.mirrored(), Turn(1.0, -math.pi), 22.0)
    assert one.radius == pytest.approx(other.radius, rel=1e-6)


def test_lines_are_set_and_fetched_without_crossing():
    setting, fetching = orders(four())
    for order in (setting, fetching):
        assert order.works
        assert sorted(order.names) == sorted(r.name for r in four().rods)
        # every later (earlier out) pair was looked at, and none comes too near
        place = {name: i for i, name in enumerate(r.name for r in four().rods)}
        for k, name in enumerate(order.names):
            others = order.names[:k] if order is setting else order.names[k + 1 :]
            for other in others:
                assert order.apart[place[name], place[other]] >= 0.6
    # Common practice, no source: what is furthest out goes first and comes in last.
    assert {setting.names[0], setting.names[1]} == {"port-board", "starboard-board"}
    assert {fetching.names[-1], fetching.names[-2]} == {"port-board", "starboard-board"}


def test_the_wrong_order_is_found_out():
    """A board let out over a flat line from a tip further out touches it: so the board is first."""
    setting, _ = orders(four())
    place = [r.name for r in four().rods]
    assert setting.apart[place.index("port-board"), place.index("port")] < 0.6
    assert setting.names.index("port-board") < setting.names.index("port")


def test_a_line_that_is_let_out_ends_where_it_is_to_run():
    plan = four()
    standing = simulate(plan, None, fineness=ROUGH)
    for index in (0, 1):
        track, seconds = moved(plan, index, fetch=False)
        assert seconds > 60.0
        shape = track.shape(0, -1) - [0.0, SPEED * track.time[-1], 0.0]
        lure = standing.track.shape(index, 0)[0]
        assert np.linalg.norm(shape[0] - lure) < 0.6  # it takes minutes to come to rest
        track, _ = moved(plan, index, fetch=True)
        in_hand = track.shape(0, -1)
        assert np.linalg.norm(in_hand[0] - in_hand[-1]) < 2.6


@given(st.integers(2, 5), st.data())
@settings(max_examples=60)
def test_an_order_is_found_wherever_there_is_one(count, data):
    """Against every permutation."""
    apart = np.where(
        np.array(
            data.draw(
                st.lists(
                    st.lists(st.booleans(), min_size=count, max_size=count),
                    min_size=count,
                    max_size=count,
                )
            )
        ),
        0.1,
        5.0,
    )
    plan = SpreadPlan(Setting(SPEED), tuple(rod(str(i), 1, 1.0 + i, 30.0) for i in range(count)))
    limit = np.full((count, count), 0.6)
    for fetch in (False, True):
        found = _order(
            plan, apart, limit, range(count), [1.0 + i for i in range(count)], 1.0, fetch=fetch
        )

        def clashes(order, fetch=fetch):
            return sum(
                apart[name, other] < 0.6
                for k, name in enumerate(order)
                for other in (order[k + 1 :] if fetch else order[:k])
            )

        mine = [int(name) for name in found.names]
        assert sorted(mine) == list(range(count))
        assert len(found.clashes) == clashes(mine)
        possible = any(clashes(p) == 0 for p in itertools.permutations(range(count)))
        assert found.works == possible


def test_what_is_advised_gets_through():
    plan, turn, bottom = two(), Turn(12.0, math.pi), 22.0
    verdict = judge(simulate(plan, turn), None, bottom)
    assert verdict.faults
    wide = tightest(plan, turn, bottom).radius
    changes = advise(plan, turn, verdict, bottom=bottom, widest=wide)
    assert changes
    kinds = [change.kind for change in changes]
    assert "let-out" in kinds
    assert len(set(kinds[:3])) == 3  # one of each kind before a second of any
    for change in changes:
        again = judge(simulate(change.plan, change.turn), None, bottom)
        real = [f for f in again.faults if not (f.kind == "bottom" and f.amount > -0.1)]
        assert not real, (change.kind, real)


def test_no_advice_where_nothing_helps():
    plan = two()
    verdict = judge(simulate(plan, None, fineness=ROUGH), None, 1.0)
    changes = advise(plan, None, verdict, bottom=1.0)
    assert changes == []
