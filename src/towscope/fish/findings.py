"""Published findings on released fish as a table: when each holds, how much it counts, who says so.

One table for library, command line, server and the app's pages, which match it to a fish in the
same way (`towscope.fish.release_studies`, and the pages' own few lines).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from towscope.words.hooks import Hook

Range = tuple[float, float]
"""From the first, this included, up to the second, this left out."""

ALL: Final[Range] = (-math.inf, math.inf)


def _above(limit: float) -> float:
    """Give the least figure above a limit that still belongs to what lies below it."""
    return math.nextafter(limit, math.inf)


@dataclass(frozen=True)
class Finding:
    """What one study, or none, says of a fish that meets all of its conditions.

    Attributes
    ----------
    reason : str
        In words; "" where it counts and needs none. ``{hook}`` stands for the hook's place.
    fish, but : tuple of str
        The fish it is about, all where empty, and those it is not.
    depth_m, surface_temp_c : pair of float or None
        From, included, to, left out, [m] and [degC]; a fish of unknown depth meets none.
    hook : tuple of str
        Places of the hook; any, or an unknown one, where empty.
    bled, under_ice : bool or None
        Whether it must have bled, and come through the ice; None where that is the same.
    worst, against, least : int
        0 is nothing against the fish, 1 some loss, 2 heavy loss: how bad it is by itself (the worst
        counts), how much it adds to that, and below what the sum must not fall.
    says : bool
        Whether it says something of the fish's chance.
    study : str
        Who found it.
    """

    reason: str = ""
    fish: tuple[str, ...] = ()
    but: tuple[str, ...] = ()
    depth_m: Range | None = None
    surface_temp_c: Range | None = None
    hook: tuple[Hook, ...] = ()
    bled: bool | None = None
    under_ice: bool | None = None
    worst: int = 0
    against: int = 0
    least: int = 0
    says: bool = True
    study: str = ""


# What the studies found, in their own figures (abstracts read).
REEVES: Final = (
    "Reeves and Bruesewitz 2007, N. Am. J. Fish. Manage. 27:443-452: 1,246 walleye caught by "
    "rod and line in Mille Lacs, Minnesota, 2003-2004, held and watched"
)
LYON: Final = (
    "Lyon, Davis, Fincel and Chipps 2022, Lake Reserv. Manage.: 55 walleye caught through the ice "
    "in two Missouri River reservoirs, South Dakota, held 12 to 72 h"
)
MADDEN: Final = (
    "Madden et al. 2024, Can. J. Fish. Aquat. Sci. 81:212-222: 76 walleye with swollen swim "
    "bladders"
)
SITAR: Final = (
    "Sitar, Johnson, He et al. 2017, N. Am. J. Fish. Manage. 37:789-808: tagged lake trout, "
    "Lakes Superior and Huron"
)
LOFTUS: Final = (
    "Loftus, Taylor and Keller 1988, Can. J. Fish. Aquat. Sci. 45: lake trout, Lakes Michigan, "
    "Huron and Superior, 1984-1985"
)
PERSONS: Final = (
    "Persons and Hirsch 1994, N. Am. J. Fish. Manage. 14:664: 96 lake trout through the ice, "
    "Gunflint Lake, Minnesota"
)
PERCH: Final = (
    "J. Fish Wildl. Manage. 10:69 (2019), yellow perch of Ohio's fisheries in Lake Erie: signs of "
    "barotrauma, not deaths"
)
MUSKY: Final = (
    "Trans. Am. Fish. Soc. (2023), muskellunge over 76 cm in ponds at 19.6 to 32.6 degC, 50 "
    "angled, watched two weeks"
)
# what their abstracts say of place and blood, from memory
LOCATION: Final = (
    "Muoneke and Childress 1994, Rev. Fish. Sci. 2:123-156, and Bartholomew and Bohnsack 2005, "
    "Rev. Fish Biol. Fish. 15:129-154: reviews over many fish, fresh and salt water"
)
_SEASONS: Final = f"{REEVES}, May and July to August"
_GUT: Final[tuple[Hook, ...]] = ("throat", "stomach")
VITAL: Final[tuple[Hook, ...]] = ("gill", *_GUT)
"""Where all reviews find that a hook kills."""
_JAW: Final[tuple[Hook, ...]] = ("lip", "mouth")
_NEAR: Final = ("sauger", "saugeye")
_WALLEYE_LIKE: Final = ("walleye", *_NEAR)
_LAKE_TROUT: Final = ("lake trout",)
_SWIM_BLADDER_OPEN: Final = (
    *_LAKE_TROUT,
    "brook trout",
    "brown trout",
    "rainbow trout",
    "cutthroat trout",
    "kokanee",
    "chinook salmon",
    "cisco",
    "lake whitefish",
    "northern pike",
    "muskellunge",
    "tiger muskellunge",
)
_FROM_PERCH: Final = "of perch from 7.6 to 16.8 m (25 to 55 ft), 13 to 74 % showed barotrauma"
_OF_MUSKY: Final = (
    "30 % of angled fish died, against 11 % of those not angled; long time in the net and warm "
    "days before made it worse; below 25 degC (77 degF) earlier work found 0 to 5 %"
)
_LIP_ON_ICE: Final = (
    "under ice: of lip-hooked fish none died, of those hooked inside the mouth 29 %"
)
_LIP: Final = "in the jaw 7 % died; of those hooked inside 71 %"

_OF_WALLEYE: Final = (
    Finding(
        "in July and August, at 20 degC (68 degF) and above, 12.2 % died (95 % interval 9.2 to "
        "15.9)",
        _WALLEYE_LIKE, surface_temp_c=(20.0, math.inf), under_ice=False, worst=1, study=_SEASONS,
    ),
    Finding(
        "losses began to rise above 18 degC (64 degF)",
        _WALLEYE_LIKE, surface_temp_c=(18.0, 20.0), under_ice=False, study=_SEASONS,
    ),
    Finding(
        "in May, below 20 degC (68 degF), none of 204 died (0 to 1.8 %)",
        _WALLEYE_LIKE, surface_temp_c=(-math.inf, 18.0), under_ice=False, study=_SEASONS,
    ),
    Finding(
        "under ice about 5 % died from 10 m (33 ft), and it rose steeply below that",
        _WALLEYE_LIKE, depth_m=(8.0, 10.0), worst=1, study=LYON,
    ),
    Finding(
        "under ice modelled losses rose from 5 % at 10 m (33 ft) to 37 % at 12 m (39 ft)",
        _WALLEYE_LIKE, depth_m=(10.0, _above(12.0)), worst=2, study=LYON,
    ),
    Finding(
        "under ice modelled losses were 37 % at 12 m (39 ft); this fish came from deeper, beyond "
        "the study, with no reason to expect better",
        _WALLEYE_LIKE, depth_m=(_above(12.0), math.inf), worst=2, study=LYON,
    ),
    Finding(
        "no study here covers that depth in open water: warmth will not help it",
        _WALLEYE_LIKE, depth_m=(8.0, math.inf), under_ice=False,
    ),
    Finding(
        "a fish that cannot swim down is no released fish; of the remedies tried, venting by "
        "trained hands did best, and is not allowed everywhere",
        _WALLEYE_LIKE, depth_m=(8.0, math.inf), study=MADDEN,
    ),
    Finding(
        "hooked in throat or stomach: these died more often, small ones above all",
        _WALLEYE_LIKE, hook=_GUT, study=REEVES,
    ),
    Finding(
        "it bled: below 24 degC (75 degF) bleeders died more often",
        _WALLEYE_LIKE, bled=True, study=REEVES,
    ),
    Finding("the studies are of walleye; {fish} is its near relative", _NEAR, says=False),
)  # fmt: skip

_OF_LAKE_TROUT: Final = (
    Finding(
        "surface below 10 degC (50 degF): 15 % died in Superior; Huron's figure, 53 %, is too "
        "uncertain to lean on (standard error 27)",
        _LAKE_TROUT, surface_temp_c=(-math.inf, 10.0), under_ice=False, worst=1, study=SITAR,
    ),
    Finding(
        "surface at 10 to 16 degC (50 to 61 degF): 43 % died in Superior, 45 % in Huron",
        _LAKE_TROUT, surface_temp_c=(10.0, _above(16.0)), under_ice=False, worst=2, study=SITAR,
    ),
    Finding(
        "surface above 16 degC (61 degF): 43 % died in Superior, 76 % in Huron",
        _LAKE_TROUT, surface_temp_c=(_above(16.0), math.inf), under_ice=False, worst=2,
        study=SITAR,
    ),
    Finding(
        "hooked in gill or gut: 36 % died; in the lip none did",
        _LAKE_TROUT, hook=VITAL, under_ice=True, worst=2, study=PERSONS,
    ),
    Finding(
        "hooked inside: 71 % died; in the jaw 7 %",
        _LAKE_TROUT, hook=VITAL, under_ice=False, worst=2, study=LOFTUS,
    ),
    # "mouth" is jaw or inside, not told apart
    Finding(_LIP_ON_ICE, _LAKE_TROUT, hook=("mouth",), under_ice=True, worst=1, study=PERSONS),
    Finding(_LIP_ON_ICE, _LAKE_TROUT, hook=("lip",), under_ice=True, study=PERSONS),
    Finding(_LIP, _LAKE_TROUT, hook=("mouth",), under_ice=False, worst=1, study=LOFTUS),
    Finding(_LIP, _LAKE_TROUT, hook=("lip",), under_ice=False, study=LOFTUS),
)  # fmt: skip

_OF_OTHERS: Final = (
    Finding(_FROM_PERCH, ("yellow perch",), depth_m=(7.6, 12.0), worst=1, study=PERCH),
    Finding(_FROM_PERCH, ("yellow perch",), depth_m=(12.0, math.inf), worst=2, study=PERCH),
    Finding(_OF_MUSKY, ("muskellunge",), surface_temp_c=(19.6, 25.0), worst=1, study=MUSKY),
    Finding(_OF_MUSKY, ("muskellunge",), surface_temp_c=(25.0, math.inf), worst=2, study=MUSKY),
)

_INSIDE: Final = (
    "hooked in the {hook}: in the reviews of many fish, a hook there kills more often than one in "
    "the lip"
)
_NO_STUDY: Final = "no study here says what comes of it; it counts against it"
# Hook and blood each make a fish's chance worse than warmth and depth alone would have it.
_OF_ALL: Final = (
    Finding(hook=VITAL, against=1),
    Finding(_INSIDE, but=(*_WALLEYE_LIKE, *_LAKE_TROUT), hook=_GUT, study=LOCATION),
    Finding(_INSIDE, but=_LAKE_TROUT, hook=("gill",), study=LOCATION),
    Finding(
        "if it goes back, cut the line close: digging the hook out does more harm",
        hook=_GUT, study=LOCATION,
    ),
    Finding(f"hooked in the eye: {_NO_STUDY}", hook=("eye",), against=1),
    Finding(f"hooked outside the mouth: {_NO_STUDY}", hook=("outside",), against=1),
    Finding(
        "hooked in the {hook}: the reviews find fewest deaths with lip and jaw, more inside",
        but=_LAKE_TROUT, hook=_JAW, study=LOCATION,
    ),
    Finding(bled=True, against=1, says=False),
    Finding(
        "it bled: in the reviews bleeding fish die more often",
        but=_WALLEYE_LIKE, bled=True, study=LOCATION,
    ),
    Finding(
        "its swim bladder opens to the gut: it can rid itself of gas if it has time",
        _SWIM_BLADDER_OPEN, depth_m=(9.0, math.inf), says=False,
    ),
    Finding(
        "its swim bladder is closed: from such depth it swells and may not go down",
        but=(*_WALLEYE_LIKE, "yellow perch", *_SWIM_BLADDER_OPEN), depth_m=(9.0, math.inf), least=1,
    ),
)  # fmt: skip

FINDINGS: Final = (*_OF_WALLEYE, *_OF_LAKE_TROUT, *_OF_OTHERS, *_OF_ALL)
"""All findings, in the order in which they are told."""

LOCAL_FIRST: Final = "Your water's rules come first: where they say release, release it."
HOOKS_CAUTION: Final = (
    "Put the rod down before you unhook a fish, use pliers, cover trebles that are not in the "
    "water; a hook in a person past the barb, in a joint or near an eye is for a doctor."
)
DEEP_M: Final = 9.0
HOT_C: Final = 18.0
HURT: Final[tuple[Hook, ...]] = (*VITAL, "eye")
"""Where a hook hurts a fish so that the sentence on it names the place."""

WHERE: Final = {
    "hooked": " hooked in the {hook}",
    "bleeding_too": " and bleeding",
    "bleeding": " that bleed",
    "deep": " from this depth",
    "hot": " in this heat",
}
"""What is said of the fish in the sentence on it."""

SUMMARIES: Final = {
    "unknown": f"No study here fits this {{fish}}; handle it wet and briefly. {LOCAL_FIRST}",
    "poor": (
        "Keep within your limit rather than release {fish}{where}; when you have enough, fish "
        f"elsewhere or for something else. {LOCAL_FIRST}"
    ),
    "fair": (
        "Most {fish} released{where} live, some do not: keep it in the water, be quick, and do "
        f"not sort through fish. {LOCAL_FIRST}"
    ),
    "fair, hurt": (
        "Some {fish}{where} do not live when released: keep it in the water, be quick, and do "
        f"not sort through fish. {LOCAL_FIRST}"
    ),
    "good": f"Release it gently: {{fish}} like this one mostly live. {LOCAL_FIRST}",
}
"""The sentence for each outlook; of two for "fair", the second for a fish that is hurt."""
