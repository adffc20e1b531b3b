"""The command tune, and the questions that use what it keeps."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from towscope.cli import run
from towscope.tackle.shelf import stock
from towscope.towing.questions import depth_of
from towscope.towing.tow import Setting
from towscope.tuning import keep

MARKS = """time,rig,let_out [ft],speed [mph],bottom_depth [ft],kind
2026-08-14T06:40:00-05:00,demo,120,1.8,19.5,touch
2026-08-14T06:58:00-05:00,demo,150,1.9,25,touch
2026-08-14T07:10:00-05:00,demo,170,2.1,26,first touch
2026-08-14T07:40:00-05:00,demo,160,2.0,12,touch
2026-08-14T08:10:00-05:00,demo,140,1.7,28,clear
2026-08-15T08:10:00-05:00,demo,180,2.2,26.5,soft touch
2026-08-15T08:40:00-05:00,demo,200,1.9,34,touch
"""
ASK = ["letout", "demo", "--depth", "28 ft", "--speed", "2 mph", "--json"]


@pytest.fixture
def marks(tmp_path: Path) -> Path:
    path = tmp_path / "marks.csv"
    path.write_text(MARKS)
    return path


def told(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, object]:
    capsys.readouterr()
    assert run([*words]) == 0
    found: dict[str, object] = json.loads(capsys.readouterr().out)
    return found


def test_tune_narrows_every_answer_and_can_be_taken_back(
    marks: Path, capsys: pytest.CaptureFixture[str], own_home: Path
) -> None:
    before = told(capsys, *ASK)
    assert before["tuned"] is None
    said = told(capsys, "tune", "demo", str(marks), "--json")
    assert said["marks_of_rig"] == 7
    assert [m["wrong_probability"] > 0.5 for m in said["marks"]].count(True) == 1  # type: ignore[attr-defined]
    assert Path(str(said["written"])) == own_home / "tuning.json"
    after = told(capsys, *ASK)
    assert after["tuned"] == {"marks": 7, "since": "2026-08-15", "current_of_today": False}
    low, high = after["depth_90_m"]  # type: ignore[misc]
    was_low, was_high = before["depth_90_m"]  # type: ignore[misc]
    assert high - low < was_high - was_low
    assert after["let_out_m"] > before["let_out_m"]  # type: ignore[operator]
    untuned = told(capsys, *ASK, "--untuned")
    assert untuned == before
    # the same marks again change nothing; other water, another lure and a table are answered too
    again = told(capsys, "tune", "demo", str(marks), "--json")
    assert again["marks_of_rig"] == 7
    assert told(capsys, *ASK, "--lure", "medium-spoon")["tuned"] is not None
    assert told(capsys, *ASK, "--water", "60 degF")["tuned"] is not None
    assert run(["table", "demo", "--depths", "20, 30 ft", "--speeds", "2 mph"]) == 0
    assert "Tuned by 7 marks" in " ".join(capsys.readouterr().out.split())
    assert run(["tune", "demo", "--show"]) == 0
    assert "7 marks" in capsys.readouterr().out
    assert run(["tune", "demo", "--forget"]) == 0
    assert told(capsys, *ASK) == before
    assert not (own_home / "tuning.json").exists()


def test_a_line_stated_anew_is_no_longer_tuned(
    marks: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["tune", "demo", str(marks)]) == 0
    file = tmp_path / "own.toml"
    file.write_text(
        '[lines.thin-core-18]\ndiameter = "0.8 mm"\nmass = "2.4 g/m"\ncolor_length = "10 yd"\n'
        '[lures.small-minnow]\nbody = "minnow"\nsize = "3 in"\nweight_in_water = "-0.01 N"\n'
        'dive_area = "0.5 cm^2"\n'
    )
    assert told(capsys, *ASK, "--tackle", str(file))["tuned"] is None
    said = told(capsys, "tune", "demo", "--show", "--json", "--tackle", str(file))
    assert any("stated otherwise" in note for note in said["notes"])  # type: ignore[attr-defined]


def test_picture_is_drawn(marks: Path, tmp_path: Path) -> None:
    path = tmp_path / "tune.png"
    assert run(["tune", "demo", str(marks), "-o", str(path), "--dry-run"]) == 0
    assert path.read_bytes()[:4] == b"\x89PNG"
    assert keep.load() is None


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["tune", "demo"], "expected MARKS, --show or --forget"),
        (["tune", "demo", "--show"], "no marks are kept"),
        (["tune", "demo", "--forget"], "nothing to forget"),
        (["tune", "nobody", "{marks}"], "no rig called"),
        (["tune", "demo", "missing.csv"], "missing.csv"),
        (["tune", "demo", "{marks}", "--since", "soon"], "--since"),
        (["tune", "demo", "{marks}", "--lake", "Long Slate"], "--lake needs --track"),
        (["tune", "demo", "{marks}", "-o", "x.gif"], "expected a name that ends in"),
        (["tune", "demo", "{marks}", "--deepest", "5"], "--deepest"),
    ],
)
def test_bad_words_are_one_line(
    words: list[str], said: str, marks: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run([w.format(marks=marks) for w in words]) == 2
    error = capsys.readouterr().err
    assert said in error
    assert error.count("\n") == 1


@pytest.mark.parametrize("text", ["", "{}", "[1]", '{"format": 9}', "nonsense", '{"format":1'])
def test_a_broken_file_is_said_and_nothing_is_lost(
    text: str, own_home: Path, marks: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (own_home / "tuning.json").write_text(text)
    for words in (ASK, ["tune", "demo", str(marks)]):
        assert run(words) == 2
        assert capsys.readouterr().err.count("\n") == 1
    assert (own_home / "tuning.json").read_text() == text
    assert run([*ASK, "--untuned"]) == 0


def test_marks_on_a_track_and_over_a_lake_are_taken_under_the_lure(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    track = tmp_path / "track.csv"
    rows = ["time_s,x_m,y_m"] + [f"{t},0,{0.9 * t:.2f}" for t in range(900)]
    track.write_text("\n".join(rows))
    marks = tmp_path / "m.csv"
    marks.write_text(
        "time,let_out [ft],bottom_depth [ft],kind\n"
        "1786000600,150,26,touch\n1786000700,160,28,clear\n"
    )
    unix = tmp_path / "unix.csv"
    rows = ["time,lat,lon"] + [
        f"{1786000000 + t},{48.4 + 0.9 * t / 111195.0:.7f},-91.9" for t in range(900)
    ]
    unix.write_text("\n".join(rows))
    said = told(capsys, "tune", "demo", str(marks), "--track", str(unix), "--dry-run", "--json")
    for m in said["marks"]:  # type: ignore[attr-defined]
        assert m["speed_m_s"] == pytest.approx(0.9, abs=0.02)
        assert m["moving_ratio"] == pytest.approx(1.0, abs=0.02)
    assert run(["tune", "demo", str(marks), "--track", str(track)]) == 2
    assert "no fix at its time" in capsys.readouterr().err


def test_the_invented_day_is_tuned_by_its_journal_over_its_lake(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Two touches made up where the lure, a minute behind the boat, came over ground it ran on.

    Under the boat it was 44 ft deep; the lure ran at 33 ft. Journal, track, bed and moving engine
    together must find the bottom that the lure was on.
    """
    assert run(["day", "demo"]) == 0
    assert run(["lake", "demo"]) == 0
    words = ["tune", "demo", "journal", "--lake", "Long Slate", "--dry-run", "--json"]
    said = told(capsys, *words)
    assert said["marks_of_rig"] == 2
    for m in said["marks"]:  # type: ignore[attr-defined]
        stated = depth_of(stock().tow("demo"), m["let_out_m"], Setting(m["speed_m_s"]))
        assert abs(m["marked_depth_m"] - stated.where.depth) < 1.0
        assert 1.0 < m["moving_ratio"] < 1.1
