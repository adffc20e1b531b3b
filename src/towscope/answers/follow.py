"""A lure followed behind the boat's track: how deep it ran, how sure, and how far off bottom."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import numpy.typing as npt

from towscope import arguments
from towscope.answer_forms import TableForms
from towscope.answers.steady import Calibrated, calibrated_by
from towscope.arrays import Array
from towscope.boat.clean import clean
from towscope.boat.read import read_fixes
from towscope.boat.spoken import current_over_ground, mount_of
from towscope.boat.track import BoatTrack, Fixes, clock
from towscope.errors import ArgumentError
from towscope.follow.clear import most_line
from towscope.follow.lure_path import Followed, flat_bed, follow
from towscope.follow.schedule import read_schedule
from towscope.formats.plain import plain
from towscope.progress import Progress
from towscope.units import shown_units

if TYPE_CHECKING:
    from towscope.bed.bed_on_track import Under
    from towscope.towing.tow import Tow
    from towscope.units import System

Text = str | float
Way = str | Path | Fixes | Mapping[str, npt.ArrayLike]
LONGEST: Final = 48 * 3600.0  # [s]
SHORTEST_EVERY, LONGEST_EVERY = 0.1, 600.0  # [s]
COLUMNS: Final = (("time_s", "x_m", "y_m"), ("time_s", "lat", "lon"))


@dataclass(frozen=True, eq=False, repr=False)
class FollowAnswer(TableForms):
    """Where the lure ran behind a track.

    Attributes
    ----------
    rig, name : str
        Of the rig and of the track.
    track : BoatTrack
        The boat's way as it was cleaned.
    way : Followed
        Boat and lure, moment by moment.
    notes : tuple of str
        What was mended or assumed.
    calibrated : dict or None
        What readings it is calibrated by.
    level_m : float or None
        Depth of the level bottom it was asked over [m].
    lake : str
        Name of the lake it was asked over.
    bottom_m : (m,) array or None
        Depth of that lake under the lure [m]; NaN where not known.
    keep_m, let_out_to_keep_m : float or None
        Clearance that was to be kept, and the most line that keeps it [m]; None where none does.
    """

    rig: str
    name: str
    track: BoatTrack
    way: Followed
    notes: tuple[str, ...]
    calibrated: Calibrated | None = None
    level_m: float | None = None
    lake: str = ""
    bottom_m: Array | None = None
    keep_m: float | None = None
    let_out_to_keep_m: float | None = None
    _over_bottom: bool = field(default=False)

    def __repr__(self) -> str:
        """Say it in one line, in the units of ``TOWSCOPE_UNITS``."""
        shown, way = shown_units(), self.way
        depths = shown.range(float(way.depth.min()), float(way.depth.max()), "length")
        lasted = clock(float(way.time[-1] - way.time[0]))
        return f"{self.rig} behind {self.name}: {depths} down, over {lasted}"

    def _shown(self, units: System) -> list[tuple[str, str]]:
        way = self.way
        said = [
            ("usually", units.show(float(np.median(way.depth)), "length")),
            ("deepest", units.show(float(way.depth.max()), "length")),
            ("shallowest", units.show(float(way.depth.min()), "length")),
            ("strongest pull", units.show(float(way.tension.max()), "force")),
        ]
        if np.isfinite(way.clearance).any():
            least = float(np.nanmin(way.clearance))
            said.append(("least off bottom", units.show(least, "length")))
        return said

    def columns(self) -> dict[str, Array]:
        """Give boat and lure moment by moment, SI; places on the globe where the track has them."""
        way, globe = self.way, self.track.globe
        told = {"time_s": way.time, "x_m": way.lure[:, 0], "y_m": way.lure[:, 1]}
        if globe is not None:
            told["lat"], told["lon"] = globe.to_globe(way.lure[:, 0], way.lure[:, 1])
        told |= {
            "depth_m": way.depth,
            "depth_90_low_m": way.low,
            "depth_90_high_m": way.high,
            "tension_n": way.tension,
            "let_out_m": way.let_out,
            "boat_x_m": way.boat[:, 0],
            "boat_y_m": way.boat[:, 1],
        }
        if globe is not None:
            told["boat_lat"], told["boat_lon"] = globe.to_globe(way.boat[:, 0], way.boat[:, 1])
        told["boat_speed_m_s"] = way.boat[:, 3]
        told["boat_course_deg"] = np.degrees(way.boat[:, 2]) % 360.0
        if self._over_bottom:
            told["off_bottom_m"] = way.clearance
        if self.bottom_m is not None:
            told["bottom_m"] = self.bottom_m
        return told

    def to_dict(self) -> dict[str, Any]:
        """Give it as the JSON object that ``towscope follow --json`` prints."""
        track, globe, zero = self.track, self.track.globe, self.track.time[0]
        start = track.epoch
        told: dict[str, Any] = {
            "rig": self.rig,
            "start": None if start is None else datetime.fromtimestamp(start, UTC).isoformat(),
            "origin": globe and {"lat": globe.latitude, "lon": globe.longitude},
            **self.columns(),
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
            "repairs": [*self.notes, *(gap.words(zero) for gap in track.gaps)],
            "calibrated": self.calibrated,
        }
        if self._over_bottom:
            told["least_off_bottom"] = self._least()
        if self.bottom_m is not None:
            told["lake"] = self.lake
        if self.keep_m is not None:
            told |= {"keep_m": self.keep_m, "let_out_to_keep_m": self.let_out_to_keep_m}
        made: dict[str, Any] = plain(told)
        return made

    def _least(self) -> dict[str, Any] | None:
        way = self.way
        if not np.isfinite(way.clearance).any():
            return None
        least = int(np.nanargmin(way.clearance))
        return {
            "off_bottom_m": float(way.clearance[least]),
            "off_bottom_95_low_m": float(np.nanmin(way.clearance_low)),
            "time_s": float(way.time[least]),
            "by": "lure" if way.by_lure[least] else "line",
        }


def follow_track(
    rig: str,
    tow: Callable[[], Tow],
    track: Way,
    let_out: Text,
    *,
    every: Text,
    current: str | None,
    tip: str | None,
    bottom: Text | None,
    lake: str | None,
    keep: Text | None,
    name: str | None,
    progress: Progress,
) -> FollowAnswer:
    """Follow a rig's lure behind a track; `towscope.Rig.follow` says what is what.

    What is quickly found wrong is refused before a long track is read.
    """
    between = arguments.quantity(every, "time", "every")
    if not SHORTEST_EVERY <= between <= LONGEST_EVERY:
        raise ArgumentError("every", f' "{every}": expected {SHORTEST_EVERY:g} s to 10 min')
    with arguments.of_argument("tip"):
        mount = (0.0, 0.0) if tip is None else mount_of(tip)
    if bottom is not None and lake is not None:
        raise ArgumentError("bottom", " and `lake`: expected one bottom, level or the lake's")
    if keep is not None and bottom is None and lake is None:
        raise ArgumentError("keep", " needs `bottom`, the depth of the bottom, or `lake`")
    level = None if bottom is None else arguments.depth(bottom, "bottom")
    want = None if keep is None else arguments.quantity(keep, "length", "keep")
    below = None if lake is None else _bed_of(lake)
    ready = tow()
    by_table = isinstance(let_out, str) and let_out.lower().endswith(".csv")
    if not by_table:
        arguments.let_out(let_out, ready)
    boat = clean(_fixes(track), longest=LONGEST)
    line = _table(str(let_out), ready, boat) if by_table else arguments.let_out(let_out, ready)
    under = None if below is None or lake is None else below(boat)
    bed = under.bottom if under is not None else None if level is None else flat_bed(level)
    with arguments.of_argument("current"):
        flow, said = (None, ()) if current is None else current_over_ground(current, boat)
    way = follow(
        ready, boat, line, every=between, current=flow, bed=bed, mount=mount, progress=progress
    )
    under_lure = None
    if under is not None:
        way, under_lure, more = _over(under, way)
        said = (*said, *more)
    most = None
    if want is not None and bed is not None:
        if callable(line):
            raise ArgumentError("keep", " needs one line out for the whole track, not a table")
        most = most_line(ready, boat, line, want, bed, current=flow, mount=mount)
    learnt = ready.learnt
    told = () if learnt is None else (f"calibrated from {learnt.readings} readings",)
    return FollowAnswer(
        rig=rig,
        name=name or (Path(track).name if isinstance(track, (str, Path)) else "the track"),
        track=boat,
        way=way,
        notes=(*boat.repairs, *said, *way.notes, *told),
        calibrated=calibrated_by(ready),
        level_m=level,
        lake=lake or "",
        bottom_m=under_lure,
        keep_m=want,
        let_out_to_keep_m=most,
        _over_bottom=bed is not None,
    )


def _fixes(track: Way) -> Fixes:
    if isinstance(track, (str, Path)):
        return read_fixes(Path(track))
    if isinstance(track, Fixes):
        return track
    names = next((names for names in COLUMNS if all(n in track for n in names)), None)
    if names is None:
        raise ArgumentError(
            "track", ": expected a file, or arrays time_s, x_m, y_m or time_s, lat, lon"
        )
    try:
        time, first, second = (np.asarray(track[n], dtype=float) for n in names)
    except (TypeError, ValueError) as error:
        raise ArgumentError("track", f": {error}; expected arrays of figures") from None
    if time.ndim != 1 or not time.size or not time.shape == first.shape == second.shape:
        raise ArgumentError(
            "track", f": expected {', '.join(names)} of one length, a figure for each fix"
        )
    on_globe = "lat" in names
    return Fixes(time, first, second, on_globe=on_globe, dated=on_globe)


def _bed_of(lake: str) -> Callable[[BoatTrack], Under]:
    from towscope.bed.bed_on_track import under
    from towscope.bed.store import load

    bed = load(lake)
    return lambda boat: under(lake, bed, boat.globe, boat.x, boat.y)


def _table(file: str, tow: Tow, boat: BoatTrack) -> Callable[[Array], Array]:
    moments, outs = read_schedule(
        Path(file), lambda text, where: arguments.let_out(text, tow, where), boat.epoch
    )
    return lambda at: np.interp(at, moments, outs)


def _over(below: Under, way: Followed) -> tuple[Followed, Array, tuple[str, ...]]:
    """Count the lake's own doubt in; give its depth under the lure, and what is to be said."""
    x, y = way.lure[:, 0], way.lure[:, 1]
    low = below.clearance_low(way.clearance, way.clearance_low, x, y)
    step = float(np.median(np.diff(way.time))) if len(way.time) > 1 else 0.0
    unknown = float(np.isnan(way.clearance).sum()) * step
    said = (
        (f"for {clock(unknown)} it ran where the bottom of {below.name} is not known",)
        if unknown > 0.0
        else ()
    )
    return replace(way, clearance_low=low), below.depth(x, y)[0], said
