"""The day's page of map, timeline and tables, as HTML or PDF."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any

from typing_extensions import TypedDict

from towscope.effort.effort import FishedWay, catch_depths, stints, total, unplaced, way_of
from towscope.fish import HOOKS_CAUTION
from towscope.journal.describe import caught_rate, describe, length
from towscope.journal.events import Catch, Note
from towscope.journal.places import place_of
from towscope.journal.replay import StandingEntries, weather
from towscope.sheets.cautions import LEAD, LINE, RULES
from towscope.sheets.day_map import day_map
from towscope.sheets.day_timeline import timeline
from towscope.sheets.drawing import DrawnSpot, filled

if TYPE_CHECKING:
    from towscope.effort.effort import DepthAt
    from towscope.journal.track import LoggedTrack
    from towscope.units import System

_SHOWN = ("catch", "strike_missed", "bottom_hit", "sonar_mark")


class DayPage(TypedDict):
    """A day's report as plain text, tables and two drawings (SVG)."""

    title: str
    lead: str
    map: str | None
    timeline: str | None
    catches: list[list[str]]
    catch_heads: list[str]
    effort: list[list[str]]
    effort_heads: list[str]
    notes: list[str]
    checks: list[str]
    cautions: list[str]
    foot: str


def day_page(
    day: str,
    journal: StandingEntries,
    track: LoggedTrack,
    system: System,
    *,
    depth_at: DepthAt | None = None,
    until_s: float | None = None,
    map_px: float = 760.0,
) -> DayPage:
    """Gather all that a day's page shows, as plain text and drawings.

    Parameters
    ----------
    day : str
        Local date.
    journal : StandingEntries
        Its entries as they stand.
    track : LoggedTrack
        The boat's track; may be empty.
    system : System
        Units.
    depth_at : callable, optional
        The engine, for how deep the lures ran.
    until_s : float, optional
        Where lines still out end, unix time [s].
    map_px : float
        Width of the map [px].
    """
    way = way_of(track)
    effort = stints(journal, track if len(track) else None, depth_at=depth_at, until_s=until_s)
    deep = catch_depths(journal, track, depth_at) if depth_at is not None and len(track) else {}
    numbers = {
        event.id: i
        for i, event in enumerate((e for e in journal.events if isinstance(e, Catch)), 1)
    }
    spots = []
    for event in journal.events:
        if event.kind in _SHOWN:
            place = place_of(event, track) or (None, None)
            rod = getattr(event, "rod", None) or ""
            spots.append(
                DrawnSpot(event.kind, event.at_s, rod, numbers.get(event.id, 0), place[0], place[1])
            )
    zone = journal.events[0].at.tzinfo if journal.events else None
    spans = journal.spans(until_s)
    date = datetime.fromisoformat(day)
    hours = sum(s.hours for s in effort)
    fish = [e for e in journal.events if isinstance(e, Catch)]
    return {
        "title": f"{date:%A} {date.day} {date:%B %Y}",
        "lead": _lead(fish, hours, way, journal),
        "map": day_map(way, spans, spots, system, map_px),
        "timeline": timeline(spans, spots, weather(journal.events), way.running, zone, system),
        "catches": [_catch_row(numbers[e.id], e, journal, deep, system) for e in fish],
        "catch_heads": ["", "time", "rod", "fish", "length", "lure", "line out", "depth", ""],
        "effort": _effort_rows(effort, system),
        "effort_heads": ["lure", "rod-hours", "fish", "misses", "depth", "fish per rod-hour"],
        "notes": [f"{e.at:%H:%M}  {e.text}" for e in journal.events if isinstance(e, Note)],
        "checks": _checks(journal, unplaced(journal, effort), system, live=until_s is not None),
        "cautions": [LEAD, HOOKS_CAUTION, LINE, RULES],
        "foot": "Depths are computed from rig, line out and speed, not measured. A few fish prove "
        "little: a lure with one fish may be no better than one with none.",
    }


def _lead(fish: list[Catch], hours: float, way: FishedWay, journal: StandingEntries) -> str:
    kinds: dict[str, int] = {}
    for event in fish:
        kinds[event.species or "fish"] = kinds.get(event.species or "fish", 0) + 1
    caught = ", ".join(f"{n} {name}" for name, n in sorted(kinds.items(), key=lambda k: -k[1]))
    kept = sum(event.kept is True for event in fish)
    parts = [caught or "no fish"]
    if kept:
        parts[0] += f" ({kept} kept)"
    rods = len(journal.rods())
    parts.append(f"{hours:.1f} rod-hours on {rods} rod{'' if rods == 1 else 's'}")
    if way.running:
        minutes = sum(b - a for a, b in way.running) / 60
        parts.append(f"{minutes:.0f} min running between spots, not counted")
    return "; ".join(parts) + "."


def _catch_row(
    number: int, event: Catch, journal: StandingEntries, deep: dict[str, float], system: System
) -> list[str]:
    span = next(
        (s for s in journal.spans() if s.rod == event.rod and s.start_s <= event.at_s <= s.end_s),
        None,
    )
    depth = event.depth_m if event.depth_m is not None else deep.get(event.id)
    fate = "" if event.kept is None else "kept" if event.kept else "released"
    if journal.checks_of(event.id):
        fate = f"{fate} *".strip()
    return [
        str(number),
        f"{event.at:%H:%M}",
        event.rod or "",
        event.species or "fish",
        length(event.length_m, system) if event.length_m is not None else "",
        " ".join(p for p in (span.lure, span.colour) if p) if span else "",
        system.show(span.let_out_m, "length") if span and span.let_out_m is not None else "",
        system.show(depth, "length") if depth is not None else "",
        fate,
    ]


def _effort_rows(effort: list[Any], system: System) -> list[list[str]]:
    rows = []
    for row in total(effort, ["lure", "colour"]):
        rate = caught_rate(row["catches"], row["hours"])
        rows.append(
            [
                " ".join(p for p in (row["lure"] or "not given", row["colour"]) if p),
                f"{row['hours']:.1f}",
                str(row["catches"]),
                str(row["strikes_missed"]),
                "" if row["mean_depth_m"] is None else system.show(row["mean_depth_m"], "length"),
                rate,
            ]
        )
    return rows


def _checks(
    journal: StandingEntries, orphans: int, system: System, *, live: bool = False
) -> list[str]:
    by_id = {event.id: event for event in journal.events}
    lines = []
    for check in journal.checks:
        if live and check.code == "left-out":  # the lines are out still: nothing is odd about that
            continue
        event = by_id.get(check.event)
        what = f"{event.at:%H:%M} {describe(event, system)}: " if event is not None else ""
        lines.append(f"{what}{check.text}")
    if orphans:
        lines.append(f"{orphans} fish with no line out at the time: counted in no rate")
    return lines


def to_html(page: DayPage) -> str:
    """Write a day's page as one HTML file that asks for nothing else.

    Parameters
    ----------
    page : dict
        From `day_page`.
    """
    return filled("day.html", page=page)


def to_pdf(page: DayPage, system: System) -> bytes:
    """Set a day's page as a PDF.

    Parameters
    ----------
    page : dict
        From `day_page`.
    system : System
        Units; they choose the paper too.
    """
    from towscope.sheets.laminate import typeset

    paper = "us-letter" if system.name == "us" else "a4"
    return typeset("day.typ", {**page, "paper": paper})
