"""The rigs screen with no computer in reach: the phone answers what the computer answered."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect
from tests.web.looking import PHONE, Watch, kept
from tests.web.serving import Server

Device = Callable[[dict[str, Any]], tuple[Page, Watch]]
NO_SERVER = "ERR_"  # what the browser writes to its console while nobody answers
SMALL = {**PHONE, "viewport": {"width": 390, "height": 844}}


def shown(page: Page) -> str:
    """Read the answer, what is beside it, and the table about it."""
    expect(page.locator("[data-part=answer]")).to_be_visible(timeout=60_000)
    texts = [page.locator(f"[data-part={part}]").inner_text() for part in ("answer", "small")]
    table = page.locator("details table").first.evaluate("each => each.textContent")
    return re.sub(r"\s+", " ", " ".join([*texts, str(table)]))


def answers(page: Page) -> list[str]:
    """Ask the rig for a depth, then with line out; give what is shown."""
    answer = page.locator("[data-part=answer]")
    page.get_by_role("button", name="For a depth").click()
    page.get_by_role("button", name="Speed: more by").click()
    expect(answer).to_contain_text("down at 2.1 mph", timeout=60_000)
    told = [shown(page)]
    page.get_by_role("button", name="With line out").click()
    page.get_by_role("button", name="Speed: less by").click()
    expect(answer).to_contain_text("at 2.0 mph")  # the answer's own speed: it is the new one
    return [*told, shown(page)]


@pytest.mark.parametrize("rig", ["demo", "demo-bulky"])
def test_the_phone_answers_as_the_computer_did(rig: str, empty: Server, device: Device) -> None:
    page, watch = device(SMALL)
    watch.allowed += [NO_SERVER, "Failed to load"]
    page.goto(f"{empty.url}/#rigs?rig={rig}")
    expect(page.locator("[data-part=answer]")).to_be_visible(timeout=60_000)
    told = answers(page)
    kept(page)
    empty.kill()
    page.context.set_offline(True)
    page.reload()
    assert answers(page) == told
