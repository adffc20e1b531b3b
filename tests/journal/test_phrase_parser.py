"""A few words typed on a boat: read one way, or refused with the word that is wrong."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from towscope.errors import InputError
from towscope.fish import species_named
from towscope.journal.phrase_parser import PhraseContext, read_words
from towscope.journal.replay import LineSpan

NOW = datetime(2026, 8, 14, 15, 0, tzinfo=ZoneInfo("America/Chicago"))
WORDS = (
    "set catch in lure out port starboard 21in 170 ft rig demo released ago 10 min at 7:40 walleye "
    "lake trout by wind NW temp 71F sky cloudy undo 3 lb 4 oz"
)
PORT = LineSpan("port", 0, 0, rig="demo", lure="small-minnow", colour="perch", let_out_m=50.0)
ABOARD = PhraseContext(
    now=NOW,
    out={"port": PORT},
    last={"port": PORT, "starboard": LineSpan("starboard", 0, 0)},
    rigs={"demo": "small-minnow", "bulky": "small-minnow"},
    lures={"small-minnow": ("minnow", 0.0508, ""), "small-spoon": ("spoon", 0.05715, "silver")},
    species=species_named,
)


@pytest.mark.parametrize(
    ("words", "kind", "told"),
    [
        (
            "set port --rig demo --out 170ft".replace("--", ""),
            "line_out",
            {"rig": "demo", "lure": "small-minnow", "let_out_m": 51.816, "body": "minnow"},
        ),
        ("set port", "line_out", {"rig": "demo", "let_out_m": 50.0, "colour": "perch"}),
        ("set port small-spoon", "line_out", {"lure": "small-spoon", "colour": "silver"}),
        ("set bow bulky 52 yd", "line_out", {"rod": "bow", "rig": "bulky", "let_out_m": 47.5488}),
        ("lure port small-spoon pink", "line_change", {"lure": "small-spoon", "colour": "pink"}),
        ("out port 180 ft", "line_change", {"let_out_m": 54.864}),
        (
            "catch port 21.5in released walleye",
            "catch",
            {"rod": "port", "length_m": 0.5461, "kept": False, "species": "walleye"},
        ),
        ("catch lake trout 31 in 9 lb 4 oz kept", "catch", {"weight_kg": 4.19573}),
        ("catch port laker gut bled at 31ft by Tor", "catch", {"hook": "stomach", "who": "Tor"}),
        ("caught port 54.6cm let go", "catch", {"length_m": 0.546, "kept": False}),
        ("miss port", "strike_missed", {"rod": "port"}),
        ("hit port 31 ft", "bottom_hit", {"depth_m": 9.4488}),
        ("sonar 31ft x3", "sonar_mark", {"depth_m": 9.4488, "count": 3}),
        ("sky partly cloudy", "conditions", {"sky": "partly cloudy"}),
        ("wind 8 mph from NW", "conditions", {"wind_m_s": 3.57632, "wind_from": "NW"}),
        ("wind calm", "conditions", {"wind_m_s": 0.0}),
        # WMO: 0.836 B^(3/2), 4.344 m/s for force 3
        ("wind 3 bft NW", "conditions", {"wind_m_s": 4.34398, "wind_from": "NW"}),
        ("wind NW force 3", "conditions", {"wind_m_s": 4.34398, "wind_from": "NW"}),
        ("wind 3bft", "conditions", {"wind_m_s": 4.34398}),
        ("temp 71F", "conditions", {"surface_temp_c": 21.667}),
        ("clarity 9 ft", "conditions", {"clarity_m": 2.7432}),
        ("note the bite is on, at last", "note", {"text": "the bite is on, at last"}),
        ("in all", "line_in", {"rod": "port"}),
    ],
)
def test_words_are_read(words: str, kind: str, told: dict[str, Any]) -> None:
    said = read_words(words.split(), ABOARD)
    assert said[0].kind == kind
    assert told.items() <= said[0].fields.items()


@pytest.mark.parametrize(
    ("words", "at"),
    [
        ("catch port 10 min ago", "14:50"),
        ("10:15am catch port", "10:15"),
        ("catch port walleye 07:42 21in", "07:42"),
        ("in port yesterday 18:30", "18:30"),
        ("hit port 31ft half an hour ago", "14:30"),
    ],
)
def test_a_time_may_stand_anywhere(words: str, at: str) -> None:
    assert f"{read_words([words], ABOARD)[0].at:%H:%M}" == at


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("", "nothing to log"),
        ("frobnicate", 'cannot log "frobnicate"; expected one of out, in'),
        ("cacth port", 'did you mean "catch"'),
        ("catch prot 21in", 'did you mean "port"'),
        ("catch port 21", "has no unit"),
        ("catch port 21in 22in", "given twice"),
        ("catch port released kept", "given twice"),
        ("catch port glorious", "cannot read"),
        ("catch port 16:00", "ahead of now"),
        ("catch port 10 min ago 07:00", "two times"),
        ("set", "which rod"),
        ("set 170ft", "no name for a rod"),
        ("set port rig demmo", "nearest: demo"),
        ("set port 170ft 180ft", "two lengths"),
        ("set port out deep", "line out"),
        ("set port rig", "and then nothing"),
        ("lure starboard small-spoon", "no line out to change"),
        ("lure port", "what changed"),
        ("sky clody", 'did you mean "cloudy"'),
        ("wind", "what wind"),
        ("wind loud", "cannot read"),
        ("wind 13 bft", "ends at 12"),
        ("temp 71", "surface temperature"),
        ("temp 71 ft", "surface temperature"),
        ("sonar", "how deep"),
        ("note", "empty note"),
        ("hit port 31 lb", "cannot read"),
        ("x" * 3000, "far too much"),
    ],
)
def test_what_cannot_be_read_names_the_word(words: str, expected: str) -> None:
    with pytest.raises(InputError, match=expected) as caught:
        read_words(words.split(), ABOARD)
    assert "\n" not in str(caught.value)


def test_the_rod_may_be_left_out_only_where_one_line_is_out() -> None:
    said = read_words(["catch", "21in"], ABOARD)
    assert said[0].fields["rod"] == "port"
    assert "only line out" in said[0].remarks[0]
    both = PhraseContext(NOW, out={"port": PORT, "starboard": PORT})
    with pytest.raises(InputError, match="which rod"):
        read_words(["catch", "21in"], both)


def test_anyway_keeps_a_strange_rod() -> None:
    from dataclasses import replace

    assert read_words(["catch bow"], replace(ABOARD, anyway=True))[0].fields == {"rod": "bow"}


@settings(max_examples=150, deadline=None)
@given(
    st.lists(
        st.one_of(
            st.sampled_from(tuple(WORDS.split())),
            st.text(max_size=8),
        ),
        max_size=9,
    )
)
def test_any_words_are_read_or_refused_in_one_line(words: list[str]) -> None:
    try:
        said = read_words(words, ABOARD)
    except InputError as error:
        assert "\n" not in str(error)
    else:
        assert said
        assert all(one.at <= NOW for one in said)
