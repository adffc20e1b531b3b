"""The trip: the plan, a fish, the day's report and seasons, as the app answers them."""

from __future__ import annotations

import re
from datetime import date, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from playwright.sync_api import Page, expect
from tests.web.aft import PATIENCE_MS, quiet, sound, told
from tests.web.looking import holds
from tests.web.serving import Server

from towscope.demo.day import DEVICE, FIRST, ZONE, demo_day
from towscope.journal import exchange
from towscope.journal.events import Conditions
from towscope.journal.opening import open_store
from towscope.sky.sun import day


def fill(page: Page, label: str, text: str) -> None:
    field = page.get_by_label(label, exact=True)
    field.fill(text)
    field.press("Tab")


@pytest.mark.parametrize("size", ["phone", "desk"])
def test_plan_and_fish(size: str, served: str, request: pytest.FixtureRequest) -> None:
    page: Page = request.getfixturevalue(size)
    quiet(page)
    page.goto(f"{served}/#trip")
    # worked out on the page, by the device's clock
    plan = told(served, "/api/plan")
    on = date.fromisoformat(page.get_by_label("Another day").input_value())
    zone = page.evaluate("Intl.DateTimeFormat().resolvedOptions().timeZone")
    sun = day(plan["lat"], plan["lon"], on, ZoneInfo(zone))
    assert sun.sunrise is not None
    rise = sun.sunrise + timedelta(seconds=30)
    arch = page.get_by_role("img", name=re.compile("^Sunrise"))
    clock = re.compile(rf"{rise.hour % 12 or 12}:{rise:%M}\s{rise:%p}")  # as en-US has them
    expect(arch).to_have_attribute("aria-label", clock)
    expect(arch).to_contain_text(clock)
    expect(page.get_by_text("Low light:")).to_be_visible()
    # force 4 from 5.5 m/s, force 6 from 10.8 m/s: WMO-No. 306, table 1100
    fill(page, "Wind", "14")
    expect(page.get_by_text("Force 4, moderate breeze")).to_be_visible()
    fill(page, "Wind", "11 m/s")
    expect(page.get_by_text("stay ashore")).to_be_visible()
    fill(page, "Wind", "a lot")
    expect(page.get_by_role("alert").filter(has_text="write for example")).to_be_visible()
    page.get_by_text("Water by depth").click()
    for i, (depth, temp) in enumerate((("0", "72"), ("20", "70"), ("30", "55")), 1):
        fill(page, f"Depth {i}", depth)
        page.get_by_label("Water there").nth(i - 1).fill(temp)
        page.get_by_label("Water there").nth(i - 1).press("Tab")
    fill(page, "Lure depth", "35")
    page.get_by_role("button", name="Where is the thermocline?").click()
    expect(page.get_by_text("35 ft is below the thermocline")).to_be_visible()
    page.get_by_label("Life jackets on: everyone, fastened").check()
    expect(page.get_by_text("1 of 9 done today")).to_be_visible()
    expect(page.get_by_text("Local rules come first").first).to_be_visible()
    sound(page)
    page.reload()
    expect(page.get_by_label("Life jackets on: everyone, fastened")).to_be_checked()

    page.get_by_role("link", name="Fish", exact=True).click()
    page.get_by_label("Fish", exact=True).select_option("walleye")
    fill(page, "Length, nose to tail tip", "21.5")
    # Murphy, Brown and Springer 1990: log10 W[g] = -5.453 + 3.180 log10 TL[mm]: 1.77 kg, 3.9 lb
    expect(page.get_by_text("about 3.9")).to_be_visible()
    fill(page, "How deep it bit", "36")
    fill(page, "Water surface", "74")
    page.get_by_role("button", name="Lip", exact=True).click()
    expect(page.get_by_text("Poor chance if released")).to_be_visible()
    # Reeves and Bruesewitz 2007: 12.2 % (9.2 to 15.9) at 20 degC and above
    expect(page.get_by_text("12.2 % died")).to_be_visible()
    expect(page.get_by_text("Local rules come first").first).to_be_visible()
    sound(page)


@pytest.mark.parametrize("size", ["phone", "desk"])
def test_report_and_seasons(size: str, served: str, request: pytest.FixtureRequest) -> None:
    page: Page = request.getfixturevalue(size)
    quiet(page)
    page.goto(f"{served}/#trip?part=after")
    said = told(served, "/api/days/last/report?units=us")
    paper = page.locator("article.paper")
    expect(paper.get_by_role("heading", name=said["title"])).to_be_visible(timeout=PATIENCE_MS)
    expect(paper.locator(".drawn svg")).to_be_visible()
    expect(paper.get_by_role("row")).to_have_count(len(said["catches"]) + len(said["effort"]) + 2)
    sound(page)
    with page.expect_download(timeout=PATIENCE_MS) as got:
        page.get_by_role("link", name="Save as PDF").click()
    assert re.fullmatch(r"day-\d{4}-\d\d-\d\d\.pdf", got.value.suggested_filename)
    assert Path(got.value.path()).read_bytes().startswith(b"%PDF-")
    with page.expect_download(timeout=PATIENCE_MS) as got:
        page.get_by_role("link", name="Save this day").click()
    assert '"towscope_journal":1' in Path(got.value.path()).read_text().splitlines()[0]
    page.emulate_media(media="print")
    expect(page.get_by_role("navigation", name="Screens")).to_be_hidden()
    expect(page.get_by_role("link", name="Save as PDF")).to_be_hidden()
    expect(paper).to_be_visible()
    page.emulate_media(media="screen")

    page.get_by_role("link", name="Seasons", exact=True).click()
    expect(page.locator(".uplot canvas").first).to_be_visible(timeout=PATIENCE_MS)
    found = told(served, "/api/seasons?units=us")["answer"]
    table = page.get_by_role("region", name="The figures").get_by_role("row")
    expect(table).to_have_count(len(found["days"]) + 1)
    fish = [int(r.get_by_role("cell").nth(2).inner_text()) for r in table.all()[1:]]
    assert sum(fish) == sum(d["catches"] for d in found["days"])
    page.get_by_role("button", name="By year").click()
    expect(table).to_have_count(len(found["years"]) + 1)
    page.get_by_role("button", name="Depth").click()
    expect(page.locator(".shapes li .name strong").first).to_contain_text(" ft")
    sound(page)


def test_conditions_are_noted_and_a_file_is_taken_in(
    own: Server, phone: Page, tmp_path: Path
) -> None:
    quiet(phone)
    phone.goto(f"{own.url}/#trip")
    expect(phone.get_by_role("img", name=re.compile("^Sunrise"))).to_be_visible()
    fill(phone, "Wind", "14")
    phone.get_by_role("button", name="NW", exact=True).click()
    phone.get_by_role("button", name="Log conditions").click()
    expect(phone.get_by_text("Logged. Pattern goes by it")).to_be_visible()
    holds(phone, "async () => (await (await fetch('/api/plan')).json()).noted?.wind_from === 'NW'")
    last = [e for e in own.entries() if isinstance(e, Conditions)][-1]
    assert last.wind_m_s == pytest.approx(14 * 0.44704)

    with open_store(tmp_path / "other.sqlite") as store:
        made = demo_day(FIRST - timedelta(days=300))
        store.append(made.events)
        store.add_track(made.track.between(0, made.track.t_s[2000]), DEVICE, ZoneInfo(ZONE))
        text = "".join(exchange.jsonl(store, device="the other phone"))
    file = tmp_path / "other.jsonl"
    file.write_text(text)
    before = len(own.entries())
    phone.get_by_role("link", name="Report").click()
    phone.get_by_label("Add another device's file").set_input_files(file)
    expect(phone.get_by_text(f"{len(made.events)} of {len(made.events)} entries")).to_be_visible(
        timeout=PATIENCE_MS
    )
    assert len(own.entries()) == before + len(made.events)
    bad = tmp_path / "cut.jsonl"
    bad.write_text(text[: len(text) // 2])
    phone.get_by_label("Add another device's file").set_input_files(bad)
    expect(phone.get_by_role("alert").filter(has_text="nothing was taken")).to_be_visible(
        timeout=PATIENCE_MS
    )
    assert len(own.entries()) == before + len(made.events)
