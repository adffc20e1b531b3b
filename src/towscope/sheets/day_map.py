"""The day's map: the boat's way by water depth, on a plane that touches the lake at the middle."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, NamedTuple, TypeVar

import numpy as np

from towscope.arrays import Array
from towscope.journal.track import EARTH_RADIUS_M
from towscope.sheets.drawing import DrawnSpot, drawn
from towscope.units import parse

if TYPE_CHECKING:
    import numpy.typing as npt

    from towscope.effort.effort import FishedWay
    from towscope.journal.replay import LineSpan
    from towscope.journal.track import LoggedTrack
    from towscope.units import System

_SHALLOW: Final = (198, 224, 236)
_DEEP: Final = (12, 62, 107)
_UNKNOWN: Final = "#5b6d77"
_SHADES: Final = 8
_STEP_S, _GAP_S = 4, 120
_LOWEST, _TALLEST = 300.0, 560.0  # heights of the frame [px]
_DEGREE_M: Final = math.pi / 180 * EARTH_RADIUS_M
_NAMES: Final = {
    "catch": "fish",
    "strike_missed": "missed strike",
    "bottom_hit": "bottom hit",
    "sonar_mark": "sonar mark",
}
_LETTER: Final = 6.6  # width of a letter of the legend [px]
_Degrees = TypeVar("_Degrees", float, Array)


def day_map(
    way: FishedWay,
    spans: Sequence[LineSpan],
    spots: Sequence[DrawnSpot],
    system: System,
    width: float = 760.0,
) -> str | None:
    """Draw the boat's way by water depth, with fish, misses and bottom hits.

    Parameters
    ----------
    way : FishedWay
        The boat's way.
    spans : sequence of LineSpan
        When lines were out: the map shows where that was.
    spots : sequence of DrawnSpot
        What to show.
    system : System
        Units.
    width : float
        Width of the drawing [px].

    Returns
    -------
    str or None
        SVG; None where there is no track.
    """
    track = way.track
    if len(track) < 2:
        return None
    fished = _fished(way, spans)
    frame = _framed(track, fished, width)
    depths = _depths(track.depth_m[fished])
    legend = _legend((10.0, width - 10.0), frame.foot + 22, spots, depths, system, way)
    bottom = legend[-1].y if legend else frame.foot + 22
    return drawn(
        "day_map",
        "Map of the day",
        (width, bottom + 14),
        frame=frame,
        stretches=_stretches(track, fished, frame, depths),
        spots=[
            (spot, *frame.at(spot.lat, spot.lon))
            for spot in sorted(spots, key=lambda s: s.kind == "catch")
            if spot.lat is not None and spot.lon is not None
        ],
        bar=_scale_bar(frame.scale, system),
        legend=legend,
        shades=[_shade(i) for i in range(_SHADES)],
    )


def _fished(way: FishedWay, spans: Sequence[LineSpan]) -> npt.NDArray[np.bool_]:
    """Tell where lines were out and the boat did not run; all of the way where that is nowhere."""
    t = way.track.t_s
    fished = np.zeros(len(t), dtype=bool)
    for line in spans:
        fished |= (t >= line.start_s) & (t <= line.end_s)
    for a, b in way.running:
        fished &= (t < a) | (t > b)
    return fished if fished.any() else np.ones(len(t), dtype=bool)


@dataclass(frozen=True)
class _MapFrame:
    """Where a place lies on the drawing; `middle` is east and north [m], `scale` in px/m."""

    width: float
    height: float
    scale: float
    middle: tuple[float, float]
    narrowing: float  # of a degree of longitude beside one of latitude

    @property
    def inner(self) -> float:
        """Width within the frame [px]."""
        return self.width - 20

    @property
    def foot(self) -> float:
        """Where its lower edge lies [px]."""
        return 10 + self.height

    def at(self, lat: _Degrees, lon: _Degrees) -> tuple[_Degrees, _Degrees]:
        """Give across and down [px]."""
        x = self.width / 2 + (lon * _DEGREE_M * self.narrowing - self.middle[0]) * self.scale
        return x, 10 + self.height / 2 - (lat * _DEGREE_M - self.middle[1]) * self.scale


def _framed(track: LoggedTrack, fished: npt.NDArray[np.bool_], width: float) -> _MapFrame:
    # the run from and to the ramp may be long: the map shows where was fished, with some room
    lat, lon = track.lat[fished], track.lon[fished]
    narrowing = math.cos(math.radians(float(np.median(lat))))
    east, north = lon * _DEGREE_M * narrowing, lat * _DEGREE_M
    low = np.array([east.min(), north.min()])
    high = np.array([east.max(), north.max()])
    room = max(0.12 * float((high - low).max()), 60.0)
    low, high = low - room, high + room
    span = np.maximum(high - low, 1.0)
    scale = float(min((width - 20) / span[0], _TALLEST / span[1]))
    height = min(max(float(span[1]) * scale, _LOWEST), _TALLEST)
    east_m, north_m = ((low + high) / 2).tolist()
    return _MapFrame(width, height, scale, (east_m, north_m), narrowing)


def _depths(depth: Array) -> tuple[float, float] | None:
    """Give the depths that are palest and darkest [m]; None where none is known."""
    known = depth[np.isfinite(depth)]
    if not known.size:
        return None
    shallow, deep = (float(np.quantile(known, q)) for q in (0.02, 0.98))
    return shallow, max(deep, shallow + 0.5)


def _stretches(
    track: LoggedTrack,
    fished: npt.NDArray[np.bool_],
    frame: _MapFrame,
    depths: tuple[float, float] | None,
) -> Iterator[tuple[list[tuple[float, float]], str]]:
    """Cut the way where its shade changes: points [px], and the shade; "" where none fished."""
    order = np.flatnonzero(np.diff(np.concatenate(([-1.0], track.t_s // _STEP_S))) > 0)
    x, y = frame.at(track.lat[order], track.lon[order])
    keep = fished[order]
    gap = np.diff(track.t_s[order], prepend=track.t_s[order[0]]) > _GAP_S
    level = np.full(order.size, -1)
    if depths is not None:
        share = (track.depth_m[order] - depths[0]) / (depths[1] - depths[0])
        steps = np.clip(np.nan_to_num(share) * _SHADES, 0, _SHADES - 1)
        level = np.where(np.isfinite(share), steps, -1).astype(int)
    start = 0
    for i in range(1, order.size + 1):
        ended = i == order.size or gap[i] or keep[i] != keep[start] or level[i] != level[start]
        if not ended:
            continue
        # on to the next stretch's first point, so that they meet
        last = i if i < order.size and not gap[i] else i - 1
        if last > start:
            points = list(zip(x[start : last + 1], y[start : last + 1], strict=True))
            yield points, _shade(int(level[start])) if keep[start] else ""
        start = i


def _shade(level: int) -> str:
    if level < 0:
        return _UNKNOWN
    share = level / (_SHADES - 1)
    mixed = (a + (b - a) * share for a, b in zip(_SHALLOW, _DEEP, strict=True))
    return "#" + "".join(f"{round(v):02x}" for v in mixed)


class _ScaleBar(NamedTuple):
    long: float  # [px]
    words: str


def _scale_bar(scale: float, system: System) -> _ScaleBar:
    near, far = ("ft", "mi") if system.name.startswith("us") else ("m", "km")
    unit = near if 130 / scale < parse(f"0.5 {far}", "length") else far
    unit_m = parse(f"1 {unit}", "length")
    wanted = 130 / scale / unit_m
    size = 10 ** math.floor(math.log10(wanted))
    size *= next(f for f in (5, 2, 1) if f * size <= wanted)
    return _ScaleBar(size * unit_m * scale, f"{size:,g} {unit}")


class _Key(NamedTuple):
    """A word of the legend, with what it tells of: a kind of mark, "running" or "depth"."""

    kind: str
    x: float
    y: float
    words: str


def _legend(
    room: tuple[float, float],
    y: float,
    spots: Sequence[DrawnSpot],
    depths: tuple[float, float] | None,
    system: System,
    way: FishedWay,
) -> list[_Key]:
    """Set the legend from left to right, in rows within the room [px]."""
    keys: list[_Key] = []
    left, right = room
    x = left

    def put(kind: str, wide: float, words: str) -> None:
        nonlocal x, y
        if x > left and x + wide > right:
            x, y = left, y + 20.0
        keys.append(_Key(kind, x, y, words))
        x += wide

    for kind, name in _NAMES.items():
        if any(spot.kind == kind for spot in spots):
            put(kind, 32 + _LETTER * len(name), name)
    if way.running:
        put("running", 90.0, "running")
    if depths is not None:
        words = f"water {system.range(*depths, 'length', 0)} deep"
        put("depth", 110.0 + _LETTER * len(words), words)
    return keys
