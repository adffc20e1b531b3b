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
sys.path[:0] = [str(ROOT / "tests" / "core"), str(ROOT)]

import numpy as np

from asking import Case, ask
from towscope.tackle import load
from towscope.towing import question_kernels as qk
from towscope.towing import search_kernels as sk
from towscope.towing.draw_kernels import shifted
from towscope.towing.steady import ANSWER, room_for, sweep
from towscope.towing.tow import Setting, draw, standard_normal

MANY = 40


def _best(function: Callable[[], object], many: int) -> float:
    took = []
    for _ in range(many):
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
    still = tow.towed(Setting(0.0))
    k, m = 1, len(draws)
    search = sk.Search(
        np.zeros(sk.SEARCHED), np.zeros(sk.SPEEDS), np.zeros((k, 3)), np.zeros((sk.NEAR, m))
    )
    cases.append(
        Case(
            "speed_for",
            {
                "still": qk.Rig(still, draws.versions, tow.strength), "let_out": 50.0,
                "depth": 9.0, "near": 0.9,
                "desk": qk.Desk(room_for(len(tow.pieces)), *np.empty((2, k, 3)), *np.empty((2, m))),
                "search": search, "found": np.zeros(qk.FOUND),
            },
            ["found"], 3,
        )
    )  # fmt: skip
    doubt = tow.doubt
    normal = standard_normal(m, 3 * (int(doubt.group.max()) + 1) + 4)
    given = {
        "pieces": tow.pieces, "lure": tow.lure, "group": doubt.group,
        "line_sd": np.column_stack([doubt.drag, doubt.friction, doubt.weight]),
        "lure_sd": doubt.of_lure, "normal": normal,
        "drawn": np.zeros((m, *tow.pieces.shape)), "lures": np.zeros((m, 3)),
    }  # fmt: skip
    cases.append(Case("shifted", given, [], MANY))
    given = {
        "towed": tow.towed(Setting(0.894)), "goals": np.zeros(sk.GOALS),
        "answers": np.zeros((sk.GOALS, ANSWER)), "room": room_for(len(tow.pieces)),
    }  # fmt: skip
    cases.append(Case("deepest", given, [], MANY))
    with tempfile.TemporaryDirectory() as folder:
        ask(cases, Path(folder))
    print("| question | numba [ms] | WebAssembly in Node [ms] | ratio |")
    print("|---|---|---|---|")
    names = (
        "let-out, 512 draws", "the same in a current by depth", "301 let-outs at one speed",
        "speed for a depth and a let-out, 512 draws", "512 versions drawn", "deepest at one speed",
    )  # fmt: skip
    functions = (qk.let_out_for, qk.let_out_for, sweep, sk.speed_for, shifted, sk.deepest)
    for name, case, function in zip(names, cases, functions, strict=True):
        function(*case.given.values())
        ours = _best(lambda: function(*case.given.values()), case.time)  # noqa: B023
        print(f"| {name} | {ours:.2f} | {case.best:.2f} | {case.best / ours:.2f} |")


if __name__ == "__main__":
    main()
