"""Quantities as people write them."""

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from towscope.errors import InputError
from towscope.unit_table import UNITS, read_unit
from towscope.units import KINDS, MAX_TEXT, METRIC, US, parse

REFERENCE = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)  # the library's own definitions


@pytest.mark.parametrize(
    ("text", "kind", "reference", "si"),
    [
        ("31 ft", "length", "31 foot", "meter"),
        ("12.5yd", "length", "12.5 yard", "meter"),
        ("3 in", "length", "3 inch", "meter"),
        ("0.36 mm", "length", "0.36 millimeter", "meter"),
        ("1.9 mph", "speed", "1.9 mile/hour", "meter/second"),
        ("2 kn", "speed", "2 knot", "meter/second"),
        ("3,2 km/h", "speed", "3.2 kilometer/hour", "meter/second"),
        ("3 feet per second", "speed", "3 foot/second", "meter/second"),
        ("70 degF", "temperature", "70 degF", "degC"),
        ("70 °F", "temperature", "70 degF", "degC"),
        ("21 C", "temperature", "21 degC", "degC"),
        ("18 lbf", "force", "18 force_pound", "newton"),
        ("11 gr/ft", "mass_per_length", "11 grain/foot", "kilogram/meter"),
        ("2.3 g/m", "mass_per_length", "2.3 gram/meter", "kilogram/meter"),
        ("4 cm^2", "area", "4 centimeter**2", "meter**2"),
        ("998.2 kg/m^3", "density", "998.2 kilogram/meter**3", "kilogram/meter**3"),
        ("1.0e-3 Pa*s", "viscosity", "1e-3 pascal*second", "pascal*second"),
        ("0.4 oz", "mass", "0.4 ounce", "kilogram"),
        ("10 min", "time", "10 minute", "second"),
        ("30 deg", "angle", "30 degree", "degree"),
        ("0.5 rad", "angle", "0.5 radian", "degree"),
    ],
)
def test_units_mean_what_the_reference_library_says(
    text: str, kind: str, reference: str, si: str
) -> None:
    # Source: the default registry of pint, which follows NIST SP 811 and CODATA.
    expected = REFERENCE.Quantity(reference).to(si).magnitude
    assert parse(text, kind) == pytest.approx(expected, rel=1e-9, abs=1e-9)


# Names that the reference library has under another name, or not at all.
ELSEWHERE = {
    "gr": "grain",
    "kn": "knot",
    "kts": "knot",
    "kmh": "kph",
    "yds": "yard",
    "pct": "percent",
}


# The reference library's acre and fathom are the survey foot's; ours the international foot's.
SURVEY = {"acre", "acres", "fathom", "fathoms"}


def test_acre_and_fathom_are_of_the_international_foot() -> None:
    yard = REFERENCE.Quantity(1.0, "yard").to("meter").magnitude
    assert UNITS["acre"].scale == pytest.approx(4840 * yard**2, rel=1e-12)
    assert UNITS["fathom"].scale == pytest.approx(2 * yard, rel=1e-12)


@pytest.mark.parametrize("name", sorted(UNITS.keys() - SURVEY))
def test_every_name_means_what_the_reference_library_says(name: str) -> None:
    unit = UNITS[name]
    known = ELSEWHERE.get(name, name)
    try:
        theirs = REFERENCE.parse_units(known)
    except pint.UndefinedUnitError:
        pytest.fail(f"{name}: the reference library does not know it; name it in ELSEWHERE")
    zero = REFERENCE.Quantity(0.0, theirs).to_base_units()
    one = REFERENCE.Quantity(1.0, theirs).to_base_units()
    kilograms = 1e-3 if str(zero.units) == "gram" else 1.0
    assert unit.scale == pytest.approx((one.magnitude - zero.magnitude) * kilograms, rel=1e-12)
    assert unit.offset == pytest.approx(zero.magnitude, rel=1e-12, abs=1e-12)
    ours = dict(
        zip(("[length]", "[mass]", "[time]", "[temperature]"), unit.dimension[:4], strict=True)
    )
    assert {k: v for k, v in ours.items() if v} == dict(theirs.dimensionality)


@pytest.mark.parametrize(
    "unit",
    [
        "m^9^9^9",
        "m**9**9**9",
        "m^99",
        "m^9^9^9^9^9^9^9^9",
        "m*m*m*m*m*m*m",
        "m^(9^9)",
        "(m)",
        "m+m",
        "10^m",
        "m/",
        "/m",
        "degC*m",
        "degC^2",
        "1/m",
        "m^1.5",
        "m" * (MAX_TEXT - 2),
        "m" + "^9" * 90,
        "m" + "**9" * 60,
    ],
)
@pytest.mark.parametrize("kind", ["length", "area", "temperature"])
def test_a_tower_of_powers_is_refused_at_once(unit: str, kind: str) -> None:
    # A units library evaluates "1 m^9^9^9" and never ends, with the interpreter held.
    assert read_unit(unit) is None
    with pytest.raises(InputError, match=f"expected .*{kind}|is no unit of {kind}"):
        parse(f"1 {unit}", kind)


@pytest.mark.parametrize(
    ("text", "kind"),
    [("30 %", "angle"), ("0.5 rad", "ratio"), ("1 m^9", "length"), ("1 s^-1", "time")],
)
def test_a_unit_of_another_kind_is_refused(text: str, kind: str) -> None:
    with pytest.raises(InputError, match="is no unit of"):
        parse(text, kind)


def test_a_foot_and_inches() -> None:
    assert parse("5'6\"", "length") == pytest.approx(1.6764)
    # The fathom of six international feet (1959), not the survey foot's.
    assert parse("3 fathoms", "length") == pytest.approx(5.4864, abs=1e-12)
    assert parse("5 ft 6 in", "length") == pytest.approx(1.6764)


def test_colours_count_only_on_coded_line() -> None:
    assert parse("4.5 colors", "length", color_length_m=9.144) == pytest.approx(41.148)
    assert parse("1 colour", "length", color_length_m=9.144) == pytest.approx(9.144)
    with pytest.raises(InputError, match="colour-coded"):
        parse("4.5 colors", "length")


@pytest.mark.parametrize(
    "text",
    [
        "",
        "   ",
        "31",
        "ft",
        "31 mph",
        "31 lb",
        "31 nonsense",
        "nan ft",
        "inf m",
        "1e999 ft",
        "31 ft junk",
        "31;ft",
        "31 ft ft",
        "--3 ft",
        "3 ft/s",
        "1,000 ft",
        "3 m; rm",
        "x" * 10_000,
        "3 __class__",
        "\x00 3 ft",
    ],
)
def test_what_is_no_length_is_refused_in_one_line(text: str) -> None:
    with pytest.raises(InputError) as caught:
        parse(text, "length")
    message = str(caught.value)
    assert "\n" not in message
    assert len(message) < 250


@pytest.mark.parametrize("value", [3, 3.0, None, True, ["3 ft"], float("nan")])
def test_what_is_not_text_is_refused(value: object) -> None:
    with pytest.raises(InputError, match="expected length"):
        parse(value, "length")


@given(st.floats(-5e3, 5e3, allow_nan=False), st.sampled_from(["us", "metric"]))
def test_showing_and_reading_are_inverse(value: float, name: str) -> None:
    system = US if name == "us" else METRIC
    text = system.show(value, "length", 6)
    assert parse(text, "length") == pytest.approx(value, abs=1e-6)


@given(st.text(max_size=40), st.sampled_from(sorted(KINDS)))
def test_any_text_is_read_or_refused(text: str, kind: str) -> None:
    try:
        value = parse(text, kind)
    except InputError:
        return
    assert math.isfinite(value)
