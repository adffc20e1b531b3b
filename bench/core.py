"""Size of the portable core, and its speed in Node's engine against numba's.

    python bench/core.py

Prints a markdown table. Times are of the same questions, the best of many, on one core.
"""

from __future__ import annotations

import gzip
import os
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from time import perf_counter

os.environ.setdefault("OMP_NUM_THREADS", "1")
ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT / "tests" / "core"))

import numpy as np

from asking import Case, ask
from towscope.tackle import load
from towscope.towing import question_kernels as qk
from towscope.towing.steady import ANSWER, room_for, sweep
from towscope.towing.tow import Setting, draw

MANY = 40


def _best(function: Callable[[], object]) -> float:
    took = []
    for _ in range(MANY):
        begun = perf_counter()
        function()
        took.append(perf_counter() - begun)
    return min(took) * 1e3


def main() -> None:
    module = (ROOT / "frontend" / "public" / "core.wasm").read_bytes()
    print(
        f"core.wasm: {len(module) / 1e3:.1f} kB, {len(gzip.compress(module, 9)) / 1e3:.1f} kB by gzip.\n"
    )
    tow = load(own=False).tow("demo")
    draws = draw(tow)
    outs = np.arange(0.0, 301.0) * 0.3048
    layers = ((0.0, 0.1, 0.0), (5.0, 0.05, 0.05), (12.0, -0.1, 0.0))
    cases = []
    for current in ((), layers):
        setting = Setting(0.894, current)
        k, m = max(1, len(current)), len(draws)
        desk = qk.Desk(room_for(len(tow.pieces)), *np.empty((2, k, 3)), *np.empty((2, m)))
        rig = qk.Rig(tow.towed(setting), draws.versions, tow.strength)
        given = {"rig": rig, "depth": 8.5, "desk": desk, "found": np.zeros(qk.FOUND)}
        cases.append(Case("let_out_for", given, ["found"], MANY))
    given = {
        "towed": tow.towed(Setting(0.894)), "let_outs": outs, "relative": 1e-7,
        "room": room_for(len(tow.pieces)), "answers": np.zeros((len(outs), ANSWER)),
    }  # fmt: skip
    cases.append(Case("sweep", given, ["answers"], MANY))
    with tempfile.TemporaryDirectory() as folder:
        ask(cases, Path(folder))
    print("| question | numba [ms] | WebAssembly in Node [ms] | ratio |")
    print("|---|---|---|---|")
    names = ("let-out, 512 draws", "the same in a current by depth", "301 let-outs at one speed")
    for name, case in zip(names, cases, strict=True):
        function = sweep if case.way == "sweep" else qk.let_out_for
        function(*case.given.values())
        ours = _best(lambda: function(*case.given.values()))  # noqa: B023
        print(f"| {name} | {ours:.2f} | {case.best:.2f} | {case.best / ours:.2f} |")


if __name__ == "__main__":
    main()
