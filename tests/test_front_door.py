"""The library's front door: the same answers as the commands, from text or from SI figures."""

from __future__ import annotations

import json
import math
import re
import subprocess
import sys
from importlib.util import find_spec
from inspect import isfunction
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import towscope as ts
from towscope.cli import run

PUBLIC = """
CalibrateAnswer FollowAnswer InputError Journal Lake LakeDepth LakeEdges LakeFacts LetOutTable
LineShape NoAnswer PassPlan Rig RigAnswer SpreadAnswer
calibrate fish lake lakes open_journal rescue_journal rig rigs spread sun thermocline
"""


def said(capsys: pytest.CaptureFixture[str], *words: str) -> Any:
    assert run([*words, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_the_public_names_are_these() -> None:
    listed, there = set(PUBLIC.split()), set(ts.__all__)
    assert listed == there, f"more: {sorted(there - listed)}; fewer: {sorted(listed - there)}"


@pytest.mark.parametrize("name", PUBLIC.split())
def test_what_is_public_is_told_and_shown(name: str) -> None:
    public = getattr(ts, name)
    assert public.__doc__, name
    if isfunction(public):
        assert ">>> " in public.__doc__, f"{name} has no example"


def test_a_name_is_loaded_when_it_is_used() -> None:
    code = (
        "import sys, towscope as ts; assert 'numpy' not in sys.modules; "
        "ts.InputError; assert 'numpy' not in sys.modules; ts.rig; assert 'numpy' in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True, timeout=120)


def test_the_commands_print_what_the_library_answers(capsys: pytest.CaptureFixture[str]) -> None:
    demo = ts.rig("demo")
    asked = ["--speed", "2 mph", "--current", "0.3 mph against"]
    assert (
        said(capsys, "letout", "demo", "--depth", "28 ft", *asked)
        == demo.let_out("28 ft", "2 mph", current="0.3 mph against").to_dict()
    )
    assert (
        said(capsys, "depth", "demo", "--out", "4.5 colors", *asked)
        == demo.depth("4.5 colors", "2 mph", current="0.3 mph against").to_dict()
    )
    assert (
        said(capsys, "speed", "demo", "--out", "170 ft", "--depth", "30 ft")
        == demo.speed("30 ft", "170 ft").to_dict()
    )
    # 200 ft down it does not get
    words = ["table", "demo", "--depths", "20 ft, 200 ft", "--speeds", "1.8 mph, 2 mph"]
    table = demo.table(["20 ft", "200 ft"], ["1.8 mph", "2 mph"])
    assert said(capsys, *words) == table.to_dict()
    assert np.isnan(table.let_out_m[1]).all()
    assert table.to_dict()["cells"][2]["let_out_m"] is None


def test_text_and_si_figures_ask_the_same() -> None:
    demo = ts.rig("demo")
    text, figures = demo.let_out("28 ft", "2 mph"), demo.let_out(28 * 0.3048, 2 * 0.44704)
    assert text == figures
    assert demo.let_out("28 ft", "2 mph", current="0.5 m/s against") == demo.let_out(
        "28 ft", "2 mph", current=[(0.0, -0.5, 0.0)]
    )


def test_a_changed_copy_leaves_the_rig_as_it_was() -> None:
    demo = ts.rig("demo")
    before = demo.let_out("28 ft", "2 mph").let_out_m
    longer = demo.with_(leader="60 ft")
    assert longer.let_out("28 ft", "2 mph").let_out_m > before + 1.0
    assert longer.tow.pieces[0, 0] == pytest.approx(60 * 0.3048)
    assert demo.with_(leader=demo.tow.pieces[0, 0]).let_out("28 ft", "2 mph").let_out_m == before
    cold = demo.with_(water="40 degF")
    assert cold.let_out("28 ft", "2 mph").water_density_kg_m3 > 999.9
    assert demo.let_out("28 ft", "2 mph").let_out_m == before
    other = next(name for name in demo.shelf.lures if name != demo.shelf.rig("demo").lure)
    assert demo.with_(lure=other).let_out("20 ft", "2 mph").let_out_m != before


def test_the_shape_is_of_the_answer() -> None:
    demo = ts.rig("demo")
    answer, line = demo.depth("150 ft", "2 mph"), demo.shape("150 ft", "2 mph", spacing_m=0.1)
    assert line.depth_m[0] == pytest.approx(answer.depth_m, abs=1e-3)
    assert line.behind_m[0] == pytest.approx(answer.layback_m, abs=1e-3)
    assert (line.behind_m[-1], line.depth_m[-1]) == (0.0, -demo.tow.tip)
    steps = np.hypot(np.hypot(np.diff(line.behind_m), np.diff(line.depth_m)), np.diff(line.side_m))
    assert steps.sum() == pytest.approx(150 * 0.3048, rel=1e-3)


@pytest.mark.parametrize(
    ("ask", "match"),
    [
        (lambda: ts.rig("demp"), "demo"),
        (lambda: ts.rig("demo").with_(lure="nonsuch"), "nonsuch"),
        (lambda: ts.rig("demo").let_out("28", "2 mph"), "^depth: .*no unit"),
        (lambda: ts.rig("demo").let_out("28 mph", "2 mph"), "^depth: .*no unit of length"),
        (lambda: ts.rig("demo").let_out("28 ft", "40 mph"), '^speed "40 mph": expected'),
        (lambda: ts.rig("demo").let_out(-3.0, "2 mph"), "^depth -3 m: expected"),
        (lambda: ts.rig("demo").let_out(math.nan, "2 mph"), "^depth: nan"),
        (lambda: ts.rig("demo").let_out(True, "2 mph"), "^depth: True"),
        (lambda: ts.rig("demo").let_out(None, "2 mph"), "^depth: None"),
        (lambda: ts.rig("demo").depth("40 colors", "2 mph"), "colours"),
        (lambda: ts.rig("demo").let_out("28 ft", "2 mph", current="2 mph"), "expected which way"),
        (lambda: ts.rig("demo").table([], ["2 mph"]), "^depths: expected one at least"),
        (lambda: ts.rig("demo", tackle=Path("nonsuch.toml")), "nonsuch.toml"),
    ],
)
def test_bad_input_is_one_line(ask: Any, match: str) -> None:
    with pytest.raises(ts.InputError, match=match) as caught:
        ask()
    assert "\n" not in str(caught.value)


def test_what_cannot_be_had_is_said() -> None:
    with pytest.raises(ts.NoAnswer, match="reach"):
        ts.rig("demo").let_out("200 ft", "3 mph")


def test_answers_read_well(monkeypatch: pytest.MonkeyPatch) -> None:
    answer = ts.rig("demo").let_out("28 ft", "2 mph")
    assert repr(answer).startswith("demo: let out 155 ft (")
    monkeypatch.setenv("TOWSCOPE_UNITS", "metric")
    assert " m down at 3.2 km/h" in repr(answer)
    assert repr(answer) in answer._repr_html_()


def test_every_answer_is_said_in_the_same_units(monkeypatch: pytest.MonkeyPatch) -> None:
    at = np.linspace(0.0, 0.004, 20)
    lat, lon = (each.ravel() for each in np.meshgrid(48.4 + at, -91.9 + at))
    pond = ts.Lake.from_soundings((lat, lon, 9.0 + 500.0 * (lat - 48.4)), name="pond")
    answers = (
        ts.rig("demo").let_out("28 ft", "2 mph"),
        pond.depth_at(48.402, -91.898),
        ts.fish.weigh("walleye", 0.5461),
        ts.thermocline([(0.0, 22.0), (5.0, 21.0), (8.0, 12.0), (12.0, 9.0)]),
    )
    units = (
        ("us", r" (ft|in|lb)\b", r" (k?m|cm|kg)\b"),
        ("metric", r" (m|cm|kg)\b", r" (ft|lb)\b"),
    )
    for system, theirs, others in units:
        monkeypatch.setenv("TOWSCOPE_UNITS", system)
        for answer in answers:
            assert re.search(theirs, repr(answer)), (system, answer)
            assert not re.search(others, repr(answer)), (system, answer)
    # and a command's own choice ends with it
    assert run(["letout", "demo", "--depth", "9 m", "--speed", "1 m/s", "--units", "us"]) == 0
    assert " m deep" in repr(answers[1])


def test_tables_go_to_pandas_and_arrow_where_they_are() -> None:
    table = ts.rig("demo").table(["20 ft"], ["1.8 mph", "2 mph"])
    names = ["depth_m", "speed_m_s", "let_out_m", "low_90_m", "high_90_m", "colors_out"]
    for library, convert in (("pandas", table.to_pandas), ("pyarrow", table.to_arrow)):
        if find_spec(library) is None:
            with pytest.raises(ts.InputError, match=f"pip install {library}"):
                convert()
        else:
            made = convert()
            assert list(getattr(made, "column_names", None) or made.columns) == names
            assert len(made) == 2


def test_arrow_holds_the_figures_of_the_answer() -> None:
    rig = ts.rig("demo")
    track = {"time_s": np.arange(0.0, 60.0, 2.0), "x_m": np.arange(0.0, 54.0, 1.8)}
    answers = (
        rig.table(["20 ft"], ["1.8 mph", "2 mph"]),
        rig.shape(let_out="150 ft", speed="2 mph"),
        rig.follow({**track, "y_m": 0.0 * track["x_m"]}, "150 ft"),
    )
    for answer in answers:
        made, columns = answer.to_arrow(), answer.columns()
        assert made.column_names == list(columns)
        assert {str(field.type) for field in made.schema} == {"double"}
        for name, column in columns.items():
            assert made[name].to_numpy() == pytest.approx(np.asarray(column), nan_ok=True), name


def test_a_track_of_arrays_is_followed_as_a_file_is(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    time = np.arange(0.0, 300.0, 5.0)
    rows = "\n".join(f"{t:g},{0.9 * t:.3f},0" for t in time)
    (tmp_path / "track.csv").write_text(f"time_s,x_m,y_m\n{rows}\n")
    words = ["--out", "150 ft", "--every", "10 s", "--bottom", "40 ft", "--keep", "3 ft"]
    told = said(capsys, "follow", "demo", str(tmp_path / "track.csv"), *words)
    track = {"time_s": time, "x_m": 0.9 * time, "y_m": 0.0 * time}
    answer = ts.rig("demo").follow(track, "150 ft", every=10.0, bottom="40 ft", keep="3 ft")
    mine = answer.to_dict()
    assert list(mine) == list(told)
    assert mine["depth_m"] == pytest.approx(told["depth_m"], abs=1e-3)
    assert mine["let_out_to_keep_m"] == pytest.approx(told["let_out_to_keep_m"], abs=0.4)
    assert repr(answer).startswith("demo behind the track: ")
    assert "least off bottom" in answer._repr_html_()
    assert {"x_m", "depth_m", "off_bottom_m"} <= set(answer.columns())


@pytest.mark.parametrize(
    ("track", "match"),
    [
        ({"time_s": [0.0], "x_m": [0.0]}, "^track: expected a file, or arrays"),
        ({"time_s": [0.0, 1.0], "x_m": [0.0], "y_m": [0.0]}, "^track: .*of one length"),
        ({"time_s": ["a"], "x_m": [0.0], "y_m": [0.0]}, "^track: .*expected arrays of figures"),
        ({"time_s": [], "x_m": [], "y_m": []}, "^track: .*a figure for each fix"),
    ],
)
def test_a_track_that_is_none_is_refused(track: Any, match: str) -> None:
    with pytest.raises(ts.InputError, match=match):
        ts.rig("demo").follow(track, "150 ft")


def test_nothing_is_saved_until_it_is_said(tmp_path: Path, own_home: Path) -> None:
    table = tmp_path / "readings.csv"
    table.write_text(
        "let_out [ft],speed [mph],bottom_depth [ft],kind\n"
        "120,2,26,bottom hit\n170,2,37,bottom hit\n170,1.7,43,bottom hit\n"
    )
    stated = ts.rig("demo").let_out("28 ft", "2 mph")
    learnt = ts.calibrate("demo", table)
    assert ts.rig("demo").let_out("28 ft", "2 mph") == stated
    assert learnt.save() == own_home / "calibration.json"
    after = ts.rig("demo").let_out("28 ft", "2 mph")
    assert after.let_out_m < stated.let_out_m and after.calibrated is not None
    assert repr(learnt).startswith("demo, 3 readings: each color brings ")
    assert ts.rig("demo").with_(calibrated=False).let_out("28 ft", "2 mph") == stated
    assert ts.calibrate("demo").to_dict()["readings_new"] == 0


def test_the_spread_command_prints_what_the_library_answers(
    capsys: pytest.CaptureFixture[str],
) -> None:
    told = said(capsys, "spread", "demo", "--draws", "1", "--bottom", "70 ft")
    assert told.pop("written") is None
    assert ts.spread("demo", draws=1, bottom="70 ft").to_dict() == told
