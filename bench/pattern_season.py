"""A season-wide pattern timed: 2,000 days, some 96,000 spans of effort.

Run as ``python bench/pattern_season.py``.
"""

from __future__ import annotations

import resource
import time
from datetime import date, timedelta

import numpy as np

from towscope.effort.stint import Stint
from towscope.pattern.compare import pattern

DAYS, LURES = 2000, 24


def seasons() -> tuple[list[Stint], np.ndarray]:
    """Make up the effort of many seasons: four rods, eight lures a day, nothing repeated neatly."""
    rng = np.random.default_rng(0)
    bodies, sizes = ("minnow", "shad", "spoon"), (0.05, 0.076, 0.1)
    colours = ("perch", "silver", "chartreuse", "orange", "black")
    worth, out = rng.normal(0, 0.5, LURES), []
    for d in range(DAYS):
        day, start = (
            (date(2015, 5, 1) + timedelta(days=2 * d)).isoformat(),
            1_430_460_000 + d * 172_800,
        )
        bite, aboard = rng.normal(0, 0.5), rng.choice(LURES, 8, replace=False)
        for block in range(12):
            sky = "sunny" if rng.random() < 0.5 else "cloudy"
            for rod in range(4):
                k = int(aboard[rng.integers(8)])
                begin = float(start + block * 2400)
                out.append(
                    Stint(
                        f"rod-{rod}", "", f"lure-{k}", bodies[k % 3], sizes[k // 3 % 3],
                        colours[k % 5], float(rng.uniform(4, 12)), 0.8 + 0.1 * rng.integers(3), 30.0,
                        begin, begin + 2400.0, 2 / 3,
                        int(rng.poisson(2 / 3 * 0.5 * np.exp(worth[k] + bite))), 0, 46.0, -91.0,
                        sky, 10 + 8 * np.sin(d / 20) ** 2, day, 6 + block * 2 / 3,
                    )
                )  # fmt: skip
    return out, worth


def main() -> None:
    spans, worth = seasons()
    pattern(spans[:60])  # compile both ways of fitting
    pattern(spans[:16_000])
    wall, cpu = time.perf_counter(), time.process_time()
    found = pattern(spans)
    wall, cpu = time.perf_counter() - wall, time.process_time() - cpu
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    fair = {x.key: np.log(x.per_hour) for x in found.levels["lure"]}
    said = np.array([fair[f"lure-{k}"] for k in range(LURES)])
    off = np.std((said - said.mean()) - (worth - worth.mean()))
    print(
        "| spans | fish | wall | processor | memory | rms error of lures' worth |\n|---|---|---|---|---|---|"
    )
    print(f"| {len(spans)} | {found.total.catches} | {wall:.1f} s | {cpu:.1f} s | {memory:.0f} MB "
          f"| {100 * off:.0f} % |")  # fmt: skip


if __name__ == "__main__":
    main()
