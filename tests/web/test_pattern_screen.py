"""What works: told and drawn as the app answers, locked and logged from the screen itself."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect
from tests.web.aft import PATIENCE_MS, quiet, sound, told
from tests.web.conftest import Opened
from tests.web.looking import PHONE, holds, kept, watch_of
from tests.web.serving import Server

from towscope.journal.events import LineChange, read_event
from towscope.journal.ids import new_id
from towscope.journal.opening import open_store

NOON = datetime(2026, 8, 15, 12, 10, tzinfo=UTC)
FACTORS = "lure,size,colour,depth,speed,light,temperature,hour"


@pytest.mark.parametrize("size", ["phone", "desk"])
def test_the_screen_tells_next_day_and_rates(
    size: str, served: str, request: pytest.FixtureRequest
) -> None:
    page: Page = request.getfixturevalue(size)
    quiet(page)
    page.goto(f"{served}/#pattern")
    expect(page.get_by_role("heading", name="Pattern", level=1)).to_be_visible()
    took = page.locator("section.took")
    expect(took.locator("ul li .shape").first).to_be_visible(timeout=PATIENCE_MS)
    answer = told(served, f"/api/pattern?by={FACTORS}")["answer"]
    expect(took).to_contain_text(f"{answer['catches']} fish")
    names = [x["level"] for x in answer["by"]["lure"]]
    assert took.locator(".shapes li .name strong").all_inner_texts() == names
    sure = [c for c in answer["comparisons"] if c["by"] == "lure" and c["probability"] >= 0.75]
    for pair in sure[:4]:
        expect(took).to_contain_text(pair["text"])
    for line in answer["cannot_know"]:
        expect(took).to_contain_text(line)

    # few fish are drawn as a guess: dashed, whatever the colour
    for row in took.locator(".shapes li").all():
        fish = int(re.findall(r"(\d+) fish in", row.inner_text())[0])
        dashed = row.locator(".shape").evaluate("e => getComputedStyle(e).strokeDasharray")
        assert (dashed != "none") == (fish < 3)

    took.get_by_role("button", name="Depth").click()
    expect(took.locator(".shapes li .name strong").first).to_contain_text(" ft")

    rods = page.locator("section.next li.card")
    expect(rods).to_have_count(3, timeout=PATIENCE_MS)
    reasons = [r["reason"] for r in told(served, "/api/next")["answer"]["rods"]]
    assert len(reasons) == 3
    expect(page.locator("section.next")).to_contain_text("fish to expect in the half hour")

    # the day: every fish can be reached by buttons alone
    day = page.locator("section.day")
    expect(day.get_by_role("img", name=re.compile(r"The day: \d+ fish in"))).to_be_visible()
    fish = [s for s in told(served, "/api/days/last")["spots"] if s["kind"] == "catch"]
    heads = set()
    for _ in range(len(told(served, "/api/days/last")["spots"])):
        day.get_by_role("button", name="Event after").click()
        heads.add(day.locator(".told strong").inner_text())
    assert {f"Fish {f['number']}" for f in fish} <= heads
    day.get_by_role("button", name="Zoom in").click()
    expect(day.get_by_role("button", name="All of the day")).to_be_enabled()
    day.get_by_role("button", name="The day before").click()
    expect(day.locator("p.lead")).not_to_contain_text("still out")
    sound(page)


@pytest.fixture
def noon(pages: Path, tmp_path: Path) -> Iterator[Server]:
    """Serve the demo with a lure on one rod that the day has found wanting: a change is advised."""
    with Server(tmp_path, now=NOON.isoformat(), zone="UTC") as server:
        poor = {"lure": "large-minnow", "body": "minnow", "size_m": 0.1016, "colour": "perch"}
        at = (NOON - timedelta(minutes=10)).isoformat()
        change = {
            "id": new_id(),
            "device": "hand",
            "kind": "line_change",
            "rod": "starboard",
            "at": at,
        }
        with open_store(server.home / "journal.sqlite") as store:
            store.append([read_event({**change, **poor})])
        yield server


def test_a_rod_is_locked_and_a_change_is_logged(
    noon: Server, device: Callable[[dict[str, Any]], Opened]
) -> None:
    own = noon
    phone, _ = device({**PHONE, "timezone_id": "UTC"})
    phone.clock.install(time=NOON)
    quiet(phone)
    phone.goto(f"{own.url}/#pattern")
    rods = phone.locator("section.next li.card")
    expect(rods).to_have_count(3, timeout=PATIENCE_MS)
    before = own.entries()
    first = rods.first  # what is to be done stands first
    rod = first.get_attribute("data-rod")
    done = first.get_by_role("button", name=re.compile("^Done:"))
    expect(done).to_be_visible()
    lock = first.get_by_role("button", name=f"Lock {rod}")
    lock.click()
    expect(phone.locator(f'li[data-rod="{rod}"]')).to_contain_text("Locked: left alone",
                                                                  timeout=PATIENCE_MS)  # fmt: skip
    assert told(own.url, "/api/next")["locks"] == [rod]
    phone.reload()
    card = phone.locator(f'section.next li[data-rod="{rod}"]')
    expect(card.get_by_role("button", name=f"Lock {rod}")).to_have_attribute(
        "aria-pressed", "true", timeout=PATIENCE_MS
    )
    card.get_by_role("button", name=f"Lock {rod}").click()
    done = card.get_by_role("button", name=re.compile("^Done:"))
    expect(done).to_be_visible(timeout=PATIENCE_MS)
    lure = done.inner_text().removeprefix("Done: ").removesuffix(" is on")
    done.click()
    expect(card).to_contain_text("Logged")
    holds(
        phone,
        "async rod => (await (await fetch('/api/days/last')).json()).spans"
        ".filter(s => s.rod === rod && s.open).length === 1",
        arg=rod,
    )
    new = [e for e in own.entries() if e.id not in {b.id for b in before}]
    assert [(e.kind, e.model_dump()["rod"], e.model_dump()["lure"]) for e in new] == [
        ("line_change", rod, lure)
    ]
    assert isinstance(new[0], LineChange)
    assert new[0].size_m is not None, "the lure's looks go with it, so that pooling knows it"
    # the answer follows the journal: that lure is on now, and nobody is sent to change to it (what
    # is advised instead is near a tie on this day: to leave it, or to try another)
    expect(card.locator(".what")).not_to_contain_text(f"Change to {lure}", timeout=PATIENCE_MS)

    # with no server at a cold start the last answers are there, with their age
    expect(phone.locator("section.took li .shape").first).to_be_visible(timeout=PATIENCE_MS)
    expect(phone.locator("section.took .turning")).to_have_count(0, timeout=PATIENCE_MS)
    kept(phone)
    watch_of(phone).allowed.append("ERR_")
    advised = card.locator(".what").inner_text()
    own.kill()
    phone.reload()
    expect(card.locator(".what")).to_contain_text(advised)
    expect(phone.locator("section.took li .shape").first).to_be_visible()
    expect(phone.locator("section.took")).to_contain_text("Shown:")
    expect(phone.get_by_role("img", name=re.compile(r"The day: \d+ fish in"))).to_be_visible()


def test_nothing_logged_says_what_to_do_and_three_fish_look_like_three(
    empty: Server, phone: Page
) -> None:
    quiet(phone)
    phone.goto(f"{empty.url}/#pattern")
    expect(phone.get_by_role("heading", name="Nothing logged yet")).to_be_visible()
    sound(phone)
    phone.get_by_role("link", name="Open the log").click()
    expect(phone.get_by_role("heading", level=1, name="Log")).to_be_visible()

    now = datetime.now(UTC).replace(microsecond=0)
    made = []
    after: str | None = None
    for minutes, body in (
        (90, {"kind": "line_out", "rod": "port", "lure": "small-minnow", "let_out_m": 45.0}),
        (85, {"kind": "line_out", "rod": "starboard", "lure": "large-minnow", "let_out_m": 45.0}),
        (60, {"kind": "catch", "rod": "port"}),
        (40, {"kind": "catch", "rod": "port"}),
        (20, {"kind": "catch", "rod": "starboard"}),
    ):
        at = now - timedelta(minutes=minutes)
        after = new_id(after=after, now_s=at.timestamp())
        made.append(read_event({"id": after, "device": "phone", "at": at.isoformat(), **body}))
    with open_store(empty.home / "journal.sqlite") as store:
        store.append(made)
    phone.goto(f"{empty.url}/#pattern")
    took = phone.locator("section.took")
    expect(took.locator(".few").first).to_contain_text("Three fish", timeout=PATIENCE_MS)
    expect(took.locator("li.guess")).to_have_count(2)
    expect(took).to_contain_text("Nothing stands out")


@pytest.mark.parametrize("room", ["pattern", "trip?part=seasons"])
def test_a_screen_at_rest_asks_for_nothing(room: str, served: str, phone: Page) -> None:
    """An answer that is shown must not make the screen ask for the next."""
    quiet(phone)
    phone.goto(f"{served}/#{room}")
    shape = "section.took .shapes li, section.next li.card" if room == "pattern" else "main table"
    expect(phone.locator(shape).first).to_be_visible(timeout=PATIENCE_MS)
    expect(phone.locator(".turning")).to_have_count(0, timeout=PATIENCE_MS)
    slow = ("/api/pattern", "/api/next", "/api/seasons")

    def asked() -> int:
        return sum(any(part in url for part in slow) for url in watch_of(phone).asked)

    before = asked()
    phone.evaluate("async () => { for (let k = 0; k < 30; k++) await fetch('/api/hello') }")
    assert asked() == before
