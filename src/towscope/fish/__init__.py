"""Standard weights, the crew's own limits and release studies: what to know of a fish."""

from towscope.fish.answers import FishWeight, Keep, Release, keep, release, species, weigh
from towscope.fish.limits import Rule, may_keep, read_rules
from towscope.fish.release_studies import HOOKS_CAUTION, LOCAL_FIRST, ReleaseAdvice, release_advice
from towscope.fish.weight import (
    CLASSES,
    USUAL,
    Species,
    StandardWeight,
    find_species,
    likely_weight,
    relative_weight,
    size_class,
    species_named,
    species_table,
    standard_weight,
    too_long,
)

__all__ = [
    "CLASSES",
    "HOOKS_CAUTION",
    "LOCAL_FIRST",
    "USUAL",
    "FishWeight",
    "Keep",
    "Release",
    "ReleaseAdvice",
    "Rule",
    "Species",
    "StandardWeight",
    "find_species",
    "keep",
    "likely_weight",
    "may_keep",
    "read_rules",
    "relative_weight",
    "release",
    "release_advice",
    "size_class",
    "species",
    "species_named",
    "species_table",
    "standard_weight",
    "too_long",
    "weigh",
]
