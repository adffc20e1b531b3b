"""The lake's arithmetic on the page: names beside their marks, and what lies on a straight way."""

from __future__ import annotations

import json
import subprocess
from typing import Any

import numpy as np
import pytest
import shapely
from tests.web.looking import ROOT

PARTS = ROOT / "frontend" / "src" / "parts" / "lake"
NODE = ROOT / ".venv" / "bin" / "node"
# the pages' modules leave the ending of a file's name to what bundles them
START = """
import { registerHooks } from 'node:module'
registerHooks({ resolve: (name, context, next) =>
  next(name.startsWith('.') && !name.endsWith('.ts') ? `${name}.ts` : name, context) })
const given = JSON.parse((await import('node:fs')).readFileSync(0, 'utf8'))
"""


def node(program: str, given: Any) -> Any:
    """Run a program on the pages' own modules; give what it prints."""
    if not NODE.exists():
        pytest.fail("node is not there; run `make setup`", pytrace=False)
    done = subprocess.run(
        [str(NODE), "--no-warnings", "--input-type=module-typescript", "-e", START + program],
        input=json.dumps(given), capture_output=True, text=True, timeout=60, cwd=PARTS, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-2000:]
    return json.loads(done.stdout)


def test_names_of_lures_never_lie_over_one_another() -> None:
    rng = np.random.default_rng(5)
    tries = []
    for _ in range(200):
        count = int(rng.integers(1, 9))
        middle = rng.uniform(100.0, 300.0, 2)
        # lures run close together, some on the same spot
        spots = middle + rng.normal(0.0, rng.choice([0.5, 8.0, 40.0]), (count, 2))
        tries.append(
            [
                {"x": x, "y": y, "width": float(w), "height": 26.0}
                for (x, y), w in zip(spots.tolist(), rng.uniform(60.0, 150.0, count), strict=True)
            ]
        )
    found = node(
        f"""
        const {{ besideMarks }} = await import('{PARTS}/labels.ts')
        console.log(JSON.stringify(given.map((each) => besideMarks(each))))
        """,
        tries,
    )
    for names, beside in zip(tries, found, strict=True):
        boxes = [
            shapely.box(
                n["x"] + dx - n["width"] / 2, n["y"] + dy - n["height"] / 2,
                n["x"] + dx + n["width"] / 2, n["y"] + dy + n["height"] / 2,
            )
            for n, (dx, dy) in zip(names, beside, strict=True)
        ]  # fmt: skip
        over = [a.intersection(b).area for i, a in enumerate(boxes) for b in boxes[i + 1 :]]
        assert max(over, default=0.0) < 1e-6


def test_what_lies_on_a_straight_way_is_what_shapely_finds() -> None:
    """Land and shoals on random ways over a lake with an island and a shoal, against shapely."""
    lake = shapely.box(0.0, 0.0, 0.02, 0.01)
    island = shapely.Point(0.008, 0.005).buffer(0.0012, 8)
    shoal = shapely.Point(0.015, 0.004).buffer(0.001, 8)
    water = lake.difference(island)
    deeper = {
        3.0: shapely.box(0.002, 0.001, 0.019, 0.009).difference(island.buffer(0.0004)),
    }
    deeper[6.0] = deeper[3.0].difference(shoal)
    deeper[9.0] = shapely.box(0.012, 0.006, 0.018, 0.008)

    def features() -> Any:
        yield {"kind": "water"}, water
        for depth, shape in deeper.items():
            yield {"kind": "deeper", "depth_m": depth}, shape

    base = {
        "features": [
            {"properties": p, "geometry": json.loads(shapely.to_geojson(g))} for p, g in features()
        ]
    }
    rng = np.random.default_rng(11)
    ends = rng.uniform([0.0, 0.0, 0.0, 0.0], [0.02, 0.01, 0.02, 0.01], (400, 4))
    found = node(
        f"""
        const {{ straight }} = await import('{PARTS}/straight.ts')
        console.log(JSON.stringify(given.ends.map(([a, b, c, d]) =>
          straight(given.base, {{ lon: a, lat: b }}, {{ lon: c, lat: d }}, 8))))
        """,
        {"base": base, "ends": ends.tolist()},
    )
    kinds = []
    for (a, b, c, d), told in zip(ends.tolist(), found, strict=True):
        way = shapely.LineString([(a, b), (c, d)])
        land = not water.contains(way)
        shallow = next((m for m in sorted(deeper) if not deeper[m].contains(way)), None)
        want = None if land or shallow is None or shallow > 8.0 else shallow
        assert told == {"land": land, "lessThanM": want}
        kinds.append((land, want))
    assert len(set(kinds)) == 4, "land, two shoals and clear water each came up"
