"""The frame: every screen is one tap away, choices are kept, nothing asks another origin."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect
from tests.web.conftest import Opened
from tests.web.looking import PHONE, serious
from tests.web.serving import Server

SCREENS = ("Lines", "Log", "Lake", "Rigs", "Pattern", "Trip")
WIDE = "document.documentElement.scrollWidth > innerWidth"


@pytest.mark.parametrize("size", ["phone", "desk"])
def test_each_screen_opens_and_is_sound(
    size: str, served: str, request: pytest.FixtureRequest
) -> None:
    page: Page = request.getfixturevalue(size)
    page.goto(served)
    for word in SCREENS:
        page.get_by_role("navigation", name="Screens").get_by_role("link", name=word).click()
        expect(page.get_by_role("heading", level=1)).to_be_visible()
        box = (
            page.locator("nav[aria-label=Screens]")
            .get_by_role("link", name=word, exact=True)
            .bounding_box()
        )
        assert box is not None
        assert box["height"] >= 56
        assert not page.evaluate(WIDE), f"{word} is wider than the screen"
    assert serious(page) == []


def test_the_boat_decides_the_units_and_each_phone_its_look(
    empty: Server, device: Callable[[dict[str, Any]], Opened]
) -> None:
    first, _ = device(PHONE)
    first.goto(empty.url)
    first.get_by_role("button", name="Settings").click()
    expect(first.get_by_role("button", name="Feet and mph")).to_have_attribute(
        "aria-pressed", "true"
    )
    # a phone in another language takes what the boat has
    second, _ = device({**PHONE, "locale": "sv-SE"})
    second.goto(empty.url)
    second.get_by_role("button", name="Settings").click()
    expect(second.get_by_role("button", name="Feet and mph")).to_have_attribute(
        "aria-pressed", "true"
    )
    # what one chooses, all show
    second.get_by_role("button", name="Metres and knots").or_(
        second.get_by_role("button", name="Meters and knots")
    ).click()
    second.get_by_role("button", name="Night", exact=True).click()
    expect(first.get_by_role("button", name="Metres and knots")).to_have_attribute(
        "aria-pressed", "true"
    )
    assert serious(second) == []
    second.reload()
    assert second.evaluate("document.documentElement.dataset.look") == "night"
    assert first.evaluate("document.documentElement.dataset.look") == "day"
    second.get_by_role("button", name="Settings").click()
    expect(second.get_by_role("button", name="Metres and knots")).to_have_attribute(
        "aria-pressed", "true"
    )
