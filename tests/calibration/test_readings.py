"""Readings as people write them, and what is refused."""

from __future__ import annotations

from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from towscope.calibration.readings import Reading, readings_in
from towscope.calibration.store import join
from towscope.errors import InputError
from towscope.tackle.shelf import stock
from towscope.towing.tow import Tow

HEAD = "time,rig,let_out [ft],speed [mph],bottom_depth [ft],kind,error [ft]\n"


@cache
def tow_of(rig: str, lure: str) -> Tow:
    return stock().tow(rig)


def read(text: str, *, speeds_known: bool = True) -> list[Reading]:
    return readings_in(text, "m.csv", "demo", tow_of, speeds_known=speeds_known)


def test_units_in_the_header_or_in_the_cells() -> None:
    a = read(HEAD + "2026-08-14T07:40:00-05:00,demo,120,2.0,19.5,bottom hit,0.5\n")[0]
    b = read("let_out;speed;bottom_depth;kind\n120 ft;2 mph;19.5 ft;Hard hit\n")[0]
    c = read("let_out [m],speed [m/s],bottom_depth [m],kind\n36.576,0.89408,5.9436,tick\n")[0]
    for m in (a, b, c):
        assert m.let_out == pytest.approx(36.576)
        assert m.speed == pytest.approx(0.89408)
        assert m.depth == pytest.approx(5.9436)
        assert (m.kind, m.rig, m.error) == ("bottom hit", "demo", pytest.approx(0.1524))
    assert a.day == "2026-08-14"
    assert a.time == 1786711200.0


def test_colours_are_counted_past_the_leader() -> None:
    """The demo rig has 30 ft of leader and colours of 10 yd."""
    got = read("let_out [colors],speed [mph],bottom_depth [ft],kind\n4.5,2,28,bottom hit\n")[0]
    assert got.let_out == pytest.approx((30 + 4.5 * 30) * 0.3048)


def test_speed_through_the_water_has_its_own_column() -> None:
    heads = "let_out [ft],speed [mph],water_speed [mph],bottom_depth [ft],kind"
    text = f"{heads}\n120,2,1.9,20,bottom hit\n"
    got = read(text)[0]
    assert got.water
    assert got.speed == pytest.approx(1.9 * 0.44704)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "empty"),
        (HEAD, "no readings"),
        ("what,ever\n1,2\n", 'column "what"'),
        ("let_out [ft],bottom_depth [ft],kind\n120,20,bottom hit\n", "no column speed"),
        (HEAD + ",demo,120,,20,bottom hit,\n", "no speed"),
        (HEAD + ",demo,120,2 kg,20,bottom hit,\n", "speed"),
        ("let_out [kg],speed [mph],bottom_depth [ft],kind\n", "let_out"),
        ("let_out [ft],speed [mph],bottom_depth [ft],kind [ft]\n", "kind has no unit"),
        ("let_out,speed,bottom_depth,kind\n120,2 mph,20 ft,bottom hit\n", "no unit"),
        (HEAD + ",demo,120,2,20,bump,\n", 'kind "bump"'),
        (HEAD + ",demo,120,nan,20,bottom hit,\n", "speed"),
        (HEAD + ",demo,inf,2,20,bottom hit,\n", "let_out"),
        (HEAD + ",demo,120,2,0.5,bottom hit,\n", "bottom_depth"),
        (HEAD + ",demo,60,2,90,bottom hit,\n", "deeper than the line is long"),
        (HEAD + ",demo,9000,2,20,bottom hit,\n", "the rig holds"),
        (HEAD + ",demo,120,50,20,bottom hit,\n", "speed"),
        (HEAD + ",nobody,120,2,20,bottom hit,\n", "no rig called"),
        (HEAD + ",demo,120,2,20,bottom hit,0\n", "error"),
        (HEAD + "yesterday,demo,120,2,20,bottom hit,\n", "time"),
        (HEAD + ",demo,120,2,20\n", "5 columns; expected 7"),
        (HEAD + ',demo,120,2,20,"touch,\n', "m.csv"),
        (HEAD + ",demo,120,2,20,bottom hit,\n" * 20_001, "over 20000 readings"),
    ],
)
def test_what_is_refused_is_named(text: str, said: str) -> None:
    with pytest.raises(InputError) as wrong:
        read(text)
    assert said in str(wrong.value)
    assert "\n" not in str(wrong.value)


@given(st.text(max_size=200))
def test_anything_else_is_refused_in_one_line(text: str) -> None:
    try:
        read(text)
    except InputError as wrong:
        assert "\n" not in str(wrong)


@given(st.lists(st.text(alphabet="0123456789.,-einfa ft", max_size=9), min_size=7, max_size=7))
def test_any_row_is_read_or_refused(cells: list[str]) -> None:
    try:
        read(HEAD + ",".join(c.replace(",", ".") for c in cells) + "\n")
    except InputError as wrong:
        assert "\n" not in str(wrong)


def test_a_reading_read_twice_counts_once() -> None:
    once = read(HEAD + "2026-08-14T07:40:00-05:00,demo,120,2.0,19.5,bottom hit,0.5\n")
    again = read(HEAD + "2026-08-14T07:40:00-05:00,demo,120,2.0,20.5,bottom hit,0.5\n")
    assert [m.depth for m in join(once, again)] == [again[0].depth]
