"""`towscope pattern` and `towscope next`: what works, how sure that is, and what to run next."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from towscope.commands.common import Json, Units, console, emit, system
from towscope.commands.journalling import Place, journal_at

if TYPE_CHECKING:
    from towscope.pattern.answers import PatternAnswer

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
    from towscope.answers import journal_pattern as library

    shown = system(units)
    asked: dict[str, Any] = {
        "by": by, "species": species, "half_life": half_life, "customs": not no_customs,
    }  # fmt: skip
    if stints is not None:
        found = library.pattern_of(library.stints_in(stints, since, until), **asked)
    else:
        with journal_at(journal, create=False) as book:
            found = book.pattern(since=since, until=until, **asked)
    if plot is not None:
        from towscope.sheets.pattern import draw

        draw(found, shown, plot, title=f"Pattern: {species}" if species else "Pattern")
    if as_json:
        emit({**found.to_dict(), "plot": str(plot) if plot else None})
    else:
        _show_pattern(found, plot)


def _show_pattern(found: PatternAnswer, plot: Path | None) -> None:
    from rich.table import Table

    from towscope.journal.describe import EARLY_HOURS
    from towscope.pattern.words import NOUN, rate_text

    out = console()
    if found.rod_hours < EARLY_HOURS:
        days = "1 day" if found.days == 1 else f"{found.days} days"
        out.print(
            f"{found.catches} fish in {found.rod_hours:.1f} rod-hours on {days}: too early to say "
            "how good that is."
        )
    else:
        out.print(f"{found.head}.")
    for name, levels in found.by.items():
        table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
        table.add_column(f"by {name}", no_wrap=True)
        for head in ("fish", "rod-hours", "per rod-hour, fair", "90 %", "best"):
            table.add_column(head, justify="right")
        for x in levels:
            low, high = (rate_text(v) for v in x["interval_90"])
            table.add_row(
                x["level"], str(x["catches"]), f"{x['rod_hours']:.1f}",
                rate_text(x["per_rod_hour"]), f"{low} to {high}",
                f"{100 * x['probability_best']:.0f} %",
            )  # fmt: skip
        out.print()
        out.print(table)
        pairs = [p for p in found.comparisons if p["by"] == name]
        for p in pairs[:3]:
            if p["probability"] >= 0.75 or len(levels) == 2:
                out.print("  " + p["text"])
        if pairs and pairs[0]["probability"] < 0.75 and len(levels) > 2:
            out.print(
                f"  No {NOUN.get(name, name)} stands out: no comparison is better than 75 % sure."
            )
    if found.customs:
        out.print()
        out.print("Rules of thumb, and how likely they hold here (before any fish, now):")
        for c in found.customs:
            before, now = (100 * c[k] for k in ("probability_before", "probability"))
            out.print(f"  {c['text']}: {before:.0f} %, {now:.0f} %")
    if found.cannot_know:
        out.print()
        out.print("What can't be known from this:")
        for line in found.cannot_know:
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
    from towscope.answers import journal_pattern as library

    system(units)
    asked: dict[str, Any] = {
        "aboard": aboard, "lock": lock or [], "left": left, "light": light,
        "water": water or None, "species": species, "half_life": half_life,
        "customs": not no_customs,
    }  # fmt: skip
    if stints is not None:
        found = library.next_of(library.stints_in(stints), **asked)
    else:
        with journal_at(journal, create=False) as book:
            found = book.next(**asked)
    if as_json:
        emit(found.to_dict())
        return
    for line in repr(found).splitlines():
        console().print(line, soft_wrap=True)
