"""The run tells what it did not check, and fails for it where all was to be checked."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
FILE = """
import pytest

def test_done():
    pass

@pytest.mark.parametrize("n", range(2))
def test_with_a_browser(n, browser):
    raise AssertionError("there is none")

@pytest.fixture
def browser():
    raise AssertionError("nothing is begun for it")

def test_left():
    pytest.skip("the moon: no moon is up; wait for one")
"""


def run(folder: Path, *options: str, **environment: str) -> tuple[int, str]:
    (folder / "test_some.py").write_text(FILE)
    (folder / "pytest.ini").write_text(f"[pytest]\npythonpath = {ROOT}\n")
    own = {k: v for k, v in os.environ.items() if k != "TOWSCOPE_CHECK_ALL"}
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-p", "tests.unchecked", *options],
        cwd=folder,
        env={**own, "CHROMIUM": str(folder / "no-browser"), "PYTHONPATH": str(ROOT), **environment},
        capture_output=True,
        text=True,
        timeout=120,
    )
    return done.returncode, done.stdout


@pytest.mark.parametrize("options", [(), ("-n", "1")], ids=["alone", "by a worker"])
def test_what_was_not_checked_is_said_once_for_each_reason(
    tmp_path: Path, options: tuple[str, ...]
) -> None:
    status, said = run(tmp_path, *options)
    assert status == 0, said
    told = said[said.index("not checked on this machine") :]
    assert "2 tests: the pages in a browser: no Chromium at" in told
    assert "1 test: the moon: no moon is up; wait for one" in told
    assert told.count("no Chromium") == 1


def test_where_all_is_to_be_checked_a_gap_fails_the_run(tmp_path: Path) -> None:
    status, said = run(tmp_path, TOWSCOPE_CHECK_ALL="1")
    assert status == 1
    assert "counts as failed" in said
    status, said = run(tmp_path, "-k", "done", TOWSCOPE_CHECK_ALL="1")
    assert status == 0, said
