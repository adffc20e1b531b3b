"""A day, its report, the plan, fish, seasons and the journal's file: as the commands give them."""

from __future__ import annotations

import contextlib
import io
import json
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from fastapi.testclient import TestClient
from tests.waiting import job_done, until

from towscope import cli
from towscope.demo.day import DEVICE, FIRST, ZONE, demo_day
from towscope.journal.opening import open_store
from towscope.web.app import make_app
from towscope.web.context import AppContext
from towscope.web.routes import journal_file

DAY = FIRST.isoformat()


def fill(path: Path, days: int = 1) -> None:
    with open_store(path) as store:
        for back in range(days):
            made = demo_day(FIRST - timedelta(days=back * 20))
            store.append(made.events)
            store.add_track(made.track, DEVICE, ZoneInfo(ZONE))


@pytest.fixture
def client(own_home: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[TestClient]:
    monkeypatch.setenv("TOWSCOPE_ZONE", ZONE)
    fill(own_home / "journal.sqlite", 2)
    with TestClient(make_app(AppContext())) as client:
        yield client


@pytest.fixture
def bare(own_home: Path) -> Iterator[TestClient]:
    with TestClient(make_app(AppContext())) as client:
        yield client


def command(*words: str) -> dict[str, Any]:
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        assert cli.run([*words, "--json"]) == 0
    told: dict[str, Any] = json.loads(out.getvalue())
    return told


def good(client: TestClient, path: str, **query: Any) -> dict[str, Any]:
    answer = client.get(path, params=query)
    assert answer.status_code == 200, answer.text
    said: dict[str, Any] = answer.json()
    return said


def done(client: TestClient, job: dict[str, Any]) -> dict[str, Any]:
    return job_done(client, job)


def test_effort_adds_up(client: TestClient) -> None:
    said = good(client, "/api/days/last")
    assert said["day"] == DAY
    assert sum(e["hours"] for e in said["effort"]) == pytest.approx(said["rod_hours"])
    assert sum(s["rod_hours"] for s in said["spans"]) == pytest.approx(said["rod_hours"])


def test_the_timeline_holds_together(client: TestClient) -> None:
    said = good(client, f"/api/days/{DAY}")
    assert set(said["rods"]) == {"port", "starboard", "centre"}
    fish = [s for s in said["spots"] if s["kind"] == "catch"]
    assert [s["number"] for s in fish] == list(range(1, said["catches"] + 1))
    for spot in said["spots"]:
        if spot["rod"]:
            assert any(
                s["rod"] == spot["rod"] and s["start_s"] <= spot["at_s"] <= s["end_s"]
                for s in said["spans"]
            )
    assert all(6.0 < s["depth_m"] < 11.0 for s in fish), "small lures some 30 ft down"
    assert said["utc_offset_s"] == -5 * 3600, "August in the central zone"
    assert len(said["profile"]["at_s"]) <= 480
    assert said["running"], "the boat ran out, across and home"
    # the sun itself is held to an almanac in tests/sky
    rise = datetime.fromtimestamp(said["light"]["sunrise_s"], ZoneInfo(ZONE))
    sun = command("lake", "sun", "48.4", "-91.9", "--date", DAY, "--tz", ZONE)
    assert abs((rise - datetime.fromisoformat(sun["sunrise"])).total_seconds()) < 30


def test_the_report_travels_as_page_and_pdf(client: TestClient) -> None:
    said = good(client, f"/api/days/{DAY}/report")
    page = client.get(f"/api/days/{DAY}/report.html")
    assert said["lead"] in page.text.replace("&#x27;", "'")
    assert page.headers["content-disposition"] == f'attachment; filename="day-{DAY}.html"'
    assert "default-src 'none'" in page.headers["content-security-policy"]
    for far in ("http://", "https://", "<script"):
        assert far not in page.text.replace("http://www.w3.org/2000/svg", "")
    assert len(said["catches"]) == good(client, f"/api/days/{DAY}")["catches"]
    metric = good(client, f"/api/days/{DAY}/report", units="metric")
    assert " cm" in metric["catches"][0][4]
    from pypdf import PdfReader

    pdf = client.get(f"/api/days/{DAY}/report.pdf")
    assert pdf.headers["content-type"] == "application/pdf"
    assert said["title"] in (PdfReader(io.BytesIO(pdf.content)).pages[0].extract_text() or "")


def test_no_such_day_and_nonsense_are_said_plainly(client: TestClient, own_home: Path) -> None:
    none = client.get("/api/days/2020-01-01")
    assert none.status_code == 409
    assert "nothing was logged on 2020-01-01" in none.json()["error"]
    for day in ("0001-01-01", "9999-12-31"):
        assert client.get("/api/plan", params={"day": day}).status_code == 422
        assert client.get("/api/pattern", params={"day": day}).status_code == 422
        assert client.get("/api/journal-file", params={"day": day}).status_code == 422
    for day in (
        "0001-01-01",
        "9999-12-31",
        "soon",
        "2026-13-40",
        "..%2f..%2fetc",
        "'; drop table entry",
        "9" * 400,
    ):
        answer = client.get(f"/api/days/{day}")
        assert answer.status_code in (404, 422), day
        assert len(answer.json()["error"].splitlines()) == 1
    assert client.get(f"/api/days/{DAY}/report", params={"units": "rods"}).status_code == 422


def test_the_plan_knows_sun_place_and_what_was_noted(client: TestClient) -> None:
    by_place = good(client, "/api/plan", day=DAY, lat=48.4, lon=-91.9)
    assert (by_place["lat"], by_place["lon"]) == (48.4, -91.9)
    last = good(client, "/api/plan", day=DAY)
    assert last["place"] == "where the boat last was"
    assert last["lat"] == pytest.approx(48.4, abs=0.02)
    assert last["noted"] is None, "what was noted long ago says nothing of today"
    words = " ".join(last["cautions"]).lower()
    for caution in ("life jacket", "lookout", "weather", "lead", "local rules"):
        assert caution in words
    for query in ({"lake": "no such"}, {"lat": "48"}, {"lat": "99", "lon": "0"}, {"day": "x"}):
        assert client.get("/api/plan", params=query).status_code == 422, query


def test_the_water_is_layered_in_the_units_asked(bare: TestClient) -> None:
    feet = 0.3048
    rows = [(0.0, 72.0), (20.0, 70.0), (30.0, 55.0)]
    readings = [{"depth_m": d * feet, "temperature_c": (t - 32) / 1.8} for d, t in rows]
    body = {"readings": readings, "lure_depth_m": 35 * feet}
    said = bare.post("/api/plan/column", json=body).json()
    assert said["below_thermocline"] is True
    assert "35 ft is below the thermocline" in said["warning"]
    few = bare.post("/api/plan/column", json={"readings": readings[:2]})
    assert few.status_code == 422
    assert "at least three" in few.json()["error"]


def test_seasons_add_up_to_the_days(client: TestClient) -> None:
    found = until(lambda: good(client, "/api/seasons").get("answer"), of="the seasons")
    days = good(client, "/api/days")["days"]
    assert {d["when"]: d["catches"] for d in found["days"]} == {
        d["day"]: d["catches"] for d in days
    }
    assert [m["when"] for m in found["months"]] == ["2026-07", "2026-08"]
    whole = command("day", "effort", "--season", "--by", "lure")
    assert sum(y["rod_hours"] for y in found["years"]) == pytest.approx(whole["hours"], rel=1e-5)
    assert {g["key"]: g["catches"] for g in found["by"]["lure"]} == {
        g["lure"]: g["catches"] for g in whole["groups"]
    }
    # Garwood 1936: 0 fish has the 90 % upper limit -ln(0.05) = 2.996
    empty = next((g for name in found["by"].values() for g in name if g["catches"] == 0), None)
    if empty is not None:
        assert empty["interval_90"][1] * empty["rod_hours"] == pytest.approx(2.9957, abs=1e-3)
    assert all(0.1 < f["length_m"] < 1.0 for f in found["fish"])


def test_the_journal_leaves_and_comes_back_whole(
    client: TestClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = client.get("/api/journal-file")
    assert whole.headers["content-disposition"].endswith('.jsonl"')
    again = done(
        client, client.post("/api/journal-file?name=a.jsonl", content=whole.content).json()
    )
    assert again["state"] == "done", again["error"]
    assert again["result"]["new_entries"] == 0
    assert again["result"]["new_track_points"] == 0

    with TestClient(make_app(AppContext(journal=tmp_path / "other.sqlite"))) as other:
        job = other.post("/api/journal-file?name=b.jsonl", content=whole.content).json()
        taken = done(other, job)["result"]
        assert taken["new_entries"] == taken["entries"] > 50
        assert taken["new_track_points"] > 20_000
        assert good(other, "/api/days")["days"] == good(client, "/api/days")["days"]

        cut = whole.content[: len(whole.content) // 2]
        broken = done(other, other.post("/api/journal-file?name=cut.jsonl", content=cut).json())
        assert broken["state"] == "failed"
        assert "cut.jsonl" in broken["error"]
        assert str(tmp_path) not in broken["error"]
        assert other.post("/api/journal-file?name=x.exe", content=b"x").status_code == 422
        assert other.post("/api/journal-file?name=a.jsonl", content=b"").status_code == 422
        monkeypatch.setattr(journal_file, "MOST_BYTES", 1000)
        big = other.post("/api/journal-file?name=a.jsonl", content=whole.content)
        assert big.status_code == 422
        assert "at most" in big.json()["error"]
