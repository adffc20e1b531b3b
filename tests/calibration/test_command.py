"""The command calibrate, and the questions that use what it keeps."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from towscope.calibration import store
from towscope.cli import run
from towscope.tackle.shelf import stock
from towscope.towing.questions import depth_of
from towscope.towing.tow import Setting

READINGS = """time,rig,let_out [ft],speed [mph],bottom_depth [ft],kind
2026-08-14T06:40:00-05:00,demo,120,1.8,19.5,bottom hit
2026-08-14T06:58:00-05:00,demo,150,1.9,25,bottom hit
2026-08-14T07:10:00-05:00,demo,170,2.1,26,first bottom hit
2026-08-14T07:40:00-05:00,demo,160,2.0,12,bottom hit
2026-08-14T08:10:00-05:00,demo,140,1.7,28,miss
2026-08-15T08:10:00-05:00,demo,180,2.2,26.5,soft bottom hit
2026-08-15T08:40:00-05:00,demo,200,1.9,34,bottom hit
"""
ASK = ["letout", "demo", "--depth", "28 ft", "--speed", "2 mph", "--json"]


@pytest.fixture
def readings(tmp_path: Path) -> Path:
    path = tmp_path / "readings.csv"
    path.write_text(READINGS)
    return path


def told(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, object]:
    capsys.readouterr()
    assert run([*words]) == 0
    found: dict[str, object] = json.loads(capsys.readouterr().out)
    return found


def test_calibrate_narrows_every_answer_and_can_be_taken_back(
    readings: Path, capsys: pytest.CaptureFixture[str], own_home: Path
) -> None:
    before = told(capsys, *ASK)
    assert before["calibrated"] is None
    said = told(capsys, "calibrate", "demo", str(readings), "--json")
    assert said["readings_of_rig"] == 7
    assert [m["wrong_probability"] > 0.5 for m in said["readings"]].count(True) == 1  # type: ignore[attr-defined]
    assert Path(str(said["written"])) == own_home / "calibration.json"
    after = told(capsys, *ASK)
    assert after["calibrated"] == {"readings": 7, "since": "2026-08-15", "current_of_today": False}
    low, high = after["depth_90_m"]  # type: ignore[misc]
    was_low, was_high = before["depth_90_m"]  # type: ignore[misc]
    assert high - low < was_high - was_low
    assert after["let_out_m"] > before["let_out_m"]  # type: ignore[operator]
    uncalibrated = told(capsys, *ASK, "--uncalibrated")
    assert uncalibrated == before
    # the same readings again change nothing; other water, another lure and a table are answered too
    again = told(capsys, "calibrate", "demo", str(readings), "--json")
    assert again["readings_of_rig"] == 7
    assert told(capsys, *ASK, "--lure", "medium-spoon")["calibrated"] is not None
    assert told(capsys, *ASK, "--water", "60 degF")["calibrated"] is not None
    assert run(["table", "demo", "--depths", "20, 30 ft", "--speeds", "2 mph"]) == 0
    assert "Calibrated from 7 readings" in " ".join(capsys.readouterr().out.split())
    assert run(["calibrate", "demo", "--show"]) == 0
    assert "7 readings" in capsys.readouterr().out
    assert run(["calibrate", "demo", "--forget"]) == 0
    assert told(capsys, *ASK) == before
    assert not (own_home / "calibration.json").exists()


def test_a_line_stated_anew_is_no_longer_calibrated(
    readings: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["calibrate", "demo", str(readings)]) == 0
    file = tmp_path / "own.toml"
    file.write_text(
        '[lines.thin-core-18]\ndiameter = "0.8 mm"\nmass = "2.4 g/m"\ncolor_length = "10 yd"\n'
        '[lures.small-minnow]\nbody = "minnow"\nsize = "3 in"\nweight_in_water = "-0.01 N"\n'
        'dive_area = "0.5 cm^2"\n'
    )
    assert told(capsys, *ASK, "--tackle", str(file))["calibrated"] is None
    said = told(capsys, "calibrate", "demo", "--show", "--json", "--tackle", str(file))
    assert any("stated otherwise" in note for note in said["notes"])  # type: ignore[attr-defined]


def test_picture_is_drawn(readings: Path, tmp_path: Path) -> None:
    path = tmp_path / "calibrate.png"
    assert run(["calibrate", "demo", str(readings), "-o", str(path), "--dry-run"]) == 0
    assert path.read_bytes()[:4] == b"\x89PNG"
    assert store.load() is None


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["calibrate", "demo"], "expected READINGS, --show or --forget"),
        (["calibrate", "demo", "--show"], "no saved readings of demo"),
        (["calibrate", "demo", "--forget"], "nothing to forget"),
        (["calibrate", "nobody", "{readings}"], "no rig called"),
        (["calibrate", "demo", "missing.csv"], "missing.csv"),
        (["calibrate", "demo", "{readings}", "--since", "soon"], "--since"),
        (["calibrate", "demo", "{readings}", "--lake", "Long Slate"], "--lake needs --track"),
        (["calibrate", "demo", "{readings}", "-o", "x.gif"], "expected a name that ends in"),
        (["calibrate", "demo", "{readings}", "--deepest", "5"], "--deepest"),
    ],
)
def test_bad_words_are_one_line(
    words: list[str], said: str, readings: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run([w.format(readings=readings) for w in words]) == 2
    error = capsys.readouterr().err
    assert said in error
    assert error.count("\n") == 1


@pytest.mark.parametrize("text", ["", "{}", "[1]", '{"format": 9}', "nonsense", '{"format":1'])
def test_a_broken_file_is_said_and_nothing_is_lost(
    text: str, own_home: Path, readings: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (own_home / "calibration.json").write_text(text)
    for words in (ASK, ["calibrate", "demo", str(readings)]):
        assert run(words) == 2
        assert capsys.readouterr().err.count("\n") == 1
    assert (own_home / "calibration.json").read_text() == text
    assert run([*ASK, "--uncalibrated"]) == 0


def test_readings_on_a_track_and_over_a_lake_are_taken_under_the_lure(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    track = tmp_path / "track.csv"
    rows = ["time_s,x_m,y_m"] + [f"{t},0,{0.9 * t:.2f}" for t in range(900)]
    track.write_text("\n".join(rows))
    readings = tmp_path / "m.csv"
    readings.write_text(
        "time,let_out [ft],bottom_depth [ft],kind\n"
        "1786000600,150,26,bottom hit\n1786000700,160,28,miss\n"
    )
    unix = tmp_path / "unix.csv"
    rows = ["time,lat,lon"] + [
        f"{1786000000 + t},{48.4 + 0.9 * t / 111195.0:.7f},-91.9" for t in range(900)
    ]
    unix.write_text("\n".join(rows))
    said = told(
        capsys, "calibrate", "demo", str(readings), "--track", str(unix), "--dry-run", "--json"
    )
    for m in said["readings"]:  # type: ignore[attr-defined]
        assert m["speed_m_s"] == pytest.approx(0.9, abs=0.02)
        assert m["moving_ratio"] == pytest.approx(1.0, abs=0.02)
    assert run(["calibrate", "demo", str(readings), "--track", str(track)]) == 2
    assert "no fix at its time" in capsys.readouterr().err


def test_the_invented_day_is_calibrated_by_its_journal_over_its_lake(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Two bottom hits made up where the lure, a minute behind the boat, came over ground it ran on.

    Under the boat it was 44 ft deep; the lure ran at 33 ft. Journal, track, bed and moving engine
    together must find the bottom that the lure was on.
    """
    assert run(["day", "demo"]) == 0
    assert run(["lake", "demo"]) == 0
    words = ["calibrate", "demo", "journal", "--lake", "Long Slate", "--dry-run", "--json"]
    said = told(capsys, *words)
    assert said["readings_of_rig"] == 2
    for m in said["readings"]:  # type: ignore[attr-defined]
        stated = depth_of(stock().tow("demo"), m["let_out_m"], Setting(m["speed_m_s"]))
        assert abs(m["reading_depth_m"] - stated.where.depth) < 1.0
        assert 1.0 < m["moving_ratio"] < 1.1
