"""The boat's track as other programs recorded it."""

from __future__ import annotations

from typing import Protocol

import numpy as np

from towscope.arrays import Array
from towscope.errors import InputError
from towscope.journal.track import LoggedTrack, make_track
from towscope.words import counted


class Recorded(Protocol):
    """A recorded track as its one reader gives it (`towscope.boat.read`): good and bad fixes."""

    @property
    def time(self) -> Array: ...  # noqa: D102
    @property
    def first(self) -> Array: ...  # noqa: D102
    @property
    def second(self) -> Array: ...  # noqa: D102
    @property
    def on_globe(self) -> bool: ...  # noqa: D102
    @property
    def dated(self) -> bool: ...  # noqa: D102
    @property
    def notes(self) -> tuple[str, ...]: ...  # noqa: D102
    @property
    def source(self) -> str: ...  # noqa: D102


def track_of(fixes: Recorded, remarks: list[str] | None = None) -> LoggedTrack:
    """Give the boat's track of recorded fixes.

    Parameters
    ----------
    fixes : Recorded
        As read.
    remarks : list of str, optional
        Where to say what was left out.

    Raises
    ------
    InputError
        Where they are metres, say no day, or none has a time and a place.
    """
    if not fixes.on_globe:
        raise InputError(f"{fixes.source} holds metres; expected places as latitude and longitude")
    if not fixes.dated:
        raise InputError(
            f"{fixes.source} does not say its day; expected a track with dates, as a journal has"
        )
    lon = np.where(fixes.second > 180.0, fixes.second - 360.0, fixes.second)
    with np.errstate(invalid="ignore"):
        placed = (np.abs(fixes.first) <= 90.0) & (np.abs(lon) <= 180.0)
    placed &= ~((fixes.first == 0.0) & (lon == 0.0))  # what receivers say before they know
    timed = np.isfinite(fixes.time)
    good = placed & timed
    if not good.any():
        raise InputError(
            f"{fixes.source}: none of its {counted(good.size, 'point')} has a time and a sane place"
        )
    if remarks is not None:
        remarks.extend(fixes.notes)
        if lost := int((~good).sum()):
            remarks.append(
                f"left out {counted(lost, 'point')} of {good.size:,}: no time or no sane place"
            )
    return make_track(fixes.time[good], fixes.first[good], lon[good])
