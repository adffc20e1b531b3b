"""Measure the moving engine: against MoorDyn, against C, and how its cost grows.

    python bench/moving.py

All on one core, in one run; MoorDyn and the C version tow the same line along the same path.
"""

from __future__ import annotations

import math
import os
from collections.abc import Callable
from time import perf_counter, process_time

import numpy as np

from in_c import built
from moordyn_cases import CASES, SPEED, kept
from moordyn_moving import ours
from moordyn_tow import UNDER, Rig, tow
from towscope.arrays import Array
from towscope.tackle import load
from towscope.towing import moving_kernels as mk
from towscope.towing.lookahead import Boat, Manoeuvre, course, tips
from towscope.towing.moving import Lines, run, settled, step

HALF_TURN = Manoeuvre(turn=math.pi, radius=20.0, begin=5.0)


def _best(function: Callable[[], object], times: int = 5) -> float:
    took = []
    for _ in range(times):
        begin = process_time()
        function()
        took.append(process_time() - begin)
    return min(took)


def against_moordyn() -> None:
    name = "U-turn 20 m"
    case = CASES[name]
    reference = kept()[name]
    seconds = float(int(case.seconds))

    def error(lure: Array) -> tuple[float, float]:
        n = min(len(lure), len(reference))
        off = lure[:n, :3] - reference[:n, 1:4]
        return (
            float(np.abs(off[:, 2] / reference[:n, 3]).max() * 100.0),
            float(np.hypot(off[:, 0], off[:, 1]).max()),
        )

    print(
        f"{name}, {seconds:.0f} s, line of {Rig().length:.0f} m; error against the converged run.\n"
    )
    print("| engine | segments | step, s | line-seconds per second | depth off, % | plan off, m |")
    print("|---|---|---|---|---|---|")
    rates = {}
    for segment, dt in ((2.0, 1.6e-3), (1.0, 8e-4)):
        begin = process_time()
        _, lure, _, _ = tow(Rig(), case.path(), seconds, speed=SPEED, segment=segment, dt=dt)
        took = process_time() - begin
        rates[segment] = seconds / took
        depth, plan = error(lure)
        print(
            f"| MoorDyn | {segment} m | {dt:g} | {seconds / took:.1f} | {depth:.2f} | {plan:.3f} |"
        )
    for segment, dt in ((2.0, 1.0), (1.0, 0.5), (1.0, 0.25)):
        lure, _ = ours(case, segment, dt)
        spent = min(ours(case, segment, dt)[1] for _ in range(5))
        depth, plan = error(lure)
        print(
            f"| ours | up to {1.5 * segment} m | {dt:g} | {seconds / spent:.0f} | {depth:.2f} | "
            f"{plan:.3f} |"
        )
        if (segment, dt) == (1.0, 0.5):
            print_ratio = seconds / spent / rates[1.0]
    print(f"\nAt 0.5 s and 1 m: {print_ratio:.0f} times MoorDyn at 1 m.\n")


def against_c() -> None:
    lines = Rig().lines(stretch=False)
    state = settled(lines, 51.8, SPEED)
    dt, count = 0.25, 480
    path = CASES["U-turn 20 m"].path()
    times = np.arange(count + 1) * dt
    tip = np.array([[*path(float(t)), -UNDER] for t in times])
    passage = run(lines, state, times, tip[None], longest_step=dt)
    travel = built("travel")
    shown, effort = np.empty((1, 1, mk.SHOWN)), np.zeros((1, 3), np.int64)
    k = state.pull.shape[1]
    let_outs = np.full((1, count + 1), 51.8)

    def in_c() -> tuple[Array, int]:
        effort[:] = 0
        chains = mk.Chains(
            state.place.copy(), state.rate.copy(), state.pull.copy(), state.count.copy(),
            state.rod.copy(),
        )  # fmt: skip
        travel(
            0, 1, lines.gear, mk.Water(lines.medium, np.zeros((1, 3)), np.zeros(2)), chains,
            mk.Course(times, tip[None], let_outs, dt, math.inf, False),
            mk.Ground(np.zeros((0, 0)), 0.0, 0.0, 1.0),
            mk.Shown(count + 1, shown, np.empty((1, 0, k, 3)), effort),
            mk.Space(np.empty((k, 3)), np.empty((k, mk.WORK))),
        )  # fmt: skip
        return chains.place[0, 0], int(effort[0, 1])

    lure, newton = in_c()
    apart = float(np.abs(lure - passage.lure[0, -1]).max())
    c_time = _best(lambda: in_c(), 7)
    own = _best(lambda: run(lines, state, times, tip[None], longest_step=dt, every=count), 7)
    nodes = int(state.count[0])
    print(
        f"The same {count} steps in C (cc -O3 -march=native), {nodes} nodes, {newton} Newton steps:"
    )
    print(
        f"{c_time * 1e3:.1f} ms in C, {own * 1e3:.1f} ms here, ratio {own / c_time:.2f}; lures "
        f"{apart:.1e} m apart; {own / newton / nodes * 1e9:.0f} ns per node and Newton step.\n"
    )


def growth() -> None:
    shelf = load()
    one = shelf.tow("demo")
    boat = Boat(0.0, 0.0, SPEED, 0.0)
    print("| lines | draws | seconds | computing, ms | per line, draw and second, µs |")
    print("|---|---|---|---|---|")
    for count, draws, seconds in (
        (1, 1, 120),
        (8, 1, 120),
        (1, 64, 120),
        (8, 64, 120),
        (1, 1, 960),
    ):
        lines = Lines.of([one] * count, draws=draws)
        state = settled(lines, 51.8, SPEED)
        times, path = course(boat, HALF_TURN, float(seconds), 0.5)
        tip = tips(lines.mounts, path)
        took = _best(lambda: run(lines, state, times, tip, longest_step=0.5, every=len(times)), 3)  # noqa: B023
        each = took / (count * draws * seconds) * 1e6
        print(f"| {count} | {draws} | {seconds} | {took * 1e3:.1f} | {each:.1f} |")
    print()


def live() -> None:
    lines = Lines.of([load().tow("demo")] * 8, draws=64)
    boat = Boat(0.0, 0.0, SPEED, 0.0)
    state = settled(lines, 51.8, SPEED)
    for dt in (1.0, 0.5):
        times, path = course(boat, HALF_TURN, 60.0, dt)
        tip = tips(lines.mounts, path)
        now = state
        begin = process_time()
        for i in range(1, len(times)):
            now = step(lines, now, tip[:, i], dt)
        share = (process_time() - begin) / 60.0
        print(
            f"Eight lines of 64 draws, stepped live every {dt:g} s through a turn: "
            f"{share * 100.0:.1f} % of one core."
        )


def main() -> None:
    os.sched_setaffinity(0, {max(os.sched_getaffinity(0))})
    begin = perf_counter()
    against_moordyn()
    against_c()
    growth()
    live()
    print(f"\nAll of it took {perf_counter() - begin:.0f} s.")


if __name__ == "__main__":
    main()
