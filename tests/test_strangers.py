"""A program that uses the library as a stranger would passes two strict type checkers.

Sources: mypy with ``--strict``, and pyright with ``strict`` set, as a reader of the typing
specification of its own.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

PROGRAM = Path(__file__).parent / "strangers" / "ask_a_rig.py"


@pytest.fixture
def program(tmp_path: Path) -> Path:
    """Give the program in a folder of its own, where none of our settings hold."""
    return Path(shutil.copy(PROGRAM, tmp_path))


def run(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, *words]
    return subprocess.run(
        command, cwd=folder, capture_output=True, text=True, timeout=600, check=False
    )


def test_mypy_takes_it_strictly(program: Path) -> None:
    told = run(program.parent, "-m", "mypy", "--strict", "--follow-imports=silent", program.name)
    assert told.returncode == 0, told.stdout + told.stderr


def test_pyright_takes_it_strictly(program: Path) -> None:
    pytest.importorskip("pyright", reason="pyright is not installed")
    settings = {"include": [program.name], "typeCheckingMode": "strict"}
    (program.parent / "pyrightconfig.json").write_text(json.dumps(settings))
    told = run(program.parent, "-m", "pyright", "--pythonpath", sys.executable)
    if "error" not in told.stdout and told.returncode not in (0, 1):
        pytest.skip(f"pyright does not run here: {(told.stderr or told.stdout)[-300:]}")
    assert told.returncode == 0, told.stdout + told.stderr
