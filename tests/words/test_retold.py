"""What was asked in feet is answered in feet, whatever the sentence was written in."""

import pytest

from towscope.cli import run
from towscope.retold import retold

LEADER = "shorter than the leader (9.1 m)"


@pytest.mark.parametrize(
    ("text", "system", "told"),
    [
        ("above 0 to 1000 m", "us", "above 0 to 3,281 ft"),
        ("above 0 to 1000 m", "metric", "above 0 to 1000 m"),
        ('"9 m": above 0 to 1000 m', "us", '"9 m": above 0 to 1000 m'),
        ('"9 ft": above 0 to 300 m', "metric", '"9 ft": above 0 to 984 ft'),
        ('expected "31 ft" or "9.5 m", to 300 m', "us", 'expected "31 ft" or "9.5 m", to 984 ft'),
        ("0 to 3 m/s", "us", "0 to 6.7 mph"),
        ("0 to 3 m/s", "us-knots", "0 to 5.8 kn"),
        ("0 to 3 m/s", "metric", "0 to 10.8 km/h"),
        ('"9 m/s": 0 to 3 m/s', "metric", '"9 m/s": 0 to 3 m/s'),
        ("scatter by 0.45 m, 2.00 m at most", "us", "scatter by 1.5 ft, 6.6 ft at most"),
        ("5 % at 10 m (33 ft)", "us", "5 % at 33 ft"),
        ("5 % at 10 to 16 degC (50 to 61 degF)", "metric", "5 % at 10 to 16 degC"),
        (
            "mass 2.3 g/m, 4 m^2, 12 m³, let_out_m 3",
            "us",
            "mass 2.3 g/m, 4 m^2, 12 m³, let_out_m 3",
        ),
    ],
)
def test_figures_are_told_in_the_units_of_the_question(text, system, told):
    assert retold(text, system) == told


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["letout", "demo", "--depth", "2000 ft", "--speed", "2 mph"], "above 0 to 984 ft"),
        (["letout", "demo", "--depth", "900 m", "--speed", "2 mph"], "above 0 to 300 m"),
        (["depth", "demo", "--out", "1 ft", "--speed", "2 mph"], "the leader (30 ft)"),
        (["depth", "demo", "--out", "0.3 m", "--speed", "2 mph"], LEADER),
    ],
)
def test_the_command_line_answers_in_the_units_of_the_question(words, said, capsys):
    assert run(words) == 2
    assert said in capsys.readouterr().err
