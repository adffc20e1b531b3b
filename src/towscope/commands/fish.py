"""`towscope fish`: what a fish weighs, whether it may be kept, whether letting go helps it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from towscope.commands.common import Json, Units, console, emit, system

Name = Annotated[str, typer.Argument(metavar="FISH", help="walleye, pike, laker, ...")]
Length = Annotated[
    str, typer.Argument(metavar="LENGTH", help='Total length: "21.5 in", "54.6 cm".')
]


def register(app: typer.Typer) -> None:
    """Add the commands."""
    fish = typer.Typer(
        help="What a fish weighs, whether you may keep it, how it fares when released.",
        no_args_is_help=True,
        rich_markup_mode=None,
    )
    app.add_typer(fish, name="fish")
    fish.command("weight")(weight)
    fish.command("keep")(keep)
    fish.command("release")(release)
    fish.command("species")(species_list)


def weight(
    name: Name,
    length: Length,
    weighed: Annotated[str, typer.Argument(metavar="[WEIGHT]", help='As weighed: "3.4 lb".')] = "",
    units: Units = "us",
    as_json: Json = False,
) -> None:
    """Weigh a fish by its length; with its weight, say how well fed it is."""
    import towscope as ts

    shown = system(units)
    found = ts.fish.weigh(name, length, weighed or None)
    if as_json:
        emit(found.to_dict())
        return
    from towscope.journal.describe import length as fish_length

    screen = console()
    low, high = (shown.show(each, "mass") for each in found.usual_kg)
    screen.print(
        f"{found.species} {fish_length(found.length_m, shown)}: about "
        f"{shown.show(found.standard_weight_kg, 'mass')} in good condition, mostly {low} to {high}",
        soft_wrap=True,
    )
    if found.size_class:
        screen.print(f"{found.size_class} size ({found.size_class_source})")
    if found.relative_weight is not None:
        share = found.relative_weight * 100
        screen.print(f"weighed, it is {share:.0f} % of its standard weight: {found.condition}")
    waters = f", {found.waters}" if found.waters else ""
    screen.print(f"standard weight after {found.source}{waters}", style="dim", soft_wrap=True)


def keep(
    name: Name,
    length: Length,
    rules: Annotated[Path, typer.Option("--rules", help="Your file of limits (TOML).")],
    water: Annotated[str, typer.Option("--water", help="Which water of the file.")] = "",
    kept: Annotated[int, typer.Option("--kept", min=0, help="Kept today already.")] = 0,
    kept_over: Annotated[int, typer.Option("--kept-over", min=0, help="Of those, long ones.")] = 0,
    as_json: Json = False,
) -> None:
    """Say whether your own limits let you keep a fish; the law is what your water's rules say."""
    import towscope as ts

    found = ts.fish.keep(name, length, rules, water=water, kept=kept, kept_over=kept_over)
    if as_json:
        emit(found.to_dict())
        return
    console().print(repr(found), soft_wrap=True)


def release(
    name: Name,
    depth: Annotated[str, typer.Option("--depth", help='How deep it bit: "31 ft".')] = "",
    surface: Annotated[str, typer.Option("--surface", help='Surface temperature: "74 F".')] = "",
    hook: Annotated[
        str, typer.Option("--hook", help="lip, mouth, gill, eye, throat, stomach or outside.")
    ] = "",
    bled: Annotated[bool, typer.Option("--bled", help="It bled.")] = False,
    ice: Annotated[bool, typer.Option("--ice", help="Caught through the ice.")] = False,
    units: Units = "us",
    as_json: Json = False,
) -> None:
    """Say what published work knows about the chances of a fish that is released."""
    import towscope as ts
    from towscope.journal.phrase_tokens import HOOKED

    system(units)
    found = ts.fish.release(
        name, depth=depth or None, surface=surface or None,
        hook=HOOKED.get(hook.lower(), hook.lower()), bled=bled or None, under_ice=ice,
    )  # fmt: skip
    if as_json:
        emit(found.to_dict())
        return
    screen = console()
    for line in repr(found).splitlines():
        screen.print(line, soft_wrap=True)
    for study in found.studies:
        screen.print(f"  after {study}", style="dim", soft_wrap=True)
    for caution in found.cautions:
        screen.print(caution, style="dim", soft_wrap=True)


def species_list(as_json: Json = False) -> None:
    """List the fish known here, with where their figures come from."""
    import towscope as ts

    known = ts.fish.species()
    if as_json:
        emit({"species": [one.to_dict() for one in known]})
        return
    from rich.table import Table

    table = Table(box=None, pad_edge=False)
    for head in ("fish", "also", "weight from", "after", "stock to trophy, cm"):
        table.add_column(head)
    for one in known:
        table.add_row(
            one.name,
            ", ".join(one.aliases),
            f"{one.weighed_from_m * 100:.0f} cm" if one.weighed_from_m is not None else "",
            one.source or "",
            " ".join(f"{m * 100:.0f}" for m in one.classes_m.values()),
        )
    console().print(table)
