"""Place of an entry: as entered, else where the boat was."""

from __future__ import annotations

import numpy as np

from towscope.journal.events import AnyEvent
from towscope.journal.track import LoggedTrack


def place_of(event: AnyEvent, track: LoggedTrack) -> tuple[float, float] | None:
    """Give where an entry happened, (lat, lon) [deg]: as entered, else the boat's place then."""
    if event.lat is not None and event.lon is not None:
        return event.lat, event.lon
    if not len(track):
        return None
    i = int(np.clip(np.searchsorted(track.t_s, event.at_s), 1, max(len(track) - 1, 1)))
    i = min(i, len(track) - 1)
    if min(abs(track.t_s[i] - event.at_s), abs(track.t_s[i - 1] - event.at_s)) > 120:
        return None
    return (
        float(np.interp(event.at_s, track.t_s, track.lat)),
        float(np.interp(event.at_s, track.t_s, track.lon)),
    )
