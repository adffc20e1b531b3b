"""Sizes of the passes' maps on paper."""

from __future__ import annotations

import pytest

from towscope.sheets.passes import MAP_HEIGHT, PAGE_WIDTH, TALLEST, WHOLE_HEIGHT, _svg
from towscope.units import US


@pytest.mark.parametrize(
    ("wide", "high", "limit", "least"),
    [
        (2.0, 8.0, WHOLE_HEIGHT, 45.0),  # a lake four times as long as wide, north to south
        (3.0, 5.0, WHOLE_HEIGHT, 89.0),
        (5.0, 5.0, WHOLE_HEIGHT, 57.0),
        (9.0, 4.0, MAP_HEIGHT, 180.0),
    ],
)
def test_no_map_is_a_strip(wide: float, high: float, limit: float, least: float) -> None:
    from matplotlib.figure import Figure

    _, shown = _svg(Figure(figsize=(wide, high)), limit, US)
    assert least < shown <= PAGE_WIDTH
    assert shown * high / wide <= TALLEST
