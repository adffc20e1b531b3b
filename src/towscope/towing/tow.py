"""What is being towed and how: the engine's own description of a rig and of its setting.

Bare figures in SI; names stand only where an answer must name a piece of line.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from statistics import NormalDist

import numpy as np
import numpy.typing as npt

from towscope.arrays import Array
from towscope.towing.draw_kernels import shifted
from towscope.towing.question_kernels import Versions
from towscope.towing.runner import run
from towscope.towing.steady import (
    FRICTION_SCALE,
    LENGTH,
    NORMAL_SCALE,
    WATER_WEIGHT,
    Towed,
)

DRAWS = 512
SEED = 20_190


@dataclass(frozen=True)
class Doubt:
    """How unsure each figure of a tow is, as standard deviations.

    Attributes
    ----------
    group : (n,) array of int
        Pieces with the same number are of one line, and err together.
    drag, friction, weight : (n,) array
        Of the logarithm of a piece's cross-flow drag, skin friction and weight in water.
    lure_drag, lure_dive : float
        Of the logarithm of the lure's drag area and dive area.
    lure_weight : float
        Of the lure's weight in water [N].
    lure_dive_area : float
        Of the lure's dive area, added to the above [m^2]: a lure that neither dives nor rises on
        paper does a little of either in the water.
    """

    group: npt.NDArray[np.int64]
    drag: Array
    friction: Array
    weight: Array
    lure_drag: float = 0.0
    lure_dive: float = 0.0
    lure_weight: float = 0.0
    lure_dive_area: float = 0.0

    @property
    def of_lure(self) -> Array:
        """What is unsure of the lure, (4,): drag, dive, weight and dive area added."""
        return np.array([self.lure_drag, self.lure_dive, self.lure_weight, self.lure_dive_area])


@dataclass(frozen=True)
class Learnt:
    """What readings have taught of a tow: equally likely versions in place of its stated doubt.

    Attributes
    ----------
    drag, friction, weight : (m, groups) array
        Factors on each line's cross-flow drag, skin friction and weight in water; a line is a
        group of `Doubt`.
    lures : (m, 3) array
        Lure of each version.
    let_out_scale : (m,) array
        Line truly out for each let-out that is read.
    along : (m,) array
        Current with the boat on the day that it is asked, where readings tell; else empty [m/s].
    since : str
        Date of the newest reading, ISO 8601; "" where none had a date.
    readings : int
        How many readings taught it.
    """

    drag: Array
    friction: Array
    weight: Array
    lures: Array
    let_out_scale: Array
    along: Array
    since: str
    readings: int

    def draws(self, tow: Tow, count: int, seed: int) -> Draws:
        """Give so many of the versions of the tow; another seed begins elsewhere among them."""
        rows = (np.arange(count) + 37 * (seed - SEED)) % len(self.lures)
        pieces = np.repeat(tow.pieces[None], count, axis=0)
        columns = (NORMAL_SCALE, FRICTION_SCALE, WATER_WEIGHT)
        for column, factor in zip(columns, (self.drag, self.friction, self.weight), strict=True):
            pieces[:, :, column] *= factor[rows][:, tow.doubt.group]
        along = self.along[rows] if self.along.size else self.along
        return Draws(pieces, self.lures[rows], let_out_scale=self.let_out_scale[rows], along=along)


@dataclass(frozen=True)
class Tow:
    """A lure and the lines above it, ready for the engine.

    Attributes
    ----------
    pieces : (n, 8) array
        Pieces of line from the lure up; columns as `towscope.towing.steady` names them.
    lure : (3,) array
        Drag area [m^2], dive area [m^2], weight in water [N].
    medium : (4,) array
        Density [kg/m^3] and kinematic viscosity [m^2/s] of the water, then of the air.
    tip : float
        Height of the rod tip above the water [m].
    names : tuple of str
        Name of each piece's line.
    color_length : (n,) array
        Length of one colour [m], NaN where a piece is not coded.
    strength : (n,) array
        Strength of each piece [N], NaN where it is not known.
    doubt : Doubt
        How unsure the figures are.
    counter_factor : float
        Line really let out for each length that the counter shows.
    learnt : Learnt or None
        What readings have taught of it; `pieces` and `lure` are then its middle.
    """

    pieces: Array
    lure: Array
    medium: Array
    tip: float
    names: tuple[str, ...]
    color_length: Array
    strength: Array
    doubt: Doubt
    counter_factor: float = 1.0
    learnt: Learnt | None = None

    @property
    def length(self) -> float:
        """All line on the rig [m]."""
        return float(self.pieces[:, LENGTH].sum())

    def towed(self, setting: Setting) -> Towed:
        """Give what the kernels take: this tow, run so."""
        return Towed(
            self.pieces, self.lure, self.medium, setting.flow(), float(setting.speed), self.tip
        )

    def with_length(self, length: float) -> Tow:
        """Give the same tow with its last piece cut or drawn out to a total length [m]."""
        pieces = self.pieces.copy()
        before = float(pieces[:-1, LENGTH].sum())
        pieces[-1, LENGTH] = max(length - before, 1e-3)
        return replace(self, pieces=pieces)


@dataclass(frozen=True)
class Setting:
    """How the rig is run.

    Attributes
    ----------
    speed : float
        Speed of the boat over ground [m/s].
    current : tuple of (depth, along, across)
        Current by depth: depth [m], speed with the boat and speed to starboard [m/s]; one entry
        is the same at all depths, none is still water.
    """

    speed: float
    current: tuple[tuple[float, float, float], ...] = ()

    def flow(self, scale: float = 1.0) -> Array:
        """Water past the tow by depth, (k, 3): depth [m], from ahead and from port [m/s]."""
        rows = self.current or ((0.0, 0.0, 0.0),)
        return np.array([[d, self.speed * scale - along, across] for d, along, across in rows])

    def at_speed(self, speed: float) -> Setting:
        """Give the same setting at another speed [m/s]."""
        return replace(self, speed=speed)


@dataclass(frozen=True)
class Draws:
    """Many equally likely versions of one tow.

    Attributes
    ----------
    pieces : (m, n, 8) array
        Pieces of each draw.
    lures : (m, 3) array
        Lure of each draw.
    speed_scale : (m,) array
        True speed through the water for each speed that is read.
    let_out_scale : (m,) array
        Line truly out for each let-out that is read.
    along : (m,) array
        Current with the boat that nobody stated [m/s].
    """

    pieces: Array
    lures: Array
    speed_scale: Array = field(default_factory=lambda: np.ones(0))
    let_out_scale: Array = field(default_factory=lambda: np.ones(0))
    along: Array = field(default_factory=lambda: np.zeros(0))

    def __len__(self) -> int:
        return int(self.lures.shape[0])

    @property
    def versions(self) -> Versions:
        """What the kernels take."""
        return Versions(self.pieces, self.lures, self.speed_scale, self.let_out_scale, self.along)


def standard_normal(count: int, dimensions: int, seed: int = SEED) -> Array:
    """Draw normal figures by Latin hypercube: each margin is spread evenly over its quantiles.

    Parameters
    ----------
    count, dimensions : int
        How many draws, of how many figures.
    seed : int
        The same seed gives the same draws on every machine.

    Returns
    -------
    (count, dimensions) array
        The draws.

    References
    ----------
    McKay, Beckman & Conover (1979), Technometrics 21:239-245.
    """
    rng = np.random.Generator(np.random.PCG64(seed))
    middle = NormalDist()
    strata = np.array([middle.inv_cdf((i + 0.5) / count) for i in range(count)])
    return np.column_stack([rng.permutation(strata) for _ in range(dimensions)])


def draw(tow: Tow, count: int = DRAWS, seed: int = SEED) -> Draws:
    """Draw versions of a tow from its stated uncertainty, or from what readings have left of it.

    Parameters
    ----------
    tow : Tow
        The tow.
    count : int
        How many.
    seed : int
        The same seed gives the same draws.

    Returns
    -------
    Draws
        The versions.
    """
    if tow.learnt is not None:
        return tow.learnt.draws(tow, count, seed)
    doubt = tow.doubt
    groups = int(doubt.group.max()) + 1
    z = standard_normal(count, 3 * groups + 4, seed)
    pieces = np.empty((count, *tow.pieces.shape))
    lures = np.empty((count, 3))
    line_sd = np.column_stack([doubt.drag, doubt.friction, doubt.weight])
    run(shifted, tow.pieces, tow.lure, doubt.group, line_sd, doubt.of_lure, z, pieces, lures)
    return Draws(pieces, lures)
