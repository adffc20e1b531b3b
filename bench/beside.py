"""The engine of this checkout timed beside that of another, question by question, in turn.

    python bench/beside.py [CHECKOUT] [--rounds 20]

Two processes that live through the whole run are asked the same questions one after the other;
told is the least time of the processor [ms] of each, and the ratio. Kernels are those of numba, on
one core. Without another checkout only this one is timed.
"""

from __future__ import annotations

import argparse
import json
import math
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from time import process_time

ROOT = Path(__file__).parents[1]
SPEED = 0.9


def questions() -> dict[str, Callable[[], object]]:
    """Give what is asked; only of what all versions of the engine have."""
    import numpy as np

    from towscope.tackle import load
    from towscope.towing import questions as asked
    from towscope.towing.lookahead import Boat, Manoeuvre, course, tips
    from towscope.towing.moving import Lines, run, settled
    from towscope.towing.tow import Setting, draw

    tow = load().tow("demo")
    draws = draw(tow)
    outs = np.arange(0.0, 301.0) * 0.3048
    even = Setting(SPEED)
    layers = Setting(SPEED, ((0.0, 0.1, 0.0), (5.0, 0.05, 0.05), (12.0, -0.1, 0.0)))
    half_turn = Manoeuvre(turn=math.pi, radius=20.0, begin=5.0)

    def towed(count: int, versions: int, seconds: float, dt: float) -> Callable[[], object]:
        lines = Lines.of([tow] * count, draws=versions)
        state = settled(lines, 51.8, SPEED)
        times, path = course(Boat(0.0, 0.0, SPEED, 0.0), half_turn, seconds, dt)
        tip = tips(lines.mounts, path)
        return lambda: run(lines, state, times, tip, longest_step=dt, every=len(times))

    return {
        "1 line, 120 s": towed(1, 1, 120.0, 0.5),
        "1 line, 120 s, steps of 0.25 s": towed(1, 1, 120.0, 0.25),
        "8 lines, 120 s": towed(8, 1, 120.0, 0.5),
        "1 line, 16 draws, 120 s": towed(1, 16, 120.0, 0.5),
        "1 line, 960 s": towed(1, 1, 960.0, 0.5),
        "let-out table, 41 speeds by 301": lambda: [
            asked.depths_by_let_out(tow, outs, Setting(float(v)))
            for v in np.linspace(0.6, 1.6, 41)
        ],
        "let-out for a depth, 512 draws": lambda: asked.let_out_for(tow, 8.5, even, draws),
        "the same in a current by depth": lambda: asked.let_out_for(tow, 8.5, layers, draws),
        "depth of a let-out, 512 draws": lambda: asked.depth_of(tow, 50.0, even, draws),
        "table, 4 depths by 4 speeds": lambda: asked.table(
            tow, [5.0, 8.0, 11.0, 14.0], [0.7, 0.9, 1.1, 1.3], even, draws
        ),
    }  # fmt: skip


def answer() -> None:
    """Time all questions once for each line that comes in."""
    ask = questions()
    for each in ask.values():
        each()
    for _ in sys.stdin:
        took = {}
        for name, each in ask.items():
            begun = process_time()
            each()
            took[name] = (process_time() - begun) * 1e3
        print(json.dumps(took), flush=True)


def main() -> None:
    """Print the table."""
    told = argparse.ArgumentParser(description=__doc__)
    told.add_argument("checkout", type=Path, nargs="?")
    told.add_argument("--rounds", type=int, default=20)
    told.add_argument("--answer", action="store_true", help=argparse.SUPPRESS)
    words = told.parse_args()
    if words.answer:
        answer()
        return
    asked = []
    for root in (words.checkout.resolve(), ROOT) if words.checkout else (ROOT,):
        env = {**os.environ, "PYTHONPATH": str(root / "src"), "OMP_NUM_THREADS": "1"}
        asked.append(
            subprocess.Popen(
                [sys.executable, __file__, "--answer"],
                env=env, text=True, stdin=subprocess.PIPE, stdout=subprocess.PIPE,
            )
        )  # fmt: skip
    least: list[dict[str, float]] = [{} for _ in asked]
    for _ in range(words.rounds):
        for best, process in zip(least, asked, strict=True):
            assert process.stdin is not None
            assert process.stdout is not None
            process.stdin.write("\n")
            process.stdin.flush()
            for name, took in json.loads(process.stdout.readline()).items():
                best[name] = min(took, best.get(name, math.inf))
    for process in asked:
        process.communicate("")
    if len(least) == 1:
        print("| question | now, ms |\n|---|---|")
    else:
        print("| question | before, ms | now, ms | now / before |\n|---|---|---|---|")
    for name, took in least[0].items():
        now = least[-1][name]
        print(
            f"| {name} | {took:.2f} |" + (f" {now:.2f} | {now / took:.2f} |" if asked[1:] else "")
        )


if __name__ == "__main__":
    main()
