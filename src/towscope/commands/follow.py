"""Command about a day's track: follow."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from towscope.commands.common import Json, Tackle, Units, console, echo, emit, quantity, system
from towscope.commands.rigging import (
    Lure,
    Out,
    RigName,
    Uncalibrated,
    WaterTemperature,
    depth_of,
    let_out_of,
    tow_for,
)
from towscope.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy as np
    import numpy.typing as npt

    from towscope.bed.bed import Bed as LakeBed
    from towscope.bed.bed_on_track import Under
    from towscope.boat.track import Track
    from towscope.follow.lure_path import Followed
    from towscope.towing.moving import Bed
    from towscope.towing.tow import Tow

LONGEST = 48 * 3600.0  # [s]
SHORTEST_EVERY, LONGEST_EVERY = 0.1, 600.0  # [s]
ENDINGS = (".png", ".svg", ".pdf", ".csv", ".json")

TrackFile = Annotated[
    str,
    typer.Argument(
        metavar="TRACK",
        help="The boat's track: GPX, an NMEA 0183 log, or a table with time_s,x_m,y_m or "
        "time,lat,lon; `demo` for the demo hour.",
    ),
]
Every = Annotated[str, typer.Option("--every", help='Time between the moments given: "1s".')]
MovingCurrent = Annotated[
    str,
    typer.Option(
        "--current",
        help='Current: "0.3 mph from west", "from 240 deg", "to NE"; by depth: '
        '"0.4 mph to east at 0 ft, 0 mph at 30 ft"; "with", "against", "from port" or "from '
        'starboard" are meant for the first course.',
    ),
]
Tip = Annotated[
    str,
    typer.Option(
        "--tip", help='Rod tip from where the fixes are taken: "5 ft to port, 8 ft behind".'
    ),
]
Bottom = Annotated[str, typer.Option("--bottom", help='Depth of a level bottom: "40 ft".')]
LakeName = Annotated[str, typer.Option("--lake", metavar="NAME", help="A saved lake: its bottom.")]
Keep = Annotated[
    str,
    typer.Option("--keep", help="Find the most line that stays this far off bottom all along."),
]
OutFile = Annotated[
    Path | None,
    typer.Option("-o", "--output", help="Write a picture (.png, .svg, .pdf), .csv or .json."),
]


def register(app: typer.Typer) -> None:
    """Add this command to the application."""
    app.command()(follow)


def follow(
    rig: RigName,
    track: TrackFile,
    out: Out,
    tackle: Tackle = None,
    lure: Lure = "",
    current: MovingCurrent = "",
    water: WaterTemperature = "",
    uncalibrated: Uncalibrated = False,
    every: Every = "1s",
    tip: Tip = "",
    bottom: Bottom = "",
    lake: LakeName = "",
    keep: Keep = "",
    output: OutFile = None,
    units: Units = "us",
    as_json: Json = False,
) -> None:
    """Where the lure ran behind a recorded track: how deep, how sure, and why."""
    from towscope.boat.clean import clean
    from towscope.boat.read import read_fixes
    from towscope.boat.spoken import current_over_ground, mount_of
    from towscope.demo.track import demo_fixes
    from towscope.follow.lure_path import follow as ask

    shown = system(units)
    if output is not None and output.suffix.lower() not in ENDINGS:
        raise InputError(f"-o {output}: expected a name that ends in {', '.join(ENDINGS)}")
    between = quantity(every, "time", "--every")
    if not SHORTEST_EVERY <= between <= LONGEST_EVERY:
        raise InputError(f'--every "{every}": expected {SHORTEST_EVERY:g} s to 10 min')
    mount = mount_of(tip, "--tip") if tip else (0.0, 0.0)
    if bottom and lake:
        raise InputError("--bottom and --lake: expected one bottom, level or the lake's")
    if keep and not (bottom or lake):
        raise InputError("--keep needs --bottom, the depth of the bottom, or --lake")
    level = depth_of(bottom, "--bottom") if bottom else None
    kept = _kept(lake)  # a lake that is not there is said before a long track is read
    want = quantity(keep, "length", "--keep") if keep else 0.0
    _, tow = tow_for(rig, tackle, lure, water, uncalibrated)
    if not _is_table(out):  # a wrong let-out is said before a long track is read
        let_out_of(out, tow)
    is_demo = track == "demo" and not Path(track).exists()
    boat = clean(demo_fixes() if is_demo else read_fixes(Path(track)), longest=LONGEST)
    line = _line_out(out, tow, boat)
    below = None if kept is None else _under(lake, kept, boat)
    bed = _bed(level, below)
    flow, said = current_over_ground(current, boat, "--current") if current else (None, ())
    with _progress() as told:
        way = ask(tow, boat, line, every=between, current=flow, bed=bed, mount=mount, progress=told)
    under_lure = None
    if below is not None:
        way, under_lure, more = _over(below, way)
        said = (*said, *more)
    name = "the demo hour" if is_demo else Path(track).name
    most = None
    if keep and bed is not None:
        from towscope.follow.clear import most_line

        if callable(line):
            raise InputError("--keep needs one line out for the whole track, not a table of them")
        most = most_line(tow, boat, line, want, bed, current=flow, mount=mount)
    told = (f"calibrated from {tow.learnt.readings} readings",) if tow.learnt is not None else ()
    notes = (*boat.repairs, *said, *way.notes, *told)
    answer: dict[str, Any] | None = None
    if as_json or (output is not None and output.suffix.lower() == ".json"):
        answer = _answer(rig, boat, way, notes, bottom=bed is not None)
        from towscope.rig_answers import calibrated_by

        answer["calibrated"] = calibrated_by(tow)
        if under_lure is not None:
            answer["lake"], answer["bottom_m"] = lake, under_lure
        if keep:
            answer["keep_m"], answer["let_out_to_keep_m"] = want, most
    if output is not None:
        _write(output, rig, name, boat, way, answer, level if below is None else under_lure, shown)
        if not as_json:
            echo(f"wrote {output}")
    if as_json and answer is not None:
        if output is not None:
            answer["written"] = str(output)
        emit(answer)
        return
    from towscope.sheets.followed import summary

    over = lake if level is None else level
    for text in summary(rig, name, boat, way, notes, shown, over or None, want, most):
        console().print(text)


def _is_table(out: str) -> bool:
    return out.lower().endswith(".csv")


def _bed(level: float | None, below: Under | None) -> Bed | None:
    """Give the bottom as the engine takes it: level, or a lake's."""
    from towscope.follow.lure_path import flat_bed

    if below is not None:
        return below.bottom
    return None if level is None else flat_bed(level)


def _kept(lake: str) -> LakeBed | None:
    from towscope.bed.store import load

    return load(lake) if lake else None


def _under(lake: str, bed: LakeBed, boat: Track) -> Under:
    from towscope.bed.bed_on_track import under

    return under(lake, bed, boat.globe, boat.x, boat.y)


def _over(below: Under, way: Followed) -> tuple[Followed, npt.NDArray[np.float64], tuple[str, ...]]:
    """Count the lake's own doubt in; give its depth under the lure, and what is to be said."""
    from dataclasses import replace

    import numpy as np

    from towscope.boat.track import clock

    x, y = way.lure[:, 0], way.lure[:, 1]
    low = below.clearance_low(way.clearance, way.clearance_low, x, y)
    depth = below.depth(x, y)[0]
    unknown = float(np.isnan(way.clearance).sum()) * (
        float(np.median(np.diff(way.time))) if len(way.time) > 1 else 0.0
    )
    said = (
        (f"for {clock(unknown)} it ran where the bottom of {below.name} is not known",)
        if unknown > 0.0
        else ()
    )
    return replace(way, clearance_low=low), depth, said


def _line_out(
    out: str, tow: Tow, track: Track
) -> float | Callable[[npt.NDArray[np.float64]], npt.NDArray[np.float64]]:
    if not _is_table(out):
        return let_out_of(out, tow)
    import numpy as np

    from towscope.follow.schedule import read_schedule

    moments, outs = read_schedule(
        Path(out), lambda text, where: let_out_of(text, tow, where), track.epoch
    )
    return lambda at: np.interp(at, moments, outs)


def _progress() -> Any:
    """Show how far it is, on a terminal and where it takes a while."""
    import contextlib
    import sys
    import time
    from collections.abc import Iterator

    @contextlib.contextmanager
    def bar() -> Iterator[Callable[[float], None] | None]:
        if not sys.stderr.isatty():
            yield None
            return
        begun = time.monotonic()
        drawn = False

        def told(share: float) -> None:
            nonlocal drawn
            if time.monotonic() - begun > 1.0:
                sys.stderr.write(f"\rfollowing: {share * 100:3.0f} %")
                sys.stderr.flush()
                drawn = True

        yield told
        if drawn:
            sys.stderr.write("\r" + " " * 20 + "\r")

    return bar()


def _answer(
    rig: str, track: Track, way: Followed, notes: tuple[str, ...], *, bottom: bool
) -> dict[str, Any]:
    import numpy as np

    zero = track.time[0]
    lure = {"x_m": way.lure[:, 0], "y_m": way.lure[:, 1]}
    boat = {"boat_x_m": way.boat[:, 0], "boat_y_m": way.boat[:, 1]}
    if track.globe is not None:
        lure["lat"], lure["lon"] = track.globe.to_globe(way.lure[:, 0], way.lure[:, 1])
        boat["boat_lat"], boat["boat_lon"] = track.globe.to_globe(way.boat[:, 0], way.boat[:, 1])
    answer: dict[str, Any] = {
        "rig": rig,
        "start": _iso(track.epoch),
        "origin": None
        if track.globe is None
        else {"lat": track.globe.latitude, "lon": track.globe.longitude},
        "time_s": way.time,
        **lure,
        "depth_m": way.depth,
        "depth_90_low_m": way.low,
        "depth_90_high_m": way.high,
        "tension_n": way.tension,
        "let_out_m": way.let_out,
        **boat,
        "boat_speed_m_s": way.boat[:, 3],
        "boat_course_deg": np.degrees(way.boat[:, 2]) % 360.0,
        "gaps": [
            {
                "start_s": gap.start,
                "end_s": gap.end,
                "distance_m": gap.distance,
                "bridged": gap.bridged,
                "why": gap.why,
            }
            for gap in track.gaps
        ],
        "repairs": [*notes, *(gap.words(zero) for gap in track.gaps)],
    }
    if bottom:
        answer["off_bottom_m"] = way.clearance
        answer["least_off_bottom"] = None
        if np.isfinite(way.clearance).any():
            least = int(np.nanargmin(way.clearance))
            answer["least_off_bottom"] = {
                "off_bottom_m": float(way.clearance[least]),
                "off_bottom_95_low_m": float(np.nanmin(way.clearance_low)),
                "time_s": float(way.time[least]),
                "by": "lure" if way.by_lure[least] else "line",
            }
    return answer


def _iso(epoch: float | None) -> str | None:
    from datetime import UTC, datetime

    return None if epoch is None else datetime.fromtimestamp(epoch, UTC).isoformat()


def _write(
    output: Path,
    rig: str,
    name: str,
    track: Track,
    way: Followed,
    answer: dict[str, Any] | None,
    bottom: float | npt.NDArray[np.float64] | None,
    shown: Any,
) -> None:
    from towscope.files import write_whole

    ending = output.suffix.lower()
    if ending == ".json":
        import json

        from towscope.formats.plain import plain

        data = json.dumps(plain(answer), ensure_ascii=False).encode()
    elif ending == ".csv":
        from towscope.sheets.followed import as_csv

        data = as_csv(track, way).encode()
    else:
        from towscope.sheets.follow import picture

        data = picture(rig, name, track, way, shown, ending[1:], bottom)
    write_whole(output, data)
