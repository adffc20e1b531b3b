"""Simulated days of `towscope next` against a crew's habits, two and four rods: fish caught.

python bench/next_habits.py [--seasons N] [--days D] [--only VARIANT] [--rods N]
"""

from __future__ import annotations

import argparse
import json
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from simulated_days import (
    START_S,
    VARIANTS,
    Day,
    World,
    best_so_far,
    fish,
    rotate,
    season,
    shift,
    stay,
)
from towscope.effort.stint import Stint
from towscope.pattern.next import rates_now
from towscope.pattern.value_of_information import choose


def advised(day: Day, block: int, log: list[Stint], running: list[int]) -> list[int]:
    """Do what `towscope next` says, block by block, one change at a time."""
    lures = day.truth.lures
    now = START_S + day.number * 86_400.0 + block * 1_800.0
    rates = rates_now(log, lures, now_s=now, light=day.sky[block], draws=500, points=40, tries=1)
    return choose(
        rates,
        # in the morning the lines are still aboard: every rod may take what it likes
        [-1] * len(running) if block == 0 else running,
        [False] * len(running),
        np.ones(len(lures)),
        hours_left=day.world.hours - 0.5 * block,
    ).lures


HABITS: dict[str, Callable[[Day, int, list[Stint], list[int]], list[int]]] = {
    "stay put": stay,
    "equal rotation": rotate,
    "best so far": best_so_far,
    "win-stay-lose-shift": shift,
    "next": advised,
}


def compare(world: World, rods: int, seasons: int, days: int, seed: int) -> dict[str, np.ndarray]:
    """Fish the same seasons by every habit; give the catch (seasons, days) of each."""
    caught = {name: np.zeros((seasons, days)) for name in HABITS}
    for i in range(seasons):
        rng = np.random.default_rng([seed, i])
        truth = season(world, rng)
        all_days = [Day.make(world, truth, k, rng) for k in range(days)]
        start = [int(x) for x in rng.permutation(world.lures)[:rods]]
        for name, habit in HABITS.items():
            log: list[Stint] = []
            running = start
            for k, day in enumerate(all_days):
                caught[name][i, k] = fish(day, rods, habit, log, running)
                running = [int(s.lure.removeprefix("lure-")) for s in log[-rods:]]
    return caught


def gain(caught: dict[str, np.ndarray], over: str, part: slice) -> tuple[float, float]:
    """Give by how much `next` catches more than a habit, and the standard error of that."""
    a, b = caught["next"][:, part].sum(axis=1), caught[over][:, part].sum(axis=1)
    ratio = a.sum() / b.sum()
    error = float(np.std(a - ratio * b, ddof=1) / np.sqrt(len(a)) / b.mean())
    return float(ratio - 1.0), error


def row(name: str, rods: int, caught: dict[str, np.ndarray]) -> str:
    days = caught["next"].shape[1]
    cells = [name, str(rods), *(f"{c.mean():.1f}" for c in caught.values())]
    for over in ("win-stay-lose-shift", "equal rotation"):
        g, e = gain(caught, over, slice(None))
        cells.append(f"{g:+.0%} ± {e:.0%}")
    for part in (slice(0, 1), slice(days - 1, days)):
        g, e = gain(caught, "win-stay-lose-shift", part)
        cells.append(f"{g:+.0%} ± {e:.0%}")
    return "| " + " | ".join(cells) + " |"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seasons", type=int, default=60)
    parser.add_argument("--days", type=int, default=4)
    parser.add_argument("--seed", type=int, default=2026)
    parser.add_argument("--only", choices=list(VARIANTS))
    parser.add_argument("--rods", type=int, choices=[2, 4])
    parser.add_argument("--keep", type=Path, help="Add the raw catches to this file.")
    options = parser.parse_args()
    print(
        f"| water | rods | {' | '.join(HABITS)} | over win-stay-lose-shift | over equal rotation "
        "| first day alone | last day alone |"
    )
    print("|---" * (len(HABITS) + 6) + "|")
    for name, world in VARIANTS.items():
        if options.only and name != options.only:
            continue
        for rods in (2, 4):
            if options.rods and rods != options.rods:
                continue
            began = time.time()
            caught = compare(world, rods, options.seasons, options.days, options.seed)
            print(row(name, rods, caught), flush=True)
            if options.keep:
                with options.keep.open("a") as stream:
                    body = {k: v.tolist() for k, v in caught.items()}
                    took = time.time() - began
                    stream.write(
                        json.dumps({"water": name, "rods": rods, "s": took, "caught": body}) + "\n"
                    )


if __name__ == "__main__":
    main()
