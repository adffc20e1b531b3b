"""The portable core takes lines from moment to moment as the kernels do, and finds the bottom."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np

from asking import Case, ask
from rigs import WATER_AND_AIR, pieces
from towscope.towing import moving_kernels as mk

CASES = 2_000
NODES, MOMENTS = 9, 4


def _ground(rng: np.random.Generator) -> mk.Ground:
    bed = rng.uniform(3.0, 30.0, (6, 7))
    bed[rng.random(bed.shape) < 0.1] = np.nan
    return mk.Ground(bed, -30.0, -60.0, 12.0)


def _given(rng: np.random.Generator) -> dict[str, object]:
    """Two lines, one row each, hanging slantwise behind a boat that turns and reels."""
    rows = 2
    own = [pieces(rng) for _ in range(rows)]
    most = max(len(each) for each in own)
    lines = np.zeros((rows, most, 8))
    lines[:, :, 1] = 1e-3
    knots = np.full((rows, NODES), np.nan)
    part = np.zeros((rows, NODES), np.int64)
    place = np.zeros((rows, NODES + 1, 3))
    out = np.empty(rows)
    tips = np.empty((rows, MOMENTS, 3))
    times = np.cumsum(rng.uniform(0.2, 1.0, MOMENTS))
    speed, turn = rng.uniform(0.4, 1.5), rng.uniform(-0.2, 0.2)
    used = np.full(rows, NODES - 2, dtype=np.int64)
    for r, each in enumerate(own):
        lines[r, : len(each)] = each
        ends = np.cumsum(each[:, 0])
        knots[r] = np.linspace(0.0, min(ends[-1], 40.0), NODES)
        part[r] = np.minimum(np.searchsorted(ends, knots[r], side="right"), len(each) - 1)
        spacing = knots[r, 1]
        out[r] = knots[r, NODES - 4] + 0.6 * spacing
        slant = rng.uniform(0.1, 0.6)
        s = out[r] - np.append(knots[r, : NODES - 3], out[r])
        tip = np.array([rng.uniform(-3.0, 3.0), 0.0, rng.uniform(0.3, 2.0)])
        down = np.array([0.0, -math.cos(slant), -math.sin(slant)])
        place[r, : NODES - 2] = tip + s[:, None] * down
        along = speed * (times - times[0])
        bend = turn * (times - times[0])
        tips[r] = tip + np.column_stack([along * np.sin(bend), along * np.cos(bend), 0.0 * along])
    let_outs = out[:, None] + rng.uniform(-0.8, 0.8, rows)[:, None] * (times - times[0])
    pull = np.full((rows, NODES + 1), rng.uniform(0.5, 3.0))
    lures = np.column_stack(
        [rng.uniform(1e-4, 2e-3, rows), rng.uniform(-2e-4, 1e-3, rows), rng.uniform(0.0, 0.3, rows)]
    )
    current = np.array([[0.0, 0.1, -0.05], [6.0, -0.1, 0.02]])[: int(rng.integers(1, 3))]
    return {
        "first": 0,
        "beyond": rows,
        "gear": mk.Gear(
            knots, part, np.arange(rows), lines, np.full((rows, most), 1e5), lures,
            rng.uniform(-0.05, 0.05, (rows, 2)),
        ),
        "water": mk.Water(WATER_AND_AIR, current, np.zeros(2)),
        "chains": mk.Chains(place, np.zeros_like(place), pull, used, np.zeros(rows)),
        "course": mk.Course(times, tips, let_outs, 0.5, math.inf, False),
        "ground": _ground(rng),
        "shown": mk.Shown(
            1, np.zeros((rows, MOMENTS, mk.SHOWN)), np.zeros((rows, MOMENTS, NODES, 3)),
            np.zeros((rows, 3), np.int64),
        ),
        "space": mk.Space(np.empty((NODES + 1, 3)), np.empty((NODES + 1, mk.WORK))),
    }  # fmt: skip


def test_lines_are_taken_from_moment_to_moment(tmp_path: Path) -> None:
    rng = np.random.default_rng(6)
    wanted = [
        "chains.place", "chains.rate", "chains.pull", "chains.used", "chains.rods",
        "shown.figures", "shown.shapes", "shown.effort",
    ]  # fmt: skip
    cases = [Case("travel", _given(rng), wanted) for _ in range(CASES)]
    ask(cases, tmp_path)
    settled = 0
    for case in cases:
        mk.travel(*case.given.values())  # the core has had copies
        for path in wanted:
            own = getattr(case.given[path.split(".")[0]], path.split(".")[1])
            np.testing.assert_allclose(
                case.arrays[path], own, rtol=1e-9, atol=1e-9, equal_nan=True, err_msg=path
            )
        settled += int(case.arrays["shown.effort"][:, 2].sum() == 0)
    assert settled > 0.99 * CASES


def test_the_bottom_under_a_point(tmp_path: Path) -> None:
    rng = np.random.default_rng(7)
    cases = []
    for _ in range(CASES):
        x, y = rng.uniform(-40.0, 60.0), rng.uniform(-70.0, 20.0)
        cases.append(Case("bottom", {"ground": _ground(rng), "x": x, "y": y}, []))
    ask(cases, tmp_path)
    known = 0
    for case in cases:
        ours = mk.bottom(*case.given.values())
        np.testing.assert_allclose(case.result[0], ours, rtol=1e-12, equal_nan=True)
        known += int(np.isfinite(ours))
    assert known > CASES / 4
