"""The trip with no connection: a fish in hand, sun, moon and wind."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from typing import Any

from playwright.sync_api import Page, expect
from tests.waiting import until
from tests.web.looking import PHONE, Watch, in_page, kept
from tests.web.serving import Server
from tests.web.test_journal_screen import press, set_line, settled

Device = Callable[[dict[str, Any]], tuple[Page, Watch]]


def fill(page: Page, label: str, text: str) -> None:
    field = page.get_by_label(label, exact=True)
    field.fill(text)
    field.press("Tab")


def test_a_fish_is_judged_with_no_connection(empty: Server, device: Device) -> None:
    page, watch = device(PHONE)
    watch.allowed.append("ERR_")  # what the browser writes to its console while nobody answers
    page.goto(f"{empty.url}/#log")
    set_line(page, "port")
    settled(page)
    kept(page)
    empty.kill()
    page.goto(f"{empty.url}/#trip?part=fish")
    page.reload()

    page.get_by_label("Fish", exact=True).select_option("walleye")
    fill(page, "Length, nose to tail tip", "21.5")
    # Murphy, Brown and Springer 1990: log10 W[g] = -5.453 + 3.180 log10 TL[mm]: 1.77 kg, 3.9 lb
    expect(page.get_by_text("about 3.9")).to_be_visible()
    fill(page, "Water surface", "74")
    # Reeves and Bruesewitz 2007: 12.2 % (9.2 to 15.9) at 20 degC and above
    expect(page.get_by_text("12.2 % died")).to_be_visible()
    expect(page.get_by_text("No limits entered for walleye")).to_be_visible()

    press(page, "Your limits")
    fill(page, "Water", "Long Slate")
    fill(page, "Release from", "20")
    fill(page, "to", "26")
    page.get_by_label("How many a day").fill("1")
    press(page, "Save, checked today")
    expect(page.get_by_text("Where the limits are from is missing")).to_be_visible()
    fill(page, "Where the rules are from", "the rule book, page 12")
    press(page, "Save, checked today")
    expect(page.get_by_text("Saved for walleye on Long Slate.")).to_be_visible()
    page.keyboard.press("Escape")
    expect(page.get_by_text("between 20\u00a0in and 26\u00a0in must be released")).to_be_visible()

    # a fish kept today counts, logged without a connection as well
    page.goto(f"{empty.url}/#log")
    press(page, "Fish on")
    press(page, "walleye")
    press(page, "Kept")
    fill(page, "Length", "16")
    expect(page.get_by_text("within your limits")).to_be_visible()
    press(page, "Done")
    page.goto(f"{empty.url}/#trip?part=fish")
    fill(page, "Length, nose to tail tip", "17")
    expect(page.get_by_text("1 kept already, the limit")).to_be_visible()

    empty.start()
    file = empty.home / "limits.toml"
    in_page(page, file.exists, of="the limits on the boat's computer")
    told = until(lambda: tomllib.loads(file.read_text()))
    assert told["Long Slate"]["source"] == "the rule book, page 12"
    assert told["Long Slate"]["walleye"] == {"release": [["20 in", "26 in"]], "keep": 1}


def test_sun_and_wind_are_told_with_no_connection(empty: Server, device: Device) -> None:
    here = {"latitude": 48.4, "longitude": -91.9}
    page, watch = device({**PHONE, "geolocation": here, "permissions": ["geolocation"]})
    watch.allowed.append("ERR_")
    page.goto(f"{empty.url}/#log")
    kept(page)
    empty.kill()
    page.goto(f"{empty.url}/#trip")
    page.reload()
    press(page, "Use this phone’s GPS")
    arch = page.get_by_role("img", name=re.compile("^Sunrise"))
    expect(arch).to_be_visible()
    fill(page, "Wind", "14")
    expect(page.get_by_text("Force 4, moderate breeze")).to_be_visible()
    page.reload()
    expect(arch).to_be_visible()  # the place is remembered
