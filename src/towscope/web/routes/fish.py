"""What a fish of this length weighs, and whether letting it go is likely to help it."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Query
from pydantic import BaseModel

from towscope.fish import CLASSES, find_species, species_table
from towscope.fish.figures import release_figures, weight_figures
from towscope.sheets.cautions import RULES
from towscope.web.routes.days import Units
from towscope.words import shown_in

router = APIRouter(prefix="/api/fish", tags=["fish"])

Name = Annotated[str, Query(max_length=60)]
Hook = Literal["", "lip", "mouth", "gill", "eye", "throat", "stomach", "outside"]


class Species(BaseModel):
    """A fish known here, and the least lengths [m] of its size classes."""

    name: str
    latin: str
    aliases: list[str]
    weighed_from_m: float | None
    classes_m: dict[str, float]


class AllSpecies(BaseModel):
    """The fish known here."""

    species: list[Species]


class Weight(BaseModel):
    """What a fish weighs by its length; with its weight, how well fed it is."""

    species: str
    length_m: float
    standard_weight_kg: float
    usual_kg: tuple[float, float]
    relative_weight: float | None
    condition: str | None
    size_class: str | None
    size_class_source: str | None
    source: str
    waters: str | None
    holds_from_m: float


class Release(BaseModel):
    """What published work says about letting a fish go, and what comes before it."""

    species: str
    outlook: Literal["good", "fair", "poor", "unknown"]
    summary: str
    reasons: list[str]
    studies: list[str]
    cautions: list[str]


@router.get("/species")
def species() -> AllSpecies:
    """List the fish known here."""
    return AllSpecies(
        species=[
            Species(
                name=one.name,
                latin=one.latin,
                aliases=list(one.aliases),
                weighed_from_m=one.weight.from_m if one.weight else None,
                classes_m=dict(zip(CLASSES, one.classes_m, strict=False)),
            )
            for one in species_table().values()
        ]
    )


@router.get("/weight")
def weight(
    species: Name,
    length_m: Annotated[float, Query(gt=0.0, lt=3.0)],
    weighed_kg: Annotated[float | None, Query(gt=0.0, lt=200.0)] = None,
) -> Weight:
    """Weigh a fish by its length."""
    return Weight(**weight_figures(find_species(species), length_m, weighed_kg))


@router.get("/release")
def release(
    species: Name,
    depth_m: Annotated[float | None, Query(ge=0.0, le=400.0)] = None,
    surface_temp_c: Annotated[float | None, Query(ge=-2.0, le=45.0)] = None,
    hook: Hook = "",
    bled: bool = False,
    under_ice: bool = False,
    units: Units = "us",
) -> Release:
    """Say what published work knows about the chances of a fish that is released."""
    shown_in(units)
    found = release_figures(
        find_species(species),
        depth_m=depth_m,
        surface_temp_c=surface_temp_c,
        hook=hook or None,
        bled=bled or None,
        under_ice=under_ice,
    )
    return Release(**{**found, "cautions": [*found["cautions"], RULES]})
