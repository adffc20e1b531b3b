"""The same posterior by other means: every depth by the engine, a general sampler over it."""

from __future__ import annotations

import math
from collections.abc import Mapping

import emcee
import numpy as np
from scipy import special

from towscope.arrays import Array
from towscope.calibration.model import Evidence
from towscope.towing.steady import (
    FRICTION_SCALE,
    LENGTH,
    NORMAL_SCALE,
    WATER_WEIGHT,
    Towed,
    room_for,
    sweep,
)
from towscope.towing.tow import Tow

PRECISION = 1e-6


def figures_of(problem: Evidence, z: Array) -> dict[str, float]:
    """Physical figures by name, the tails by scipy's own quantiles."""
    heavy = np.array([f.heavy for f in problem.figures])
    x = np.where(heavy, special.stdtrit(4.0, special.ndtr(z)), z)
    return {f.name: f.sd * float(v) for f, v in zip(problem.figures, x, strict=True)}


def depths_of(problem: Evidence, tows: Mapping[tuple[str, str], Tow], z: Array) -> Array:
    """Depth of every reading by the engine itself [m]."""
    x = figures_of(problem, z)
    depths = np.empty(len(problem.readings))
    answer = np.empty((1, 7))
    made: dict[tuple[str, str], tuple[Array, Array, Tow]] = {}
    for i, m in enumerate(problem.readings):
        if (m.rig, m.lure) not in made:
            tow = tows[m.rig, m.lure]
            pieces = tow.pieces.copy()
            for k, name in enumerate(tow.names):
                columns = (NORMAL_SCALE, FRICTION_SCALE, WATER_WEIGHT)
                for c, what in zip(columns, ("drag", "friction", "weight"), strict=True):
                    pieces[k, c] *= math.exp(x.get(f"line:{name}:{what}", 0.0))
            pieces[-1, LENGTH] += 50.0
            name = f"lure:{m.lure}"
            lure = np.array(
                [
                    tow.lure[0] * math.exp(x[f"{name}:drag"]),
                    tow.lure[1] * math.exp(x[f"{name}:dive"]) + x[f"{name}:trim"],
                    tow.lure[2] + x[f"{name}:weight"],
                ]
            )
            made[m.rig, m.lure] = pieces, lure, tow
        pieces, lure, tow = made[m.rig, m.lure]
        speed = m.speed * math.exp(x["speed"]) - x.get(f"current:{m.day}", 0.0)
        out = m.let_out * tow.counter_factor * math.exp(x[f"counter:{m.rig}"])
        flow = np.array([[0.0, speed, 0.0]])
        towed = Towed(pieces, lure, tow.medium, flow, speed, tow.tip)
        sweep(towed, np.array([out]), PRECISION, room_for(len(pieces)), answer)
        depths[i] = max(answer[0, 0], 0.0) * m.ratio
    return depths


def log_posterior(z: Array, problem: Evidence, tows: Mapping[tuple[str, str], Tow]) -> float:
    """Log posterior density up to a constant, straight from its definition."""
    if float(np.abs(z).max()) > 7.0:
        return -math.inf
    wrong, depths = problem.customs.wrong, depths_of(problem, tows, z)
    if np.isnan(depths).any():  # no line can be followed there
        return -math.inf
    total = -0.5 * float(z @ z)
    for i, (m, d) in enumerate(zip(problem.readings, depths, strict=True)):
        error = problem.error[i]
        if m.kind == "miss":
            inside = 0.5 * math.erfc((d - m.depth) / error / math.sqrt(2.0))
            total += math.log((1.0 - wrong) * inside + 0.5 * wrong)
        else:
            right = math.exp(-0.5 * ((m.depth - d) / error) ** 2) / (
                error * math.sqrt(2.0 * math.pi)
            )
            total += math.log((1.0 - wrong) * right + wrong / max(m.depth, 5.0))
    return total


def long_run(
    problem: Evidence,
    tows: Mapping[tuple[str, str], Tow],
    start: Array,
    steps: int,
    seed: int = 3,
) -> emcee.EnsembleSampler:
    """Sample by an ensemble of walkers, begun about some draws.

    References
    ----------
    Foreman-Mackey, Hogg, Lang & Goodman (2013), Publ. Astron. Soc. Pac. 125:306-312.
    """
    sampler = emcee.EnsembleSampler(
        len(start), start.shape[1], log_posterior, args=(problem, tows),
        moves=[(emcee.moves.DEMove(), 0.8), (emcee.moves.DESnookerMove(), 0.2)],
    )  # fmt: skip
    # the sampler draws by numpy's legacy generator, whose state it takes and keeps
    sampler.random_state = np.random.RandomState(seed).get_state()
    sampler.run_mcmc(start, steps)
    return sampler
