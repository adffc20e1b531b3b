"""The day's timeline: what each rod had out and when, along the hours."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from typing import TYPE_CHECKING, Final, NamedTuple

from towscope.journal.replay import Weather
from towscope.sheets.drawing import DrawnSpot, drawn
from towscope.words import RodLook, looks

if TYPE_CHECKING:
    from towscope.journal.replay import LineSpan
    from towscope.units import System

# Okabe and Ito (2008), "Color Universal Design": eight colours told apart by nearly all eyes.
COLOURS: Final = ("#0072B2", "#E69F00", "#009E73", "#CC79A7", "#56B4E9", "#D55E00", "#999999")
_LEFT, _TOP, _ROW = 94.0, 34.0, 40.0  # [px]
_LETTER, _SMALL_LETTER = 6.6, 5.4  # widths [px]


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

    Returns
    -------
    str or None
        SVG; None where less than a minute is known.
    """
    times = [t for span in spans for t in (span.start_s, span.end_s)]
    times += [spot.at_s for spot in spots] + [at for at, _ in skies]
    if not times or max(times) - min(times) < 60:
        return None
    axis = _Axis.over(min(times), max(times), width - 10)
    rods = list(dict.fromkeys(span.rod for span in spans))
    shown = looks(rods)
    bottom = _TOP + _ROW * len(rods)
    return drawn(
        "day_timeline",
        "Timeline of the day",
        (width, bottom + 24),
        top=_TOP,
        bottom=bottom,
        begin=axis.at(axis.first),
        end=axis.at(axis.last),
        running=[
            (axis.at(a), axis.at(b) - axis.at(a))
            for a, b in running
            if b > axis.first and a < axis.last
        ],
        hours=list(_hours(axis, zone)),
        skies=list(_skies(skies, axis, system)),
        rows=[
            _Row(
                rod,
                shown[rod],
                _TOP + _ROW * i,
                _bars(rod, spans, axis, system),
                [(spot, axis.at(spot.at_s)) for spot in spots if spot.rod == rod],
            )
            for i, rod in enumerate(rods)
        ],
    )


@dataclass(frozen=True)
class _Axis:
    """Times from left to right; what lies outside of it is set at its ends."""

    first: float
    last: float
    right: float

    @classmethod
    def over(cls, first: float, last: float, right: float) -> _Axis:
        """Give one that leaves a little room at either end."""
        room = 0.01 * (last - first)
        return cls(first - room, last + room, right)

    def at(self, t: float) -> float:
        """Give where a time lies [px]."""
        per = (self.right - _LEFT) / (self.last - self.first)
        return _LEFT + (min(max(t, self.first), self.last) - self.first) * per


class _Bar(NamedTuple):
    x: float
    long: float
    fill: str
    words: str


class _Row(NamedTuple):
    rod: str
    look: RodLook
    y: float
    bars: list[_Bar]
    spots: list[tuple[DrawnSpot, float]]


def _bars(rod: str, spans: Sequence[LineSpan], axis: _Axis, system: System) -> list[_Bar]:
    """Give what a rod had out, one colour for each lure; words where they have room."""
    kinds = list(dict.fromkeys((span.lure, span.colour) for span in spans))
    bars = []
    for span in spans:
        if span.rod != rod:
            continue
        fill = COLOURS[kinds.index((span.lure, span.colour)) % len(COLOURS)]
        x = axis.at(span.start_s)
        long = max(axis.at(span.end_s) - x, 1.5)
        words = " ".join(part for part in (span.lure or "line", span.colour) if part)
        if span.let_out_m is not None:
            words += f", {system.show(span.let_out_m, 'length')}"
        room = int(long / _SMALL_LETTER)
        if len(words) > room:
            words = words[: room - 1].rstrip(" ,") + "…"
        bars.append(_Bar(x, long, fill, words if room >= 6 else ""))
    return bars


class _SkyWords(NamedTuple):
    x: float
    words: str
    ticked: bool


def _skies(
    skies: Sequence[tuple[float, Weather]], axis: _Axis, system: System
) -> Iterator[_SkyWords]:
    """Say what changed and when, each after the words before it; a tick where it is in place."""
    before = Weather()
    free = 0.0
    for t, known in skies:
        words = known.sky if known.sky and known.sky != before.sky else ""
        temp = known.surface_temp_c
        if temp is not None and temp != before.surface_temp_c:
            words += (", " if words else "") + system.show(temp, "temperature")
        before = known
        x = max(axis.at(t), free)
        if words and x < axis.right - 20:
            yield _SkyWords(x, words, x == axis.at(t))
            free = x + _LETTER * len(words) + 8


def _hours(axis: _Axis, zone: tzinfo | None) -> Iterator[tuple[float, str]]:
    hours = (axis.last - axis.first) / 3600
    step = next((s for s in (0.25, 0.5, 1, 2, 3, 6, 12) if hours / s <= 12), 24)
    moment = datetime.fromtimestamp(axis.first, zone).replace(minute=0, second=0, microsecond=0)
    while moment.timestamp() <= axis.last:
        if moment.timestamp() >= axis.first:
            yield axis.at(moment.timestamp()), f"{moment:%H:%M}"
        moment += timedelta(hours=step)
