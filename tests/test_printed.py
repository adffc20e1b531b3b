"""What is printed, looked at as a printer would: rendered to pixels by poppler."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import matplotlib.image
import numpy as np
import pytest
from tests.unchecked import NO_POPPLER

from towscope.cli import run

DPI = 50
pytestmark = pytest.mark.skipif(shutil.which("pdftoppm") is None, reason=NO_POPPLER)


def pages(pdf: Path) -> list[np.ndarray]:
    """Render a PDF: darkness of each page, 0 white to 1 black, (height, width)."""
    stem = pdf.with_suffix("")
    subprocess.run(["pdftoppm", "-r", str(DPI), "-png", pdf, stem], check=True, timeout=60)
    found = sorted(pdf.parent.glob(f"{stem.name}-*.png"))
    return [1.0 - matplotlib.image.imread(each)[:, :, :3].mean(axis=2) for each in found]


def sound(page: np.ndarray) -> None:
    """Nothing printed runs over the edge; the page holds something, and is no black slab."""
    rim = DPI // 6  # 4 mm: most printers print no nearer to the edge
    inside = page[rim:-rim, rim:-rim]
    assert np.count_nonzero(page) == np.count_nonzero(inside), "printed over the edge"
    assert 0.01 < (inside > 0.1).mean() < 0.6
    rows, columns = np.nonzero(inside > 0.1)
    assert np.ptp(columns) > 0.6 * inside.shape[1], "the page is mostly empty to the side"
    assert np.ptp(rows) > 0.3 * inside.shape[0], "the page is mostly empty below"


@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_rigs_sheet_is_one_whole_page(units: str, tmp_path: Path) -> None:
    file = tmp_path / "sheet.pdf"
    words = ["table", "demo", "-o", str(file), "--units", units]
    assert run(words) == 0
    (page,) = pages(file)
    sound(page)


def test_the_days_report_is_printed_whole(
    tmp_path: Path, own_home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TOWSCOPE_ZONE", "America/Chicago")
    assert run(["day", "demo", "--days", "1"]) == 0
    file = tmp_path / "day.pdf"
    assert run(["day", "report", "-o", str(file)]) == 0
    found = pages(file)
    assert 1 <= len(found) <= 3
    for page in found:
        sound(page)
