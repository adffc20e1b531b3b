"""A wheel or source archive is never made without the app's pages."""

import subprocess
import sys
import tarfile
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PAGE = "src/towscope/web/pages/index.html"
CORE = "src/towscope/towing/core.wasm"


def build(there: Path, target: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", target],
        cwd=there,
        capture_output=True,
        text=True,
        timeout=120,
    )


@pytest.mark.parametrize("target", ["wheel", "sdist"])
def test_a_clean_clone_refuses_to_be_packed_and_built_pages_go_in(
    tmp_path: Path, target: str
) -> None:
    pytest.importorskip("hatchling", reason="packing: hatchling is not installed; run `make setup`")
    for name in ("pyproject.toml", "README.md", "LICENSE", "hatch_build.py", ".gitignore"):
        (tmp_path / name).write_bytes((ROOT / name).read_bytes())
    (tmp_path / "src/towscope").mkdir(parents=True)
    (tmp_path / "src/towscope/__init__.py").write_text("")
    refused = build(tmp_path, target)
    assert refused.returncode == 1
    said = (refused.stdout + refused.stderr).strip().splitlines()
    assert len(said) == 1, said
    assert "make pages" in said[0]
    assert not (tmp_path / "dist").is_dir() or not list((tmp_path / "dist").iterdir())
    (tmp_path / PAGE).parent.mkdir(parents=True)
    (tmp_path / PAGE).write_text("<!doctype html>")
    refused = build(tmp_path, target)
    assert refused.returncode == 1
    assert "the app's engine is not in its pages" in refused.stdout + refused.stderr
    for name in ("core.wasm", "draws.bin", "tackle.json"):
        (tmp_path / PAGE).with_name(name).write_bytes(b"\0asm")
    refused = build(tmp_path, target)
    assert refused.returncode == 1
    assert "the engine of short commands is not built" in refused.stdout + refused.stderr
    (tmp_path / CORE).parent.mkdir()
    (tmp_path / CORE).write_bytes(b"\0asm")
    made = build(tmp_path, target)
    assert made.returncode == 0, made.stderr
    (file,) = (tmp_path / "dist").iterdir()
    if target == "wheel":
        names = zipfile.ZipFile(file).namelist()
    else:
        with tarfile.open(file) as archive:
            names = archive.getnames()
    for page in ("index.html", "core.wasm", "draws.bin", "tackle.json"):
        assert [name for name in names if name.endswith(f"web/pages/{page}")]
    assert [name for name in names if name.endswith("towscope/towing/core.wasm")]
