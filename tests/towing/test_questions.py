"""Questions and their inversions, and what the intervals mean."""

from dataclasses import replace

import numpy as np
import pytest

from towscope.errors import NoAnswer
from towscope.tackle import load
from towscope.towing.questions import (
    FEET,
    MPH,
    deepest,
    depth_of,
    let_out_for,
    speed_for,
    table,
    where_at,
)
from towscope.towing.tow import Setting, Tow, draw


@pytest.fixture(scope="module")
def tow() -> Tow:
    return load(own=False).tow("demo")


AT_2_MPH = Setting(2.0 * MPH)


def test_the_three_questions_invert_one_another(tow: Tow) -> None:
    let_out = let_out_for(tow, 28 * FEET, AT_2_MPH).where.let_out
    assert depth_of(tow, let_out, AT_2_MPH).where.depth == pytest.approx(28 * FEET, rel=1e-6)
    speed = speed_for(tow, let_out, 28 * FEET, Setting(1.5 * MPH)).speed
    assert speed == pytest.approx(2.0 * MPH, rel=1e-5)


def test_the_table_is_the_question_asked_again(tow: Tow) -> None:
    depths, speeds = np.array([15.0, 30.0]) * FEET, np.array([1.6, 2.2]) * MPH
    grid = table(tow, depths, speeds, AT_2_MPH)
    for i, depth in enumerate(depths):
        for j, speed in enumerate(speeds):
            one = let_out_for(tow, float(depth), Setting(float(speed)))
            assert grid.let_out[i, j] == pytest.approx(one.where.let_out, rel=1e-9)
            assert (grid.low[i, j], grid.high[i, j]) == pytest.approx(one.let_out_90, rel=1e-9)


def test_the_interval_holds_nine_in_ten_of_fresh_draws(tow: Tow) -> None:
    answer = let_out_for(tow, 28 * FEET, AT_2_MPH)
    fresh = draw(tow, 4096, seed=7)
    depths = []
    for pieces, lure in zip(fresh.pieces, fresh.lures, strict=True):
        version = replace(tow, pieces=pieces, lure=lure)
        depths.append(where_at(version, answer.where.let_out, AT_2_MPH).depth)
    low, high = answer.depth_90
    inside = np.mean((np.array(depths) >= low) & (np.array(depths) <= high))
    assert inside == pytest.approx(0.90, abs=0.02)


def test_the_answer_is_the_same_every_time(tow: Tow) -> None:
    assert let_out_for(tow, 28 * FEET, AT_2_MPH) == let_out_for(tow, 28 * FEET, AT_2_MPH)


def test_a_better_known_line_gives_a_narrower_answer(tow: Tow) -> None:
    known = replace(tow, doubt=replace(tow.doubt, drag=0.3 * tow.doubt.drag))
    wide, narrow = (let_out_for(t, 28 * FEET, AT_2_MPH).depth_90 for t in (tow, known))
    assert narrow[1] - narrow[0] < 0.8 * (wide[1] - wide[0])


def test_the_levers_are_the_slopes_of_the_answer(tow: Tow) -> None:
    answer = let_out_for(tow, 28 * FEET, AT_2_MPH)
    out = answer.where.let_out
    faster = where_at(tow, out, Setting(2.1 * MPH)).depth - where_at(tow, out, AT_2_MPH).depth
    longer = where_at(tow, out + 10 * FEET, AT_2_MPH).depth - answer.where.depth
    assert answer.per_speed * 0.1 * MPH == pytest.approx(faster, rel=0.08)
    assert answer.per_line * 10 * FEET == pytest.approx(longer, rel=0.03)
    assert answer.per_speed < 0.0 < answer.per_line


def test_out_of_reach_says_the_deepest_and_when_it_could(tow: Tow) -> None:
    short = tow.with_length(tow.length - 137.0)  # no backing: the rig ends with its core
    most, out = deepest(short, AT_2_MPH)
    with pytest.raises(NoAnswer, match=r"deepest is .* it could at 0\.\d+ m/s or slower") as caught:
        let_out_for(short, most + 3.0, AT_2_MPH)
    assert f"{most:.1f} m" in str(caught.value)
    assert out == pytest.approx(short.length)
    with pytest.raises(NoAnswer, match="at no speed can it"):
        let_out_for(short, 120.0, AT_2_MPH)


def test_no_speed_for_the_depth_says_the_nearest(tow: Tow) -> None:
    with pytest.raises(NoAnswer, match="nearest is"):
        speed_for(tow, 20.0, 60.0, AT_2_MPH)


def test_more_line_than_the_rig_holds_is_no_answer(tow: Tow) -> None:
    with pytest.raises(NoAnswer, match="cannot be let out"):
        depth_of(tow, 500.0, AT_2_MPH)


def test_a_floating_lure_on_a_short_light_line_stays_up() -> None:
    tow = load(own=False).stack([("mono-10", 100.0)], "small-minnow", 0.9)
    floating = replace(tow, lure=np.array([1e-3, 0.0, -0.5]))
    with pytest.raises(NoAnswer, match="stays at the surface"):
        depth_of(floating, 5.0, Setting(0.3))


def test_share_of_strength_is_the_weakest_pieces(tow: Tow) -> None:
    weak = replace(tow, strength=np.array([5.0, 80.0, 90.0]))
    strong = let_out_for(tow, 28 * FEET, AT_2_MPH).where
    thin = let_out_for(weak, 28 * FEET, AT_2_MPH).where
    assert strong.share == pytest.approx(strong.tension / 80.07, rel=0.05)
    assert thin.share > strong.share
