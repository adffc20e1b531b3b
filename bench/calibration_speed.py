"""The calibration timed against a general sampler for as many free draws.

Prints markdown tables: seconds for fifty readings and for two thousand over ten rigs; then the same
posterior by an ensemble sampler (emcee) that asks the engine for every depth, both per effectively
free draw, and how far the two differ.

    python bench/calibration_speed.py [steps]
"""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from time import perf_counter, process_time

import numpy as np

from calibration_crews import CORES, FEET, LURES, MPH
from towscope.calibration.findings import findings
from towscope.calibration.model import Customs, Evidence
from towscope.calibration.posterior import infer
from towscope.calibration.readings import Reading
from towscope.tackle.shelf import stock

sys.path.append(str(Path(__file__).resolve().parents[1] / "tests" / "calibration"))
from calibration_reference import depths_of, long_run

CUSTOMS = Customs()


def many(readings: int, rigs: int) -> Evidence:
    """Make up readings of one boat over some rigs, of few lines and lures, thirty a day, 5 % wrong."""
    rng = np.random.default_rng(8)
    tows, names = {}, []
    for k in range(rigs):
        lure = LURES[k % len(LURES)]
        parts = [("fluoro-12", 9.144), (CORES[k % len(CORES)], 91.44), ("braid-20", 137.0)]
        tows[f"rig-{k}", lure] = stock().stack(parts, lure, 0.9144)
        names.append((f"rig-{k}", lure))
    bare = [
        Reading(*names[i % rigs][:1], rng.uniform(110, 200) * FEET, rng.uniform(1.7, 2.4) * MPH, 8.0,
             "bottom hit", 0.5 * FEET, names[i % rigs][1], 60.0 * i, f"day {i // 30}", water=True)
        for i in range(readings)
    ]  # fmt: skip
    # hidden truths: one for each figure, so that what is shared is shared in truth as well
    problem = Evidence(bare, tows, CUSTOMS)
    depths = depths_of(problem, tows, rng.standard_normal(len(problem.figures)))
    error = np.hypot(0.5 * FEET, 0.05 * depths)  # reading speed to 0.1 mph
    depths = depths + error * rng.standard_normal(readings)
    depths[rng.random(readings) < 0.05] += 2.5
    found = [replace(m, depth=float(max(d, 1.0))) for m, d in zip(bare, depths, strict=True)]
    return Evidence(found, tows, CUSTOMS)


def timed(problem: Evidence) -> tuple[float, float, float]:
    """Give seconds for the posterior, of both together with the findings, and processor seconds."""
    begun, spent = perf_counter(), process_time()
    posterior = infer(problem)
    middle = perf_counter() - begun
    spent = process_time() - spent
    (rig, lure), tow = next(iter(problem.tows.items()))
    findings(posterior, rig, lure, tow)
    return middle, perf_counter() - begun, spent


def against(name: str, readings: list[Reading], steps: int) -> str:
    """Hold one posterior against a long run; give a row of the table."""
    tow = stock().stack([("thin-core-18", 91.44)], "small-minnow", 0.9144)
    tows = {("rig", "small-minnow"): tow}
    problem = Evidence(readings, tows, CUSTOMS)
    begun = process_time()
    own = infer(problem, draws=4096)
    ours = process_time() - begun
    begun = process_time()
    run = long_run(problem, tows, own.z[:64], steps)
    theirs = process_time() - begun
    tau = float(np.max(run.get_autocorr_time(quiet=True)))
    chain = run.get_chain(discard=steps // 10, flat=True)
    there = problem.depths(problem.to_x(chain[::7])[0], own.table)
    here = problem.depths(own.x, own.table)
    gap = [
        np.abs((np.quantile(here, q, axis=0) - np.quantile(there, q, axis=0)) / there.std(0)).max()
        for q in (0.05, 0.5, 0.95)
    ]
    free = len(chain) / tau
    ratio = (theirs / free) / (ours / len(own.z))
    means = np.abs((own.z.mean(0) - chain.mean(0)) / chain.std(0)).max()
    return (
        f"| {name} | {len(readings)} | {len(problem.figures)} | {ours:.2f} s, {len(own.z)} | "
        f"{theirs:.0f} s, {free:.0f} | {ratio:,.0f} | {means:.2f} | {max(gap):.2f} |"
    )


def sets() -> list[tuple[str, list[Reading]]]:
    """Give data sets for the comparison."""

    def reading(
        out: float, mph: float, depth: float, kind: str = "bottom hit", day: str = "a"
    ) -> Reading:
        error = 0.5 * FEET
        return Reading(
            "rig", out * FEET, mph * MPH, depth * FEET, kind, error, "small-minnow", None, day
        )

    plain = [
        reading(120, 1.8, 23),
        reading(170, 2.1, 30),
        reading(150, 2.0, 27),
        reading(190, 2.3, 31),
    ]
    return [
        ("bottom hits on one day", plain),
        ("one of them wrong, and a clear run", [*plain, reading(160, 2, 12), reading(140, 1.7, 30, "miss")]),
        ("far from the stated line, two days", [
            reading(150, 2.0, 19), reading(180, 2.0, 23.5), reading(200, 2.2, 24, day="b"),
            reading(130, 1.7, 19, day="b"),
        ]),
        ("clear runs alone", [reading(150, 2.0, 26, "miss"), reading(190, 2.0, 33, "miss")]),
    ]  # fmt: skip


def main() -> None:
    steps = int(sys.argv[1]) if len(sys.argv) > 1 else 3000
    infer(many(10, 1), draws=64)  # compile
    print("| readings | rigs | figures | posterior, s | with the findings, s | processor, s |")
    print("|---|---|---|---|---|---|")
    for readings, rigs in ((5, 1), (50, 1), (2000, 10), (10_000, 10)):
        problem = many(readings, rigs)
        a, b, c = timed(problem)
        print(
            f"| {len(problem.readings)} | {rigs} | {len(problem.figures)} | {a:.2f} | {b:.2f} | {c:.2f} |",
            flush=True,
        )
    print()
    print(
        "| data | readings | figures | ours: processor time, draws | ensemble sampler: the same | "
        "times faster for a free draw | means differ by, sd | 5, 50, 95 % of depths differ by, sd |"
    )
    print("|---|---|---|---|---|---|---|---|")
    for name, data in sets():
        print(against(name, data, steps), flush=True)


if __name__ == "__main__":
    main()
