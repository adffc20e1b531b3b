"""The log without a connection: what is tapped in is in the journal in the end, each entry once."""

from __future__ import annotations

import re
import shutil
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, expect
from tests.web.looking import PHONE, Watch, kept
from tests.web.serving import Server
from tests.web.test_journal_screen import listed, press, rod, set_line, settled

Device = Callable[[dict[str, Any]], tuple[Page, Watch]]
NO_SERVER = "ERR_"  # what the browser writes to its console while nobody answers


def ten(page: Page) -> None:
    """Wait until the strip says that ten wait."""
    expect(page.get_by_text("10 to send")).to_be_visible()


def test_server_killed_in_mid_log_and_exactly_ten_more(empty: Server, device: Device) -> None:
    page, watch = device(PHONE)
    watch.allowed.append(NO_SERVER)
    page.goto(f"{empty.url}/#log")
    set_line(page, "port")
    set_line(page, "starboard")
    settled(page)
    kept(page)
    before = empty.entries()

    press(page, "Fish on")
    empty.kill()  # in mid-log: between the first tap and the second
    rod(page, "port")
    press(page, "Done")
    expect(page.get_by_text("waiting to send").first).to_be_visible()
    for name in ("port", "starboard"):
        press(page, "Missed strike")
        rod(page, name)
    press(page, "Hit bottom")
    rod(page, "port")
    page.get_by_label("Depth on the sounder at the boat").fill("30")
    press(page, "Save")  # the fifth: a correction
    expect(page.get_by_text("5 to send")).to_be_visible()

    page.reload()  # nobody answers: the device itself brings the page
    expect(page.get_by_text("No connection")).to_be_visible()
    expect(page.get_by_text("waiting to send")).to_have_count(4)
    expect(page.get_by_text(re.compile(r"hit bottom port: at 30\s+ft"))).to_be_visible()

    press(page, "Fish on")
    rod(page, "starboard")  # what is out is still known
    press(page, "Released")
    press(page, "Done")
    press(page, re.compile("missed strike starboard"))
    press(page, "Undo")
    press(page, "Line in")
    press(page, "All lines in")
    ten(page)

    empty.start()
    settled(page)
    expect(page.get_by_text("Connected")).to_be_visible(timeout=30_000)
    entries = empty.entries()
    made = entries[len(before) :]
    assert entries[: len(before)] == before
    assert len(made) == 10
    assert Counter(e.kind for e in made) == {
        "catch": 2,
        "strike_missed": 2,
        "bottom_hit": 1,
        "correct": 2,
        "undo": 1,
        "line_in": 2,
    }
    assert [e.id for e in made] == sorted(e.id for e in made)
    page.reload()
    expect(listed(page, "catch starboard: fish, released")).to_have_count(1)
    assert len(empty.entries()) == len(entries)


def test_two_phones_at_once_and_one_drops_off(empty: Server, device: Device) -> None:
    phones = [device(PHONE) for _ in range(2)]
    for page, watch in phones:
        watch.allowed.append(NO_SERVER)
        page.goto(f"{empty.url}/#log")
    ada, tor = (page for page, _ in phones)
    set_line(ada, "port")
    settled(ada)
    expect(tor.get_by_text(re.compile("^line out port"))).to_be_visible(timeout=30_000)
    for n in range(4):
        if n == 1:
            tor.context.set_offline(True)
        if n == 3:
            tor.context.set_offline(False)
        for page in (ada, tor):
            press(page, "Missed strike")  # one line out: one tap
    for page in (ada, tor):
        settled(page)
        expect(listed(page, "missed strike port")).to_have_count(8, timeout=30_000)
    entries = empty.entries()
    assert len(entries) == 9
    assert Counter(e.device for e in entries[1:]).most_common(1)[0][1] == 4
    assert len({e.id for e in entries}) == 9


def test_two_tabs_share_one_queue(empty: Server, device: Device) -> None:
    page, watch = device(PHONE)
    watch.allowed.append(NO_SERVER)
    page.goto(f"{empty.url}/#log")
    set_line(page, "port")
    settled(page)
    other = page.context.new_page()
    other.goto(f"{empty.url}/#log")
    expect(other.get_by_text(re.compile("^line out port"))).to_be_visible()
    kept(page)
    empty.kill()
    for _ in range(2):
        press(page, "Missed strike")
        press(other, "Missed strike")
    expect(page.get_by_text("4 to send")).to_be_visible()
    expect(other.get_by_text("4 to send")).to_be_visible()
    empty.start()
    settled(page)
    settled(other)
    assert len(empty.entries()) == 5


def test_one_that_is_refused_is_shown_and_blocks_no_other(empty: Server, device: Device) -> None:
    page, watch = device(PHONE)
    page.goto(f"{empty.url}/#log")
    set_line(page, "port")
    settled(page)
    # as a page of another version of the app may have left it
    page.evaluate(
        """() => new Promise((done, failed) => {
          const open = indexedDB.open('towscope')
          open.onsuccess = () => {
            const tx = open.result.transaction('queue', 'readwrite')
            const at = new Date().toISOString()
            const id = '00000000-0000-7000-8000-000000000001'
            const event = { id, device: 'old', kind: 'dance', rod: 'port', at }
            tx.objectStore('queue').put({ id, event })
            tx.oncomplete = done
            tx.onerror = failed
          }
        })"""
    )
    press(page, "Missed strike")
    expect(page.get_by_text("set aside")).to_be_visible(timeout=30_000)
    settled(page)
    assert [e.kind for e in empty.entries()] == ["line_out", "strike_missed"]
    press(page, re.compile("dance port"))
    expect(page.get_by_text(re.compile("It said: .*dance"))).to_be_visible()
    press(page, "Discard")
    expect(page.get_by_text("set aside")).to_have_count(0)
    assert watch.errors == []


def test_a_new_version_waits_for_the_crew_and_loses_nothing(
    pages: Path, tmp_path: Path, device: Device
) -> None:
    shutil.copytree(pages, tmp_path / "pages")
    (tmp_path / "home").mkdir()
    page, watch = device(PHONE)
    watch.allowed.append(NO_SERVER)
    with Server(tmp_path / "home", demo=False, pages=tmp_path / "pages") as server:
        page.goto(f"{server.url}/#log")
        set_line(page, "port")
        settled(page)
        kept(page)
        server.kill()
        press(page, "Missed strike")
        expect(page.get_by_text("1 to send")).to_be_visible()

        worker = tmp_path / "pages" / "sw.js"
        worker.write_text(worker.read_text() + "\n// a newer one\n")
        page.route("**/api/journal/events", lambda route: route.abort())  # not yet taken
        server.start()
        page.reload()
        expect(page.get_by_text("Update ready")).to_be_visible(timeout=30_000)
        expect(page.get_by_text("waiting to send")).to_be_visible()
        press(page, "Update now")
        expect(page.get_by_text("Update ready")).to_have_count(0, timeout=30_000)
        expect(page.get_by_text("waiting to send")).to_be_visible()
        assert len(server.entries()) == 1
        page.unroute("**/api/journal/events")
        settled(page)
        assert [e.kind for e in server.entries()] == ["line_out", "strike_missed"]
