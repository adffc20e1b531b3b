"""Unsure figures of lines, lures, counters and days as log offsets, and how readings hang on them.

Every figure is a difference from what is stated: of a logarithm where it must stay positive. Lines
and lures go by their names, so what one rig's readings teach of a line serves every rig with it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import scipy

from towscope.arrays import Array, Integers
from towscope.calibration import kernels
from towscope.calibration.readings import Reading
from towscope.constants import MPH
from towscope.towing.cores import share_out
from towscope.towing.steady import LENGTH
from towscope.towing.tow import Tow

Key = tuple[str, str]

EASY = 20  # readings by the table that cost what one step of the engine's rows does
LEAST = 0.004  # [1]; what moves a depth by less than this share needs no curvature
LINE_FIGURES = ("drag", "friction", "weight")
LURE_FIGURES = ("drag", "dive", "weight", "trim")


@dataclass(frozen=True)
class Customs:
    """What is assumed of crews and their gear, as standard deviations; common practice, no source.

    Attributes
    ----------
    counter, speed : float
        Of the logarithm of a line counter's and of a speed sensor's scale.
    current : float
        Of a day's unstated current along the course [m/s].
    wrong : float
        Share of readings that are something else: weed, a fish, a stone, a slip of the pen.
    speed_error : float
        Of one reading of speed, apart from the sensor's scale [m/s].
    let_out_error : float
        Of one reading of let-out, apart from the counter's scale [m].
    heavy : bool
        Whether a line's drag and weight have longer tails than a normal's: makes differ more than
        spools of one make do.
    doubt : float
        Factor on all that is stated of lines, lures, counters and sensors: people state their
        doubts too small. Crews whose gear lies half as far again from what is stated, a third of
        all, are then still right nine times in ten (bench/calibration_crews.py).
    """

    counter: float = 0.03
    speed: float = 0.04
    current: float = 0.1 * MPH
    wrong: float = 0.05
    speed_error: float = 0.1 * MPH
    let_out_error: float = 0.3
    heavy: bool = True
    doubt: float = 1.15


@dataclass(frozen=True)
class Figure:
    """One unsure figure.

    Attributes
    ----------
    name : str
        ``line:NAME:drag``, ``lure:NAME:dive``, ``counter:RIG``, ``speed`` or ``current:DAY``.
    sd : float
        Standard deviation before any reading, in the figure's own measure.
    heavy : bool
        Whether its tails are those of Student's t with 4 degrees of freedom.
    """

    name: str
    sd: float
    heavy: bool = False


@dataclass(frozen=True)
class DepthTable:
    """Log depth of every reading around one guess; see `towscope.calibration.kernels`."""

    at: Array
    value: Array
    slope: Array
    curve: Array
    active: Integers

    @property
    def near(self) -> kernels.Near:
        """What the kernels take."""
        return kernels.Near(self.at, self.value, self.slope, self.curve, self.active)


def student(z: Array) -> tuple[Array, Array]:
    """Take normal figures to those of Student's t with 4 degrees of freedom, and give the slope.

    Parameters
    ----------
    z : array
        Standard normal figures.

    Returns
    -------
    tuple of array
        The figures at the same quantiles, and their rate of change with `z`.

    References
    ----------
    Shaw (2006), J. Comput. Finance 9(4):37-73, for the quantile at 4 degrees of freedom.

    Examples
    --------
    Two normal deviations out is what Student's figure is at 2.87:

    >>> float(student(np.array([2.0]))[0].round(2)[0])
    2.87
    """
    z = np.clip(z, -7.5, 7.5)
    four = np.clip(4.0 * scipy.special.ndtr(z) * scipy.special.ndtr(-z), 1e-300, 1.0)
    root = np.sqrt(four)
    q = np.cos(np.arccos(root) / 3.0) / root
    t = np.sign(z) * 2.0 * np.sqrt(np.maximum(q - 1.0, 0.0))
    small = np.abs(z) < 1e-3
    t = np.where(small, z * 1.063846, t)  # the slope at 0: 8/3 over the root of 2 pi
    normal = np.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)
    heavy = 0.375 * (1.0 + 0.25 * t * t) ** -2.5
    return t, normal / heavy


@dataclass
class Evidence:
    """Readings, and all that they may teach of.

    Attributes
    ----------
    readings : list of Reading
        The readings, each with the name of its lure.
    tows : mapping
        Rig and lure to tow.
    customs : Customs
        What is assumed.
    figures : list of Figure
        The unsure figures, in the order of `x`.
    """

    readings: list[Reading]
    tows: Mapping[Key, Tow]
    customs: Customs
    figures: list[Figure] = field(default_factory=list)

    def __post_init__(self) -> None:
        self._place: dict[str, int] = {}
        keys = list(dict.fromkeys((m.rig, m.lure) for m in self.readings))
        self._rigs(keys)
        self._readings(keys)
        self.sd = np.array([f.sd for f in self.figures])
        self.heavy = np.array([f.heavy for f in self.figures])

    # what is unsure

    def _figure(self, name: str, sd: float, heavy: bool = False) -> int:
        if name not in self._place:
            self._place[name] = len(self.figures)
            wide = 1.0 if name.startswith("current") else self.customs.doubt
            self.figures.append(Figure(name, wide * sd, heavy and self.customs.heavy))
        return self._place[name]

    def _rigs(self, keys: Sequence[Key]) -> None:
        tows = [self.tows[key] for key in keys]
        most = max(len(t.pieces) for t in tows)
        groups = max(int(t.doubt.group.max()) + 1 for t in tows)
        count = len(tows)
        self.pieces = np.zeros((count, most, 8))
        self.group = np.zeros((count, most), np.int64)
        self.count = np.array([len(t.pieces) for t in tows])
        self.medium = np.array([t.medium for t in tows], float)
        self.tip = np.array([t.tip for t in tows], float)
        self.area = np.array([t.lure[0] for t in tows], float)
        self.rig_lines = np.full((count, groups), -1, np.int64)
        self.rig_lure = np.zeros((count, 4), np.int64)
        self.starts = np.full((count, groups), np.inf)
        for r, ((_, lure), tow) in enumerate(zip(keys, tows, strict=True)):
            n = len(tow.pieces)
            self.pieces[r, :n] = tow.pieces
            self.pieces[r, n - 1, LENGTH] += 0.3 * tow.length + 10.0  # a counter may read short
            self.group[r, :n] = tow.doubt.group
            starts = np.cumsum(tow.pieces[:, LENGTH]) - tow.pieces[:, LENGTH]
            own = [m.let_out for m in self.readings if (m.rig, m.lure) == keys[r]]
            longest = _reach(max(own) * tow.counter_factor)
            for i, g in enumerate(tow.doubt.group):
                if starts[i] > longest:
                    continue
                sds = (tow.doubt.drag[i], tow.doubt.friction[i], tow.doubt.weight[i])
                at = [
                    self._figure(f"line:{tow.names[i]}:{what}", float(sd), what != "friction")
                    for what, sd in zip(LINE_FIGURES, sds, strict=True)
                ]
                self.rig_lines[r, g] = at[0]
                self.starts[r, g] = min(self.starts[r, g], starts[i])
            doubt = tow.doubt
            sds4 = (doubt.lure_drag, doubt.lure_dive, doubt.lure_weight, doubt.lure_dive_area)
            for c, (what, sd) in enumerate(zip(LURE_FIGURES, sds4, strict=True)):
                self.rig_lure[r, c] = self._figure(f"lure:{lure}:{what}", float(sd))

    def _readings(self, keys: Sequence[Key]) -> None:
        readings, customs = self.readings, self.customs
        order = {key: r for r, key in enumerate(keys)}
        n = len(readings)
        self.rig = np.array([order[m.rig, m.lure] for m in readings], np.int64)
        self.kind = np.array([int(m.kind == "miss") for m in readings], np.int64)
        self.depth = np.array([m.depth for m in readings])
        self.bare_error = np.array([m.error for m in readings])
        self.error = self.bare_error.copy()
        self.ratio = np.array([m.ratio for m in readings])
        self.room = np.maximum(self.depth, 5.0)
        tows = [self.tows[key] for key in keys]
        self.given = np.zeros((n, 8))
        self.where = np.full((n, 8), -1, np.int64)
        by_compass = _days_by_compass(readings)
        for i, m in enumerate(readings):
            tow = tows[self.rig[i]]
            along, across = 1.0, 0.0
            if m.day in by_compass and m.course is not None:
                along, across = (
                    math.sin(math.radians(m.course)),
                    math.cos(math.radians(m.course)),
                )
            self.given[i] = (
                m.speed, m.let_out * tow.counter_factor, along, across,
                tow.lure[1], tow.lure[0], tow.lure[2], tow.medium[0],
            )  # fmt: skip
            self.where[i, :4] = self.rig_lure[self.rig[i]]
            self.where[i, 4] = self._figure(f"counter:{m.rig}", customs.counter)
            self.where[i, 5] = self._figure("speed", customs.speed)
            if customs.current <= 0.0 or m.water:
                continue
            if m.day in by_compass:
                self.where[i, 6] = self._figure(f"current east:{m.day}", customs.current)
                self.where[i, 7] = self._figure(f"current north:{m.day}", customs.current)
            else:
                self.where[i, 6] = self._figure(f"current:{m.day}", customs.current)
        self.lines = self.rig_lines[self.rig]
        groups = self.lines.shape[1]
        sd = np.array([f.sd for f in self.figures])
        self.spread = np.zeros((n, kernels.LINES + 3 * groups))
        q = 0.5 * self.given[:, 7] * self.given[:, 0] ** 2
        drag, dive, weight, trim = (sd[self.where[:, c]] for c in range(4))
        down = np.sqrt((self.given[:, 4] * dive) ** 2 + trim**2 + (weight / q) ** 2)
        self.spread[:, kernels.DOWN] = down / self.given[:, 5]
        self.spread[:, kernels.DRAG] = drag
        self.spread[:, kernels.SPEED] = np.hypot(customs.speed, customs.current / self.given[:, 0])
        self.spread[:, kernels.OUT] = customs.counter
        # the sensitivities are wanted for every figure of a reading, sure or not
        self.spread[:, kernels.SPEED] = np.maximum(self.spread[:, kernels.SPEED], 1e-3)
        self.spread[:, kernels.OUT] = np.maximum(self.spread[:, kernels.OUT], 1e-3)
        self.spread[:, kernels.DOWN] = np.maximum(self.spread[:, kernels.DOWN], 1e-6)
        for g in range(groups):
            out = self.starts[self.rig, g] <= _reach(self.given[:, 1])
            for c in range(3):
                k = kernels.LINES + 3 * g + c
                known = self.lines[:, g] >= 0
                own = sd[np.where(known, self.lines[:, g] + c, 0)]
                self.spread[:, k] = np.where(known & out, own, 0.0)

    def at(self, name: str) -> int | None:
        """Place of a figure in `x`, None where no reading hangs on it."""
        return self._place.get(name)

    # from standard normal figures to physical ones

    def to_x(self, z: Array) -> tuple[Array, Array]:
        """Give the figures, and their slopes, for standard normal ones (m, p)."""
        x, rate = z.copy(), np.ones_like(z)
        if self.heavy.any():
            x[..., self.heavy], rate[..., self.heavy] = student(z[..., self.heavy])
        return x * self.sd, rate * self.sd

    # the depth of every reading

    @property
    def bare(self) -> kernels.Given:
        """The readings as the kernels take them."""
        return kernels.Given(self.given, self.ratio, self.where, self.lines)

    def read(self, wrong: float, soften: float) -> kernels.Read:
        """Give what was read, as the kernels take it."""
        return kernels.Read(self.kind, self.depth, self.error * soften, float(wrong), self.room)

    def local(self, x: Array) -> Array:
        """Give the local figures (n, d) of the readings for one set of global ones."""
        y, steep = np.empty(self.spread.shape), np.empty(6)
        for i in range(len(self.readings)):
            kernels.localise(x, i, self.bare, y[i], steep)
        return y

    def tabulate(self, x: Array, *, curved: bool = True) -> DepthTable:
        """Tabulate depths around a set of figures."""
        at = self.local(x)
        n, d = at.shape
        value, slope, curve = np.zeros(n), np.zeros((n, d)), np.zeros((n, d, d))
        active = np.zeros((n, d + 1), np.int64)

        rigs = kernels.RigArrays(
            self.pieces, self.group, self.count, self.medium, self.tip, self.area
        )
        near = kernels.Near(at, value, slope, curve, active)
        least = LEAST if curved else math.inf

        def work(first: int, beyond: int) -> None:
            kernels.tabulate(first, beyond, rigs, self.rig, self.spread, least, near)

        share_out(work, n, 50)
        lost = ~np.isfinite(value) | ~np.isfinite(slope).all(1) | ~np.isfinite(curve).all((1, 2))
        if lost.any():  # more line than can be: say nothing of it
            value[~np.isfinite(value)] = math.log(kernels.SHELF)
            slope[lost], curve[lost] = 0.0, 0.0
        return DepthTable(at, value, slope, curve, active)

    def depths(self, x: Array, table: DepthTable) -> Array:
        """Depth of every reading (m, n) for sets of figures (m, p), by the table [m]."""
        x = np.ascontiguousarray(np.atleast_2d(x))
        depth = np.empty((len(x), len(self.readings)))

        def work(first: int, beyond: int) -> None:
            kernels.depths(first, beyond, x, self.bare, table.near, depth)

        share_out(work, len(x), len(self.readings) // EASY)
        return depth

    def slopes(self, x: Array, table: DepthTable) -> tuple[Array, Array]:
        """Depths (n,) and their slopes (n, p) by the figures, by the table."""
        n, p = len(self.readings), len(self.figures)
        depth, jacobian = np.empty(n), np.empty((n, p))
        kernels.slopes(x, self.bare, table.near, depth, jacobian)
        return depth, jacobian

    def settle_errors(self, x: Array, table: DepthTable) -> None:
        """Add to the error of each read depth what the readings of speed and let-out add."""
        steep = np.empty(6)
        y = np.empty(self.spread.shape[1])
        depths = self.depths(x, table)[0] / self.ratio
        for i, depth in enumerate(depths):
            kernels.localise(x, i, self.bare, y, steep)
            e = max(depth, 0.0) + kernels.SHELF
            s = table.slope[i]
            by_speed = (s[kernels.SPEED] + s[kernels.DOWN] * steep[5]) * e
            by_out = s[kernels.OUT] * e
            self.error[i] = math.sqrt(
                self.bare_error[i] ** 2
                + (by_speed * self.customs.speed_error / self.given[i, 0]) ** 2
                + (by_out * self.customs.let_out_error / self.given[i, 1]) ** 2
            )

    # how well it all fits

    def density(
        self, z: Array, table: DepthTable, wrong: float | None = None, soften: float = 1.0
    ) -> tuple[Array, Array, Array]:
        """Log posterior (m,), its gradient (m, p), and the log likelihood alone, for `z` (m, p)."""
        z = np.ascontiguousarray(np.atleast_2d(z))
        x, rate = self.to_x(z)
        total, gradient = np.empty(len(z)), np.empty(z.shape)
        share = self.customs.wrong if wrong is None else wrong
        read = self.read(share, soften)

        def work(first: int, beyond: int) -> None:
            kernels.density(first, beyond, x, self.bare, table.near, read, total, gradient)

        share_out(work, len(z), len(self.readings) // EASY)
        height = total - 0.5 * (z * z).sum(1)
        gradient = gradient * rate - z
        lost = ~(np.isfinite(height) & np.isfinite(gradient).all(1))
        height[lost], gradient[lost] = -np.inf, 0.0  # far beyond anything that floats
        return height, gradient, total


def _reach(let_out: Any) -> Any:
    """How far from the lure a line may begin and still matter at a let-out [m]."""
    return 1.1 * let_out + 3.0


def _days_by_compass(readings: Sequence[Reading]) -> set[str]:
    """Days whose readings all have a course."""
    days: dict[str, list[float | None]] = {}
    for m in (each for each in readings if not each.water):
        days.setdefault(m.day, []).append(m.course)
    return {day for day, courses in days.items() if all(c is not None for c in courses)}
