"""Published release studies matched to a fish: words and ranges on how it fares."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from towscope.errors import InputError, one_line
from towscope.fish.findings import (
    DEEP_M,
    FINDINGS,
    HOOKS_CAUTION,
    HOT_C,
    HURT,
    LOCAL_FIRST,
    SUMMARIES,
    WHERE,
    Finding,
    Range,
)
from towscope.fish.weight import Species
from towscope.retold import retold
from towscope.units import shown_units
from towscope.words.hooks import HOOKS

__all__ = ["HOOKS_CAUTION", "LOCAL_FIRST", "Outlook", "ReleaseAdvice", "release_advice"]

Outlook = Literal["good", "fair", "poor", "unknown"]
_JUDGED: Final[tuple[Outlook, ...]] = ("good", "fair", "poor")


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


@dataclass(frozen=True)
class _Caught:
    """A fish as it was caught; None for what is not known."""

    name: str
    depth_m: float | None
    surface_temp_c: float | None
    hook: str | None
    bled: bool
    under_ice: bool

    def meets(self, one: Finding) -> bool:
        """Say whether a finding is about this fish."""
        return (
            (not one.fish or self.name in one.fish)
            and self.name not in one.but
            and _within(self.depth_m, one.depth_m)
            and _within(self.surface_temp_c, one.surface_temp_c)
            and (not one.hook or self.hook in one.hook)
            and one.bled in (None, self.bled)
            and one.under_ice in (None, self.under_ice)
        )


def _within(figure: float | None, wanted: Range | None) -> bool:
    return wanted is None or (figure is not None and wanted[0] <= figure < wanted[1])


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
    As named in the advice; all findings are in `towscope.fish.findings`.

    Examples
    --------
    A walleye from 36 ft, the surface at 74 degF:

    >>> from towscope.fish import find_species
    >>> advice = release_advice(find_species("walleye"), depth_m=11.0, surface_temp_c=23.3)
    >>> advice.outlook
    'poor'
    """
    _check(depth_m, surface_temp_c, hook)
    fish = _Caught(species.name, depth_m, surface_temp_c, hook, bool(bled), under_ice)
    found = [one for one in FINDINGS if fish.meets(one)]
    worst = max((one.worst for one in found), default=0) + sum(one.against for one in found)
    worst = max(min(worst, 2), max((one.least for one in found), default=0))
    known = worst > 0 or any(one.says for one in found)
    outlook = _JUDGED[worst] if known else "unknown"
    studies: list[str] = []
    for one in found:
        # a study that is named with its seasons is not named again without them
        if one.study and not any(other.startswith(one.study) for other in studies):
            studies.append(one.study)
    reasons = (one.reason.format(hook=hook, fish=fish.name) for one in found if one.reason)
    return ReleaseAdvice(
        outlook, _summary(outlook, fish), tuple(retold(each) for each in reasons), tuple(studies)
    )


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


def _summary(outlook: Outlook, fish: _Caught) -> str:
    hurt = fish.hook in HURT
    where = WHERE["hooked"].format(hook=fish.hook) if hurt else ""
    if fish.bled:
        where += WHERE["bleeding_too" if hurt else "bleeding"]
    if fish.depth_m is not None and fish.depth_m >= DEEP_M:
        where += WHERE["deep"]
    if fish.surface_temp_c is not None and fish.surface_temp_c >= HOT_C:
        where += WHERE["hot"]
    kind = "fair, hurt" if outlook == "fair" and (hurt or fish.bled) else outlook
    return SUMMARIES[kind].format(fish=fish.name, where=where)
