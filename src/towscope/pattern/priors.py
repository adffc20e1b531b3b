"""Rules of thumb as weak, visible priors, held before any fish is caught.

Rules of thumb of the trade. Each is common practice, no source; each enters the regression as one
effect with a wide prior, is shown with what the fish have made of it, and gives way to them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

ACTIVE: Final = frozenset({"crank", "crankbait", "shad", "spoon", "rattler", "plug"})
QUIET: Final = frozenset({"minnow", "stick", "stickbait", "worm", "harness", "spinner", "fly"})
VIVID: Final = frozenset(
    {"chartreuse", "orange", "pink", "hot", "glow", "yellow", "red", "lime", "bright"}
)
NATURAL: Final = frozenset(
    {"perch", "silver", "smelt", "shiner", "white", "brown", "natural", "shad", "cisco", "olive"}
)
SUNNY: Final = frozenset({"sunny", "sun", "clear", "bright"})
DULL: Final = frozenset(
    {"cloudy", "cloud", "overcast", "rain", "fog", "dusk", "dawn", "dark", "night", "dull"}
)
WARM_C: Final = (65.0 - 32.0) / 1.8


@dataclass(frozen=True)
class RuleOfThumb:
    """One rule of thumb.

    Attributes
    ----------
    name : str
        Short name, also of its effect.
    text : str
        The rule as people say it.
    mean, sd : float
        Prior of the effect [ln] for one unit of `value`.
    value : callable
        Body, colour, light, surface temperature [degC] to how far the rule speaks for (over 0) or
        against (under 0) the lure; 0 where it says nothing.
    """

    name: str
    text: str
    mean: float
    sd: float
    value: Callable[[str, str, str | None, float | None], float]


def _side(text: str, for_it: frozenset[str], against: frozenset[str]) -> float:
    words = set(text.lower().replace("-", " ").split())
    return 0.5 * (bool(words & for_it) - bool(words & against))


def _warm(body: str, colour: str, light: str | None, temp_c: float | None) -> float:
    if temp_c is None:
        return 0.0
    return max(-1.5, min(1.5, (temp_c - WARM_C) / 5.0)) * _side(body, ACTIVE, QUIET)


def _dull(body: str, colour: str, light: str | None, temp_c: float | None) -> float:
    return 2.0 * _side(light or "", DULL, SUNNY) * _side(colour, VIVID, NATURAL)


CUSTOMS: Final = (
    RuleOfThumb(
        "warm water",
        "above about 65 °F active lures gain on quiet ones, below it they lose (rule of thumb)",
        0.15,
        0.25,
        _warm,
    ),
    RuleOfThumb(
        "dull light",
        "vivid colours gain under cloud, natural ones in sun (rule of thumb)",
        0.15,
        0.25,
        _dull,
    ),
)
