"""A rig as its readings leave it, where there are any.

Kept light: every quick question comes through here, and most users have no readings.
"""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

from towscope import clock
from towscope.files import home
from towscope.journal.times import local_zone

if TYPE_CHECKING:
    from towscope.effort.depths import Depths
    from towscope.tackle.shelf import Shelf
    from towscope.towing.tow import Tow

NAME = "calibration.json"  # as `towscope.calibration.store`, which costs more to load


def calibrated_tow(shelf: Shelf, rig: str, *, calibrated: bool = True) -> Tow:
    """Make a rig ready as its readings leave it.

    Parameters
    ----------
    shelf : Shelf
        The tackle.
    rig : str
        The rig's name.
    calibrated : bool
        Whether its readings count at all.

    Returns
    -------
    Tow
        The rig; as it is stated where no reading tells of it.

    Raises
    ------
    InputError
        Where there is no such rig, or what is kept of the calibration is broken.
    """
    tow = shelf.tow(rig)
    if not (calibrated and (home() / NAME).exists()):
        return tow

    from towscope.calibration import store

    return store.calibrated(
        tow, rig, shelf.rig(rig).lure, clock.now(local_zone()[0]).date().isoformat()
    )


def told_of() -> frozenset[str]:
    """Give what readings told something of: "line:thin-core-18", "lure:small-minnow"."""
    if not (home() / NAME).exists():
        return frozenset()

    from towscope.calibration import store

    kept = store.load()
    return kept.told if kept is not None else frozenset()


def depths_of(shelf: Shelf) -> Depths:
    """Give the engine as the journal's effort asks it, with every rig as its readings leave it.

    Parameters
    ----------
    shelf : Shelf
        The tackle.
    """
    from towscope.effort.depths import Depths

    return Depths(shelf, calibrated_tow, fingerprint())


def fingerprint() -> str:
    """Give a short text that changes when what is kept of the calibration does; "" without any."""
    try:
        return hashlib.sha256((home() / NAME).read_bytes()).hexdigest()[:16]
    except OSError:
        return ""
