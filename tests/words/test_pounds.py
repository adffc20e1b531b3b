"""A line's strength and pull are given in pounds by those who count in feet: read and shown so."""

import pytest

from towscope.units import METRIC, US, InputError, parse


@pytest.mark.parametrize("text", ["18 lb", "18 lbs", "18 lbf", "18 pounds", "288 oz", "288 ozf"])
def test_pounds_of_pull_are_read_either_way(text):
    # exact: 18 x 0.45359237 kg x 9.80665 m/s^2 (1959 agreement; 3rd CGPM, 1901)
    assert parse(text, "force") == pytest.approx(18 * 0.45359237 * 9.80665, rel=1e-12)


def test_kilograms_of_pull_too():
    assert parse("8 kg", "force") == parse("8 kgf", "force") == pytest.approx(78.4532)


def test_pull_is_shown_in_lb():
    assert US.show(80.0, "force") == "18.0 lb"
    assert METRIC.show(80.0, "force") == "80 N"


def test_a_weight_is_no_pull_the_other_way_round():
    with pytest.raises(InputError):
        parse("18 lbf", "mass")
