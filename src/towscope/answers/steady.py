"""A rig's answers in steady tow: one answer, a table of let-outs, the line's shape."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from typing_extensions import TypedDict

from towscope.answer_forms import AnswerForms, TableForms
from towscope.arrays import Array
from towscope.constants import FOOT, MPH
from towscope.formats.plain import plain
from towscope.tackle.counting import count
from towscope.towing import questions
from towscope.units import shown_units

if TYPE_CHECKING:
    from towscope.towing.questions import Answer
    from towscope.towing.tow import Setting, Tow
    from towscope.units import System

Asked = Literal["let_out", "depth", "speed"]
Pair = tuple[float, float]
Layers = tuple[tuple[float, float, float], ...]
_PER_SPEED, _PER_LINE = 0.1 * MPH, 10.0 * FOOT


class Calibrated(TypedDict):
    """What readings an answer is calibrated by: how many, the newest's date, whether of today."""

    readings: int
    since: str | None
    current_of_today: bool


class Current(TypedDict):
    """Water that moves at a depth: with the boat, and to starboard of it."""

    depth_m: float
    along_m_s: float
    across_m_s: float


@dataclass(frozen=True, repr=False)
class RigAnswer(AnswerForms):
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
    calibrated: Calibrated | None = None
    current: list[Current] = field(default_factory=list)
    speed_90_m_s: Pair | None = field(default=None, metadata={"json": "asked"})
    other_speeds_m_s: tuple[float, ...] | None = field(default=None, metadata={"json": "asked"})
    asked: Asked = field(default="let_out", compare=False, metadata={"json": False})

    @property
    def layers(self) -> Layers:
        """The current as questions take it: layers of depth, along, across [m, m/s, m/s]."""
        return tuple((c["depth_m"], c["along_m_s"], c["across_m_s"]) for c in self.current)

    def __repr__(self) -> str:
        """Say it in one line, in the units of ``TOWSCOPE_UNITS``."""
        shown = shown_units()
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

    def _shown(self, units: System) -> list[tuple[str, str]]:
        return [
            ("line out", units.show(self.let_out_m, "length")),
            ("depth", units.show(self.depth_m, "length")),
            ("depth, 9 in 10", units.range(*self.depth_90_m, "length")),
            ("speed", units.show(self.speed_m_s, "speed")),
            ("behind the rod", units.show(self.layback_m, "length")),
            ("pull", units.show(self.tension_n, "force")),
        ]


@dataclass(frozen=True, eq=False, repr=False)
class LetOutTable(TableForms):
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
    current : tuple of (depth, along, across)
        The current it was asked with [m, m/s, m/s].
    """

    rig: str
    depths_m: Array
    speeds_m_s: Array
    let_out_m: Array
    low_90_m: Array
    high_90_m: Array
    colors_out: Array
    calibrated: Calibrated | None = None
    current: Layers = ()

    def to_dict(self) -> dict[str, Any]:
        """Give it as the JSON object that ``towscope table --json`` prints."""
        of = self.columns()
        cells = [
            {
                "depth_m": depth,
                "speed_m_s": speed,
                "let_out_m": out,
                "let_out_90_m": (low, high) if math.isfinite(out) else None,
                "colors_out": colors,
            }
            for depth, speed, out, low, high, colors in zip(*of.values(), strict=True)
        ]
        made: dict[str, Any] = plain(
            {"rig": self.rig, "calibrated": self.calibrated, "cells": cells}
        )
        return made

    def __repr__(self) -> str:
        """Say what it is a table of."""
        shown = shown_units()
        depths = shown.range(float(self.depths_m[0]), float(self.depths_m[-1]), "length")
        speeds = shown.range(float(self.speeds_m_s[0]), float(self.speeds_m_s[-1]), "speed")
        return f"{self.rig}: line out for {depths} down at {speeds}"

    def columns(self) -> dict[str, Array]:
        """Give a row for each depth and speed."""
        depth, speed = np.meshgrid(self.depths_m, self.speeds_m_s, indexing="ij")
        cells = {"depth_m": depth, "speed_m_s": speed, "let_out_m": self.let_out_m}
        cells |= {"low_90_m": self.low_90_m, "high_90_m": self.high_90_m}
        cells["colors_out"] = self.colors_out
        return {name: column.ravel() for name, column in cells.items()}


@dataclass(frozen=True, eq=False)
class LineShape(TableForms):
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


def rig_answer(
    rig: str,
    tow: Tow,
    answer: Answer,
    setting: Setting,
    asked: Asked = "let_out",
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


def let_out_table(rig: str, tow: Tow, found: questions.Table, setting: Setting) -> LetOutTable:
    """Give the engine's table as everybody gets it."""
    colors = np.full(found.let_out.shape, np.nan)
    for place, out in np.ndenumerate(found.let_out):
        counted = count(tow, float(out)).colors if math.isfinite(out) else None
        colors[place] = np.nan if counted is None else counted
    return LetOutTable(
        rig, found.depths, found.speeds, found.let_out, found.low, found.high, colors,
        calibrated_by(tow), setting.current,
    )  # fmt: skip


def calibrated_by(tow: Tow) -> Calibrated | None:
    """Say what an answer is calibrated by; None where it is not."""
    if tow.learnt is None:
        return None
    return {
        "readings": tow.learnt.readings,
        "since": tow.learnt.since or None,
        "current_of_today": bool(tow.learnt.along.size),
    }
