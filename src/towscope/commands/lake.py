"""Commands about a lake: build its bed, ask its depth, find its edges, draw it; water and sky."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from typer.core import TyperCommand, TyperGroup

from towscope import clock
from towscope.commands.common import Json, Units, console, emit, quantity, system
from towscope.commands.passes import passes
from towscope.constants import FOOT, YARD
from towscope.errors import InputError
from towscope.files import folder_there
from towscope.retold import retold

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from contextlib import AbstractContextManager
    from datetime import date

    from towscope.bed.bed import Bed
    from towscope.units import System

Name = Annotated[str, typer.Argument(metavar="NAME", help="The lake's name.")]
Depth = Annotated[str, typer.Option("--depth", help='Depth of the bottom: "31 ft", "9.5 m".')]
MAX_SHOWN = 12
ACRE_FOOT = 4840 * YARD**2 * FOOT  # [m^3]


class SignedCommand(TyperCommand):
    """A command whose arguments may begin with a minus: longitudes west of Greenwich do."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Hide the minus of a bare number from the parser of options, which would take it."""
        signed = [re.sub(r"^-(?=[\d.])", "−", a) for a in args]
        rest: list[str] = super().parse_args(ctx, signed)
        return rest


def register(app: typer.Typer) -> None:
    """Add these commands to the application."""
    lake = typer.Typer(
        cls=TyperGroup,
        help="From soundings to the bottom, its edges, the water above it and the sky over it.",
        no_args_is_help=True,
        rich_markup_mode=None,
        context_settings={"help_option_names": ["-h", "--help"]},
    )
    lake.command()(build)
    lake.command(name="list")(list_lakes)
    lake.command()(show)
    lake.command(cls=SignedCommand)(depth)
    lake.command()(edges)
    lake.command(name="map")(draw)
    lake.command()(passes)
    lake.command()(column)
    lake.command(cls=SignedCommand)(sun)
    lake.command()(demo)
    app.add_typer(lake, name="lake")


def build(
    soundings: Annotated[
        list[Path],
        typer.Argument(
            metavar="SOUNDINGS...",
            help="Files of soundings: CSV, NMEA 0183, GPX, GeoTIFF, ESRI grid, shapefile, "
            "GeoPackage, GeoJSON.",
        ),
    ],
    name: Annotated[str, typer.Option("--name", help="What to call the lake.")],
    depth_unit: Annotated[
        str, typer.Option("--depth-unit", help="Unit of the depths: m, ft or fathom.")
    ] = "",
    sign: Annotated[
        str, typer.Option("--sign", help="down: depths are positive; up: they are negative.")
    ] = "",
    columns: Annotated[
        str, typer.Option("--columns", help="Which column is what: lat=NAME,lon=NAME,depth=NAME.")
    ] = "",
    crs: Annotated[
        str, typer.Option("--crs", help="Coordinate system the file does not name: EPSG:26915.")
    ] = "",
    transducer: Annotated[
        str, typer.Option("--transducer", help='Transducer below the surface: "1 ft".')
    ] = "",
    water: Annotated[
        str,
        typer.Option("--water", help='Correct the speed of sound for this water: "60 degF".'),
    ] = "",
    level: Annotated[
        str, typer.Option("--level", help='Add to every depth for the water level: "0.5 ft".')
    ] = "",
    shoreline: Annotated[
        Path | None,
        typer.Option("--shoreline", help="The shore: polygons, closed lines or lines that join."),
    ] = None,
    islands: Annotated[
        str,
        typer.Option("--islands", help="What a polygon inside the shore's is: land or water."),
    ] = "",
    surface: Annotated[
        str,
        typer.Option("--surface", help='Height of the water, for heights of the bottom: "432 m".'),
    ] = "",
    box: Annotated[
        str, typer.Option("--box", help="Read only SOUTH,WEST,NORTH,EAST of a large grid.")
    ] = "",
    cell: Annotated[
        str, typer.Option("--cell", help='Cell size: "2 m"; else as tracks allow.')
    ] = "",
    keep_spikes: Annotated[
        bool, typer.Option("--keep-spikes", help="Do not look for spikes.")
    ] = False,
    keep_strays: Annotated[
        bool, typer.Option("--keep-strays", help="Do not look for stray tracks.")
    ] = False,
    units: Units = "us",
    as_json: Json = False,
) -> None:
    """Build a lake's bottom from soundings, and say what was dropped and how wrong it may be."""
    shown = system(units)
    from towscope.bed import store
    from towscope.bed.building import Cleaning
    from towscope.bed.building import build as make
    from towscope.bed.shoreline import read_shoreline
    from towscope.bed.soundings import Reading, checked_unit, columns_of

    store.free(name)
    if sign not in ("", "down", "up"):
        raise InputError(f'--sign "{sign}": expected down or up')
    how = Reading(
        unit=checked_unit(depth_unit or None),
        down=None if not sign else sign == "down",
        columns=columns_of(columns, "--columns"),
        crs=crs or None,
        transducer=_length(transducer, "--transducer"),
        box=_box(box) if box else None,
        surface=_length(surface, "--surface") if surface else None,
    )
    size = _length(cell, "--cell") if cell else None
    if size is not None and not 0.1 <= size <= 1000.0:
        raise InputError(f'--cell "{cell}": expected 0.1 to 1000 m')
    cleaning = Cleaning(
        quantity(water, "temperature", "--water") if water else None,
        _length(level, "--level"),
        not keep_spikes,
        not keep_strays,
    )
    with _telling(quiet=as_json) as told:
        shore = None
        if shoreline is not None:
            told(f"reading {shoreline.name}")
            shore = read_shoreline(shoreline, crs or None, islands or None)
        where, facts = make(
            name, soundings, how, cleaning, told, shore=shore, cell=size, ask_unit=_ask_unit
        )
    if as_json:
        emit({"name": name, "folder": str(where), **_figures(store.facts(name)), **facts})
        return
    _report(name, store.facts(name), shown)


def _ask_unit(name: str) -> str | None:
    """Ask the user for the unit of the depths where somebody sits at the keyboard."""
    import sys

    if not (sys.stdin.isatty() and sys.stderr.isatty()):
        return None
    from towscope.bed.soundings import unit_named

    while True:
        said = typer.prompt(f"{name}: are its depths in metres or feet?", default="m", err=True)
        if unit := unit_named(said):
            return unit


def _report(name: str, facts: dict[str, Any], shown: System) -> None:
    out = console()
    runs = f" on {facts['runs']:,} runs" if facts.get("ordered", True) else ""
    out.print(f"{name}: built from {facts['soundings']:,} soundings{runs}")
    for line in _beyond(facts, shown):
        out.print(f"  {line}")
    _print_figures(facts, shown)
    counts = facts.get("dropped_counts", {})
    if counts:
        from towscope.bed.cleaning import REASONS

        total = sum(counts.values())
        out.print(f"\nDropped {total:,} sounding{'s' if total != 1 else ''}:")
        for reason, count in counts.items():
            mine = [d for d in facts["dropped"] if d["reason"] == reason]
            rows = ", ".join(f"{d['row']}" for d in mine[:MAX_SHOWN])
            more = f" and {count - MAX_SHOWN:,} more" if count > MAX_SHOWN else ""
            out.print(f"  {count:,} {reason} ({REASONS[reason]}): row {rows}{more}")
    else:
        out.print("\nDropped none.")
    for note in facts.get("notes", []):
        out.print(f"Note: {retold(note)}")


def _print_figures(facts: dict[str, Any], shown: System) -> None:
    out = console()

    def length(value: float) -> str:
        return shown.show(value, "length", 1)

    out.print(
        f"  water {shown.show(facts['area_m2'], 'area', 1)}, deepest sounding "
        f"{length(facts['deepest_sounding_m'])}, mean depth "
        f"{length(facts['mean_depth_m'])}, volume {_volume(facts['volume_m3'], shown)}"
    )
    ordered = facts.get("ordered", True)
    out.print(
        f"  cells of {length(facts['cell_m'])}; {'runs' if ordered else 'soundings'} about "
        f"{length(facts['between_runs_m'])} apart"
    )
    if facts.get("left_out_rmse_m") is not None:
        what = "a run was left out, the bed missed it" if ordered else (
            "a patch was left out, the bed missed its soundings"
        )  # fmt: skip
        out.print(
            f"  where {what} by {length(facts['left_out_rmse_m'])} (rms); its 90 % band held "
            f"{100 * facts['band_90_coverage']:.0f} %"
        )
    if not facts.get("shoreline"):
        out.print(
            "  no shoreline was given: the water ends where the bed runs out to depth 0 near the "
            "outermost soundings"
        )


def _volume(cubic_metres: float, shown: System) -> str:
    """Say a lake's volume as its kind of surveys does: acre-feet, or cubic metres."""
    if shown.name == "us":
        return f"{cubic_metres / ACRE_FOOT:,.0f} acre-feet"
    return f"{cubic_metres:,.0f} m³"


def _flat(square_metres: float, shown: System) -> str:
    """Say the area of a hump or flat: small ones in square feet or metres."""
    if square_metres >= 4000.0:
        return shown.show(square_metres, "area", 1)
    if shown.name == "us":
        return f"{square_metres / FOOT**2:,.0f} sq ft"
    return f"{square_metres:,.0f} m²"


def _beyond(facts: dict[str, Any], shown: System) -> list[str]:
    """Say where the bed goes beyond what was sounded."""
    from towscope.bed.bed import guesses

    return guesses(facts, lambda v: shown.show(v, "length", 1), lambda v: shown.show(v, "area", 1))


def list_lakes(as_json: Json = False) -> None:
    """List the saved lakes."""
    from towscope.bed import store

    names = store.names()
    if as_json:
        emit({"lakes": names})
        return
    console().print("\n".join(names) or "no lakes yet: towscope lake build SOUNDINGS --name NAME")


def show(name: Name, units: Units = "us", as_json: Json = False) -> None:
    """Show a lake's figures and what went into it."""
    shown = system(units)
    from towscope.bed import store

    facts = store.facts(name)
    if as_json:
        emit(_figures(facts))
        return
    _report(str(facts["name"]), facts, shown)


def _figures(facts: dict[str, Any]) -> dict[str, Any]:
    """Give what is kept about a lake, the long list of what was dropped aside."""
    first = ("name", "area_m2", "volume_m3", "max_depth_m", "mean_depth_m", "cell_m", "crs")
    rest = [k for k in facts if k not in (*first, "dropped", "format")]
    return {k: facts.get(k) for k in (*first, *rest)}


def depth(
    name: Name,
    latitude: Annotated[str, typer.Argument(metavar="LAT", help="Latitude: 48.4012.")],
    longitude: Annotated[str, typer.Argument(metavar="LON", help="Longitude: -91.8961.")],
    units: Units = "us",
    as_json: Json = False,
) -> None:
    """Tell how deep it is at a place, and how sure that is."""
    shown = system(units)
    lat, lon = _degrees(latitude, "LAT"), _degrees(longitude, "LON")
    from towscope.bed import store
    from towscope.bed.bed import band_90

    value, sd = store.load(name).depth_at(lat, lon)
    low, high = band_90(value, sd)
    if as_json:
        emit({"depth_m": value, "sd_m": sd, "interval_90_m": [low, high]})
        return
    console().print(
        f"{shown.show(value, 'length', 1)} deep, nine times in ten "
        f"{shown.range(low, high, 'length', 1)}"
    )


def edges(
    name: Name,
    depth: Depth,
    steep: Annotated[
        str, typer.Option("--steep", help="Least slope of an edge: 10 %, or 6 deg.")
    ] = "10 %",
    shortest: Annotated[str, typer.Option("--shortest", help="Shortest edge.")] = "30 m",
    output: Annotated[
        Path | None, typer.Option("-o", "--output", help="Write the GeoJSON to a file.")
    ] = None,
    units: Units = "us",
    as_json: Json = False,
) -> None:
    """Find the edges, points, inside turns, humps and flats at a depth; the best first."""
    shown = system(units)
    at = quantity(depth, "length", "--depth")
    least = _slope(steep)
    short = _length(shortest, "--shortest")
    if output is not None:
        if output.suffix.lower() not in (".geojson", ".json"):
            raise InputError(f'-o "{output.name}": expected a name ending in .geojson')
        folder_there(output)
    from towscope.bed import store
    from towscope.bed.features import find, geojson

    with _telling(quiet=as_json) as told:
        bed = store.load(name)
        told("looking for edges")
        _reached(bed, at, shown)
        found = find(bed, at, steep=least, shortest=short)
    answer = geojson(bed, found, name)
    if output is not None:
        import json

        from towscope.files import write_whole

        write_whole(output, json.dumps(answer, indent=1).encode() + b"\n")
    if as_json:
        emit(answer)
        return
    _print_edges(answer, shown)


def _reached(bed: Bed, depth: float, shown: System) -> None:
    from towscope.passes.planning import reached

    reached(bed, depth, lambda v: shown.show(v, "length", 1))


def _print_edges(answer: dict[str, Any], shown: System) -> None:
    from rich import box
    from rich.table import Table

    def length(value: float, places: int = 0) -> str:
        return shown.show(value, "length", places)

    out = console()
    kinds: dict[str, list[dict[str, Any]]] = {}
    for feature in answer["features"]:
        kinds.setdefault(feature["properties"]["kind"], []).append(feature)
    out.print(
        f"{answer['lake']} at {length(answer['depth_m'], 1)}: {answer['edges']} edge"
        f"{'s' if answer['edges'] != 1 else ''}, {length(answer['edge_length_m'])} in all"
    )
    if kinds.get("edge"):
        table = Table(box=box.SIMPLE, header_style="")
        for head in ("edge", "long", "slope", "from", "to", "known to", "middle"):
            table.add_column(head, justify="left" if head == "middle" else "right")
        for feature in kinds["edge"][:MAX_SHOWN]:
            p, line = feature["properties"], feature["geometry"]["coordinates"]
            lon, lat = line[len(line) // 2]
            table.add_row(
                str(p["rank"]), length(p["length_m"]), f"{p['slope_deg']:.0f}°",
                length(p["depth_20_m_up_m"]), length(p["depth_20_m_down_m"]),
                f"± {length(p['across_sd_m'])}", f"{lat:.5f}, {lon:.5f}",
            )  # fmt: skip
        out.print(table)
        out.print(
            f"from, to: bottom {length(20.0)} up and down the slope; "
            "known to: the line's own error\n"
        )
    for kind in ("point", "inside turn", "hump", "flat"):
        for feature in kinds.get(kind, [])[:MAX_SHOWN]:
            p = feature["properties"]
            if "latitude" in p:
                lat, lon = p["latitude"], p["longitude"]
                what = (
                    f"top {length(p['top_depth_m'], 1)}, rises {length(p['rise_m'], 1)}"
                    if kind == "hump"
                    else f"{length(p['top_depth_m'], 1)} and down {length(p['depth_range_m'], 1)}"
                )
                what += f", {_flat(p['area_m2'], shown)}"
            else:
                lon, lat = feature["geometry"]["coordinates"]
                what = f"turns {p['turn_deg']:.0f}°"
            out.print(f"{kind}: {what} at {lat:.5f}, {lon:.5f}")


def draw(
    name: Name,
    output: Annotated[Path, typer.Option("-o", "--output", help="The picture: .png, .pdf, .svg.")],
    depth: Annotated[str, typer.Option("--depth", help="Draw the edges at this depth.")] = "",
    units: Units = "us",
    as_json: Json = False,
) -> None:
    """Draw the lake's map with contours at round depths; edges too where a depth is given."""
    shown = system(units)
    at = quantity(depth, "length", "--depth") if depth else None
    from towscope.bed import store
    from towscope.sheets import lake_map

    if output.suffix.lower() not in lake_map.FORMATS:
        raise InputError(
            f'-o "{output.name}": expected a name ending in {", ".join(lake_map.FORMATS)}'
        )
    folder_there(output)
    with _telling(quiet=as_json) as told:
        bed = store.load(name)
        found = None
        title = str(bed.facts.get("name", name))
        if at is not None:
            from towscope.bed.features import find

            told("looking for edges")
            _reached(bed, at, shown)
            found = find(bed, at)
            title += f": edges at {shown.show(at, 'length')}"
        told("drawing")
        lake_map.save(lake_map.draw(bed, shown, title=title, structure=found), output)
    if as_json:
        emit({"file": str(output)})
        return
    console().print(f"{output} written")


def column(
    profile: Annotated[
        str,
        typer.Argument(
            metavar="PROFILE",
            help='A CSV file of depth and temperature, or typed in: "0 ft 72 degF, 20 ft 70 degF".',
        ),
    ],
    depth: Annotated[
        str, typer.Option("--depth", help="Where the lure is to run, to be warned about.")
    ] = "",
    units: Units = "us",
    as_json: Json = False,
) -> None:
    """Find the thermocline in a temperature profile."""
    shown = system(units)
    wanted = quantity(depth, "length", "--depth") if depth else None
    if wanted is not None and wanted < 0.0:
        raise InputError(f'--depth "{depth}": expected a depth below the surface')
    from towscope.sky import thermocline as water

    # A reading has a number and a blank in it; a file's name ends in a kind.
    typed = (
        not re.search(r"\.(csv|txt|tsv)$", profile, re.IGNORECASE) and not Path(profile).is_file()
    )
    found_in = water.parse(profile) if typed else water.read(Path(profile))
    found = water.layers(found_in)
    if as_json:
        emit(water.figures(found_in, found, wanted))
        return
    said = water.warning_in(found, wanted, shown) if wanted is not None else None
    out = console()
    for note in found_in.notes:
        out.print(f"Note: {retold(note)}")
    if found.thermocline is None or found.top is None or found.bottom is None:
        out.print("mixed from top to bottom: no thermocline")
    else:
        out.print(
            f"thermocline at {shown.show(found.thermocline, 'length', 1)}; fast change from "
            f"{shown.range(found.top, found.bottom, 'length', 1)}"
        )
        out.print(f"by {water.METHOD}")
    if said is not None:
        out.print(f"Warning: {said}")
    elif wanted is not None and found.thermocline is not None:
        out.print(f"{shown.show(wanted, 'length', 1)} is above it")


def sun(
    latitude: Annotated[str, typer.Argument(metavar="LAT", help="Latitude: 48.4.")],
    longitude: Annotated[str, typer.Argument(metavar="LON", help="Longitude: -91.9.")],
    on: Annotated[str, typer.Option("--date", help="The day: 2026-08-09; else today.")] = "",
    tz: Annotated[
        str, typer.Option("--tz", help="Time zone: America/Chicago, UTC; else the boat's.")
    ] = "",
    as_json: Json = False,
) -> None:
    """Tell sunrise, sunset, the low light between, and the moon, for a place and a day."""
    lat, lon = _degrees(latitude, "LAT"), _degrees(longitude, "LON")
    from towscope.journal.times import local_zone, zone
    from towscope.sky import sun as sky

    where = zone(tz) if tz else local_zone()[0]
    when = _date(on, where)
    found = sky.day(lat, lon, when, where)
    if as_json:
        emit({"date": when.isoformat(), "latitude": lat, "longitude": lon, **sky.figures(found)})
        return
    out = console()
    out.print(f"{when:%A} {when.isoformat()} at {lat:.4f}, {lon:.4f} ({found.noon.tzname()})")
    for line in sky.words(found, when):
        out.print(line)
    if note := sky.another_clock(found):
        out.print(f"Note: {retold(note)}")


def demo(
    output: Annotated[
        Path | None, typer.Option("-o", "--output", help="Write the sounder log (.csv) and stop.")
    ] = None,
    units: Units = "us",
    as_json: Json = False,
) -> None:
    """Build the invented lake Long Slate from an invented sounder log."""
    shown = system(units)
    from towscope.demo import long_slate as slate
    from towscope.files import write_whole

    if output is not None:
        if output.suffix.lower() != ".csv":
            raise InputError(f'-o "{output.name}": expected a name ending in .csv')
        folder_there(output)
        write_whole(output, slate.log_csv().encode())
        if as_json:
            emit({"file": str(output)})
        else:
            console().print(f"{output} written")
        return
    import tempfile

    with tempfile.TemporaryDirectory(prefix="towscope-") as folder:
        log = Path(folder) / "long-slate.csv"
        log.write_bytes(slate.log_csv().encode())
        build([log], slate.NAME, units=shown.name, as_json=as_json)


def _box(text: str) -> tuple[float, float, float, float]:
    try:
        south, west, north, east = (float(v.replace("−", "-")) for v in text.split(","))
    except ValueError:
        raise InputError(f'--box "{text}": expected SOUTH,WEST,NORTH,EAST in degrees') from None
    if not (-90 <= south < north <= 90 and -180 <= west < east <= 180):
        raise InputError(f'--box "{text}": expected SOUTH below NORTH and WEST before EAST')
    return south, west, north, east


def _length(text: str, option: str) -> float:
    return quantity(text, "length", option) if text else 0.0


def _slope(text: str) -> float:
    import math

    if re.search(r"deg|°", text):
        angle = quantity(text, "angle", "--steep")
        value = math.tan(math.radians(angle)) if 0.0 <= angle < 89.0 else -1.0
    else:
        value = quantity(text, "ratio", "--steep")
    if not 0.0 < value <= 10.0:
        raise InputError(f'--steep "{text}": expected a slope such as "10 %" or "6 deg"')
    return value


def _degrees(text: str, name: str) -> float:
    import math

    limit = 90.0 if name == "LAT" else 180.0
    try:
        value = float(text.strip().rstrip("°").replace("−", "-"))
    except ValueError:
        value = math.nan
    text = text.replace("−", "-")
    if not math.isfinite(value):
        raise InputError(f'{name} "{text}": expected degrees such as 48.4012 or -91.8961')
    if abs(value) > limit:
        swapped = "; latitude comes first" if name == "LAT" and abs(value) <= 180.0 else ""
        raise InputError(f'{name} "{text}": expected {-limit:g} to {limit:g} degrees{swapped}')
    return value


def _date(text: str, where: Any) -> date:
    from datetime import date

    if not text:
        return clock.now(where).date()
    try:
        found = date.fromisoformat(text.strip())
    except ValueError:
        raise InputError(f'--date "{text}": expected a day such as 2026-08-09') from None
    if not 1900 <= found.year <= 2100:
        raise InputError(f'--date "{text}": expected a year from 1900 to 2100')
    return found


def _telling(*, quiet: bool) -> AbstractContextManager[Callable[[str], None]]:
    """Show on standard error what is being done, while it is, unless a program is reading."""
    from contextlib import contextmanager

    @contextmanager
    def silent() -> Iterator[Callable[[str], None]]:
        yield lambda _: None

    @contextmanager
    def spoken() -> Iterator[Callable[[str], None]]:
        from time import monotonic

        screen = console(stderr=True)
        start = monotonic()
        with screen.status("starting") as status:
            yield lambda line: status.update(f"{line} ({monotonic() - start:.0f} s)")

    return silent() if quiet else spoken()
