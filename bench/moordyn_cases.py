"""The manoeuvres that are compared with MoorDyn, and where its converged runs are kept."""

from __future__ import annotations

import csv
import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from towscope.arrays import Array
from towscope.towing.lookahead import Boat, Manoeuvre, course

KEPT = Path(__file__).parent.parent / "tests" / "towing" / "data" / "moordyn_runs.csv"
SPEED = 0.894  # [m/s]; 2 mph
GRAIN = 0.05  # [s]


@dataclass(frozen=True)
class Case:
    """One manoeuvre: speed to begin with [m/s], what is done, how long it is followed [s]."""

    speed: float
    plan: tuple[Manoeuvre, ...]
    seconds: float

    def path(self) -> Callable[[float], tuple[float, float]]:
        """Place of the rod tip at a moment."""
        times, places = course(
            Boat(0.0, 0.0, self.speed, 0.0), self.plan, self.seconds + 1.0, GRAIN
        )
        xs, ys = places[:, 0].tolist(), places[:, 1].tolist()

        def at(t: float) -> tuple[float, float]:
            i = min(max(int(t / GRAIN), 0), len(times) - 2)
            f = t / GRAIN - i
            return xs[i] + f * (xs[i + 1] - xs[i]), ys[i] + f * (ys[i + 1] - ys[i])

        return at


def _turn(radius: float, begin: float = 5.0, angle: float = math.pi) -> Manoeuvre:
    return Manoeuvre(turn=angle, radius=radius, begin=begin)


def _round(radius: float) -> float:
    return math.pi * radius / SPEED


CASES = {
    "faster": Case(0.7, (Manoeuvre(speed=1.1, begin=5.0),), 75.0),
    "slower": Case(SPEED, (Manoeuvre(speed=0.5, begin=5.0),), 75.0),
    "pause": Case(
        SPEED, (Manoeuvre(speed=0.0, begin=5.0), Manoeuvre(speed=SPEED, begin=35.0)), 90.0
    ),
    "U-turn 10 m": Case(SPEED, (_turn(10.0),), 5.0 + _round(10.0) + 55.0),
    "U-turn 20 m": Case(SPEED, (_turn(20.0),), 5.0 + _round(20.0) + 55.0),
    "U-turn 40 m": Case(SPEED, (_turn(40.0),), 5.0 + _round(40.0) + 45.0),
    "figure-eight": Case(
        SPEED,
        (
            _turn(15.0, 5.0, 2.0 * math.pi),
            _turn(15.0, 5.0 + 2.0 * _round(15.0), -2.0 * math.pi),
        ),
        5.0 + 4.0 * _round(15.0) + 10.0,
    ),
}


def kept() -> dict[str, Array]:
    """Read the converged runs: time [s], x, y, z of the lure [m], pull at the rod [N]."""
    runs: dict[str, list[list[float]]] = {}
    with KEPT.open(newline="") as file:
        rows = csv.reader(line for line in file if not line.startswith("#"))
        next(rows)
        for name, *figures in rows:
            runs.setdefault(name, []).append([float(figure) for figure in figures])
    return {name: np.array(rows) for name, rows in runs.items()}
