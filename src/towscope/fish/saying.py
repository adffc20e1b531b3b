"""A fish's length in words, and what library and pages say of its weight and of keeping it."""

from __future__ import annotations

from typing import Final

from towscope.constants import INCH
from towscope.words import feet

WEIGHING: Final = {
    "none": "no standard weight for {fish} is known here",
    "short": "the standard weight of {fish} ({source}) holds from {least} up; this one is shorter",
    "long": (
        "a {fish} of {length} is longer than any on record (about {longest}), far outside what its "
        "equation ({source}) was made from: no weight by length; is the length right?"
    ),
    "wrong": (
        "{weight} for a {fish} of {length} is {percent} % of the standard weight; is a unit wrong?"
    ),
}
"""Why a fish is not weighed by its length, or its weight cannot be right."""

KEEPING: Final = {
    "short": "shorter than {length}",
    "long": "longer than {length}",
    "between": "between {low} and {high} must be released",
    "enough": "{count} kept already, the limit",
    "enough long": "{count} over {length} kept already",
    "long one": "counts among the {count} over {length}",
    "within": "within your limits",
}
"""Why a fish may be kept by the crew's own limits, or not."""

LIMIT_FAULTS: Final = {
    "water": "the water has no name; expected the one your rules give it",
    "source": "where the limits are from is missing; expected for example the rule book and page",
    "release": "the lengths to release: the first is not shorter than the second",
    "shortest": "the shortest to keep is not shorter than the longest",
    "over": "how many over which length: expected both or neither",
}
"""What can be wrong with a limit as it is entered."""


def size(metres: float) -> str:
    """Say a fish's length.

    >>> size(0.381), size(0.5461)
    ('15 in', '21.5 in')
    """
    figure, unit = (metres / INCH, "in") if feet() else (metres * 100.0, "cm")
    return f"{round(figure, 1):g} {unit}"
