"""Compare manoeuvres with MoorDyn run to convergence.

python bench/moordyn_moving.py            # compare with the kept runs
python bench/moordyn_moving.py --run      # run MoorDyn anew and keep its runs (half an hour)
python bench/moordyn_moving.py --run NAME # the same for one manoeuvre
"""

from __future__ import annotations

import sys
from time import process_time

import numpy as np

from moordyn_cases import CASES, KEPT, Case, kept
from moordyn_tow import UNDER, Rig, tow
from towscope.arrays import Array
from towscope.towing.moving import run, settled

COARSE, FINE = (1.0, 8e-4), (0.5, 4e-4)  # segment [m], step [s]


def ours(
    case: Case, segment: float = 1.0, step: float = 0.25, rig: Rig | None = None
) -> tuple[Array, float]:
    """Run our engine: lure and pull at every second (m, 4), and seconds of computing."""
    rig = rig or Rig()
    lines = rig.lines(segment)
    path = case.path()
    count = int(case.seconds)
    times = np.arange(0.0, count + 1e-9, step)
    tip = np.array([[*path(float(t)), -UNDER] for t in times])
    state = settled(lines, rig.length, case.speed)
    begin = process_time()
    passage = run(lines, state, times, tip[None], longest_step=step, every=round(1.0 / step))
    took = process_time() - begin
    return np.column_stack([passage.lure[0], passage.tension[0]]), took


def reference(case: Case) -> tuple[Array, float, float]:
    """Run MoorDyn twice; what its lumping leaves falls with the square of the segment.

    Gives time, lure and pull (m, 5), extrapolated; how far the two are apart [m]; seconds taken.
    """
    runs = []
    took = 0.0
    for segment, dt in (COARSE, FINE):
        times, lure, pull, seconds = tow(
            Rig(), case.path(), float(int(case.seconds)), speed=case.speed, segment=segment, dt=dt
        )
        took += seconds
        runs.append(np.column_stack([times, lure, pull]))
    coarse, fine = runs
    apart = float(np.linalg.norm(fine[1:, 1:4] - coarse[1:, 1:4], axis=1).max())
    return fine + (fine - coarse) / 3.0, apart, took


def main() -> None:
    names = sys.argv[2:] or list(CASES)
    if "--run" in sys.argv:
        runs = kept() if KEPT.exists() else {}
        for name in names:
            figures, apart, took = reference(CASES[name])
            runs[name] = figures
            print(
                f"{name}: MoorDyn at {COARSE[0]} m and {FINE[0]} m segments up to "
                f"{apart:.3f} m apart, {took:.0f} s",
                file=sys.stderr,
            )
            KEPT.parent.mkdir(exist_ok=True)
            with KEPT.open("w") as file:
                file.write("# MoorDyn 2.7.2, made by `python bench/moordyn_moving.py --run`\n")
                file.write("manoeuvre,time_s,x_m,y_m,z_m,pull_n\n")
                for key in (n for n in CASES if n in runs):
                    for t, x, y, z, f in runs[key]:
                        file.write(f"{key},{t:.0f},{x:.4f},{y:.4f},{z:.4f},{f:.5f}\n")
    print("| manoeuvre | lure's depth, m | depth off, % | plan off, m | pull off, % |")
    print("|---|---|---|---|---|")
    for name, figures in kept().items():
        mine, _ = ours(CASES[name])
        n = min(len(mine), len(figures))
        mine, figures = mine[1:n], figures[1:n]
        depth = np.abs(mine[:, 2] / figures[:, 3] - 1.0).max() * 100.0
        plan = np.hypot(mine[:, 0] - figures[:, 1], mine[:, 1] - figures[:, 2]).max()
        pull = np.abs(mine[:, 3] / figures[:, 4] - 1.0).max() * 100.0
        low, high = -figures[:, 3].max(), -figures[:, 3].min()
        print(f"| {name} | {low:.1f} to {high:.1f} | {depth:.2f} | {plan:.3f} | {pull:.1f} |")


if __name__ == "__main__":
    main()
