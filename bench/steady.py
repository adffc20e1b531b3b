"""The let-out table timed against solve_ivp at equal error, against C, and as a command.

Prints a markdown table. Every ratio is measured in this one run, on one core.
"""

from __future__ import annotations

import os
import platform
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

os.environ.setdefault("OMP_NUM_THREADS", "1")

import numpy as np
from scipy.integrate import solve_ivp

from in_c import built
from towscope.tackle import load
from towscope.towing.steady import DEPTH, RELATIVE, room_for, sweep
from towscope.towing.tow import Setting, Tow

SPEEDS = np.linspace(0.6, 1.6, 41)
LET_OUTS = np.arange(0.0, 301.0) * 0.3048


def ours(tow: Tow, relative: float = RELATIVE) -> np.ndarray:
    answers = np.empty((len(SPEEDS), len(LET_OUTS), 7))
    room = room_for(len(tow.pieces))
    for row, v in zip(answers, SPEEDS, strict=True):
        sweep(tow.towed(Setting(float(v))), LET_OUTS, relative, room, row)
    return answers


def in_c(tow: Tow) -> Callable[[], np.ndarray]:
    function, room = built("sweep"), room_for(len(tow.pieces))
    answers = np.empty((len(SPEEDS), len(LET_OUTS), 7))

    def run() -> np.ndarray:
        for row, v in zip(answers, SPEEDS, strict=True):
            function(tow.towed(Setting(float(v))), LET_OUTS, RELATIVE, room, row)
        return answers

    return run


def by_solve_ivp(tow: Tow, speeds: np.ndarray, tolerance: float, method: str) -> np.ndarray:
    """Depths by solve_ivp, as an able user would ask for them.

    One sweep up the line with dense output; then for each let-out its leg in the air, the surface
    found by the secant rule from where the last let-out left it.
    """
    sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "towing"))
    from reference import _slopes

    depths = np.zeros((len(speeds), len(LET_OUTS)))
    rho, nu, rho_air, nu_air = tow.medium
    ends = np.cumsum(tow.pieces[:, 0])
    for i, v in enumerate(speeds):
        q = 0.5 * rho * v * v
        down, drag = q * tow.lure[1] + tow.lure[2], q * tow.lure[0]
        y = np.array([0.0, 0.0, np.arctan2(down, drag), np.hypot(drag, down)])
        legs = []
        start = 0.0
        for piece, end in zip(tow.pieces, ends, strict=True):
            run = solve_ivp(
                _slopes(piece, piece[2], rho, nu, v),
                (start, end),
                y,
                method=method,
                rtol=tolerance,
                atol=tolerance * 1e-2,
                dense_output=True,
            )
            legs.append(run.sol)
            y, start = run.y[:, -1], end
            if start > LET_OUTS[-1]:
                break

        def air(s: float, v: float = v, legs: list = legs) -> tuple[float, float]:
            at = min(int(np.searchsorted(ends, s, side="right")), len(legs) - 1)
            state = legs[at](s)
            level, length, position = state[1], 0.0, s

            def tip(_: float, now: np.ndarray, level: float = float(state[1])) -> float:
                return now[1] - level - tow.tip

            tip.terminal = True
            while True:
                piece = tow.pieces[at]
                left = ends[at] - position if at < len(ends) - 1 else 1e4
                run = solve_ivp(
                    _slopes(piece, piece[3], rho_air, nu_air, v),
                    (0.0, left),
                    state,
                    method=method,
                    rtol=tolerance,
                    atol=tolerance * 1e-2,
                    events=tip,
                )
                length += run.t[-1]
                if run.status == 1 or at == len(ends) - 1:
                    return float(level), length
                state, position, at = run.y[:, -1], position + left, at + 1

        shortest = air(0.0)[1]
        leg = shortest
        for j, goal in enumerate(LET_OUTS):
            if goal <= shortest:
                continue
            s, before = goal - leg, None
            for _ in range(60):
                level, leg = air(max(s, 0.0))
                gap = s + leg - goal
                if abs(gap) < 1e-7:
                    break
                rate = 1.0 if before is None else (gap - before[1]) / (s - before[0])
                before = (s, gap)
                s -= gap / (rate if rate > 0.1 else 1.0)
            depths[i, j] = level
    return depths


def timed(function: Callable[[], object], repeats: int) -> float:
    best = []
    for _ in range(repeats):
        start = time.process_time()
        function()
        best.append(time.process_time() - start)
    return statistics.median(best)


def process(words: list[str], repeats: int = 7) -> float:
    took = []
    for _ in range(repeats + 1):
        start = time.perf_counter()
        subprocess.run([sys.executable, *words], check=True, stdout=subprocess.DEVNULL)
        took.append(time.perf_counter() - start)
    return statistics.median(took[1:])


def main() -> None:
    tow = load(own=False).tow("demo")
    exact = ours(tow, 1e-12)[:, :, DEPTH]
    deep = exact > 0.5
    c = in_c(tow)
    ours(tow), c()

    def error(depths: np.ndarray, rows: slice = slice(None)) -> float:
        part = deep[rows]
        return float(np.max(np.abs(depths[part] / exact[rows][part] - 1.0)))

    t_ours, t_c = timed(lambda: ours(tow), 21), timed(c, 21)
    e_ours, e_c = error(ours(tow)[:, :, DEPTH]), error(c()[:, :, DEPTH])
    some = slice(10, 41, 20)  # two speeds of the 41; the rest cost the same
    rows = []
    for method, tolerance in (("DOP853", 1e-7), ("RK45", 1e-7), ("LSODA", 1e-8)):
        start = time.process_time()
        found = by_solve_ivp(tow, SPEEDS[some], tolerance, method)
        took = (time.process_time() - start) * len(SPEEDS) / len(SPEEDS[some])
        rows.append((f"solve_ivp, {method}, rtol {tolerance:g}", took, error(found, some)))
    best = min(rows, key=lambda row: row[1])
    print(
        f"{platform.python_version()}, {platform.machine()}, one core, {time.strftime('%Y-%m-%d')}\n"
    )
    print(
        "| let-out table, 41 speeds by 301 let-outs | CPU time [ms] | worst error in depth | ratio |"
    )
    print("|---|---|---|---|")
    print(f"| towscope | {t_ours * 1e3:.1f} | {e_ours:.1e} | 1 |")
    print(
        f"| the same kernel in C, -O3 | {t_c * 1e3:.1f} | {e_c:.1e} | {t_ours / t_c:.2f} (ours / C) |"
    )
    for name, took, wrong in rows:
        print(f"| {name} | {took * 1e3:.0f} | {wrong:.1e} | {took / t_ours:.0f} (it / ours) |")
    print(f"\nFastest of solve_ivp: {best[0]}, {best[1] / t_ours:.0f} times as long as ours.\n")
    numba, typer = process(["-c", "import numba"]), process(["-c", "import typer"])
    answer = process(["-m", "towscope", "letout", "demo", "--depth", "28 ft", "--speed", "2 mph"])
    help_ = process(["-m", "towscope", "--help"])
    print("| whole process, wall clock | median [s] | ratio |")
    print("|---|---|---|")
    print(f"| `towscope letout` | {answer:.2f} | {answer / numba:.2f} times `import numba` |")
    print(f"| `python -c 'import numba'` | {numba:.2f} | 1 |")
    print(f"| `towscope --help` | {help_:.2f} | {help_ / typer:.2f} times `import typer` |")
    print(f"| `python -c 'import typer'` | {typer:.2f} | 1 |")


if __name__ == "__main__":
    main()
