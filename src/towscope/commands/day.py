"""`towscope day`: a day on the water: what happened, what was fished, and how it travels."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from towscope.commands.common import Json, Tackle, Units, console, emit, quantity, system
from towscope.commands.journalling import Day, Place, effort_of, plain, present, store_at, which_day
from towscope.constants import FOOT, MPH
from towscope.errors import InputError, NoAnswer, one_line

# What --by takes: the stint's attribute, the kind of quantity, and the bands' width by unit system.
BY: dict[str, tuple[str, str, float, float]] = {
    **{name: (name, "", 0.0, 0.0) for name in ("rod", "rig", "lure", "body", "colour", "day")},
    "sky": ("light", "", 0.0, 0.0),
    "size": ("size_m", "", 0.0, 0.0),
    "depth": ("depth_m", "length", 3 * FOOT, 1.0),
    "speed": ("speed_m_s", "speed", 0.2 * MPH, 0.1),
    "temp": ("surface_temp_c", "temperature", 2 / 1.8, 1.0),
    "hour": ("hour", "", 1.0, 1.0),
}


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
    from towscope.fish import weigh
    from towscope.journal.describe import describe

    shown = system(units)
    now, _ = present()
    with store_at(journal, create=False) as store:
        date = which_day(day, store, now)
        state = store.day(date)
        points = store.points(date)
    if not state.events:
        raise NoAnswer(
            f"nothing was logged on {date}; `towscope day list` shows the days there are"
        )
    if as_json:
        emit(
            {
                "day": date,
                "entries": [plain(event, state) for event in state.events],
                "day_checks": [
                    {"code": m.code, "text": m.text} for m in state.checks if not m.event
                ],
                "undone": list(state.undone),
                "track_points": points,
            }
        )
        return
    screen = console()
    for event in state.events:
        screen.print(
            f"{event.at:%H:%M}  {describe(event, shown, weigh)}  [{event.id[-6:]}]", soft_wrap=True
        )
        for check in state.checks_of(event.id):
            screen.print(f"       Check: {check.text}", soft_wrap=True)
    for check in state.checks:
        if not check.event:
            screen.print(f"Check: {check.text}", soft_wrap=True)
    if state.undone:
        screen.print(f"{len(state.undone)} taken back; {points:,} track points")
    else:
        screen.print(f"{points:,} track points")


def list_days(journal: Place = "", as_json: Json = False) -> None:
    """List the days there are."""
    with store_at(journal, create=False) as store:
        rows = store.days()
    if not rows:
        raise NoAnswer('the journal is empty; start with "towscope log out port ..."')
    if as_json:
        emit(
            {
                "days": [
                    {
                        "day": row.day,
                        "entries": row.entries,
                        "catches": row.catches,
                        "track_points": row.points,
                    }
                    for row in rows
                ]
            }
        )
        return
    screen = console()
    for row in rows:
        screen.print(
            f"{row.day}  {row.entries:5d} entries  {row.catches:4d} fish  {row.points:8,d} points"
        )


def effort(
    day: Day = "",
    by: Annotated[
        str, typer.Option("--by", help=f"Add up by any of: {', '.join(BY)}.")
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
    from datetime import date as a_date

    from towscope.effort.effort import total
    from towscope.journal.times import day_at, parse_day

    shown = system(units)
    asked = [name.strip().lower() for name in by.split(",") if name.strip()]
    asked = [{"color": "colour", "light": "sky"}.get(name, name) for name in asked]
    if not asked or any(name not in BY for name in asked):
        raise InputError(f'--by "{one_line(by, 40)}"; expected any of {", ".join(BY)}')
    limit = quantity(running, "speed", "--running")
    if limit < 0.5:
        raise InputError(f'--running "{running}": lines are trolled faster; expected 3 mph or more')
    now, _ = present()
    with store_at(journal, create=False) as store:
        first = last = None
        if since:
            first = parse_day(since, day_at(now))
        elif not season:
            first = last = a_date.fromisoformat(which_day(day, store, now))
        rows = effort_of(store, tackle, first=first, last=last, running_m_s=limit)
    if not rows:
        raise NoAnswer("no line was out then, so there is no effort to count")
    names = [BY[name][0] for name in asked]
    us = shown.name == "us"
    steps = {BY[n][0]: BY[n][2] if us else BY[n][3] for n in asked if BY[n][2]}
    groups = total(rows, names, steps)
    if names[0] in steps or names[0] == "size_m":  # a scale reads best in its order
        groups.sort(key=lambda g: (g[names[0]] is None, g[names[0]] or 0.0))
    if as_json:
        emit(
            {
                "hours": sum(row.hours for row in rows),
                "by": names,
                "bands": steps,
                "groups": groups,
                "stints": [_stint(row, now.tzinfo) for row in rows],
            }
        )
        return
    from rich.table import Table

    from towscope.journal.describe import caught_rate

    table = Table(box=None, pad_edge=False)
    for name in asked:
        table.add_column(name)
    for head in ("rod-hours", "fish", "misses", "depth", "fish/rod-hour"):
        table.add_column(head, justify="right")
    for group in groups:
        deep = group["mean_depth_m"]
        table.add_row(
            *(_cell(group[BY[name][0]], name, shown) for name in asked),
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
    _, kind, us, metric = BY[name]
    if kind:
        step = us if shown.name == "us" else metric
        return str(shown.range(value, value + step, kind, 1 if kind == "speed" else 0))
    return str(value)


def _stint(row: Any, zone: Any) -> dict[str, Any]:
    from datetime import datetime

    from towscope.effort.effort import as_plain

    body = dict(as_plain(row))
    for name in ("start", "end"):  # a unix time needs more digits than a measure keeps
        body[name] = datetime.fromtimestamp(body.pop(f"{name}_s"), zone).isoformat("T", "seconds")
    return body


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
    from towscope.calibration.calibrated_rig import depths_of
    from towscope.files import write_whole
    from towscope.journal.times import day_at
    from towscope.sheets.daypage import day_page, to_html, to_pdf
    from towscope.tackle import load

    shown = system(units)
    now, _ = present()
    if out is not None and out.suffix.lower() not in (".html", ".pdf"):
        raise InputError(f'--out "{one_line(out, 60)}": expected a name that ends in .html or .pdf')
    with store_at(journal, create=False) as store:
        date = which_day(day, store, now)
        state, track = store.day(date), store.track(date)
    if not state.events:
        raise NoAnswer(
            f"nothing was logged on {date}; `towscope day list` shows the days there are"
        )
    path = out if out is not None else Path(f"day-{date}.html")
    live = now.timestamp() if day_at(now).isoformat() == date and state.out() else None
    page = day_page(date, state, track, shown, depth_at=depths_of(load(tackle or ())), until_s=live)
    pdf = path.suffix.lower() == ".pdf"
    write_whole(path, to_pdf(page, shown) if pdf else to_html(page).encode())
    if as_json:
        emit({"day": date, "file": str(path), "summary": page["lead"]})
    else:
        console().print(f"{path}: {page['lead']}", soft_wrap=True)


def export(
    file: Annotated[Path, typer.Argument(metavar="FILE", help=".jsonl, .csv, .geojson or .gpx")],
    day: Annotated[str, typer.Option("--day", help="Only this day.")] = "",
    journal: Place = "",
    units: Units = "us",
    as_json: Json = False,
) -> None:
    """Write the journal, or a day, for another device, a spreadsheet, a map or a plotter."""
    from towscope.files import write_whole
    from towscope.journal import exchange
    from towscope.journal.store import device_name
    from towscope.journal.times import day_at, parse_day

    shown = system(units)
    now, _ = present()
    kind = file.suffix.lower()
    if kind not in exchange.SUFFIXES:
        raise InputError(
            f"{one_line(file, 60)}: expected a name that ends in {', '.join(exchange.SUFFIXES)}"
        )
    with store_at(journal, create=False) as store:
        date = parse_day(day, day_at(now)).isoformat() if day else None
        if date is None and not store.days():
            raise NoAnswer("the journal is empty: no file written")
        if date is not None and not store.day(date).events and not len(store.track(date)):
            raise NoAnswer(f"nothing was logged on {date}: no file written")
        if kind == ".jsonl":
            text = "".join(exchange.jsonl(store, date, device=device_name()))
        elif kind == ".csv" and date is None:
            from towscope.journal.replay import settle

            text = exchange.to_csv(settle((event for _, event in store.events()), check=False))
        else:
            one = date or which_day("", store, now)
            state, track = store.day(one), store.track(one)
            date = one
            if kind == ".csv" and not state.events:
                raise NoAnswer(f"no entry on {date}, only the boat's track: no file written")
            if kind == ".csv":
                text = exchange.to_csv(state)
            elif kind == ".geojson":
                text = exchange.to_geojson(state, track)
            else:
                text = exchange.to_gpx(state, track, shown)
                if not len(track) and "<wpt" not in text:
                    raise NoAnswer(f"nothing on {date} has a place: no file written")
    write_whole(file, text.encode())
    which = date or "all days"
    if as_json:
        emit({"file": str(file), "days": which, "bytes": len(text.encode())})
    else:
        console().print(f"{file}: {which}", soft_wrap=True)


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
    from datetime import UTC

    from towscope.boat.read import read_fixes
    from towscope.journal.exchange import take
    from towscope.journal.store import device_name

    now, _ = present()
    answers = []
    with store_at(journal) as store:
        for path in files:
            taken = take(store, path, device=device_name(), zone=now.tzinfo or UTC, read=read_fixes)
            answers.append((path, taken))
    if as_json:
        emit(
            {
                "files": [
                    {
                        "file": str(path),
                        "entries": taken.events,
                        "new_entries": taken.new_events,
                        "track_points": taken.points,
                        "new_track_points": taken.new_points,
                        "remarks": taken.remarks,
                    }
                    for path, taken in answers
                ]
            }
        )
        return
    for path, taken in answers:
        console().print(
            f"{path.name}: {taken.new_events} of {taken.events} entries and "
            f"{taken.new_points:,} of {taken.points:,} track points are new",
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
    from towscope.journal import rescue as rescues
    from towscope.journal.copies import copies_of
    from towscope.journal.store import default_place

    place = journal or default_place()
    if "://" in place:
        raise InputError("a journal in PostgreSQL is restored from its own backup: see pg_restore")
    path = Path(place).expanduser()
    for file in files or ():
        if not file.is_file():
            raise InputError(f"{one_line(file, 120)}: no such file; expected a damaged journal")
    moved: list[Path] = []
    if path.exists() and not rescues.is_sound(path):
        moved.append(rescues.set_aside(path, present()[0]))
    sources = [*(files or ()), *moved] if files else [*rescues.damaged_beside(path)]
    copies = copies_of(path)
    if not sources and not (copies and not path.exists()):
        raise NoAnswer(f"{one_line(path, 120)} is whole: there is nothing to rescue")
    done: list[rescues.Rescued] = []
    with store_at(place) as store:
        for number, source in enumerate(sources or copies[:1]):
            done.append(rescues.rescue(source, store, copies if number == 0 else ()))
    if as_json:
        emit(
            {
                "journal": str(path),
                "entries": sum(each.entries for each in done),
                "stretches": sum(each.stretches for each in done),
                "unread_rows": sum(each.unread for each in done),
                "left_out": [line for each in done for line in each.left_out],
                "sources": [str(source) for each in done for source in each.sources],
            }
        )
        return
    screen = console()
    for each in done:
        screen.print(
            f"{each.sources[0]}: {each.entries} entries and {each.stretches} stretches of track "
            f"saved; {each.unread} rows did not read",
            soft_wrap=True,
        )
        for line in each.left_out:
            screen.print(f"  left out: {line}", soft_wrap=True)
    screen.print(f"The journal is {path}. Damaged files stay where they are.", soft_wrap=True)


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
    from datetime import timedelta

    from towscope.journal.events import read_event
    from towscope.journal.ids import new_id
    from towscope.journal.store import device_name
    from towscope.journal.times import begin_of, day_at, parse_day

    if bool(ahead) == bool(behind):
        raise InputError("expected --ahead or --behind, and by how much")
    seconds = quantity(ahead or behind, "time", "--ahead" if ahead else "--behind")
    seconds = seconds if ahead else -seconds
    if not 1 <= abs(seconds) <= 172800:
        raise InputError("a clock is wrong by seconds or hours; expected at most 48 h")
    now, zone = present()
    date = parse_day(day, day_at(now))
    since = begin_of(date, now.tzinfo)
    with store_at(journal, create=False) as store:
        seen = {event.device for event in store.raw_day(date.isoformat())}
        if device not in seen:
            names = ", ".join(sorted(seen)) or "none"
            raise InputError(
                f'no entry of "{one_line(device, 40)}" on {date}; devices then: {names}'
            )
        body: dict[str, Any] = {
            "id": new_id(),
            "device": device_name(),
            "kind": "clock",
            "at": now.replace(microsecond=0).isoformat(),
            "of": device,
            "ahead_s": seconds,
            "since": since.isoformat(),
            "until": (since + timedelta(days=1, seconds=-1)).isoformat(),
        }
        if zone:
            body["zone"] = zone
        event = read_event(body)
        store.append([event])
        state = store.day(date.isoformat())
    left = [m for m in state.checks if m.code in ("no-line", "unknown-rod", "clock")]
    if as_json:
        emit({"added": [plain(event)], "checks_left": [m.text for m in left]})
    else:
        console().print(f"Clock corrected; {len(left)} left to check on {date}; [{event.id[-6:]}]")


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
    with store_at(journal) as store:
        for back in range(number):
            made = demo_day(FIRST - timedelta(days=back), seed)
            entries += store.append(made.events)
            points += store.add_track(made.track, DEVICE, ZoneInfo(ZONE))
    if as_json:
        emit({"day": FIRST.isoformat(), "new_entries": entries, "new_track_points": points})
        return
    console().print(
        f"{entries} entries and {points:,} track points are new; "
        f"now: towscope day show {FIRST}, towscope day report {FIRST} -o day.pdf",
        soft_wrap=True,
    )
