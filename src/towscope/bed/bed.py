"""The bed of a lake on a grid: depth, slope and standard error at every place."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
import scipy

from towscope.arrays import Array, Flags, Singles
from towscope.bed import layout
from towscope.bed.cross_validation import Trial, distances, slopes, spacing, try_out
from towscope.bed.gridding import Frame, surface
from towscope.bed.sampling import linear, sample
from towscope.bed.survey_runs import Labels
from towscope.constants import HALF_OF_90
from towscope.errors import InputError, NoAnswer
from towscope.geodesy import Place
from towscope.progress import Progress, details, unheard

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry


MOST_NODES = 8_000_000
USUAL_NODES = 4_000_000
FINEST, COARSEST_CELL = 0.5, 2.5  # [m]; what a pass wants to know of the bottom
FEWEST = 10
# of the work of building a lake, when each step begins
LEAVING_OUT, SOLVING, JUDGING = 0.15, 0.75, 0.92
STATIONS = 0.5  # of the distance between lines: soundings so far apart are no run
KNOWN_LINES, KNOWN_LEAST = 4.0, 30.0  # lines' distances and [m] from a sounding; farther is unknown
WORTH = 100.0, 0.1  # [m^2, m]; a smaller guess is not worth a word
BEYOND = 0.03  # of the deepest sounding; so much deeper may the bed be, at the most


@dataclass(frozen=True)
class LakeBed:
    """The bottom of one lake on a grid.

    Attributes
    ----------
    place : Place
        The lake's own metres.
    frame : Frame
        Where the nodes lie; row 0 is the southernmost.
    surface : (rows, columns) array of float32
        Depth [m], positive down; ashore it runs on, so that it can be sampled smoothly everywhere.
    sd : (rows, columns) array of float32
        Standard error: of a sounding made there, against this bed [m].
    wet : (rows, columns) array of bool
        Where there is water and the soundings say anything about it.
    facts : dict
        What went in and how it was judged; kept with the bed.

    Notes
    -----
    Kernels take ``*bed.grids``: surface, sd, west, south, cell (see `towscope.bed.sampling`).
    """

    place: Place
    frame: Frame
    surface: Singles
    sd: Singles
    wet: Flags
    facts: dict[str, Any] = field(default_factory=dict)

    @property
    def grids(self) -> tuple[Singles, Singles, float, float, float]:
        """What the kernels of `towscope.bed.sampling` take."""
        return self.surface, self.sd, self.frame.west, self.frame.south, self.frame.cell

    def sample(self, x: npt.ArrayLike, y: npt.ArrayLike) -> Array:
        """Give depth, slope and standard error at points of the lake.

        Parameters
        ----------
        x, y : (n,) array
            Points [m].

        Returns
        -------
        (n, 4) array
            Depth [m], its growth eastward and northward [m/m], standard error [m].
        """
        px, py = (np.atleast_1d(np.asarray(v, float)) for v in (x, y))
        out = np.empty((px.size, 4))
        sample(*self.grids, px, py, out)
        return out

    def on_water(self, x: float, y: float) -> bool:
        """Tell whether a point [m] lies where the bed knows water."""
        f = self.frame
        if not (math.isfinite(x) and math.isfinite(y)):  # half the globe away there is no easting
            return False
        j, i = round((x - f.west) / f.cell), round((y - f.south) / f.cell)
        return 0 <= i < f.rows and 0 <= j < f.columns and bool(self.wet[i, j])

    def depth_at(self, latitude: float, longitude: float) -> tuple[float, float]:
        """Give depth and its standard error at a place on the globe.

        Parameters
        ----------
        latitude, longitude : float
            The place [degrees, WGS 84].

        Returns
        -------
        tuple of float
            Depth and standard error [m].

        Raises
        ------
        InputError
            Where that is no place on the globe.
        NoAnswer
            Where the place is ashore or too far from any sounding.
        """
        if not (-90.0 <= latitude <= 90.0 and -180.0 <= longitude <= 180.0):
            raise InputError(
                f"{latitude:g}, {longitude:g} is no place: expected latitude -90 to 90 and then "
                "longitude -180 to 180, in degrees"
            )
        x, y = (float(v[0]) for v in self.place.to_metres([latitude], [longitude]))
        if not self.on_water(x, y):
            swapped = abs(longitude) <= 90.0 and self._holds(longitude, latitude)
            hint = "; latitude and longitude look swapped" if swapped else ""
            away = self._away(x, y)
            far = f"{away:,.0f} m" if math.isfinite(away) else "far"
            raise NoAnswer(
                f"{latitude:g}, {longitude:g} lies {far} from the sounded water of this lake{hint}"
            )
        row = self.sample([x], [y])[0]
        return float(row[0]), float(row[3])

    def _holds(self, latitude: float, longitude: float) -> bool:
        x, y = self.place.to_metres([latitude], [longitude])
        return self.on_water(float(x[0]), float(y[0]))

    def _away(self, x: float, y: float) -> float:
        i, j = np.nonzero(self.wet)
        if not i.size or not np.isfinite([x, y]).all():
            return float("nan")
        f = self.frame
        return float(np.min(np.hypot(f.west + j * f.cell - x, f.south + i * f.cell - y)))

    def measure(self) -> dict[str, float]:
        """Give area [m^2], volume [m^3], greatest and mean depth [m] of the water."""
        depth = np.where(self.wet, np.maximum(self.surface, 0.0), 0.0).astype(float)
        cell = self.frame.cell
        area = float(np.count_nonzero(self.wet)) * cell**2
        volume = float(depth.sum()) * cell**2
        deepest = float(depth.max()) if depth.size else 0.0
        return {
            "area_m2": area,
            "volume_m3": volume,
            "max_depth_m": deepest,
            "mean_depth_m": volume / area if area else float("nan"),
        }

    def sd_at(self, x: float, y: float) -> float:
        """Give the standard error at a point of the lake [m]."""
        _, sd, west, south, cell = self.grids
        return float(linear(sd, west, south, cell, x, y))


def build(
    latitude: Array,
    longitude: Array,
    depth: Array,
    *,
    cell: float | None = None,
    shoreline: BaseGeometry | None = None,
    place: Place | None = None,
    run: Labels | None = None,
    trial: Trial | None = None,
    ordered: bool = True,
    progress: Progress = unheard,
) -> LakeBed:
    """Make the bed of a lake from clean soundings.

    Parameters
    ----------
    latitude, longitude : (n,) array
        Soundings' places, in the order they were made or in any [degrees, WGS 84].
    depth : (n,) array
        Their depths, positive down [m].
    cell : float, optional
        Node spacing [m]; without it, what the tracks support.
    shoreline : shapely geometry, optional
        The water as polygon(s) in longitude, latitude; its rim has depth 0, its holes are islands.
    place : Place, optional
        The lake's own metres; about the soundings' middle where not given.
    run : (n,) array of int, optional
        Which run of the boat each sounding belongs to; found from the turns where not given.
    trial : Trial, optional
        Constants and standard error found before; without it, runs are left out to find them.
    ordered : bool
        Whether the order is the one they were made in; if not, it changes nothing.
    progress : callable, optional
        Called with a line on what is being done.

    Returns
    -------
    LakeBed
        The bed, its standard error and how both were judged.

    Raises
    ------
    InputError
        Where there are too few soundings, all in a spot, or the grid would be too large.
    """
    if depth.size < FEWEST:
        raise InputError(
            f"{depth.size} sounding{'s' if depth.size != 1 else ''}: too few for a bed; "
            f"expected at least {FEWEST}, spread over the water"
        )
    if not ordered:  # to the last bit the same however the rows were shuffled
        turn = np.lexsort((depth, longitude, latitude))
        latitude, longitude, depth = latitude[turn], longitude[turn], depth[turn]
        run = None if run is None else run[turn]
    place = place or Place.about(latitude, longitude)
    x, y = place.to_metres(latitude, longitude)
    wide = float(np.hypot(np.ptp(x), np.ptp(y)))
    if not np.isfinite(wide) or wide > 200_000.0:
        raise InputError(
            f"the soundings span {wide / 1000.0:,.0f} km: expected one lake (check the coordinate "
            "system, and for stray rows)"
        )
    if min(np.ptp(x), np.ptp(y)) < 1.0 and wide < 5.0:
        raise InputError("all soundings lie on one spot: expected tracks over the water")
    along, between = spacing(x, y) if ordered else layout.spacing(x, y)
    if ordered and along > STATIONS * between:  # the boat stopped here and there
        ordered = False
        along, between = layout.spacing(x, y)
    known = KNOWN_LINES * between + KNOWN_LEAST
    aside: dict[str, float] = {}
    if shoreline is not None:
        shoreline, aside = _sounded(shoreline, place, x, y)
    fixed = _shore_points(shoreline, place, between, cell) if shoreline is not None else None
    all_x = x if fixed is None else np.concatenate([x, fixed[:, 0]])
    all_y = y if fixed is None else np.concatenate([y, fixed[:, 1]])
    margin = min(2.0 * between, 0.25 * wide) + 10.0
    size = cell if cell is not None else _cell(along, between, all_x, all_y, margin)
    frame = Frame.around(all_x, all_y, size, margin)
    if frame.rows * frame.columns > MOST_NODES:
        raise InputError(
            f"cells of {size:g} m make a grid of {frame.columns:,} x {frame.rows:,}; expected at "
            f"most {MOST_NODES:,} cells: choose larger cells with --cell"
        )
    if trial is None:
        leaving = f"leaving {'runs' if ordered else 'patches'} out to choose the surface"
        progress(LEAVING_OUT, leaving)
        trial = try_out(
            x, y, depth, frame, run=run, fixed=fixed, ordered=ordered, apart=(along, between),
            detail=details(progress, LEAVING_OUT, leaving),
        )  # fmt: skip
    progress(SOLVING, "solving for the bed")
    z = depth if fixed is None else np.concatenate([depth, fixed[:, 2]])
    bed = surface(
        all_x, all_y, z, frame, trial.plate, tolerance=exactness(trial),
        detail=details(progress, SOLVING, "solving for the bed"),
    )  # fmt: skip
    progress(JUDGING, "standard error")
    far = distances(all_x, all_y, frame)
    sd = trial.errors.sd(slopes(bed, frame.cell), far)
    wet = _wet(bed, far, frame, place, shoreline, between)
    deepest = float(depth.max())
    if shoreline is not None:
        near = distances(x, y, frame) <= known
        aside["unsounded_m2"] = float(np.count_nonzero(wet & ~near)) * frame.cell**2
        aside["unsounded_beyond_m"] = known
        wet &= near
        bed = np.where(wet, np.maximum(bed, 0.0), bed)  # between two shores it may dip below 0
    aside["beyond_m2"] = float(np.count_nonzero(wet & (bed > deepest))) * frame.cell**2
    bed = _held(bed, deepest)
    facts = _facts(trial, x, depth, frame, along, between, shoreline is not None)
    facts |= {"ordered": ordered, **aside}
    return LakeBed(place, frame, bed.astype(np.float32), sd.astype(np.float32), wet, facts)


def _held(bed: Array, deepest: float) -> Array:
    """Hold the bed near the deepest sounding: past it there is only what a stiff plate would do."""
    more = max(BEYOND * deepest, 0.3)
    over = np.maximum(bed - deepest, 0.0)
    return np.where(over > 0.0, deepest - more * np.expm1(-over / more), bed)


def _sounded(
    shoreline: BaseGeometry, place: Place, x: Array, y: Array
) -> tuple[BaseGeometry, dict[str, float]]:
    """Leave out the waters of a shoreline in which nobody sounded.

    Raises
    ------
    InputError
        Where most soundings lie outside of all of them.
    """
    import shapely

    parts = shapely.get_parts(shoreline)
    inside = np.array([
        np.count_nonzero(shapely.contains_xy(to_place(part, place), x, y)) for part in parts
    ])  # fmt: skip
    if inside.sum() < 0.5 * x.size:
        raise InputError(
            f"{x.size - int(inside.sum()):,} of {x.size:,} soundings lie outside the shoreline: "
            "expected soundings and shore of one lake (check the coordinate systems: --crs)"
        )
    here = inside > 0
    flat = np.array([shapely.area(to_place(part, place)) for part in parts])
    aside = {
        "waters_left_out": float((~here).sum()),
        "waters_left_out_m2": float(flat[~here].sum()),
    }
    united: BaseGeometry = shapely.union_all(parts[here])
    return united, aside


def band_90(depth: float, sd: float) -> tuple[float, float]:
    """Give the span that holds a depth with 90 % probability [m].

    >>> [round(v, 1) for v in band_90(9.5, 1.0)]
    [7.9, 11.1]
    """
    return max(depth - HALF_OF_90 * sd, 0.0), depth + HALF_OF_90 * sd


def guesses(
    facts: dict[str, Any], length: Callable[[float], str], area: Callable[[float], str]
) -> list[str]:
    """Say in plain words where a lake's bed goes beyond what was sounded.

    Parameters
    ----------
    facts : dict
        The lake's facts.
    length, area : callable
        Show a length [m] and an area [m^2] in the user's units.
    """
    out = []
    over = float(facts.get("max_depth_m") or 0.0) - float(facts.get("deepest_sounding_m") or 0.0)
    beyond = float(facts.get("beyond_m2") or 0.0)
    if beyond >= WORTH[0] and over >= WORTH[1]:
        out.append(
            f"the map guesses beyond the soundings: {area(beyond)} deeper than any sounding "
            f"({length(facts['deepest_sounding_m'])}), to {length(facts['max_depth_m'])}"
        )
    if (unknown := float(facts.get("unsounded_m2") or 0.0)) > 0.0:
        out.append(
            f"{area(unknown)} of the water lies over {length(facts['unsounded_beyond_m'])} from "
            "any sounding: unknown, and in no figure here"
        )
    if waters := round(float(facts.get("waters_left_out") or 0.0)):
        what = "another water" if waters == 1 else f"{waters:,} other waters"
        out.append(
            f"the shoreline's file holds {what} that nobody sounded, "
            f"{area(facts['waters_left_out_m2'])}: left out"
        )
    return out


def exactness(trial: Trial) -> float:
    """Give how near to the exact surface to come [m]: a thirtieth of what it is wrong by anyway."""
    return float(np.clip(trial.rmse / 30.0, 1e-3, 1e-2)) if trial.judged else 2e-3


def _cell(along: float, between: float, x: Array, y: Array, margin: float) -> float:
    """Choose a round node spacing: an eighth of the distance between runs, within reason."""
    wanted = float(np.clip(between / 8.0, FINEST, COARSEST_CELL))
    area = (float(np.ptp(x)) + 2.0 * margin) * (float(np.ptp(y)) + 2.0 * margin)
    wanted = max(wanted, float(np.sqrt(area / USUAL_NODES)))
    power = 10.0 ** np.floor(np.log10(wanted))
    return next(
        float(power * k)
        for k in (1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
        if power * k >= wanted * 0.999
    )


def _shore_points(
    shoreline: BaseGeometry, place: Place, between: float, cell: float | None
) -> Array:
    """Give points along the shore, of depth 0: x, y, depth [m]."""
    import shapely

    flat = to_place(shoreline, place)
    step = max(cell or 1.0, between / 8.0)
    lines = shapely.get_parts(shapely.boundary(flat))
    points: list[Array] = []
    for line in lines:
        n = max(int(np.ceil(line.length / step)), 3)
        if n > 200_000:
            raise InputError("the shoreline is too long for its detail: expected one lake's shore")
        at = shapely.line_interpolate_point(line, np.linspace(0.0, line.length, n, endpoint=False))
        points.append(shapely.get_coordinates(at))
    xy = np.concatenate(points) if points else np.zeros((0, 2))
    return np.column_stack([xy, np.zeros(len(xy))])


def to_place(geometry: BaseGeometry, place: Place) -> BaseGeometry:
    """Give a longitude, latitude geometry in the lake's metres."""
    import shapely

    def move(points: Array) -> Array:
        return np.column_stack(place.to_metres(points[:, 1], points[:, 0]))

    moved: BaseGeometry = shapely.transform(geometry, move)
    return moved


def _wet(
    bed: Array,
    far: Array,
    frame: Frame,
    place: Place,
    shoreline: BaseGeometry | None,
    between: float,
) -> Flags:
    """Tell where there is water that the soundings know of.

    Without a shoreline: the sounded water, gaps between runs closed, and outward from there to
    where the bed runs out at depth 0, but no farther than the runs are apart.
    """
    if shoreline is not None:
        import shapely

        flat = to_place(shoreline, place)
        shapely.prepare(flat)
        columns = frame.west + np.arange(frame.columns) * frame.cell
        rows = frame.south + np.arange(frame.rows) * frame.cell
        inside = np.zeros(frame.shape, bool)
        for i, row in enumerate(rows):
            inside[i] = shapely.contains_xy(flat, columns, np.full(columns.size, row))
        return inside
    gap = 2.5 * between + 2.0 * frame.cell
    closed = scipy.ndimage.binary_fill_holes(far <= gap)
    # distance_transform counts to the rim of the grid only where something lies outside it
    inward = scipy.ndimage.distance_transform_edt(np.pad(closed, 1), sampling=frame.cell)[
        1:-1, 1:-1
    ]
    outward = min(between, gap)
    water = (inward > gap - outward) & (bed > 0.0)
    water |= (far <= 1.5 * frame.cell) & (bed > 0.0)
    parts, count = scipy.ndimage.label(water)
    if count > 1:
        size = np.bincount(parts.ravel(), weights=(far <= frame.cell).ravel())
        size[0] = 0.0
        water = np.isin(parts, np.flatnonzero(size >= 0.05 * size.max()))
    return np.asarray(water, bool)


def _facts(
    trial: Trial, x: Array, depth: Array, frame: Frame, along: float, between: float, shore: bool
) -> dict[str, Any]:
    return {
        "soundings": int(x.size),
        "deepest_sounding_m": float(depth.max()),
        "runs": trial.runs,
        "between_runs_m": between,
        "along_runs_m": along,
        "shoreline": shore,
        "method": "thin plate under tension",
        "stiffness_m2": trial.plate.stiffness,
        "tension_reach_m": trial.plate.reach,
        "left_out_rmse_m": trial.rmse,
        "left_out_mae_m": trial.mae,
        "left_out_soundings": trial.judged,
        "band_90_coverage": trial.coverage,
        "error_noise_m": trial.errors.noise,
        "error_shift_m": trial.errors.shift,
        "error_rate": trial.errors.rate,
        "error_spread_m": trial.errors.spread,
    }
