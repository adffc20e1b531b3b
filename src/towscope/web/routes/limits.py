"""The crew's own limits for their water, in one file; the pages say what they mean for a fish."""

from __future__ import annotations

from typing import Annotated, Final

from fastapi import APIRouter, Query
from pydantic import BaseModel, Field

from towscope.effort.fished import present
from towscope.errors import InputError, one_line
from towscope.files import home, write_whole
from towscope.fish import Rule, find_species, read_rules
from towscope.fish.limits import fault_of, to_toml
from towscope.journal.times import day_at
from towscope.units import parse
from towscope.web.saying import SystemName

router = APIRouter(prefix="/api/fish", tags=["fish"])

FILE: Final = "limits.toml"

Size = Annotated[float, Field(gt=0.0, lt=3.0, allow_inf_nan=False)]
Count = Annotated[int, Field(ge=0, le=1000)]
Name = Annotated[str, Field(min_length=1, max_length=60)]


class Limit(BaseModel):
    """The crew's limits for one fish on one water; lengths in metres, None for no such limit.

    Attributes
    ----------
    minimum_m, maximum_m : float or None
        Shortest and longest that may be kept.
    release_m : list of pair
        Lengths that must be released, both ends included.
    keep : int or None
        How many may be kept a day.
    over_m, over_keep : float, int or None
        Of those longer than `over_m`, how many may be kept.
    """

    water: Name
    species: Name
    minimum_m: Size | None = None
    maximum_m: Size | None = None
    release_m: Annotated[list[tuple[Size, Size]], Field(max_length=4)] = []
    keep: Count | None = None
    over_m: Size | None = None
    over_keep: Count | None = None
    source: Annotated[str, Field(max_length=200)] = ""
    checked: str = ""


class Limits(BaseModel):
    """All limits the crew entered; `trouble` says why their file can't be read."""

    limits: list[Limit]
    trouble: str = ""


def _rules() -> dict[str, dict[str, Rule]]:
    path = home() / FILE
    return read_rules(path) if path.is_file() else {}


def _written(units: str, *lengths: float | None) -> dict[float, str]:
    """Write lengths [m] in full for the crew's file: "15 in", "15.25 in"."""
    unit = "in" if units.startswith("us") else "cm"
    one = parse(f"1 {unit}", "length")
    return {each: f"{round(each / one, 3):g} {unit}" for each in lengths if each is not None}


@router.get("/limits")
def limits() -> Limits:
    """Give the limits the crew entered."""
    try:
        return _shown(_rules())
    except InputError as error:
        return Limits(limits=[], trouble=str(error))


def _shown(waters: dict[str, dict[str, Rule]]) -> Limits:
    return Limits(
        limits=[
            Limit(
                water=water,
                species=rule.species,
                minimum_m=rule.minimum_m,
                maximum_m=rule.maximum_m,
                release_m=list(rule.release_m),
                keep=rule.keep,
                over_m=rule.over_m,
                over_keep=rule.over_keep,
                source=rule.source,
                checked=rule.checked,
            )
            for water, rules in waters.items()
            for rule in rules.values()
        ]
    )


@router.put("/limits")
def enter(limit: Limit, units: SystemName = "us") -> Limits:
    """Enter the limits for a fish on a water, in place of those there were; checked today."""
    water, species = limit.water.strip(), find_species(limit.species).name
    source = one_line(limit.source.strip(), 200)
    checked = day_at(present()[0]).isoformat()
    waters = _rules()
    mine = {
        name: Rule(**{**vars(rule), "source": source, "checked": checked})
        for name, rule in waters.get(water, {}).items()
    }
    spans = tuple(limit.release_m)
    ends = (end for span in spans for end in span)
    words = _written(units, limit.minimum_m, limit.maximum_m, limit.over_m, *ends)
    mine[species] = Rule(
        water, species, limit.minimum_m, limit.maximum_m, spans, limit.keep, limit.over_m,
        limit.over_keep, source, checked, words,
    )  # fmt: skip
    if fault := fault_of(mine[species]):
        raise InputError(fault)
    waters[water] = mine
    return _kept(waters)


@router.delete("/limits")
def forget(
    water: Annotated[str, Query(max_length=60)],
    species: Annotated[str, Query(max_length=60)],
) -> Limits:
    """Take the limits for a fish on a water away."""
    waters = _rules()
    waters.get(water, {}).pop(find_species(species).name, None)
    return _kept({name: rules for name, rules in waters.items() if rules})


def _kept(waters: dict[str, dict[str, Rule]]) -> Limits:
    write_whole(home() / FILE, to_toml(waters).encode())
    return limits()
