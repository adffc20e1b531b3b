"""What is a rig when it is asked: as its marks leave it, where there are any.

Kept light: every quick question comes through here, and most users have no marks.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from towscope.files import home

if TYPE_CHECKING:
    from towscope.tackle.shelf import Shelf
    from towscope.towing.tow import Tow

NAME = "tuning.json"  # as `towscope.tuning.keep`, which costs more to load


def tuned_tow(shelf: Shelf, rig: str) -> Tow:
    """Make a rig ready as its marks leave it.

    Parameters
    ----------
    shelf : Shelf
        The tackle.
    rig : str
        The rig's name.

    Returns
    -------
    Tow
        The rig; as it is stated where no mark tells of it.

    Raises
    ------
    InputError
        Where there is no such rig, or what is kept of the tuning is broken.
    """
    tow = shelf.tow(rig)
    if not (home() / NAME).exists():
        return tow
    from datetime import date

    from towscope.tuning.keep import tuned

    return tuned(tow, rig, shelf.rig(rig).lure, date.today().isoformat())
