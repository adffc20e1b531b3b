"""Time edges and passes on a bed of 2,000 x 2,000 nodes.

``python bench/edges.py [NODES]`` prints a markdown table; the kernels are warmed on a small bed
first. Processor time is given beside the clock's: the machine may be shared.
"""

from __future__ import annotations

import os
import sys
import time

os.environ.setdefault("OMP_NUM_THREADS", "1")

import numpy as np

from towscope.bed.bed import LakeBed
from towscope.bed.edges import edges, smoothed
from towscope.bed.features import find
from towscope.bed.gridding import Frame
from towscope.bed.map_geojson import map_geojson
from towscope.bed.structure import bends, flats, humps
from towscope.geodesy import Place
from towscope.passes.candidates import Wind
from towscope.passes.passes import Wishes
from towscope.passes.planning import PassQuestion, planned
from towscope.tackle.shelf import stock
from towscope.units import US

CELL = 1.75  # [m]
DEPTH = 12.0  # [m]


def lake(nodes: int) -> LakeBed:
    """Make a round lake with basins, ridges between them, humps and a winding break."""
    v = CELL * (np.arange(nodes) - 0.5 * (nodes - 1))
    x, y = np.meshgrid(v, v)
    half = 0.5 * CELL * (nodes - 1)
    shore = 0.94 * half * (1.0 + 0.05 * np.sin(5.0 * np.arctan2(y, x))) - np.hypot(x, y)
    shelf = 90.0 + 40.0 * np.sin(x / 140.0) * np.cos(y / 170.0)
    deep = 0.5 * (1.0 + np.tanh((shore - shelf) / 28.0))
    depth = 5.0 * -np.expm1(-np.maximum(shore, 0.0) / 25.0)
    depth += deep * (11.0 + 5.0 * np.sin(x / 330.0) * np.sin(y / 290.0))
    for k in range(12):
        a = 2.4 * k
        u, w = x - 0.6 * half * np.cos(a) * (k / 12), y - 0.6 * half * np.sin(a) * (k / 12)
        depth -= deep * 7.0 * np.exp(-0.5 * ((u / 60.0) ** 2 + (w / 45.0) ** 2))
    frame = Frame(-half, -half, CELL, nodes, nodes)
    return LakeBed(
        Place(48.4, -91.9), frame, depth.astype(np.float32),
        np.full((nodes, nodes), 0.2, np.float32), shore > 0.0, {"between_runs_m": 14.0},
    )  # fmt: skip


def main(nodes: int) -> None:
    tow = stock().tow("demo")
    ask = PassQuestion(DEPTH, Wind(225.0, 3.0), Wishes(2.0, 0.894, outside=8.0), most=3)

    def plan(bed: LakeBed) -> str:
        found = planned(bed, tow, ask, lake="bench", rig="demo")
        return f"{len(found.passes)} passes"

    plan(lake(400))  # warms the kernels
    bed = lake(nodes)
    surface = smoothed(bed)
    found = edges(bed, DEPTH, surface=surface)
    rows = (
        ("smoothing to the scale of a pass", lambda: f"{smoothed(bed).size:,} nodes"),
        ("edges", lambda: f"{len(edges(bed, DEPTH, surface=surface))} edges"),
        ("points and inside turns", lambda: f"{len(bends(found))} bends"),
        ("humps", lambda: f"{len(humps(bed, DEPTH, surface))} humps"),
        ("flats", lambda: f"{len(flats(bed, DEPTH, surface=surface))} flats"),
        ("all of `lake edges`", lambda: f"{len(find(bed, DEPTH).edges)} edges"),
        (
            "map for the screen",
            lambda: f"{len(map_geojson(bed, 'bench', US)['features'])} features",
        ),
        ("`lake passes`, 3 asked", lambda: plan(bed)),
    )
    print("| step | finds | seconds | processor seconds |")
    print("|---|---|---|---|")
    for name, work in rows:
        clock, processor = time.perf_counter(), time.process_time()
        said = work()
        clock, processor = time.perf_counter() - clock, time.process_time() - processor
        print(f"| {name} | {said} | {clock:.1f} | {processor:.1f} |", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 2000)
