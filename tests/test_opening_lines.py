"""Modules open with their method and what it answers, not with a question that hides it."""

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
QUESTION = re.compile(
    r"(?:In )?(?:What|Which|Where|When|Why|Who|How|Does|Do|Is|Are|Has|May|Can|Will) "
)
# the front door says what the whole is for; the engine's modules are being rewritten
MODULES = [
    path
    for base in ("src/towscope", "bench", "tools")
    for path in sorted((ROOT / base).rglob("*.py"))
    if path != ROOT / "src/towscope/__init__.py" and "towing" not in path.parts
]


def test_a_question_is_seen() -> None:
    assert QUESTION.match("How does the line lie.") and not QUESTION.match("Whole words.")


@pytest.mark.parametrize("base", ["src/towscope", "bench", "tools"])
def test_no_module_opens_with_a_question(base: str) -> None:
    asking = {
        str(path.relative_to(ROOT))
        for path in MODULES
        if path.is_relative_to(ROOT / base)
        and QUESTION.match(ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or "")
    }
    assert asking == set()
