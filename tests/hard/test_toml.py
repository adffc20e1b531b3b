"""A tackle file that would cost minutes or gigabytes is refused in one line, at once."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from towscope.cli import run
from towscope.errors import InputError
from towscope.formats.toml import read_toml
from towscope.tackle.shelf import stock

BOMBS = {
    "dots in a key": "a" + ".a" * 60_000 + " = 1",
    "dots in a head": "[a" + ".a" * 60_000 + "]",
    "dots between quotes": '"a"' + '."a"' * 30_000 + " = 1",
    "dots with room": "a" + " . a" * 30_000 + " = 1",
    "digits": "a = " + "9" * 5_000,
    "digits below the line": "a = 1" + "_9" * 5_000,
    "hexadecimal": "a = 0x" + "f" * 50_000,
    "nested arrays": "a = " + "[" * 50_000,
    "nested tables": "a = " + "{a = " * 20_000,
    "no end of a string": 'a = """' + "x" * 100_000,
    "many quotes": "a = " + '"""' * 30_001,
    "backslashes": 'a = "' + "\\" * 100_001,
}


@pytest.mark.parametrize("name", sorted(BOMBS))
def test_a_bomb_is_refused_in_one_line(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "tackle.toml"
    file.write_text(BOMBS[name])
    assert run(["stock", "--tackle", str(file)]) == 2
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert len(said) < 500


@pytest.mark.parametrize(
    "text",
    [
        'a = "x.x.x.x.x.x.x.x.x.x.x.x.x.x.x.x.x.x.x.x"',
        "a = '''\n" + "." * 100 + "9" * 100 + "[" * 100 + "\n'''",
        'a = """\n' + '."' * 100 + '\n"""',
        "# " + "a.b." * 100 + "9" * 100 + "[" * 100 + "\na = 1",
        "a = [1.5, 2.5, " + "3.5, " * 100 + "4.5]",
        "a.b.c.d = 1979-05-27T07:32:00.999999-07:00",
        'a = "\\"..................\\""',
    ],
)
def test_what_only_looks_like_one_is_read(text: str) -> None:
    assert read_toml(text) == tomllib.loads(text)


def test_the_stock_is_read() -> None:
    assert stock().lines


def test_the_line_is_named() -> None:
    with pytest.raises(InputError, match=r"^line 3: a number"):
        read_toml('a = """\n\n"""; ' + "b = " + "9" * 100)
