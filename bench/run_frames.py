"""Frames a second of the lines' drawing with the processor slowed.

A page over a made-up feed (`tests/web/fake_run.py`) is watched for some seconds in Debian's
chromium: every frame in which the canvas is painted is counted, and how long the painting took.
Run as ``python bench/run_frames.py [seconds]``.
"""

from __future__ import annotations

import os
import statistics
import sys
import threading
import time
from itertools import pairwise
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "web"))

import uvicorn
from fake_run import Feed, fake_app
from playwright.sync_api import sync_playwright

# Counts the frames in which the canvas was painted, the time between them, and the painting's own.
WATCH = """
() => {
  const seen = { frames: [], cost: [], all: 0 };
  window.__seen = seen;
  const real = window.requestAnimationFrame.bind(window);
  let painted = false;
  const fill = CanvasRenderingContext2D.prototype.fillRect;
  CanvasRenderingContext2D.prototype.fillRect = function (...a) {
    painted = true;
    return fill.apply(this, a);
  };
  window.requestAnimationFrame = (f) => real((t) => {
    painted = false;
    const begin = performance.now();
    f(t);
    if (painted) { seen.frames.push(t); seen.cost.push(performance.now() - begin); }
  });
  const tick = () => { seen.all += 1; real(tick); };
  real(tick);
}
"""
SIZES = (("phone 390 x 844, 3 pixels a point", 390, 844, 3), ("desk 1440 x 900", 1440, 900, 1))


def measure(seconds: float = 10.0, slow: float = 4.0) -> list[tuple[str, ...]]:
    """Watch both sizes, and a picture that stands still."""
    pages = os.environ.get("TOWSCOPE_PAGES")
    feed = Feed(second=120.0)
    server = uvicorn.Server(
        uvicorn.Config(
            fake_app(feed, Path(pages) if pages else None), port=8767, log_level="warning"
        )
    )
    threading.Thread(target=server.run, daemon=True).start()
    while not server.started:
        time.sleep(0.05)
    rows = []
    with sync_playwright() as play:
        browser = play.chromium.launch(
            executable_path=os.environ.get("CHROMIUM", "/usr/bin/chromium"), args=["--no-sandbox"]
        )
        for name, width, height, sharp in SIZES:
            for moving in (True, False):
                feed.second, feed.going = 120.0, True
                context = browser.new_context(
                    viewport={"width": width, "height": height}, device_scale_factor=sharp
                )
                context.add_init_script(f"({WATCH})()")
                page = context.new_page()
                page.goto("http://127.0.0.1:8767/#lines")
                page.wait_for_timeout(3000)
                feed.going = moving
                page.wait_for_timeout(1500 if moving else 4000)
                cdp = context.new_cdp_session(page)
                cdp.send("Emulation.setCPUThrottlingRate", {"rate": slow})
                page.evaluate(
                    "() => { const s = window.__seen; s.frames.length = s.cost.length = s.all = 0; }"
                )
                begin = time.monotonic()
                page.wait_for_timeout(seconds * 1000)
                seen = page.evaluate("window.__seen")
                lasted = time.monotonic() - begin
                frames, cost = seen["frames"], seen["cost"]
                gaps = [b - a for a, b in pairwise(frames)]
                rows.append(
                    (
                        name if moving else f"{name}, feed lost",
                        f"{len(frames) / lasted:.1f}",
                        f"{seen['all'] / lasted:.1f}",
                        f"{statistics.median(cost):.1f}" if cost else "-",
                        f"{sorted(cost)[int(0.95 * len(cost))]:.1f}" if cost else "-",
                        f"{sorted(gaps)[int(0.95 * len(gaps))]:.0f}" if len(gaps) > 3 else "-",
                    )
                )
                context.close()
        browser.close()
    feed.stop = True
    server.should_exit = True
    return rows


if __name__ == "__main__":
    print(
        "| picture | painted a second | page's frames a second | painting, median [ms] "
        "| painting, 95 % [ms] | between frames, 95 % [ms] |"
    )
    print("|---|---|---|---|---|---|")
    for row in measure(float(sys.argv[1]) if len(sys.argv) > 1 else 10.0):
        print("| " + " | ".join(row) + " |")
