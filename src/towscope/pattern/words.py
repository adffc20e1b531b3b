"""Labels, comparisons and the limits of what is known, in plain words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from towscope.pattern.compare import FAIR_FISH, SURE, Level, Pair, Pattern
from towscope.pattern.rates import fish_to_tell
from towscope.units import System, parse

if TYPE_CHECKING:
    from towscope.pattern.answers import Comparison, LevelRate

NOUN = {"light": "sky", "hour": "time of day", "temperature": "water temperature"}
PLURAL = {
    "lure": "lures", "body": "bodies", "size": "sizes", "colour": "colours", "depth": "depths",
    "speed": "speeds", "light": "skies", "temperature": "water temperatures",
    "hour": "hours of the day", "place": "places", "rod": "rods",
}  # fmt: skip


def label(level: Level, system: System) -> str:
    """Name a level: "2 in", "25 to 30 ft", "perch"."""
    if level.low_si is None or level.high_si is None:
        return str(level.key)
    low, high = level.low_si, level.high_si
    if level.factor == "size":
        inch = system.name == "us"
        unit = parse("1 in" if inch else "1 cm", "length")
        return f"{round(0.5 * (low + high) / unit, 2):g} {'in' if inch else 'cm'}"
    if level.factor == "hour":
        return f"{low:.0f} to {high:.0f} h"
    kind = {"depth": "length", "speed": "speed", "temperature": "temperature"}[level.factor]
    return system.range(low, high, kind)


def rate_text(per_hour: float) -> str:
    """Write a rate with the figures it deserves.

    >>> rate_text(0.5234), rate_text(12.3)
    ('0.52', '12')
    """
    return f"{per_hour:.2f}" if per_hour < 10 else f"{per_hour:.0f}"


def comparison(pair: Pair, levels: list[Level], system: System) -> str:
    """Say how one level stands against another, as in "small out-fishes large: 88 %, ..."."""
    better, worse = (label(levels[i], system) for i in (pair.better, pair.worse))
    low, high = _times(pair.low), _times(pair.high)
    share = "over 99 %" if pair.probability > 0.995 else f"{100 * pair.probability:.0f} %"
    return f"{better} out-fishes {worse}: {share}, {low} to {high} times"


def _times(ratio: float) -> str:
    return f"{ratio:.2f}" if ratio < 0.95 else f"{ratio:.1f}" if ratio < 10 else f"{ratio:.0f}"


def verdict(name: str, pairs: list[Comparison], levels: list[LevelRate]) -> str:
    """Say in one line what a factor's comparisons come to."""
    if not pairs:
        return ""
    name = NOUN.get(name, name)
    top = max(levels, key=lambda x: x["per_rod_hour"])["level"]
    sure = [p for p in pairs if p["probability"] >= SURE]
    if not sure:
        if len(levels) == 2:
            return f"no {name} is surely better; {pairs[0]['text']}"
        leader = max(levels, key=lambda x: x["probability_best"])
        share = 100 * leader["probability_best"]
        return f"no {name} is surely better; the best guess is {leader['level']} ({share:.0f} %)"
    if sum(p["better"] == top for p in sure) == len(levels) - 1:
        return f"{top} is better than every other"
    return "; ".join(p["text"] for p in sure[:2])


def limits(found: Pattern, system: System) -> list[str]:
    """Say what cannot be known from this."""
    total = found.total
    fish = total.catches
    spent = f"{total.hours:.1f} rod-hours"
    out = []
    if fish == 0:
        out.append(
            f"No fish in {spent}: the rate is most likely under {rate_text(total.high)} per "
            "rod-hour, and there is no pattern to show yet."
        )
    elif fish < FAIR_FISH:
        count = "One fish" if fish == 1 else f"{_word(fish)} fish"
        out.append(
            f"{count} in {spent} can't tell one lure from another: the figures are mostly "
            "what was assumed to begin with."
        )
    if fish < 4 * FAIR_FISH:
        out.append(
            "To tell a lure that catches twice as well from the other takes about "
            f"{fish_to_tell(2.0)} fish on the two together; half as well again takes about "
            f"{fish_to_tell(1.5)}."
        )
    for name, why in found.silent.items():
        noun = NOUN.get(name, name)
        if why == "none":
            out.append(f"No {noun} was noted, so there is nothing on {PLURAL[name]}.")
        elif why == "one":
            only = label(found.levels[name][0], system)
            out.append(f"All effort was with one {noun} ({only}): no other to compare with.")
        elif why.startswith("same:"):
            other = why.removeprefix("same:")
            if found.silent.get(other) != f"same:{name}" or name < other:
                out.append(
                    f"Each {noun} always went with the same {NOUN.get(other, other)}: which of "
                    "the two the fish minded can't be known; mix them."
                )
    if found.clump_low > 0.15:
        out.append(
            f"Fish come in clumps (variance {1 + found.clump:.1f} times the mean), so each counts "
            "for less than one."
        )
    return out


def _word(n: int) -> str:
    return ("No", "One", "Two", "Three", "Four", "Five")[n]
