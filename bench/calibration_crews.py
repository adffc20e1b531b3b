"""Coverage of the intervals over crews with hidden lines, calibrated by what they read.

Each crew has a line, a lure, a counter and a speed sensor that nobody knows, drawn from what the
calibration takes them to be and, for a third of the crews, half as far again; it readings bottom hits with the
errors of a boat, and asks for the depth at another speed and let-out. Prints a markdown table.

    python bench/calibration_crews.py [crews] [seed]
"""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass, replace
from time import perf_counter

import numpy as np

from towscope.arrays import Array
from towscope.calibration.apply import depths_at, take_in
from towscope.calibration.model import Customs, Evidence, student
from towscope.calibration.posterior import Posterior, infer
from towscope.calibration.readings import Reading
from towscope.tackle.shelf import stock
from towscope.towing.steady import FRICTION_SCALE, LENGTH, NORMAL_SCALE, WATER_WEIGHT
from towscope.towing.tow import Tow

MPH, FEET = 0.44704, 0.3048
BEYOND, WIDER = 0.33, 1.5
DAY_MARKS = 5
# [mph]: what is read at; the question is asked at 1.5, 1.6, 2.5 or 2.6 mph
NARROW, BROAD = (1.8, 2.3), (1.4, 2.7)
CORES = ("thin-core-18", "thin-core-27", "bulky-core-18", "bulky-core-27")
LURES = ("small-minnow", "medium-minnow", "small-shad", "medium-spoon", "small-harness")


@dataclass(frozen=True)
class Crew:
    """One crew: what it believes it has, and what it has.

    Attributes
    ----------
    stated, true : Tow
        The rig as stated, and as it is.
    lure : str
        Name of the lure.
    counter, speed : float
        True line for what the counter shows; true speed for what the sensor shows.
    currents : (d,) array
        Of each day [m/s].
    """

    stated: Tow
    true: Tow
    lure: str
    counter: float
    speed: float
    currents: Array

    def depth(self, let_out: float, speed: float, current: float = 0.0) -> float:
        """Give the true depth at a let-out and speed as they are read [m]."""
        flow = self.speed * speed - current
        out = np.array([min(let_out * self.counter, self.true.length)])
        return float(depths_at(self.true, self.true.pieces, self.true.lure, out, flow)[0])


def a_crew(rng: np.random.Generator, customs: Customs) -> Crew:
    """Make up a crew."""
    core, lure = rng.choice(CORES), str(rng.choice(LURES))
    leader = float(rng.choice([15.0, 30.0, 50.0])) * FEET
    parts = [("fluoro-12", leader), (str(core), 91.44), ("braid-20", 137.0)]
    stated = stock().stack(parts, lure, 0.9144)
    wider = WIDER if rng.random() < BEYOND else 1.0
    z = rng.standard_normal

    def heavy(sd: float) -> float:
        return wider * sd * float(student(z(1))[0][0])

    pieces, doubt = stated.pieces.copy(), stated.doubt
    for i in range(len(pieces)):
        pieces[i, NORMAL_SCALE] *= np.exp(heavy(doubt.drag[i]))
        pieces[i, FRICTION_SCALE] *= np.exp(wider * doubt.friction[i] * z())
        pieces[i, WATER_WEIGHT] *= np.exp(heavy(doubt.weight[i]))
    pieces[-1, LENGTH] += 60.0
    drag = np.exp(wider * doubt.lure_drag * z())
    dive = stated.lure[1] * np.exp(wider * doubt.lure_dive * z())
    trim = wider * doubt.lure_dive_area * z()
    weight = stated.lure[2] + wider * doubt.lure_weight * z()
    true = replace(
        stated, pieces=pieces, lure=np.array([stated.lure[0] * drag, dive + trim, weight])
    )
    return Crew(
        stated, true, lure, float(np.exp(wider * customs.counter * z())),
        float(np.exp(wider * customs.speed * z())), customs.current * z(12),
    )  # fmt: skip


def readings_of(
    crew: Crew,
    count: int,
    rng: np.random.Generator,
    customs: Customs,
    wrong: float = 0.0,
    water: bool = True,
    speeds: tuple[float, float] = NARROW,
) -> list[Reading]:
    """Let a crew reading bottom hits, five a day, some of them wrong; speeds through water or over ground."""
    readings = []
    bad = set(rng.choice(count, round(wrong * count), replace=False).tolist()) if wrong else set()
    while len(readings) < count:
        k = len(readings)
        day = k // DAY_MARKS
        let_out = rng.uniform(110, 200) * FEET
        speed = rng.uniform(*speeds) * MPH
        read = speed + customs.speed_error * rng.standard_normal()
        out = let_out + customs.let_out_error * rng.standard_normal()
        current = 0.0 if water else float(crew.currents[day])
        depth = crew.depth(let_out, speed, current)
        bottom = depth + 0.5 * FEET * rng.standard_normal()
        if k in bad:
            bottom += rng.uniform(3.0, 15.0) * FEET * rng.choice([1.0, 1.0, -0.5])
        if not 1.0 < bottom < 60.0 or read < 0.3:
            continue
        readings.append(
            Reading("rig", out, read, bottom, "bottom hit", 0.5 * FEET, crew.lure, k * 900.0 + day * 86400,
                 f"2026-08-{day + 1:02d}", water=water)
        )  # fmt: skip
    return readings


def calibrated_depths(
    crew: Crew, posterior: Posterior, let_out: float, speed: float, day: str, count: int = 300
) -> Array:
    """Depths by the calibrated rig's versions: in that day's current, or still water without a day."""
    every = max(1, len(posterior.x) // count)
    x = posterior.x[::every][:count]

    def figure(name: str) -> Array | None:
        at = posterior.problem.at(name)
        return None if at is None else x[:, at]

    tow = take_in(
        crew.stated, crew.lure, "rig", figure, count=len(x), counter_sd=0.03, along=np.empty(0),
        since="", readings=0,
    )  # fmt: skip
    assert tow.learnt is not None
    d = tow.learnt.draws(tow, len(x), 20_190)
    current = figure(f"current:{day}") if day else None
    along = np.zeros(len(x)) if current is None else current
    # the versions have the sensor's scale in their drags, hence the current in the sensor's measure
    scale = figure("speed")
    assert scale is not None
    return np.array(
        [
            depths_at(tow, p, lure, np.array([min(let_out * c, tow.length)]), speed,
                      float(a) / float(np.exp(s)))[0]
            for p, lure, c, a, s in zip(d.pieces, d.lures, d.let_out_scale, along, scale,
                                        strict=True)
        ]
    )  # fmt: skip


def target(crew: Crew, rng: np.random.Generator) -> tuple[float, float]:
    """Another speed than was read at, and the let-out at which it truly runs at 30 ft there."""
    speed = float(rng.choice([1.5, 1.6, 2.5, 2.6])) * MPH
    outs = np.linspace(60, 480, 85) * FEET
    depths = depths_at(
        crew.true, crew.true.pieces, crew.true.lure, outs * crew.counter, crew.speed * speed
    )
    return float(outs[int(np.nanargmin(np.abs(depths - 30 * FEET)))]), speed


# readings, share of wrong ones, whether speeds are through the water, and between what they are
Case = tuple[int, float, bool, tuple[float, float]]


def study(crews: int, seed: int, cases: tuple[Case, ...]) -> dict[str, Array]:
    """Calibrate crews; give for each case and question whether the interval held, and its half-width.

    Returns
    -------
    dict
        Case and question to (crews, 3): 1 where held, half-width and error of the middle [ft].
    """
    customs = Customs()
    rows: dict[str, list[tuple[float, float, float]]] = {}
    for k in range(crews):
        rng = np.random.default_rng([seed, k])
        crew = a_crew(rng, customs)
        let_out, speed = target(crew, rng)
        for count, wrong, water, speeds in cases:
            readings = readings_of(crew, count, rng, customs, wrong, water, speeds)
            problem = Evidence(readings, {("rig", crew.lure): crew.stated}, customs)
            posterior = infer(problem, draws=512)
            name = f"{count} bottom hits" + (f", {wrong:.0%} wrong" if wrong else "")
            name += "" if speeds == NARROW else "; read at all speeds"
            name += "; speed through the water" if water else "; speed over ground"
            day = (count - 1) // DAY_MARKS
            for question, current, at in (
                ("in that day's current", float(crew.currents[day]), readings[-1].day),
                ("in still water", 0.0, ""),
            ):
                if water and at:
                    continue
                depths = calibrated_depths(crew, posterior, let_out, speed, at)
                low, mid, high = np.quantile(depths, [0.05, 0.5, 0.95])
                true = crew.depth(let_out, speed, current)
                rows.setdefault(name if water else f"{name}; {question}", []).append(
                    (float(low <= true <= high), 0.5 * (high - low) / FEET, (mid - true) / FEET)
                )
    return {name: np.array(found) for name, found in rows.items()}


CASES: tuple[Case, ...] = (
    (5, 0.0, True, NARROW),
    (15, 0.0, True, NARROW),
    (15, 0.0, True, BROAD),
    (15, 0.1, True, NARROW),
    (5, 0.0, False, NARROW),
    (15, 0.1, False, NARROW),
)


def main() -> None:
    crews = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 6
    begun = perf_counter()
    found: dict[str, Array] = {}
    for first in range(0, crews, 50):  # in parts, so that a long run shows how far it is
        part = study(min(50, crews - first), seed + first, CASES)
        found = {k: np.vstack([found[k], v]) if k in found else v for k, v in part.items()}
        print(f"{first + 50} crews, {perf_counter() - begun:.0f} s", file=sys.stderr, flush=True)
        if os.environ.get("PARTS"):
            show(found)
    show(found)
    print(f"\n{perf_counter() - begun:.0f} s")


def show(found: dict[str, Array]) -> None:
    """Print the table."""
    print("| case | crews | 90 % interval held | median half-width, ft | rms error, ft |")
    print("|---|---|---|---|---|")
    for name, rows in found.items():
        print(
            f"| {name} | {len(rows)} | {rows[:, 0].mean() * 100:.1f} % | "
            f"{np.median(rows[:, 1]):.2f} | {np.sqrt((rows[:, 2] ** 2).mean()):.2f} |"
        )
    sys.stdout.flush()


if __name__ == "__main__":
    main()
