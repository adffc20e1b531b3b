"""The API page has a section for each public name, each with an example that runs."""

import inspect
import runpy
from pathlib import Path

import towscope

DOCS = Path(__file__).parent.parent / "docs"
MADE = runpy.run_path(str(DOCS / "public_names.py"))


def test_every_public_name_has_a_section() -> None:
    made = MADE["sections"]()
    for name in towscope.__all__:
        assert name.startswith("__") or f":: towscope.{name}\n" in made, name
    source = ["before <!-- public names --> after"]
    MADE["put_in"](None, "api", source)
    assert source == [f"before {made} after"]
    assert MADE["MARK"] in (DOCS / "api.md").read_text(encoding="utf-8")


def test_what_is_asked_shows_an_example() -> None:
    for name in towscope.__all__:
        thing = getattr(towscope, name)
        if inspect.isfunction(thing):
            assert ">>> " in (inspect.getdoc(thing) or ""), name
