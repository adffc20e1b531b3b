"""What can hurt somebody, said the same way everywhere."""

from typing import Final

LEAD: Final = (
    "Lead core holds lead: wash hands before eating, never put it in your mouth, keep it from "
    "children, take every scrap home; some waters forbid lead, so check."
)
LINE: Final = (
    "Keep line and hooks clear of the propeller, of hands and eyes; a snag at speed loads the rod: "
    "slow down, then free it."
)
LOOKOUT: Final = (
    "Keep a lookout at all times, watch the weather, wear a life jacket; other boats do not see "
    "your line."
)
RULES: Final = (
    "Local rules come first: rods per person, hooks, seasons, sizes, lead. These figures are "
    "estimates and no chart: nothing here is for navigation."
)
ON_THE_WATER: Final = (LOOKOUT, LINE, LEAD, RULES)
