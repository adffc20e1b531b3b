"""The day's drawings are well-formed SVG, and what a crew calls things is read back as typed."""

from __future__ import annotations

from datetime import UTC, datetime
from xml.etree import ElementTree

import pytest

from towscope.journal.replay import LineSpan, Weather
from towscope.sheets.day_timeline import timeline
from towscope.sheets.drawing import DrawnSpot
from towscope.units import SYSTEMS

SVG = "{http://www.w3.org/2000/svg}"  # W3C, SVG 1.1, section 5.1.1: its namespace
BEGIN = datetime(2026, 8, 14, 6, 0, tzinfo=UTC).timestamp()
TYPED = ['<b>"R&D"</b>', "Ada's & Bo's", "</text><script>1</script>", "{{ 7 * 7 }}", "&lt;"]


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("typed", TYPED)
def test_names_are_words_and_never_markup(typed: str, units: str) -> None:
    spans = [LineSpan(typed, BEGIN, BEGIN + 7200, lure=typed)]
    spot = DrawnSpot("catch", BEGIN + 3600, typed, 1, None, None)
    skies = [(BEGIN, Weather(sky=typed))]
    drawn = timeline(spans, [spot], skies, [], UTC, SYSTEMS[units])
    assert drawn is not None
    root = ElementTree.fromstring(drawn)
    assert root.tag == f"{SVG}svg"
    words = [each.text for each in root.iter(f"{SVG}text")]
    assert words.count(typed) == 3, "the rod, its lure, the sky"
    assert {each.tag.removeprefix(SVG) for each in root.iter()} <= {
        "svg", "title", "rect", "path", "text", "circle", "polygon",
    }  # fmt: skip
    assert {"06:00", "07:00", "08:00", "1"} <= set(words)


def test_an_hour_is_as_long_on_every_rod_and_along_the_foot() -> None:
    spans = [
        LineSpan("port", BEGIN, BEGIN + 7200),
        LineSpan("starboard", BEGIN + 3600, BEGIN + 7200),
    ]
    drawn = timeline(spans, [], [], [], UTC, SYSTEMS["us"], 1000.0)
    assert drawn is not None
    root = ElementTree.fromstring(drawn)
    at = {each.text: float(each.attrib["x"]) for each in root.iter(f"{SVG}text")}
    hour = at["08:00"] - at["07:00"]
    two, one = (each for each in root.iter(f"{SVG}rect") if each.get("rx"))
    assert float(two.attrib["x"]) == pytest.approx(at["06:00"], abs=0.11)
    assert float(one.attrib["x"]) == pytest.approx(at["07:00"], abs=0.11)
    assert float(two.attrib["width"]) == pytest.approx(2 * hour, abs=0.31)
    assert float(one.attrib["width"]) == pytest.approx(hour, abs=0.21)
