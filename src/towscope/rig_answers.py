"""A rig and what it answers: line for a depth, depth for a line, speed for both, with intervals.

>>> import towscope as ts
>>> ts.rig("demo").let_out(depth="28 ft", speed="2 mph")
demo: let out 155 ft (142 to 170 ft, 9 in 10) for 28 ft down at 2.0 mph
"""

from __future__ import annotations

import math
import os
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, fields, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from towscope import arguments
from towscope.arrays import Array
from towscope.errors import InputError
from towscope.formats.plain import plain
from towscope.tackle.counting import count
from towscope.towing import questions
from towscope.towing.jit import start_light
from towscope.units import SYSTEMS, System

if TYPE_CHECKING:
    import pandas as pd

    from towscope.tackle.shelf import Shelf
    from towscope.towing.questions import Answer
    from towscope.towing.tow import Setting, Tow

Text = str | float
Current = str | Sequence[tuple[float, float, float]] | None
Pair = tuple[float, float]
_PER_SPEED, _PER_LINE = 0.1 * questions.MPH, 10.0 * questions.FEET


def _system() -> System:
    return SYSTEMS.get(os.environ.get("TOWSCOPE_UNITS", "us").lower(), SYSTEMS["us"])


@dataclass(frozen=True, repr=False)
class RigAnswer:
    """Where a rig runs, how sure that is, and what a small change does.

    Attributes
    ----------
    rig : str
        Name of the rig.
    depth_m, depth_90_m : float, pair of float
        Depth of the lure, and the span that holds it with 90 % probability at this line out [m].
    speed_m_s : float
        Speed over ground [m/s].
    let_out_m, let_out_90_m : float, pair of float
        Line out, and the span that holds what this depth takes with 90 % probability [m]; NaN
        where that was not asked.
    counter_m : float
        What the rig's line counter shows then [m].
    colors_out : float or None
        Colours out; None on a rig without coded line.
    layback_m, side_m : float
        How far the lure runs behind the rod tip, and to starboard of it [m].
    deepest_m : float
        Depth of the deepest point of lure and line [m].
    tension_n : float
        Pull at the rod tip [N].
    strength_share : float
        Greatest part of its strength that any piece of line carries; NaN where none is known.
    depth_per_0_1_mph_m, depth_per_10_ft_line_m : float
        Depth gained by so much more speed, and by so much more line [m].
    answered_share : float
        Share of the likely versions of the rig that have an answer at all.
    water_density_kg_m3 : float
        Of the water [kg/m^3].
    calibrated : dict or None
        What readings it is calibrated by.
    current : list of dict
        The current it was asked with, by depth.
    speed_90_m_s, other_speeds_m_s : pair of float, tuple of float
        Of `Rig.speed` alone: the span of the speed, and further speeds that do it [m/s].
    """

    rig: str
    depth_m: float
    depth_90_m: Pair
    speed_m_s: float
    let_out_m: float
    let_out_90_m: Pair
    counter_m: float
    colors_out: float | None
    layback_m: float
    side_m: float
    deepest_m: float
    tension_n: float
    strength_share: float
    depth_per_0_1_mph_m: float
    depth_per_10_ft_line_m: float
    answered_share: float
    water_density_kg_m3: float
    calibrated: dict[str, object] | None = None
    current: list[dict[str, float]] = field(default_factory=list)
    speed_90_m_s: Pair | None = None
    other_speeds_m_s: tuple[float, ...] | None = None
    asked: Literal["let_out", "depth", "speed"] = field(default="let_out", compare=False)

    def to_dict(self) -> dict[str, Any]:
        """Give it as the JSON object that the command prints: SI, null for what has no value."""
        told = {each.name: getattr(self, each.name) for each in fields(self)}
        del told["asked"]
        for name in ("speed_90_m_s", "other_speeds_m_s"):
            if told[name] is None:
                del told[name]
        made: dict[str, Any] = plain(told)
        return made

    def __repr__(self) -> str:
        """Say it in one line, in the units of ``TOWSCOPE_UNITS``."""
        shown = _system()
        let_out, depth = (shown.show(v, "length") for v in (self.let_out_m, self.depth_m))
        speed = shown.show(self.speed_m_s, "speed")
        if self.asked == "let_out":
            span = shown.range(*self.let_out_90_m, "length")
            return f"{self.rig}: let out {let_out} ({span}, 9 in 10) for {depth} down at {speed}"
        if self.asked == "speed" and self.speed_90_m_s is not None:
            span = shown.range(*self.speed_90_m_s, "speed")
            return f"{self.rig}: go {speed} ({span}, 9 in 10) for {depth} down on {let_out}"
        span = shown.range(*self.depth_90_m, "length")
        return f"{self.rig}: runs {depth} down ({span}, 9 in 10) on {let_out} at {speed}"

    def _repr_html_(self) -> str:
        """Give it to a notebook as a small table."""
        from html import escape

        shown = _system()
        rows = [
            ("line out", shown.show(self.let_out_m, "length")),
            ("depth", shown.show(self.depth_m, "length")),
            ("depth, 9 in 10", shown.range(*self.depth_90_m, "length")),
            ("speed", shown.show(self.speed_m_s, "speed")),
            ("behind the rod", shown.show(self.layback_m, "length")),
            ("pull", shown.show(self.tension_n, "force")),
        ]
        cells = "".join(f"<tr><th>{escape(a)}</th><td>{escape(b)}</td></tr>" for a, b in rows)
        return f"<table><caption>{escape(repr(self))}</caption>{cells}</table>"


@dataclass(frozen=True, eq=False)
class LetOutTable:
    """Line out for every depth at every speed.

    Attributes
    ----------
    rig : str
        Name of the rig.
    depths_m, speeds_m_s : (n,), (m,) array
        What was asked [m, m/s].
    let_out_m : (n, m) array
        Line out [m]; NaN where the rig does not get there.
    low_90_m, high_90_m : (n, m) array
        The 90 % interval of it [m].
    colors_out : (n, m) array
        The same in colours; NaN where there are none.
    calibrated : dict or None
        What readings it is calibrated by.
    """

    rig: str
    depths_m: Array
    speeds_m_s: Array
    let_out_m: Array
    low_90_m: Array
    high_90_m: Array
    colors_out: Array
    calibrated: dict[str, object] | None = None

    def to_dict(self) -> dict[str, Any]:
        """Give it as the JSON object that ``towscope table --json`` prints."""
        cells = [
            {
                "depth_m": row["depth_m"],
                "speed_m_s": row["speed_m_s"],
                "let_out_m": row["let_out_m"],
                "let_out_90_m": (
                    [row["low_90_m"], row["high_90_m"]] if np.isfinite(row["let_out_m"]) else None
                ),
                "colors_out": row["colors_out"],
            }
            for row in self._rows()
        ]
        made: dict[str, Any] = plain(
            {"rig": self.rig, "calibrated": self.calibrated, "cells": cells}
        )
        return made

    def _rows(self) -> Iterable[dict[str, float]]:
        names = ("let_out_m", "low_90_m", "high_90_m", "colors_out")
        for (i, j), _ in np.ndenumerate(self.let_out_m):
            yield {
                "depth_m": float(self.depths_m[i]),
                "speed_m_s": float(self.speeds_m_s[j]),
                **{name: float(getattr(self, name)[i, j]) for name in names},
            }

    def to_pandas(self) -> pd.DataFrame:
        """Give it to pandas, one row for each depth and speed; pandas must be installed."""
        try:
            import pandas as pd
        except ImportError:
            raise InputError("to_pandas needs pandas: pip install pandas") from None
        return pd.DataFrame(list(self._rows()))


@dataclass(frozen=True, eq=False)
class LineShape:
    """The line from the lure up to the rod tip, as points.

    Attributes
    ----------
    along_m : (n,) array
        Length from the lure [m].
    behind_m, side_m, depth_m : (n,) array
        Behind the rod tip, to starboard of it, and below the surface (the tip: negative) [m].
    """

    along_m: Array
    behind_m: Array
    side_m: Array
    depth_m: Array


@dataclass(frozen=True)
class Rig:
    """A rig that can be asked; `towscope.rig` finds one by name.

    Arguments are text with units (``"28 ft"``, ``"4.5 colors"``, ``"2 mph"``) or figures in SI.

    Parameters
    ----------
    name : str
        Its name.
    shelf : Shelf
        The tackle that it is put together from.
    calibrated : bool
        Whether what its readings taught counts.

    Examples
    --------
    >>> import towscope as ts
    >>> demo = ts.rig("demo")
    >>> demo.depth(let_out="4 colors", speed="2 mph")
    demo: runs 27 ft down (24 to 30 ft, 9 in 10) on 150 ft at 2.0 mph
    >>> demo.with_(water="50 degF").let_out("28 ft", "2 mph").let_out_m > 45
    True
    """

    name: str
    shelf: Shelf = field(repr=False)
    calibrated: bool = True

    @cached_property
    def tow(self) -> Tow:
        """The engine's own description of the rig.

        Raises
        ------
        InputError
            Where the rig, its lure or a line is unknown, or its figures make no sense.
        """
        start_light()
        if not self.calibrated:
            return self.shelf.tow(self.name)
        from towscope.calibration.calibrated_rig import calibrated_tow

        return calibrated_tow(self.shelf, self.name)

    def with_(
        self,
        *,
        lure: str | None = None,
        leader: Text | None = None,
        water: Text | None = None,
        calibrated: bool | None = None,
    ) -> Rig:
        """Give a copy that differs in what is named.

        Parameters
        ----------
        lure : str, optional
            Another lure of the tackle, by name.
        leader : str or float, optional
            Another length of the piece next to the lure.
        water : str or float, optional
            Temperature of the water.
        calibrated : bool, optional
            Whether what readings taught counts.

        Raises
        ------
        InputError
            Where there is no such lure, or a figure cannot be read.
        """
        shelf, mine = self.shelf, self.shelf.rig(self.name)
        if lure is not None:
            shelf.lure(lure)
            mine = mine.model_copy(update={"lure": lure})
        if leader is not None:
            length = arguments.quantity(leader, "length", "leader")
            first = mine.line[0].model_copy(update={"length": length})
            mine = mine.model_copy(update={"line": [first, *mine.line[1:]]})
        if water is not None:
            shelf = shelf.in_water(arguments.water(water))
        return Rig(
            self.name,
            replace(shelf, rigs={**shelf.rigs, self.name: mine}),
            self.calibrated if calibrated is None else calibrated,
        )

    def let_out(self, depth: Text, speed: Text, *, current: Current = None) -> RigAnswer:
        """Answer how much line puts the lure at this depth at this speed.

        Parameters
        ----------
        depth, speed : str or float
            Depth of the lure [m]; speed over ground [m/s].
        current : str or sequence of (depth, along, across), optional
            ``"0.3 mph against"``, or layers from the top down [m, m/s, m/s].

        Raises
        ------
        NoAnswer
            Where the rig does not reach the depth; says what it reaches, and when.
        InputError
            Where an argument cannot be read or makes no sense.
        """
        deep, setting = arguments.depth(depth), arguments.setting(speed, current)
        return self._told("let_out", questions.let_out_for(self.tow, deep, setting), setting)

    def depth(self, let_out: Text, speed: Text, *, current: Current = None) -> RigAnswer:
        """Answer how deep the lure runs with this much line at this speed; as `let_out`."""
        setting = arguments.setting(speed, current)
        out = arguments.let_out(let_out, self.tow)
        return self._told("depth", questions.depth_of(self.tow, out, setting), setting)

    def speed(
        self, depth: Text, let_out: Text, *, near: Text = "2 mph", current: Current = None
    ) -> RigAnswer:
        """Answer how fast to go for this depth on this much line; as `let_out`.

        Parameters
        ----------
        depth, let_out : str or float
            Depth of the lure, and line out [m].
        near : str or float
            Of several speeds that do it the nearest to this one comes first [m/s].
        current : str or sequence of (depth, along, across), optional
            As `let_out` takes it.
        """
        deep, setting = arguments.depth(depth), arguments.setting(near, current)
        out = arguments.let_out(let_out, self.tow)
        found = questions.speed_for(self.tow, out, deep, setting)
        return replace(
            self._told("speed", found, setting.at_speed(found.speed)),
            speed_90_m_s=found.speed_90,
            other_speeds_m_s=found.other_speeds,
        )

    def table(
        self, depths: Sequence[Text], speeds: Sequence[Text], *, current: Current = None
    ) -> LetOutTable:
        """Answer `let_out` for every depth at every speed.

        Parameters
        ----------
        depths, speeds : sequence of str or float
            Depths of the lure [m], speeds over ground [m/s].
        current : str or sequence of (depth, along, across), optional
            As `let_out` takes it.
        """
        down = [arguments.depth(each) for each in depths]
        across = [arguments.speed(each) for each in speeds]
        if not (down and across):
            raise InputError("a table takes at least one depth and one speed")
        setting = arguments.setting(min(across), current)
        return let_out_table(self.name, self.tow, questions.table(self.tow, down, across, setting))

    def shape(
        self, let_out: Text, speed: Text, *, spacing_m: float = 0.5, current: Current = None
    ) -> LineShape:
        """Give the line in the water and up to the rod tip.

        Parameters
        ----------
        let_out, speed : str or float
            Line out [m]; speed over ground [m/s].
        spacing_m : float
            Distance between points along the line, about [m].
        current : str or sequence of (depth, along, across), optional
            As `let_out` takes it.
        """
        setting = arguments.setting(speed, current)
        out = arguments.let_out(let_out, self.tow)
        points = questions.line_shape(self.tow, out, setting, spacing_m)
        return LineShape(*(np.ascontiguousarray(column) for column in points.T))

    def _told(
        self, asked: Literal["let_out", "depth", "speed"], found: Answer, setting: Setting
    ) -> RigAnswer:
        return rig_answer(self.name, self.tow, found, setting, asked)


def rig_answer(
    rig: str,
    tow: Tow,
    answer: Answer,
    setting: Setting,
    asked: Literal["let_out", "depth", "speed"] = "let_out",
) -> RigAnswer:
    """Give the engine's answer as everybody gets it."""
    where = answer.where
    return RigAnswer(
        rig=rig,
        depth_m=where.depth,
        depth_90_m=answer.depth_90,
        speed_m_s=setting.speed,
        let_out_m=where.let_out,
        let_out_90_m=answer.let_out_90,
        counter_m=where.let_out / tow.counter_factor,
        colors_out=count(tow, where.let_out).colors,
        layback_m=where.layback,
        side_m=where.side,
        deepest_m=where.deepest,
        tension_n=where.tension,
        strength_share=where.share,
        depth_per_0_1_mph_m=answer.per_speed * _PER_SPEED,
        depth_per_10_ft_line_m=answer.per_line * _PER_LINE,
        answered_share=answer.within,
        water_density_kg_m3=float(tow.medium[0]),
        calibrated=calibrated_by(tow),
        current=[{"depth_m": d, "along_m_s": a, "across_m_s": c} for d, a, c in setting.current],
        asked=asked,
    )


def let_out_table(rig: str, tow: Tow, found: questions.Table) -> LetOutTable:
    """Give the engine's table as everybody gets it."""
    colors = np.full(found.let_out.shape, np.nan)
    for place, out in np.ndenumerate(found.let_out):
        counted = count(tow, float(out)).colors if math.isfinite(out) else None
        colors[place] = np.nan if counted is None else counted
    return LetOutTable(
        rig, found.depths, found.speeds, found.let_out, found.low, found.high, colors,
        calibrated_by(tow),
    )  # fmt: skip


def calibrated_by(tow: Tow) -> dict[str, object] | None:
    """Say what an answer is calibrated by; None where it is not."""
    if tow.learnt is None:
        return None
    return {
        "readings": tow.learnt.readings,
        "since": tow.learnt.since or None,
        "current_of_today": bool(tow.learnt.along.size),
    }


def rig(name: str, *, tackle: str | Path | Iterable[str | Path] = ()) -> Rig:
    """Find a rig by name, among the stock, the crew's own tackle and further files.

    Parameters
    ----------
    name : str
        The rig's name.
    tackle : path or iterable of path
        Tackle files laid over the stock and the crew's own.

    Raises
    ------
    InputError
        Where there is no such rig, or a file cannot be read.

    Examples
    --------
    >>> import towscope as ts
    >>> ts.rig("demo").speed(depth="30 ft", let_out="170 ft")
    demo: go 2.1 mph (1.9 to 2.4 mph, 9 in 10) for 30 ft down on 170 ft
    """
    shelf = _shelf(tackle)
    shelf.rig(name)
    return Rig(name, shelf)


def rigs(*, tackle: str | Path | Iterable[str | Path] = ()) -> list[str]:
    """Name the rigs that there are.

    Examples
    --------
    >>> import towscope as ts
    >>> "demo" in ts.rigs()
    True
    """
    return sorted(_shelf(tackle).rigs)


def _shelf(tackle: str | Path | Iterable[str | Path]) -> Shelf:
    from towscope.tackle import load

    files = [tackle] if isinstance(tackle, (str, Path)) else list(tackle)
    return load([Path(file) for file in files])
