"""A rig that is kept ready is the rig, and anything that changes asks for it anew."""

from dataclasses import fields
from pathlib import Path

import numpy as np
import pytest

from towscope.commands.rigging import quick_tow, tow_for
from towscope.towing.tow import Tow

MINE = '[rigs.mine]\nlure = "small-minnow"\nline = [{ line = "mono-10", length = "%s" }]\n'


def same(a: Tow, b: Tow) -> bool:
    parts = [(getattr(a, f.name), getattr(b, f.name)) for f in fields(Tow) if f.name != "doubt"]
    parts += [(getattr(a.doubt, f.name), getattr(b.doubt, f.name)) for f in fields(a.doubt)]
    return all(
        np.array_equal(x, y, equal_nan=True) if isinstance(x, np.ndarray) else x == y
        for x, y in parts
    )


@pytest.mark.parametrize("rig", ["demo", "demo-bulky"])
def test_what_is_kept_is_what_was_made(own_home: Path, rig: str) -> None:
    made = tow_for(rig, None)[1]
    assert same(quick_tow(rig, None), made)
    assert len(list((own_home / "ready").glob("*.npz"))) == 1
    assert same(quick_tow(rig, None), made)


def test_a_changed_file_lure_or_water_asks_anew(own_home: Path, tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(MINE % "50 m")
    assert quick_tow("mine", [path]).length == pytest.approx(50.0)
    path.write_text(MINE % "60 m")
    assert quick_tow("mine", [path]).length == pytest.approx(60.0)
    (own_home / "tackle.toml").write_text(MINE % "70 m")
    assert quick_tow("mine", None).length == pytest.approx(70.0)
    cold = quick_tow("demo", None, water="40 degF")
    assert cold.medium[1] > quick_tow("demo", None).medium[1]
    assert quick_tow("demo", None, lure="large-spoon").lure[2] > 0.0


def test_a_spoilt_copy_is_made_anew(own_home: Path) -> None:
    made = quick_tow("demo", None)
    for path in (own_home / "ready").glob("*.npz"):
        path.write_bytes(path.read_bytes()[:100])
    assert same(quick_tow("demo", None), made)


def test_where_nothing_can_be_kept_it_is_made_all_the_same(own_home: Path) -> None:
    (own_home / "ready").write_text("a file where the folder should be")
    assert same(quick_tow("demo", None), tow_for("demo", None)[1])
