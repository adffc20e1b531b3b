"""The drawing's arithmetic: labels never cover one another, and the bottom lies still."""

from __future__ import annotations

import json
import subprocess
from typing import Any

import pytest
from tests.web.fake_run import SPEED, floor, picture
from tests.web.looking import ROOT

PARTS = ROOT / "frontend" / "src" / "parts" / "lines"
NODE = ROOT / ".venv" / "bin" / "node"


def node(program: str, given: Any = None) -> Any:
    """Run a program on the front end's own modules; give what it prints."""
    if not NODE.exists():
        pytest.fail("node is not there; run `make setup`", pytrace=False)
    done = subprocess.run(
        [str(NODE), "--no-warnings", "--input-type=module-typescript", "-e", program],
        input=json.dumps(given),
        capture_output=True,
        text=True,
        timeout=60,
        cwd=PARTS,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-2000:]
    return json.loads(done.stdout)


READ = "const given = JSON.parse((await import('node:fs')).readFileSync(0, 'utf8'));"


def test_labels_never_cover_one_another_nor_another_lures_mark() -> None:
    bad = node(
        f"""
        const {{ place }} = await import('{PARTS}/labels.ts');
        let seed = 7;
        const random = () => (seed = (seed * 16807) % 2147483647) / 2147483647;
        const bad = []; let placed = 0, asked = 0;
        for (let n = 0; n < 300; n++) {{
          const [width, height] = n % 2 ? [390, 230] : [1290, 330];
          const middle = 60 + random() * 120;
          const tags = Array.from({{ length: 1 + Math.floor(random() * 6) }}, (_, i) => ({{
            key: String(i), x: 40 + random() * width * 0.5, y: middle + random() * 60,
            w: 60 + random() * 70, h: n % 3 ? 38 : 22,
          }}));
          const area = {{ left: 2, right: width - 2, top: 40, bottom: height }};
          const at = place(tags, area);
          asked += tags.length; placed += at.length;
          const boxes = at.map((p) => {{
            const t = tags.find((t) => t.key === p.key);
            return {{ key: p.key, l: p.left, t: p.top, r: p.left + t.w, b: p.top + t.h }};
          }});
          const over = (a, b) => a.l < b.r && b.l < a.r && a.t < b.b && b.t < a.b;
          boxes.forEach((a, i) => {{
            if (a.l < 0 || a.r > width || a.t < 40 || a.b > height + 1) bad.push(['outside', n]);
            boxes.slice(i + 1).forEach((b) => over(a, b) && bad.push(['labels', n, a, b]));
            for (const t of tags) {{
              const m = {{ l: t.x - 9, r: t.x + 9, t: t.y - 9, b: t.y + 9 }};
              if (t.key !== a.key && over(a, m)) bad.push(['mark', n]);
            }}
          }});
        }}
        console.log(JSON.stringify({{ bad: bad.slice(0, 3), share: placed / asked }}));
        """
    )
    assert bad["bad"] == []
    assert bad["share"] > 0.97  # all but a few of these crowded spreads are named in full


@pytest.mark.parametrize("share", [0.0, 0.3, 0.8, 1.0])
def test_the_bottom_lies_still_while_the_boat_moves_on(share: float) -> None:
    pictures = [picture(s).model_dump(mode="json") for s in (140.0, 141.0)]
    grid = {"x0": -60.0, "step": 2.0, "count": 60}
    seen = node(
        f"""{READ}
        const {{ Motion, still }} = await import('{PARTS}/blend.ts');
        const motion = new Motion();
        motion.take(still(given.pictures[0]));
        motion.take(still(given.pictures[1]));
        const scene = motion.at(given.share, given.x0, given.step, given.count);
        console.log(JSON.stringify({{ z: [...scene.z], x: scene.lines.map((l) => l.x) }}));
        """,
        {"pictures": pictures, "share": share, **grid},
    )
    boat = SPEED * (140.0 + share)
    for i, z in enumerate(seen["z"]):
        # What is left is the straight line between the feed's points, 4 m apart.
        assert z == pytest.approx(floor(boat + grid["x0"] + i * grid["step"]), abs=0.05)
    assert seen["x"][0] == pytest.approx(pictures[0]["lines"][0]["along_m"], abs=0.01)


def test_after_a_gap_nothing_is_made_up_between() -> None:
    pictures = [picture(s).model_dump(mode="json") for s in (100.0, 160.0)]
    x = node(
        f"""{READ}
        const {{ Motion, still }} = await import('{PARTS}/blend.ts');
        const motion = new Motion();
        for (const p of given) motion.take(still(p));
        const scene = motion.at(0, -40, 1, 80);
        console.log(JSON.stringify([scene.z[0], motion.from === null]));
        """,
        pictures,
    )
    assert x == [pytest.approx(floor(SPEED * 160.0 - 40.0), abs=0.05), True]


def test_axes_have_few_clean_ticks() -> None:
    found = node(
        f"""
        const {{ ticks }} = await import('{PARTS}/scale.ts');
        const all = [];
        for (const high of [3, 7.7, 12, 41, 99, 130, 333]) all.push(ticks(-high / 3, high, 5));
        console.log(JSON.stringify(all));
        """
    )
    for row in found:
        assert 3 <= len(row) <= 7
        step = row[1] - row[0]
        digits = f"{step:.6e}".split("e")[0].rstrip("0").rstrip(".")
        assert digits in ("1", "2", "5")
