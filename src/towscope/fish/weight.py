"""Standard-weight equations and length classes: a fish's weight, condition and size.

References
----------
.. [1] Wege, G. J., and Anderson, R. O. (1978), "Relative weight (Wr): a new index of condition for
   largemouth bass", in New Approaches to the Management of Small Impoundments, American Fisheries
   Society, North Central Division, Special Publication 5, 79-91.
.. [2] Gabelhouse, D. W., Jr. (1984), "A length-categorization system to assess fish stocks", North
   American Journal of Fisheries Management 4, 273-285.
.. [3] Neumann, R. M., Guy, C. S., and Willis, D. W. (2012), "Length, weight, and associated
   indices", in Fisheries Techniques, 3rd edition, American Fisheries Society, 637-676.
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Final

from towscope.errors import InputError, NoAnswer, one_line
from towscope.fish.saying import WEIGHING, size
from towscope.units import shown_units

CLASSES: Final = ("stock", "quality", "preferred", "memorable", "trophy")
# Healthy fish mostly weigh between these parts of their standard weight, which is itself the upper
# quartile of good populations (common practice, no source).
USUAL: Final = (0.80, 1.10)
# Outside of these parts of it, length and weight cannot both be right (common practice, no source).
POSSIBLE: Final = (0.3, 2.5)
# The longest on record of fish without published classes, rounded up (from memory).
LONGEST_M: Final = {"tiger muskellunge": 1.45, "cisco": 0.65, "lake whitefish": 1.0}


@dataclass(frozen=True)
class StandardWeight:
    """A published standard-weight equation, ``log10 W[g] = intercept + slope log10 TL[mm]``.

    Attributes
    ----------
    intercept, slope : float
        The published constants, for total length [mm] and weight [g].
    from_m : float
        Shortest total length it holds for [m].
    source : str
        Who published it.
    waters : str
        "lakes", "streams" or "" for all.
    """

    intercept: float
    slope: float
    from_m: float
    source: str
    waters: str = ""


@dataclass(frozen=True)
class Species:
    """A fish by name, with what is published on it.

    Attributes
    ----------
    name, latin : str
        Its names.
    aliases : tuple of str
        What else it is called at the ramp.
    weight : StandardWeight or None
        The equation, where there is one.
    classes_m : tuple of float
        Least total length [m] of stock, quality, preferred, memorable, trophy fish; or empty.
    classes_source : str
        Who set them.
    """

    name: str
    latin: str
    aliases: tuple[str, ...]
    weight: StandardWeight | None
    classes_m: tuple[float, ...] = ()
    classes_source: str = ""


@cache
def species_table() -> dict[str, Species]:
    """Give every fish known here, by name.

    The constants are those tabulated in the data sets WSlit and PSDlit of the R package FSA (Ogle
    et al.), which follow [3]_; classes after [2]_ and later papers in the same system.
    """
    table: dict[str, Species] = {}
    text = (files("towscope.fish") / "species.csv").read_text(encoding="utf-8")
    for row in csv.DictReader(text.splitlines()):
        law = None
        if row["intercept"]:
            law = StandardWeight(
                float(row["intercept"]),
                float(row["slope"]),
                float(row["from_mm"]) / 1000,
                row["source"],
                row["waters"],
            )
        classes = [row[f"{name}_cm"] for name in CLASSES]
        table[row["name"]] = Species(
            row["name"],
            row["latin"],
            tuple(alias for alias in row["aliases"].split("; ") if alias),
            law,
            tuple(float(cm) / 100 for cm in classes if cm),
            row["classes_source"],
        )
    return table


@cache
def _names() -> dict[str, str]:
    return {
        alias: one.name for one in species_table().values() for alias in (one.name, *one.aliases)
    }


def find_species(text: str) -> Species:
    """Give the species that a name means.

    Raises
    ------
    InputError
        Where there is none of that name, with the nearest ones.

    Examples
    --------
    >>> find_species("laker").name
    'lake trout'
    """
    key = " ".join(text.lower().replace("-", " ").replace("_", " ").split())
    name = _names().get(key) or _names().get(key.removesuffix("s"))
    if name is None:
        from difflib import get_close_matches

        near = get_close_matches(key, _names(), 2) or ["walleye", "yellow perch", "lake trout"]
        raise InputError(
            f'unknown fish "{one_line(text, 40)}"; nearest: {", ".join(near)}; '
            'see "towscope fish species"'
        )
    return species_table()[name]


def species_named(text: str) -> str | None:
    """Give the one name of a fish; None for what is no fish.

    >>> species_named("laker"), species_named("boot")
    ('lake trout', None)
    """
    try:
        return find_species(text).name
    except InputError:
        return None


def standard_weight(species: Species, length_m: float) -> float:
    """Give the standard weight of a fish of this length: what a well-fed one weighs.

    Parameters
    ----------
    species : Species
        The fish.
    length_m : float
        Total length, mouth closed, tail pressed together [m].

    Returns
    -------
    float
        Standard weight [kg].

    Raises
    ------
    NoAnswer
        Where no equation is published, or the fish is shorter than it holds for, or longer than
        any on record.
    InputError
        Where the length is no fish's.

    References
    ----------
    The equation named in `Species.weight`; the index is Wege and Anderson's [1]_.

    Examples
    --------
    A walleye of 21.5 in:

    >>> weight = standard_weight(find_species("walleye"), 21.5 * 0.0254)
    >>> f"{weight / 0.45359237:.1f} lb"
    '3.9 lb'
    """
    law = species.weight
    if not math.isfinite(length_m) or not 0 < length_m < 3:
        raise InputError(
            f"a length of {size(length_m)} is no fish's; expected {size(0.05)} to {size(2.0)}"
        )
    if law is None:
        raise NoAnswer(WEIGHING["none"].format(fish=species.name))
    if length_m < law.from_m:
        raise NoAnswer(
            WEIGHING["short"].format(fish=species.name, source=law.source, least=size(law.from_m))
        )
    if too_long(species, length_m):
        raise NoAnswer(
            WEIGHING["long"].format(
                fish=species.name,
                length=size(length_m),
                longest=size(longest(species)),
                source=law.source,
            )
        )
    return float(10 ** (law.intercept + law.slope * math.log10(length_m * 1000)) / 1000)


def likely_weight(name: str, length_m: float) -> float | None:
    """Give the standard weight [kg] for a fish's name and length [m]; None where it has none.

    >>> likely_weight("walleye", 0.05) is None and likely_weight("dragon", 0.5) is None
    True
    """
    try:
        return standard_weight(find_species(name), length_m)
    except (InputError, NoAnswer):
        return None


def longest(species: Species) -> float:
    """Give the length of about the longest fish on record [m]; infinite where none is known.

    Trophy length is set at 74 to 80 % of it (Gabelhouse 1984).
    """
    if species.classes_m:
        return species.classes_m[-1] / 0.74
    return LONGEST_M.get(species.name, math.inf)


def too_long(species: Species, length_m: float) -> bool:
    """Say whether a fish is longer than any on record, so that the length is probably misread.

    >>> too_long(find_species("walleye"), 1.2), too_long(find_species("walleye"), 0.8)
    (True, False)
    """
    return length_m > longest(species)


def relative_weight(species: Species, length_m: float, weight_kg: float) -> float:
    """Give a fish's weight as a fraction of its standard weight.

    Parameters
    ----------
    species : Species
        The fish.
    length_m, weight_kg : float
        Total length [m] and weight [kg].

    Returns
    -------
    float
        Relative weight; 1 is a fish in very good condition.

    Raises
    ------
    InputError
        Where the weight is none, or length and weight cannot both be right.
    NoAnswer
        As `standard_weight`.

    References
    ----------
    Wege and Anderson (1978) [1]_.

    Examples
    --------
    >>> f"{relative_weight(find_species('walleye'), 0.5461, 1.6):.2f}"
    '0.90'
    """
    if not math.isfinite(weight_kg) or weight_kg <= 0:
        raise InputError(f"a weight of {shown_units().show(weight_kg, 'mass')} is no fish's")
    part = weight_kg / standard_weight(species, length_m)
    if not POSSIBLE[0] <= part <= POSSIBLE[1]:
        raise InputError(
            WEIGHING["wrong"].format(
                weight=shown_units().show(weight_kg, "mass"),
                fish=species.name,
                length=size(length_m),
                percent=f"{part * 100:.0f}",
            )
        )
    return part


def size_class(species: Species, length_m: float) -> str | None:
    """Give the size class of a fish, None below stock size or where none is published.

    References
    ----------
    Gabelhouse (1984) [2]_.

    Examples
    --------
    >>> size_class(find_species("walleye"), 0.5461)
    'preferred'
    """
    found = None
    for name, least in zip(CLASSES, species.classes_m, strict=False):
        if length_m >= least - 1e-9:
            found = name
    return found
