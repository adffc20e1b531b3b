"""Entries as they stand as GeoJSON points, and the boat's track as a line.

References
----------
RFC 7946 (2016).
"""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from towscope.errors import InputError, one_line
from towscope.journal.events import AnyEvent, read_event
from towscope.journal.places import place_of
from towscope.journal.track import LoggedTrack

if TYPE_CHECKING:
    from towscope.journal.replay import StandingEntries


def to_geojson(journal: StandingEntries, track: LoggedTrack) -> str:
    """Write entries as points and the track as a line, longitude first (RFC 7946).

    An entry without a place gets the boat's at its time, where the track knows it; its properties
    stay as they were entered.
    """
    features: list[dict[str, Any]] = []
    for event in journal.events:
        place = place_of(event, track)
        features.append(
            {
                "type": "Feature",
                "geometry": None
                if place is None
                else {"type": "Point", "coordinates": [round(place[1], 7), round(place[0], 7)]},
                "properties": event.model_dump(mode="json", exclude_none=True),
            }
        )
    if len(track) > 1:
        features.append(
            {
                "type": "Feature",
                "geometry": {
                    "type": "LineString",
                    "coordinates": [
                        [round(x, 7), round(y, 7)]
                        for x, y in zip(track.lon.tolist(), track.lat.tolist(), strict=True)
                    ],
                },
                "properties": {
                    "kind": "track",
                    "from": _iso(track.t_s[0]),
                    "to": _iso(track.t_s[-1]),
                },
            }
        )
    return json.dumps({"type": "FeatureCollection", "features": features}, ensure_ascii=False)


def from_geojson(path: Path) -> list[AnyEvent]:
    """Read the entries back from a file that `to_geojson` wrote.

    Raises
    ------
    InputError
        Where it is not such a file.
    """
    from towscope.files import read_text

    shown = one_line(path.name, 60)
    text = read_text(path, expected="entries as GeoJSON", limit=500_000_000)
    try:
        body = json.loads(text)
        features = body["features"]
        found = [f["properties"] for f in features if f["properties"].get("kind") != "track"]
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        raise InputError(
            f"{shown}: no GeoJSON of a journal; expected a FeatureCollection"
        ) from None
    out: list[AnyEvent] = []
    for number, properties in enumerate(found, 1):
        try:
            out.append(read_event(json.dumps(properties)))
        except InputError as error:
            raise InputError(f"{shown}, feature {number}: {error}") from None
    return out


def _iso(at_s: float) -> str:
    return datetime.fromtimestamp(float(at_s), UTC).isoformat(timespec="milliseconds")
