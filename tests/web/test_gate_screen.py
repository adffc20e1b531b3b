"""The gate's own pages, as a phone and the laptop see them, under the strict policy."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect
from tests.web.gated import Boat
from tests.web.looking import DESK, PHONE, Watch, holds, serious

from towscope.web.gate import auth

Device = Callable[[dict[str, Any]], tuple[Page, Watch]]


@pytest.fixture
def boat(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Boat]:
    made = Boat(tmp_path, monkeypatch, https=True)
    yield made
    made.close()


def large_enough(page: Page) -> bool:
    """All that is to be touched is 48 px high at least, and no text smaller than 17 px."""
    return bool(
        page.evaluate(
            """() => {
              const all = (what) => [...document.querySelectorAll(what)]
              const touched = all('button, input:not([type=hidden]), summary')
              const low = touched.filter(
                (e) => e.offsetParent && e.getBoundingClientRect().height < 48)
              const texts = all('p, li, label, a, button, h1, h2')
              const small = texts.filter((e) => parseFloat(getComputedStyle(e).fontSize) < 16.9)
              const wide = document.documentElement.scrollWidth > window.innerWidth
              return !low.length && !small.length && !wide
            }"""
        )
    )


def test_a_phone_comes_aboard_by_the_page(
    boat: Boat, device: Device, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(auth, "is_local", lambda _: False)  # as seen from the network
    page, watch = device({**PHONE, "ignore_https_errors": True})
    watch.allowed += ["403", "404"]  # a wrong code; the small app has no icon
    url = f"https://127.0.0.1:{boat.port}"
    code = boat.app.state.gate.pairing.renew()
    page.goto(url)  # not paired: brought to the page
    expect(page).to_have_url(f"{url}/pair")
    expect(page.get_by_label("Code")).to_have_value("")
    page.get_by_label("Code").fill("222 222")
    page.get_by_label("Whose phone").fill("Åke's")
    page.get_by_role("button", name="Connect this phone").click()
    expect(page.get_by_role("alert")).to_have_text(re.compile("not the code"))
    expect(page.get_by_label("Whose phone")).to_have_value("Åke's")  # not to be typed twice
    page.goto(f"{url}/pair?code={code}")  # what the picture holds
    expect(page.get_by_label("Code")).to_have_value(code)
    assert serious(page) == []
    assert large_enough(page)
    page.get_by_text("Why did the phone warn me").click()
    expect(page.get_by_role("link", name="Load the boat's certificate")).to_be_visible()
    expect(page.get_by_text(boat.app.state.gate.certificate.fingerprint)).to_be_visible()
    assert serious(page) == []
    assert large_enough(page)
    page.screenshot(path=tmp_path / "join.png", full_page=True)
    with page.expect_download() as loaded:
        page.get_by_role("link", name="Load the boat's certificate").click()
    assert loaded.value.suggested_filename == "boat.crt"
    page.get_by_label("Whose phone").fill("Ada")
    page.get_by_role("button", name="Connect this phone").click()
    expect(page).to_have_url(f"{url}/")
    expect(page).to_have_title("app")
    # it is a cookie that no script can read
    assert page.evaluate("document.cookie") == ""
    kept = {each["name"]: each for each in page.context.cookies()}
    assert kept[auth.COOKIE]["httpOnly"] and kept[auth.COOKIE]["secure"]
    assert kept[auth.COOKIE]["sameSite"] == "Strict"


def test_the_laptop_shows_code_and_phones(boat: Boat, device: Device, tmp_path: Path) -> None:
    page, watch = device({**DESK, "ignore_https_errors": True})
    watch.allowed += ["404"]
    boat.app.state.gate.sessions.add("Tor")
    page.goto(f"https://127.0.0.1:{boat.port}/pair")
    page.get_by_role("button", name="Connect a phone").click()
    code = boat.app.state.gate.pairing.current()[0]
    expect(page.get_by_label("The code", exact=True)).to_have_text(f"{code[:3]} {code[3:]}")
    picture = page.get_by_role("img", name="The address with the code, as a picture")
    holds(page, "document.styleSheets[0]?.cssRules.length > 0")
    box = picture.bounding_box()
    assert box is not None and box["width"] > 250 and box["height"] < 400
    # and before its style sheet is there
    page.evaluate("document.styleSheets[0].disabled = true")
    drawn = picture.locator("svg").bounding_box()
    assert drawn is not None and 250 < drawn["width"] < 400 and 250 < drawn["height"] < 400
    page.evaluate("document.styleSheets[0].disabled = false")
    assert serious(page) == []
    assert large_enough(page)
    page.screenshot(path=tmp_path / "laptop.png", full_page=True)
    page.get_by_role("button", name="A new code").click()
    assert boat.app.state.gate.pairing.current()[0] not in ("", code)
    page.get_by_text("Remove phone").click()
    assert len(boat.app.state.gate.sessions.phones()) == 1  # it asks first
    page.get_by_role("button", name="Remove Tor").click()
    expect(page.get_by_text("None yet.")).to_be_visible()
    assert boat.app.state.gate.sessions.phones() == []


def test_a_page_is_held_to_the_policy(boat: Boat, device: Device) -> None:
    page, watch = device({**DESK, "ignore_https_errors": True})
    watch.allowed += ["404", "Content Security Policy"]
    page.goto(f"https://127.0.0.1:{boat.port}/pair")
    ran = page.evaluate(
        """() => {
          const script = document.createElement('script')
          script.textContent = 'window.ran = true'
          document.body.append(script)
          const image = document.createElement('div')
          image.innerHTML = '<img src="/none" onerror="window.ran = true">'
          document.body.append(image)
          return new Promise((done) => setTimeout(() => done(window.ran === true), 300))
        }"""
    )
    assert ran is False
    assert any("Content Security Policy" in error for error in watch.errors)
