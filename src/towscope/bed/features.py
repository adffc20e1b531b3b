"""Edges, bends, humps and flats at a depth as GeoJSON: ranked, with what is not known."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from typing_extensions import TypedDict

from towscope.arrays import Array
from towscope.bed.bed import LakeBed
from towscope.bed.edges import Edge, edges, profile, smoothed
from towscope.bed.structure import Bend, HumpOrFlat, bends, flats, humps


class Feature(TypedDict):
    """A GeoJSON feature; its ``properties.kind`` says what it is."""

    type: Literal["Feature"]
    geometry: dict[str, Any]
    properties: dict[str, Any]


class Edges(TypedDict):
    """Edges, points, inside turns, humps and flats at a depth: the best first, SI."""

    type: Literal["FeatureCollection"]
    lake: str
    depth_m: float
    edges: int
    edge_length_m: float
    features: list[Feature]


@dataclass(frozen=True)
class Structure:
    """All that was found at one depth.

    Attributes
    ----------
    depth : float
        The depth [m].
    edges : list of Edge
        Edges, the best first.
    bends : list of Bend
        Points and inside turns, the sharpest first.
    humps, flats : list of HumpOrFlat
        The largest first.
    """

    depth: float
    edges: list[Edge]
    bends: list[Bend]
    humps: list[HumpOrFlat]
    flats: list[HumpOrFlat]


def find(bed: LakeBed, depth: float, **options: float) -> Structure:
    """Find everything at a depth.

    Parameters
    ----------
    bed : LakeBed
        The bed.
    depth : float
        The depth [m].
    **options : float
        ``steep`` and ``shortest``, as `towscope.bed.edges.edges` takes them.

    Returns
    -------
    Structure
        What was found.
    """
    flat = smoothed(bed)
    found = edges(bed, depth, surface=flat, **options)
    return Structure(
        depth, found, bends(found), humps(bed, depth, flat), flats(bed, depth, surface=flat)
    )


def geojson(bed: LakeBed, found: Structure, name: str, thin: float = 0.0) -> Edges:
    """Give what was found as one GeoJSON object (RFC 7946: longitude, latitude, WGS 84).

    Parameters
    ----------
    bed : LakeBed
        The bed.
    found : Structure
        What was found on it.
    name : str
        The lake's name.
    thin : float
        How far a line of fewer points may leave the line as found [m]: for a screen.

    Returns
    -------
    Edges
        A FeatureCollection; figures in SI with their units in the keys.
    """
    features = [
        *(_edge(bed, e, k, thin) for k, e in enumerate(found.edges, 1)),
        *(_bend(bed, b) for b in found.bends),
        *(_ground(bed, g, thin) for g in (*found.humps, *found.flats)),
    ]
    return {
        "type": "FeatureCollection",
        "lake": name,
        "depth_m": found.depth,
        "edges": len(found.edges),
        "edge_length_m": float(sum(e.length for e in found.edges)),
        "features": features,
    }


def line_string(bed: LakeBed, x: Array, y: Array, thin: float = 0.0) -> list[list[float]]:
    """Give points of the lake as GeoJSON positions, to a tenth of a metre."""
    if thin > 0.0 and len(x) > 4:
        import shapely

        fewer = shapely.get_coordinates(
            shapely.simplify(shapely.linestrings(x, y), thin, preserve_topology=True)
        )
        if len(fewer) >= 4:  # a ring needs so many
            x, y = fewer[:, 0], fewer[:, 1]
    lat, lon = bed.place.to_globe(x, y)
    return [[round(float(b), 6), round(float(a), 6)] for a, b in zip(lat, lon, strict=True)]


def _edge(bed: LakeBed, edge: Edge, rank: int, thin: float) -> Feature:
    across = profile(bed, edge, 20.0, 4.0)
    return {
        "type": "Feature",
        "geometry": {
            "type": "LineString",
            "coordinates": line_string(bed, edge.x, edge.y, thin),
        },
        "properties": {
            "kind": "edge",
            "rank": rank,
            "depth_m": edge.depth,
            "length_m": edge.length,
            "slope": float(edge.slope.mean()),
            "slope_deg": float(np.degrees(np.arctan(edge.slope.mean()))),
            "depth_20_m_up_m": float(across[0, 1]),
            "depth_20_m_down_m": float(across[-1, 1]),
            "sd_m": float(edge.sd.mean()),
            "across_sd_m": float(np.median(edge.across_sd)),
            "sure": edge.sure,
            "worth_m": edge.worth,
            "closed": edge.closed,
            "deeper_side": "left",
        },
    }


def _bend(bed: LakeBed, bend: Bend) -> Feature:
    position = line_string(bed, np.array([bend.x]), np.array([bend.y]))[0]
    return {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": position},
        "properties": {
            "kind": bend.kind,
            "turn_deg": bend.turn,
            "slope": bend.slope,
            "sd_m": bend.sd,
            "across_sd_m": bend.sd / max(bend.slope, 1e-3),
        },
    }


def _ground(bed: LakeBed, ground: HumpOrFlat, thin: float) -> Feature:
    rings = []
    for k, (x, y) in enumerate(ground.rings):
        # outside rings run anticlockwise, holes clockwise
        turning = float(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1]))
        if (turning > 0.0) != (k == 0):
            x, y = x[::-1], y[::-1]
        rings.append(line_string(bed, x, y, thin))
    lat, lon = bed.place.to_globe([ground.x], [ground.y])
    return {
        "type": "Feature",
        "geometry": {"type": "Polygon", "coordinates": rings},
        "properties": {
            "kind": ground.kind,
            "area_m2": ground.area,
            "top_depth_m": ground.top,
            ("rise_m" if ground.kind == "hump" else "depth_range_m"): ground.rise,
            "latitude": round(float(lat[0]), 6),
            "longitude": round(float(lon[0]), 6),
            "sd_m": ground.sd,
        },
    }
