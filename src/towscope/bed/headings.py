"""Headings of a table or layer matched by word: which means depth, in which unit, which way up."""

from __future__ import annotations

import re

from towscope.bed.soundings import Says, unit_named
from towscope.errors import InputError, one_line
from towscope.formats.table import heading

DEPTH = ("depth", "dpt", "sounding", "water_depth", "bottom_depth", "dbs", "dbt")
UNCLEAR = ("z", "bottom", "bed")  # a depth or a height
HEIGHT = ("elevation", "elev", "height", "altitude")
_NAMES = (*DEPTH, *UNCLEAR, *HEIGHT)


def depth_name(name: str) -> tuple[bool, str | None]:
    """Tell whether a heading means depth, and in which unit if it says so.

    >>> depth_name("Depth (ft)"), depth_name("DEPTHM"), depth_name("station")
    ((True, 'ft'), (True, 'm'), (False, None))
    """
    plain = heading(name)
    if plain in _NAMES:
        return True, None
    head, _, tail = plain.rpartition("_")
    unit = unit_named(tail)
    if head in _NAMES and unit:
        return True, unit
    match = re.fullmatch(r"(depth|depthin|depth_in_?)(m|ft|feet|meters|metres|fathoms)", plain)
    return (True, unit_named(match[2])) if match else (False, None)


def says(name: str) -> Says:
    """Give what a heading says its figures are.

    >>> says("DEPTH_M"), says("elev_ft"), says("z")
    ('depth', 'height', 'unclear')
    """
    plain = heading(name)
    if plain.startswith("depth") or _stem(plain) in DEPTH:
        return "depth"
    return "height" if _stem(plain) in HEIGHT else "unclear"


def likeliest(names: list[str], unit: str | None = None) -> int | None:
    """Give which of some headings is the depth: one that says its unit before one that does not.

    Parameters
    ----------
    names : list of str
        The headings.
    unit : str, optional
        The unit that the user names: a heading of another unit comes last.

    Examples
    --------
    >>> likeliest(["DEPTH", "DEPTH_M", "z"]), likeliest(["DEPTH", "DEPTH_M", "z"], "ft")
    (1, 0)
    """

    def rank(k: int) -> tuple[bool, int, int]:
        own = depth_name(names[k])[1]
        told = 0 if own is not None and own == (unit or own) else 1 if own is None else 2
        return says(names[k]) != "depth", told, k

    fits = [k for k, name in enumerate(names) if depth_name(name)[0]]
    return min(fits, key=rank) if fits else None


def unit_of(name: str, asked: str | None, source: str) -> str | None:
    """Give the unit of a column: the user's, else what its heading says; refuse if they differ.

    Raises
    ------
    InputError
        Where the heading says another unit than the user.
    """
    own = depth_name(name)[1]
    if asked is not None and own is not None and own != asked:
        raise InputError(
            f'{source}: its "{one_line(name, 30)}" says {own} and --depth-unit says {asked}; '
            "expected the same (or name another column: --columns depth=NAME)"
        )
    return asked or own


def _stem(plain: str) -> str:
    head, _, tail = plain.rpartition("_")
    return head if head and unit_named(tail) else plain
