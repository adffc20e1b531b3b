"""Passes as GPX routes and tracks, GeoJSON and plain figures, for other programs."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np

from towscope.arrays import Array, Integers
from towscope.passes.figures import TRACK_STEP, PlanFigures
from towscope.passes.marks import globe, mark_words, marks
from towscope.passes.passes import Pass
from towscope.passes.steering import STEP

if TYPE_CHECKING:
    from towscope.geodesy import Place
    from towscope.units import System


CLOSE = 1.5  # [m]; how far a route of few points may leave the boat's way
NOT_FOR_NAVIGATION = "Not for navigation. Local rules come first; keep a lookout."


def few(x: Array, y: Array, keep: Array, close: float = CLOSE) -> Integers:
    """Choose the few points of a way that a helm needs: none of it farther off than so much.

    Parameters
    ----------
    x, y : (n,) array
        The way [m].
    keep : (k,) array of int
        Points to keep in any case.
    close : float
        How far the way may be off the straights between those kept [m].

    Returns
    -------
    (m,) array of int
        The points kept, the ends among them.

    References
    ----------
    Ramer (1972), Computer Graphics and Image Processing 1:244-256.
    """
    chosen = {0, len(x) - 1, *(int(k) for k in keep)}
    fixed = sorted(chosen)
    waiting = list(pairwise(fixed))
    while waiting:
        a, b = waiting.pop()
        if b - a < 2:
            continue
        dx, dy = x[b] - x[a], y[b] - y[a]
        length = float(np.hypot(dx, dy))
        px, py = x[a + 1 : b] - x[a], y[a + 1 : b] - y[a]
        share = np.clip((px * dx + py * dy) / length**2, 0.0, 1.0) if length > 1e-9 else 0.0 * px
        away = np.hypot(px - share * dx, py - share * dy)
        k = int(away.argmax())
        if away[k] > close:
            middle = a + 1 + k
            chosen.add(middle)
            waiting += [(a, middle), (middle, b)]
    return np.array(sorted(chosen), dtype=np.int64)


def to_gpx(passes: list[Pass], place: Place, name: str, system: System) -> str:
    """Write passes as GPX 1.1: for each a route to steer by, and tracks of boat and lure.

    The way round to the next pass is a route of its own. What to do at a place stands in the name
    of its point.

    References
    ----------
    GPX 1.1 Schema Documentation, topografix.com/GPX/1/1 (2004).
    """
    from gpxpy import gpx

    out = gpx.GPX()
    out.creator = "towscope"
    out.name = f"{name}: passes"
    out.description = NOT_FOR_NAVIGATION
    tracks = []
    for number, each in enumerate(passes, 1):
        path = each.trial.path
        todo = marks(each)
        time = each.trial.passage.time - each.trial.passage.time[0]
        spots = {int(np.argmin(np.abs(time - m.time))): m for m in todo}
        index = few(path[:, 0], path[:, 1], np.array(sorted(spots)))
        route = gpx.GPXRoute(
            name=f"pass {number}", description=each.stretch.reason, number=2 * number - 1
        )
        for i, (lat, lon) in zip(index, globe(place, path[index]), strict=True):
            said = mark_words(spots[i], system) if i in spots else None
            route.points.append(gpx.GPXRoutePoint(lat, lon, name=said))
        out.routes.append(route)
        tracks.append((f"pass {number}, boat", path))
        tracks.append((f"pass {number}, lure", each.trial.passage.lure[0]))
        if each.link is None:
            continue
        way = each.link.path
        index = few(way[:, 0], way[:, 1], np.zeros(0), 2.0 * CLOSE)
        turn = gpx.GPXRoute(
            name=f"after pass {number}",
            description=f"turn to {each.link.choice.first} on a radius of "
            f"{system.show(each.link.choice.radius, 'length')}, with "
            f"{system.show(each.link.choice.turn_out, 'length')} of line out, where the water is "
            "clear",
            number=2 * number,
        )
        turn.points = [gpx.GPXRoutePoint(lat, lon) for lat, lon in globe(place, way[index])]
        out.routes.append(turn)
        tracks.append((f"after pass {number}, boat", way))
        tracks.append((f"after pass {number}, lure", each.link.lure))
    for number, (words, path) in enumerate(tracks, 1):
        line = gpx.GPXTrack(name=words, number=number)
        segment = gpx.GPXTrackSegment()
        thin = _thin(path)
        deep = path.shape[1] == 3  # a lure's
        segment.points = [
            gpx.GPXTrackPoint(lat, lon, elevation=round(float(z), 2) if deep else None)
            for (lat, lon), z in zip(globe(place, thin), thin[:, 2], strict=True)
        ]
        line.segments.append(segment)
        line.description = "heights are from the surface of the water" if deep else None
        out.tracks.append(line)
    return str(out.to_xml(version="1.1"))


def to_geojson(passes: list[Pass], place: Place, name: str, figures: PlanFigures) -> dict[str, Any]:
    """Give passes as a GeoJSON FeatureCollection: lines of edge, boat and lure, places of marks.

    References
    ----------
    RFC 7946 (2016): longitude before latitude, WGS 84.
    """
    features: list[dict[str, Any]] = []

    def add(kind: str, which: int, path: Array, **more: Any) -> None:
        line = [[lon, lat] for lat, lon in globe(place, path)]
        geometry = {"type": "LineString", "coordinates": line}
        properties = {"kind": kind, "pass": which, **more}
        features.append({"type": "Feature", "geometry": geometry, "properties": properties})

    for number, each in enumerate(passes, 1):
        facts = figures["passes"][number - 1]
        plain = {k: v for k, v in facts.items() if not isinstance(v, (dict, list))}
        add("edge", number, np.column_stack([each.stretch.x, each.stretch.y]))
        add("boat", number, _thin(each.trial.path), **plain)
        add("lure", number, _thin(each.trial.passage.lure[0]))
        if each.link is not None:
            add("boat round", number, _thin(each.link.path))
            add("lure round", number, _thin(each.link.lure))
        for mark in marks(each):
            ((lat, lon),) = globe(place, np.array([[mark.x, mark.y]]))
            features.append(
                {
                    "type": "Feature",
                    "geometry": {"type": "Point", "coordinates": [lon, lat]},
                    "properties": {
                        "kind": mark.kind,
                        "pass": number,
                        "let_out_m": round(mark.out, 2),
                        "speed_m_s": round(mark.speed, 3),
                        "time_s": round(mark.time, 1),
                    },
                }
            )
    return {"type": "FeatureCollection", "lake": name, "features": features}


def _thin(path: Array) -> Array:
    every = max(round(TRACK_STEP / STEP), 1)
    return np.vstack([path[:-1:every], path[-1:]])
