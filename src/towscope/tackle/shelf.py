"""The stock with the user's files over it, and rigs made ready for the engine."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from functools import cache
from importlib.resources import files as package_files
from pathlib import Path
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from towscope.constants import GRAVITY
from towscope.errors import InputError, one_line
from towscope.files import home
from towscope.tackle.models import Line, Lure, Reel, RigParts, TackleFile
from towscope.tackle.rating import dive_area_for, estimated_drag_area
from towscope.tackle.reading import check, read
from towscope.towing.tow import Doubt, Tow
from towscope.units import parse
from towscope.water import AIR_DENSITY, AIR_KINEMATIC_VISCOSITY, Water, fresh_water

T = TypeVar("T")

DEFAULT_TEMPERATURE = 20.0
LIGHTEST_SD = 0.003  # [N]; standard deviation of the weight of a lure that weighs nothing
TRIM = 0.10  # a lure's unknown tendency to dive or rise, as a share of its drag area


@dataclass(frozen=True)
class Shelf:
    """All lines, lures, rigs and reels that may be used, by name."""

    lines: dict[str, Line] = field(default_factory=dict)
    lures: dict[str, Lure] = field(default_factory=dict)
    rigs: dict[str, RigParts] = field(default_factory=dict)
    reels: dict[str, Reel] = field(default_factory=dict)
    water: Water = field(default_factory=lambda: fresh_water(DEFAULT_TEMPERATURE))
    origin: dict[str, str] = field(default_factory=dict)

    def over(self, file: TackleFile, shown: str) -> Shelf:
        """Lay a file's things over this shelf; the same name replaces."""
        water = self.water
        if file.water is not None:
            if file.water.temperature is not None:
                water = fresh_water(file.water.temperature)
            elif file.water.density is not None and file.water.viscosity is not None:
                water = Water(file.water.density, file.water.viscosity)
        origin = dict(self.origin)
        for kind in ("lines", "lures", "rigs", "reels"):
            origin.update({f"{kind}.{name}": shown for name in getattr(file, kind)})
        return Shelf(
            {**self.lines, **file.lines},
            {**self.lures, **file.lures},
            {**self.rigs, **file.rigs},
            {**self.reels, **file.reels},
            water,
            origin,
        )

    def changed(
        self,
        rig: str,
        *,
        lure: str = "",
        leader_m: float | None = None,
        water: Water | None = None,
        place: str = "",
    ) -> Shelf:
        """Give the same shelf with something else on one of its rigs, or in other water.

        Parameters
        ----------
        rig : str
            The rig.
        lure : str
            Another lure on it; "" for its own.
        leader_m : float, optional
            Another length of the piece next to the lure [m].
        water : Water, optional
            Other water, for all rigs.
        place : str
            Where the lure is asked for, for messages.

        Raises
        ------
        InputError
            Where there is no such rig or lure.
        """
        key, mine = self.rig_key(rig), self.rig(rig)
        if lure:
            self.lure(lure, place)
            mine = mine.model_copy(update={"lure": lure})
        if leader_m is not None:
            first = mine.line[0].model_copy(update={"length": leader_m})
            mine = mine.model_copy(update={"line": [first, *mine.line[1:]]})
        return replace(
            self,
            rigs=self.rigs if mine is self.rigs[key] else {**self.rigs, key: mine},
            water=water or self.water,
        )

    def rig(self, name: str) -> RigParts:
        """Find a rig by its key, or by its name as the crew wrote it."""
        return _find(self.rigs, self.rig_key(name), "rig")

    def rig_key(self, name: str) -> str:
        """Give the key of the rig that the crew calls so; the name itself where none is."""
        if name in self.rigs:
            return name
        plain = same_name(name)
        for key, rig in self.rigs.items():
            if rig.name is not None and same_name(rig.name) == plain:
                return key
        return name

    def title(self, name: str) -> str:
        """Give a rig's name as the crew wrote it; its key where it has no other."""
        rig = self.rigs.get(name)
        return name if rig is None or rig.name is None else rig.name

    def line(self, name: str, place: str = "") -> Line:
        """Find a line by name."""
        return _find(self.lines, name, "line", place)

    def lure(self, name: str, place: str = "") -> Lure:
        """Find a lure by name."""
        return _find(self.lures, name, "lure", place)

    def reel(self, name: str, place: str = "") -> Reel:
        """Find a reel by name."""
        return _find(self.reels, name, "reel", place)

    def place(self, kind: str, name: str) -> str:
        """Say where a thing stands, for messages."""
        return f"{self.origin.get(f'{kind}.{name}', 'stock')}: {kind}.{name}"

    def tow(self, name: str) -> Tow:
        """Make a rig ready for the engine.

        Parameters
        ----------
        name : str
            Name of the rig.

        Returns
        -------
        Tow
            The rig in this shelf's water.

        Raises
        ------
        InputError
            Where the rig, its lure or a line is unknown, or its lengths or rating make no sense.
        """
        rig = self.rig(name)
        place = self.place("rigs", name)
        lengths = []
        for number, piece in enumerate(rig.line):
            line = self.line(piece.line, f"{place}.line.{number}")
            try:
                length = (
                    parse(piece.length, "length", color_length_m=line.color_length)
                    if isinstance(piece.length, str)
                    else piece.length
                )
            except InputError as error:
                raise InputError(f"{place}.line.{number}.length: {error}") from None
            if not 1e-3 <= length <= 2000.0:
                raise InputError(f'{place}.line.{number}.length: "{piece.length}" is not possible')
            lengths.append(length)
        tow = self.stack(
            [(p.line, length) for p, length in zip(rig.line, lengths, strict=True)],
            rig.lure,
            rig.tip_height,
            place,
        )
        return replace(tow, counter_factor=rig.counter_factor)

    def stack(
        self, parts: Iterable[tuple[str, float]], lure_name: str, tip: float, place: str = ""
    ) -> Tow:
        """Make a lure and pieces of line, from the lure up, ready for the engine.

        Parameters
        ----------
        parts : iterable of (str, float)
            Line and length [m].
        lure_name : str
            Name of the lure.
        tip : float
            Height of the rod tip [m].
        place : str
            Where this is asked, for messages.

        Returns
        -------
        Tow
            The rig in this shelf's water.
        """
        lure = self.lure(lure_name, f"{place}.lure" if place else "")
        size = lure.size or 0.0
        drag = (
            lure.drag_area if lure.drag_area is not None else estimated_drag_area(lure.body, size)
        )
        dive = lure.dive_area if lure.dive_area is not None else 0.0
        if lure.rating is not None:
            dive = self._rated(lure_name, drag)
        weight_sd = (
            lure.weight_sd
            if lure.weight_sd is not None
            else 0.1 * abs(lure.weight_in_water) + LIGHTEST_SD
        )
        bare = self._bare(list(parts), np.array([drag, dive, lure.weight_in_water]), tip, place)
        doubt = replace(
            bare.doubt,
            lure_drag=lure.drag_sd,
            lure_dive=lure.dive_sd,
            lure_weight=weight_sd,
            lure_dive_area=TRIM * drag,
        )
        return replace(bare, doubt=doubt)

    def _rated(self, name: str, drag: float) -> float:
        lure = self.lures[name]
        rating = lure.rating
        assert rating is not None
        place = f"{self.place('lures', name)}.rating"
        bare = self._bare(
            [(rating.line, rating.let_out + 1.0)],
            np.array([drag, 0.0, lure.weight_in_water]),
            rating.tip_height,
            place,
        )
        return dive_area_for(bare, rating.depth, rating.let_out, rating.speed, place)

    def _bare(
        self, parts: list[tuple[str, float]], lure: npt.NDArray[np.float64], tip: float, place: str
    ) -> Tow:
        lines = [self.line(name, f"{place}.line" if place else "") for name, _ in parts]
        pieces = np.array(
            [
                [
                    length,
                    line.diameter,
                    line.weight_in_water(self.water.density),
                    line.mass * GRAVITY,
                    -1.0 if line.normal_drag is None else line.normal_drag,
                    -1.0 if line.friction_drag is None else line.friction_drag,
                    line.roughness if line.normal_drag is None else 1.0,
                    line.roughness if line.friction_drag is None else 1.0,
                ]
                for line, (_, length) in zip(lines, parts, strict=True)
            ]
        )
        names = tuple(name for name, _ in parts)
        order = {name: i for i, name in enumerate(dict.fromkeys(names))}
        return Tow(
            pieces=pieces,
            lure=lure,
            medium=np.array(
                [
                    self.water.density,
                    self.water.kinematic_viscosity,
                    AIR_DENSITY,
                    AIR_KINEMATIC_VISCOSITY,
                ]
            ),
            tip=tip,
            names=names,
            color_length=np.array([line.color_length or np.nan for line in lines]),
            strength=np.array([line.strength or np.nan for line in lines]),
            doubt=Doubt(
                group=np.array([order[name] for name in names]),
                drag=np.array([line.drag_sd for line in lines]),
                friction=np.array([line.friction_sd for line in lines]),
                weight=np.array([line.weight_sd for line in lines]),
            ),
        )


def _find(things: dict[str, T], name: str, kind: str, place: str = "") -> T:
    if name in things:
        return things[name]
    near = get_close_matches(name, things, 3, 0.5)
    shown = f"{place}: " if place else ""
    names = ", ".join(near) if near else ", ".join(sorted(things)) or "none"
    raise InputError(
        f'{shown}no {kind} called "{one_line(name, 40)}"; '
        f"{'did you mean' if near else 'known are'}: {names}"
    )


def same_name(text: str) -> str:
    """Give a name so that two spellings of one are the same: small letters, single spaces.

    >>> same_name(" Åke's  Rod ") == same_name("A\u030ake's rod")
    True
    """
    return " ".join(unicodedata.normalize("NFC", text).casefold().split())


@cache
def stock() -> Shelf:
    """Give the built-in generic stock."""
    text = package_files("towscope.tackle").joinpath("tackle.toml").read_text("utf-8")
    return Shelf().over(check(text, "stock"), "stock")


def load(paths: Iterable[Path] = (), *, own: bool = True) -> Shelf:
    """Give the stock with the user's own tackle and further files over it.

    Parameters
    ----------
    paths : iterable of Path
        Tackle files, later ones over earlier ones.
    own : bool
        Whether to take ``tackle.toml`` in the user's folder, where there is one.

    Returns
    -------
    Shelf
        Everything aboard.

    Raises
    ------
    InputError
        Where a file is wrong.
    """
    shelf = stock()
    mine = home() / "tackle.toml"
    for path in [*([mine] if own and mine.exists() else []), *paths]:
        shelf = shelf.over(read(path), one_line(path, 120))
    return shelf
