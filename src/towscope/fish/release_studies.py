"""Published release studies matched to a fish: words and ranges on how it fares."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from towscope.errors import InputError, one_line
from towscope.fish.weight import Species
from towscope.retold import retold
from towscope.units import shown_units
from towscope.words.hooks import HOOKS

Outlook = Literal["good", "fair", "poor", "unknown"]


@dataclass(frozen=True)
class ReleaseAdvice:
    """What published work says about letting a fish go.

    Attributes
    ----------
    outlook : str
        "good", "fair", "poor" or "unknown".
    summary : str
        One plain sentence.
    reasons : tuple of str
        What it rests on: figures with their ranges.
    studies : tuple of str
        Which studies, and for which fish, water and season they hold.
    """

    outlook: Outlook
    summary: str
    reasons: tuple[str, ...]
    studies: tuple[str, ...]


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
_GUT: Final = ("throat", "stomach")
_VITAL: Final = ("gill", "throat", "stomach")  # where all reviews find that a hook kills
_SWIM_BLADDER_OPEN: Final = (
    "lake trout",
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
_WALLEYE_LIKE: Final = ("walleye", "sauger", "saugeye")
LOCAL_FIRST: Final = "Your water's rules come first: where they say release, release it."


def release_advice(
    species: Species,
    *,
    depth_m: float | None = None,
    surface_temp_c: float | None = None,
    hook: str | None = None,
    bled: bool | None = None,
    under_ice: bool = False,
) -> ReleaseAdvice:
    """Say what is known about the chances of a fish that is released.

    Parameters
    ----------
    species : Species
        The fish.
    depth_m : float, optional
        How deep it took the lure [m].
    surface_temp_c : float, optional
        Surface temperature [degC].
    hook : str, optional
        "lip", "mouth", "gill", "eye", "throat", "stomach" or "outside".
    bled : bool, optional
        Whether it bled.
    under_ice : bool
        Whether it was caught through the ice.

    Returns
    -------
    ReleaseAdvice
        Words and ranges, never one false number.

    Raises
    ------
    InputError
        Where a figure is impossible or the hook's place unknown.

    References
    ----------
    As named in the advice.

    Examples
    --------
    A walleye from 36 ft, the surface at 74 degF:

    >>> from towscope.fish import find_species
    >>> advice = release_advice(find_species("walleye"), depth_m=11.0, surface_temp_c=23.3)
    >>> advice.outlook
    'poor'
    """
    _check(depth_m, surface_temp_c, hook)
    reasons: list[str] = []
    studies: list[str] = []
    worst = 0  # 0 nothing against it, 1 some loss, 2 heavy loss
    said = False
    if species.name in _WALLEYE_LIKE:
        worst, said = _walleye(depth_m, surface_temp_c, hook, bled, under_ice, reasons, studies)
        if species.name != "walleye":
            reasons.append(f"the studies are of walleye; {species.name} is its near relative")
    elif species.name == "lake trout":
        worst, said = _lake_trout(surface_temp_c, hook, under_ice, reasons, studies)
    elif species.name == "yellow perch" and depth_m is not None and depth_m >= 7.6:
        worst, said = (2 if depth_m >= 12 else 1), True
        reasons.append("of perch from 7.6 to 16.8 m (25 to 55 ft), 13 to 74 % showed barotrauma")
        studies.append(PERCH)
    elif species.name == "muskellunge" and surface_temp_c is not None and surface_temp_c >= 19.6:
        worst, said = (2 if surface_temp_c >= 25 else 1), True
        reasons.append(
            "30 % of angled fish died, against 11 % of those not angled; long time in the net and "
            "warm days before made it worse; below 25 degC (77 degF) earlier work found 0 to 5 %"
        )
        studies.append(MUSKY)
    against, why, by = _hooked(species, hook, bled, reasons)
    said = said or bool(why)
    reasons += why
    studies += [study for study in by if study not in studies]
    # each of the two makes a fish's chance worse than warmth and depth alone would have it
    worst = min(worst + against, 2)
    if (
        depth_m is not None
        and depth_m >= 9
        and species.name not in (*_WALLEYE_LIKE, "yellow perch")
    ):
        if species.name in _SWIM_BLADDER_OPEN:
            reasons.append(
                "its swim bladder opens to the gut: it can rid itself of gas if it has time"
            )
        else:
            worst = max(worst, 1)
            reasons.append(
                "its swim bladder is closed: from such depth it swells and may not go down"
            )
    judged: tuple[Outlook, ...] = ("good", "fair", "poor")
    outlook: Outlook = judged[worst] if said or worst else "unknown"
    return ReleaseAdvice(
        outlook,
        _summary(outlook, species, depth_m, surface_temp_c, hook, bled),
        tuple(retold(reason) for reason in reasons),
        tuple(studies),
    )


def _hooked(
    species: Species, hook: str | None, bled: bool | None, told: list[str]
) -> tuple[int, list[str], list[str]]:
    """Say what the hook's place and blood do: how much they count, why, and by whom."""
    against, why, by = 0, [], []
    studied = any(word in " ".join(told) for word in ("hooked inside", "gill or gut"))
    if hook in _VITAL:
        against = 1
        if not (species.name in _WALLEYE_LIKE and hook in _GUT) and not studied:
            why.append(
                f"hooked in the {hook}: in the reviews of many fish, a hook there kills more often "
                "than one in the lip"
            )
            by.append(LOCATION)
        if hook in _GUT:
            why.append("if it goes back, cut the line close: digging the hook out does more harm")
            by.append(LOCATION)
    elif hook in ("eye", "outside"):
        against = 1
        where = "in the eye" if hook == "eye" else "outside the mouth"
        why.append(f"hooked {where}: no study here says what comes of it; it counts against it")
    elif hook is not None and not any("lip" in r or "jaw" in r for r in told):
        why.append(
            f"hooked in the {hook}: the reviews find fewest deaths with lip and jaw, more inside"
        )
        by.append(LOCATION)
    if bled:
        against += 1
        if not any("bled" in reason for reason in told):
            why.append("it bled: in the reviews bleeding fish die more often")
            by.append(LOCATION)
    return against, why, by


def _check(depth_m: float | None, surface_temp_c: float | None, hook: str | None) -> None:
    shown = shown_units()
    if depth_m is not None and not 0 <= depth_m <= 400:
        most = shown.show(400.0, "length", 0)
        raise InputError(
            f"a fish from {shown.show(depth_m, 'length', 0)} deep; expected 0 to {most}"
        )
    if surface_temp_c is not None and not -2 <= surface_temp_c <= 45:
        low, high = (shown.show(t, "temperature", 0) for t in (-2.0, 45.0))
        raise InputError(
            f"a surface of {shown.show(surface_temp_c, 'temperature', 0)}; expected {low} to {high}"
        )
    if hook is not None and hook not in HOOKS:
        raise InputError(f'hook in the "{one_line(hook, 30)}"; expected {", ".join(HOOKS)}')


def _walleye(
    depth_m: float | None,
    temp_c: float | None,
    hook: str | None,
    bled: bool | None,
    under_ice: bool,
    reasons: list[str],
    studies: list[str],
) -> tuple[int, bool]:
    worst, said = 0, False
    if temp_c is not None and not under_ice:
        said = True
        studies.append(f"{REEVES}, May and July to August")
        if temp_c >= 20:
            worst = 1
            reasons.append(
                "in July and August, at 20 degC (68 degF) and above, 12.2 % died "
                "(95 % interval 9.2 to 15.9)"
            )
        elif temp_c >= 18:
            reasons.append("losses began to rise above 18 degC (64 degF)")
        else:
            reasons.append("in May, below 20 degC (68 degF), none of 204 died (0 to 1.8 %)")
    if depth_m is not None and depth_m >= 8:
        said = True
        studies.append(LYON)
        if depth_m < 10:
            worst = max(worst, 1)
            reasons.append(
                "under ice about 5 % died from 10 m (33 ft), and it rose steeply below that"
            )
        elif depth_m <= 12:
            worst = 2
            reasons.append(
                "under ice modelled losses rose from 5 % at 10 m (33 ft) to 37 % at 12 m (39 ft)"
            )
        else:
            worst = 2
            reasons.append(
                "under ice modelled losses were 37 % at 12 m (39 ft); this fish came from deeper, "
                "beyond the study, with no reason to expect better"
            )
        if not under_ice:
            reasons.append("no study here covers that depth in open water: warmth will not help it")
        reasons.append(
            "a fish that cannot swim down is no released fish; of the remedies tried, venting by "
            "trained hands did best, and is not allowed everywhere"
        )
        studies.append(MADDEN)
    if hook in _GUT:
        said = True
        reasons.append("hooked in throat or stomach: these died more often, small ones above all")
        if REEVES not in " ".join(studies):
            studies.append(REEVES)
    if bled:
        said = True
        reasons.append("it bled: below 24 degC (75 degF) bleeders died more often")
        if REEVES not in " ".join(studies):
            studies.append(REEVES)
    return worst, said


def _lake_trout(
    temp_c: float | None,
    hook: str | None,
    under_ice: bool,
    reasons: list[str],
    studies: list[str],
) -> tuple[int, bool]:
    worst, said = 0, False
    if temp_c is not None and not under_ice:
        said = True
        studies.append(SITAR)
        if temp_c < 10:
            worst = 1
            reasons.append(
                "surface below 10 degC (50 degF): 15 % died in Superior; Huron's figure, 53 %, is "
                "too uncertain to lean on (standard error 27)"
            )
        elif temp_c <= 16:
            worst = 2
            reasons.append(
                "surface at 10 to 16 degC (50 to 61 degF): 43 % died in Superior, 45 % in Huron"
            )
        else:
            worst = 2
            reasons.append("surface above 16 degC (61 degF): 43 % died in Superior, 76 % in Huron")
    if hook in _VITAL:
        worst, said = 2, True
        if under_ice:
            reasons.append("hooked in gill or gut: 36 % died; in the lip none did")
            studies.append(PERSONS)
        else:
            reasons.append("hooked inside: 71 % died; in the jaw 7 %")
            studies.append(LOFTUS)
    elif hook in ("lip", "mouth") and under_ice:
        said = True
        reasons.append(
            "under ice: of lip-hooked fish none died, of those hooked inside the mouth 29 %"
        )
        worst = max(worst, 1 if hook == "mouth" else 0)
        studies.append(PERSONS)
    elif hook in ("lip", "mouth"):
        said = True
        reasons.append("in the jaw 7 % died; of those hooked inside 71 %")
        worst = max(worst, 1 if hook == "mouth" else 0)  # mouth: jaw or inside, not told apart
        studies.append(LOFTUS)
    return worst, said


def _summary(
    outlook: str,
    species: Species,
    depth_m: float | None,
    temp_c: float | None,
    hook: str | None,
    bled: bool | None,
) -> str:
    if outlook == "unknown":
        return f"No study here fits this {species.name}; handle it wet and briefly. {LOCAL_FIRST}"
    deep, hot = depth_m is not None and depth_m >= 9, temp_c is not None and temp_c >= 18
    where = f" hooked in the {hook}" if hook in (*_VITAL, "eye") else ""
    where += (" and bleeding" if where else " that bleed") if bled else ""
    where += " from this depth" if deep else ""
    where += " in this heat" if hot else ""
    if outlook == "poor":
        return (
            f"Keep within your limit rather than release {species.name}{where}; when you have "
            f"enough, fish elsewhere or for something else. {LOCAL_FIRST}"
        )
    if outlook == "fair":
        return (
            f"Most {species.name} released{where} live, some do not: keep it in the water, be "
            f"quick, and do not sort through fish. {LOCAL_FIRST}"
            if not where or not (hook in (*_VITAL, "eye") or bled)
            else f"Some {species.name}{where} do not live when released: keep it in the water, be "
            f"quick, and do not sort through fish. {LOCAL_FIRST}"
        )
    return f"Release it gently: {species.name} like this one mostly live. {LOCAL_FIRST}"


HOOKS_CAUTION: Final = (
    "Put the rod down before you unhook a fish, use pliers, cover trebles that are not in the "
    "water; a hook in a person past the barb, in a joint or near an eye is for a doctor."
)
