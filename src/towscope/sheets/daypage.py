"""The day's page of map, timeline and tables, as HTML or PDF."""

from __future__ import annotations

from datetime import datetime
from html import escape
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
from towscope.sheets.drawing import DrawnSpot

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


_STYLE = """
:root { color-scheme: light; } * { box-sizing: border-box; }
body { margin: 0 auto; padding: 1.2rem; max-width: 820px; color: #1b2a33; background: #fff;
  font: 16px/1.45 system-ui, -apple-system, "DejaVu Sans", sans-serif; }
h1 { margin: 0; font-size: 1.7rem; } h2 { margin: 1.6rem 0 .4rem; font-size: 1.05rem; }
p { margin: .3rem 0 .8rem; } svg { display: block; width: 100%; height: auto; }
.wide { overflow-x: auto; } table { border-collapse: collapse; width: 100%; font-size: .92rem; }
th, td { padding: .28rem .5rem; text-align: left; border-bottom: 1px solid #dde4e8; }
th { font-weight: 600; border-bottom: 2px solid #1b2a33; white-space: nowrap; }
td.n, th.n { text-align: right; font-variant-numeric: tabular-nums; white-space: nowrap; }
ul { padding-left: 1.1rem; margin: .3rem 0; } .small { font-size: .85rem; color: #47575f; }
@media print { body { padding: 0; max-width: none; } }
"""


def to_html(page: DayPage) -> str:
    """Write a day's page as one HTML file that asks for nothing else.

    Parameters
    ----------
    page : dict
        From `day_page`.
    """
    body = [f"<h1>{escape(page['title'])}</h1><p>{escape(page['lead'])}</p>"]
    for drawing, head in ((page["map"], "Where"), (page["timeline"], "When")):
        if drawing:
            body.append(f"<h2>{head}</h2>{drawing}")
    if page["catches"]:
        body.append(f"<h2>Fish</h2>{_table(page['catch_heads'], page['catches'], {0, 4, 6, 7})}")
    if page["effort"]:
        heads, rows = page["effort_heads"], page["effort"]
        body.append(f"<h2>Effort</h2>{_table(heads, rows, {1, 2, 3, 4, 5})}")
    for lines, head in ((page["notes"], "Notes"), (page["checks"], "Check")):
        if lines:
            items = "".join(f"<li>{escape(line)}</li>" for line in lines)
            body.append(f"<h2>{head}</h2><ul>{items}</ul>")
    body.append(f'<p class="small">{escape(page["foot"])}</p>')
    body.append(
        '<ul class="small">' + "".join(f"<li>{escape(c)}</li>" for c in page["cautions"]) + "</ul>"
    )
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(page['title'])}</title><style>{_STYLE}</style></head>"
        f"<body>{''.join(body)}</body></html>\n"
    )


def _table(heads: list[str], rows: list[list[str]], figures: set[int]) -> str:
    def cells(tag: str, row: list[str]) -> str:
        return "".join(
            f"<{tag}{' class=n' if i in figures else ''}>{escape(cell)}</{tag}>"
            for i, cell in enumerate(row)
        )

    body = "".join(f"<tr>{cells('td', row)}</tr>" for row in rows)
    return (
        f'<div class="wide"><table><thead><tr>{cells("th", heads)}</tr></thead>'
        f"<tbody>{body}</tbody></table></div>"
    )


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
