"""A rig with its posterior taken in: its middle, and versions about it.

Kept light: every quick question of a calibrated rig comes through here.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from towscope.arrays import Array
from towscope.constants import MPH
from towscope.towing.drag import cross_flow_coefficient
from towscope.towing.steady import (
    ANSWER,
    DIAMETER,
    FRICTION,
    FRICTION_SCALE,
    LENGTH,
    NORMAL,
    NORMAL_SCALE,
    WATER_WEIGHT,
    Towed,
    room_for,
    sweep,
)
from towscope.towing.tow import Learnt, Tow, standard_normal

FigureOf = Callable[[str], Array | None]

USUAL_SPEEDS = (1.5 * MPH, 2.0 * MPH, 2.5 * MPH)
SHARES = (0.3, 0.5, 0.7, 0.9)
SAMPLE = 64
ROUGH = 1e-5
CLOSE = 0.002  # share of depth to which the middle is made to run where the versions do
TYPICAL_CROSS_FLOW = 0.2  # [m/s]
TAYLOR_POWER = 1.6  # of speed, in skin friction by the laws: between 1.5 and 2
SEED = 4_411


def take_in(
    tow: Tow,
    lure: str,
    rig: str,
    figure: FigureOf,
    *,
    count: int,
    counter_sd: float,
    along: Array,
    since: str,
    readings: int,
) -> Tow:
    """Give the tow as its readings leave it.

    Parameters
    ----------
    tow : Tow
        The rig as stated.
    lure, rig : str
        Their names.
    figure : callable
        Gives draws (m,) of a figure by its name, as differences from what is stated; None where
        readings say nothing of it: it is then as unsure as stated.
    count : int
        How many draws there are.
    counter_sd : float
        How unsure a counter's scale is where no reading of this rig tells.
    along : (m,) or (0,) array
        The asked day's current with the boat [m/s].
    since : str
        Date of the newest reading.
    readings : int
        How many there are.

    Returns
    -------
    Tow
        With `learnt`; let-outs and speeds are meant as they are read aboard.

    Notes
    -----
    A speed sensor's scale is taken into the drags, whose square law makes it the same: every
    engine can then be asked by speeds as they are read.
    """
    doubt = tow.doubt
    groups = int(doubt.group.max()) + 1
    fresh = standard_normal(count, 3 * groups + 5, SEED)
    speed = figure("speed")
    log_speed = np.zeros(count) if speed is None else speed
    columns = []
    for c, (what, sds) in enumerate(
        (("drag", doubt.drag), ("friction", doubt.friction), ("weight", doubt.weight))
    ):
        out = np.empty((count, groups))
        for i, g in enumerate(doubt.group):
            known = figure(f"line:{tow.names[i]}:{what}")
            x = float(sds[i]) * fresh[:, 3 * g + c] if known is None else known
            power = _power(tow, i) if what == "drag" else TAYLOR_POWER
            if what == "friction" and tow.pieces[i, FRICTION] >= 0.0:
                power = 2.0
            out[:, g] = np.exp(x if what == "weight" else x + power * log_speed)
        columns.append(out)
    sd4 = (doubt.lure_drag, doubt.lure_dive, doubt.lure_weight, doubt.lure_dive_area)
    x4 = []
    for c, (what, sd) in enumerate(zip(("drag", "dive", "weight", "trim"), sd4, strict=True)):
        known = figure(f"lure:{lure}:{what}")
        x4.append(sd * fresh[:, 3 * groups + c] if known is None else known)
    square = np.exp(2.0 * log_speed)
    lures = np.column_stack(
        [
            tow.lure[0] * np.exp(x4[0]) * square,
            (tow.lure[1] * np.exp(x4[1]) + x4[3]) * square,
            tow.lure[2] + x4[2],
        ]
    )
    counter = figure(f"counter:{rig}")
    scale = np.exp(counter_sd * fresh[:, -1] if counter is None else counter)
    along = along / np.exp(log_speed) if along.size else along  # in the sensor's own measure
    learnt = Learnt(columns[0], columns[1], columns[2], lures, scale, along, since, readings)
    return _middle(replace(tow, learnt=learnt))


def _power(tow: Tow, piece: int) -> float:
    """Power of speed that a piece's cross-flow drag goes with, at a usual slant."""
    row = tow.pieces[piece]
    if row[NORMAL] >= 0.0:
        return 2.0
    re = TYPICAL_CROSS_FLOW * row[DIAMETER] / tow.medium[1]
    more, less = cross_flow_coefficient(1.05 * re), cross_flow_coefficient(re / 1.05)
    return 2.0 + math.log(more / less) / (2.0 * math.log(1.05))


def usual_let_outs(tow: Tow) -> Array:
    """Let-outs that a rig is run at: shares of its leader and core, else of its first 200 ft."""
    coded = np.flatnonzero(np.isfinite(tow.color_length))
    ends = np.cumsum(tow.pieces[:, LENGTH])
    top = float(ends[coded[-1]]) if len(coded) else 60.0
    return np.array(SHARES) * min(top, 0.95 * tow.length)


def depths_at(
    tow: Tow, pieces: Array, lure: Array, let_outs: Array, speed: float, along: float = 0.0
) -> Array:
    """Depth of the lure [m] at rising let-outs (n,) and one speed, for one version of a tow."""
    out = np.empty((len(let_outs), ANSWER))
    flow = np.array([[0.0, speed - along, 0.0]])
    towed = Towed(pieces, lure, tow.medium, flow, speed, tow.tip)
    sweep(towed, let_outs, ROUGH, room_for(len(pieces)), out)
    return out[:, 0]


def _middle(tow: Tow) -> Tow:
    """Choose pieces and lure that run, as figures are read, where half the versions run deeper.

    The mean of each figure would not: it leaves the counter's scale out, and depth is no straight
    line in any of them.
    """
    learnt = tow.learnt
    assert learnt is not None
    outs = usual_let_outs(tow)
    few = learnt.draws(tow, min(SAMPLE, len(learnt.lures)), 20_190)
    found = []
    for speed in USUAL_SPEEDS:
        rows = [
            depths_at(tow, p, lure, np.minimum(outs * c, tow.length), speed)
            for p, lure, c in zip(few.pieces, few.lures, few.let_out_scale, strict=True)
        ]
        found.append(np.median(rows, axis=0))
    goal = np.concatenate(found)
    used = np.isfinite(goal) & (goal > 0.3)
    groups = learnt.drag.shape[1]
    logs = [np.log(learnt.drag), np.log(learnt.weight), np.log(learnt.lures[:, :1])]
    dive = learnt.lures[:, 1:2] / tow.lure[0]
    all_figures = np.column_stack([*logs, dive])
    start, spread = all_figures.mean(0), all_figures.std(0) + 1e-4
    friction = np.exp(np.log(learnt.friction).mean(0))
    weight = float(learnt.lures[:, 2].mean())

    def made(u: Array) -> Tow:
        pieces = tow.pieces.copy()
        pieces[:, NORMAL_SCALE] *= np.exp(u[:groups])[tow.doubt.group]
        pieces[:, WATER_WEIGHT] *= np.exp(u[groups : 2 * groups])[tow.doubt.group]
        pieces[:, FRICTION_SCALE] *= friction[tow.doubt.group]
        lure = np.array([math.exp(u[-2]), u[-1] * tow.lure[0], weight])
        return replace(tow, pieces=pieces, lure=lure)

    def log_depths(u: Array) -> Array:
        new = made(u)
        rows = [depths_at(new, new.pieces, new.lure, outs, v) for v in USUAL_SPEEDS]
        return np.log(np.maximum(np.concatenate(rows)[used], 0.05))

    u = start
    if used.any():
        wanted = np.log(goal[used])
        step = 0.25 * spread
        for _ in range(2):
            now = log_depths(u)
            slope = np.column_stack(
                [(log_depths(u + step * (k == np.arange(u.size))) - now) / step[k]
                 for k in range(u.size)]
            )  # fmt: skip
            scaled = slope * spread / CLOSE
            gap = (wanted - now) / CLOSE
            # damped towards the mean of each figure in its own spread
            lhs = scaled.T @ scaled + np.eye(u.size)
            rhs = scaled.T @ gap - (u - start) / spread
            u = u + spread * np.linalg.solve(lhs, rhs)
    new = made(u)
    assert new.learnt is not None
    # the versions stand as factors on the middle's own pieces
    own = replace(
        learnt,
        drag=learnt.drag / np.exp(u[:groups]),
        weight=learnt.weight / np.exp(u[groups : 2 * groups]),
        friction=learnt.friction / friction,
    )
    return replace(new, learnt=own)
