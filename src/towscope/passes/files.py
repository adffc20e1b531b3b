"""What do other programs get of planned passes: GPX routes and tracks, GeoJSON, plain figures."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from towscope.arrays import Array
from towscope.passes.passes import Pass, read_outs
from towscope.passes.steering import STEP

if TYPE_CHECKING:
    from towscope.geodesy import Place
    from towscope.passes.bottom_risk import Risk
    from towscope.units import System


CLOSE = 1.5  # [m]; how far a route of few points may leave the boat's way
TRACK_STEP = 4.0  # [s]; between points of a track
DIGITS = 7  # of a degree: a centimetre
NOT_FOR_NAVIGATION = "Not for navigation. Local rules come first; keep a lookout."


@dataclass(frozen=True)
class Mark:
    """One thing to do at one place.

    Attributes
    ----------
    far : float
        Distance the boat has run since the beginning of the pass [m].
    time : float
        Seconds since then.
    x, y : float
        Where the boat is [m].
    kind : str
        ``"start"``, ``"line"``, ``"on edge"``, ``"off edge"``, ``"turn"`` or ``"end"``.
    out : float
        Line to have out from here on, as read [m].
    speed : float
        Speed over ground [m/s].
    """

    far: float
    time: float
    x: float
    y: float
    kind: str
    out: float
    speed: float


def marks(each: Pass) -> list[Mark]:
    """Give what is to be done on a pass, in order; the way round is not among it."""
    trial = each.trial
    path, along = trial.path, trial.boat_u
    far = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(path[:, :2], axis=0).T))])
    time = trial.passage.time - trial.passage.time[0]
    out = trial.way.out

    def at(i: int, kind: str) -> Mark:
        value = float(out.on(along[i : i + 1])[0])
        x, y, _, speed = (float(v) for v in path[i])
        return Mark(float(far[i]), float(time[i]), x, y, kind, value, speed)

    found = [at(0, "start")]
    found += [
        at(min(int(np.searchsorted(along, u)), len(along) - 1), "line")
        for u in out.at[1:]
        if u > along[0]
    ]
    mine = np.flatnonzero(each.on_stretch)
    if mine.size:
        found += [at(int(mine[0]), "on edge"), at(int(mine[-1]), "off edge")]
    found.append(at(len(path) - 1, "turn" if each.link is not None else "end"))
    return sorted(found, key=lambda m: m.time)


def few(x: Array, y: Array, keep: Array, close: float = CLOSE) -> npt.NDArray[np.int64]:
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


def to_gpx(passes: list[Pass], place: Place, name: str, system: System, reasons: list[str]) -> str:
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
    for number, (each, reason) in enumerate(zip(passes, reasons, strict=True), 1):
        path = each.trial.path
        todo = marks(each)
        time = each.trial.passage.time - each.trial.passage.time[0]
        spots = {int(np.argmin(np.abs(time - m.time))): m for m in todo}
        index = few(path[:, 0], path[:, 1], np.array(sorted(spots)))
        route = gpx.GPXRoute(name=f"pass {number}", description=reason, number=2 * number - 1)
        for i, (lat, lon) in zip(index, _globe(place, path[index]), strict=True):
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
        turn.points = [gpx.GPXRoutePoint(lat, lon) for lat, lon in _globe(place, way[index])]
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
            for (lat, lon), z in zip(_globe(place, thin), thin[:, 2], strict=True)
        ]
        line.segments.append(segment)
        line.description = "heights are from the surface of the water" if deep else None
        out.tracks.append(line)
    return str(out.to_xml(version="1.1"))


def mark_words(mark: Mark, system: System) -> str:
    """Say what is to be done at a mark."""
    line, speed = system.show(mark.out, "length"), system.show(mark.speed, "speed")
    return {
        "start": f"start: {line} out, {speed}",
        "line": f"line to {line}",
        "on edge": "lure on the edge",
        "off edge": "lure off the edge",
        "turn": "turn",
        "end": "end: lines in",
    }[mark.kind]


def to_geojson(
    passes: list[Pass], place: Place, name: str, figures: dict[str, Any]
) -> dict[str, Any]:
    """Give passes as a GeoJSON FeatureCollection: lines of edge, boat and lure, places of marks.

    References
    ----------
    RFC 7946 (2016): longitude before latitude, WGS 84.
    """
    features: list[dict[str, Any]] = []

    def add(kind: str, which: int, path: Array, **more: Any) -> None:
        line = [[lon, lat] for lat, lon in _globe(place, path)]
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
            ((lat, lon),) = _globe(place, np.array([[mark.x, mark.y]]))
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


def figures(
    passes: list[Pass], place: Place, name: str, reasons: list[str], limit: float
) -> dict[str, Any]:
    """Give all figures of passes in SI."""
    return {
        "lake": name,
        "not_for_navigation": True,
        "risk_limit": limit,
        "passes": [
            _pass(number, each, place, reason, limit)
            for number, (each, reason) in enumerate(zip(passes, reasons, strict=True), 1)
        ],
    }


def _pass(number: int, each: Pass, place: Place, reason: str, limit: float) -> dict[str, Any]:
    trial, stretch = each.trial, each.stretch
    mine = each.on_stretch
    outs = read_outs(trial)
    schedule = []
    for mark in marks(each):
        ((lat, lon),) = _globe(place, np.array([[mark.x, mark.y]]))
        schedule.append(
            {
                "kind": mark.kind,
                "run_m": round(mark.far, 1),
                "time_s": round(mark.time, 1),
                "boat_lat": lat,
                "boat_lon": lon,
                "let_out_m": round(mark.out, 3),
                "speed_m_s": round(mark.speed, 3),
            }
        )
    return {
        "number": number,
        "length_m": round(trial.way.line.length, 1),
        "cut_m": round(each.cut, 1),
        "edge_depth_m": stretch.depth,
        "heading_deg": round(stretch.heading, 1),
        "wind": stretch.against_wind,
        "reason": reason,
        "off_bottom_m": each.clearance,
        "lure_depth_m": list(each.depths),
        "lure_height_m": list(each.heights),
        "lure_off_line_m": trial.astray,
        "line_off_edge_m": stretch.off,
        "edge_known_to_m": stretch.across_sd,
        "share_within_0_3_m": each.within,
        "let_out_m": [float(outs[mine].min()), float(outs[mine].max())],
        "tightest_turn_m": trial.way.tightest,
        "schedule": schedule,
        "risk": _risk(each.risk, place, limit),
        "track": _track(trial.path, trial.passage.lure[0], outs, each.height, place),
        "round": None
        if each.link is None
        else {
            "length_m": each.link.choice.length,
            "radius_m": each.link.choice.radius,
            "first": each.link.choice.first,
            "let_out_m": each.link.choice.turn_out,
            "speed_m_s": each.link.choice.speed,
            "risk": None if each.link_risk is None else _risk(each.link_risk, place, limit),
            "track": _track(each.link.path, each.link.lure, each.link.out, None, place),
        },
    }


def _risk(risk: Risk, place: Place, limit: float) -> dict[str, Any]:
    ((lat, lon),) = _globe(place, np.array([risk.worst]))
    return {
        "safe": risk.safe(limit),
        "bottom_hit": risk.hit,
        "least_off_bottom_m": risk.least[1],
        "interval_90_m": [risk.least[0], risk.least[2]],
        "least_off_bottom_best_m": risk.best,
        "least_off_bottom_at_whole_errors_m": risk.corners,
        "worst_lat": lat,
        "worst_lon": lon,
        "worst_run_m": risk.worst_at,
        "worst_hit": risk.worst_hit,
        "draws": risk.draws,
        "doubts_90_m": dict(risk.doubts),
    }


def _track(
    path: Array, lure: Array, out: Array, height: Array | None, place: Place
) -> dict[str, Any]:
    every = max(round(TRACK_STEP / STEP), 1)
    boat, at = _globe(place, path[::every]), _globe(place, lure[::every])
    return {
        "time_s": (np.arange(len(path))[::every] * STEP).tolist(),
        "boat_lat": [p[0] for p in boat],
        "boat_lon": [p[1] for p in boat],
        "speed_m_s": path[::every, 3].round(3).tolist(),
        "let_out_m": out[::every].round(2).tolist(),
        "lure_lat": [p[0] for p in at],
        "lure_lon": [p[1] for p in at],
        "depth_m": (-lure[::every, 2]).round(2).tolist(),
        "height_m": None if height is None else height[::every].round(2).tolist(),
    }


def _thin(path: Array) -> Array:
    every = max(round(TRACK_STEP / STEP), 1)
    return np.vstack([path[:-1:every], path[-1:]])


def _globe(place: Place, points: Array) -> list[tuple[float, float]]:
    lat, lon = place.to_globe(points[:, 0], points[:, 1])
    return [
        (round(float(a), DIGITS), round(float(b), DIGITS)) for a, b in zip(lat, lon, strict=True)
    ]
