"""Commands about a lake: build its bed, ask its depth, find its edges, draw it; water and sky."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from typer.core import TyperCommand, TyperGroup

from towscope.commands.common import Json, Units, console, emit, system, telling
from towscope.commands.passes import passes
from towscope.constants import FOOT, YARD
from towscope.files import writable
from towscope.retold import retold

if TYPE_CHECKING:
    from towscope.answers.lake_forms import LakeEdges
    from towscope.bed.features import Feature
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
    import towscope as ts

    shown = system(units)
    with telling(quiet=as_json) as progress:
        made = ts.Lake.from_soundings(
            soundings, name=name, depth_unit=depth_unit, sign=sign, columns=columns, crs=crs,
            transducer=transducer or 0.0, water=water or None, level=level or 0.0,
            shoreline=shoreline, islands=islands, surface=surface or None, box=box,
            cell=cell or None, keep_spikes=keep_spikes, keep_strays=keep_strays, progress=progress,
            ask_unit=_ask_unit,
        )  # fmt: skip
        progress(1.0, "writing")
        folder = made.save()
    kept = ts.lake(name)
    if as_json:
        emit({"name": name, "folder": str(folder), **kept.to_dict(), **made.beside})
        return
    _report(name, kept.kept, shown)


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
    import towscope as ts

    names = ts.lakes()
    if as_json:
        emit({"lakes": names})
        return
    console().print("\n".join(names) or "no lakes yet: towscope lake build SOUNDINGS --name NAME")


def show(name: Name, units: Units = "us", as_json: Json = False) -> None:
    """Show a lake's figures and what went into it."""
    import towscope as ts

    shown, lake = system(units), ts.lake(name)
    if as_json:
        emit(lake.to_dict())
        return
    _report(lake.title, lake.kept, shown)


def depth(
    name: Name,
    latitude: Annotated[str, typer.Argument(metavar="LAT", help="Latitude: 48.4012.")],
    longitude: Annotated[str, typer.Argument(metavar="LON", help="Longitude: -91.8961.")],
    units: Units = "us",
    as_json: Json = False,
) -> None:
    """Tell how deep it is at a place, and how sure that is."""
    import towscope as ts

    shown = system(units)
    found = ts.Lake(name).depth_at(latitude, longitude)
    if as_json:
        emit(found.to_dict())
        return
    console().print(
        f"{shown.show(found.depth_m, 'length', 1)} deep, nine times in ten "
        f"{shown.range(*found.interval_90_m, 'length', 1)}"
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
    import towscope as ts

    shown = system(units)
    with telling(quiet=as_json) as progress:
        if output is not None:
            writable(output, (".geojson", ".json"))
        progress(0.0, "looking for edges")
        found = ts.Lake(name).edges(depth, steep=steep, shortest=shortest)
        if output is not None:
            found.save(output)
    if as_json:
        emit({**found.to_dict()})
        return
    _print_edges(found, shown)


def _print_edges(found: LakeEdges, shown: System) -> None:
    from rich import box
    from rich.table import Table

    def length(value: float, places: int = 0) -> str:
        return shown.show(value, "length", places)

    out = console()
    kinds: dict[str, list[Feature]] = {}
    for feature in found.features:
        kinds.setdefault(feature["properties"]["kind"], []).append(feature)
    out.print(repr(found))
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
    import towscope as ts

    system(units)
    with telling(quiet=as_json) as progress:
        progress(0.0, "drawing")
        ts.Lake(name).draw(output, depth=depth or None)
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
    import towscope as ts

    shown = system(units)
    found = ts.thermocline(profile, depth or None)
    if as_json:
        emit(found.to_dict())
        return
    out = console()
    for note in found.notes:
        out.print(f"Note: {retold(note)}")
    out.print(repr(found))
    if found.thermocline_m is not None:
        out.print(f"by {found.method}")
    if found.warning is not None:
        out.print(f"Warning: {retold(found.warning, shown.name)}")
    elif found.depth_m is not None and found.thermocline_m is not None:
        out.print(f"{shown.show(found.depth_m, 'length', 1)} is above it")


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
    import towscope as ts
    from towscope.sky.sun import another_clock

    found = ts.sun(latitude, longitude, on, tz)
    if as_json:
        emit(found.to_dict())
        return
    out = console()
    out.print(repr(found))
    if note := another_clock(found):
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
        write_whole(writable(output, (".csv",)), slate.log_csv().encode())
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
