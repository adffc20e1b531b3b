"""The page of commands says what the commands say of themselves."""

import difflib
import re
import runpy
from pathlib import Path

import pytest

from towscope.cli import run

ROOT = Path(__file__).parent.parent
TOOL = runpy.run_path(str(ROOT / "tools" / "command_reference.py"))
PAGE = (ROOT / "docs" / "commands.md").read_text(encoding="utf-8")


def test_the_page_has_not_drifted_from_the_commands() -> None:
    made = TOOL["filled"](PAGE)
    changed = "\n".join(
        difflib.unified_diff(
            PAGE.splitlines(), made.splitlines(), "docs/commands.md", "the commands", lineterm=""
        )
    )
    assert not changed, f"run `python tools/command_reference.py`:\n{changed}"


def test_a_drift_is_seen_and_a_lacking_command_named() -> None:
    assert TOOL["filled"](PAGE.replace("Another lure on the same rig.", "A lure.")) == PAGE
    with pytest.raises(SystemExit, match="add a section with <!-- towscope letout -->"):
        TOOL["filled"](PAGE.replace("<!-- towscope letout -->", ""))
    with pytest.raises(SystemExit, match="take out the section of towscope sail"):
        TOOL["filled"](PAGE + "<!-- towscope sail -->\n<!-- end -->\n")


def test_the_page_names_what_help_names(capsys: pytest.CaptureFixture[str]) -> None:
    """Held against the help as people see it, so that the tool's own reading is not the judge."""
    for name in TOOL["commands"]():
        block = PAGE.partition(f"<!-- {name} -->")[2].partition("<!-- end -->")[0]
        assert run([*name.split()[1:], "--help"]) == 0
        told = capsys.readouterr().out
        options = set(re.findall(r"^  (?:-\w, )?(--[a-z-]+)", told, re.MULTILINE)) - {"--help"}
        assert options and {each for each in options if each not in block} == set(), name


def test_every_variable_of_the_environment_is_on_the_page() -> None:
    sources = (ROOT / "src" / "towscope").rglob("*.py")
    read = {
        name
        for each in sources
        for name in re.findall(r'"(TOWSCOPE_[A-Z]+)"', each.read_text(encoding="utf-8"))
    }
    assert read and {name for name in read if f"`{name}`" not in PAGE} == set()
