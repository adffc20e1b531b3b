"""Every screen, on a phone held both ways, a narrow one, a desk: who can see, reach, leave it."""

from __future__ import annotations

import re
from typing import Any

import pytest
from playwright.sync_api import Page, expect
from tests.web.looking import holds, serious
from tests.web.stops import STOPS, Stop

SIZES = {"phone": (390, 844), "narrow": (320, 640), "landscape": (844, 390), "low": (667, 330)}

WIDE = """() => {
  const wide = (e) => e ? e.scrollWidth - e.clientWidth : 0;
  const all = [document.documentElement, document.querySelector('main'),
    ...document.querySelectorAll('dialog[open]')];
  const off = [...document.querySelectorAll('dialog[open] *, .strip *')]
    .filter((e) => e.checkVisibility() && e.matches('button, a, input, select'))
    .filter((e) => { const b = e.getBoundingClientRect();
      return b.width && (b.left < -1 || b.right > innerWidth + 1); })
    .map((e) => e.getAttribute('aria-label') || e.innerText || e.name);
  return [Math.max(...all.map(wide)), off];
}"""

BAR = """() => [...document.querySelectorAll('nav[aria-label=Screens] a')].map((e) => {
  const b = e.getBoundingClientRect();
  return [e.innerText.trim(), Math.min(b.left, b.top, innerWidth - b.right, innerHeight - b.bottom),
    Math.min(b.width, b.height)];
})"""


def come_to(page: Page, url: str, stop: Stop) -> None:
    """Go to a screen as the bar does, and open what lies over it."""
    if page.url == "about:blank":
        page.goto(f"{url}/#{stop.room}")
    else:
        page.evaluate("room => location.hash = room", stop.room)
    expect(page.get_by_role("heading", level=1, name=re.compile(stop.heading))).to_be_attached()
    expect(page.get_by_text("Opening…")).to_have_count(0)
    if stop.open is not None:
        stop.open(page)
        expect(page.locator(stop.over).first).to_be_visible()


def room_of(page: Page) -> str:
    """Give what stands behind the "#"."""
    return str(page.evaluate("location.hash.slice(1)"))


@pytest.mark.parametrize("size", SIZES)
def test_every_screen_is_sound_and_back_leads_out_of_what_lies_over_it(
    size: str, served: str, phone: Page
) -> None:
    width, height = SIZES[size]
    phone.set_viewport_size({"width": width, "height": height})
    wrong: list[Any] = []
    for stop in STOPS:
        come_to(phone, served, stop)
        wide, off = phone.evaluate(WIDE)
        name = f"{stop.room} {stop.over if stop.open else ''}"
        if wide > 1:
            wrong.append((name, f"scrolls sideways by {wide} px"))
        if off:
            wrong.append((name, "outside the screen", off))
        for word, inside, least in phone.evaluate(BAR):
            if inside < -1 or least < 40:
                wrong.append((name, "bar", word, inside, least))
        if size == "phone":
            wrong += [(name, each) for each in serious(phone)]
        if stop.open is not None:
            phone.go_back()
            expect(phone.locator(stop.over)).to_have_count(0)
            assert room_of(phone) == stop.room
    assert not wrong, "\n".join(map(str, wrong))


def test_what_lies_over_a_screen_leaves_by_its_button_without_a_step_of_its_own(
    served: str, phone: Page
) -> None:
    phone.goto(f"{served}/#rigs")
    phone.evaluate("location.hash = 'lines'")
    sheet = phone.locator("dialog[open]")
    for shut in ("Close", "Escape", "reload"):
        phone.get_by_role("button", name=re.compile("^Help")).click()
        expect(sheet).to_be_visible()
        holds(phone, "history.state && history.state.over === 1")
        if shut == "Close":
            sheet.get_by_role("button", name="Close").click()
        elif shut == "Escape":
            phone.keyboard.press("Escape")
        else:
            phone.reload()
        expect(sheet).to_have_count(0)
        holds(phone, "!(history.state && history.state.over)")
    # a link out of the sheet, then Back twice: Lines without the sheet, then where we came from
    phone.get_by_role("button", name=re.compile("^Help")).click()
    expect(sheet).to_be_visible()
    phone.evaluate(
        "() => { const a = document.createElement('a'); a.href = '#log'; a.id = 'out';"
        " document.querySelector('dialog[open]').append(a); a.click(); }"
    )
    expect(phone.get_by_role("heading", name="Log", level=1)).to_be_visible()
    expect(sheet).to_have_count(0)
    phone.go_back()
    holds(phone, "location.hash === '#lines' && !(history.state && history.state.over)")
    expect(sheet).to_have_count(0)
    phone.go_back()
    holds(phone, "location.hash === '#rigs'")


REACHED = """() => {
  const main = document.querySelector('main');
  return [...main.querySelectorAll('button, a[href], input, select, summary, textarea')]
    .filter((e) => e.checkVisibility({ visibilityProperty: true }) && !e.disabled)
    .filter((e) => e.tabIndex >= 0 && !e.closest('.maplibregl-map'))
    .filter((e) => e.type !== 'radio' && !window.__reached.has(e))
    .map((e) => (e.innerText || e.ariaLabel || e.name || e.tagName).slice(0, 40));
}"""


def test_every_screen_can_be_used_by_keys_alone(served: str, desk: Page) -> None:
    wrong: list[Any] = []
    for room in dict.fromkeys(stop.room for stop in STOPS if stop.open is None):
        if desk.url == "about:blank":
            desk.goto(f"{served}/#{room}")
        else:
            desk.evaluate("room => location.hash = room", room)
        expect(desk.get_by_role("heading", level=1)).to_be_attached()
        expect(desk.get_by_text("Opening…")).to_have_count(0)
        desk.evaluate(
            "() => { window.__reached = new Set(); window.__bare = [];"
            " document.activeElement?.blur(); document.body.tabIndex = -1;"
            " document.body.focus(); document.body.removeAttribute('tabindex');"
            " if (window.__told) return; window.__told = true;"
            " addEventListener('focusin', (e) => { window.__reached.add(e.target);"
            "  const s = getComputedStyle(e.target);"
            "  const box = e.target.closest('.box') ?? e.target;"
            "  if (s.outlineStyle === 'none' && getComputedStyle(box).outlineStyle === 'none')"
            "   window.__bare.push(e.target.outerHTML.slice(0, 80)); }); }"
        )
        for _ in range(3):  # round again for what came while the keys went round
            for _ in range(400):
                desk.keyboard.press("Tab")
                if desk.evaluate("document.activeElement === document.body"):
                    break
            if not desk.evaluate(REACHED):
                break
        wrong += [(room, "never reached", each) for each in desk.evaluate(REACHED)]
        wrong += [(room, "no mark where the keys are", e) for e in desk.evaluate("window.__bare")]
    assert not wrong, "\n".join(map(str, wrong))
