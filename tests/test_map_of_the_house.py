"""CONTRIBUTING.md's map of the rooms and the import contract say the same."""

import re
import tomllib
from pathlib import Path

ROOT = Path(__file__).parent.parent


def test_the_map_lists_the_rooms_as_the_contract_has_them() -> None:
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    (layers,) = (
        each["layers"]
        for each in settings["tool"]["importlinter"]["contracts"]
        if each["type"] == "layers"
    )
    rooms = [name for layer in reversed(layers) for name in re.findall(r"\w+", layer)]
    page = (ROOT / "CONTRIBUTING.md").read_text(encoding="utf-8")
    there = page.partition("## A map of the house")[2].partition("\n## ")[0]
    mapped = re.findall(r"^- `(\w+)`: \S", there, re.MULTILINE)
    assert mapped == rooms, "each room of the contract has a line in CONTRIBUTING.md, in its order"


def test_files_named_on_the_page_are_there() -> None:
    page = (ROOT / "CONTRIBUTING.md").read_text(encoding="utf-8")
    named = {
        name
        for name in re.findall(r"`([\w./]+/[\w./]+\.(?:py|ts|svelte|toml|json|md))`", page)
        if not re.search(r"NAME|Name", name)
    }
    places = (ROOT, ROOT / "src" / "towscope", ROOT / "src/towscope/boat/feeds")
    assert len(named) > 15
    assert {n for n in named if not any((place / n).exists() for place in places)} == set()
