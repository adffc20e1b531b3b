"""`towscope day`: a day on the water: what happened, what was fished, and how it travels."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Annotated, Any

import typer

from towscope.commands.common import Json, Tackle, Units, console, emit, system
from towscope.commands.journalling import Day, Place, journal_at
from towscope.effort import bands
from towscope.errors import NoAnswer
from towscope.files import writable


def register(app: typer.Typer) -> None:
    """Add the commands."""
    days = typer.Typer(
        help="A day on the water: what happened, what was fished, and how it travels.",
        no_args_is_help=True,
        rich_markup_mode=None,
    )
    app.add_typer(days, name="day")
    for name, command in (
        ("show", show), ("list", list_days), ("effort", effort), ("report", report),
        ("export", export), ("import", take_in), ("clock", clock), ("demo", demo),
        ("rescue", rescue),
    ):  # fmt: skip
        days.command(name)(command)


def show(
    day: Day = "",
    tackle: Tackle = None,
    journal: Place = "",
    units: Units = "us",
    as_json: Json = False,
) -> None:
    """Show a day's entries as they stand, with the checks on those that do not fit."""
    system(units)
    with journal_at(journal, tackle, create=False) as book:
        found = book.day(day)
    if as_json:
        emit(found.to_dict())
        return
    screen = console()
    for line in found.lines:
        screen.print(line, soft_wrap=True)


def list_days(journal: Place = "", as_json: Json = False) -> None:
    """List the days there are."""
    with journal_at(journal, create=False) as book:
        rows = book.days()
    if not rows:
        raise NoAnswer('the journal is empty; start with "towscope log out port ..."')
    if as_json:
        emit({"days": [asdict(row) for row in rows]})
        return
    screen = console()
    for row in rows:
        screen.print(
            f"{row.day}  {row.entries:5d} entries  {row.catches:4d} fish  "
            f"{row.track_points:8,d} points"
        )


def effort(
    day: Day = "",
    by: Annotated[
        str, typer.Option("--by", help=f"Add up by any of: {', '.join(bands.BY)}.")
    ] = "lure,colour",
    season: Annotated[bool, typer.Option("--season", help="Over all days there are.")] = False,
    since: Annotated[str, typer.Option("--since", help="Over all days from this one on.")] = "",
    running: Annotated[
        str, typer.Option("--running", help="Above this speed the boat is not fishing.")
    ] = "5.6 mph",
    tackle: Tackle = None,
    journal: Place = "",
    units: Units = "us",
    as_json: Json = False,
) -> None:
    """Count rod-hours: what was fished, how deep and for how long, running left out."""
    shown = system(units)
    with journal_at(journal, tackle, create=False) as book:
        found = book.effort(day, by, season=season, since=since, running=running)
    if as_json:
        emit(found.to_dict())
        return
    asked = bands.named(by)
    from rich.table import Table

    from towscope.journal.describe import caught_rate

    table = Table(box=None, pad_edge=False)
    for name in asked:
        table.add_column(name)
    for head in ("rod-hours", "fish", "misses", "depth", "fish/rod-hour"):
        table.add_column(head, justify="right")
    for group in found.groups:
        deep = group["mean_depth_m"]
        table.add_row(
            *(_cell(group[bands.BY[name][0]], name, shown) for name in asked),
            f"{group['hours']:.1f}",
            str(group["catches"]),
            str(group["strikes_missed"]),
            shown.show(deep, "length") if deep is not None else "",
            caught_rate(group["catches"], group["hours"]),
        )
    console().print(table)


def _cell(value: Any, name: str, shown: Any) -> str:
    if value in (None, ""):
        return "not given"
    if name == "size":
        from towscope.journal.describe import length

        return length(float(value), shown)
    if name == "hour":
        return f"{int(value):02d}:00"
    kind = bands.BY[name][1]
    if kind:
        step = bands.width(name, feet=shown.name == "us")
        return str(shown.range(value, value + step, kind, 1 if kind == "speed" else 0))
    return str(value)


def report(
    day: Day = "",
    out: Annotated[
        Path | None, typer.Option("--out", "-o", help="The file to write: .html or .pdf.")
    ] = None,
    tackle: Tackle = None,
    journal: Place = "",
    units: Units = "us",
    as_json: Json = False,
) -> None:
    """Write a day's report with map, timeline and tables as one HTML or PDF file."""
    system(units)
    if out is not None:
        writable(out, (".html", ".pdf"))
    with journal_at(journal, tackle, create=False) as book:
        found = book.report(day)
    path = found.save(out or f"day-{found.day}.html")
    if as_json:
        emit({"day": found.day, "file": str(path), "summary": found.summary})
    else:
        console().print(f"{path}: {found.summary}", soft_wrap=True)


def export(
    file: Annotated[Path, typer.Argument(metavar="FILE", help=".jsonl, .csv, .geojson or .gpx")],
    day: Annotated[str, typer.Option("--day", help="Only this day.")] = "",
    journal: Place = "",
    units: Units = "us",
    as_json: Json = False,
) -> None:
    """Write the journal, or a day, for another device, a spreadsheet, a map or a plotter."""
    system(units)
    with journal_at(journal, create=False) as book:
        found = book.export(file, day)
    if as_json:
        emit(found.to_dict())
    else:
        console().print(f"{found.file}: {found.days}", soft_wrap=True)


def take_in(
    files: Annotated[
        list[Path],
        typer.Argument(
            metavar="FILE...", help="What `export` wrote, or a track: GPX, NMEA 0183, a table."
        ),
    ],
    journal: Place = "",
    as_json: Json = False,
) -> None:
    """Take in what another device or program wrote; the same file twice adds nothing."""
    with journal_at(journal) as book:
        answers = [book.take(path) for path in files]
    if as_json:
        emit({"files": [taken.to_dict() for taken in answers]})
        return
    for path, taken in zip(files, answers, strict=True):
        console().print(
            f"{path.name}: {taken.new_entries} of {taken.entries} entries and "
            f"{taken.new_track_points:,} of {taken.track_points:,} track points are new",
            soft_wrap=True,
        )
        for remark in taken.remarks:
            console().print(f"       Check: {remark}", soft_wrap=True)


def rescue(
    files: Annotated[
        list[Path] | None,
        typer.Argument(metavar="[FILE...]", help="Damaged journals; without one, your own."),
    ] = None,
    journal: Place = "",
    as_json: Json = False,
) -> None:
    """Save what can be read of a damaged journal, and of its copies, in a new one."""
    import towscope as ts

    found = ts.rescue_journal(files or (), journal or None)
    if as_json:
        emit(found.to_dict())
        return
    screen = console()
    for each in found.each:
        screen.print(
            f"{each.sources[0]}: {each.entries} entries and {each.stretches} stretches of track "
            f"saved; {each.unread} rows did not read",
            soft_wrap=True,
        )
        for line in each.left_out:
            screen.print(f"  left out: {line}", soft_wrap=True)
    screen.print(
        f"The journal is {found.journal}. Damaged files stay where they are.", soft_wrap=True
    )


def clock(
    device: Annotated[str, typer.Argument(metavar="DEVICE", help="Whose clock was wrong.")],
    ahead: Annotated[
        str, typer.Option("--ahead", help='How far it ran ahead: "1 h", "25 min".')
    ] = "",
    behind: Annotated[str, typer.Option("--behind", help="How far it ran behind.")] = "",
    day: Annotated[str, typer.Option("--day", help="On which day; today without it.")] = "today",
    journal: Place = "",
    as_json: Json = False,
) -> None:
    """Say how wrong a device's clock was on a day; its entries of that day move accordingly."""
    with journal_at(journal, create=False) as book:
        found = book.set_clock(device, ahead=ahead, behind=behind, day=day)
    if as_json:
        emit(found.to_dict())
        return
    (entry,) = found.added
    left = len(found.checks_left)
    console().print(f"Clock corrected; {left} left to check on {day}; [{entry['id'][-6:]}]")


def demo(
    number: Annotated[int, typer.Option("--days", min=1, max=60, help="How many days.")] = 1,
    seed: Annotated[int, typer.Option("--seed", min=0, help="Another seed, other days.")] = 1,
    journal: Place = "",
    as_json: Json = False,
) -> None:
    """Add the demo day to the journal: Ada and Tor on Long Slate in August."""
    from datetime import timedelta
    from zoneinfo import ZoneInfo

    from towscope.demo.day import DEVICE, FIRST, ZONE, demo_day

    entries = points = 0
    with journal_at(journal) as book:
        for back in range(number):
            made = demo_day(FIRST - timedelta(days=back), seed)
            entries += book.store.append(made.events)
            points += book.store.add_track(made.track, DEVICE, ZoneInfo(ZONE))
    if as_json:
        emit({"day": FIRST.isoformat(), "new_entries": entries, "new_track_points": points})
        return
    console().print(
        f"{entries} entries and {points:,} track points are new; "
        f"now: towscope day show {FIRST}, towscope day report {FIRST} -o day.pdf",
        soft_wrap=True,
    )
