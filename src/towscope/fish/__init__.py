"""What a fish weighs, whether it may be kept, and whether letting it go is likely to help it."""

from towscope.fish.limits import Rule, may_keep, read_rules
from towscope.fish.release import HOOKS_CAUTION, LOCAL_FIRST, Advice, release_advice
from towscope.fish.weight import (
    CLASSES,
    USUAL,
    Species,
    StandardWeight,
    find_species,
    relative_weight,
    size_class,
    species_table,
    standard_weight,
    too_long,
    weigh,
)

__all__ = [
    "CLASSES",
    "HOOKS_CAUTION",
    "LOCAL_FIRST",
    "USUAL",
    "Advice",
    "Rule",
    "Species",
    "StandardWeight",
    "find_species",
    "may_keep",
    "read_rules",
    "relative_weight",
    "release_advice",
    "size_class",
    "species_table",
    "standard_weight",
    "too_long",
    "weigh",
]
