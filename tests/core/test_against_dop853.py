"""The built core's steady answers against an integrator that shares nothing with it."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

from asking import ROOT, Case, ask
from towscope.tackle.shelf import stock
from towscope.towing.steady import ANSWER, DEPTH, LAYBACK, TENSION, room_for
from towscope.towing.tow import Setting

sys.path.insert(0, str(ROOT / "tests" / "towing"))

from reference import depth_for_let_out

CASES = 60


def test_depths_laybacks_and_pulls(tmp_path: Path) -> None:
    # Source: scipy.integrate.solve_ivp, method DOP853, rtol 1e-10, on the equations in phi and T.
    rng = np.random.default_rng(31)
    cases, wanted = [], []
    for i in range(CASES):
        tow = stock().tow(("demo", "demo-bulky")[i % 2])
        setting = Setting(float(rng.uniform(0.4, 2.0)))
        depth, let_out, layback, pull = depth_for_let_out(
            tow, setting, float(rng.uniform(0.1, 0.9)) * tow.length
        )
        longer = tow.with_length(max(tow.length, let_out + 1.0))
        given = {
            "towed": longer.towed(setting),
            "let_out": let_out,
            "relative": 1e-7,
            "room": room_for(len(tow.pieces)),
            "out": np.zeros(ANSWER),
        }
        cases.append(Case("settle", given, ["out"]))
        wanted.append((depth, layback, pull))
    ask(cases, tmp_path)
    for case, (depth, layback, pull) in zip(cases, wanted, strict=True):
        out = case.arrays["out"]
        assert out[DEPTH] == pytest.approx(depth, rel=1e-4, abs=1e-4)
        assert out[LAYBACK] == pytest.approx(layback, rel=1e-4, abs=1e-4)
        assert out[TENSION] == pytest.approx(pull, rel=1e-4, abs=1e-4)
