"""The portable core answers what the kernels answer, way in by way in, on made-up cases."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from asking import Case, ask
from rigs import desk, pieces, rig, towed
from towscope.towing import question_kernels as qk
from towscope.towing.steady import ANSWER, room_for, sweep

CASES = 2_000
RELATIVE = 1e-9


def _same(case: Case, path: str, ours: np.ndarray, atol: float = 1e-12) -> None:
    np.testing.assert_allclose(
        case.arrays[path], ours, rtol=RELATIVE, atol=atol, err_msg=f"{case.way}: {path}"
    )


def test_sweeps(tmp_path: Path) -> None:
    rng = np.random.default_rng(1)
    cases = []
    for _ in range(CASES):
        own = pieces(rng)
        tow = towed(rng, own, 1)
        outs = np.sort(rng.uniform(0.5, 1.1 * own[:, 0].sum(), 6))
        given = {
            "towed": tow,
            "let_outs": outs,
            "relative": 1e-7,
            "room": room_for(len(own)),
            "answers": np.zeros((6, ANSWER)),
        }
        cases.append(Case("sweep", given, ["answers"]))
    ask(cases, tmp_path)
    deep = 0
    for case in cases:
        answers = np.zeros((6, ANSWER))
        done = sweep(*list(case.given.values())[:4], answers)
        assert case.result[0] == done
        _same(case, "answers", answers)
        deep += int((answers[:, 0] > 0.0).sum())
    assert deep > CASES  # most of them are lures that run under


def test_let_outs_and_depths_with_their_intervals(tmp_path: Path) -> None:
    rng = np.random.default_rng(2)
    cases = []
    for i in range(2 * CASES):
        own = rig(rng, 8)
        way, what = ("let_out_for", "depth") if i % 2 else ("depth_of", "let_out")
        length = float(own.towed.pieces[:, 0].sum())
        asked = length * float(rng.uniform(0.02, 0.3) if i % 2 else rng.uniform(0.1, 1.0))
        given = {"rig": own, what: asked, "desk": desk(own), "found": np.zeros(qk.FOUND)}
        cases.append(Case(way, given, ["found"]))
    ask(cases, tmp_path)
    answered = 0
    for case in cases:
        own, asked, room, _ = case.given.values()
        found = np.zeros(qk.FOUND)
        done = getattr(qk, case.way)(own, asked, room, found)
        assert case.result[0] == done
        if done:
            answered += 1
            _same(case, "found", found)
    assert answered > CASES


def test_where_a_tow_runs(tmp_path: Path) -> None:
    rng = np.random.default_rng(3)
    cases = []
    for _ in range(CASES):
        own = rig(rng, 0)
        out = float(own.towed.pieces[:, 0].sum() * rng.uniform(0.1, 1.0))
        room = room_for(len(own.towed.pieces))
        given = {"rig": own, "let_out": out, "room": room, "found": np.zeros(qk.FOUND)}
        cases.append(Case("where_at", given, ["found"]))
    ask(cases, tmp_path)
    for case in cases:
        found = np.zeros(qk.FOUND)
        done = qk.where_at(*list(case.given.values())[:3], found)
        assert case.result[0] == done
        if done:
            _same(case, "found", found)


def test_tables(tmp_path: Path) -> None:
    rng = np.random.default_rng(4)
    cases = []
    names = ("let_out", "low", "high")
    for _ in range(CASES):
        own = rig(rng, 4)
        given = {
            "rig": own,
            "depths": np.sort(rng.uniform(0.5, 20.0, 3)),
            "speeds": np.sort(rng.uniform(0.4, 1.8, 2)),
            "desk": desk(own),
            **{name: np.zeros((3, 2)) for name in names},
        }
        cases.append(Case("table", given, list(names)))
    ask(cases, tmp_path)
    filled = 0
    for case in cases:
        ours = [np.zeros((3, 2)) for _ in names]
        qk.table(*list(case.given.values())[:4], *ours)
        for name, each in zip(names, ours, strict=True):
            _same(case, name, each)
        filled += int(np.isfinite(ours[0]).sum())
    assert filled > CASES
