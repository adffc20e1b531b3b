"""What the phone answers by itself against what the server answers: the same, or no answer."""

from __future__ import annotations

import json
import random
from pathlib import Path
from typing import Any

import pytest
from tests.in_node import asked

from towscope.answers.tackle_data import tackle_data
from towscope.cli import run
from towscope.errors import InputError, NoAnswer
from towscope.web.context import AppContext
from towscope.web.rigging.answers import answer
from towscope.web.rigging.models import Ask

FEET = 0.3048
# A bulky core's and a thin core's let-outs for the same bottom, near what is stated (invented).
READINGS = "time,rig,let_out [ft],speed [mph],bottom_depth [ft],kind\n" + "".join(
    f"2026-07-11T08:{10 * n:02}:00-05:00,taught,{out},{speed},{depth},bottom hit\n"
    for n, (out, speed, depth) in enumerate(
        ((150, 2.0, 25), (180, 2.0, 29), (210, 1.8, 38), (160, 2.2, 24))
    )
)
TACKLE = """
[lures.ours]
body = "minnow"
size = "2.4 in"
rating = { depth = "7 ft", let_out = "110 ft", line = "mono-10", speed = "2 mph" }

[rigs.mine]
lure = "ours"
tip_height = "4 ft"
counter_factor = 1.05
line = [
  { line = "fluoro-12", length = "25 ft" },
  { line = "thin-core-18", length = "7 colors" },
  { line = "braid-20", length = "150 yd" },
]

[rigs.taught]
lure = "ours"
line = [
  { line = "fluoro-12", length = "30 ft" },
  { line = "thin-core-18", length = "10 colors" },
  { line = "braid-20", length = "150 yd" },
]
"""
SPEC = {
    "lure": "packaged",
    "tip_height": "3.5 ft",
    "line": [
        {"line": "fluoro-12", "length": "8 m"},
        {"line": "thin-core-18", "length": "8 colors"},
        {"line": "braid-20", "length": "200 ft"},
    ],
    "lures": {
        "packaged": {
            "body": "minnow",
            "size": "2.5 in",
            "rating": {
                "depth": "9 ft",
                "let_out": "120 ft",
                "line": "mono-10",
                "speed": "2 mph",
            },
        }
    },
}
CURRENTS = [
    [],
    [{"depth_m": 0.0, "along_m_s": 0.1, "across_m_s": 0.05}],
    [
        {"depth_m": 0.0, "along_m_s": 0.15, "across_m_s": 0.0},
        {"depth_m": 8.0, "along_m_s": -0.05, "across_m_s": 0.1},
    ],
]


@pytest.fixture
def aboard(own_home: Path, tmp_path: Path) -> AppContext:
    (own_home / "tackle.toml").write_text(TACKLE)
    readings = tmp_path / "readings.csv"
    readings.write_text(READINGS)
    assert run(["calibrate", "taught", str(readings)]) == 0
    return AppContext()


def questions(rigs: list[str]) -> list[dict[str, Any]]:
    chance = random.Random(3)
    made: list[dict[str, Any]] = []
    for n in range(160):
        depth = (400 if n % 16 == 1 else chance.uniform(8, 60)) * FEET  # or out of reach
        asks: dict[str, Any] = {
            "speed_m_s": chance.uniform(1.2, 2.8) * 0.44704,
            **({"depth_m": depth} if n % 2 else {"let_out_m": 6 * depth}),
            "current": CURRENTS[0] if n % 4 else chance.choice(CURRENTS[1:]),
        }
        if n % 8 == 3:
            asks["spec"] = SPEC
            asks["water_c"] = chance.choice([None, 8.0, 21.0, 26.5])
        else:
            asks["rig"] = chance.choice([*rigs, "mine", "taught", "taught"])
            if n % 8 == 5:
                asks["lure"] = "ours"
            asks["uncalibrated"] = n % 16 == 7
        made.append(asks)
    return made


def close(there: Any, here: Any, where: str) -> None:
    """Hold two answers to each other, figure by figure."""
    if isinstance(here, dict):
        assert set(there) == set(here), where
        for key, value in here.items():
            close(there[key], value, f"{where} {key}")
    elif isinstance(here, list):
        assert len(there) == len(here), where
        for n, (mine, theirs) in enumerate(zip(here, there, strict=True)):
            close(theirs, mine, f"{where} {n}")
    elif isinstance(here, float) and isinstance(there, (int, float)):
        # both are rounded, to six digits or to a millimetre or more: the last may fall either way
        least = 1.1e-2 if "shape" in where else 1.1e-3
        assert there == pytest.approx(here, rel=1.1e-5, abs=least), where
    else:
        assert there == here, where


def test_the_phone_answers_as_the_server(aboard: AppContext, tmp_path: Path) -> None:
    shelf = aboard.shelf()
    rigs = sorted(set(shelf.rigs) - {"taught"})
    tackle = tackle_data(shelf)
    assert set(tackle["calibrated"]) >= {"taught"}
    asks = questions(rigs)
    script = Path(__file__).with_name("answer.mjs")
    answers = asked(script, [json.loads(json.dumps(tackle)), *asks], tmp_path)[1:]
    answered = refused = taught = left_out = 0
    for ask, there in zip(asks, answers, strict=True):
        where = json.dumps(ask)
        try:
            here = answer(aboard, Ask.model_validate(ask)).model_dump(mode="json")
        except (InputError, NoAnswer) as error:
            assert "why" in there, f"{where}: {error}"
            refused += 1
            continue
        assert "told" in there, f"{where}: {there}"
        told = there["told"]
        if any(care["key"] == "left_out" for care in there["care"]):
            # said plainly; the figures are then those of the rig as stated
            assert here["calibrated"] is not None, where
            assert "spec" in ask or "lure" in ask, where
            here = answer(aboard, Ask.model_validate({**ask, "uncalibrated": True})).model_dump(
                mode="json"
            )
            left_out += 1
        for words in ("mind", "made_ms", "rig"):
            told.pop(words), here.pop(words)
        told["count"].pop("words"), here["count"].pop("words")
        close(told, here, where)
        answered += 1
        taught += here["calibrated"] is not None
    assert answered > 100
    assert taught > 15
    assert left_out > 5
    assert refused > 5
