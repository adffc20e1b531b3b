"""Routes for a fish's weight, and for whether releasing it is likely to help it."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Literal

from fastapi import APIRouter, Query
from typing_extensions import TypedDict

from towscope import fish
from towscope.fish.answers import FishWeight, Known, Release
from towscope.sheets.cautions import RULES
from towscope.web.saying import SystemName
from towscope.words import shown_in
from towscope.words.hooks import Hook

router = APIRouter(prefix="/api/fish", tags=["fish"])

Name = Annotated[str, Query(max_length=60)]
Hooked = Literal["", Hook]


class AllSpecies(TypedDict):
    """The fish known here."""

    species: list[Known]


@router.get("/species")
def species() -> AllSpecies:
    """List the fish known here."""
    return {"species": fish.species()}


@router.get("/weight")
def weight(
    species: Name,
    length_m: Annotated[float, Query(gt=0.0, lt=3.0)],
    weighed_kg: Annotated[float | None, Query(gt=0.0, lt=200.0)] = None,
) -> FishWeight:
    """Weigh a fish by its length."""
    return fish.weigh(species, length_m, weighed_kg)


@router.get("/release")
def release(
    species: Name,
    depth_m: Annotated[float | None, Query(ge=0.0, le=400.0)] = None,
    surface_temp_c: Annotated[float | None, Query(ge=-2.0, le=45.0)] = None,
    hook: Hooked = "",
    bled: bool = False,
    under_ice: bool = False,
    units: SystemName = "us",
) -> Release:
    """Say what published work knows about the chances of a fish that is released."""
    shown_in(units)
    found = fish.release(
        species,
        depth=depth_m,
        surface=surface_temp_c,
        hook=hook,
        bled=bled or None,
        under_ice=under_ice,
    )
    return replace(found, cautions=[*found.cautions, RULES])
