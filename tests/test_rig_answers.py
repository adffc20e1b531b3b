"""The library's front door: the same answers as the commands, from text or from SI figures."""

from __future__ import annotations

import json
import math
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import towscope as ts
from towscope.cli import run

PUBLIC = """InputError LetOutTable LineShape NoAnswer Rig RigAnswer rig rigs"""


def said(capsys: pytest.CaptureFixture[str], *words: str) -> Any:
    assert run([*words, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_the_public_names_are_these() -> None:
    assert sorted(ts.__all__) == sorted(PUBLIC.split())
    for name in ts.__all__:
        assert getattr(ts, name).__doc__, name


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
        (lambda: ts.rig("demo").let_out(-3.0, "2 mph"), "^depth -3.0: expected"),
        (lambda: ts.rig("demo").let_out(math.nan, "2 mph"), "^depth: nan"),
        (lambda: ts.rig("demo").let_out(True, "2 mph"), "^depth: True"),
        (lambda: ts.rig("demo").let_out(None, "2 mph"), "^depth: None"),
        (lambda: ts.rig("demo").depth("40 colors", "2 mph"), "colours"),
        (lambda: ts.rig("demo").let_out("28 ft", "2 mph", current="2 mph"), "expected which way"),
        (lambda: ts.rig("demo").table([], ["2 mph"]), "at least one"),
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
    pandas = pytest.importorskip("pandas")
    frame = ts.rig("demo").table(["20 ft"], ["1.8 mph", "2 mph"]).to_pandas()
    assert isinstance(frame, pandas.DataFrame)
    assert list(frame.columns)[:3] == ["depth_m", "speed_m_s", "let_out_m"]
