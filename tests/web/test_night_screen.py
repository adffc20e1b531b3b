"""The day's pages at any hour: past three at night, at noon, before midnight, in any zone."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from playwright.sync_api import expect
from tests.web.aft import PATIENCE_MS, quiet, told
from tests.web.conftest import Opened
from tests.web.looking import PHONE
from tests.web.serving import Server

from towscope.journal.times import day_at

HOURS = ("03:10", "12:00", "23:50")
ZONES = ("America/Chicago", "UTC", "Asia/Kathmandu")


@pytest.fixture
def night(pages: Path, tmp_path: Path, hour: str, zone: str) -> Iterator[Server]:
    now = datetime.fromisoformat(f"2026-08-15T{hour}").replace(tzinfo=ZoneInfo(zone))
    with Server(tmp_path, now=now.isoformat(), zone=zone) as server:
        yield server


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("hour", HOURS)
def test_log_pattern_and_report_are_whole_at_this_hour(
    hour: str, zone: str, night: Server, device: Callable[[dict[str, Any]], Opened]
) -> None:
    now = datetime.fromisoformat(night.now)
    today = day_at(now)
    log = told(night.url, "/api/journal/day")
    assert log["today"] == log["day"] == today.isoformat()
    out = {rod["rod"] for rod in log["rods"] if rod["out"]}
    assert out == {"port", "starboard", "centre"}
    # at 03:10 these lines went out on the day before: they came over its border
    assert ({rod["rod"] for rod in log["came"]} == out) == (hour == "03:10")

    page, _ = device({**PHONE, "timezone_id": zone})
    page.clock.install(time=now)
    quiet(page)
    page.goto(f"{night.url}/#log")
    page.get_by_role("button", name="Line in", exact=True).click()
    for rod in sorted(out):  # by its place: what the boat calls it is spelled by its units
        button = page.get_by_role("button", name=re.compile(rod[:4])).first
        expect(button).to_be_visible(timeout=PATIENCE_MS)
    page.goto(f"{night.url}/#pattern")
    day = page.locator("section.day")
    drawn = day.get_by_role("img", name=re.compile("^The day: "))
    expect(drawn).to_be_visible(timeout=PATIENCE_MS)
    expect(day.locator("p.lead")).to_contain_text("still out")
    # the day before is whole too: the evening at 03:10, another trip at other hours
    day.get_by_role("button", name="The day before").click()
    expect(day.locator("p.lead")).not_to_contain_text("still out")
    expect(drawn).to_be_visible()
    before = told(night.url, f"/api/days/{today - timedelta(days=1)}")
    assert before["spans"]
    assert "never brought in" not in str(before)
    expect(page.get_by_role("alert").filter(visible=True)).to_have_count(0)
    page.goto(f"{night.url}/#trip?part=after")
    title = told(night.url, "/api/days/last/report?units=us")["title"]
    expect(page.get_by_role("heading", name=title)).to_be_visible(timeout=PATIENCE_MS)
