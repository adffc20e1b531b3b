"""What another version of towscope left in the kernels' cache costs time, never an answer."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

MODULE = """
from typing import NamedTuple

from towscope.towing.jit import kernel


class {name}(NamedTuple):
    first: float
    second: float


@kernel
def total(of: {name}) -> float:
    return of.first + of.second


print(total({name}(1.0, 2.0)))
print(sum(total.compiled.stats.cache_hits.values()))
"""


def ran(folder: Path, name: str) -> list[str]:
    """Run a module whose kernel takes a tuple of that name; give what it prints."""
    (folder / "odd.py").write_text(MODULE.format(name=name))
    done = subprocess.run(
        [sys.executable, "-c", "import odd"],
        cwd=folder,
        env={**os.environ, "NUMBA_CACHE_DIR": str(folder / "cache")},
        check=False,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.split()


def test_a_cache_of_a_version_with_other_names_is_made_anew(tmp_path: Path) -> None:
    assert ran(tmp_path, "Pair") == ["3.0", "0"]
    assert ran(tmp_path, "Pair") == ["3.0", "1"]
    assert ran(tmp_path, "Couple") == ["3.0", "0"]
    assert ran(tmp_path, "Couple") == ["3.0", "1"], "kept again"


def test_a_spoilt_cache_is_made_anew(tmp_path: Path) -> None:
    ran(tmp_path, "Pair")
    for file in (tmp_path / "cache").rglob("*.nb[ic]"):
        file.write_bytes(file.read_bytes()[:-40])
    assert ran(tmp_path, "Pair") == ["3.0", "0"]
    assert ran(tmp_path, "Pair") == ["3.0", "1"]
