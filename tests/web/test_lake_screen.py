"""The lake on a phone and on a desk: the map draws, passes are made, picked and steered by."""

from __future__ import annotations

import io
import json
import os
import re
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit

import numpy as np
import pytest
from playwright.sync_api import Page, expect
from pyproj import Geod
from tests.web.looking import DESK, PHONE, holds, in_page, serious, watch_of
from tests.web.serving import Server
from tests.web.test_lakes import NAME, log_of_a_bay, pond

from towscope.bed import store
from towscope.live.models import BoatNow, Run

expect.set_options(timeout=40_000)
PATIENCE_MS = 90_000  # the map is drawn in software, the machine may be busy
# What the stream says is said here: a boat by hand, to the centimetre.
STREAM = """
window.EventSource = class extends EventTarget {
  constructor() {
    super()
    window.stream = this
    setTimeout(() => this.onopen && this.onopen(new Event('open')), 20)
    setInterval(() => this.dispatchEvent(new MessageEvent('journal', { data: '' })), 4000)
  }
  close() {}
}
"""
# sharp enough for what is looked at, and four times as quick to draw in software
SMALL = {**PHONE, "device_scale_factor": 1}
SIZES = {"phone": SMALL, "desk": DESK}
Opens = Callable[[dict[str, Any]], tuple[Page, Any]]


@pytest.fixture(scope="module")
def ashore(pages: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """Serve an app over a small lake, for all tests here."""
    home = tmp_path_factory.mktemp("pond")
    _keep(home)
    with Server(home, demo=False) as server:
        yield server


def _keep(home: Path) -> None:
    before = os.environ.get("TOWSCOPE_HOME")
    os.environ["TOWSCOPE_HOME"] = str(home)
    try:
        store.save(NAME, pond())
    finally:
        if before is None:
            del os.environ["TOWSCOPE_HOME"]
        else:
            os.environ["TOWSCOPE_HOME"] = before


def opened(device: Opens, size: str, url: str, units: str = "us") -> Page:
    page, _ = device(SIZES[size])
    page.set_default_timeout(PATIENCE_MS)
    page.add_init_script(STREAM)
    # the boat decides: what a phone keeps gives way to what was last chosen aboard
    chosen = page.request.put(
        f"{url}/api/units",
        data={"units": units, "first": False},
        headers={"X-Towscope": "1"},
    )
    assert chosen.ok, chosen.text()
    page.goto(f"{url}/#lake")
    drawn(page)
    return page


def drawn(page: Page) -> None:
    page.wait_for_selector(".holder[data-drawn]", timeout=PATIENCE_MS)


def say(page: Page, lat: float, lon: float, course: float | None, **more: Any) -> None:
    """Let the stream tell where the boat is."""
    boat = BoatNow(
        at=datetime.now(UTC), lat=lat, lon=lon, course_deg=course, speed_m_s=0.894,
        ground_speed_m_s=0.894, source="by hand", age_s=0.1,
    )  # fmt: skip
    run = Run(count=1, state="no lines", boat=boat, **more).model_dump(mode="json")
    page.evaluate(
        "data => window.stream.dispatchEvent(new MessageEvent('run', { data }))", json.dumps(run)
    )


def colours(page: Page) -> np.ndarray[Any, Any]:
    """What stands on the map, as (pixels, 3)."""
    from PIL import Image

    shot = page.locator(".holder").screenshot()
    return np.asarray(Image.open(io.BytesIO(shot)).convert("RGB")).reshape(-1, 3).astype(int)


def shades(page: Page) -> int:
    """Count the colours on the map, eight steps of each taken as one."""
    return len(np.unique(colours(page) // 8, axis=0))


def share_near(found: np.ndarray[Any, Any], hexes: str, within: int = 10) -> float:
    want = np.array([int(hexes[k : k + 2], 16) for k in (1, 3, 5)])
    return float(np.mean(np.abs(found - want).max(axis=1) <= within))


@pytest.mark.parametrize("size", SIZES)
def test_the_map_draws_and_can_be_used(ashore: Server, device: Opens, size: str) -> None:
    page = opened(device, size, ashore.url)
    expect(page.get_by_role("heading", name=NAME)).to_be_visible()
    expect(page.get_by_text("in all")).to_be_visible()
    in_page(page, lambda: shades(page) > 40, of="a shaded map")
    found = colours(page)
    # land and water each take their part of the picture, and the water is shaded
    assert share_near(found, "#efeae0") > 0.02
    water = found[found[:, 2] - found[:, 0] > 25]
    assert len(water) > 0.04 * len(found)
    assert np.ptp(water.sum(axis=1)) > 200
    assert serious(page) == []
    # a tap tells the depth
    box = page.locator(".holder").bounding_box()
    assert box is not None
    page.mouse.click(box["x"] + 0.5 * box["width"], box["y"] + 0.5 * box["height"])
    expect(page.locator(".picked")).to_contain_text("ft deep")
    # the large buttons turn and bring nearer
    page.get_by_role("button", name="Turn right").click()
    expect(page.locator(".holder")).to_have_attribute("data-bearing", "-30.0")
    for name in ("Zoom in", "Zoom out", "Turn left", "Whole lake"):
        page.get_by_role("button", name=name).click()
        target = page.get_by_role("button", name=name).bounding_box()
        assert target is not None
        assert min(target["width"], target["height"]) >= 48.0
    # turned as the boat goes
    say(page, 48.0, -92.0, 70.0)
    page.get_by_role("button", name="Course up").click()
    expect(page.locator(".holder")).to_have_attribute("data-bearing", "70.0")
    page.get_by_role("button", name="North up").click()
    expect(page.locator(".holder")).to_have_attribute("data-bearing", "0.0")


@pytest.fixture(scope="module")
def planned(ashore: Server, browser: Any) -> dict[str, Any]:
    """A plan made on the phone's screen, as the crew makes it."""
    context = browser.new_context(**{"locale": "en-US", **SMALL})
    context.set_default_timeout(PATIENCE_MS)
    page = context.new_page()
    page.add_init_script(STREAM)
    page.goto(f"{ashore.url}/#lake")
    drawn(page)
    page.get_by_role("button", name="Passes").click()
    expect(page.get_by_text("No passes planned yet")).to_be_visible()
    page.get_by_role("button", name="Make a plan").click()
    sheet = page.get_by_role("dialog")
    sheet.get_by_label("Edge at").fill("39")
    sheet.get_by_label("Off bottom").fill("6 ft")
    sheet.get_by_label("Outside the edge").fill("0")
    sheet.get_by_label("Speed").fill("2")
    expect(sheet.get_by_label("Rig")).to_have_value("demo")
    sheet.get_by_role("button", name="W, west").click()
    sheet.get_by_label("Strength").fill("7")
    sheet.get_by_role("group", name="Passes at most").get_by_role("button", name="1").click()
    assert serious(page) == []
    sheet.get_by_role("button", name="Plan the passes").click()
    expect(page.get_by_role("progressbar")).to_be_visible()
    expect(page.get_by_role("button", name="Stop")).to_be_visible()
    expect(page.get_by_role("article", name="Pass 1")).to_be_visible(timeout=PATIENCE_MS)
    expect(page.get_by_role("article", name="Pass 1")).to_contain_text("into the wind")
    assert serious(page) == []
    url = f"{ashore.url}/api/lakes/{NAME}/passes"
    (brief,) = page.request.get(url).json()["plans"]
    whole: dict[str, Any] = page.request.get(f"{url}/{brief['id']}").json()
    context.close()
    assert whole["asked"]["off_bottom_m"] == pytest.approx(6 * 0.3048)
    assert whole["asked"]["wind_from_deg"] == 270.0
    return whole


GLOBE = Geod(ellps="WGS84")


@pytest.mark.parametrize(
    ("size", "units", "off", "figure", "word"),
    [
        ("phone", "us", 6.0, "20", "Steer left"),  # 6.0 m is 19.7 ft
        ("desk", "metric", -4.3, "4.3", "Steer right"),
        ("desk", "metric", 0.4, "0.4", "On track"),
    ],
)
def test_a_pass_is_steered_by(
    ashore: Server,
    planned: dict[str, Any],
    device: Opens,
    size: str,
    units: str,
    off: float,
    figure: str,
    word: str,
) -> None:
    page = opened(device, size, ashore.url, units)
    if size == "phone":
        page.get_by_role("button", name="Passes").click()
    page.locator("button.plan").first.click()
    page.get_by_role("button", name="Follow this pass").click()
    expect(page.get_by_text("No GPS position")).to_be_visible()
    (one,) = planned["passes"]
    lat, lon = one["track"]["boat_lat"], one["track"]["boat_lon"]
    # The boat is put beside the middle of a straight of the way by PROJ's geodesics: so far off.
    k = len(lat) // 2
    along, _, far = GLOBE.inv(lon[k], lat[k], lon[k + 1], lat[k + 1])
    mid_lon, mid_lat, _ = GLOBE.fwd(lon[k], lat[k], along, 0.5 * far)
    boat_lon, boat_lat, _ = GLOBE.fwd(mid_lon, mid_lat, along + 90.0, off)
    say(page, boat_lat, boat_lon, along % 360.0)
    expect(page.get_by_test_id("off")).to_have_text(figure)
    expect(page.locator(".helm")).to_contain_text(word)
    _, _, rest = GLOBE.inv(lon[k + 1 : -1], lat[k + 1 : -1], lon[k + 2 :], lat[k + 2 :])
    to_go = 0.5 * far + float(np.sum(rest))
    scale = 0.3048 if units == "us" else 1.0
    told = float((page.get_by_test_id("to-go").text_content() or "").split()[0])
    assert told == pytest.approx(to_go / scale, abs=1.5)
    # the line that should be out now, and what is next, are the schedule's
    run = float(np.sum(GLOBE.inv(lon[:k], lat[:k], lon[1 : k + 1], lat[1 : k + 1])[2])) + 0.5 * far
    done = [each for each in one["schedule"] if each["run_m"] <= run][-1]
    told = float((page.get_by_test_id("out").text_content() or "").split()[0])
    assert told == pytest.approx(done["let_out_m"] / scale, abs=0.51 if units == "us" else 0.051)
    assert serious(page) == []
    side = "right" if off > 0 else "left"
    unit = "ft" if units == "us" else "m"
    told_off = re.sub(r"\s+", " ", page.locator(".off").inner_text())
    assert told_off == f"boat is {figure} {unit} {side} of track"
    # the other way along it: no side to steer to, but turn, and how wide with what is out
    say(page, boat_lat, boat_lon, (along + 180.0) % 360.0)
    expect(page.locator(".helm")).to_contain_text("Wrong way")
    expect(page.locator(".helm")).to_contain_text("Turn wide, where the water is clear.")
    say(page, boat_lat, boat_lon, (along + 180.0) % 360.0, wide_turn_m=30.48)
    wide = "100 ft" if units == "us" else "30 m"
    expect(page.locator(".helm")).to_contain_text(
        f"Turn wide: at least {wide} radius with these lines out, where the water is clear."
    )
    # past its end
    end, _, _ = GLOBE.inv(lon[-2], lat[-2], lon[-1], lat[-1])
    past_lon, past_lat, _ = GLOBE.fwd(lon[-1], lat[-1], end, 40.0)
    say(page, past_lat, past_lon, end % 360.0)
    expect(page.locator(".follow")).to_contain_text("Pass 1 is done")
    # far off it: how far to its start
    far_lon, far_lat, _ = GLOBE.fwd(lon[0], lat[0], 45.0, 900.0)
    say(page, far_lat, far_lon, 225.0)
    away = (page.locator(".follow strong").first.text_content() or "").replace("\u00a0", " ")
    assert away == ("0.56 mi" if units == "us" else "0.9 km")
    expect(page.locator(".follow")).to_contain_text("Land lies on the straight way there")
    expect(page.locator(".follow")).to_contain_text("straight ahead")


def test_a_pass_goes_on_through_every_room_and_a_reload(
    ashore: Server, planned: dict[str, Any], device: Opens
) -> None:
    page = opened(device, "phone", ashore.url)
    page.get_by_role("button", name="Passes").click()
    page.locator("button.plan").first.click()
    page.get_by_role("button", name="Follow this pass").click()
    (one,) = planned["passes"]
    lat, lon = one["track"]["boat_lat"], one["track"]["boat_lon"]
    k = len(lat) // 2
    along, _, _ = GLOBE.inv(lon[k], lat[k], lon[k + 1], lat[k + 1])
    boat_lon, boat_lat, _ = GLOBE.fwd(lon[k], lat[k], along + 90.0, 6.0)
    say(page, boat_lat, boat_lon, along % 360.0)
    expect(page.get_by_test_id("off")).to_have_text("20")
    # in another room it is there, small
    page.get_by_role("navigation", name="Screens").get_by_role("link", name="Log").click()
    small = page.get_by_role("link", name=re.compile("Pass 1"))
    expect(small).to_contain_text("steer left: boat is 20 ft right of track")
    assert serious(page) == []
    # after a reload too, and on the lake it goes on as it was
    page.reload()
    expect(small).to_contain_text("no GPS position")
    say(page, boat_lat, boat_lon, along % 360.0)
    expect(small).to_contain_text("steer left: boat is 20 ft right of track")
    small.click()
    expect(page.get_by_test_id("off")).to_have_text("20")
    page.reload()
    drawn(page)
    say(page, boat_lat, boat_lon, along % 360.0)
    expect(page.get_by_test_id("off")).to_have_text("20")
    # until the crew stops it
    page.get_by_role("button", name="Stop following").click()
    page.get_by_role("navigation", name="Screens").get_by_role("link", name="Log").click()
    expect(page.get_by_role("heading", level=1, name="Log")).to_be_visible()
    expect(small).to_have_count(0)
    page.reload()
    expect(page.get_by_role("heading", level=1, name="Log")).to_be_visible()
    expect(small).to_have_count(0)


@pytest.mark.parametrize(
    ("width", "height"), [(390, 844), (320, 640), (844, 390)], ids=["phone", "320", "landscape"]
)
def test_nothing_on_the_map_lies_over_anything(
    ashore: Server, device: Opens, width: int, height: int
) -> None:
    page, _ = device({**SMALL, "viewport": {"width": width, "height": height}})
    page.set_default_timeout(PATIENCE_MS)
    page.add_init_script(STREAM)
    page.add_init_script("localStorage.setItem('towscope.units', 'us')")
    page.goto(f"{ashore.url}/#lake")
    drawn(page)
    say(page, 48.0, -92.0, 70.0)  # the button that stays with the boat is there too
    box = page.locator(".holder").bounding_box()
    assert box is not None
    page.mouse.click(box["x"] + 0.5 * box["width"], box["y"] + 0.5 * box["height"])
    expect(page.locator(".picked")).to_contain_text("ft deep")
    found = page.evaluate(
        """() => {
          const seen = [...document.querySelectorAll(
            '.turning button, .thumb button, .north, .scale, .picked')]
            .filter(e => e.checkVisibility())
          const over = (a, b) => Math.min(a.right, b.right) - Math.max(a.left, b.left) > 0.5 &&
            Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 0.5
          const boxes = seen.map(e => [e.getAttribute('aria-label') || e.textContent.trim() ||
            e.getAttribute('class'), e.getBoundingClientRect()])
          const map = document.querySelector('.map').getBoundingClientRect()
          const bad = boxes.filter(([, r]) => r.left < map.left || r.right > map.right + 0.5 ||
            r.top < map.top || r.bottom > map.bottom + 0.5).map(([n]) => [n, 'off the map'])
          boxes.forEach(([m, a], i) => boxes.slice(i + 1).forEach(([n, b]) => {
            if (over(a, b)) bad.push([m, n])
          }))
          return [bad, seen.length]
        }"""
    )
    assert found[0] == []
    assert found[1] >= 8
    # the bar is as long as it says: two taps 60 px apart, by PROJ's geodesics
    page.mouse.click(box["x"] + 0.5 * box["width"] + 60.0, box["y"] + 0.5 * box["height"])
    holds(page, "() => !document.querySelector('.picked')?.textContent.includes('Asking')")
    asked = [parse_qs(urlsplit(u).query) for u in watch_of(page).asked if "/depth?" in u]
    (lat, lon), (lat2, lon2) = [(float(q["lat"][0]), float(q["lon"][0])) for q in asked[-2:]]
    px_m = GLOBE.inv(lon, lat, lon2, lat2)[2] / 60.0
    scale = page.locator(".scale")
    px = scale.locator("i").evaluate("e => e.getBoundingClientRect().width")
    figure, unit = scale.inner_text().split()
    assert unit == "ft"
    assert px * px_m == pytest.approx(float(figure) * 0.3048, rel=0.02)


def test_with_no_server_the_map_is_there(pages: Path, tmp_path: Path, device: Opens) -> None:
    home = tmp_path / "home"
    home.mkdir()
    _keep(home)
    with Server(home, demo=False) as server:
        page = opened(device, "phone", server.url)
        holds(page, "navigator.serviceWorker.ready.then(() => true)")
        holds(page, "navigator.serviceWorker.controller !== null")
        watch_of(page).allowed += ["ERR_", "Failed to fetch"]
        server.kill()
        page.reload()
        drawn(page)
        expect(page.get_by_text("as saved on this device")).to_be_visible()
        in_page(page, lambda: shades(page) > 40, of="a shaded map")


def test_a_first_lake_comes_from_a_log(empty: Server, device: Opens, tmp_path: Path) -> None:
    log = tmp_path / "bay_log.csv"
    log.write_bytes(log_of_a_bay())
    page, _ = device(SMALL)
    page.set_default_timeout(PATIENCE_MS)
    page.add_init_script(STREAM)
    page.goto(f"{empty.url}/#lake")
    expect(page.get_by_role("heading", name="No lake yet")).to_be_visible()
    page.get_by_role("button", name="Add a lake").click()
    sheet = page.get_by_role("dialog")
    sheet.get_by_label("File", exact=True).set_input_files(log)
    expect(sheet.get_by_label("Name of the lake")).to_have_value("bay log")
    sheet.get_by_role("button", name="Build the lake").click()
    expect(sheet.get_by_text("is built from")).to_be_visible()
    expect(sheet.get_by_text("1: spike")).to_be_visible()
    assert serious(page) == []
    sheet.get_by_role("button", name="Close").click()
    drawn(page)
    expect(page.get_by_role("heading", name="bay log")).to_be_visible()
