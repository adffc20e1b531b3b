"""The bed against TIN, splines and kriging on the same left-out runs: how right, how fast.

Run as ``python bench/bed.py [errors] [real|slate] [speed] [line]``; prints markdown tables.
"""

from __future__ import annotations

import os
import resource
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import numpy.typing as npt

from towscope.arrays import Array
from towscope.bed import cleaning, reading
from towscope.bed.bed import exactness
from towscope.bed.cross_validation import leave_out, thin, try_out
from towscope.bed.gridding import Frame, at, surface
from towscope.bed.soundings import FileOptions
from towscope.bed.survey_runs import folds, runs
from towscope.demo import long_slate
from towscope.geodesy import Place

Method = Callable[[Array, Array, Array, Array, Array], Array]
REAL = Path(__file__).parents[1] / "tests/data/lake227_soundings.csv"


def tin(x: Array, y: Array, z: Array, to_x: Array, to_y: Array) -> Array:
    from scipy.interpolate import LinearNDInterpolator, NearestNDInterpolator

    inside = LinearNDInterpolator(np.column_stack([x, y]), z)(np.column_stack([to_x, to_y]))
    beyond = NearestNDInterpolator(np.column_stack([x, y]), z)(np.column_stack([to_x, to_y]))
    return np.where(np.isfinite(inside), inside, beyond)


def cubic_tin(x: Array, y: Array, z: Array, to_x: Array, to_y: Array) -> Array:
    from scipy.interpolate import CloughTocher2DInterpolator, NearestNDInterpolator

    inside = CloughTocher2DInterpolator(np.column_stack([x, y]), z)(np.column_stack([to_x, to_y]))
    beyond = NearestNDInterpolator(np.column_stack([x, y]), z)(np.column_stack([to_x, to_y]))
    return np.where(np.isfinite(inside), inside, beyond)


def spline(damping: float | None) -> Method:
    def method(x: Array, y: Array, z: Array, to_x: Array, to_y: Array) -> Array:
        import verde

        fitted = verde.Spline(damping=damping).fit((x, y), z)
        return np.asarray(fitted.predict((to_x, to_y)))

    return method


def nearest(x: Array, y: Array, z: Array, to_x: Array, to_y: Array) -> Array:
    import verde

    return np.asarray(verde.KNeighbors(k=5).fit((x, y), z).predict((to_x, to_y)))


def kriging(variogram: str) -> Method:
    def method(x: Array, y: Array, z: Array, to_x: Array, to_y: Array) -> Array:
        from pykrige.ok import OrdinaryKriging

        # Two soundings on one spot make its matrix singular: such are put together for it.
        spot = np.round(np.column_stack([x, y]), 1)
        _, which, count = np.unique(spot, axis=0, return_inverse=True, return_counts=True)
        x, y, z = (np.bincount(which.ravel(), v) / count for v in (x, y, z))
        fitted = OrdinaryKriging(
            x, y, z, variogram_model=variogram, nlags=20, weight=True, exact_values=False
        )
        return np.asarray(fitted.execute("points", to_x, to_y)[0])

    return method


def errors(name: str, x: Array, y: Array, z: Array, most: int) -> list[str]:
    """Give the table of left-out errors for one lake."""
    run = runs(x, y)
    hands = folds(run, most)
    rows: list[tuple[str, float, float, float]] = []
    methods: list[tuple[str, Method]] = [
        ("TIN, linear (scipy)", tin),
        ("TIN, cubic (scipy)", cubic_tin),
        ("nearest five (verde)", nearest),
        *((f"spline, damping {d} (verde)", spline(d)) for d in (None, 1e-6, 1e-5, 1e-4, 1e-3)),
        *((f"ordinary kriging, {v} (pykrige)", kriging(v)) for v in ("spherical", "linear")),
    ]
    for label, method in methods:
        start = time.perf_counter()
        wrong: list[Array] = []
        try:
            for hand in hands:
                kept = np.ones(x.size, bool)
                kept[hand] = False
                wrong.append(method(x[kept], y[kept], z[kept], x[hand], y[hand]) - z[hand])
        except (np.linalg.LinAlgError, MemoryError, ValueError) as error:
            print(f"{label}: {error}", file=sys.stderr)
            continue
        e = np.concatenate(wrong)
        rows.append((label, float(np.sqrt(np.mean(e**2))), float(np.mean(np.abs(e))),
                     time.perf_counter() - start))  # fmt: skip
    frame = Frame.around(x, y, 2.0, 25.0)
    start = time.perf_counter()
    wrong = []
    inside = 0
    for hand in hands:  # nested: constants and error are chosen without the runs that judge them
        kept = np.ones(x.size, bool)
        kept[hand] = False
        trial = try_out(x[kept], y[kept], z[kept], frame, run=_renumber(run[kept]))
        left = leave_out(thin(x, y, z, [hand], frame), frame, trial.plate)
        wrong.append(left.error)
        inside += np.count_nonzero(
            np.abs(left.error) <= 1.645 * trial.errors.sd(left.slope, left.distance)
        )
    e = np.concatenate(wrong)
    rows.append(("ours (constants chosen inside each fold)", float(np.sqrt(np.mean(e**2))),
                 float(np.mean(np.abs(e))), time.perf_counter() - start))  # fmt: skip
    rows.sort(key=lambda r: r[1])
    out = [
        f"{name}: {e.size:,} soundings left out in {len(hands)} hands of whole runs; our 90 % band "
        f"holds {100 * inside / e.size:.1f} %.",
        "",
        "| method | rms error [m] | mean abs error [m] | time [s] |",
        "|---|---|---|---|",
    ]
    return out + [f"| {r[0]} | {r[1]:.3f} | {r[2]:.3f} | {r[3]:.1f} |" for r in rows]


def _renumber(run: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
    return np.unique(run, return_inverse=True)[1].astype(np.int64)


def big_bottom(x: Array, y: Array) -> Array:
    """Give a made-up bottom 10 km square: basins, ridges, humps and a break."""
    return (
        18.0
        + 8.0 * np.sin(x / 900.0) * np.cos(y / 1100.0)
        + 3.0 * np.sin(x / 310.0 + y / 520.0)
        + 1.2 * np.sin(x / 140.0 - y / 95.0)
        + 5.0 * np.tanh((y - 5000.0 - 600.0 * np.sin(x / 800.0)) / 60.0)
    )


def big_log(
    n: int, wide: float, seed: int = 4
) -> tuple[Array, Array, Array, npt.NDArray[np.int64]]:
    """Give n soundings on dense runs with wide gaps over a square, and their runs."""
    rng = np.random.default_rng(seed)
    count = max(int(np.sqrt(n / 25.0)), 8)
    per = n // count
    xs, ys, ks = [], [], []
    for k in range(count):
        t = np.sort(rng.uniform(0.0, wide, per))
        line = wide * (k // 2 + 0.5) / ((count + 1) // 2) + np.cumsum(rng.normal(0, 0.02, per))
        a, b = (t, line) if k % 2 else (line, t)
        xs.append(np.clip(a, 0, wide)), ys.append(np.clip(b, 0, wide)), ks.append(np.full(per, k))
    x, y = np.concatenate(xs), np.concatenate(ys)
    z = big_bottom(x, y) + rng.normal(0.0, 0.1, x.size)
    return x, y, z, np.concatenate(ks)


def speed(n: int = 1_000_000, nodes: int = 2_000) -> list[str]:
    """Race `griddata(method="cubic")` on the same soundings, in the same run."""
    from scipy.interpolate import griddata

    if os.environ.get("OMP_NUM_THREADS") != "1":
        # Without it griddata took 160 to 166 s of processor time here (twice), with it 24 to 27 s
        # (always). Why is not known; the race is against griddata at its best.
        raise SystemExit("run this race with OMP_NUM_THREADS=1, or griddata is handicapped")
    wide = 10_000.0
    cell = wide / (nodes - 1)
    x, y, z, run = big_log(n, wide)
    rng = np.random.default_rng(0)
    out_runs = rng.permutation(run.max() + 1)[: max(3, (run.max() + 1) // 20)]
    left = np.isin(run, out_runs)
    keep = ~left
    frame = Frame(0.0, 0.0, cell, nodes, nodes)
    start = time.perf_counter()
    try_out(x[:40_000], y[:40_000], z[:40_000], Frame(0.0, 0.0, 50.0, 200, 200), run=run[:40_000])
    warm = time.perf_counter() - start  # compiles the kernels
    start, busy = time.perf_counter(), time.process_time()
    trial = try_out(x[keep], y[keep], z[keep], frame, run=_renumber(run[keep]))
    middle = time.perf_counter()
    bed = surface(x[keep], y[keep], z[keep], frame, trial.plate, tolerance=exactness(trial))
    from towscope.bed.cross_validation import distances, slopes

    solved = time.perf_counter()
    trial.errors.sd(slopes(bed, cell), distances(x[keep], y[keep], frame))
    ours, our_busy = time.perf_counter() - start, time.process_time() - busy
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    e = at(bed, frame, x[left], y[left]) - z[left]
    truth_x, truth_y = rng.uniform(100, wide - 100, (2, 200_000))
    true = big_bottom(truth_x, truth_y)
    t = at(bed, frame, truth_x, truth_y) - true
    print(f"ours {ours:.1f} s: trial {middle - start:.1f}, solve {solved - middle:.1f}; "
          f"compile {warm:.1f}; {trial.tried}", file=sys.stderr)  # fmt: skip
    rows = [("ours, with its standard error", ours, our_busy, peak, e, t)]
    axis = np.arange(nodes) * cell
    start, busy = time.perf_counter(), time.process_time()
    grid = griddata(
        np.column_stack([x[keep], y[keep]]),
        z[keep],
        tuple(np.meshgrid(axis, axis)),
        method="cubic",
    )
    theirs, their_busy = time.perf_counter() - start, time.process_time() - busy
    grid = np.where(np.isfinite(grid), grid, np.nanmean(grid))
    e2 = at(grid, frame, x[left], y[left]) - z[left]
    t2 = at(grid, frame, truth_x, truth_y) - true
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    rows.append(("griddata cubic (scipy)", theirs, their_busy, peak, e2, t2))

    def rms(v: Array) -> float:
        return float(np.sqrt(np.mean(v**2)))

    return [
        f"{n:,} soundings, {nodes:,} x {nodes:,} nodes: {theirs / ours:.1f} times as fast "
        f"by the clock, {their_busy / our_busy:.1f} times by processor time.",
        "",
        "| method | time [s] | processor [s] | peak memory so far [GB] | left-out rms [m] "
        "| against the truth: rms, median [m] |",
        "|---|---|---|---|---|---|",
        *(
            f"| {r[0]} | {r[1]:.1f} | {r[2]:.1f} | {r[3]:.2f} | {rms(r[4]):.3f} "
            f"| {rms(r[5]):.3f}, {np.median(np.abs(r[5])):.3f} |"
            for r in rows
        ),
    ]


def line() -> list[str]:
    """Show how the cost grows with soundings and with nodes."""
    out = ["| soundings | nodes | trial [s] | solve and error [s] |", "|---|---|---|---|"]
    from towscope.bed.cross_validation import distances, slopes

    for n, nodes in ((62_500, 500), (250_000, 1_000), (250_000, 2_000), (1_000_000, 2_000)):
        wide = 5.0 * (nodes - 1)
        x, y, z, run = big_log(n, wide)
        frame = Frame(0.0, 0.0, 5.0, nodes, nodes)
        start = time.perf_counter()
        trial = try_out(x, y, z, frame, run=run)
        middle = time.perf_counter()
        bed = surface(x, y, z, frame, trial.plate, tolerance=exactness(trial))
        trial.errors.sd(slopes(bed, 5.0), distances(x, y, frame))
        end = time.perf_counter()
        out.append(f"| {n:,} | {nodes:,} x {nodes:,} | {middle - start:.1f} | {end - middle:.1f} |")
    return out


def main() -> None:
    wanted = sys.argv[1:] or ["errors", "speed", "line"]
    if "errors" in wanted:
        if "slate" not in wanted:
            clean = cleaning.clean([reading.read(REAL, FileOptions())])
            place = Place.about(clean.latitude, clean.longitude)
            x, y = place.to_metres(clean.latitude, clean.longitude)
            print("\n".join(errors("Lake 227", x, y, clean.depth, 100)) + "\n")
        if "real" not in wanted:
            rng = np.random.default_rng(7)
            xs, ys = zip(*long_slate.tracks(120.0, 15.0), strict=True)
            x, y = np.concatenate(xs), np.concatenate(ys)
            z = long_slate.true_depth(x, y) + rng.normal(0.0, 0.1, x.size)
            print("\n".join(errors("Long Slate, runs 120 m apart", x, y, z, 6)) + "\n")
    if "speed" in wanted:
        print("\n".join(speed()) + "\n")
    if "line" in wanted:
        print("\n".join(line()) + "\n")


if __name__ == "__main__":
    main()
