"""What a fish's length says, and what letting it go does, as figures with their words."""

from __future__ import annotations

from typing import Any, Final

from towscope.fish.release import HOOKS_CAUTION, release_advice
from towscope.fish.weight import (
    USUAL,
    Species,
    relative_weight,
    size_class,
    standard_weight,
)

# Bounds of relative weight that people read these words from (common practice, no source).
_WORDS: Final = ((0.80, "thin"), (0.95, "lean"), (1.10, "well fed"))


def condition(part: float) -> str:
    """Say how well fed a fish of this relative weight is.

    >>> condition(0.78), condition(1.0)
    ('thin', 'well fed')
    """
    return next((word for limit, word in _WORDS if part < limit), "fat")


def weight_figures(
    species: Species, length_m: float, weighed_kg: float | None = None
) -> dict[str, Any]:
    """Give what a fish of this length weighs and how it stands for its kind.

    Parameters
    ----------
    species : Species
        The fish.
    length_m : float
        Total length [m].
    weighed_kg : float, optional
        Its weight, where it was weighed [kg].

    Raises
    ------
    NoAnswer
        Where no weight by length is published for it.
    InputError
        Where length or weight is no fish's.
    """
    standard = standard_weight(species, length_m)
    law = species.weight
    assert law is not None
    part = relative_weight(species, length_m, weighed_kg) if weighed_kg is not None else None
    return {
        "species": species.name,
        "length_m": length_m,
        "standard_weight_kg": standard,
        "usual_kg": [standard * USUAL[0], standard * USUAL[1]],
        "relative_weight": part,
        "condition": condition(part) if part is not None else None,
        "size_class": size_class(species, length_m),
        "size_class_source": species.classes_source or None,
        "source": law.source,
        "waters": law.waters or None,
        "holds_from_m": law.from_m,
    }


def release_figures(
    species: Species,
    *,
    depth_m: float | None = None,
    surface_temp_c: float | None = None,
    hook: str | None = None,
    bled: bool | None = None,
    under_ice: bool = False,
) -> dict[str, Any]:
    """Give what published work says about letting a fish go; arguments as `release_advice`."""
    advice = release_advice(
        species,
        depth_m=depth_m,
        surface_temp_c=surface_temp_c,
        hook=hook,
        bled=bled,
        under_ice=under_ice,
    )
    return {
        "species": species.name,
        "outlook": advice.outlook,
        "summary": advice.summary,
        "reasons": list(advice.reasons),
        "studies": list(advice.studies),
        "cautions": [HOOKS_CAUTION],
    }
