"""The steady engine against MoorDyn, an independent lumped-mass code, towed until nothing changes.

MoorDyn lumps: what that costs falls with the square of its segments, and two runs tell what is
left. The full version, with longer lines, is bench/moordyn_steady.py.
"""

import sys
from pathlib import Path

import pytest

sys.path.append(str(Path(__file__).parents[2] / "bench"))

from moordyn_steady import SHORT_RIGS, SPEEDS, compare


@pytest.mark.parametrize("speed", SPEEDS)
@pytest.mark.parametrize("name", list(SHORT_RIGS))
def test_depth_is_moordyns(name, speed) -> None:
    row = compare(SHORT_RIGS[name], speed, segments=(1.0, 0.5), seconds=12.0, dt=8e-4)
    assert row.still < 1e-3  # change of depth over the last two seconds, as a share
    assert row.moordyn_depth == pytest.approx(row.depth, rel=2e-3)
    assert row.moordyn_pull == pytest.approx(row.pull, rel=5e-3)
