"""Tackle files: what they may say, how they are refused; the stock's figures by their own rules."""

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from towscope.errors import InputError
from towscope.tackle import load
from towscope.tackle.reading import check, read
from towscope.tackle.shelf import Shelf, stock
from towscope.towing.questions import FEET, MPH, where_at
from towscope.towing.tow import Setting

GOOD = """
[water]
temperature = "21 degC"

[lines.my-core]
diameter = "0.60 mm"
mass = "2.34 g/m"
color_length = "10 yd"
strength = "18 lbf"
normal_drag = 1.5
friction_drag = 0.02

[lures.my-minnow]
drag_area = "4 cm^2"
dive_area = "1 cm^2"
weight_in_water = "-0.02 N"
body = "minnow"
size = "2 in"
colour = "perch"

[rigs.port]
lure = "my-minnow"
tip_height = "3 ft"
line = [
  { line = "fluoro-10", length = "30 ft" },
  { line = "my-core", length = "10 colors" },
  { line = "braid-10", length = "150 yd" },
]
"""


def write(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "mine.toml"
    path.write_text(text)
    return path


def test_the_designs_own_example_becomes_a_tow(tmp_path: Path) -> None:
    tow = load([write(tmp_path, GOOD)]).tow("port")
    assert tow.pieces[:, 0] == pytest.approx([9.144, 91.44, 137.16])
    assert tow.pieces[1, 4:6] == pytest.approx([1.5, 0.02])
    assert tow.lure == pytest.approx([4e-4, 1e-4, -0.02])
    assert tow.tip == pytest.approx(0.9144)
    # By hand: (2.34 - 0.998 * pi / 4 * 0.6^2) g/m * 9.80665 m/s^2 = 0.02018 N/m.
    assert tow.pieces[1, 2] == pytest.approx(0.02018, rel=1e-3)
    assert tow.medium[0] == pytest.approx(998.0, abs=0.1)


def test_the_users_things_replace_the_stock_of_the_same_name(tmp_path: Path) -> None:
    text = '[lines.mono-10]\ndiameter = "0.5 mm"\nmass = "0.25 g/m"\n'
    shelf = load([write(tmp_path, text)])
    assert shelf.lines["mono-10"].diameter == pytest.approx(0.5e-3)
    assert shelf.lines["mono-12"] == stock().lines["mono-12"]


def test_the_users_own_tackle_is_taken_from_home(own_home: Path) -> None:
    (own_home / "tackle.toml").write_text(GOOD)
    assert "port" in load().rigs
    assert "port" not in load(own=False).rigs


# How each of these is wrong, and what the message must name.
WRONG = [
    ("", "empty"),
    ("just words", "not TOML"),
    ("[boats.one]\nname = 'x'", "holds no tackle"),
    ("[lines.x]\nmass = '2 g/m'", "line 1: lines.x.diameter: missing"),
    ("[lines.x]\ndiameter = '0.6 mm'\nmass = '2 g/m'\nstrenght = '18 lbf'", "line 4.*unknown key"),
    ("[lines.x]\ndiameter = '0.6'\nmass = '2 g/m'", "line 2: lines.x.diameter.*no unit"),
    ("[lines.x]\ndiameter = 0.6\nmass = '2 g/m'", "lines.x.diameter.*not text with a unit"),
    ("[lines.x]\ndiameter = '-0.6 mm'\nmass = '2 g/m'", "diameter.*expected 0.02 to 20 mm"),
    ("[lines.x]\ndiameter = '0.6 mph'\nmass = '2 g/m'", "no unit of length"),
    ("[lines.x]\ndiameter = '0.6 mm'\nmass = '20 g/m'", "denser than any metal"),
    ("[lines.x]\ndiameter = '0.6 mm'\nmass = '0.01 g/m'", "lighter than cork"),
    ("[lines.x]\ndiameter = '0.6 mm'\nmass = '2 g/m'\nnormal_drag = nan", "normal_drag"),
    ("[lines.x]\ndiameter = '0.6 mm'\nmass = '2 g/m'\nnormal_drag = -1", "normal_drag"),
    ("[lines.x]\ndiameter = '0.6 mm'\nmass = '2 g/m'\ndrag_sd = '300 %'", "0 to 100 %"),
    ("[lines.'a b']\ndiameter = '0.6 mm'\nmass = '2 g/m'", "short name"),
    ("[lures.x]\ndive_area = '1 cm^2'", "expected drag_area, or body and size"),
    ("[lures.x]\ndrag_area = '4 cm^2'\nbody = 'worm'", "body"),
    (
        "[lures.x]\ndrag_area = '4 cm^2'\ndive_area = '1 cm^2'\n"
        "rating = { depth = '6 ft', let_out = '100 ft', line = 'mono-10', speed = '2 mph' }",
        "give one of them",
    ),
    (
        "[lures.x]\ndrag_area = '4 cm^2'\n"
        "rating = { depth = '6 ft', let_out = '100 ft', line = 'mono-10' }",
        "lures.x.rating.speed: missing",
    ),
    ("[rigs.x]\nlure = 'small-minnow'\nline = []", "rigs.x.line"),
    ("[rigs.x]\nlure = 'small-minnow'\nline = [{ line = 'mono-10' }]", "length: missing"),
    ("[water]\ntemperature = '50 degC'", "0 to 35 degC"),
    ("[water]\ndensity = '998 kg/m^3'", "go together"),
    ("[reels.x]\ncapacity = '200 yd of 0.3 mm'\npacking = '0 %'", "5 to 100 %"),
    ("lines = 3", "lines"),
    ("[lines]\nx = 3", "lines.x"),
]


@pytest.mark.parametrize(("text", "named"), WRONG)
def test_a_wrong_file_is_refused_in_one_line_that_names_the_place(
    tmp_path: Path, text: str, named: str
) -> None:
    with pytest.raises(InputError, match=named) as caught:
        read(write(tmp_path, text))
    assert "\n" not in str(caught.value)
    assert "mine.toml" in str(caught.value)


@pytest.mark.parametrize(
    ("rig", "named"),
    [
        ("line = [{ line = 'mono-11', length = '30 ft' }]\nlure = 'small-minnow'", "did you mean"),
        ("line = [{ line = 'mono-10', length = '30 ft' }]\nlure = 'smal-minnow'", "did you mean"),
        ("line = [{ line = 'mono-10', length = '3 colors' }]\nlure = 'small-minnow'", "coded"),
        ("line = [{ line = 'mono-10', length = '0 ft' }]\nlure = 'small-minnow'", "1 mm to 2000 m"),
    ],
)
def test_a_rig_that_cannot_be_is_refused_by_name(tmp_path: Path, rig: str, named: str) -> None:
    path = write(tmp_path, f"[rigs.mine]\n{rig}\n")
    with pytest.raises(InputError, match=named) as caught:
        load([path]).tow("mine")
    assert "rigs.mine" in str(caught.value)


def test_files_that_are_no_text_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_bytes(b"\x00\x01\x02")
    with pytest.raises(InputError, match="binary"):
        read(path)
    path.write_bytes(b'[lines.x]\nnote = "' + b"\xff\xfe" + b'"')
    with pytest.raises(InputError, match="line 2: not UTF-8"):
        read(path)
    with path.open("wb") as stream:
        stream.truncate(100_000_000)
    with pytest.raises(InputError, match="100 MB"):
        read(path)
    with pytest.raises(InputError, match="is a folder"):
        read(tmp_path)
    with pytest.raises(InputError, match="No such file"):
        read(tmp_path / "none.toml")


@given(st.text(max_size=200))
def test_any_text_is_read_or_refused(text: str) -> None:
    try:
        check(text, "any")
    except InputError as error:
        assert "\n" not in str(error)


# The stock.


def recipe(make: str, pounds: float) -> tuple[float, float]:
    """Diameter [m] and mass [kg/m] of coded core by the rule that the stock's own file states."""
    stress, packing, density = {"bulky": (360e6, 0.35, 1140.0), "thin": (1.2e9, 0.70, 970.0)}[make]
    lead = math.pi / 4 * 0.5e-3**2
    fibre = pounds * 4.4482216 / stress
    return math.sqrt(4 / math.pi * (lead + fibre / packing)), lead * 11340.0 + fibre * density


@pytest.mark.parametrize("make", ["bulky", "thin"])
@pytest.mark.parametrize("pounds", [12, 15, 18, 27, 36, 45])
def test_stock_core_is_computed_by_one_rule(make: str, pounds: int) -> None:
    # Density of lead: 11,340 kg/m^3 (CRC Handbook; from memory).
    line = stock().lines[f"{make}-core-{pounds}"]
    diameter, mass = recipe(make, pounds)
    assert line.diameter == pytest.approx(diameter, rel=1e-3)
    assert line.mass == pytest.approx(mass, rel=1e-3)


def test_stock_lines_have_the_density_of_what_they_are_made_of() -> None:
    # Nylon 1,140, PVDF 1,780, stainless steel 7,900 kg/m^3 (handbook values; from memory).
    for name, line in stock().lines.items():
        expected = {"mono": 1140.0, "fluoro": 1780.0, "wire": 7900.0}.get(name.split("-")[0])
        if expected:
            area = math.pi / 4 * line.diameter**2
            assert line.mass / area == pytest.approx(expected, rel=0.01), name


def test_every_stock_figure_says_where_it_comes_from() -> None:
    shelf = stock()
    for kind in ("lines", "lures", "reels"):
        for name, part in getattr(shelf, kind).items():
            assert part.source, name
            for text in part.source.values():
                assert text.split()[0].strip(",") in {
                    "computed",
                    "published",
                    "estimated",
                    "common",
                    "by",
                    "solved",
                    "typical",
                    "none",
                    "from",
                }, (name, text)


def test_every_stock_rig_and_lure_can_be_towed() -> None:
    shelf = stock()
    for name in shelf.rigs:
        assert where_at(shelf.tow(name), 40.0, Setting(0.9)).depth > 3.0
    for name in shelf.lures:
        tow = shelf.stack([("mono-10", 40.0)], name, 0.9)
        assert where_at(tow, 31.0, Setting(2.0 * MPH)).depth > 0.3, name


# A lure from its rating.


@given(
    st.floats(4.0, 18.0),
    st.floats(60.0, 150.0),
    st.floats(1.2, 3.0),
    st.floats(1.0, 8.0),
)
def test_a_rated_lure_runs_at_its_rating(feet: float, out: float, mph: float, cm2: float) -> None:
    text = f"""
[lures.rated]
drag_area = "{cm2} cm^2"
rating = {{ depth = "{feet} ft", let_out = "{out} ft", line = "mono-10", speed = "{mph} mph" }}
"""
    shelf = stock().over(check(text, "test"), "test")
    try:
        tow = shelf.stack([("mono-10", 200.0)], "rated", 0.9144)
    except InputError as error:
        assert "rating" in str(error)
        return
    found = where_at(tow, out * FEET, Setting(mph * MPH))
    assert found.depth == pytest.approx(feet * FEET, rel=2e-3)


@pytest.mark.parametrize(
    ("depth", "out", "named"),
    [
        ("95 ft", "100 ft", "no lure of this drag"),
        ("105 ft", "100 ft", "deeper than the line is long"),
        ("2 in", "300 ft", "line alone takes"),
    ],
)
def test_a_rating_that_no_force_can_make_is_refused(depth: str, out: str, named: str) -> None:
    text = f"""
[lures.rated]
drag_area = "2 cm^2"
rating = {{ depth = "{depth}", let_out = "{out}", line = "wire-30", speed = "2 mph" }}
"""
    shelf: Shelf = stock().over(check(text, "test"), "test")
    with pytest.raises(InputError, match=named) as caught:
        shelf.stack([("mono-10", 40.0)], "rated", 0.9)
    assert "lures.rated.rating" in str(caught.value)


def test_draws_are_the_same_on_every_run_and_keep_to_their_spread() -> None:
    from towscope.towing.tow import draw

    tow = stock().tow("demo")
    first, second = draw(tow), draw(tow)
    assert np.array_equal(first.pieces, second.pieces)
    spread = np.log(first.pieces[:, 1, 6] / tow.pieces[1, 6])
    assert spread.std() == pytest.approx(0.12, rel=0.02)
    assert abs(spread.mean()) < 0.002
