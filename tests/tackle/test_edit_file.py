"""A rig kept in the user's tackle file: nothing else in it changes, and it can be taken out."""

import tomllib
from pathlib import Path

import pytest

from towscope.errors import InputError
from towscope.files import home
from towscope.tackle import load
from towscope.tackle.edit_file import check_name, drop, keep, key_of

RIG = {
    "lure": "small-minnow",
    "tip_height": "4 ft",
    "line": [
        {"line": "fluoro-12", "length": "20 ft"},
        {"line": "thin-core-18", "length": "8 colors"},
    ],
}
MINE = """# Tor's box, do not touch the knots
[water]
temperature = "18 degC"   # lake in August

[rigs.port]   # the good rod
lure = "small-minnow"      # wobbles best
tip_height = "3 ft"
line = [
  # from the lure up
  { line = "mono-10", length = "30 ft" },
  { line = "thin-core-18", length = "10 colors" },
]

[lures.red-one]
body = "minnow"
size = "2 in"
drag_area = "1.5 cm^2"   # guessed
dive_area = "0.5 cm^2"

[rigs.starboard]
lure = "red-one"
line = [{ line = "mono-10", length = "100 yd" }]
"""


@pytest.fixture
def mine() -> Path:
    home().mkdir(parents=True, exist_ok=True)
    path = home() / "tackle.toml"
    path.write_text(MINE)
    return path


def test_a_rig_is_kept_where_there_was_no_file() -> None:
    keep("port", RIG)
    text = (home() / "tackle.toml").read_text()
    assert text.startswith("[rigs.port]")
    assert '  {line = "fluoro-12", length = "20 ft"}' in text or "fluoro-12" in text
    assert load().tow("port").tip == pytest.approx(1.2192)


def test_the_rest_of_the_file_stays_as_it_was(mine: Path) -> None:
    keep("bow", RIG)
    new = mine.read_text()
    for line in MINE.splitlines():
        assert line in new
    assert tomllib.loads(new)["rigs"]["bow"] == RIG
    drop("bow")
    assert tomllib.loads(mine.read_text()) == tomllib.loads(MINE)
    for line in MINE.splitlines():
        assert line in mine.read_text()


def test_changing_a_rig_leaves_its_remarks(mine: Path) -> None:
    rig = tomllib.loads(MINE)["rigs"]["port"]
    keep("port", {**rig, "tip_height": "5 ft"})
    new = mine.read_text()
    assert new == MINE.replace('tip_height = "3 ft"', 'tip_height = "5 ft"')


def test_a_lure_of_its_own_goes_with_it(mine: Path) -> None:
    rating = {"depth": "9 ft", "let_out": "100 ft", "line": "mono-10", "speed": "2 mph"}
    lure = {"body": "shad", "size": "2 in", "rating": rating}
    shelf = keep("bow", {**RIG, "lure": "my-shad"}, {"lures": {"my-shad": lure}})
    assert shelf.lures["my-shad"].rating is not None
    assert load().rig("bow").lure == "my-shad"


def test_dropping_gives_the_stock_rig_back() -> None:
    keep("demo", RIG)
    assert load().rig("demo").tip_height == pytest.approx(1.2192)
    drop("demo")
    assert load().rig("demo").tip_height == pytest.approx(0.9144)
    assert not (home() / "tackle.toml").exists()


@pytest.mark.parametrize(
    ("name", "rig", "says"),
    [
        ("", RIG, "expected a short name"),
        ("a b", RIG, "expected a short name"),
        ("../x", RIG, "expected a short name"),
        ("x" * 65, RIG, "expected a short name"),
        ("port", {**RIG, "lure": "none-such"}, 'no lure called "none-such"'),
        ("port", {**RIG, "tip_height": "3"}, "has no unit"),
        ("port", {**RIG, "tip_height": "90 ft"}, "0 to 8 m"),
        ("port", {**RIG, "line": []}, "line"),
        ("port", {**RIG, "colour": "red"}, "unknown key"),
        ("port", {**RIG, "line": [{"line": "mono-10", "length": "2 colors"}]}, "coded"),
    ],
)
def test_what_is_wrong_is_refused_and_nothing_is_lost(
    mine: Path, name: str, rig: dict[str, object], says: str
) -> None:
    with pytest.raises(InputError, match=says) as error:
        keep(name, rig)
    assert "\n" not in str(error.value)
    assert mine.read_text() == MINE


@pytest.mark.parametrize(
    "text",
    [
        "rigs.port.lure = 'small-minnow'\nrigs.port.line = [{line='mono-10', length='90 yd'}]\n",
        "rigs = {port = {lure='small-minnow', line=[{line='mono-10', length='90 yd'}]}}\n",
        "[rigs]\nport = {lure='small-minnow', line=[{line='mono-10', length='90 yd'}]}\n",
        "[rigs.a]\nlure='small-minnow'\nline=[{line='mono-10',length='90 yd'}]\n"
        "[water]\ntemperature='9 degC'\n[rigs.b]\nlure='small-minnow'\n"
        "[[rigs.b.line]]\nline='mono-10'\nlength='90 yd'\n",
    ],
)
def test_other_ways_to_write_it(text: str) -> None:
    home().mkdir(parents=True, exist_ok=True)
    path = home() / "tackle.toml"
    path.write_text(text)
    before = tomllib.loads(text)
    for name in ("new", "b", "new"):
        try:
            keep(name, RIG)
        except InputError as error:
            assert "laid out" in str(error)
            assert tomllib.loads(path.read_text()) == before
        else:
            before["rigs"][name] = RIG
            assert tomllib.loads(path.read_text()) == before


def test_a_broken_file_is_left_alone() -> None:
    home().mkdir(parents=True, exist_ok=True)
    path = home() / "tackle.toml"
    path.write_text("[rigs.port\n")
    with pytest.raises(InputError, match="not TOML"):
        keep("port", RIG)
    assert path.read_text() == "[rigs.port\n"


def test_dropping_what_is_not_kept(mine: Path) -> None:
    with pytest.raises(InputError, match="the stock, which stays"):
        drop("demo")
    with pytest.raises(InputError, match="no file of yours"):
        drop("none-such")
    assert mine.read_text() == MINE


def test_names() -> None:
    assert key_of("  Ada's Port Rod! ") == "adas-port-rod"
    for title in ("x" * 100, "Łódź 7", "Ærø", "Straße", "’", "左舷", "Ω mega", "rig", "İzmir"):
        first = check_name(key_of(title))
        assert check_name(key_of(title, {first})) != first
