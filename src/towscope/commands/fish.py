"""`towscope fish`: what a fish weighs, whether it may be kept, whether letting go helps it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from towscope.commands.common import Json, Units, console, emit, quantity, system
from towscope.errors import InputError, NoAnswer

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
    from towscope.fish import USUAL, find_species
    from towscope.fish.figures import weight_figures
    from towscope.journal.describe import length as fish_length

    shown = system(units)
    species = find_species(name)
    metres = quantity(length, "length", "LENGTH")
    scales = quantity(weighed, "mass", "WEIGHT") if weighed else None
    found = weight_figures(species, metres, scales)
    if as_json:
        emit(found)
        return
    screen = console()
    standard, part = found["standard_weight_kg"], found["relative_weight"]
    low, high = (shown.show(standard * f, "mass") for f in USUAL)
    screen.print(
        f"{species.name} {fish_length(metres, shown)}: about {shown.show(standard, 'mass')} "
        f"in good condition, mostly {low} to {high}",
        soft_wrap=True,
    )
    if found["size_class"]:
        screen.print(f"{found['size_class']} size ({found['size_class_source']})")
    if part is not None:
        screen.print(
            f"weighed, it is {part * 100:.0f} % of its standard weight: {found['condition']}"
        )
    waters = f", {found['waters']}" if found["waters"] else ""
    screen.print(f"standard weight after {found['source']}{waters}", style="dim", soft_wrap=True)


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
    from towscope.fish import find_species, may_keep, read_rules

    species = find_species(name)
    metres = quantity(length, "length", "LENGTH")
    waters = read_rules(rules)
    if not water and len(waters) == 1:
        water = next(iter(waters))
    if water not in waters:
        raise InputError(f'--water "{water}": the file has {", ".join(waters) or "none"}')
    rule = waters[water].get(species.name)
    if rule is None:
        raise NoAnswer(f"your file has nothing on {species.name} on {water}; see the water's rules")
    may, why = may_keep(rule, metres, kept=kept, kept_over=kept_over)
    if as_json:
        emit(
            {
                "may_keep": may,
                "why": why,
                "water": water,
                "species": species.name,
                "length_m": metres,
                "source": rule.source,
                "checked": rule.checked,
            }
        )
        return
    console().print(
        f"{'may be kept' if may else 'release it'}: {why} (your limits for {water}, from "
        f"{rule.source}, checked {rule.checked})",
        soft_wrap=True,
    )


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
    system(units)
    from towscope.fish import find_species
    from towscope.fish.figures import release_figures
    from towscope.journal.phrase_parser import HOOKS

    advice = release_figures(
        find_species(name),
        depth_m=quantity(depth, "length", "--depth") if depth else None,
        surface_temp_c=quantity(surface, "temperature", "--surface") if surface else None,
        hook=HOOKS.get(hook.lower(), hook.lower()) or None,
        bled=bled or None,
        under_ice=ice,
    )
    if as_json:
        emit(advice)
        return
    screen = console()
    screen.print(advice["summary"], soft_wrap=True)
    for reason in advice["reasons"]:
        screen.print(f"- {reason}", soft_wrap=True)
    for study in advice["studies"]:
        screen.print(f"  after {study}", style="dim", soft_wrap=True)
    for caution in advice["cautions"]:
        screen.print(caution, style="dim", soft_wrap=True)


def species_list(as_json: Json = False) -> None:
    """List the fish known here, with where their figures come from."""
    from towscope.fish import CLASSES, species_table

    if as_json:
        emit({"species": [_plain(one, CLASSES) for one in species_table().values()]})
        return
    from rich.table import Table

    table = Table(box=None, pad_edge=False)
    for head in ("fish", "also", "weight from", "after", "stock to trophy, cm"):
        table.add_column(head)
    for one in species_table().values():
        law = one.weight
        table.add_row(
            one.name,
            ", ".join(one.aliases),
            f"{law.from_m * 100:.0f} cm" if law else "",
            law.source if law else "",
            " ".join(f"{m * 100:.0f}" for m in one.classes_m),
        )
    console().print(table)


def _plain(one: Any, classes: tuple[str, ...]) -> dict[str, Any]:
    law = one.weight
    return {
        "name": one.name,
        "latin": one.latin,
        "aliases": list(one.aliases),
        "intercept": law.intercept if law else None,
        "slope": law.slope if law else None,
        "holds_from_m": law.from_m if law else None,
        "source": law.source if law else None,
        "waters": law.waters if law else None,
        "classes_m": dict(zip(classes, one.classes_m, strict=False)),
    }
