"""Tables as people save them: track and soundings agree on their layout."""

import numpy as np
import pytest

from towscope.bed import csv_log
from towscope.bed.soundings import FileOptions
from towscope.boat.read import read_fixes

HEADS = ("Time (s)", "Latitude", "Lon", "Depth (ft)")
ROWS = [(i, 46.9 + i * 1e-5, -95.2, 31.5 + i) for i in range(20)]


@pytest.mark.parametrize(
    ("mark", "comma"),
    [(mark, comma) for mark in ",;\t|" for comma in (False, True) if not (comma and mark == ",")],
)
def test_one_file_for_both_rooms(tmp_path, mark, comma):
    lines = ["# from the sounder", "", mark.join(f'"{h}"' for h in HEADS)]
    for row in ROWS:
        text = mark.join(f"{value:.6f}" for value in row)
        lines.append(text.replace(".", ",") if comma else text)
    path = tmp_path / "a.csv"
    path.write_text("\n".join(lines))
    wanted = np.array(ROWS)
    fixes, soundings = read_fixes(path), csv_log.read(path, FileOptions())
    assert fixes.time == pytest.approx(wanted[:, 0]) and fixes.notes == ()
    for found in (fixes.first, soundings.latitude):
        assert found == pytest.approx(wanted[:, 1], abs=1e-9)
    # feet to metres: international yard and pound agreement, 1959
    assert soundings.depth == pytest.approx(wanted[:, 3] * 0.3048)
    assert soundings.row[0] == 4
