"""Answers in the app timed: 200 varied questions, warm, through the whole app in process."""

from __future__ import annotations

import os
import random
import tempfile
import time
from datetime import date
from typing import Any

os.environ["TOWSCOPE_HOME"] = tempfile.mkdtemp()
os.environ.setdefault("OMP_NUM_THREADS", "1")

from fastapi.testclient import TestClient

from towscope.web.app import make_app
from towscope.web.context import AppContext

LEADERS = ("fluoro-12", "mono-10", "fluoro-20")
MAINS = ("thin-core-18", "bulky-core-18", "thin-core-27", "bulky-core-27")
LURES = ("small-minnow", "medium-shad", "large-deep-lip", "small-spoon", "large-harness")
LAYERS = [{"depth_m": 0, "along_m_s": -0.1}, {"depth_m": 10, "along_m_s": 0.05}]


def question(rng: random.Random, kind: str) -> dict[str, Any]:
    """Make up a question: another rig, speed, and depth or let-out each time."""
    asked: dict[str, Any] = {"speed_m_s": rng.uniform(0.6, 1.25)}
    if rng.random() < 0.25:
        asked["rig"] = "demo"
    else:
        pieces = [
            {"line": rng.choice(LEADERS), "length": f"{rng.choice((20, 30, 50))} ft"},
            {"line": rng.choice(MAINS), "length": "10 colors"},
            {"line": "braid-20", "length": "150 yd"},
        ]
        asked["spec"] = {"lure": rng.choice(LURES), "line": pieces}
    if rng.random() < 0.5:
        asked["depth_m"] = rng.uniform(4, 14)
    else:
        asked["let_out_m"] = rng.uniform(20, 90)
    if kind == "one current":
        asked["current"] = [{"depth_m": 0, "along_m_s": rng.uniform(-0.2, 0.2)}]
    elif kind == "a current by depth":
        asked["current"] = LAYERS
    return asked


def main() -> None:
    client = TestClient(make_app(AppContext()))
    rng = random.Random(1)
    for kind in ("no current", "a current by depth"):  # warm
        for _ in range(3):
            client.post("/api/rigs/answer", json=question(rng, kind))
    print(f"{date.today()}, {os.cpu_count()} cores, `python bench/app_rigs.py`\n")
    print("| questions | how many | time p50 | time p95 | processor p50 | processor p95 |")
    print("| --- | --- | --- | --- | --- | --- |")
    for kind, count in (("no current", 160), ("one current", 30), ("a current by depth", 10)):
        clock, spent = [], []
        for _ in range(count):
            begun, used = time.perf_counter(), time.process_time()
            got = client.post("/api/rigs/answer", json=question(rng, kind))
            clock.append(1000 * (time.perf_counter() - begun))
            spent.append(1000 * (time.process_time() - used))
            assert got.status_code in (200, 409), got.text
        row = [
            f"{sorted(x)[int(q * (count - 1))]:.0f} ms" for x in (clock, spent) for q in (0.5, 0.95)
        ]
        print(f"| {kind} | {count} | {' | '.join(row)} |")


if __name__ == "__main__":
    main()
