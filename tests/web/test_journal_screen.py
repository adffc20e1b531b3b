"""The log on its screen: a fish in two taps, details as it is handled, undo; phone and desk."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, Route, expect
from tests.web.looking import PHONE, Watch, holds, serious
from tests.web.serving import Server

Device = Callable[[dict[str, Any]], tuple[Page, Watch]]
BOTH = pytest.mark.parametrize("size", ["phone", "desk"])


def press(page: Page, name: str | re.Pattern[str], exact: bool = True) -> None:
    """Press a button, by its name, with a finger where the page has touch."""
    button = page.get_by_role("button", name=name, exact=exact).first
    if page.evaluate("navigator.maxTouchPoints > 0"):
        button.tap()
    else:
        button.click()


def rod(page: Page, name: str) -> None:
    """Choose one of the rods with a line out."""
    press(page, re.compile(rf"^{name}\b"))


def set_line(page: Page, name: str, feet: str = "150") -> None:
    """Log a line out, on the stock's first rig."""
    press(page, "Line out")
    press(page, name)
    # the first question after a start may take the server some seconds
    rig = page.get_by_role("group", name="Rig").get_by_role("button").first
    expect(rig).to_be_visible(timeout=60_000)
    if rig.get_attribute("aria-pressed") != "true":
        rig.click()
    page.get_by_label("Line out", exact=True).fill(feet)
    press(page, re.compile(f"^Log {name}"))
    expect(listed(page, re.compile(f"^line out {name}")).first).to_be_visible()


def listed(page: Page, words: str | re.Pattern[str]) -> Locator:
    """Find entries in the list, by their words."""
    return page.locator(".entries").get_by_text(words)


def settled(page: Page) -> None:
    """Wait until nothing waits to be sent any more."""
    # a tap just made is an entry only once the device has stored it
    expect(page.locator("[data-storing=true]")).to_have_count(0)
    expect(page.get_by_text("waiting to send")).to_have_count(0, timeout=40_000)
    expect(page.get_by_text(re.compile(r"\d+ to send"))).to_have_count(0)


def at_rest(page: Page) -> None:
    """Wait until a closed panel has taken back its step of the history: a navigation too."""
    holds(page, "!history.state?.over")


def told(server: Server) -> list[tuple[str, Any]]:
    """Give kind and rod of each entry in the journal."""
    return [(e.kind, getattr(e, "rod", None)) for e in server.entries()]


@BOTH
def test_a_fish_in_two_taps_with_details_after(
    size: str, empty: Server, request: pytest.FixtureRequest
) -> None:
    page: Page = request.getfixturevalue(size)
    page.goto(f"{empty.url}/#log")
    expect(page.get_by_text("Nothing logged today")).to_be_visible()
    set_line(page, "port")
    press(page, "Fish on")  # one line out: this is all
    expect(page.get_by_role("heading", name="Fish on port")).to_be_visible()
    press(page, "Done")
    set_line(page, "starboard", "4 colours")

    press(page, "Fish on")  # one
    rod(page, "starboard")  # two
    expect(page.get_by_role("heading", name="Fish on starboard")).to_be_visible()
    settled(page)  # it is on the boat's disk before any detail is given
    assert told(empty)[-1] == ("catch", "starboard")

    press(page, "Released")
    press(page, "walleye")
    page.get_by_label("Length").fill("21.5")
    page.get_by_label("Length").press("Tab")
    # what the crew's own limits say of it stands beside it
    expect(page.get_by_text("No limits entered for walleye")).to_be_visible()
    press(page, "Eye")
    press(page, "Done")
    words = page.get_by_text(re.compile(r"catch starboard: walleye 21\.5 in, released.*eye"))
    expect(words.first).to_be_visible()
    settled(page)
    assert serious(page) == []

    entries = empty.entries()
    assert [e.kind for e in entries] == ["line_out", "catch", "line_out", "catch", "correct"]
    starboard = entries[2]
    # 4 colours of 10 yd past a leader of 30 ft: common practice, no source
    assert starboard.let_out_m == pytest.approx(9.144 + 4 * 9.144)  # type: ignore[union-attr]
    mend = entries[4]
    assert mend.target == entries[3].id  # type: ignore[union-attr]
    assert mend.changes == {  # type: ignore[union-attr]
        "kept": False,
        "species": "walleye",
        "length_m": pytest.approx(21.5 * 0.0254),
        "hook": "eye",
    }
    assert entries[3].device.startswith("phone-")
    assert entries[3].id > entries[2].id


def test_undo_and_bring_back(empty: Server, phone: Page) -> None:
    page = phone
    page.goto(f"{empty.url}/#log")
    set_line(page, "port")
    press(page, "Missed strike")
    press(page, re.compile("^Undo missed strike port"))
    expect(page.get_by_role("button", name=re.compile("^Bring back missed"))).to_be_visible()
    settled(page)
    assert [e.kind for e in empty.entries()] == ["line_out", "strike_missed", "undo"]
    # the one to take back is then the one before it
    expect(page.get_by_role("button", name=re.compile("^Undo line out port"))).to_be_visible()
    press(page, re.compile("^Bring back missed"))
    expect(page.get_by_role("button", name=re.compile("^Bring back"))).to_have_count(0)
    settled(page)
    page.reload()
    expect(listed(page, "missed strike port")).to_be_visible()
    expect(page.get_by_role("button", name=re.compile("^Bring back"))).to_have_count(0)


def test_every_button_logs_its_kind(empty: Server, phone: Page) -> None:
    phone.goto(f"{empty.url}/#log")
    set_line(phone, "port")
    set_line(phone, "starboard")
    press(phone, "Hit bottom")
    rod(phone, "port")
    phone.get_by_label("Depth on the sounder at the boat").fill("31")
    press(phone, "Save")
    press(phone, "Missed strike")
    rod(phone, "starboard")
    press(phone, "Change length")
    rod(phone, "port")
    press(phone, re.compile(r"^\+10 "))
    press(phone, re.compile(r"^Log 160\s+ft out"))
    press(phone, "Lure")
    rod(phone, "starboard")
    press(phone, "More lures")
    press(phone, re.compile("^small-spoon"))
    press(phone, "silver")
    press(phone, "Log small-spoon, silver")
    press(phone, "Conditions")
    press(phone, "cloudy")
    phone.get_by_label("Wind", exact=True).fill("8")
    press(phone, "NW")
    press(phone, "Log conditions")
    press(phone, "Note")
    phone.get_by_label("What is worth remembering?").fill("bait balls at 25 ft")
    press(phone, "Log the note")
    press(phone, "Line in")
    press(phone, "All lines in")
    expect(listed(phone, "line in starboard")).to_be_visible()
    settled(phone)
    by_kind: dict[str, list[Any]] = {}
    for event in empty.entries():
        by_kind.setdefault(event.kind, []).append(event)
    assert {kind: len(each) for kind, each in by_kind.items()} == {
        "line_out": 2,
        "bottom_hit": 1,
        "correct": 1,
        "strike_missed": 1,
        "line_change": 2,
        "conditions": 1,
        "note": 1,
        "line_in": 2,
    }
    assert by_kind["correct"][0].changes == {"depth_m": pytest.approx(31 * 0.3048)}
    out, lure = by_kind["line_change"]
    assert out.let_out_m == pytest.approx(160 * 0.3048)
    assert (lure.rod, lure.lure, lure.colour) == ("starboard", "small-spoon", "silver")
    assert lure.size_m == pytest.approx(2.25 * 0.0254)  # as the stock has it
    sky = by_kind["conditions"][0]
    assert (sky.sky, sky.wind_from) == ("cloudy", "NW")
    assert sky.wind_m_s == pytest.approx(8 * 0.44704)


def test_details_that_were_not_finished_are_kept(empty: Server, phone: Page) -> None:
    phone.goto(f"{empty.url}/#log")
    set_line(phone, "port")
    press(phone, "Fish on")
    press(phone, "Kept")
    phone.reload()  # the phone went to sleep and threw the page away
    expect(phone.get_by_text(re.compile("catch port: fish, kept")).first).to_be_visible()
    settled(phone)
    assert [e.kind for e in empty.entries()] == ["line_out", "catch", "correct"]


def test_past_midnight_the_night_goes_on(empty: Server, device: Device) -> None:
    page, _ = device({**PHONE, "timezone_id": "UTC"})
    eve = datetime.now(UTC).replace(hour=23, minute=50) - timedelta(days=2)
    now = [eve]

    def the_same(route: Route) -> None:  # the boat's clock goes with the phone's
        told = {"now": now[0].isoformat(), "source": "computer", "computer_behind_s": 0}
        route.fulfill(json=told)

    def later(moment: datetime) -> None:
        now[0] = moment
        with page.expect_response("**/api/journal/clock*"):
            page.clock.set_fixed_time(moment)

    page.route("**/api/journal/clock*", the_same)
    page.clock.set_fixed_time(eve)
    page.goto(f"{empty.url}/#log")
    set_line(page, "port")
    settled(page)
    later(eve + timedelta(minutes=40))
    expect(listed(page, re.compile("^line out port"))).to_be_visible()
    press(page, "Missed strike")  # the line is still out, and it is the only one: one tap
    expect(listed(page, "missed strike port")).to_be_visible()
    at_rest(page)
    page.reload()
    expect(listed(page, re.compile("^line out port"))).to_be_visible()
    settled(page)
    assert {e.day for e in empty.entries()} == {eve.date().isoformat()}
    later(eve + timedelta(hours=4))
    expect(page.get_by_text("Nothing logged today")).to_be_visible()


def test_with_one_rod_out_no_panel_comes_and_goes(empty: Server, phone: Page) -> None:
    phone.goto(f"{empty.url}/#log")
    set_line(phone, "port")
    settled(phone)
    at_rest(phone)
    phone.evaluate(
        """() => {
          window.__panels = 0;
          new MutationObserver(() => {
            if (document.querySelector('.panel')) window.__panels += 1;
          }).observe(document.body, { childList: true, subtree: true });
        }"""
    )
    press(phone, "Missed strike")
    expect(listed(phone, "missed strike port")).to_be_visible()
    settled(phone)
    assert phone.evaluate("window.__panels") == 0
    assert told(empty)[-1] == ("strike_missed", "port")


def test_a_bounced_tap_chooses_no_rod(empty: Server, phone: Page) -> None:
    phone.goto(f"{empty.url}/#log")
    set_line(phone, "port")
    set_line(phone, "starboard")
    settled(phone)
    where = phone.get_by_role("button", name="Fish on").bounding_box()
    assert where is not None
    for _ in range(3):
        phone.touchscreen.tap(where["x"] + where["width"] / 2, where["y"] + 20)
    expect(phone.get_by_role("heading", name="Fish on: which rod?")).to_be_visible()
    assert len(empty.entries()) == 2


@BOTH
def test_each_panel_is_sound(size: str, served: str, request: pytest.FixtureRequest) -> None:
    page: Page = request.getfixturevalue(size)
    page.goto(f"{served}/#log")
    expect(page.get_by_role("button", name=re.compile("^Undo ")).first).to_be_visible()
    assert serious(page) == []
    for name in ("Fish on", "Line out", "Conditions", "Note"):
        press(page, name)
        assert serious(page) == [], name
        for button in page.locator(".panel button:visible").all():
            box = button.bounding_box()
            assert box is not None
            assert box["height"] >= 48, button.inner_text()
            assert box["width"] >= 48, button.inner_text()
        press(page, "Back")
    press(page, re.compile("^Help"))
    expect(page.get_by_text("Your water’s rules come first")).to_be_visible()
    assert serious(page) == []


def test_what_was_half_made_outlasts_back_and_reload(empty: Server, phone: Page) -> None:
    phone.goto(f"{empty.url}/#log")
    words = phone.get_by_label("What is worth remembering?")
    press(phone, "Note")
    words.fill("half")
    holds(phone, "history.state?.over === 1")
    phone.go_back()
    expect(phone.get_by_role("button", name="Fish on")).to_be_visible()
    press(phone, "Note")
    expect(words).to_have_value("half")
    phone.reload()
    expect(words).to_have_value("half")
    press(phone, "Log the note")
    expect(listed(phone, "note: half")).to_be_visible()
    press(phone, "Note")
    expect(words).to_have_value("")
    phone.keyboard.press("Escape")
    expect(phone.get_by_role("button", name="Fish on")).to_be_visible()
    settled(phone)
    assert [e.kind for e in empty.entries()] == ["note"]
    assert abs(empty.entries()[0].at_s - datetime.now(UTC).timestamp()) < 120
