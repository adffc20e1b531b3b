"""The boat's units, and what is said to its phones in them and in their spelling."""

from __future__ import annotations

import json
from typing import Final, Literal, get_args

from towscope.errors import one_line
from towscope.files import home
from towscope.retold import retold
from towscope.words import spelled

KEPT: Final = "boat.json"
SystemName = Literal["us", "metric"]
UnitsName = Literal["us", "us-knots", "metric", "metric-knots"]


def boat_units() -> UnitsName | None:
    """Give the boat's units; None where nobody has chosen yet, or what was saved can't be read."""
    try:
        said = json.loads((home() / KEPT).read_bytes())["units"]
    except (OSError, ValueError, KeyError, TypeError):
        return None
    return said if said in get_args(UnitsName) else None


def said(error: Exception) -> str:
    """Say in the boat's units and spelling what is wrong, or why there is no answer."""
    units = boat_units() or "us"
    return one_line(spelled(retold(str(error), units), units))
