"""Files of stints and of what is aboard, good and bad; the commands from end to end."""

from __future__ import annotations

import csv
import json
from dataclasses import asdict, fields
from pathlib import Path

import numpy as np
import pytest

from simulated_days import Day, World, fish, rotate, season
from towscope.cli import run
from towscope.effort.stint import Stint
from towscope.errors import InputError
from towscope.pattern.files import read_aboard, read_stints


@pytest.fixture(scope="module")
def log() -> list[Stint]:
    rng = np.random.default_rng(3)
    world = World(lures=6, rate=1.0)
    truth, out = season(world, rng), []
    for k in range(2):
        fish(Day.make(world, truth, k, rng), 2, rotate, out, [0, 1])
    return out


def as_csv(log: list[Stint], path: Path) -> Path:
    with path.open("w", newline="") as stream:
        writer = csv.DictWriter(stream, [f.name for f in fields(Stint)])
        writer.writeheader()
        for s in log:
            row = asdict(s) | {"species": ";".join(s.species)}
            writer.writerow({k: "" if v is None else v for k, v in row.items()})
    return path


def test_csv_and_json_lines_hold_the_same(log: list[Stint], tmp_path: Path) -> None:
    one = read_stints(as_csv(log, tmp_path / "a.csv"))
    path = tmp_path / "a.jsonl"
    path.write_text("".join(json.dumps(asdict(s)) + "\n" for s in log))
    two = read_stints(path)
    assert one == two
    assert [(s.lure, s.hours, s.catches, s.light) for s in one] == [
        (s.lure, s.hours, s.catches, s.light) for s in log
    ]


HEAD = "lure,start_s,end_s,hours,catches\n"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "empty"),
        (HEAD, "no stints"),
        ("lure,hours\na,1\n", "no column start_s"),
        (HEAD + "a,0,3600,1\n", "line 2: expected 5 columns"),
        (HEAD + "a,0,3600,1,two\n", 'catches "two" is no number'),
        (HEAD + "a,0,3600,1,1.5\n", "whole number"),
        (HEAD + "a,0,3600,nan,1\n", "hours"),
        (HEAD + "a,0,3600,-1,1\n", "hours"),
        (HEAD + "a,7200,3600,1,1\n", "end_s is before start_s"),
        ("moon," + HEAD + "x,a,0,3600,1,1\n", 'unknown column "moon"'),
        ("day," + HEAD + "10 Aug,a,0,3600,1,1\n", "expected a date"),
        (HEAD + "a\x00,0,3600,1,1\n", "binary"),
    ],
)
def test_bad_stints_are_named_in_one_line(text: str, words: str, tmp_path: Path) -> None:
    path = tmp_path / "bad.csv"
    path.write_text(text)
    with pytest.raises(InputError, match=words) as caught:
        read_stints(path)
    assert "\n" not in str(caught.value)


def test_bad_json_lines_are_named(tmp_path: Path) -> None:
    path = tmp_path / "bad.jsonl"
    bad = {"{": "not JSON", "[1]": "not an object", '{"lure": "a"}': "no start_s",
           '{"lure": 1}': "short text"}  # fmt: skip
    for text, words in bad.items():
        path.write_text(text)
        with pytest.raises(InputError, match=words):
            read_stints(path)


ABOARD = """
[aboard]
lures = [
  { name = "lure-0", body = "minnow", size = "2 in", colour = "perch", copies = 2 },
  "lure-1", "lure-2",
]
[aboard.rods.port]
lure = "lure-0"
[aboard.rods.starboard]
lure = "lure-1"
locked = true
"""


def test_what_is_aboard(tmp_path: Path) -> None:
    path = tmp_path / "aboard.toml"
    path.write_text(ABOARD)
    aboard = read_aboard(path)
    assert [r.name for r in aboard.rods] == ["port", "starboard"]
    assert aboard.rods[1].locked
    assert aboard.copies == {"lure-0": 2}
    assert aboard.lures[0].size_m == pytest.approx(0.0508)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("aboard", "abroad", "no table"),
        ('"2 in"', '"2"', "no unit"),
        ('"2 in"', '"2 lb"', "no unit of length"),
        ("copies = 2", "copies = 0", "copies"),
        ("copies = 2", "number = 2", 'unknown key "number"'),
        ("locked = true", 'locked = "yes"', "true or false"),
        ("locked = true", "lock = true", 'unknown key "lock"'),
        ('"lure-1", "lure-2"', "7", "expected a name"),
        ("lures = [", "lures = [[", "TOML"),
    ],
)
def test_bad_aboard_is_named(old: str, new: str, words: str, tmp_path: Path) -> None:
    path = tmp_path / "aboard.toml"
    path.write_text(ABOARD.replace(old, new))
    with pytest.raises(InputError, match=words):
        read_aboard(path)


def test_pattern_from_end_to_end(
    log: list[Stint], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = as_csv(log, tmp_path / "a.csv")
    picture = tmp_path / "p.svg"
    args = ["pattern", "--by", "lure,size,hour", "--stints", str(path)]
    assert run([*args, "--json", "--plot", str(picture)]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["catches"] == sum(s.catches for s in log)
    assert answer["rod_hours"] == pytest.approx(sum(s.hours for s in log))
    assert sum(x["catches"] for x in answer["by"]["lure"]) == answer["catches"]
    assert sum(x["probability_best"] for x in answer["by"]["size"]) == pytest.approx(1.0, abs=1e-3)
    for x in answer["by"]["lure"]:
        assert x["interval_90"][0] < x["per_rod_hour"] < x["interval_90"][1]
    assert all(0.5 <= c["probability"] <= 1.0 for c in answer["comparisons"])
    assert picture.read_text().count("<path") > 30
    assert run(args) == 0
    assert "out-fishes" in capsys.readouterr().out


def test_next_from_end_to_end(
    log: list[Stint], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path, aboard = as_csv(log, tmp_path / "a.csv"), tmp_path / "aboard.toml"
    aboard.write_text(ABOARD)
    args = ["next", "--stints", str(path), "--aboard", str(aboard), "--json"]
    assert run(args) == 0
    answer = json.loads(capsys.readouterr().out)
    assert [r["rod"] for r in answer["rods"]] == ["port", "starboard"]
    assert answer["rods"][1] | {"reason": "Locked: left alone."} == answer["rods"][1]
    assert answer["fish_expected"] > 0
    assert run(args) == 0
    assert json.loads(capsys.readouterr().out) == answer, "the same data give the same advice"


@pytest.mark.parametrize(
    ("args", "status", "words"),
    [
        (["pattern", "--by", "moon"], 2, '--by "moon"'),
        (["pattern", "--by", ","], 2, "--by"),
        (["pattern", "--half-life", "soon"], 2, "--half-life"),
        (["pattern", "--since", "May"], 2, "--since"),
        (["pattern", "--since", "2027-01-01"], 1, "no line was in the water in that time"),
        (["pattern", "--plot", "p.bmp"], 2, ".png"),
        (["next", "--left", "3"], 2, "--left"),
        (["next", "--left", "0 h"], 2, "--left"),
        (["next", "--water", "3 kg"], 2, "--water"),
        (["next", "--lock", "bow"], 2, "--lock"),
        (["pattern", "--units", "cubits"], 2, "--units"),
    ],
)
def test_bad_options_are_named(
    args: list[str], status: int, words: str, log: list[Stint], tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    path = as_csv(log[:12], tmp_path / "a.csv")
    assert run([*args, "--stints", str(path)]) == status
    error = capsys.readouterr().err
    assert words in error
    assert error.count("\n") == 1
