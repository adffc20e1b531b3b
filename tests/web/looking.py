"""Looking at a page as the tests do: what it asked for, what it complained of, who can use it."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import BrowserContext, Error, Page, Request
from tests.waiting import until

ROOT = Path(__file__).parents[2]
AXE = ROOT / "frontend" / "node_modules" / "axe-core" / "axe.min.js"
PHONE: dict[str, Any] = {
    "viewport": {"width": 390, "height": 844},
    "device_scale_factor": 2,
    "is_mobile": True,
    "has_touch": True,
}
DESK: dict[str, Any] = {"viewport": {"width": 1440, "height": 900}}


class Watch:
    """What a page's context asked for and complained of.

    Attributes
    ----------
    asked : list of str
        Every address that was asked for.
    errors : list of str
        What went to the console as an error, and scripts' own errors.
    allowed : list of str
        Parts of errors that the test expects: where it stops the server, ``"ERR_"``.
    """

    def __init__(self, context: BrowserContext) -> None:
        self.asked: list[str] = []
        self.errors: list[str] = []
        self.allowed: list[str] = []
        context.on("request", self._request)
        context.on("console", lambda m: m.type == "error" and self.errors.append(m.text))
        context.on("weberror", lambda e: self.errors.append(str(e.error)))

    def _request(self, request: Request) -> None:
        self.asked.append(request.url)

    def check(self) -> None:
        """Fail where anything but one origin on 127.0.0.1 was asked, or errors were written."""
        far = [url for url in self.asked if not _near(url)]
        assert not far, f"asked another origin: {far[:5]}"
        origins = {urlsplit(u).netloc for u in self.asked if u.startswith("http")}
        assert len(origins) <= 1, f"asked more than one origin: {origins}"
        errors = [e for e in self.errors if not any(part in e for part in self.allowed)]
        assert not errors, f"the console says: {errors[:5]}"


def _near(url: str) -> bool:
    parts = urlsplit(url)
    return parts.scheme in ("data", "blob", "about") or parts.hostname == "127.0.0.1"


def watch_of(page: Page) -> Watch:
    """Give what a page of `phone` or `desk` asked for and complained of."""
    watch: Watch = page.watch  # type: ignore[attr-defined]
    return watch


def in_page(page: Page, what: Callable[[], bool], seconds: float = 30.0, of: str = "") -> None:
    """Wait until something is true outside the page, which goes on meanwhile."""

    def found() -> bool:
        if not what():
            page.wait_for_timeout(20)  # lets the page's events in, as no sleep does
            return False
        return True

    until(found, seconds, every=0.0, of=of)


def holds(page: Page, script: str, arg: Any = None, seconds: float = 30.0) -> None:
    """Wait until a script's answer counts as true, whatever the page's policy for scripts says.

    Playwright's own ``wait_for_function`` evaluates text in the page, which the policy forbids
    from its second look on: it passes only where the first look finds what is waited for.
    """

    def found() -> bool:
        try:
            return bool(page.evaluate(script, arg))
        except Error as error:
            if "context was destroyed" in str(error):  # the page is just going elsewhere
                return False
            raise

    in_page(page, found, seconds, of=script)


def kept(page: Page) -> None:
    """Wait until the pages are kept on the device: from then on they open without a server."""
    holds(page, "navigator.serviceWorker.ready.then(() => !!navigator.serviceWorker.controller)")


def serious(page: Page) -> list[str]:
    """Give axe-core's serious and critical findings on a page, in words; none is what we want.

    References
    ----------
    axe-core's rules for the Web Content Accessibility Guidelines 2.2, A and AA.
    """
    if not AXE.is_file():
        pytest.fail("axe-core is not there; run `make pages`", pytrace=False)
    page.evaluate(AXE.read_text())  # not a script tag: the page's own policy refuses those
    found = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
    return [
        f"{each['id']} ({each['impact']}): {each['help']}; "
        + json.dumps([node["html"][:160] for node in each["nodes"][:3]])
        for each in found["violations"]
        if each["impact"] in ("serious", "critical")
    ]
