"""No text that the crew reads uses a retired word; the list is in one place, words.json."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
import typer.main

from towscope.cli import ROOMS, build
from towscope.journal.describe import describe
from towscope.journal.events import read_event
from towscope.sheets import cautions
from towscope.units import METRIC, US
from towscope.words import retired, spelled
from towscope.words.table import table

ROOT = Path(__file__).resolve().parents[2]
PAGES = sorted((ROOT / "frontend" / "src").rglob("*.svelte"))
SCRIPTS = sorted(
    p for p in (ROOT / "frontend" / "src").rglob("*.ts") if not p.name.endswith(("d.ts", "test.ts"))
)
TEXT = re.compile(r"'([^'\n]*)'|\"([^\"\n]*)\"|`([^`]*)`")
# what a tag says to those who see or hear the page
ATTRIBUTE = re.compile(r'\b(?:aria-label|label|title|hint|doing|unit|alt|placeholder)="([^"]*)"')
AMERICAN = re.compile(rf"\b({'|'.join(table()['spelling'].values())})\b", re.IGNORECASE)


def helps(command, name="towscope") -> Iterator[tuple[str, str]]:
    for holder in (command, *getattr(command, "params", ())):
        if text := getattr(holder, "help", None):
            yield name, text
    for key, below in getattr(command, "commands", {}).items():
        yield from helps(below, f"{name} {key}")


ALL_HELP = list(helps(typer.main.get_command(build(ROOMS))))


def test_the_list_is_seen_to_work():
    assert retired("18 lbf, wanted 3 ft off the bottom") == [
        "'lbf' (write lb)",
        "'off the bottom' (write off bottom)",
        "'wanted' (write target)",
    ]


def test_no_command_says_a_retired_word():
    assert len(ALL_HELP) > 150
    assert {name: found for name, text in ALL_HELP if (found := retired(text))} == {}


def test_help_is_written_in_one_spelling_and_comes_out_in_both():
    """Written with colour and centre; what stands in quotes is what people type."""
    for name, text in ALL_HELP:
        bare = re.sub(r'"[^"]*"', "", text)
        assert not AMERICAN.search(bare), (name, text)
    british = " ".join(text for _, text in ALL_HELP)
    assert "colour" in british and "colour" not in re.sub(r"--\S+", "", spelled(british, "us"))


@pytest.mark.parametrize("system", [US, METRIC])
@pytest.mark.parametrize(
    ("kind", "told"),
    [
        ("line_out", {"rod": "port", "rig": "demo", "lure": "a", "let_out_m": 50.0}),
        ("line_change", {"rod": "port", "let_out_m": 40.0}),
        ("line_in", {"rod": "port"}),
        ("catch", {"rod": "port", "hook": "outside", "kept": False, "depth_m": 9.0}),
        ("strike_missed", {"rod": "port"}),
        ("bottom_hit", {"rod": "port", "depth_m": 9.0}),
        ("sonar_mark", {"depth_m": 9.0, "count": 3}),
        ("conditions", {"sky": "cloudy", "clarity_m": 3.0}),
    ],
)
def test_no_entry_says_a_retired_word(kind, told, system):
    entry = {"id": "017f22e2-79b0-7cc3-98c4-dc0c0c07398f", "device": "phone", "kind": kind}
    said = describe(read_event({**entry, "at": "2026-08-14T07:42:00-05:00", **told}), system)
    assert said and not retired(said)


def test_no_printed_sheet_says_a_retired_word():
    for name in ("sheet.typ", "day.typ", "passes.typ"):
        text = (ROOT / "src" / "towscope" / "sheets" / name).read_text(encoding="utf-8")
        shown = re.sub(r"^//.*$", "", text, flags=re.MULTILINE)
        assert not retired(shown), name
    for name, text in vars(cautions).items():
        if name.isupper() and isinstance(text, str) and name != "LINE":
            assert not retired(text), name


def page_text(page: Path) -> str:
    """What a page shows: its markup without script, style, tags, comments and expressions."""
    text = page.read_text(encoding="utf-8")
    for gone in (r"<script.*?</script>", r"<style.*?</style>", r"<!--.*?-->", r"<[^>]*>"):
        text = re.sub(gone, " ", text, flags=re.DOTALL)
    return re.sub(r"\{[^{}]*\}", " ", text)


@pytest.mark.parametrize("leaf", PAGES, ids=lambda p: str(p.relative_to(ROOT / "frontend/src")))
def test_no_page_says_a_retired_word(leaf):
    assert not retired(page_text(leaf))


def script_texts(text: str) -> list[str]:
    """What a script may show: its texts of several words, without comments and expressions."""
    text = re.sub(r"/\*.*?\*/|^\s*//.*?$|\s//\s.*?$", " ", text, flags=re.DOTALL | re.MULTILINE)
    found = ("".join(match.groups("")) for match in TEXT.finditer(text))
    return [bare for each in found if " " in (bare := re.sub(r"\$\{[^{}]*\}", "", each)).strip()]


def test_texts_in_scripts_are_seen():
    told = "// a touch\nconst a = `${n} ft off the bottom`, b = 'wanted' /* made-up */"
    assert script_texts(told) == [" ft off the bottom"]


@pytest.mark.parametrize("leaf", SCRIPTS, ids=lambda p: str(p.relative_to(ROOT / "frontend/src")))
def test_no_script_says_a_retired_word(leaf):
    found = script_texts(leaf.read_text(encoding="utf-8"))
    assert not retired("\n".join(found))


def hidden_texts(page: str) -> list[str]:
    """What a page shows from its script, its expressions and its tags' attributes."""
    page = re.sub(r"<style.*?</style>|<!--.*?-->", " ", page, flags=re.DOTALL)
    scripts = re.findall(r"<script[^>]*>(.*?)</script>", page, flags=re.DOTALL)
    markup = re.sub(r"<script.*?</script>", " ", page, flags=re.DOTALL)
    told = [f'"{text}"' for text in ATTRIBUTE.findall(markup)]
    told += re.findall(r"\{[^{}]*(?:\$\{[^{}]*\}[^{}]*)*\}", markup)
    return script_texts("\n".join([*scripts, *told]))


def test_texts_hidden_in_pages_are_seen():
    page = (
        "<script lang='ts'>\n// a touch\nconst a = 'let it touch'\n</script>"
        '<p aria-label="Line set {n} now" class="kept away">'
        '{on ? `wanted ${n} ft` : "made-up day"}</p>'
        "<style>.b { content: 'fetch it' }</style>"
    )
    assert retired("\n".join(hidden_texts(page))) == retired(
        "let it touch\nLine set  now\nwanted  ft\nmade-up day"
    )


@pytest.mark.parametrize("leaf", PAGES, ids=lambda p: str(p.relative_to(ROOT / "frontend/src")))
def test_no_pages_script_says_a_retired_word(leaf):
    found = hidden_texts(leaf.read_text(encoding="utf-8"))
    assert not retired("\n".join(found))


def test_pages_scripts_show_texts():
    assert sum(len(hidden_texts(p.read_text(encoding="utf-8"))) for p in PAGES) > 100


def test_scripts_show_texts():
    assert sum(len(script_texts(p.read_text(encoding="utf-8"))) for p in SCRIPTS) > 100
