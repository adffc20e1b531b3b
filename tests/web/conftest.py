"""What the app's tests share: the app served, a phone and a desk to look at it, and what must hold.

``served`` is the address of an app over the made-up days, one for all tests of a worker: for tests
that only look. ``own`` is a `Server` with a home of its own, for tests that write; ``empty`` is one
with nothing in it. ``phone`` and ``desk`` are pages of those sizes; at the end of each test they
fail it where the page asked another origin for something or wrote an error to its console.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page
from tests.unchecked import CHROMIUM, NO_CHROMIUM
from tests.web.looking import DESK, PHONE, ROOT, Watch
from tests.web.serving import Server

PAGES = Path(os.environ.get("TOWSCOPE_PAGES") or ROOT / "src" / "towscope" / "web" / "pages")


@pytest.fixture(scope="session")
def browser_type_launch_args() -> dict[str, Any]:
    """Start Debian's chromium, and keep it from asking anybody for anything."""
    if not os.access(CHROMIUM, os.X_OK):  # asked for by name, in the midst of a test
        pytest.skip(NO_CHROMIUM)
    return {
        "executable_path": CHROMIUM,
        "headless": True,
        "args": [
            "--no-sandbox",
            "--disable-gpu",
            "--use-angle=swiftshader",  # the lake is drawn by WebGL: in software here
            "--enable-unsafe-swiftshader",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
        ],
    }


@pytest.fixture(scope="session")
def pages() -> Path:
    """Give the folder of the built pages."""
    if not (PAGES / "index.html").is_file():
        pytest.fail(
            "the app's pages are not built; run `make pages` (or `npm run build` in frontend/)",
            pytrace=False,
        )
    return PAGES


@pytest.fixture(scope="session")
def served(pages: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Serve the made-up days for all tests of this worker; they must not write."""
    with Server(tmp_path_factory.mktemp("served")) as server:
        yield server.url


@pytest.fixture
def own(pages: Path, tmp_path: Path) -> Iterator[Server]:
    """Serve the made-up days for one test alone."""
    (home := tmp_path / "home").mkdir()
    with Server(home) as server:
        yield server


@pytest.fixture
def empty(pages: Path, tmp_path: Path) -> Iterator[Server]:
    """Serve an app with nothing in it yet, for one test alone."""
    (home := tmp_path / "home").mkdir()
    with Server(home, demo=False) as server:
        yield server


Opened = tuple[Page, Watch]


@pytest.fixture
def device(browser: Browser) -> Iterator[Callable[[dict[str, Any]], Opened]]:
    """Give what opens a fresh device (`PHONE`, `DESK`): its page and its watch."""
    made: list[tuple[BrowserContext, Watch]] = []

    def open_one(kind: dict[str, Any]) -> Opened:
        context = browser.new_context(**{"locale": "en-US", **kind})
        context.set_default_timeout(30_000)
        watch = Watch(context)
        made.append((context, watch))
        page = context.new_page()
        page.watch = watch  # type: ignore[attr-defined]
        return page, watch

    yield open_one
    for context, _ in made:
        context.close()
    for _, watch in made:
        watch.check()


@pytest.fixture
def phone(device: Callable[[dict[str, Any]], Opened]) -> Page:
    """Give a phone's page; `watch_of(phone)` is what it asked for."""
    return device(PHONE)[0]


@pytest.fixture
def desk(device: Callable[[dict[str, Any]], Opened]) -> Page:
    """Give a desk's page; `watch_of(desk)` is what it asked for."""
    return device(DESK)[0]
