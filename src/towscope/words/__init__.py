"""All strings that the command line, the sheets and the pages share, spelled by the unit system.

Source text is written colour, centre, grey, metre. It is spelled where it leaves the house, in one
place for each way out; the pages read the same list (`words.json`) and follow the same rule.
"""

from towscope.words.counting import counted
from towscope.words.rods import RodLook, look_of, looks
from towscope.words.spelling import (
    feet,
    own,
    respell_data,
    respell_figure,
    retired,
    shown_in,
    spelled,
)
from towscope.words.table import term, terms

__all__ = [
    "RodLook", "counted", "feet", "look_of", "looks", "own", "respell_data", "respell_figure",
    "retired", "shown_in", "spelled", "term", "terms",
]  # fmt: skip
