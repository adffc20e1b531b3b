"""Bytes and time of the first page on a slow phone and a slow network.

A fresh browser opens the app over the made-up day with Chromium's processor slowed four times and
its network at "Fast 3G" (1.44 Mbit/s down, 0.675 Mbit/s up, 562.5 ms to each answer: the figures of
Chromium's own developer tools, from memory). Bytes are counted as they cross the wire. "In use" is
when the run's screen stands and answers taps; "first picture" when it shows the first lure.
Run as ``python bench/first_load.py [times]``.
"""

from __future__ import annotations

import os
import re
import statistics
import sys
import tempfile
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT))

from playwright.sync_api import Browser, sync_playwright  # noqa: E402
from tests.web.serving import Server  # noqa: E402

PAGES = Path(os.environ.get("TOWSCOPE_PAGES") or ROOT / "src/towscope/web/pages")
FAST_3G: dict[str, Any] = {
    "offline": False,
    "latency": 562.5,
    "downloadThroughput": 1.6 * 1024 * 1024 / 8 * 0.9,
    "uploadThroughput": 750 * 1024 / 8 * 0.9,
}
WATCH = """
(() => {
  const seen = (window.__seen = {});
  const look = () => {
    if (!seen.use && document.querySelector('[data-part=run] .tools button')) {
      seen.use = performance.now();
    }
    if (!seen.lure && document.querySelector('article[data-rod]')) seen.lure = performance.now();
  };
  new MutationObserver(look).observe(document, { childList: true, subtree: true });
})()
"""


def load(browser: Browser, url: str, slow: float, net: dict[str, Any] | None) -> dict[str, float]:
    """Open the app in a fresh browser; give seconds and bytes."""
    context = browser.new_context(
        viewport={"width": 390, "height": 844}, device_scale_factor=2, service_workers="block"
    )
    page = context.new_page()
    page.add_init_script(WATCH)
    cdp = context.new_cdp_session(page)
    cdp.send("Network.enable")
    total = {"bytes": 0.0, "requests": 0.0}

    def came(event: dict[str, Any]) -> None:
        total["bytes"] += event["encodedDataLength"]
        total["requests"] += 1

    cdp.on("Network.loadingFinished", came)
    cdp.send("Emulation.setCPUThrottlingRate", {"rate": slow})
    if net:
        cdp.send("Network.emulateNetworkConditions", net)
    page.goto(f"{url}/#lines", wait_until="commit")
    page.wait_for_selector("article[data-rod]", timeout=60_000)
    seen = page.evaluate("window.__seen")
    page.wait_for_timeout(1500)
    context.close()
    return {"use": seen["use"] / 1000, "lure": seen["lure"] / 1000, **total}


def kept_for_offline() -> tuple[int, int]:
    """Count what the service worker fetches afterwards, to work with no network: files, bytes."""
    listed = set(re.findall(r'url:"([^"]+)"', (PAGES / "sw.js").read_text()))
    sizes = []
    for name in listed:
        packed = PAGES / f"{name}.br"
        sizes.append((packed if packed.exists() else PAGES / name).stat().st_size)
    return len(sizes), sum(sizes)


if __name__ == "__main__":
    times = int(sys.argv[1]) if len(sys.argv) > 1 else 3
    with (
        tempfile.TemporaryDirectory() as home,
        Server(Path(home)) as server,
        sync_playwright() as play,
    ):
        browser = play.chromium.launch(
            executable_path=os.environ.get("CHROMIUM", "/usr/bin/chromium"), args=["--no-sandbox"]
        )
        print("| profile | requests | sent [kB] | in use [s] | first picture [s] |")
        print("|---|---|---|---|---|")
        for name, slow, net in (
            ("as it is", 1.0, None),
            ("processor 4x slower, Fast 3G", 4.0, FAST_3G),
        ):
            got = [load(browser, server.url, slow, net) for _ in range(times)]
            middle = {key: statistics.median(each[key] for each in got) for key in got[0]}
            print(
                f"| {name} | {middle['requests']:.0f} | {middle['bytes'] / 1000:.0f} "
                f"| {middle['use']:.2f} | {middle['lure']:.2f} |"
            )
        browser.close()
    files, size = kept_for_offline()
    print(f"\nAfterwards, to work with no network: {files} files, {size / 1000:.0f} kB (brotli).")
