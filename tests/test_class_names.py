"""One class name, one meaning: no two classes of the source share a name."""

import ast
from collections import defaultdict
from pathlib import Path

SOURCE = Path(__file__).parent.parent / "src" / "towscope"
# The engine's tuples of arrays are written out in C under the name of the thing whose figures
# they hold; nothing above the engine names them.
SHARED = {
    "Line": {"tackle/models.py", "towing/moving_kernels.py"},
    "Rig": {"answers/rig.py", "towing/question_kernels.py"},
    "Water": {"water.py", "towing/moving_kernels.py"},
}


def classes(source: Path) -> dict[str, list[str]]:
    """Give the modules that define a class, by its name."""
    found = defaultdict(list)
    for path in sorted(source.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ClassDef):
                found[node.name].append(path.relative_to(source).as_posix())
    return found


def test_a_class_name_has_one_meaning() -> None:
    twice = {name: where for name, where in classes(SOURCE).items() if len(where) > 1}
    assert {name: set(where) for name, where in twice.items()} == SHARED
    assert all(len(where) == len(SHARED[name]) for name, where in twice.items())


def test_two_of_a_name_are_seen(tmp_path: Path) -> None:
    (tmp_path / "one.py").write_text("class Same:\n    pass\n")
    (tmp_path / "other.py").write_text("def f():\n    class Same:\n        pass\n")
    assert classes(tmp_path) == {"Same": ["one.py", "other.py"]}
