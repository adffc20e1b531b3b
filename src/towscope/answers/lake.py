"""A lake and what it answers: depth at a place, edges at a depth, passes for a rig, with intervals.

>>> import numpy as np
>>> import towscope as ts
>>> lat, lon = (v.ravel() for v in np.mgrid[48.4:48.402:30j, -91.903:-91.9:30j])
>>> pond = ts.Lake.from_soundings((lat, lon, 3.0 + 15e3 * (lat - 48.4)), name="Pond")
>>> pond.depth_at(48.401, -91.9015)
59 ft deep (59 to 59 ft, 9 in 10)
>>> pond.edges("40 ft")
Pond at 40.0 ft: 1 edge, 781 ft in all
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass, field, fields
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, Unpack

from towscope import arguments
from towscope.answers.lake_forms import LakeDepth, LakeEdges, LakeFacts
from towscope.answers.pass_plan import PassPlan, Units
from towscope.answers.soundings import Files, Points, box_of, files_of, log_of
from towscope.bed import store
from towscope.bed.bed import LakeBed, band_90
from towscope.bed.features import find, geojson
from towscope.errors import ArgumentError
from towscope.files import writable
from towscope.formats.plain import plain
from towscope.passes import planning
from towscope.passes.asked import Wanted, asked
from towscope.progress import Progress, unheard
from towscope.units import shown_units

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from towscope.answers.rig import Rig
    from towscope.bed.map_geojson import LakeMap

Text = str | float


@dataclass(frozen=True, repr=False, eq=False)
class Lake:
    """A lake that can be asked; `towscope.lake` finds a saved one, `from_soundings` makes one.

    Arguments are text with units (``"31 ft"``, ``"10 %"``) or figures in SI.

    Parameters
    ----------
    name : str
        Its name.
    made : LakeBed, optional
        Its bottom, where it is not a saved one.
    beside : dict
        What is known beside it: sources, notes, what was dropped.
    """

    name: str
    made: LakeBed | None = None
    beside: dict[str, Any] = field(default_factory=dict)

    @cached_property
    def bed(self) -> LakeBed:
        """Its bottom on a grid; read when first asked for.

        Raises
        ------
        InputError
            Where there is no such lake, or its files are broken.
        """
        return self.made if self.made is not None else store.load(self.name)

    @cached_property
    def kept(self) -> dict[str, Any]:
        """All that is known of it beside its bed."""
        if self.made is not None:
            return store.facts_of(self.name, self.made, self.beside)
        return store.facts(self.name)

    @property
    def facts(self) -> LakeFacts:
        """Its size, how it was sounded, how wrong its bed may be."""
        return LakeFacts.of(self.kept)

    @property
    def title(self) -> str:
        """Its name as it was given when it was saved."""
        return str(self.kept.get("name", self.name))

    def to_dict(self) -> dict[str, Any]:
        """Give its figures as ``towscope lake show --json`` prints them."""
        first = ("name", "area_m2", "volume_m3", "max_depth_m", "mean_depth_m", "cell_m", "crs")
        rest = [k for k in self.kept if k not in (*first, "dropped", "format")]
        return {k: plain(self.kept.get(k)) for k in (*first, *rest)}

    def __repr__(self) -> str:
        return repr(self.facts)

    @classmethod
    def from_soundings(
        cls,
        soundings: Files | Points,
        *,
        name: str = "lake",
        depth_unit: str = "",
        sign: str = "",
        columns: str | dict[str, str] = "",
        crs: str = "",
        transducer: Text = 0.0,
        water: Text | None = None,
        level: Text = 0.0,
        shoreline: str | Path | BaseGeometry | None = None,
        islands: str = "",
        surface: Text | None = None,
        box: str | tuple[float, float, float, float] = "",
        cell: Text | None = None,
        keep_spikes: bool = False,
        keep_strays: bool = False,
        progress: Progress = unheard,
        ask_unit: Callable[[str], str | None] | None = None,
    ) -> Lake:
        """Make a lake's bed from soundings; `save` saves it.

        Parameters
        ----------
        soundings : path, iterable of path, or (latitude, longitude, depth)
            Files (CSV, NMEA 0183, GPX, GeoTIFF, ESRI grid, shapefile, GeoPackage, GeoJSON), or
            arrays (n,) of places [degrees, WGS 84] and depths, in the order they were made in.
        name : str
            What to call it.
        depth_unit : {"", "m", "ft", "fathom"}
            Unit of the depths, where a file does not say; arrays are in metres without it.
        sign : {"", "down", "up"}
            ``"down"``: depths are positive; ``"up"``: they are negative.
        columns : str or dict
            Which column is what: ``"lat=NAME,lon=NAME,depth=NAME"``.
        crs : str
            Coordinate system a file does not name: ``"EPSG:26915"``.
        transducer : str or float
            Transducer below the surface [m].
        water : str or float, optional
            Temperature of the water, to correct the speed of sound for [degC].
        level : str or float
            Added to every depth for the water level [m].
        shoreline : path or shapely geometry, optional
            The shore: polygons, closed lines or lines that join; or longitude, latitude polygons.
        islands : {"", "land", "water"}
            What a polygon inside the shore's is.
        surface : str or float, optional
            Height of the water, for heights of the bottom [m].
        box : str or (south, west, north, east)
            Read only this part of a large grid [degrees].
        cell : str or float, optional
            Cell size [m]; as tracks allow where not given.
        keep_spikes, keep_strays : bool
            Do not look for spikes, for stray tracks.
        progress : callable, optional
            Called with the share done (0 to 1) and what is being done; may raise to stop it.
        ask_unit : callable, optional
            Asked with a file's name for the unit of its depths, where that is unclear.

        Raises
        ------
        InputError
            Where the soundings cannot be read or make no lake.
        """
        from towscope.bed.building import Cleaning, build
        from towscope.bed.building import soundings as read
        from towscope.bed.shoreline import read_shoreline
        from towscope.bed.soundings import FileOptions, checked_unit, columns_of

        store.free(name)
        if sign not in ("", "down", "up"):
            raise ArgumentError("sign", f' "{sign}": expected down or up')
        how = FileOptions(
            unit=checked_unit(depth_unit or None),
            down=None if not sign else sign == "down",
            columns=columns_of(columns) if isinstance(columns, str) else columns,
            crs=crs or None,
            transducer=arguments.quantity(transducer, "length", "transducer"),
            box=box_of(box) if box else None,
            surface=None if surface is None else arguments.quantity(surface, "length", "surface"),
        )
        size = None if cell is None else arguments.quantity(cell, "length", "cell")
        if size is not None and not 0.1 <= size <= 1000.0:
            raise ArgumentError("cell", f' "{cell}": expected 0.1 to 1000 m')
        cleaning = Cleaning(
            None if water is None else arguments.quantity(water, "temperature", "water"),
            arguments.quantity(level, "length", "level"),
            not keep_spikes,
            not keep_strays,
        )
        shore: Any = shoreline
        if isinstance(shoreline, (str, Path)):
            progress(0.0, f"reading {Path(shoreline).name}")
            shore = read_shoreline(Path(shoreline), crs or None, islands or None)
        files = files_of(soundings)
        if files is not None:
            logs, known = read(files, how, progress, ask_unit)
        else:
            logs, known = [log_of(soundings, how)], True
        bed, beside = build(logs, cleaning, progress, known=known, shore=shore, cell=size)
        return cls(name, bed, beside)

    def save(self, name: str = "") -> Path:
        """Save it, in place of any of the same name; `towscope.lake` finds it again.

        Parameters
        ----------
        name : str
            Another name for it.

        Returns
        -------
        Path
            Its folder.

        Raises
        ------
        InputError
            Where the name will not do or the disk refuses.
        """
        return store.save(name or self.name, self.bed, self.beside)

    def depth_at(self, latitude: Text, longitude: Text) -> LakeDepth:
        """Tell how deep it is at a place [degrees, WGS 84], and how sure that is.

        Raises
        ------
        NoAnswer
            Where the place is ashore or too far from any sounding.
        InputError
            Where it is no place on the globe.
        """
        lat, lon = arguments.place(latitude, longitude)
        depth, sd = self.bed.depth_at(lat, lon)
        return LakeDepth(depth, sd, band_90(depth, sd))

    def edges(
        self, depth: Text, *, steep: Text = "10 %", shortest: Text = "30 m", thin_m: float = 0.0
    ) -> LakeEdges:
        """Find the edges, points, inside turns, humps and flats at a depth; the best first.

        Parameters
        ----------
        depth : str or float
            The depth [m].
        steep : str or float
            Least slope of an edge: ``"10 %"``, ``"6 deg"``, or a ratio [m/m].
        shortest : str or float
            Shortest edge [m].
        thin_m : float
            How far a line of fewer points may leave the line as found [m]: for a screen.

        Raises
        ------
        NoAnswer
            Where the lake is not so deep.
        """
        at = arguments.quantity(depth, "length", "depth")
        least, short = _slope(steep), arguments.quantity(shortest, "length", "shortest")
        found = find(self.bed, at, steep=least, shortest=short)
        told = geojson(self.bed, found, self.title, thin_m)
        return LakeEdges(
            told["lake"], told["depth_m"], told["edges"], told["edge_length_m"],
            told["features"], found,
        )  # fmt: skip

    def map(self, *, units: Units | None = None) -> LakeMap:
        """Give its map as GeoJSON for a screen: water, shading and contours at round depths."""
        from towscope.bed.map_geojson import map_geojson

        return map_geojson(self.bed, self.title, shown_units(units))

    def draw(
        self, path: str | Path, *, depth: Text | None = None, units: Units | None = None
    ) -> Path:
        """Draw its map with contours at round depths: ``.png``, ``.pdf`` or ``.svg``.

        Parameters
        ----------
        path : str or Path
            The file.
        depth : str or float, optional
            Draw the edges at this depth too [m].
        units : {"us", "metric"}, optional
            Whose round depths.
        """
        from towscope.sheets import lake_map

        file = writable(path, lake_map.FORMATS)
        shown, title, found = shown_units(units), self.title, None
        if depth is not None:
            told = self.edges(depth)
            found = told.structure
            title += f": edges at {shown.show(told.depth_m, 'length')}"
        lake_map.save(lake_map.draw(self.bed, shown, title=title, structure=found), file)
        return file

    def passes(
        self,
        rig: Rig,
        depth: Text,
        off_bottom: Text,
        speed: Text,
        wind: str | tuple[float, float] = "calm",
        *,
        progress: Progress = unheard,
        **more: Unpack[Wanted],
    ) -> PassPlan:
        """Plan passes that put a rig's lure on an edge: the boat's way, the line, turns and risk.

        Parameters
        ----------
        rig : Rig
            From `towscope.rig`.
        depth, off_bottom, speed : str or float
            Depth of the edge, height of the lure above the bottom, speed over ground [m, m, m/s].
        wind : str or (float, float)
            ``"SW, 8 mph"``, ``"calm"``, or where from [degrees from north] and how hard [m/s].
        progress : callable, optional
            Called with the share done (0 to 1) and what is being done; may raise to stop it.
        **more
            ``count``, ``risk``, ``outside``, ``out_max``, ``turn``, ``shortest``, ``current``,
            ``tip``: see `towscope.passes.asked.Wanted`.

        Raises
        ------
        NoAnswer
            Where no pass can be run so; the message says why.
        InputError
            Where an argument cannot be read or makes no sense.
        """
        ask, shown = asked(depth, off_bottom, speed, wind, **more), shown_units()
        tow = rig.tow
        progress(0.0, "reading the lake")
        found = planning.planned(
            self.bed, tow, ask, lake=self.title, rig=rig.name, progress=progress,
            length=lambda v: shown.show(v, "length"),
        )  # fmt: skip
        return PassPlan(**{each.name: getattr(found, each.name) for each in fields(found)})


def lake(name: str) -> Lake:
    """Find a saved lake by name.

    Raises
    ------
    InputError
        Where there is none of that name; says which there are.

    Examples
    --------
    >>> import towscope as ts
    >>> ts.lake("Lost")
    Traceback (most recent call last):
    towscope.errors.InputError: no lake is called "Lost" here (saved: none); make it with ...
    """
    found = Lake(name)
    _ = found.kept
    return found


def lakes() -> list[str]:
    """Name the saved lakes.

    Examples
    --------
    >>> import towscope as ts
    >>> ts.lakes()
    []
    """
    return store.names()


def _slope(value: Text) -> float:
    if isinstance(value, str) and re.search(r"deg|°", value):
        angle = arguments.quantity(value, "angle", "steep")
        found = math.tan(math.radians(angle)) if 0.0 <= angle < 89.0 else -1.0
    else:
        found = arguments.quantity(value, "ratio", "steep")
    if not 0.0 < found <= 10.0:
        raise ArgumentError("steep", f' "{value}": expected a slope such as "10 %" or "6 deg"')
    return found
