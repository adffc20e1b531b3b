"""The run: what the crew sees on a phone and a desk, over a made-up feed, then a real one."""

from __future__ import annotations

import re
import socket
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import uvicorn
from playwright.sync_api import Page, expect
from tests.web.fake_run import RODS, Feed, fake_app, in_state, picture
from tests.web.looking import DESK, PHONE, Watch, holds, in_page, serious, watch_of

from towscope.live.models import Change
from towscope.units import SYSTEMS, parse
from towscope.words import look_of, spelled

SIZES = ("phone", "desk")


@pytest.fixture
def feed() -> Feed:
    """What the made-up boat sends."""
    return Feed()


@pytest.fixture
def boat(feed: Feed, pages: Path) -> Iterator[str]:
    """Serve the pages over that feed; give the address."""
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        port = int(found.getsockname()[1])
    config = uvicorn.Config(
        fake_app(feed, pages), port=port, log_level="warning", timeout_graceful_shutdown=1
    )
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    yield f"http://127.0.0.1:{port}"
    feed.stop = True
    server.should_exit = True
    thread.join(5)


@pytest.fixture(params=SIZES)
def page(request: pytest.FixtureRequest) -> Page:
    """A phone, then a desk."""
    got: Page = request.getfixturevalue(request.param)
    return got


def keep(page: Page, **choices: str) -> None:
    """Make choices before the page is opened."""
    for key, value in choices.items():
        page.add_init_script(f"localStorage.setItem('towscope.{key}', '{value}')")


def text_of(page: Page, rod: str, part: str) -> str:
    """Give what a part of a rod's card says, in one line."""
    got = page.locator(f'article[data-rod="{rod}"] [data-part="{part}"]').inner_text()
    return re.sub(r"\s+", " ", got).strip()


def pictures(page: Page, feed: Feed, more: int) -> None:
    """Wait until the boat has sent so many pictures more."""
    last = feed.count + more
    in_page(page, lambda: feed.count >= last)


@pytest.mark.parametrize("units", ["us", "metric"])
def test_cards_show_the_feeds_figures(boat: str, page: Page, feed: Feed, units: str) -> None:
    feed.still = made = picture(20.0)
    keep(page, units=units)
    page.goto(f"{boat}/#lines")
    expect(page.locator("article[data-rod]")).to_have_count(len(made.lines))
    shown = SYSTEMS[units]
    colours = spelled(" colours", units)
    for line in made.lines:
        card = page.locator(f'article[data-rod="{line.rod}"]')
        expect(card).to_contain_text(shown.label("length"))
        assert text_of(page, line.rod, "depth") == shown.show(line.depth_m, "length").split()[0]
        assert line.off_bottom_m is not None
        clear = shown.show(line.off_bottom_m, "length").split()[0]
        assert text_of(page, line.rod, "clearance") == clear
        out = text_of(page, line.rod, "out")
        assert out.startswith(shown.show(line.let_out_m, "length"))
        if line.colors_out is not None:
            assert out.endswith(f"{line.colors_out:.1f}".removesuffix(".0") + colours)
        # as drags are set: 1 kgf is 9.80665 N (SI brochure, appendix of NIST SP 811)
        pull = f"{line.tension_n / 9.80665:.1f} kg"
        assert text_of(page, line.rod, "pull") == (
            shown.show(line.tension_n, "force") if units == "us" else pull
        )
        change = text_of(page, line.rod, "change")
        if line.change is None:
            assert change.startswith("No target")
        elif line.change.kind == "none":
            assert change == "Nothing to change"
        else:
            verb = "Reel in" if line.change.kind == "reel" else "Let out"
            assert line.change.by_m is not None
            assert line.change.let_out_m is not None
            by = shown.show(abs(line.change.by_m), "length")
            then = shown.show(line.change.let_out_m, "length")
            said = [f"{verb} {by}", f"to {then} out"]
            if line.colors_out is not None:
                assert line.change.colors_out is not None
                said[0] += f" ({abs(line.change.colors_out - line.colors_out):.1f}{colours})"
                said[1] += f", {line.change.colors_out:.1f}".removesuffix(".0") + colours
            assert change == " ".join(said)
    assert "sinking" in text_of(page, "starboard", "way")
    assert text_of(page, "starboard board", "way") == "settled"
    top = page.locator('[data-part="top"]')
    assert made.boat.speed_m_s is not None
    assert made.boat.depth_m is not None
    expect(top).to_contain_text(shown.show(made.boat.speed_m_s, "speed").replace(" ", "\u00a0"))
    expect(top).to_contain_text("through water")
    expect(top).to_contain_text("062°")
    expect(top).to_contain_text(shown.show(made.boat.depth_m, "length").replace(" ", "\u00a0"))
    expect(top).to_contain_text("sounder")
    expect(
        page.get_by_text("Keep a lookout at all times. This picture steers nothing.")
    ).to_be_visible()
    expect(page.locator('[data-part="told"] li')).to_have_count(len(made.lines))


def test_a_coming_hit_is_told_loudly_and_can_be_silenced(boat: str, page: Page, feed: Feed) -> None:
    feed.second = 205.0
    keep(page, units="us")
    page.goto(f"{boat}/#lines")
    notice = page.locator('[data-part="notice"]')
    expect(notice).to_contain_text("PORT BOARD lure hits bottom in")
    expect(notice).to_contain_text("Reel in 15\u00a0ft")
    notice.get_by_role("button", name=re.compile("^(All|Other)")).click()
    expect(notice).to_contain_text("or speed up to 2.3\u00a0mph")
    count = notice.locator(".count b")
    before = int(count.inner_text())
    begun = time.monotonic()
    expect(count).not_to_have_text(str(before))
    after = int(count.inner_text())
    # it counts seconds: no more of them than have gone by, and the one that was under way
    assert 1 <= before - after <= time.monotonic() - begun + 2
    spoken = page.locator('[data-part="spoken"]')
    expect(spoken).to_have_attribute("aria-live", "assertive")
    expect(spoken).to_contain_text("port board lure hits bottom in")
    # The card of that rod doesn't contradict it.
    assert text_of(page, "port board", "change").startswith("Reel in 15 ft")
    # Whatever else lies above the page, the notice lies above that, and can be pressed there.
    page.evaluate("document.querySelector('.help').click()")
    expect(page.get_by_role("dialog")).to_be_visible()
    silence = notice.get_by_role("button", name="Silence this alarm")
    box = silence.bounding_box()
    assert box is not None
    assert box["height"] >= 56
    silence.click()
    expect(silence).to_have_count(0)
    expect(notice).to_contain_text("lure hits bottom in")  # told still, in one quiet row
    pictures(page, feed, 2)
    expect(notice.get_by_role("button", name="Silence this alarm")).to_have_count(0)
    page.keyboard.press("Escape")
    notice.get_by_role("button").click()
    expect(notice.get_by_role("button", name="Silence this alarm")).to_be_visible()


def test_a_lure_on_the_bottom_is_to_be_lifted(boat: str, phone: Page, feed: Feed) -> None:
    keep(phone, units="us")
    made = picture(240.0)
    made.notices = [n.model_copy(update={"seconds": 0.0}) for n in made.notices[:1]]
    rod = made.notices[0].rod
    reel = Change(kind="reel", rods=[rod], by_m=-0.4, latest_s=0.0, lifts=True)
    made.do = [reel]
    feed.still = made
    phone.goto(f"{boat}/#lines")
    notice = phone.locator('[data-part="notice"]')
    expect(notice).to_contain_text(f"{rod.upper()} lure is on the bottom")
    # by no less than hands count: never a foot, never no colours
    expect(notice).to_contain_text("Reel in 5\u00a0ft to lift it now")
    expect(notice).not_to_contain_text("olour")


def test_a_notice_has_one_action_for_all_rods_and_hurries_nobody_at_the_helm(
    boat: str, phone: Page, feed: Feed
) -> None:
    keep(phone, units="us")
    made = picture(205.0)
    first, second = made.lines[0].rod, made.lines[1].rod
    one = made.notices[0]
    made.notices = [
        one.model_copy(update={"rod": rod, "seconds": s}) for rod, s in ((first, 30), (second, 40))
    ]
    made.do = [
        Change(kind="speed", speed_m_s=1.0, latest_s=12.0),
        Change(kind="reel", rods=[first, second], by_m=-2.0, latest_s=20.0),
        Change(kind="turn", turn_deg=-60.0),
    ]
    feed.still = made
    phone.goto(f"{boat}/#lines")
    notice = phone.locator('[data-part="notice"]')
    expect(notice).to_contain_text("Speed up to 2.3\u00a0mph within 12\u00a0s")
    notice.get_by_role("button", name="All 2 rods").click()
    said = " ".join(notice.inner_text().split())
    assert said.lower().count("speed up") == 1, "one action, not one for each rod"
    assert f"or reel in 10 ft on {first} and {second} within 20 s" in said
    assert "or turn 60° to port, only if the water there is clear" in said
    assert "clear within" not in said and "clear now" not in said


def test_the_notice_is_on_every_screen(boat: str, phone: Page, feed: Feed) -> None:
    feed.second = 205.0
    watch_of(phone).allowed.append("404")  # nothing of that screen is behind this feed
    phone.goto(f"{boat}/#rigs")
    expect(phone.locator('[data-part="notice"]')).to_contain_text("lure hits bottom in")


def test_a_lost_stream_never_looks_live(boat: str, page: Page, feed: Feed) -> None:
    page.goto(f"{boat}/#lines")
    run = page.locator('[data-part="lines"]')
    expect(run).to_have_attribute("data-old", "false")
    pictures(page, feed, 1)
    feed.going = False  # just after a picture: the worst moment
    expect(run).to_have_attribute("data-old", "true", timeout=3000)
    told = page.locator('[data-part="trouble"]')
    expect(told).to_contain_text(re.compile(r"No word for \d+ s"))
    first = int(re.findall(r"\d+", told.inner_text())[0])
    in_page(page, lambda: int(re.findall(r"\d+", told.inner_text())[0]) > first)
    feed.going = True
    expect(run).to_have_attribute("data-old", "false", timeout=8000)
    expect(told).to_have_count(0)


@pytest.mark.parametrize(
    ("state", "words"),
    [
        ("no fix", "No GPS position"),
        ("stale", "GPS 25 s old"),
        ("not towing", "Not at trolling speed"),
        ("no lines", "No line is out"),
    ],
)
def test_each_state_is_told_with_what_to_do(
    boat: str, phone: Page, feed: Feed, state: str, words: str
) -> None:
    feed.still = in_state(state)
    phone.goto(f"{boat}/#lines")
    told = phone.locator('[data-part="trouble"]')
    expect(told).to_contain_text(words)
    assert len(told.locator("p").nth(1).inner_text()) > 30
    if state == "no lines":
        expect(phone.get_by_role("link", name="Line out")).to_be_visible()
    if state == "not towing":
        expect(phone.get_by_text("The rig was not named when it was set")).to_be_visible()
    assert serious(phone) == []


def test_targets_go_to_the_boat(boat: str, page: Page, feed: Feed) -> None:
    keep(page, units="us")
    page.goto(f"{boat}/#lines")
    page.get_by_role("button", name="Target 28 ft for port: change it").click()
    sheet = page.get_by_role("dialog")
    feed.targets.depth_m["starboard"] = 7.0  # set on another phone meanwhile: it must stay
    more = sheet.get_by_role("button", name="Target depth: more by 1 ft")
    box = more.bounding_box()
    assert box is not None
    assert min(box["width"], box["height"]) >= 72
    sheet.get_by_label("Target depth", exact=True).fill("29.4 ft")
    sheet.get_by_label("Target depth", exact=True).press("Tab")
    more.click()
    more.click()
    expect(sheet.locator('[data-part="target-state"]')).to_contain_text("Saved on the boat")
    deep = pytest.approx(parse("31 ft", "length"))
    in_page(page, lambda: bool(feed.sent) and feed.sent[-1].depth_m["port"] == deep)
    assert feed.sent[-1].depth_m["starboard"] == 7.0
    sheet.get_by_role("button", name=re.compile("Keep off bottom: more")).click()
    clear = pytest.approx(parse("4 ft", "length"))
    in_page(page, lambda: feed.sent[-1].keep_off_bottom_m == clear)
    assert feed.sent[-1].depth_m["port"] == deep
    sheet.get_by_role("button", name="Done").click()
    expect(page.get_by_role("button", name="Target 31 ft for port: change it")).to_be_visible()


def test_the_current_is_stated(boat: str, phone: Page, feed: Feed) -> None:
    keep(phone, units="us")
    phone.goto(f"{boat}/#lines")
    phone.get_by_role("button", name="Off bottom and current").click()
    sheet = phone.get_by_role("dialog")
    more = sheet.get_by_role("button", name=re.compile("Current.*: more by 0.1 mph"))
    more.click()
    more.click()
    sheet.get_by_role("button", name="south-west").click()
    expect(sheet.locator('[data-part="target-state"]')).to_contain_text("Saved on the boat")
    in_page(phone, lambda: feed.sent[-1].current_to_deg == 225.0)
    assert feed.sent[-1].current_m_s == pytest.approx(parse("0.2 mph", "speed"))
    assert serious(phone) == []


def test_a_target_waits_for_the_connection(boat: str, phone: Page, feed: Feed) -> None:
    keep(phone, units="us")
    watch_of(phone).allowed.append("ERR_")
    phone.goto(f"{boat}/#lines")
    phone.get_by_role("button", name="Set a target for port board: change it").click()
    sheet = phone.get_by_role("dialog")
    more = sheet.get_by_role("button", name="Target depth: more by 1 ft")
    expect(more).to_be_visible()
    phone.route("**/api/run/targets", lambda route: route.abort())
    more.click()
    expect(sheet.locator('[data-part="target-state"]')).to_contain_text("Not sent yet")
    assert feed.sent == []
    phone.unroute("**/api/run/targets")
    expect(sheet.locator('[data-part="target-state"]')).to_contain_text(
        "Saved on the boat", timeout=9000
    )
    assert "port board" in feed.sent[-1].depth_m


@pytest.mark.parametrize("look", ["day", "night"])
def test_the_picture_is_drawn_and_the_screen_is_sound(
    boat: str, page: Page, feed: Feed, look: str
) -> None:
    feed.second = 60.0
    keep(page, look=look)
    page.goto(f"{boat}/#lines")
    expect(page.locator("article[data-rod]")).to_have_count(4)
    holds(page, PAINTED)
    seen = page.evaluate(
        """(rods) => {
          const c = document.querySelector('[data-part=lines] canvas');
          const { width, height } = c;
          const d = c.getContext('2d').getImageData(0, 0, width, height).data;
          const tally = {};
          for (let i = 0; i < d.length; i += 4) {
            const k = d[i] + ',' + d[i + 1] + ',' + d[i + 2];
            tally[k] = (tally[k] || 0) + 1;
          }
          const style = getComputedStyle(c);
          const of = (name) => {
            const hex = rods[name] ?? style.getPropertyValue('--run-' + name).trim();
            const rgb = [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16)).join(',');
            return (tally[rgb] || 0) / (width * height);
          };
          return { colours: Object.keys(tally).length,
            share: Object.fromEntries(['water', 'ground', 'doubt', 'edge', 'sky',
              'port', 'starboard', 'port board', 'starboard board'].map((n) => [n, of(n)])) };
        }""",
        {rod: getattr(look_of(rod), look) for rod, *_ in RODS},
    )
    share = seen["share"]
    assert seen["colours"] > 50
    assert share["water"] > 0.25
    assert share["ground"] > 0.03
    assert share["doubt"] > 0.005
    assert share["edge"] > 0.001
    for rod, *_ in RODS:
        assert share[rod] > 0.0005, f"{rod} is not drawn"
    assert serious(page) == []


COUNT = """
(() => {
  window.__painted = 0;
  let at = -1;
  const real = CanvasRenderingContext2D.prototype.drawImage;
  CanvasRenderingContext2D.prototype.drawImage = function (...a) {
    const now = document.timeline.currentTime;
    if (this.canvas.isConnected && now !== at) { at = now; window.__painted += 1; }
    return real.apply(this, a);
  };
})()
"""


FRAMES = """
(n) => new Promise((done) => {
  const first = window.__painted;
  const next = () => (n-- > 0 ? requestAnimationFrame(next) : done(window.__painted - first));
  next();
})
"""
PAINTED = """
() => {
  const c = document.querySelector('[data-part=lines] canvas');
  const d = c.getContext('2d').getImageData(0, 0, c.width, c.height).data;
  const seen = new Set();
  for (let i = 0; i < d.length; i += 4) seen.add((d[i] << 16) | (d[i + 1] << 8) | d[i + 2]);
  return seen.size > 50;
}
"""


def painted(page: Page, frames: int) -> int:
    """Count in how many of the screen's next frames the picture is painted."""
    return int(page.evaluate(FRAMES, frames))


def test_nothing_is_painted_where_nothing_moves(boat: str, phone: Page, feed: Feed) -> None:
    phone.add_init_script(COUNT)
    phone.goto(f"{boat}/#lines")
    expect(phone.locator("article[data-rod]")).to_have_count(4)
    holds(phone, PAINTED)
    assert painted(phone, 120) > 10  # it moves between the pictures
    feed.going = False
    expect(phone.locator('[data-part="lines"]')).to_have_attribute("data-old", "true")
    painted(phone, 20)  # what was still to be painted
    assert painted(phone, 90) == 0


def test_those_who_want_no_motion_get_one_picture_a_second(
    device: Callable[[dict[str, Any]], tuple[Page, Watch]], boat: str, feed: Feed
) -> None:
    page, _ = device({**DESK, "reduced_motion": "reduce"})
    page.add_init_script(COUNT)
    page.goto(f"{boat}/#lines")
    expect(page.locator("article[data-rod]")).to_have_count(4)
    holds(page, PAINTED)
    first = page.evaluate("window.__painted")
    pictures(page, feed, 3)
    assert 1 <= page.evaluate("window.__painted") - first <= 8


def test_sound_is_off_until_it_is_wanted(
    device: Callable[[dict[str, Any]], tuple[Page, Watch]], boat: str, feed: Feed
) -> None:
    page, _ = device(PHONE)
    page.add_init_script(
        "window.__tones = 0; const s = OscillatorNode.prototype.start;"
        "OscillatorNode.prototype.start = function (...a)"
        " { window.__tones += 1; return s.apply(this, a); };"
        "window.__shook = 0; navigator.vibrate = () => { window.__shook += 1; return true; };"
    )
    feed.second = 205.0
    page.goto(f"{boat}/#lines")
    notice = page.locator('[data-part="notice"]')
    expect(notice).to_be_visible()
    pictures(page, feed, 1)
    assert page.evaluate("window.__tones") == 0
    notice.get_by_role("button", name="Silence this alarm").click()  # to get at the page
    page.get_by_role("button", name="Alarm sound").click()
    first = page.evaluate("window.__tones")
    assert first > 0  # so that the crew knows what it will hear
    pictures(page, feed, 2)
    assert page.evaluate("window.__tones") == first  # silenced
    notice.locator("button.again").click()  # silenced, all of it is one button: to hear it again
    holds(page, "(first) => window.__tones > first && window.__shook > 0", arg=first)


def test_the_made_up_day_plays(served: str, page: Page) -> None:
    """The real engine behind the real gate: what the card says is what the engine answers."""
    keep(page, units="metric")
    page.goto(f"{served}/#lines")
    expect(page.locator("article[data-rod]").first).to_be_visible(timeout=30_000)
    expect(page.locator('[data-part="lines"]')).to_have_attribute("data-old", "false")
    answered = page.evaluate("fetch('/api/run').then((r) => r.json())")
    assert answered["state"] == "running"
    for line in answered["lines"]:
        # A second may lie between the two: a lure moves by centimetres in it.
        shown = float(text_of(page, line["rod"], "depth"))
        assert shown == pytest.approx(line["depth_m"], abs=0.5)
        assert text_of(page, line["rod"], "out") != ""
    colours = page.evaluate(
        """() => {
          const c = document.querySelector('[data-part=lines] canvas');
          const d = c.getContext('2d').getImageData(0, 0, c.width, c.height).data;
          const seen = new Set();
          for (let i = 0; i < d.length; i += 4) seen.add((d[i] << 16) | (d[i + 1] << 8) | d[i + 2]);
          return seen.size;
        }"""
    )
    assert colours > 50
    before = page.evaluate("fetch('/api/run').then((r) => r.json()).then((r) => r.count)")
    holds(
        page,
        "async (before) => (await (await fetch('/api/run')).json()).count > before",
        arg=before,
    )
