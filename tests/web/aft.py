"""What the tests of these two screens share: quiet notices, sizes, sound pages."""

from __future__ import annotations

import json
import time
import urllib.request
from typing import Any

from playwright.sync_api import Page
from tests.web.looking import serious

PATIENCE_MS = 60_000  # the kernels may have to be compiled first


def quiet(page: Page) -> None:
    """Silence notices of a coming bottom hit as they rise: they lie over what is tested here."""
    button = page.get_by_role("button", name="Silence this alarm")
    page.add_locator_handler(button, lambda: button.click())


def sound(page: Page) -> None:
    """Fail where a page can't be used by all, scrolls sideways, or has targets too small."""
    assert serious(page) == []
    wide = page.evaluate(
        "() => { const m = document.querySelector('main');"
        " return [m.scrollWidth - m.clientWidth,"
        " document.scrollingElement.scrollWidth - innerWidth] }"
    )
    assert max(wide) <= 1, f"it scrolls sideways by {wide} px"
    small = page.evaluate(
        "() => [...document.querySelectorAll('main button, main select, main summary,"
        " main .tabs a, main a.go, main label:has(> input[type=checkbox])')]"
        ".filter(e => e.offsetParent).map(e => [e.innerText, e.getBoundingClientRect().height])"
        ".filter(([, h]) => h < 48)"
    )
    assert small == [], f"targets under 48 px: {small}"
    body = page.evaluate(
        "() => Math.min(...[...document.querySelectorAll('main p, main li, main td, main dd')]"
        ".filter(e => e.offsetParent && e.innerText.trim())"
        ".map(e => parseFloat(getComputedStyle(e).fontSize)))"
    )
    assert body >= 17, f"text of {body} px"


def told(url: str, path: str) -> Any:
    """Ask the app itself, until what takes seconds is there."""
    end = time.monotonic() + PATIENCE_MS / 1000
    while True:
        with urllib.request.urlopen(f"{url}{path}", timeout=30) as answer:
            said = json.load(answer)
        if "state" not in said or said["state"] == "fresh":
            return said
        assert time.monotonic() < end, f"{path}: {said['state']}"
        time.sleep(0.2)
