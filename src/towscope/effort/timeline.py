"""Entries, stints and track laid out by time: a day's figures that a screen can draw."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final, Literal, cast

import numpy as np
from typing_extensions import TypedDict

from towscope.effort.effort import catch_depths, stints, total, unplaced, way_of
from towscope.journal.events import AnyEvent, Catch, Note
from towscope.journal.places import place_of
from towscope.journal.replay import StandingEntries, weather

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from towscope.effort.effort import DepthAt, FishedWay
    from towscope.effort.stint import Stint
    from towscope.journal.replay import LineSpan
    from towscope.journal.track import LoggedTrack

SHOWN: Final = ("catch", "strike_missed", "bottom_hit", "sonar_mark")
Kind = Literal["catch", "strike_missed", "bottom_hit", "sonar_mark"]
MOST_POINTS: Final = 480  # of the way's profile: one to a pixel or two


class TimelineSpan(TypedDict):
    """A rod with a line out and nothing changed; times in unix seconds, all else in SI."""

    rod: str
    start_s: float
    end_s: float
    rig: str
    lure: str
    body: str
    colour: str
    size_m: float | None
    let_out_m: float | None
    open: bool
    depth_m: float | None
    rod_hours: float
    catches: int


class Spot(TypedDict):
    """A fish, missed strike, bottom hit or sonar mark; `weight_likely_kg` is from its length."""

    id: str
    kind: Kind
    at_s: float
    rod: str
    number: int
    lat: float | None
    lon: float | None
    lure: str
    colour: str
    let_out_m: float | None
    depth_m: float | None
    species: str
    length_m: float | None
    weight_kg: float | None
    weight_likely_kg: float | None
    kept: bool | None
    who: str


class Sky(TypedDict):
    """Sky and water as noted, from `at_s` on."""

    at_s: float
    sky: str | None
    wind_m_s: float | None
    wind_from: str | None
    surface_temp_c: float | None
    clarity_m: float | None


class Noted(TypedDict):
    """A note."""

    at_s: float
    text: str


class Profile(TypedDict):
    """Water depth under the boat, its speed and the surface temperature along the day."""

    at_s: list[float | None]
    water_depth_m: list[float | None]
    speed_m_s: list[float | None]
    surface_temp_c: list[float | None]


class LureEffort(TypedDict):
    """What was fished with one lure of one colour."""

    lure: str
    colour: str
    hours: float
    catches: int
    strikes_missed: int
    mean_depth_m: float | None


class CheckOn(TypedDict):
    """Something about an entry or a day that the crew should see."""

    code: str
    text: str


class Light(TypedDict):
    """The sun over the day where the boat was, in unix seconds; low light as spans."""

    sunrise_s: float | None
    sunset_s: float | None
    low_light: list[tuple[float, float]]


class Timeline(TypedDict):
    """A day's lines, fish, weather and effort.

    ``utc_offset_s``: the boat's clock against UTC that day; ``running``: when the boat ran between
    spots, in no effort; ``in_no_rate``: fish that no line explains.
    """

    utc_offset_s: float
    rods: list[str]
    spans: list[TimelineSpan]
    spots: list[Spot]
    skies: list[Sky]
    notes: list[Noted]
    running: list[tuple[float, float]]
    profile: Profile
    rod_hours: float
    running_s: float
    catches: int
    kept: int
    in_no_rate: int
    effort: list[LureEffort]


class DayTimeline(Timeline):
    """A day: its timeline, its entries as they stand and what is odd about them.

    ``live``: whether lines are still out.
    """

    day: str
    live: bool
    light: Light | None
    entries: list[dict[str, Any]]
    day_checks: list[CheckOn]
    undone: list[str]
    track_points: int


def entry_figures(event: AnyEvent, journal: StandingEntries | None = None) -> dict[str, Any]:
    """Give an entry as plain values, with its checks where the day is given."""
    body = event.model_dump(mode="json", exclude_none=True)
    if journal is not None:
        body["checks"] = [{"code": m.code, "text": m.text} for m in journal.checks_of(event.id)]
    return body


def timeline(
    journal: StandingEntries,
    track: LoggedTrack,
    *,
    depth_at: DepthAt | None = None,
    until_s: float | None = None,
    weigh: Callable[[str, float], float | None] | None = None,
) -> Timeline:
    """Give a day as figures: what each rod had out and when, what came of it, and the weather.

    Parameters
    ----------
    journal : StandingEntries
        The day's entries as they stand.
    track : LoggedTrack
        The boat's track; may be empty.
    depth_at : callable, optional
        The engine, for how deep the lures ran.
    until_s : float, optional
        Where lines still out end, unix time [s].
    weigh : callable, optional
        A fish's name and length [m] to its weight [kg], where that is known.

    Returns
    -------
    Timeline
        All times in unix seconds, all else in SI.
    """
    way = way_of(track)
    effort = stints(journal, track if len(track) else None, depth_at=depth_at, until_s=until_s)
    deep = catch_depths(journal, track, depth_at) if depth_at is not None and len(track) else {}
    spans = journal.spans(until_s)
    offset = journal.events[0].at.utcoffset() if journal.events else None
    fish = [e for e in journal.events if isinstance(e, Catch)]
    numbers = {event.id: i for i, event in enumerate(fish, 1)}
    return {
        "utc_offset_s": offset.total_seconds() if offset is not None else 0.0,
        "rods": journal.rods(),
        "spans": [_span(span, effort) for span in spans],
        "spots": [
            _spot(event, numbers, spans, track, deep, weigh)
            for event in journal.events
            if event.kind in SHOWN
        ],
        "skies": [
            {
                "at_s": at,
                "sky": told.sky,
                "wind_m_s": told.wind_m_s,
                "wind_from": told.wind_from,
                "surface_temp_c": told.surface_temp_c,
                "clarity_m": told.clarity_m,
            }
            for at, told in weather(journal.events)
        ],
        "notes": [{"at_s": e.at_s, "text": e.text} for e in journal.events if isinstance(e, Note)],
        "running": list(way.running),
        "profile": _profile(way),
        "rod_hours": sum(s.hours for s in effort),
        "running_s": sum(b - a for a, b in way.running),
        "catches": len(fish),
        "kept": sum(e.kept is True for e in fish),
        "in_no_rate": unplaced(journal, effort),
        "effort": cast(list[LureEffort], total(effort, ["lure", "colour"])),
    }


def _span(span: LineSpan, effort: Sequence[Stint]) -> TimelineSpan:
    mine = [
        s
        for s in effort
        if s.rod == span.rod and s.start_s >= span.start_s - 0.5 and s.end_s <= span.end_s + 0.5
    ]
    known = [s for s in mine if s.depth_m is not None and s.hours > 0.0]
    hours = sum(s.hours for s in known)
    return {
        "rod": span.rod,
        "start_s": span.start_s,
        "end_s": span.end_s,
        "rig": span.rig,
        "lure": span.lure,
        "body": span.body,
        "colour": span.colour,
        "size_m": span.size_m,
        "let_out_m": span.let_out_m,
        "open": span.open,
        "depth_m": sum((s.depth_m or 0.0) * s.hours for s in known) / hours if hours else None,
        "rod_hours": sum(s.hours for s in mine),
        "catches": sum(s.catches for s in mine),
    }


def _spot(
    event: AnyEvent,
    numbers: dict[str, int],
    spans: Sequence[LineSpan],
    track: LoggedTrack,
    deep: dict[str, float],
    weigh: Callable[[str, float], float | None] | None,
) -> Spot:
    place = place_of(event, track) or (None, None)
    rod = getattr(event, "rod", None) or ""
    span = next((s for s in spans if s.rod == rod and s.start_s <= event.at_s <= s.end_s), None)
    depth = getattr(event, "depth_m", None)
    length, species = getattr(event, "length_m", None), getattr(event, "species", None)
    weight = getattr(event, "weight_kg", None)
    guess = weigh(species, length) if weigh and species and length and weight is None else None
    return {
        "id": event.id,
        "kind": cast(Kind, event.kind),
        "at_s": event.at_s,
        "rod": rod,
        "number": numbers.get(event.id, 0),
        "lat": place[0],
        "lon": place[1],
        "lure": span.lure if span else "",
        "colour": span.colour if span else "",
        "let_out_m": span.let_out_m if span else None,
        "depth_m": depth if depth is not None else deep.get(event.id),
        "species": species or "",
        "length_m": length,
        "weight_kg": weight,
        "weight_likely_kg": guess,
        "kept": getattr(event, "kept", None),
        "who": event.who or "",
    }


def _profile(way: FishedWay) -> Profile:
    """Give water depth, speed and surface temperature along the day, thinned for drawing."""
    track = way.track
    every = max(1, -(-len(track) // MOST_POINTS))

    def some(values: Any, places: int) -> list[float | None]:
        return [None if not np.isfinite(v) else round(float(v), places) for v in values[::every]]

    return {
        "at_s": some(track.t_s, 0),
        "water_depth_m": some(track.depth_m, 2),
        "speed_m_s": some(way.speed_m_s, 3),
        "surface_temp_c": some(track.surface_temp_c, 2),
    }
