"""Stock lures and reels follow one rule each: round sizes, depth by length, room from the spool."""

import math
import re
import tomllib
from importlib.resources import files

import pytest

STOCK = tomllib.loads(files("towscope.tackle").joinpath("tackle.toml").read_text("utf-8"))
SIZES = {1.5, 2.0, 2.25, 3.0, 4.0, 5.0}  # [in]
DEPTH_PER_INCH = {"minnow": 2.0, "shad": 4.0, "deep-lipped": 5.0}  # [ft/in]
POWER = {"minnow": 3, "shad": 3, "deep-lipped": 3, "spoon": 2, "harness": 1}


def figure(text: str) -> float:
    return float(text.split()[0])


@pytest.mark.parametrize("name", STOCK["lures"])
def test_a_lure_has_a_round_size_and_runs_by_its_length(name):
    lure = STOCK["lures"][name]
    assert figure(lure["size"]) in SIZES
    if "rating" in lure:
        deep = DEPTH_PER_INCH[lure["body"]] * figure(lure["size"])
        assert figure(lure["rating"]["depth"]) == deep
        assert (lure["rating"]["let_out"], lure["rating"]["speed"]) == ("100 ft", "2 mph")


@pytest.mark.parametrize("body", POWER)
def test_weight_in_water_goes_with_one_power_of_length(body):
    of = [lure for lure in STOCK["lures"].values() if lure["body"] == body]
    per = [figure(x["weight_in_water"]) / figure(x["size"]) ** POWER[body] for x in of]
    assert len(per) > 1 and max(per) == pytest.approx(min(per), rel=0.02)


@pytest.mark.parametrize("name", STOCK["reels"])
def test_a_reels_room_follows_from_a_spool_of_round_figures(name):
    reel = STOCK["reels"][name]
    full, arbor = figure(reel["full_diameter"]), figure(reel["arbor_diameter"])
    wide = float(re.search(r"(\d+) mm wide", reel["source"]["capacity"])[1])
    assert full % 5 == arbor % 5 == wide % 5 == 0
    length = 0.8 * math.pi / 4 * (full**2 - arbor**2) * wide / (math.pi / 4 * 0.4**2) / 1000
    assert figure(reel["capacity"]) == pytest.approx(length, abs=0.5)
    assert reel["capacity"].endswith("of 0.40 mm")


def test_strengths_are_in_pounds():
    assert all(re.fullmatch(r"\d+ lb", line["strength"]) for line in STOCK["lines"].values())
