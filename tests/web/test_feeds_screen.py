"""The crew sees what says where the boat is, and lets a phone say it."""

from __future__ import annotations

import json
import urllib.request
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect
from tests.web.conftest import Opened
from tests.web.looking import DESK, PHONE, serious
from tests.web.serving import Server

PLACE = {"latitude": 48.4, "longitude": -91.9, "accuracy": 4.0}
AFLOAT = {"geolocation": PLACE, "permissions": ["geolocation"]}


def shown(page: Page, server: Server) -> None:
    page.goto(server.url)
    page.get_by_role("button", name="GPS", exact=False).first.click()
    expect(page.get_by_role("heading", name="Boat position")).to_be_visible()


def asked(server: Server) -> dict[str, Any]:
    with urllib.request.urlopen(f"{server.url}/api/feeds", timeout=10) as answer:
        told: dict[str, Any] = json.load(answer)
    return told


# Wait until the browser itself tells the new place.
MOVED = """() => new Promise(done => {
  const watch = navigator.geolocation.watchPosition(({ coords }) => {
    if (coords.latitude > 48.405) { navigator.geolocation.clearWatch(watch); done() }
  })
})"""


@pytest.mark.parametrize("size", ["phone", "desk"])
def test_a_phone_says_where_the_boat_is(
    size: str, empty: Server, device: Callable[[dict[str, Any]], Opened]
) -> None:
    page, watch = device({**(PHONE if size == "phone" else DESK), **AFLOAT})
    page.clock.install()
    shown(page, empty)
    expect(page.get_by_text("no phone shares its GPS yet")).to_be_visible()
    tell = page.get_by_role("button", name="Share this phone’s GPS")
    box = tell.bounding_box()
    assert box is not None
    assert box["height"] >= 48
    tell.click()
    expect(page.get_by_text("In use for the boat’s position")).to_be_visible()
    expect(page.get_by_text("used for position")).to_be_visible()
    assert serious(page) == []
    assert asked(empty)["feeds"][0]["used_for"] == ["place"]
    # it is still told after the page was closed and opened again
    page.reload()
    page.get_by_role("button", name="GPS", exact=False).first.click()
    expect(page.get_by_text("In use for the boat’s position")).to_be_visible()
    page.get_by_role("button", name="Share this phone’s GPS").click()
    expect(page.get_by_text("For a boat whose own GPS is not connected")).to_be_visible()
    # its clock runs on past several tellings, and the phone has moved: nothing is sent any more
    sent = len([url for url in watch.asked if "/api/position" in url])
    page.context.set_geolocation({"latitude": 48.41, "longitude": -91.91, "accuracy": 5})
    page.evaluate(MOVED)
    page.clock.run_for(10_000)
    page.evaluate("fetch('/api/hello').then(told => told.text())")  # what went before it is there
    assert len([url for url in watch.asked if "/api/position" in url]) == sent


def test_a_browser_that_may_not_tell_says_so(
    empty: Server, device: Callable[[dict[str, Any]], Opened]
) -> None:
    page, _ = device({**PHONE, "permissions": []})
    page.context.clear_permissions()
    shown(page, empty)
    page.get_by_role("button", name="Share this phone’s GPS").click()
    expect(page.get_by_text("allow it in the browser’s settings")).to_be_visible()
    expect(page.get_by_role("button", name="Share this phone’s GPS")).to_have_attribute(
        "aria-pressed", "false"
    )
