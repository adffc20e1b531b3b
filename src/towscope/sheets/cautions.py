"""Safety texts, said the same way everywhere."""

from typing import Final

LEAD: Final = (
    "Lead core holds lead: wash hands before eating, never put it in your mouth, keep it from "
    "children, take every scrap home; some waters forbid lead, so check."
)
LINE: Final = (
    "Keep line and hooks clear of hands, eyes and the propeller; line in the propeller: engine off "
    "before anybody touches it."
)
SNAG: Final = (
    "Snagged: into neutral first, a snag at speed loads the rod and the line may fly back. Stand "
    "out of its way, never wrap line round a hand, cut it if it will not come free."
)
LOOKOUT: Final = (
    "Keep a lookout at all times and watch the weather; life jackets on, everyone, fastened. Other "
    "boats do not see your line."
)
RULES: Final = (
    "Local rules come first: rods per person, hooks, seasons, sizes, lead. These figures are "
    "estimates and no chart: nothing here is for navigation."
)
ON_THE_WATER: Final = (LOOKOUT, LINE, SNAG, LEAD, RULES)
