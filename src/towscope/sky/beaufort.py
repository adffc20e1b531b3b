"""Beaufort's scale: a wind's force, the waves it makes, and what that means for a small boat."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from towscope.errors import InputError


@dataclass(frozen=True)
class Force:
    """A wind on Beaufort's scale.

    Attributes
    ----------
    number : int
        0 to 8; 8 stands for all above.
    name : str
        Its name.
    from_m_s : float
        Where it begins [m/s].
    water : str
        What open water looks like.
    caution : str
        What it means for a small boat (common practice, no source).
    """

    number: int
    name: str
    from_m_s: float
    water: str
    caution: str


_EASY: Final = (
    "Easy water for most boats, and lines track straight; but wind can build within minutes: keep "
    "an eye on the sky and on the way home."
)
_MIND: Final = (
    "Wind sets the boat over its own lines in every turn; lines track best straight with it or "
    "into it. It can build within minutes: know the lee shore and where shelter is."
)
_HARD: Final = (
    "Hard for a small boat, and waves build along the lake within minutes: stay near shelter, "
    "lines in early; life jackets on, everyone, fastened."
)
_ASHORE: Final = (
    "No water for a small boat with lines out: stay ashore; if out, lines in and to shelter."
)

SCALE: Final = (
    Force(0, "calm", 0.0, "like a mirror", _EASY),
    Force(1, "light air", 0.3, "ripples without crests", _EASY),
    Force(2, "light breeze", 1.6, "small wavelets that do not break", _EASY),
    Force(3, "gentle breeze", 3.4, "large wavelets, here and there a whitecap", _EASY),
    Force(4, "moderate breeze", 5.5, "small waves with many a whitecap", _MIND),
    Force(5, "fresh breeze", 8.0, "moderate waves, whitecaps everywhere, some spray", _HARD),
    Force(6, "strong breeze", 10.8, "large waves with foaming crests, spray", _ASHORE),
    Force(7, "near gale", 13.9, "the water heaps up, foam blown in streaks", _ASHORE),
    Force(8, "gale", 17.2, "high waves, spray that blinds", _ASHORE),
)


def force(wind_m_s: float) -> Force:
    """Give a wind's force and what it does.

    Parameters
    ----------
    wind_m_s : float
        Mean wind some 10 m above the water [m/s].

    Raises
    ------
    InputError
        Where that is no wind.

    References
    ----------
    World Meteorological Organization, Manual on Codes (WMO-No. 306), table 1100: the bounds.

    Examples
    --------
    Eight miles an hour:

    >>> force(8 * 0.44704).name
    'gentle breeze'
    """
    if not 0.0 <= wind_m_s <= 60.0:
        raise InputError(f"a wind of {wind_m_s:g} m/s: expected 0 to 60 m/s")
    return next(f for f in reversed(SCALE) if round(wind_m_s, 1) >= f.from_m_s)
