"""The day's map and timeline, drawn as SVG for page and screen."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from html import escape
from typing import TYPE_CHECKING, Final

import numpy as np

from towscope.journal.replay import Weather
from towscope.journal.track import EARTH_RADIUS_M
from towscope.sheets.rodmarks import svg
from towscope.units import parse
from towscope.words import looks

if TYPE_CHECKING:
    from towscope.effort.effort import FishedWay
    from towscope.journal.replay import LineSpan
    from towscope.units import System

# Okabe and Ito (2008), "Color Universal Design": eight colours told apart by nearly all eyes.
COLOURS: Final = ("#0072B2", "#E69F00", "#009E73", "#CC79A7", "#56B4E9", "#D55E00", "#999999")
_FISH: Final = "#8a1a63"  # red is the alarm, and the port side
_INK: Final = "#1b2a33"
_FAINT: Final = "#c9d3d9"
_FONT: Final = 'font-family="DejaVu Sans, sans-serif"'
_SHALLOW: Final = (198, 224, 236)
_DEEP: Final = (12, 62, 107)


@dataclass(frozen=True)
class DrawnSpot:
    """Something to show on map and timeline.

    Attributes
    ----------
    kind : str
        "catch", "strike_missed", "bottom_hit" or "sonar_mark".
    at_s : float
        Unix time [s].
    rod : str
        The rod; "" for none.
    number : int
        Its number in the table of catches; 0 for none.
    lat, lon : float or None
        Where [deg].
    """

    kind: str
    at_s: float
    rod: str
    number: int
    lat: float | None
    lon: float | None


def _text(
    x: float, y: float, words: str, size: float = 11, anchor: str = "start", **more: str
) -> str:
    extra = "".join(f' {key.replace("_", "-")}="{value}"' for key, value in more.items())
    fill = "" if "fill" in more else f' fill="{_INK}"'
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" text-anchor="{anchor}" {_FONT}{fill}'
        f"{extra}>{escape(words)}</text>"
    )


def _svg(width: float, height: float, title: str, parts: Sequence[str]) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.0f} {height:.0f}" '
        f'width="{width:.0f}" height="{height:.0f}" role="img" aria-label="{escape(title)}">'
        f"<title>{escape(title)}</title>{''.join(parts)}</svg>"
    )


def marker(kind: str, x: float, y: float, number: int = 0, radius: float = 8.0) -> str:
    """Draw one mark: a numbered disc for a fish, a ring for a miss, a wedge for a bottom hit."""
    if kind == "catch":
        disc = (
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:g}" fill="{_FISH}" stroke="#fff" '
            'stroke-width="1.2"/>'
        )
        size = 10 if number < 10 else 8.5
        label = _text(
            x, y + size * 0.36, str(number), size, "middle", fill="#fff", font_weight="bold"
        )
        return disc + (label if number else "")
    if kind == "strike_missed":
        return (
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius * 0.6:.1f}" fill="#fff" '
            f'stroke="{_FISH}" stroke-width="1.6"/>'
        )
    if kind == "bottom_hit":
        r = radius * 0.75
        return (
            f'<path d="M{x - r:.1f} {y - r * 0.7:.1f} L{x + r:.1f} {y - r * 0.7:.1f} L{x:.1f} '
            f'{y + r:.1f} Z" fill="{_INK}" stroke="#fff" stroke-width="1"/>'
        )
    r = radius * 0.6
    return (
        f'<rect x="{x - r:.1f}" y="{y - r:.1f}" width="{2 * r:.1f}" height="{2 * r:.1f}" '
        f'fill="#fff" stroke="{_INK}" stroke-width="1.4" transform="rotate(45 {x:.1f} {y:.1f})"/>'
    )


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
    fished = np.zeros(len(track), dtype=bool)
    for line in spans:
        fished |= (track.t_s >= line.start_s) & (track.t_s <= line.end_s)
    for a, b in way.running:
        fished &= (track.t_s < a) | (track.t_s > b)
    if not fished.any():
        fished[:] = True
    # the run from and to the ramp may be long: the map shows where was fished, with some room
    lat0 = math.radians(float(np.median(track.lat[fished])))
    k = math.pi / 180 * EARTH_RADIUS_M
    east, north = track.lon * k * math.cos(lat0), track.lat * k
    low = np.array([east[fished].min(), north[fished].min()])
    high = np.array([east[fished].max(), north[fished].max()])
    room = max(0.12 * float((high - low).max()), 60.0)
    low, high = low - room, high + room
    span = np.maximum(high - low, 1.0)
    inner = width - 20
    scale = min(inner / span[0], 560.0 / span[1])
    height = min(max(span[1] * scale, 300.0), 560.0)
    middle = (low + high) / 2

    def at(x: float, y: float) -> tuple[float, float]:
        return width / 2 + (x - middle[0]) * scale, 10 + height / 2 - (y - middle[1]) * scale

    parts = [
        f'<clipPath id="frame"><rect x="10" y="10" width="{inner:.1f}" height="{height:.1f}"/>'
        "</clipPath>",
        f'<rect x="10" y="10" width="{inner:.1f}" height="{height:.1f}" fill="#f4f8fa" '
        f'stroke="{_FAINT}"/>',
        '<g clip-path="url(#frame)">',
    ]
    depth = track.depth_m
    known = depth[fished & np.isfinite(depth)]
    shallow, deep = (
        (float(np.quantile(known, 0.02)), float(np.quantile(known, 0.98))) if known.size else (0, 0)
    )
    if deep - shallow < 0.5:
        deep = shallow + 0.5
    order = np.flatnonzero(np.diff(np.concatenate(([-1.0], track.t_s // 4))) > 0)
    px = width / 2 + (east[order] - middle[0]) * scale
    py = 10 + height / 2 - (north[order] - middle[1]) * scale
    keep = fished[order]
    gap = np.diff(track.t_s[order], prepend=track.t_s[order[0]]) > 120
    level = np.full(order.size, -1)
    if known.size:
        share = (depth[order] - shallow) / (deep - shallow)
        level = np.where(np.isfinite(share), np.clip(np.nan_to_num(share) * 8, 0, 7), -1).astype(
            int
        )
    start = 0
    for i in range(1, order.size + 1):
        ended = i == order.size or gap[i] or keep[i] != keep[start] or level[i] != level[start]
        if not ended:
            continue
        last = i if i < order.size and not gap[i] else i - 1
        points = " ".join(f"{px[j]:.1f},{py[j]:.1f}" for j in range(start, last + 1))
        style = (
            f'stroke="{_shade(level[start] / 7)}" stroke-width="2.6"'
            if keep[start]
            else 'stroke="#9aa7ae" stroke-width="1.1" stroke-dasharray="5 4"'
        )
        if last > start:
            parts.append(
                f'<polyline points="{points}" fill="none" {style} stroke-linejoin="round"/>'
            )
        start = i
    for spot in sorted(spots, key=lambda s: s.kind == "catch"):
        if spot.lat is not None and spot.lon is not None:
            x, y = at(spot.lon * k * math.cos(lat0), spot.lat * k)
            parts.append(marker(spot.kind, x, y, spot.number))
    parts.append("</g>")
    parts.extend(_scale_bar(18, 10 + height - 14, scale, system))
    parts.append(_north(width - 30, 44))
    bottom = 10 + height + 22
    depths = (shallow, deep) if known.size else None
    legend, bottom = _legend((10.0, width - 10.0), bottom, spots, depths, system, way)
    return _svg(width, bottom + 14, "Map of the day", parts + legend)


def _shade(share: float) -> str:
    if share < 0:
        return "#5b6d77"
    mixed = (a + (b - a) * share for a, b in zip(_SHALLOW, _DEEP, strict=True))
    return "#" + "".join(f"{round(v):02x}" for v in mixed)


def _scale_bar(x: float, y: float, scale: float, system: System) -> list[str]:
    near, far = ("ft", "mi") if system.name.startswith("us") else ("m", "km")
    unit = near if 130 / scale < parse(f"0.5 {far}", "length") else far
    unit_m = parse(f"1 {unit}", "length")
    wanted = 130 / scale / unit_m
    size = 10 ** math.floor(math.log10(wanted))
    size *= next(f for f in (5, 2, 1) if f * size <= wanted)
    long = size * unit_m * scale
    return [
        f'<path d="M{x:.1f} {y - 5:.1f} v5 h{long:.1f} v-5" fill="none" stroke="{_INK}" '
        'stroke-width="1.4"/>',
        _text(x + long + 6, y, f"{size:,g} {unit}", 10.5),
    ]


def _north(x: float, y: float) -> str:
    return f'<path d="M{x:.1f} {y - 20:.1f} l6 18 l-6 -4 l-6 4 Z" fill="{_INK}"/>' + _text(
        x, y + 10, "N", 10.5, "middle"
    )


def _legend(
    room: tuple[float, float],
    y: float,
    spots: Sequence[DrawnSpot],
    depths: tuple[float, float] | None,
    system: System,
    way: FishedWay,
) -> tuple[list[str], float]:
    """Give the legend in the room from left to right [px], and where its last row stands."""
    parts: list[str] = []
    left, right = room
    x = left

    def begin(wide: float) -> float:
        nonlocal x, y
        if x > left and x + wide > right:
            x, y = left, y + 20.0
        at, x = x, x + wide
        return at

    names = {
        "catch": "fish",
        "strike_missed": "missed strike",
        "bottom_hit": "bottom hit",
        "sonar_mark": "sonar mark",
    }
    for kind, name in names.items():
        if any(spot.kind == kind for spot in spots):
            at = begin(32 + 6.6 * len(name))
            parts.append(marker(kind, at + 7, y - 4, 0, 7))
            parts.append(_text(at + 18, y, name, 10.5))
    if way.running:
        at = begin(90.0)
        parts.append(
            f'<path d="M{at:.1f} {y - 4:.1f} h24" stroke="#9aa7ae" stroke-width="1.2" '
            'stroke-dasharray="5 4"/>'
        )
        parts.append(_text(at + 30, y, "running", 10.5))
    if depths is not None:
        words = f"water {system.range(depths[0], depths[1], 'length', 0)} deep"
        at = begin(110.0 + 6.6 * len(words))
        parts.extend(
            f'<rect x="{at + i * 13:.1f}" y="{y - 10:.1f}" width="13" height="9" '
            f'fill="{_shade(i / 7)}"/>'
            for i in range(8)
        )
        parts.append(_text(at + 110, y, words, 10.5))
    return parts, y


def timeline(
    spans: Sequence[LineSpan],
    spots: Sequence[DrawnSpot],
    skies: Sequence[tuple[float, Weather]],
    running: Sequence[tuple[float, float]],
    zone: tzinfo | None,
    system: System,
    width: float = 760.0,
) -> str | None:
    """Draw what each rod had out and when, with fish, sky and running between spots.

    Parameters
    ----------
    spans : sequence of LineSpan
        What was out.
    spots : sequence of DrawnSpot
        What to show.
    skies : sequence of (float, Weather)
        Sky and water from each time [s] on.
    running : sequence of (float, float)
        When the boat ran, unix time [s].
    zone : tzinfo or None
        For the hours along the foot.
    system : System
        Units.
    width : float
        Width of the drawing [px].
    """
    times = [t for span in spans for t in (span.start_s, span.end_s)]
    times += [spot.at_s for spot in spots] + [at for at, _ in skies]
    if not times or max(times) - min(times) < 60:
        return None
    first, last = min(times), max(times)
    first, last = first - 0.01 * (last - first), last + 0.01 * (last - first)
    left, right = 94.0, width - 10
    per = (right - left) / (last - first)

    def at(t: float) -> float:
        return left + (min(max(t, first), last) - first) * per

    rods = list(dict.fromkeys(span.rod for span in spans))
    drawn = looks(rods)
    row, top = 40.0, 34.0
    bottom = top + row * len(rods)
    parts: list[str] = []
    for a, b in running:
        if b > first and a < last:
            parts.append(
                f'<rect x="{at(a):.1f}" y="{top - 6:.1f}" width="{at(b) - at(a):.1f}" '
                f'height="{bottom - top + 6:.1f}" fill="#e9edf0"/>'
            )
    parts.extend(_hours(first, last, at, top - 6, bottom + 4, zone))
    parts.extend(_sky_band(skies, at, right, system))
    kinds = list(dict.fromkeys((span.lure, span.colour) for span in spans))
    for i, rod in enumerate(rods):
        y = top + row * i
        parts.append(svg(drawn[rod], 8, y + 17, 6))
        parts.append(_text(18, y + 21, rod, 12, font_weight="bold"))
        for span in spans:
            if span.rod != rod:
                continue
            fill = COLOURS[kinds.index((span.lure, span.colour)) % len(COLOURS)]
            x, long = at(span.start_s), max(at(span.end_s) - at(span.start_s), 1.5)
            parts.append(
                f'<rect x="{x:.1f}" y="{y + 14:.1f}" width="{long:.1f}" height="12" rx="2" '
                f'fill="{fill}" fill-opacity="0.85"/>'
            )
            words = " ".join(part for part in (span.lure or "line", span.colour) if part)
            if span.let_out_m is not None:
                words += f", {system.show(span.let_out_m, 'length')}"
            room = int(long / 5.4)
            if room >= 6:
                shown = words if len(words) <= room else words[: room - 1].rstrip(" ,") + "…"
                parts.append(_text(x + 2, y + 37, shown, 9.5))
        for spot in spots:
            if spot.rod == rod:
                lift = 20.0 if spot.kind in ("catch", "strike_missed") else 12.0
                parts.append(marker(spot.kind, at(spot.at_s), y + lift, spot.number, 7.5))
    return _svg(width, bottom + 24, "Timeline of the day", parts)


def _sky_band(
    skies: Sequence[tuple[float, Weather]],
    at: Callable[[float], float],
    right: float,
    system: System,
) -> list[str]:
    parts = [_text(8, 14, "sky", 10.5)]
    before = Weather()
    free = 0.0
    for t, known in skies:
        words = known.sky if known.sky and known.sky != before.sky else ""
        temp = known.surface_temp_c
        if temp is not None and temp != before.surface_temp_c:
            words += (", " if words else "") + system.show(temp, "temperature")
        before = known
        x = max(at(t), free)
        if words and x < right - 20:
            if x == at(t):
                parts.append(f'<path d="M{x:.1f} 4 v14" stroke="{_FAINT}" stroke-width="1"/>')
            parts.append(_text(x + 3, 14, words, 10.5))
            free = x + 6.6 * len(words) + 8
    return parts


def _hours(
    first: float,
    last: float,
    at: Callable[[float], float],
    top: float,
    bottom: float,
    zone: tzinfo | None,
) -> list[str]:
    hours = (last - first) / 3600
    step = next((s for s in (0.25, 0.5, 1, 2, 3, 6, 12) if hours / s <= 12), 24)
    moment = datetime.fromtimestamp(first, zone).replace(minute=0, second=0, microsecond=0)
    parts = [
        f'<path d="M{at(first):.1f} {bottom:.1f} H{at(last):.1f}" '
        f'stroke="{_INK}" stroke-width="1"/>'
    ]
    while moment.timestamp() <= last:
        t = moment.timestamp()
        if t >= first:
            x = at(t)
            parts.append(
                f'<path d="M{x:.1f} {top:.1f} V{bottom + 4:.1f}" stroke="{_FAINT}" '
                'stroke-width="0.8"/>'
            )
            parts.append(_text(x, bottom + 16, f"{moment:%H:%M}", 10, "middle"))
        moment += timedelta(hours=step)
    return parts
