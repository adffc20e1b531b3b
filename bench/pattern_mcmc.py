"""The fast posterior against long MCMC runs: three data sets, emcee, 25,000 steps each.

Run as ``python bench/pattern_mcmc.py [--steps N]``.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

import numpy as np

from towscope.pattern.fit import fit

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "pattern"))
from test_fit import by_mcmc, clumped_days, few_fish, much_data


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--steps", type=int, default=25_000)
    steps = parser.parse_args().steps
    print("| data | fish | largest shift of a mean | spreads, ours over theirs | largest shift of "
          "a 5 or 95 % point | ours | emcee |\n|---|---|---|---|---|---|---|")  # fmt: skip
    for make in (few_fish, clumped_days, much_data):
        design = make()
        began = time.process_time()
        reference, _ = by_mcmc(design, steps)
        slow = time.process_time() - began
        fit(design, draws=10)  # compile
        began = time.process_time()
        found = fit(design, draws=4000).effects
        fast = time.process_time() - began
        sd = reference.std(axis=0)
        off = np.max(np.abs(found.mean(axis=0) - reference.mean(axis=0)) / sd)
        ratio = found.std(axis=0) / sd
        ends = max(
            np.max(np.abs(np.percentile(found, q, axis=0) - np.percentile(reference, q, axis=0))
                   / sd) for q in (5, 95)
        )  # fmt: skip
        name = make.__name__.replace("_", " ")
        print(f"| {name} | {design.y.sum():.0f} | {off:.2f} sd | {ratio.min():.2f} to "
              f"{ratio.max():.2f} | {ends:.2f} sd | {fast:.2f} s | {slow:.0f} s |",
              flush=True)  # fmt: skip


if __name__ == "__main__":
    main()
