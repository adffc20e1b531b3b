"""Weight, limits and release of a fish, each asked by name.

>>> import towscope as ts
>>> ts.fish.weigh("walleye", "21.5 in", weighed="3.4 lb")
walleye 21.5 in: about 3.9 lb in good condition, mostly 3.1 to 4.3 lb; this one is lean
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

from towscope import arguments
from towscope.answer_forms import AnswerForms
from towscope.errors import ArgumentError, NoAnswer
from towscope.fish.limits import Rule, may_keep, read_rules
from towscope.fish.release_studies import HOOKS_CAUTION, release_advice
from towscope.fish.saying import size
from towscope.fish.weight import (
    CLASSES,
    USUAL,
    Species,
    find_species,
    relative_weight,
    size_class,
    species_table,
    standard_weight,
)
from towscope.units import shown_units

Text = str | float
# Bounds of relative weight that people read these words from (common practice, no source).
WORDS: Final = ((0.80, "thin"), (0.95, "lean"), (1.10, "well fed"), (math.inf, "fat"))


def condition(part: float) -> str:
    """Say how well fed a fish of this relative weight is.

    >>> condition(0.78), condition(1.0)
    ('thin', 'well fed')
    """
    return next(word for limit, word in WORDS if part < limit)


@dataclass(frozen=True, repr=False)
class FishWeight(AnswerForms):
    """What a fish weighs by its length; with its weight, how well fed it is.

    Attributes
    ----------
    species : str
        The fish.
    length_m : float
        Its total length [m].
    standard_weight_kg, usual_kg : float, pair of float
        What a well-fed one weighs, and what most healthy ones do [kg].
    relative_weight, condition : float, str, or None
        Its weight over that, and a word for it; None where it was not weighed.
    size_class, size_class_source : str or None
        How big it is for its kind, and after whom.
    source, waters, holds_from_m : str, str or None, float
        Whose equation, for which waters, and from which length it holds [m].
    """

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

    def __repr__(self) -> str:
        shown = shown_units()
        about = shown.show(self.standard_weight_kg, "mass")
        usual = shown.range(*self.usual_kg, "mass", 1)
        own = f"; this one is {self.condition}" if self.condition else ""
        return (
            f"{self.species} {size(self.length_m)}: about {about} in good condition, mostly "
            f"{usual}{own}"
        )


@dataclass(frozen=True, repr=False)
class Keep(AnswerForms):
    """Whether the crew's own limits let them keep a fish, why, and where these are from."""

    may_keep: bool
    why: str
    water: str
    species: str
    length_m: float
    source: str
    checked: str

    def __repr__(self) -> str:
        return (
            f"{'may be kept' if self.may_keep else 'release it'}: {self.why} (your limits for "
            f"{self.water}, from {self.source}, checked {self.checked})"
        )


@dataclass(frozen=True, repr=False)
class Release(AnswerForms):
    """What published work says about letting a fish go: words and ranges, never one number.

    Attributes
    ----------
    species : str
        The fish.
    outlook : {"good", "fair", "poor", "unknown"}
        Its chances.
    summary : str
        One plain sentence.
    reasons, studies, cautions : list of str
        What it rests on, on which work, and what to mind with the fish in hand.
    """

    species: str
    outlook: Literal["good", "fair", "poor", "unknown"]
    summary: str
    reasons: list[str]
    studies: list[str]
    cautions: list[str]

    def __repr__(self) -> str:
        return "\n- ".join([self.summary, *self.reasons])


@dataclass(frozen=True)
class Known(AnswerForms):
    """A fish known here, its standard-weight equation, and the least lengths of its classes [m]."""

    name: str
    latin: str
    aliases: list[str]
    intercept: float | None
    slope: float | None
    weighed_from_m: float | None
    source: str | None
    waters: str | None
    classes_m: dict[str, float]


def species() -> list[Known]:
    """List the fish known here.

    >>> import towscope as ts
    >>> [one.latin for one in ts.fish.species() if one.name == "walleye"]
    ['Sander vitreus']
    """
    return [
        Known(
            one.name,
            one.latin,
            list(one.aliases),
            law.intercept if law else None,
            law.slope if law else None,
            law.from_m if law else None,
            law.source if law else None,
            law.waters if law else None,
            dict(zip(CLASSES, one.classes_m, strict=False)),
        )
        for one in species_table().values()
        for law in [one.weight]
    ]


def weigh(name: str, length: Text, weighed: Text | None = None) -> FishWeight:
    """Weigh a fish by its length; with its weight, say how well fed it is.

    Parameters
    ----------
    name : str
        The fish: ``"walleye"``, ``"pike"``, ``"laker"``.
    length : str or float
        Total length [m].
    weighed : str or float, optional
        Its weight, where it was weighed [kg].

    Raises
    ------
    NoAnswer
        Where no weight by length is published for it.
    InputError
        Where there is no such fish, or length or weight is no fish's.

    References
    ----------
    See `towscope.fish.weight`.

    Examples
    --------
    >>> import towscope as ts
    >>> ts.fish.weigh("walleye", "21.5 in").size_class
    'preferred'
    """
    kind = find_species(name)
    metres = arguments.quantity(length, "length", "length")
    kg = None if weighed is None else arguments.quantity(weighed, "mass", "weight")
    return weight_answer(kind, metres, kg)


def weight_answer(kind: Species, length_m: float, weighed_kg: float | None = None) -> FishWeight:
    """Give what a fish of this length weighs, in SI: see `weigh`."""
    standard = standard_weight(kind, length_m)
    law = kind.weight
    assert law is not None
    part = relative_weight(kind, length_m, weighed_kg) if weighed_kg is not None else None
    return FishWeight(
        kind.name,
        length_m,
        standard,
        (standard * USUAL[0], standard * USUAL[1]),
        part,
        condition(part) if part is not None else None,
        size_class(kind, length_m),
        kind.classes_source or None,
        law.source,
        law.waters or None,
        law.from_m,
    )


def keep(
    name: str,
    length: Text,
    rules: str | Path | dict[str, dict[str, Rule]],
    *,
    water: str = "",
    kept: int = 0,
    kept_over: int = 0,
) -> Keep:
    """Say whether the crew's own limits let them keep a fish; the law is the water's rules.

    Parameters
    ----------
    name : str
        The fish.
    length : str or float
        Total length [m].
    rules : path or dict
        Their file of limits (TOML), or what `read_rules` made of it.
    water : str
        Which water of the file; the only one without it.
    kept, kept_over : int
        How many they have kept today, and how many of those were long ones.

    Raises
    ------
    NoAnswer
        Where their file has nothing on this fish.
    InputError
        Where the file cannot be read, or there is no such fish or water.

    Examples
    --------
    >>> import towscope as ts
    >>> known = {"source": "rules", "checked": "2026-05-03"}
    >>> rule = ts.fish.Rule("Pond", "walleye", minimum_m=0.381, **known)
    >>> ts.fish.keep("walleye", "14 in", {"Pond": {"walleye": rule}})
    release it: shorter than 15 in (your limits for Pond, from rules, checked 2026-05-03)
    """
    kind = find_species(name).name
    metres = arguments.quantity(length, "length", "length")
    waters = rules if isinstance(rules, dict) else read_rules(Path(rules))
    if not water and len(waters) == 1:
        water = next(iter(waters))
    if water not in waters:
        raise ArgumentError("water", f' "{water}": the file has {", ".join(waters) or "none"}')
    rule = waters[water].get(kind)
    if rule is None:
        raise NoAnswer(f"your file has nothing on {kind} on {water}; see the water's rules")
    may, why = may_keep(rule, metres, kept=kept, kept_over=kept_over)
    return Keep(may, why, water, kind, metres, rule.source, rule.checked)


def release(
    name: str,
    *,
    depth: Text | None = None,
    surface: Text | None = None,
    hook: str = "",
    bled: bool | None = None,
    under_ice: bool = False,
) -> Release:
    """Say what published work knows about the chances of a fish that is released.

    Parameters
    ----------
    name : str
        The fish.
    depth, surface : str or float, optional
        How deep it took the lure [m], and the surface temperature [degC].
    hook : str
        "lip", "mouth", "gill", "eye", "throat", "stomach" or "outside"; "" where not known.
    bled : bool, optional
        Whether it bled.
    under_ice : bool
        Whether it was caught through the ice.

    Raises
    ------
    InputError
        Where there is no such fish, a figure is impossible or the hook's place unknown.

    Examples
    --------
    >>> import towscope as ts
    >>> ts.fish.release("walleye", surface="74 degF", hook="gill").outlook
    'poor'
    """
    kind = find_species(name)
    advice = release_advice(
        kind,
        depth_m=None if depth is None else arguments.quantity(depth, "length", "depth"),
        surface_temp_c=(
            None if surface is None else arguments.quantity(surface, "temperature", "surface")
        ),
        hook=hook or None,
        bled=bled,
        under_ice=under_ice,
    )
    return Release(
        kind.name,
        advice.outlook,
        advice.summary,
        list(advice.reasons),
        list(advice.studies),
        [HOOKS_CAUTION],
    )
