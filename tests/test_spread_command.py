"""`towscope spread`: what it prints, and what it refuses, each in one line with the place named."""

import json

import numpy as np
import pytest

from towscope.cli import run
from towscope.spreads.reading import demo_text

RADIUS = ["--turn", "60 ft to port"]


def ask(capsys, *words):
    status = run(["spread", *map(str, words)])
    said = capsys.readouterr()
    return status, said.out, said.err


@pytest.fixture
def written(tmp_path):
    def write(text):
        path = tmp_path / "mine.toml"
        path.write_text(text)
        return path

    return write


def test_the_demo_as_json(capsys):
    status, out, err = ask(capsys, "demo", *RADIUS, "--bottom", "70 ft", "--draws", 4, "--json")
    assert (status, err) == (0, "")
    answer = json.loads(out)
    assert answer["verdict"] == "fails"
    assert answer["turn"] == {"radius_m": 18.288, "side": "port", "through_deg": 180}
    assert len(answer["rods"]) == 4
    assert len(answer["pairs"]) == 6
    for pair in answer["pairs"]:
        low, high = pair["nearest_90_m"]
        assert 0.0 <= low <= high
        assert pair["nearest_m"] <= pair["straight_nearest_m"] + 1e-6
    for rod in answer["rods"]:
        assert rod["shallowest_m"] <= rod["depth_m"] <= rod["deepest_m"]
        assert 0.0 < rod["strength_share"] < 1.0
    boarded = [rod for rod in answer["rods"] if rod["board"]]
    assert [rod["name"] for rod in boarded] == ["port-board", "starboard-board"]
    assert boarded[0]["board_stalls_s"] is not None  # the inside one
    assert boarded[1]["board_stalls_s"] is None
    faults = {fault["kind"] for fault in answer["faults"]}
    assert "bottom" in faults
    assert answer["tightest_turn"][0]["radius_m"] > 18.288
    for order in ("order_to_set", "order_to_fetch"):
        assert sorted(answer[order]["rods"]) == sorted(rod["name"] for rod in answer["rods"])
    for change in answer["changes"]:
        assert change["verdict"] != "fails"
    assert "local rules" in answer["rods_per_person"]


def test_the_report_and_the_picture(capsys, tmp_path):
    picture = tmp_path / "spread.png"
    status, out, err = ask(
        capsys,
        "-o",
        picture,
        "demo",
        "--turn",
        "90 ft starboard",
        "--through",
        "90 deg",
        "--draws",
        4,
        "--units",
        "metric",
    )
    assert (status, err) == (0, "")
    for words in (
        "a turn of 27.4 m to starboard through 90°",
        "To let out",
        "To bring in",
        "to starboard",
        "local rule",
        "propeller",
        "wrote",
    ):
        assert words in out
    from matplotlib.image import imread

    image = imread(picture)
    assert image.shape[0] > 600
    assert image.shape[1] > 900
    assert np.ptp(image[..., :3]) > 0.5


def test_a_straight_run_tells_both_sides(capsys):
    status, out, _ = ask(capsys, "demo", "--draws", 1)
    assert status == 0
    assert "a straight run" in out
    assert "Tightest clean turn to port" in out
    assert "Tightest clean turn to starboard" in out


def test_one_rod_alone(capsys, written):
    path = written(
        '[boat]\nspeed = "2 mph"\n[rods.one]\nside = "stern"\nrig = "demo"\nlet_out = "150 ft"\n'
    )
    status, out, err = ask(capsys, path, "--draws", 1)
    assert (status, err) == (0, "")
    assert "1 line at" in out


def swapped(old, new):
    text = demo_text()
    assert old in text
    return text.replace(old, new, 1)


BAD = {
    "empty": ("", "empty"),
    "not toml": ("[boat", "not TOML"),
    "tackle": ('[lines.a]\ndiameter = "1 mm"\n', "no rods"),
    "no boat": ('[rods.a]\nside = "stern"\nrig = "demo"\nlet_out = "50 ft"\n', "boat: missing"),
    "no rod": ('[boat]\nspeed = "2 mph"\n[rods]\n', "rods"),
    "no unit": (swapped('"2 mph"', '"2"'), "boat.speed"),
    "a number": (swapped('"2 mph"', "2"), "boat.speed"),
    "nan": (swapped('"2 mph"', "nan"), "boat.speed"),
    "too fast": (swapped('"2 mph"', '"40 mph"'), "boat.speed"),
    "wrong kind": (swapped('across = "5 ft"', 'across = "5 mph"'), "port-board.across"),
    "far out": (swapped('across = "5 ft"', 'across = "500 ft"'), "port-board.across"),
    "wrong way": (swapped('across = "5 ft"', 'across = "-5 ft"'), "port-board"),
    "unknown key": (swapped("tip_height", "tipheight"), "tipheight: unknown key; expected one of"),
    "in board": (swapped('kind = "medium",', 'sort = "medium",'), "board.sort: unknown key"),
    "no such side": (swapped('"port"', '"left"'), "port-board.side"),
    "no such rig": (swapped('rig = "demo"', 'rig = "dmeo"'), 'no rig called "dmeo"'),
    "no such lure": (swapped('rig = "demo"', 'rig = "demo"\nlure = "boot"'), "port-flat.lure"),
    "no such board": (swapped('"medium"', '"huge"'), 'no planer board called "huge"'),
    "board astern": (swapped('side = "port"', 'side = "stern"'), "a planer board needs a side"),
    "short board line": (swapped('line = "60 ft"', 'line = "1 ft"'), "board.line"),
    "too much line": (swapped('let_out = "130 ft"', 'let_out = "640 ft"'), "port-board.let_out"),
    "too many colours": (swapped("5 colors", "15 colors"), "port-flat.let_out"),
    "short of leader": (swapped("5 colors", "5 ft"), "port-flat.let_out"),
    "let-out a number": (swapped('"5 colors"', "5"), "port-flat.let_out"),
    "current": (
        swapped("# current", "current").replace('"0.3 mph against"', '"3 mph with"'),
        "boat.current",
    ),
    "bad name": (swapped("[rods.port-flat]", '[rods."port flat"]'), "port flat"),
    "apart": (swapped('apart = "2 ft"', 'apart = "2 lbf"'), "apart"),
}


@pytest.mark.parametrize("name", BAD)
def test_a_bad_file_is_refused_in_one_line(name, capsys, written):
    text, words = BAD[name]
    path = written(text)
    status, out, err = ask(capsys, path)
    assert status == 2
    assert out == ""
    assert err.startswith("towscope: ")
    assert err.count("\n") == 1
    assert words in err
    assert "mine.toml" in err


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--turn", "60 ft"], '--turn "60 ft"'),
        (["--turn", "60 to port"], "--turn"),
        (["--turn", "1 ft to port"], "--turn"),
        (["--turn", "nan ft to port"], "--turn"),
        (["--through", "90 deg"], "--turn"),
        ([*RADIUS, "--through", "90"], "--through"),
        ([*RADIUS, "--through", "9000 deg"], "--through"),
        (["--bottom", "-5 ft"], "--bottom"),
        (["--bottom", "deep"], "--bottom"),
        (["--apart", "0 ft"], "--apart"),
        (["--draws", "0"], "--draws"),
        (["--speed", "2"], "--speed"),
        (["-o", "spread.pdf"], "-o"),
        (["--units", "furlongs"], "--units"),
    ],
)
def test_a_bad_option_is_refused_in_one_line(options, words, capsys):
    status, out, err = ask(capsys, "demo", *options)
    assert (status, out) == (2, "")
    assert err.count("\n") == 1
    assert words in err


def test_files_that_are_none(capsys, tmp_path):
    for path in (tmp_path, tmp_path / "missing.toml"):
        status, _, err = ask(capsys, path)
        assert status == 2
        assert "expected a spread file" in err
    binary = tmp_path / "spread.png"
    binary.write_bytes(b"\x89PNG\r\n\x1a\n\x00\x00")
    assert "expected a spread file" in ask(capsys, binary)[2]
    huge = tmp_path / "huge.toml"
    huge.write_bytes(b"#" * 2_000_000)
    assert "at most" in ask(capsys, huge)[2]


def test_a_picture_that_can_not_be_written_says_so(capsys):
    status, _, err = ask(capsys, "demo", "--draws", 1, "-o", "/no/such/folder/x.png")
    assert status == 2
    assert "cannot write" in err


def test_every_board_of_the_stock_is_sane():
    from towscope.spreads.reading import stock_boards

    for part in stock_boards().values():
        assert 1.0 < part.lift_area / part.drag_area < 3.0
        assert set(part.source) >= {"lift_area", "drag_area", "mass", "buoyancy"}
