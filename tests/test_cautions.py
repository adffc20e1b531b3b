"""What can hurt somebody is said rightly, in every place where it is said."""

import re
from pathlib import Path

import pytest

from towscope.sheets.cautions import ON_THE_WATER
from towscope.sky.beaufort import SCALE

ROOT = Path(__file__).parents[1]
SAID = " ".join(ON_THE_WATER).lower()


@pytest.mark.parametrize(
    "rule",  # the usual advice of coastguards and water-safety bodies; from memory
    [
        "life jackets on, everyone, fastened",
        "snagged: into neutral",
        "never wrap line round a hand",
        "stand out of its way",
        "engine off before anybody touches it",
    ],
)
def test_the_rules_that_save_a_hand_or_a_life_are_said(rule: str) -> None:
    assert rule in " ".join(SAID.split())


def test_no_wind_is_called_easy_without_saying_how_fast_it_builds() -> None:
    for force in SCALE:
        if force.number <= 5:
            assert "within minutes" in force.caution, force.name
    assert all("fastened" in force.caution for force in SCALE if force.number == 5)


def test_a_life_jacket_is_never_only_aboard_or_only_for_some() -> None:
    for folder, kind in (("frontend/src", "*.svelte"), ("src/towscope", "*.py"), ("docs", "*.md")):
        for path in (ROOT / folder).rglob(kind):
            for sentence in re.findall(r"[^.\n']*[Ll]ife jackets?[^.\n']*", path.read_text()):
                assert "swim" not in sentence and "on board" not in sentence, path


def test_no_text_of_ours_hurries_the_helm_or_calls_a_pass_safe() -> None:
    orders = re.compile(
        r"turn [^.'\"\n]{0,40}within \$?\{|[Tt]oo late|Turn round|Turn around|"
        r"['\"`]Safe\b|Not safe|worn by those"
    )
    found = [
        path.name
        for folder, kind in (
            ("frontend/src", "*.svelte"),
            ("frontend/src", "*.ts"),
            ("src/towscope", "*.py"),
        )
        for path in (ROOT / folder).rglob(kind)
        if path.name != "schema.d.ts" and orders.search(path.read_text(encoding="utf-8"))
    ]
    assert found == []
