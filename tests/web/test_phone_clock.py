"""A phone whose clock is hours off logs by the boat's time, also what it made out of reach."""

from __future__ import annotations

import time

from playwright.sync_api import Page, Route, expect
from tests.web.looking import holds, watch_of
from tests.web.serving import Server

# A device whose clock is `ahead` of this machine's [ms]; it can be set while the page is open.
WRONG = """
window.ahead = Number(localStorage.getItem('ahead') ?? 3 * 3600e3)
const Right = Date
window.Date = class extends Right {
  constructor(...told) { told.length ? super(...told) : super(Right.now() + window.ahead) }
  static now() { return Right.now() + window.ahead }
}
"""


def note(page: Page, words: str) -> None:
    """Log a note."""
    page.get_by_role("button", name="Note", exact=True).click()
    page.get_by_label("What is worth remembering?").fill(words)
    page.get_by_role("button", name="Log the note").click()
    expect(page.get_by_role("heading", name="Note")).to_have_count(0)


def test_a_wrong_clock_is_set_right_and_told_once(empty: Server, phone: Page) -> None:
    watch_of(phone).allowed = ["ERR_"]
    phone.add_init_script(WRONG)
    phone.goto(f"{empty.url}/#log")
    told = phone.get_by_text("clock is 3 h ahead of the boat’s")
    expect(told).to_be_visible()
    phone.get_by_role("button", name="OK").click()
    expect(told).to_have_count(0)
    note(phone, "in reach")
    expect(phone.get_by_text("waiting to send")).to_have_count(0)

    # out of reach with nothing known; then the phone is set right before it can send
    def away(route: Route) -> None:
        route.abort()

    phone.route("**/api/journal/**", away)
    phone.reload()
    note(phone, "out of reach")
    phone.evaluate("window.ahead = -120e3")
    note(phone, "after it was set")
    # the waiting entry is told by the clock as it is now
    holds(
        phone,
        """async () => new Promise(done => {
          const asked = indexedDB.open('towscope')
          asked.onsuccess = () => {
            const all = asked.result.transaction('queue').objectStore('queue').getAll()
            all.onsuccess = () => { asked.result.close(); done(all.result.length === 2 &&
              all.result.every(row => Date.parse(row.event.at) < Date.now() + 60e3)) }
          }
        })""",
    )
    phone.unroute("**/api/journal/**", away)
    phone.evaluate("localStorage.setItem('ahead', '-120000'); dispatchEvent(new Event('online'))")
    expect(phone.get_by_text("waiting to send")).to_have_count(0, timeout=40_000)
    entries = empty.entries()
    words = {"in reach", "out of reach", "after it was set"}
    assert {e.text for e in entries} == words  # type: ignore[union-attr]
    for entry in entries:
        assert abs(entry.at_s - time.time()) < 90.0, entry
    expect(told).to_have_count(0)
