"""The app's own answers on fish against the library's: the same words and the same figures."""

from __future__ import annotations

import contextvars
import json
import random
import re
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import Any

import pytest
from tests.in_node import ROOT, asked

from towscope.errors import InputError, NoAnswer
from towscope.fish import Rule, find_species, may_keep, release_advice, species_table
from towscope.fish.answers import weight_answer
from towscope.fish.limits import fault_of
from towscope.fish.tables import tables
from towscope.fish.weight import longest
from towscope.sheets.cautions import RULES
from towscope.units import SYSTEMS, shown_units
from towscope.words import shown_in
from towscope.words.hooks import HOOKS

ASK = Path(__file__).with_name("ask.mjs")
FISH = sorted(species_table())
TIMES = 2000


def here(system: str, ask: Callable[[], Any]) -> Any:
    """Ask the library as somebody does who is shown these units."""

    def shown() -> Any:
        shown_in(system)
        return ask()

    return contextvars.copy_context().run(shown)


def test_the_tables_kept_are_those_of_the_library() -> None:
    kept = json.loads((ROOT / "frontend/src/lib/fish/tables.json").read_text())
    assert kept == json.loads(json.dumps(tables(cautions=[RULES]))), "npm run types"


def test_release(tmp_path: Path) -> None:
    chance = random.Random(12)
    # every bound of a study, what lies close to it, and what is not known
    depths = [None, 0.0, 7.6, 8.0, 9.0, 10.0, 12.0, 12.000001, 30.0]
    warmths = [None, -2.0, 9.99, 10.0, 16.0, 16.000001, 18.0, 19.6, 20.0, 24.0, 25.0, 31.0]
    questions = [
        {
            "what": "release",
            "system": chance.choice(["us", "metric"]),
            "caught": {
                "species": chance.choice([*FISH, "walleye", "lake trout"]),
                "depth_m": chance.choice([*depths, chance.uniform(0, 20)]),
                "surface_temp_c": chance.choice([*warmths, chance.uniform(0, 30)]),
                "hook": chance.choice(["", *HOOKS]),
                "bled": chance.random() < 0.4,
                "under_ice": chance.random() < 0.3,
            },
        }
        for _ in range(TIMES)
    ]
    seen = set()
    for question, there in zip(questions, asked(ASK, questions, tmp_path), strict=True):
        told = dict(question["caught"])
        fish = find_species(told.pop("species"))
        told["hook"] = told["hook"] or None
        mine = here(question["system"], lambda fish=fish, told=told: release_advice(fish, **told))
        assert there == json.loads(json.dumps(asdict(mine))), question
        seen.add(mine.outlook)
    assert seen == {"good", "fair", "poor", "unknown"}


def test_weights(tmp_path: Path) -> None:
    chance = random.Random(4)
    questions = []
    for _ in range(TIMES):
        fish = find_species(chance.choice(FISH))
        most = min(longest(fish), 1.5)
        length = chance.choice([chance.uniform(0.02, 1.2 * most), most, *fish.classes_m])
        weight = chance.choice([None, 1.2e-5 * (length * 100) ** 3 * chance.uniform(0.2, 3.0)])
        questions.append(
            {"what": "weigh", "species": fish.name, "length_m": length, "weighed_kg": weight}
        )
    refused = 0
    for question, there in zip(questions, asked(ASK, questions, tmp_path), strict=True):
        fish = find_species(question["species"])
        try:
            mine = weight_answer(fish, question["length_m"], question["weighed_kg"])
        except (NoAnswer, InputError) as error:
            # figures in a sentence are told in the reader's units there, raw in this question
            bare = re.sub(r"<[^>]*>", "*", there["said"])
            assert bare == re.sub(r"[\d.]+ (?:in|cm|lb|kg)\b", "*", str(error)), question
            refused += 1
            continue
        assert "said" not in there, question
        # two libraries' powers of ten and logarithms may differ in their last digits
        assert there["standard_weight_kg"] == pytest.approx(mine.standard_weight_kg, rel=1e-12)
        assert there["usual_kg"] == pytest.approx(list(mine.usual_kg), rel=1e-12)
        assert (there["condition"], there["size_class"]) == (mine.condition, mine.size_class)
        assert (there["source"], there["waters"]) == (mine.source, mine.waters or "")
        if mine.relative_weight is not None:
            assert there["relative_weight"] == pytest.approx(mine.relative_weight, rel=1e-12)
    assert 100 < refused < TIMES - 500


def test_limits(tmp_path: Path) -> None:
    chance = random.Random(8)
    inch = 0.0254
    questions = []
    for _ in range(TIMES):
        least = chance.choice([None, chance.randint(10, 20) * inch])
        most = chance.choice([None, chance.randint(24, 32) * inch])
        low = chance.randint(18, 22) * inch
        over = chance.choice([None, 20 * inch])
        limit = {
            "water": "Pond", "species": "walleye", "minimum_m": least, "maximum_m": most,
            "release_m": chance.choice([[], [[low, low + 4 * inch]]]),
            "keep": chance.choice([None, 0, 2, 6]), "over_m": over,
            "over_keep": None if over is None else chance.randint(0, 2),
            "source": "book", "checked": "2026-05-03",
        }  # fmt: skip
        bounds = [each for each in (least, most, low, over) if each is not None]
        length = chance.choice([*bounds, chance.uniform(0.2, 0.9)])
        kept = {"all": chance.randint(0, 7), "over": chance.randint(0, 2)}
        questions.append({"what": "keep", "limit": limit, "length_m": length, "kept": kept})
    answers = set()
    for question, there in zip(questions, asked(ASK, questions, tmp_path), strict=True):
        told = dict(question["limit"])
        told["release_m"] = tuple(tuple(pair) for pair in told["release_m"])
        kept = question["kept"]
        may, why = may_keep(
            Rule(**told), question["length_m"], kept=kept["all"], kept_over=kept["over"]
        )
        bare = re.sub(r"<[^>]*>", "*", there["why"])
        assert (there["may"], bare) == (may, re.sub(r"[\d.]+ in\b", "*", why)), question
        answers.add(re.sub(r"[\d.]+", "", bare))
    assert len(answers) == 7  # each of the seven reasons was met


def test_faults_of_a_limit(tmp_path: Path) -> None:
    good: dict[str, Any] = {
        "water": "Pond", "species": "walleye", "minimum_m": 0.3, "maximum_m": 0.7,
        "release_m": [[0.4, 0.5]], "keep": 2, "over_m": 0.6, "over_keep": 1, "source": "book",
        "checked": "2026-05-03",
    }  # fmt: skip
    limits = [
        good | change
        for change in (
            {}, {"water": ""}, {"source": ""}, {"release_m": [[0.5, 0.5]]}, {"maximum_m": 0.3},
            {"over_m": None}, {"over_keep": None}, {"over_m": None, "over_keep": None},
        )
    ]  # fmt: skip
    there = asked(ASK, [{"what": "fault", "limit": limit} for limit in limits], tmp_path)
    assert there == [fault_of(Rule(**limit)) for limit in limits]
    assert len(set(there)) == 6


def test_lengths_are_told_in_the_readers_units() -> None:
    assert set(SYSTEMS) == set(tables()["findings"][0]["reason"])
    assert shown_units().name == "us"
