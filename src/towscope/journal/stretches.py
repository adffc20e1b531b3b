"""The boat's track cut into stretches that load quickly, packed for the store."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta, tzinfo
from itertools import pairwise
from typing import Any, Final

import numpy as np

from towscope.journal.times import begin_of, day_at
from towscope.journal.track import LoggedTrack, block_name, encode

STRETCH_S: Final = 1800.0  # longest stretch of track in one block [s]
GAP_S: Final = 300.0  # a gap this long begins a new stretch [s]


def cut(track: LoggedTrack, zone: tzinfo) -> Iterator[tuple[str, LoggedTrack]]:
    """Cut a track where days on the water part, at gaps, and into stretches that load quickly."""
    t = track.t_s
    if not t.size:
        return
    cuts = {0, int(t.size), *(int(i) + 1 for i in np.flatnonzero(np.diff(t) > GAP_S))}
    # whole half hours of the clock: the same points give the same blocks wherever a file begins
    cuts |= {int(i) + 1 for i in np.flatnonzero(np.diff(np.floor(t / STRETCH_S)))}
    first = day_at(datetime.fromtimestamp(float(t[0]), zone))
    last = day_at(datetime.fromtimestamp(float(t[-1]), zone))
    for n in range(1, (last - first).days + 1):
        parts = begin_of(first + timedelta(days=n), zone)
        cuts.add(int(np.searchsorted(t, parts.timestamp(), side="left")))
    edges = sorted(cuts)
    for a, b in pairwise(edges):
        day = day_at(datetime.fromtimestamp(float(t[a]), zone)).isoformat()
        yield day, LoggedTrack(*(column[a:b] for column in track.columns))


def packed(
    pieces: Iterable[tuple[str, str, LoggedTrack]],
) -> list[tuple[dict[str, Any], bytes]]:
    """Pack stretches (device, day, points) as rows of the store, each with its block."""
    parts: list[tuple[dict[str, Any], bytes]] = []
    for device, day, piece in pieces:
        data = encode(piece)
        start, end = (round(float(t) * 1e6) for t in (piece.t_s[0], piece.t_s[-1]))
        row = {
            "id": block_name(device, data),
            "device": device,
            "day": day,
            "start_us": start,
            "end_us": end,
            "points": len(piece),
        }
        parts.append((row, data))
    return parts
