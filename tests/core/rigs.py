"""Made-up rigs and settings for comparing the portable core with the kernels."""

from __future__ import annotations

import numpy as np

from towscope.towing import question_kernels as qk
from towscope.towing.steady import Towed, room_for

WATER_AND_AIR = np.array([998.2, 1.0034e-6, 1.204, 1.5e-5])


def pieces(rng: np.random.Generator) -> np.ndarray:
    """One to four pieces of line: leader, core, backing; by the drag laws or by fixed figures."""
    rows = []
    for _ in range(int(rng.integers(1, 5))):
        law = rng.random() < 0.6
        weight = float(rng.choice([rng.uniform(0.0, 0.01), rng.uniform(0.01, 0.2)]))
        rows.append(
            [
                rng.uniform(3.0, 60.0),
                rng.uniform(2.5e-4, 1.2e-3),
                weight * rng.choice([1.0, 1.0, 1.0, -0.02]),
                abs(weight) * 1.2 + 1e-3,
                -1.0 if law else rng.uniform(1.0, 1.6),
                -1.0 if law else rng.uniform(0.0, 0.03),
                rng.uniform(0.8, 1.3),
                rng.uniform(0.8, 1.3),
            ]
        )
    return np.array(rows)


def towed(rng: np.random.Generator, own: np.ndarray, layers: int) -> Towed:
    """A lure on a line, at a trolling speed, in so many layers of current."""
    speed = float(rng.uniform(0.4, 1.8))
    lure = np.array([rng.uniform(1e-4, 2e-3), rng.uniform(-2e-4, 1.5e-3), rng.uniform(-0.02, 0.3)])
    depth = np.concatenate([[0.0], np.cumsum(rng.uniform(2.0, 10.0, layers - 1))])
    flow = np.column_stack(
        [depth, speed - rng.uniform(-0.2, 0.2, layers), rng.uniform(-0.15, 0.15, layers)]
    )
    return Towed(own, lure, WATER_AND_AIR, flow, speed, float(rng.uniform(0.0, 2.0)))


def rig(rng: np.random.Generator, draws: int, layers: int = 0) -> qk.Rig:
    """A tow with so many versions, in so many layers of current; 0: one to three."""
    own = pieces(rng)
    tow = towed(rng, own, layers or int(rng.integers(1, 4)))
    drawn = np.repeat(own[None], draws, axis=0)
    drawn[:, :, 6:8] *= np.exp(0.1 * rng.standard_normal((draws, len(own), 2)))
    lures = tow.lure * np.exp(0.2 * rng.standard_normal((draws, 3)))

    def some(values: np.ndarray) -> np.ndarray:
        return values if rng.random() < 0.5 else np.empty(0)

    versions = qk.Versions(
        drawn,
        lures,
        some(np.exp(0.03 * rng.standard_normal(draws))),
        some(np.exp(0.03 * rng.standard_normal(draws))),
        some(0.05 * rng.standard_normal(draws)),
    )
    strength = np.where(rng.random(len(own)) < 0.7, rng.uniform(20.0, 200.0, len(own)), np.nan)
    return qk.Rig(tow, versions, strength)


def desk(of: qk.Rig) -> qk.Desk:
    """Room for a question about a rig."""
    layers, draws = len(of.towed.flow), len(of.versions.lures)
    room = room_for(len(of.towed.pieces))
    return qk.Desk(
        room, np.empty((layers, 3)), np.empty((layers, 3)), np.empty(draws), np.empty(draws)
    )
