"""The journal's state is a function of the set of entries: order and repetition change nothing."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from towscope.errors import InputError
from towscope.journal.events import AnyEvent, Catch, read_event
from towscope.journal.ids import join_id
from towscope.journal.opening import open_store
from towscope.journal.replay import settle, weather

from .conftest import START, entry

RODS = ("port", "starboard")


@st.composite
def histories(draw: st.DrawFn) -> list[AnyEvent]:
    """Draw what three devices entered on one boat, mending and clock entries among it."""
    made: list[AnyEvent] = []
    for number in range(draw(st.integers(1, 18))):
        device = draw(st.sampled_from(("phone", "tablet", "laptop")))
        minute = draw(st.integers(0, 300))
        at = START + timedelta(minutes=minute)
        stamp = int(at.timestamp() * 1000) + draw(st.integers(-3_600_000, 3_600_000))
        name = join_id(stamp, draw(st.integers(0, 2**60)) << 8 | number)
        body: dict[str, Any] = {"id": name, "device": device, "at": at.isoformat()}
        kinds = ["line_out", "line_in", "catch", "bottom_hit", "conditions"]
        if made:
            kinds += ["undo", "undo", "correct"]
        kind = draw(st.sampled_from([*kinds, "clock"]))
        body["kind"] = kind
        if kind in ("line_out", "line_in", "catch", "bottom_hit"):
            body["rod"] = draw(st.sampled_from(RODS))
        elif kind == "conditions":
            body["sky"] = draw(st.sampled_from(("sunny", "cloudy")))
        elif kind == "clock":
            body |= {
                "of": draw(st.sampled_from(("phone", "tablet"))),
                "ahead_s": draw(st.sampled_from((-3600, 60, 3600))),
                "since": START.isoformat(),
                "until": (START + timedelta(hours=draw(st.integers(0, 5)))).isoformat(),
            }
        else:
            body["target"] = draw(st.sampled_from(made)).id
            if kind == "correct":
                body["changes"] = draw(
                    st.sampled_from(
                        ({"rod": "centre"}, {"sky": "hazy"}, {"at": at.isoformat()}, {"who": None})
                    )
                )
        made.append(read_event(body))
    return made


@settings(max_examples=60, deadline=None)
@given(st.data(), histories())
def test_any_order_and_redelivery_give_the_same_state(
    data: st.DataObject, history: list[AnyEvent]
) -> None:
    reference = settle(history)
    twice = history + data.draw(st.lists(st.sampled_from(history), max_size=10))
    assert settle(data.draw(st.permutations(twice))) == reference


@settings(
    max_examples=5, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.data(), histories())
def test_three_stores_that_exchange_in_any_order_agree(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject, history: list[AnyEvent]
) -> None:
    folder = tmp_path_factory.mktemp("three")
    devices = ("phone", "tablet", "laptop")
    stores = {name: open_store(folder / f"{name}.sqlite") for name in devices}
    try:
        for event in history:
            stores[event.device].append([event])
        pairs = [(a, b) for a in devices for b in devices if a != b]
        # any exchanges at all, then as many as it takes for all to have met
        for a, b in [*data.draw(st.lists(st.sampled_from(pairs), max_size=6)), *pairs, *pairs]:
            stores[b].append([event for _, event in stores[a].events()])
        days = {event.day for event in history}
        for day in days:
            states = [store.day(day) for store in stores.values()]
            assert states[0] == states[1] == states[2]
        sets = [{e.line() for _, e in store.events()} for store in stores.values()]
        assert sets[0] == sets[1] == sets[2] == {e.line() for e in history}
    finally:
        for store in stores.values():
            store.close()


def test_an_undo_takes_back_and_can_be_taken_back() -> None:
    set_, fish = entry("line_out", 0, rod="port"), entry("catch", 5, rod="port")
    undo = entry("undo", 6, target=fish.id)
    redo = entry("undo", 7, target=undo.id)
    assert [e.kind for e in settle([set_, fish, undo]).events] == ["line_out"]
    assert settle([set_, fish, undo]).undone == (fish.id,)
    assert [e.kind for e in settle([redo, fish, undo, set_]).events] == ["line_out", "catch"]


def test_undos_cannot_run_in_a_circle() -> None:
    a = entry("undo", 1, target=entry("note", 0, text="x").id)
    b = entry("undo", 2, target=a.id)
    a = a.model_copy(update={"target": b.id})
    state = settle([a, b])
    assert state == settle([b, a])
    assert a.id in state.undone


def test_corrections_apply_in_the_order_they_were_made_and_are_marked() -> None:
    set_ = entry("line_out", 0, rod="port")
    fish = entry("catch", 5, rod="port", length_m=0.5, who="Tor")
    one = entry("correct", 6, target=fish.id, changes={"length_m": 0.6})
    two = entry("correct", 7, target=fish.id, changes={"length_m": 0.7, "who": None})
    state = settle([two, fish, one, set_])
    found = next(e for e in state.events if isinstance(e, Catch))
    assert (found.length_m, found.who) == (0.7, None)
    assert {m.code for m in state.checks_of(fish.id)} == {"corrected"}


def test_a_correction_that_does_not_fit_is_left_out_and_marked() -> None:
    fish = entry("catch", 5, length_m=0.5)
    bad = entry("correct", 6, target=fish.id, changes={"length_m": 400.0})
    state = settle([fish, bad])
    assert state.events == (fish,)
    assert [m.code for m in state.checks_of(fish.id)] == ["uncorrected"]


def test_what_contradicts_is_kept_and_marked() -> None:
    early = entry("catch", 1, rod="port")
    stranger = entry("bottom_hit", 2, rod="bow")
    set_ = entry("line_out", 5, rod="port")
    state = settle([early, stranger, set_])
    assert len(state.events) == 3
    assert [m.code for m in state.checks_of(early.id)] == ["no-line"]
    assert [m.code for m in state.checks_of(stranger.id)] == ["unknown-rod"]
    assert any(m.code == "left-out" and "port" in m.text for m in state.checks)


def test_an_entry_ahead_of_its_own_making_is_marked() -> None:
    fish = entry("catch", 0)
    late = fish.model_copy(update={"at": fish.at + timedelta(hours=2)})
    assert [m.code for m in settle([late]).checks_of(fish.id)] == ["future"]
    assert not settle([fish]).checks_of(fish.id)


def _two_devices(shift_h: float) -> list[AnyEvent]:
    """One sets lines, the other notes fish, with a clock so many hours off."""
    events = []
    for n, rod in enumerate(RODS):
        events.append(entry("line_out", 10 + n, "laptop", rod=rod))
        events.append(entry("line_in", 100 + n, "laptop", rod=rod))
        events.extend(
            entry("catch", minute + shift_h * 60, "phone", rod=rod) for minute in (30 + n, 60, 90)
        )
    return events


@pytest.mark.parametrize(("shift", "words"), [(-1.0, "1 h behind"), (1.0, "1 h ahead")])
def test_two_clocks_an_hour_apart_are_seen_and_one_entry_mends_them(
    shift: float, words: str
) -> None:
    events = _two_devices(shift)
    found = [m for m in settle(events).checks if m.code == "clock"]
    assert any("phone" in m.text and words in m.text for m in found)
    mend = entry(
        "clock",
        200,
        "laptop",
        of="phone",
        ahead_s=shift * 3600,
        since=(START - timedelta(hours=5)).isoformat(),
        until=(START + timedelta(hours=9)).isoformat(),
    )
    state = settle([*events, mend])
    assert {m.code for m in state.checks} <= {"future"}
    assert not [m for m in settle(_two_devices(0.0)).checks if m.code in ("clock", "no-line")]


def test_conditions_hold_until_they_change() -> None:
    events = [
        entry("conditions", 0, sky="sunny", surface_temp_c=22.0),
        entry("conditions", 30, sky="cloudy"),
    ]
    last = weather(events)[-1][1]
    assert (last.sky, last.surface_temp_c) == ("cloudy", 22.0)


def test_a_new_lure_does_not_inherit_the_old_ones_looks() -> None:
    state = settle(
        [
            entry("line_out", 0, rod="port", lure="a", colour="red", size_m=0.05, let_out_m=50.0),
            entry("line_change", 10, rod="port", lure="b"),
            entry("line_in", 20, rod="port"),
        ]
    )
    second = state.spans()[1]
    assert (second.lure, second.colour, second.size_m, second.let_out_m) == ("b", "", None, 50.0)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"kind": "dance"}, "unknown kind"),
        ({"v": 2}, "format 2"),
        ({"lure_count": 3}, "unknown field"),
        ({"rod": ""}, "rod"),
        ({"at": "2026-08-14T07:00:00"}, "at"),
        ({"at": "1066-10-14T07:00:00Z"}, "between 1990 and 2100"),
        ({"lat": 91.0, "lon": 0.0}, "lat"),
        ({"lat": 45.0}, "both lat and lon"),
        ({"length_m": float("nan")}, "length_m"),
        ({"length_m": "long"}, "length_m"),
        ({"id": "1"}, "UUID"),
    ],
)
def test_bad_entries_are_refused_by_the_field_that_is_wrong(
    change: dict[str, Any], words: str
) -> None:
    body = entry("catch", 0, rod="port").model_dump(mode="json", exclude_none=True) | change
    with pytest.raises(InputError, match=words) as caught:
        read_event(body)
    assert "\n" not in str(caught.value)


def test_a_day_is_found_whole_wherever_its_mending_stands(tmp_path: Path) -> None:
    fish = entry("catch", 0, length_m=0.5)
    moved = entry("catch", 1440, length_m=0.6)
    next_week = entry("undo", 7 * 1440, target=fish.id)
    to_today = entry(
        "correct",
        7 * 1440,
        target=moved.id,
        changes={"at": (START + timedelta(hours=1)).isoformat()},
    )
    with open_store(tmp_path / "j.sqlite") as store:
        store.append([next_week, to_today, moved, fish])  # the mending came first
        today = store.day("2026-08-14")
        assert [e.id for e in today.events] == [moved.id]
        assert today.undone == (fish.id,)
        assert store.day("2026-08-15").events == ()
