"""The boat's track as GPX, with catches, bottom hits and sonar marks as waypoints.

References
----------
GPX 1.1 schema, topografix.com (2004).
"""

from __future__ import annotations

from datetime import UTC, datetime
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from towscope.journal.describe import describe
from towscope.journal.places import place_of
from towscope.journal.track import LoggedTrack

if TYPE_CHECKING:
    from towscope.journal.replay import StandingEntries
    from towscope.units import System


def to_gpx(journal: StandingEntries, track: LoggedTrack, system: System) -> str:
    """Write the track, and catches, bottom hits and sonar marks as waypoints, as GPX 1.1."""
    from gpxpy import gpx

    out = gpx.GPX()
    out.creator = "towscope"
    for event in journal.events:
        place = place_of(event, track)
        if place is None or event.kind not in (
            "catch",
            "strike_missed",
            "bottom_hit",
            "sonar_mark",
        ):
            continue
        out.waypoints.append(
            gpx.GPXWaypoint(
                round(place[0], 7),
                round(place[1], 7),
                time=event.at.astimezone(UTC),
                name=describe(event, system)[:60],
                description=event.id,
            )
        )
    if len(track):
        line = gpx.GPXTrack(name=journal.events[0].day if journal.events else None)
        cuts = [0, *(np.flatnonzero(np.diff(track.t_s) > 120) + 1).tolist(), len(track)]
        for a, b in pairwise(cuts):
            segment = gpx.GPXTrackSegment()
            segment.points = [
                gpx.GPXTrackPoint(
                    round(float(track.lat[i]), 7),
                    round(float(track.lon[i]), 7),
                    time=datetime.fromtimestamp(float(track.t_s[i]), UTC),
                )
                for i in range(a, b)
            ]
            line.segments.append(segment)
        out.tracks.append(line)
    return str(out.to_xml(version="1.1"))
