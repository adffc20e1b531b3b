"""What readings have taught is in every answer, and can be left out of each."""

from __future__ import annotations

import contextlib
import io
import json
from pathlib import Path
from typing import Any

import pytest

from towscope import cli
from towscope.calibration.calibrated_rig import depths_of, fingerprint
from towscope.calibration.readings import readings_in
from towscope.effort.depths import Depths
from towscope.tackle import load
from towscope.tackle.shelf import stock
from towscope.towing.questions import where_at
from towscope.towing.tow import Setting

# a line that runs a good deal deeper than stated
READINGS = (
    "let_out [ft],speed [mph],bottom_depth [ft],kind\n"
    "120,2,26,bottom hit\n170,2,37,bottom hit\n170,1.7,43,bottom hit\n"
)


def command(*words: str) -> dict[str, Any]:
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        assert cli.run([*words, "--json"]) == 0
    told: dict[str, Any] = json.loads(out.getvalue())
    return told


@pytest.fixture
def calibrated(tmp_path: Path) -> None:
    (tmp_path / "readings.csv").write_text(READINGS)
    command("calibrate", "demo", str(tmp_path / "readings.csv"))


def test_the_table_says_what_it_is_calibrated_by(calibrated: None) -> None:
    words = ("table", "demo", "--depths", "30 ft", "--speeds", "2 mph")
    told, plain = command(*words), command(*words, "--uncalibrated")
    assert told["calibrated"]["readings"] == 3 and plain["calibrated"] is None
    assert told["cells"][0]["let_out_m"] < plain["cells"][0]["let_out_m"]


def test_the_spread_can_leave_it_out(calibrated: None) -> None:
    words = ("spread", "demo", "--draws", "1")
    told, plain = command(*words), command(*words, "--uncalibrated")
    before = plain["rods"] if "rods" in plain else plain["lines"]
    after = told["rods"] if "rods" in told else told["lines"]
    assert any(
        a["depth_m"] > b["depth_m"] + 0.1
        for a, b in zip(after, before, strict=True)
        if a["rig"] == "demo"
    )


def test_effort_goes_by_the_calibrated_line_and_is_worked_out_anew(tmp_path: Path) -> None:
    plain, setting = depths_of(load()), Setting(0.9)
    assert fingerprint() == "" and plain.fingerprint() == Depths(stock()).fingerprint()
    assert plain("demo", "", 50.0, 0.9) == pytest.approx(
        where_at(stock().tow("demo"), 50.0, setting).depth
    )
    shad = plain("demo", "medium-shad", 50.0, 0.9)
    (tmp_path / "readings.csv").write_text(READINGS)
    command("calibrate", "demo", str(tmp_path / "readings.csv"))
    calibrated = depths_of(load())
    assert calibrated.fingerprint() != plain.fingerprint()
    depth = calibrated("demo", "", 50.0, 0.9)
    said = command("depth", "demo", "--out", "50 m", "--speed", "0.9 m/s")["depth_m"]
    assert depth == pytest.approx(said, rel=1e-5)
    assert depth != pytest.approx(plain("demo", "", 50.0, 0.9), abs=0.2)
    # another lure on the calibrated line is another tow, and goes by what the line has taught
    other = calibrated("demo", "medium-shad", 50.0, 0.9)
    assert other is not None and shad is not None and other > shad
    command("calibrate", "demo", "--forget")
    assert depths_of(load()).fingerprint() == plain.fingerprint()


@pytest.mark.parametrize("reading", [",", ";", "\t", "|"])
def test_a_table_of_readings_may_be_parted_by_any_usual_reading(reading: str) -> None:
    text = READINGS.replace(",", reading)
    found = readings_in(text, "readings.csv", "demo", lambda rig, lure: stock().tow(rig))
    assert [round(m.let_out / 0.3048) for m in found] == [120, 170, 170]
