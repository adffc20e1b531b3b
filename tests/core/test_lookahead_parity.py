"""The portable core turns plans into paths, lays lines out, and finds the nearest bottom."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np

from asking import Case, ask
from rigs import WATER_AND_AIR, pieces
from towscope.towing import lookahead_kernels as lk
from towscope.towing import moving_kernels as mk
from towscope.towing import settling_kernels as settling

CASES = 2_000
CLOSE = {"rtol": 1e-9, "atol": 1e-9}


def _plan(rng: np.random.Generator) -> np.ndarray:
    rows = int(rng.integers(0, 4))
    plan = np.zeros((rows, lk.PLAN))
    plan[:, lk.BEGIN] = np.sort(rng.choice([0.0, 3.5, 7.0, rng.uniform(0.0, 20.0)], rows))
    plan[:, lk.SPEED] = np.where(rng.random(rows) < 0.5, rng.uniform(0.0, 2.0, rows), np.nan)
    plan[:, lk.BRISKLY] = rng.uniform(0.05, 0.5, rows)
    plan[:, lk.TURN] = np.where(rng.random(rows) < 0.5, rng.uniform(-4.0, 4.0, rows), 0.0)
    plan[:, lk.RADIUS] = rng.uniform(10.0, 60.0, rows)
    plan[:, lk.LINE_SPEED] = rng.uniform(0.2, 1.0, rows)
    return plan


def test_paths_of_boat_tips_and_line(tmp_path: Path) -> None:
    rng = np.random.default_rng(21)
    cases = []
    for _ in range(CASES // 4):
        plan, times = _plan(rng), np.arange(61) * 0.5
        start = lk.Departure(*rng.uniform(-50.0, 50.0, 2), *rng.uniform(0.1, 2.0, 2))
        path = np.zeros((61, 4))
        given = {"start": start, "plan": plan, "times": times, "path": path}
        cases.append(Case("boat_path", given, ["path"]))
        mounts, tips = rng.uniform(-3.0, 3.0, (3, 3)), np.zeros((3, 61, 3))
        given = {"mounts": mounts, "path": rng.uniform(-9.0, 9.0, (61, 4)), "tips": tips}
        cases.append(Case("tip_paths", given, ["tips"]))
        now = rng.uniform(-6.0, 6.0, (3, 3))
        given = {"now": now, "times": times, "tips": rng.uniform(-6.0, 6.0, (3, 61, 3))}
        cases.append(Case("lead_tips", given, ["tips"]))
        goals = np.where(rng.random((len(plan), 3)) < 0.6, rng.uniform(10.0, 60.0), np.nan)
        given = {
            "start": rng.uniform(10.0, 60.0, 3), "plan": plan, "goals": goals, "times": times,
            "let_outs": np.zeros((3, 61)),
        }  # fmt: skip
        cases.append(Case("line_out", given, ["let_outs"]))
    ask(cases, tmp_path)
    for case in cases:
        getattr(lk, case.way)(*case.given.values())  # the core has had copies
        for path in case.wanted:
            np.testing.assert_allclose(case.arrays[path], case.given[path], **CLOSE)


def test_the_nearest_bottom(tmp_path: Path) -> None:
    rng = np.random.default_rng(22)
    cases = []
    for _ in range(CASES):
        figures = rng.uniform(-2.0, 9.0, (8, 12, 12))
        figures[rng.random(figures.shape) < 0.3] = np.nan
        figures[:4, :, mk.CLEARANCE] = np.nan if rng.random() < 0.1 else 1.0
        given = {
            "figures": figures, "column": mk.CLEARANCE, "first": int(rng.choice([0, 4])),
            "draws": 4, "rank": int(rng.integers(0, 4)), "least": np.zeros(4),
        }  # fmt: skip
        cases.append(Case("nearest_bottom", given, ["least"]))
    ask(cases, tmp_path)
    for case in cases:
        ours = lk.nearest_bottom(*case.given.values())
        np.testing.assert_array_equal(case.result, ours)
        np.testing.assert_array_equal(case.arrays["least"], case.given["least"])


def test_lines_laid_out_behind_a_boat(tmp_path: Path) -> None:
    rng = np.random.default_rng(23)
    knotted, laid = [], []
    for _ in range(CASES):
        own = pieces(rng)
        lure = np.array([rng.uniform(1e-4, 2e-3), rng.uniform(-2e-4, 1e-3), rng.uniform(0.0, 0.3)])
        room = 400
        knots, part = np.full(room, np.nan), np.zeros(room, np.int64)
        given = {"pieces": own, "lure": lure, "segment": 1.5, "knots": knots, "part": part}
        knotted.append(Case("knots_of", given, ["knots", "part"]))
        count = settling.knots_of(own, lure, 1.5, knots, part)
        rows, width = 2, count + 1
        ends = np.append(knots[:count], np.nan)[None]
        parts = np.append(part[: count - 1], [part[count - 2]] * 2)[None]
        gear = mk.Gear(
            ends, parts, np.zeros(rows, np.int64), np.repeat(own[None], rows, 0),
            np.full((rows, len(own)), 1e5), np.repeat(lure[None], rows, 0),
            rng.uniform(-0.1, 0.1, (rows, 2)),
        )  # fmt: skip
        given = {
            "gear": gear,
            "medium": WATER_AND_AIR,
            "seen": rng.uniform(-1.0, 1.0, 2),
            "going": settling.Straight(
                rng.uniform(-2.0, 2.0, (1, 3)),
                own[:, 0].sum() * rng.uniform(0.2, 1.0, rows),
                0.5,
                0.5,
                float(rng.uniform(0.0, 2.0 * math.pi)),
            ),
            "chains": mk.Chains(
                np.zeros((rows, width + 1, 3)), np.zeros((rows, width + 1, 3)),
                np.zeros((rows, width + 1)), np.zeros(rows, np.int64), np.zeros(rows),
            ),
        }  # fmt: skip
        laid.append(Case("lay_out", given, ["chains.place", "chains.pull", "chains.used"]))
    ask([*knotted, *laid], tmp_path)
    for case in knotted:
        np.testing.assert_allclose(case.arrays["knots"], case.given["knots"], **CLOSE)
        np.testing.assert_array_equal(case.arrays["part"], case.given["part"])
    for case in laid:
        settling.lay_out(*case.given.values())
        for path in case.wanted:
            ours = getattr(case.given["chains"], path.split(".")[1])
            np.testing.assert_allclose(case.arrays[path], ours, **CLOSE)
