"""The API page has a section for each public name, each with an example that runs."""

import inspect
import runpy
from operator import attrgetter
from pathlib import Path

import towscope

DOCS = Path(__file__).parent.parent / "docs"
MADE = runpy.run_path(str(DOCS / "public_names.py"))


def test_every_public_name_has_a_section() -> None:
    made = MADE["sections"]()
    for name in towscope.__all__:
        if name.startswith("__"):
            continue
        thing = getattr(towscope, name)
        if not inspect.ismodule(thing):
            assert f":: towscope.{name}\n" in made, name
    assert ":: towscope.fish.weigh\n" in made and "fish.standard_weight" not in made
    source = ["before <!-- public names --> after"]
    MADE["put_in"](None, "api", source)
    assert source == [f"before {made} after"]
    assert MADE["MARK"] in (DOCS / "api.md").read_text(encoding="utf-8")


def test_what_is_asked_shows_an_example() -> None:
    for name in MADE["names"]():
        thing = attrgetter(name)(towscope)
        if inspect.isfunction(thing):
            assert ">>> " in (inspect.getdoc(thing) or ""), name
