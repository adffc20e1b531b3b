"""Every example in the README and the docs is run, and must print what it says."""

import re
import shlex
from collections.abc import Iterator
from pathlib import Path

import pytest

from towscope import clock
from towscope.cli import run

ROOT = Path(__file__).parent.parent
PAGES = [ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md"))]
BLOCK = re.compile(r"^```console\n(.*?)^```", re.DOTALL | re.MULTILINE)


def examples(page: Path) -> list[tuple[str, str]]:
    """Commands of a page, in order, with what it says they print (nothing: it does not say)."""
    found = []
    for block in BLOCK.findall(page.read_text("utf-8")):
        for command in re.split(r"^\$ ", block, flags=re.MULTILINE)[1:]:
            words, _, expected = command.partition("\n")
            while words.endswith("\\"):
                more, _, expected = expected.partition("\n")
                words = words[:-1] + more.lstrip("> ")
            found.append((words, expected))
    return found


def squeezed(text: str) -> str:
    return " ".join(text.split())


@pytest.fixture
def at_noon(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The day after the demo day, where the pages were written."""
    monkeypatch.setenv("TOWSCOPE_ZONE", "UTC")
    monkeypatch.setenv("TOWSCOPE_NOW", "2026-08-15T12:00:00+00:00")
    clock.begin()
    yield
    monkeypatch.undo()
    clock.begin()


@pytest.mark.usefixtures("at_noon")
@pytest.mark.parametrize("leaf", [p for p in PAGES if examples(p)], ids=lambda p: p.name)
def test_the_examples_of_a_page_print_what_it_says(
    leaf: Path,
    capsys: pytest.CaptureFixture[str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    for file in (ROOT / "docs" / "examples").glob("*"):
        (tmp_path / file.name).write_bytes(file.read_bytes())
    monkeypatch.chdir(tmp_path)
    for words, expected in examples(leaf):
        name, *arguments = shlex.split(words)
        assert name == "towscope", "only towscope is run in console blocks"
        status = run(arguments)
        out, err = capsys.readouterr()
        if not expected.strip():
            assert status == 0, f"{words}\n{err}"
            continue
        pattern = re.escape(squeezed(expected)).replace(re.escape("..."), ".*")
        said = squeezed(out + err)
        assert re.fullmatch(pattern, said, re.DOTALL), f"{words}\nprinted:\n{out}{err}"


def test_the_docs_hold_examples() -> None:
    assert sum(len(examples(page)) for page in PAGES) >= 5


def test_the_tackle_on_the_first_trip_is_the_file_its_commands_read() -> None:
    page = (ROOT / "docs" / "first-trip.md").read_text("utf-8")
    shown = page.partition("```toml\n")[2].partition("```")[0]
    assert shown and shown in (ROOT / "docs" / "examples" / "mine.toml").read_text("utf-8")
