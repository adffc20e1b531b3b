"""`towscope pattern` and `towscope next`: what works, how sure that is, and what to run next."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from towscope.commands.common import Json, Units, console, emit, quantity, system
from towscope.commands.journalling import Place, effort_of, store_at
from towscope.errors import InputError, NoAnswer

if TYPE_CHECKING:
    from towscope.effort.stint import Stint
    from towscope.pattern.binning import Grain
    from towscope.pattern.compare import Pattern
    from towscope.pattern.model import Priors
    from towscope.pattern.next import Aboard, Outlook
    from towscope.units import System

Stints = Annotated[
    Path | None,
    typer.Option("--stints", metavar="FILE", help="Effort from a CSV or JSON Lines file instead."),
]
Species = Annotated[str, typer.Option("--species", help="Count only this fish.")]
Since = Annotated[str, typer.Option("--since", metavar="DAY", help='From this day: "2026-08-01".')]
Until = Annotated[str, typer.Option("--until", metavar="DAY", help="To this day, itself included.")]
HalfLife = Annotated[
    str,
    typer.Option(
        "--half-life", metavar="TIME", help='A day this old counts half: "365 days", none.'
    ),
]
NoCustoms = Annotated[bool, typer.Option("--no-customs", help="Leave the rules of thumb out.")]


def register(app: typer.Typer) -> None:
    """Add the commands."""
    app.command("pattern")(pattern)
    app.command("next")(what_next)


def pattern(
    by: Annotated[
        str,
        typer.Option(
            "--by",
            help="What to compare, with commas: lure, body, size, colour, depth, speed, light, "
            "temperature, hour, place, rod.",
        ),
    ] = "lure,size,colour,depth",
    plot: Annotated[
        Path | None, typer.Option("--plot", metavar="FILE", help="Draw it: .png, .pdf or .svg.")
    ] = None,
    stints: Stints = None,
    since: Since = "",
    until: Until = "",
    species: Species = "",
    half_life: HalfLife = "365 days",
    no_customs: NoCustoms = False,
    journal: Place = "",
    units: Units = "us",
    as_json: Json = False,
) -> None:
    """Say what works: catch rates with 90 % intervals, comparisons, and what can't be known."""
    shown = system(units)
    names = [name.strip() for name in by.split(",") if name.strip()]
    names = list(dict.fromkeys("colour" if n == "color" else n for n in names))
    if not names:
        raise InputError('--by "": expected names such as lure,size,depth')
    priors = _priors(half_life, no_customs)
    effort = _effort(stints, journal, since, until)
    from towscope.pattern.compare import pattern as find

    found = find(effort, names, grain=_grain(shown), species=species or None, priors=priors)
    if plot is not None:
        from towscope.sheets.pattern import draw

        draw(found, shown, plot, title=f"Pattern: {species}" if species else "Pattern")
    if as_json:
        from towscope.pattern.answers import pattern_figures

        emit({**pattern_figures(found, shown), "plot": str(plot) if plot else None})
    else:
        _show_pattern(found, shown, plot)


def _priors(half_life: str, no_customs: bool) -> Priors:
    import math

    from towscope.pattern.answers import priors_of

    days = math.inf
    if half_life.strip().lower() != "none":
        text = half_life.replace("days", "d").replace("day", "d").strip()
        if text.endswith("d"):
            text = text[:-1].strip()
            try:
                days = float(text)
            except ValueError:
                days = math.nan
        else:
            days = quantity(half_life, "time", "--half-life") / 86_400.0
        if not 0.5 <= days < 1e6:
            raise InputError(
                f'--half-life "{half_life}": expected half a day or more ("60 days"), or none'
            )
    return priors_of(days, customs=not no_customs)


def _grain(shown: System) -> Grain:
    from towscope.pattern.binning import METRIC_GRAIN, US_GRAIN

    return METRIC_GRAIN if shown.name == "metric" else US_GRAIN


def _effort(stints: Path | None, journal: str, since: str, until: str) -> list[Stint]:
    from datetime import date

    def day(text: str, option: str) -> date | None:
        if not text:
            return None
        try:
            return date.fromisoformat(text)
        except ValueError:
            raise InputError(f'{option} "{text}": expected a date such as 2026-08-14') from None

    first, last = day(since, "--since"), day(until, "--until")
    if first and last and last < first:
        raise InputError(f"--until {last} is before --since {first}")
    if stints is not None:
        from towscope.pattern.files import read_stints

        effort = read_stints(stints)
        effort = [
            s
            for s in effort
            if (first is None or s.day >= first.isoformat())
            and (last is None or s.day <= last.isoformat())
        ]
    else:
        with store_at(journal, create=False) as store:
            effort = effort_of(store, None, first=first, last=last)
    if not any(s.hours > 0.0 or s.catches for s in effort):
        raise NoAnswer("no line was in the water in that time, so there is no pattern to show")
    return effort


def _show_pattern(found: Pattern, shown: System, plot: Path | None) -> None:
    from rich.table import Table

    from towscope.journal.describe import EARLY_HOURS
    from towscope.pattern.words import NOUN, comparison, label, limits, rate_text

    out = console()
    total = found.total
    days = "1 day" if found.days == 1 else f"{found.days} days"
    rate = (
        "too early to say how good that is"
        if total.hours < EARLY_HOURS
        else f"{rate_text(total.per_hour)} per rod-hour, "
        f"{rate_text(total.low)} to {rate_text(total.high)}"
    )
    out.print(f"{total.catches} fish in {total.hours:.1f} rod-hours on {days}: {rate}.")
    for name, levels in found.levels.items():
        table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
        table.add_column(f"by {name}", no_wrap=True)
        for head in ("fish", "rod-hours", "per rod-hour, fair", "90 %", "best"):
            table.add_column(head, justify="right")
        for x in levels:
            table.add_row(
                label(x, shown), str(x.raw.catches), f"{x.raw.hours:.1f}", rate_text(x.per_hour),
                f"{rate_text(x.low)} to {rate_text(x.high)}", f"{100 * x.best:.0f} %",
            )  # fmt: skip
        out.print()
        out.print(table)
        for p in found.pairs[name][:3]:
            if p.probability >= 0.75 or len(levels) == 2:
                out.print("  " + comparison(p, levels, shown))
        if found.pairs[name] and found.pairs[name][0].probability < 0.75 and len(levels) > 2:
            out.print(
                f"  No {NOUN.get(name, name)} stands out: no comparison is better than 75 % sure."
            )
    if found.customs:
        out.print()
        out.print("Rules of thumb, and how likely they hold here (before any fish, now):")
        for c in found.customs:
            out.print(f"  {c.text}: {100 * c.believed:.0f} %, {100 * c.probability:.0f} %")
    said = limits(found, shown)
    if said:
        out.print()
        out.print("What can't be known from this:")
        for line in said:
            out.print(f"  {line}")
    if plot is not None:
        out.print(f"\nDrawn to {plot}.")


def what_next(
    aboard: Annotated[
        Path | None,
        typer.Option("--aboard", metavar="FILE", help="Rods and lures: TOML with [aboard]."),
    ] = None,
    lock: Annotated[
        list[str] | None, typer.Option("--lock", metavar="ROD", help="Leave this rod; may repeat.")
    ] = None,
    left: Annotated[
        str, typer.Option("--left", metavar="TIME", help='Time left to fish: "3 h".')
    ] = "3 h",
    light: Annotated[str, typer.Option("--light", help="The sky now, if not as last noted.")] = "",
    water: Annotated[
        str, typer.Option("--water", metavar="TEMP", help='Surface temperature now: "70 degF".')
    ] = "",
    stints: Stints = None,
    species: Species = "",
    half_life: HalfLife = "365 days",
    no_customs: NoCustoms = False,
    journal: Place = "",
    units: Units = "us",
    as_json: Json = False,
) -> None:
    """Say what each rod should run for the next half hour, and why."""
    shown = system(units)
    hours = quantity(left, "time", "--left") / 3600.0
    if not 0.0 < hours <= 48.0:
        raise InputError(f'--left "{left}": expected over nothing and up to 48 h')
    temp = quantity(water, "temperature", "--water") if water else None
    priors = _priors(half_life, no_customs)
    effort: list[Stint] = []
    now_s: float | None = None
    if stints is not None:
        from towscope.pattern.files import read_stints

        effort = read_stints(stints)
    else:
        effort, now_s = _journal_effort(journal)
    from towscope.pattern.next import suggest, with_lock

    crew = with_lock(_aboard(aboard, effort, journal, from_file=stints is not None), lock or [])
    outlook = suggest(
        effort, crew, hours_left=hours, now_s=now_s, light=light or None, temp_c=temp,
        grain=_grain(shown), species=species or None, priors=priors,
    )  # fmt: skip
    if as_json:
        from towscope.pattern.answers import outlook_figures

        emit(outlook_figures(outlook))
    else:
        _show_outlook(outlook)


def _journal_effort(journal: str) -> tuple[list[Stint], float | None]:
    from towscope.effort.fished import live_now

    with store_at(journal, create=False) as store:
        effort = effort_of(store, None)
    # while the day goes on the present counts; looked at later, the end of its last day does
    return effort, live_now(effort)


def _aboard(path: Path | None, effort: list[Stint], journal: str, *, from_file: bool) -> Aboard:
    """Give the rods and lures: from the file, else what the journal knows."""
    from towscope.pattern.available import aboard_of

    given = None
    if path is not None:
        from towscope.pattern.files import read_aboard

        given = read_aboard(path)
        if given.rods and given.lures:
            return given
    state = None
    if not from_file and not (given and given.rods):
        with store_at(journal, create=False) as store:
            day = store.last_day()
            state = store.day(day) if day else None
        if state is None:
            raise NoAnswer(
                "no line is out; log one with `towscope log out`, or list your rods and lures: "
                "--aboard FILE"
            )
    return aboard_of(effort, state, given)


def _show_outlook(outlook: Outlook) -> None:
    from towscope.pattern.words import rate_text

    out = console()
    wide = max(len(a.rod) for a in outlook.rods)
    for a in outlook.rods:
        mark = "change" if a.change else "  keep"
        out.print(f"{mark}  {a.rod:{wide}}  {a.lure}: {a.reason}", soft_wrap=True)
    each = (f"{a.rod} {rate_text(a.low)} to {rate_text(a.high)} an hour" for a in outlook.rods)
    out.print(
        f"About {outlook.fish:.1f} fish to expect in the half hour ({', '.join(each)}).",
        soft_wrap=True,
    )
