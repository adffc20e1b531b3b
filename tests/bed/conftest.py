"""Lakes for the tests: made once, and the user's folder moved out of the way."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from towscope.bed import reading
from towscope.bed.bed import LakeBed, build
from towscope.bed.cleaning import Clean, clean
from towscope.bed.soundings import FileOptions
from towscope.demo import long_slate

REAL = Path(__file__).parents[1] / "data/lake227_soundings.csv"


@pytest.fixture(autouse=True)
def own_home(tmp_path, monkeypatch):
    monkeypatch.setenv("TOWSCOPE_HOME", str(tmp_path / "home"))


@pytest.fixture(scope="session")
def real() -> Clean:
    return clean([reading.read(REAL, FileOptions())])


@pytest.fixture(scope="session")
def real_bed(real) -> LakeBed:
    return build(real.latitude, real.longitude, real.depth)


@pytest.fixture(scope="session")
def slate() -> LakeBed:
    text = long_slate.log_csv(90.0)
    rows = np.genfromtxt(text.splitlines()[1:], delimiter=",", usecols=(1, 2, 3))
    good = rows[:, 2] > 0.5
    x, y = long_slate.PLACE.to_metres(rows[:, 0], rows[:, 1])
    good &= np.abs(rows[:, 2] * long_slate.FOOT - long_slate.true_depth(x, y)) < 2.0
    rows = rows[good & (np.abs(x) < 2000.0)]
    return build(
        rows[:, 0], rows[:, 1], rows[:, 2] * long_slate.FOOT, cell=5.0, place=long_slate.PLACE
    )
