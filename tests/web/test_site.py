"""The app as files: opened once from a static host, a phone answers with nobody there."""

from __future__ import annotations

import re
import threading
from collections.abc import Callable, Iterator
from datetime import UTC
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from time import monotonic
from typing import Any

import pytest
from playwright.sync_api import Page, expect
from tests.web.looking import PHONE, Watch, kept, serious

from towscope.boat.read import read_fixes
from towscope.errors import InputError
from towscope.journal import exchange
from towscope.journal.events import read_event
from towscope.journal.ids import new_id
from towscope.journal.opening import open_store
from towscope.web.site import MARK, write

Device = Callable[[dict[str, Any]], tuple[Page, Watch]]
ENTRY = {
    "device": "another phone",
    "kind": "note",
    "at": "2026-08-15T07:42:00-05:00",
    "text": "mist",
}
COLD_S = 60.0  # first "let out so much" on a phone alone, from nothing


class _Quiet(SimpleHTTPRequestHandler):
    """Serves files, and writes no log."""

    def log_message(self, *_: object) -> None:
        """Say nothing."""


@pytest.fixture
def host(pages: Path, tmp_path: Path) -> Iterator[ThreadingHTTPServer]:
    """Serve the written files in a folder below the host's root, as a club's page would."""
    write(tmp_path / "root" / "fishing" / "towscope", pages)
    server = ThreadingHTTPServer(
        ("127.0.0.1", 0), partial(_Quiet, directory=str(tmp_path / "root"))
    )
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield server
    server.server_close()


def test_opened_once_it_answers_with_nobody_there(
    host: ThreadingHTTPServer, device: Device
) -> None:
    page, watch = device(PHONE)
    page.goto(f"http://127.0.0.1:{host.server_port}/fishing/towscope/")
    expect(page.get_by_text("This phone alone")).to_be_visible()
    kept(page)
    host.shutdown()
    host.server_close()
    page.context.set_offline(True)
    asked = len(watch.asked)
    begun = monotonic()
    page.reload()
    for name in ("Thin lead core colored", "18 lb", "30 ft", "Slim minnow", "2.0 in small"):
        page.get_by_role("button", name=name).click()
    expect(page.locator("[data-part=big]")).to_contain_text(
        re.compile(
            r"1[123]\d\s*ft"
        )  # 7 ft a colour on thin core at 2 mph: common practice, no source
    )
    assert monotonic() - begun < COLD_S
    page.get_by_role("button", name="Speed: more by").click()
    expect(page.locator("[data-part=answer]")).to_contain_text("at 2.1 mph")
    assert serious(page) == []
    for room in ("lines", "lake", "pattern"):
        page.goto(f"{page.url.split('#')[0]}#{room}")
        expect(page.get_by_text("needs a computer that runs towscope").first).to_be_visible()
    assert not [url for url in watch.asked if "/api/" in url or "/pair" in url]
    near = f"http://127.0.0.1:{host.server_port}/fishing/towscope/"
    assert all(url.startswith((near, "blob:", "data:")) for url in watch.asked[asked:])


def test_what_is_logged_there_comes_home_as_a_file(
    host: ThreadingHTTPServer, device: Device, tmp_path: Path
) -> None:
    page, watch = device(PHONE)
    page.goto(f"http://127.0.0.1:{host.server_port}/fishing/towscope/#log")
    kept(page)
    host.shutdown()
    host.server_close()
    page.context.set_offline(True)
    page.get_by_role("button", name="Conditions").click()
    page.get_by_label("Water at the surface").fill("71")
    page.get_by_label("Water at the surface").press("Tab")
    page.get_by_role("button", name="Log conditions").click()
    page.get_by_role("button", name="Note", exact=True).click()
    page.get_by_label("What is worth remembering?").fill("two boats on the east bar")
    page.get_by_role("button", name="Log the note").click()
    page.reload()
    expect(page.get_by_text("two boats on the east bar")).to_be_visible()
    expect(page.get_by_text("waiting to send")).to_have_count(0)

    page.goto(f"{page.url.split('#')[0]}#trip?part=after")
    expect(page.get_by_text("2 entries on this phone, and nowhere else")).to_be_visible()
    with page.expect_download() as got:
        page.get_by_role("button", name="Save the log as a file").click()
    file = tmp_path / got.value.suggested_filename
    got.value.save_as(file)
    assert serious(page) == []
    with open_store(tmp_path / "home.sqlite") as store:
        taken = exchange.take(store, file, device="the boat's", zone=UTC, read=read_fixes)
        assert (taken.events, taken.new_events, taken.remarks) == (2, 2, [])
        assert [event.kind for _, event in store.events()] == ["conditions", "note"]
        again = exchange.take(store, file, device="the boat's", zone=UTC, read=read_fixes)
        assert again.new_events == 0
        other = tmp_path / "theirs.jsonl"
        store.append([read_event({**ENTRY, "id": new_id()})])
        other.write_text("".join(exchange.jsonl(store, device="another phone")))

    # another's file is added to this phone's, once; half of one is refused
    page.get_by_label("Add another phone's file").set_input_files(other)
    expect(page.get_by_text("theirs.jsonl: 1 of 3 entries new.")).to_be_visible()
    expect(page.get_by_text("3 entries on this phone")).to_be_visible()
    half = tmp_path / "half.jsonl"
    half.write_bytes(other.read_bytes()[:-60])
    page.get_by_label("Add another phone's file").set_input_files(half)
    expect(page.get_by_role("alert")).to_contain_text("nothing was added")
    assert not [url for url in watch.asked if "/api/" in url]


def test_a_folder_of_others_is_refused_and_its_own_renewed(pages: Path, tmp_path: Path) -> None:
    folder = tmp_path / "site"
    first = write(folder, pages)
    old = folder / "assets" / "index-old.js"
    old.write_text("")
    assert write(folder, pages) == first
    assert not old.exists()
    index = (folder / "index.html").read_text()
    assert MARK in index
    assert "Content-Security-Policy" in index
    names = {file.name for file in folder.iterdir()}
    assert {"core.wasm", "draws.bin", "tackle.json", "sw.js", "manifest.webmanifest"} <= names
    assert not list(folder.rglob("*.br"))
    others = tmp_path / "others"
    others.mkdir()
    (others / "index.html").write_text("<html><head></head></html>")
    with pytest.raises(InputError, match="holds other things; expected a new or empty folder"):
        write(others, pages)
    with pytest.raises(InputError, match="is a file; expected a folder"):
        write(others / "index.html", pages)
    assert (others / "index.html").read_text() == "<html><head></head></html>"
