"""The portable core filters fixes and smooths the way as the boat's own filter does."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from asking import Case, ask
from towscope.boat import filter_steps
from towscope.boat.smooth import smooth_back

CASES = 2_000


def test_the_steps_of_the_filter(tmp_path: Path) -> None:
    rng = np.random.default_rng(41)
    firsts = {
        "expected_after": ("h", "agility"),
        "with_place": ("place_x", "place_y", "variance"),
        "with_velocity": ("east", "north", "variance"),
    }
    cases = []
    for way, names in firsts.items():
        for _ in range(CASES):
            a, c = rng.uniform(0.01, 9.0, 2)
            given = dict(zip(names, rng.uniform(0.01, 5.0, len(names)).tolist(), strict=True))
            given |= dict(
                zip(("x", "vx", "y", "vy"), rng.normal(0.0, 30.0, 4).tolist(), strict=True)
            )
            given |= {"a": float(a), "b": float(0.9 * np.sqrt(a * c) * rng.uniform(-1.0, 1.0))}
            cases.append(Case(way, {**given, "c": float(c)}, []))
    ask(cases, tmp_path)
    for case in cases:
        ours = getattr(filter_steps, case.way)(**case.given)
        np.testing.assert_allclose(case.result, ours, rtol=1e-12, atol=1e-12)


def test_a_way_filtered_and_smoothed_back(tmp_path: Path) -> None:
    rng = np.random.default_rng(42)
    cases = []
    for _ in range(CASES):
        n = int(rng.integers(1, 40))
        time = np.cumsum(rng.uniform(0.2, 2.0, n))
        state, cover, expected, expected_cover = (np.zeros((n, k)) for k in (4, 3, 4, 3))
        now: tuple[float, ...] = (0.0, 0.0, 0.0, 0.0, 0.25, 0.0, 1e4)
        for i in range(n):
            if i:
                now = filter_steps.expected_after(float(time[i] - time[i - 1]), 0.025, *now)
            expected[i], expected_cover[i] = now[:4], now[4:]
            x, y = rng.normal(0.9 * time[i], 0.5), rng.normal(0.0, 0.5)
            now = filter_steps.with_place(float(x), float(y), 0.25, *now)
            state[i], cover[i] = now[:4], now[4:]
        given = {
            "time": time, "state": state, "cover": cover, "expected": expected,
            "expected_cover": expected_cover,
        }  # fmt: skip
        cases.append(Case("smooth_back", given, ["state", "cover"]))
    ask(cases, tmp_path)
    for case in cases:
        smooth_back(*case.given.values())  # the core has had copies
        for path in case.wanted:
            np.testing.assert_allclose(case.arrays[path], case.given[path], rtol=1e-9, atol=1e-9)
