"""The frame: every screen is one tap away, choices are kept, nothing asks another origin."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect
from tests.web.looking import serious

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


def test_units_and_look_are_kept(served: str, phone: Page) -> None:
    phone.goto(served)
    phone.get_by_role("button", name="Settings").click()
    phone.get_by_role("button", name="Metres, km/h").click()
    phone.get_by_role("button", name="Night", exact=True).click()
    assert serious(phone) == []
    phone.reload()
    assert phone.evaluate("document.documentElement.dataset.look") == "night"
    phone.get_by_role("button", name="Settings").click()
    expect(phone.get_by_role("button", name="Metres, km/h")).to_have_attribute(
        "aria-pressed", "true"
    )
