"""The app says of rigs what the command line says, saves and calibrates them."""

from __future__ import annotations

import contextlib
import io
import json
import time
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from fastapi.testclient import TestClient
from pypdf import PdfReader
from tests.waiting import job_done

from towscope import cli
from towscope.demo.day import DEVICE, FIRST, ZONE, demo_day
from towscope.journal.opening import open_store
from towscope.web.app import make_app
from towscope.web.context import AppContext

MPH, FEET = 0.44704, 0.3048
PIECES = [
    {"line": "fluoro-12", "length": "30 ft"},
    {"line": "thin-core-18", "length": "10 colors"},
    {"line": "braid-20", "length": "150 yd"},
]
SPEC: dict[str, Any] = {"lure": "small-minnow", "tip_height": "3 ft", "line": PIECES}
RATING = {"depth": "9 ft", "let_out": "100 ft", "line": "mono-10", "speed": "2 mph"}


@pytest.fixture
def client(own_home: Path) -> Iterator[TestClient]:
    with TestClient(make_app(AppContext())) as client:
        yield client


@pytest.fixture
def sailed(own_home: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[TestClient]:
    """An app whose journal holds the made-up day."""
    monkeypatch.setenv("TOWSCOPE_ZONE", ZONE)
    with open_store(own_home / "journal.sqlite") as store:
        made = demo_day(FIRST)
        store.append(made.events)
        store.add_track(made.track, DEVICE, ZoneInfo(ZONE))
    with TestClient(make_app(AppContext())) as client:
        yield client


def command(*words: str) -> dict[str, Any]:
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        assert cli.run([*words, "--json"]) == 0
    told: dict[str, Any] = json.loads(out.getvalue())
    return told


def ask(client: TestClient, **question: Any) -> dict[str, Any]:
    answer = client.post("/api/rigs/answer", json=question)
    assert answer.status_code == 200, answer.text
    told: dict[str, Any] = answer.json()
    return told


def finished(client: TestClient, started: Any) -> dict[str, Any]:
    assert started.status_code == 200, started.text
    return job_done(client, started.json())


def same(told: dict[str, Any], said: dict[str, Any]) -> None:
    """Every key that the command prints is in the app's answer, with the same value."""
    for key, value in said.items():
        if key == "rig":
            continue
        if isinstance(value, float) or (isinstance(value, list) and key.endswith("_m")):
            value = pytest.approx(value, rel=1e-5) if None not in np.atleast_1d(value) else value
        assert told[key] == value, key


@pytest.mark.parametrize("spec", [False, True])
def test_answers_are_those_of_the_command_line(client: TestClient, spec: bool) -> None:
    rig: dict[str, Any] = {"spec": SPEC} if spec else {"rig": "demo"}
    told = ask(client, **rig, speed_m_s=2 * MPH, depth_m=31 * FEET)
    same(told, command("letout", "demo", "--depth", "31 ft", "--speed", "2 mph"))
    told = ask(client, **rig, speed_m_s=2.2 * MPH, let_out_m=170 * FEET)
    same(told, command("depth", "demo", "--out", "170 ft", "--speed", "2.2 mph"))


def test_with_current_water_and_another_lure(client: TestClient) -> None:
    told = ask(
        client,
        rig="demo",
        lure="medium-shad",
        speed_m_s=2 * MPH,
        let_out_m=50.0,
        water_c=10.0,
        current=[{"depth_m": 0, "along_m_s": -0.2}, {"depth_m": 10, "along_m_s": 0.1}],
    )
    said = command(
        "depth", "demo", "--lure", "medium-shad", "--out", "50 m", "--speed", "2 mph", "--water",
        "10 degC", "--current", "0.2 m/s against at 0 m, 0.1 m/s with at 10 m",
    )  # fmt: skip
    same({**told, "current": said["current"]}, said)


def test_what_stands_beside_the_answer(client: TestClient) -> None:
    told = ask(client, rig="demo", speed_m_s=2 * MPH, depth_m=9.0)
    # the words that the command prints, and 10 yd a colour: common practice, no source
    assert told["count"]["words"].startswith("leader, then ")
    before, color = told["count"]["before_m"], told["count"]["color_length_m"]
    assert before + told["count"]["colors"] * color == pytest.approx(told["let_out_m"], abs=1e-3)
    assert color == pytest.approx(9.144)
    near = told["nearby"]
    assert near["slower_m"] > told["depth_m"] > near["faster_m"]  # slower is deeper
    assert near["more_m"] > told["depth_m"] > near["less_m"]
    faster = command("depth", "demo", "--out", f"{told['let_out_m']} m", "--speed", "2.2 mph")
    assert near["faster_m"] == pytest.approx(faster["depth_m"], abs=2e-3)
    around = told["around"]
    j = min(range(11), key=lambda k: abs(around["speeds_m_s"][k] - 2 * MPH))
    for i in (0, -1):
        out = around["let_outs_m"][i]
        there = command("depth", "demo", "--out", f"{out} m", "--speed", "2 mph")
        assert around["depths_m"][i][j] == pytest.approx(there["depth_m"], abs=2e-3)
    shape = told["shape_m"]
    assert shape[0][0] == 0 and shape[0][2] == pytest.approx(told["depth_m"], abs=2e-3)
    assert shape[0][1] == pytest.approx(told["layback_m"], abs=0.02)
    assert shape[-1][1:] == [0, -0.914]
    assert [p["words"] for p in told["pieces"]][1] == "18 lb thin lead core"


def test_a_lure_from_its_rating_runs_as_rated(client: TestClient) -> None:
    lures = {"my-shad": {"body": "shad", "size": "2 in", "rating": RATING}}
    line = [{"line": "mono-10", "length": "150 ft"}]
    spec = {"lure": "my-shad", "line": line, "lures": lures}
    told = ask(client, spec=spec, speed_m_s=2 * MPH, let_out_m=100 * FEET)
    assert told["depth_m"] == pytest.approx(9 * FEET, abs=0.01)


def test_a_kept_rig_is_there_for_the_command_line(client: TestClient, own_home: Path) -> None:
    first = client.get("/api/rigs").json()
    assert first["kept"] == 0 and first["begin"]
    lures = {"my-shad": {"body": "shad", "size": "2 in", "rating": RATING}}
    kept = client.put("/api/rigs/port", json={**SPEC, "lure": "my-shad", "lures": lures})
    assert kept.status_code == 200, kept.text
    assert kept.json()["own"] and kept.json()["pieces"][1]["colors"] == pytest.approx(10)
    told = ask(client, rig="port", speed_m_s=2 * MPH, depth_m=8.0)
    same(told, command("letout", "port", "--depth", "8 m", "--speed", "2 mph"))
    again = client.put("/api/rigs/port", json={**SPEC, "tip_height": "5 ft"})
    assert again.json()["tip_height_m"] == pytest.approx(1.524)
    assert tomllib.loads((own_home / "tackle.toml").read_text())["rigs"]["port"]["line"] == PIECES
    # what was answered before must not be answered from memory: the rig is another now
    now = ask(client, rig="port", speed_m_s=2 * MPH, depth_m=8.0)
    assert now["let_out_m"] != pytest.approx(told["let_out_m"], abs=0.1)
    rigs = client.get("/api/rigs").json()
    assert not rigs["begin"]
    assert rigs["kept"] == 1 and rigs["rigs"][0]["name"] == "port"
    assert client.delete("/api/rigs/port").status_code == 200
    assert client.get("/api/rigs").json()["kept"] == 0
    assert (
        client.post("/api/rigs/answer", json={"rig": "port", "speed_m_s": 1, "depth_m": 8})
        .json()["error"]
        .startswith('no rig called "port"')
    )


def test_the_stock_has_all_that_a_crew_begins_from(client: TestClient) -> None:
    stock = client.get("/api/stock").json()
    names = {line["name"] for group in stock["lines"] for line in group["lines"]}
    said = command("stock")
    assert names == set(said["lines"])
    assert {x["name"] for g in stock["lures"] for x in g["lures"]} == set(said["lures"])
    assert [g["words"] for g in stock["lines"]][:2] == ["Thin lead core", "Lead core"]
    assert stock["start"]["lure"] == "small-minnow" and stock["start"]["main"]["colors"] == 10
    assert "Lead" in stock["lead"]


BAD: list[tuple[dict[str, Any], int, str]] = [
    ({"rig": "none", "speed_m_s": 1, "depth_m": 8}, 422, 'no rig called "none"'),
    ({"speed_m_s": 1, "depth_m": 8}, 422, "one of them"),
    ({"rig": "demo", "speed_m_s": 1}, 422, "a depth or how much line"),
    ({"rig": "demo", "speed_m_s": 1, "depth_m": 8, "let_out_m": 8}, 422, "how much line"),
    ({"rig": "demo", "speed_m_s": 0, "depth_m": 8}, 422, "expected a towing speed"),
    ({"rig": "demo", "speed_m_s": 1, "depth_m": -8}, 422, "expected a depth"),
    ({"rig": "demo", "speed_m_s": 1, "let_out_m": 2}, 422, "shorter than the leader"),
    ({"rig": "demo", "speed_m_s": 1, "depth_m": 200}, 409, "deepest is"),
    ({"rig": "demo", "speed_m_s": 1, "let_out_m": 900}, 409, "cannot be let out"),
    ({"rig": "demo", "speed_m_s": "fast", "depth_m": 8}, 422, "speed_m_s"),
    ({"rig": "demo", "speed_m_s": 1, "depth_m": 8, "more": 1}, 422, "more"),
    ({"rig": "demo", "speed_m_s": 1, "depth_m": 8, "water_c": 80}, 422, "32 to 95"),
    (
        {"rig": "demo", "speed_m_s": 1, "depth_m": 8, "current": [{"along_m_s": 2.0}]},
        422,
        "as fast as the boat",
    ),
    (
        {"spec": {**SPEC, "tip_height": "3"}, "speed_m_s": 1, "depth_m": 8},
        422,
        'rod tip: "3" has no unit',
    ),
    (
        {"spec": {**SPEC, "line": [{"line": "mono-10", "length": "9 yd"}, PIECES[0], {
            "line": "fluoro-12", "length": "9 colors"}]}, "speed_m_s": 1, "depth_m": 8},
        422,
        "piece 3, length:",
    ),
    ({"spec": {**SPEC, "lure": "no"}, "speed_m_s": 1, "depth_m": 8}, 422, 'no lure called "no"'),
    ({"spec": {**SPEC, "line": []}, "speed_m_s": 1, "depth_m": 8}, 422, "line"),
    (
        {"spec": {**SPEC, "lure": "x", "lures": {"x": {"body": "shad", "size": "2 in", "rating":
            {**RATING, "depth": "90 ft"}}}}, "speed_m_s": 1, "depth_m": 8},
        422,
        "rating",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("question", "status", "says"), BAD)
def test_bad_questions_get_one_clear_line(
    client: TestClient, question: dict[str, Any], status: int, says: str
) -> None:
    answer = client.post("/api/rigs/answer", json=question)
    assert answer.status_code == status, answer.text
    error = answer.json()["error"]
    assert says in error and "\n" not in error and "Traceback" not in error


def test_not_a_number(client: TestClient) -> None:
    for bad in ("NaN", "Infinity", "1e999"):
        text = f'{{"rig": "demo", "speed_m_s": {bad}, "depth_m": 8}}'
        answer = client.post(
            "/api/rigs/answer", content=text, headers={"content-type": "application/json"}
        )
        assert answer.status_code == 422 and "speed_m_s" in answer.json()["error"]


@pytest.mark.parametrize("name", ["a b", "x" * 65, "-port", "pört"])
def test_bad_names_are_refused(client: TestClient, own_home: Path, name: str) -> None:
    answer = client.put(f"/api/rigs/{name}", json=SPEC)
    assert answer.status_code == 422 and "expected a short name" in answer.json()["error"]
    assert not (own_home / "tackle.toml").exists()


def test_stock_rigs_cannot_be_dropped(client: TestClient) -> None:
    answer = client.delete("/api/rigs/demo")
    assert answer.status_code == 422 and "stock, which stays" in answer.json()["error"]


def test_the_sheet_is_the_command_lines(client: TestClient, tmp_path: Path) -> None:
    got = client.get("/api/rigs/demo/sheet.pdf", params={"units": "metric"})
    assert got.status_code == 200 and got.headers["content-type"] == "application/pdf"
    command("table", "demo", "-o", str(tmp_path / "sheet.pdf"), "--units", "metric")
    texts = [
        PdfReader(pdf).pages[0].extract_text()
        for pdf in (io.BytesIO(got.content), tmp_path / "sheet.pdf")
    ]
    assert texts[0] == texts[1] and "demo" in texts[0]
    assert client.get("/api/rigs/none/sheet.pdf").status_code == 422


def test_readings_typed_in_narrow_the_answer(client: TestClient, own_home: Path) -> None:
    before = ask(client, rig="demo", speed_m_s=2 * MPH, let_out_m=170 * FEET)
    # a line that runs a good deal deeper than stated
    typed = [
        {"let_out_m": out * FEET, "speed_m_s": v * MPH, "depth_m": deep * FEET}
        for out, v, deep in ((120, 2.0, 24.5), (170, 2.0, 35), (170, 1.7, 41), (200, 2.2, 37))
    ]
    job = finished(client, client.post("/api/rigs/demo/calibrate", json={"typed": typed}))
    assert job["state"] == "done", job
    result = job["result"]
    assert result["readings_of_rig"] == 4 and result["next_reading"]["let_out_m"] > 0
    assert "hit bottom at" in result["words"]["next"]
    assert not (own_home / "calibration.json").exists()  # nothing is kept unasked
    same_before = ask(client, rig="demo", speed_m_s=2 * MPH, let_out_m=170 * FEET)
    assert same_before["depth_m"] == before["depth_m"]
    kept = client.post("/api/rigs/demo/calibrate/keep", json={"job": job["id"]})
    assert kept.status_code == 200, kept.text
    after = ask(client, rig="demo", speed_m_s=2 * MPH, let_out_m=170 * FEET)
    assert after["calibrated"]["readings"] == 4 and after["depth_m"] > before["depth_m"] + 0.3
    width = [b["depth_90_m"][1] - b["depth_90_m"][0] for b in (before, after)]
    assert width[1] < 0.8 * width[0]  # four readings on one day, whose current nobody stated
    same(after, command("depth", "demo", "--out", "170 ft", "--speed", "2 mph"))
    plain = ask(client, rig="demo", speed_m_s=2 * MPH, let_out_m=170 * FEET, uncalibrated=True)
    assert plain["depth_m"] == before["depth_m"]
    shown = command("calibrate", "demo", "--show")
    assert shown["readings_of_rig"] == 4
    # the same readings again from where they were kept: kept twice is refused, one is taken back
    assert client.post("/api/rigs/demo/calibrate/keep", json={"job": job["id"]}).status_code == 422
    listed = client.get("/api/rigs/demo/readings").json()["kept"]
    assert len(listed) == 4
    one = client.delete("/api/rigs/demo/readings", params={"reading": listed[0]["id"]})
    assert finished(client, one)["result"] == {"forgotten_readings": 1, "readings_left": 3}
    all_ = finished(client, client.delete("/api/rigs/demo/readings"))
    assert all_["result"]["readings_left"] == 0
    again = ask(client, rig="demo", speed_m_s=2 * MPH, let_out_m=170 * FEET)
    assert again["depth_m"] == before["depth_m"] and again["calibrated"] is None


def test_touches_from_the_journal(sailed: TestClient) -> None:
    listed = sailed.get("/api/rigs/demo/readings").json()
    hits = listed["bottom_hits"]
    assert hits and all(not t["kept"] for t in hits)
    assert all(t["speed_m_s"] is None or 0.4 < t["speed_m_s"] < 2.0 for t in hits)
    good = [t["id"] for t in hits if not t["trouble"]]
    assert good
    job = finished(sailed, sailed.post("/api/rigs/demo/calibrate", json={"bottom_hits": good}))
    assert job["state"] == "done", job
    said = command("calibrate", "demo", "journal", "--dry-run")
    readings = [m for m in said["readings"] if m["kind"] == "bottom hit"]
    assert job["result"]["readings_of_rig"] == len(readings)
    assert job["result"]["depth_per_color_at_2_mph_m"] == pytest.approx(
        said["depth_per_color_at_2_mph_m"], rel=0.02
    )
    assert sailed.post("/api/rigs/demo/calibrate/keep", json={"job": job["id"]}).status_code == 200
    listed = sailed.get("/api/rigs/demo/readings").json()
    assert sum(t["kept"] for t in listed["bottom_hits"]) == len(good)


@pytest.mark.parametrize(
    ("body", "says"),
    [
        ({}, "no readings of demo yet"),
        ({"typed": [{"let_out_m": 50, "speed_m_s": 0, "depth_m": 9}]}, "speed"),
        ({"typed": [{"let_out_m": 5, "speed_m_s": 1, "depth_m": 90}]}, "deeper than the line"),
        ({"typed": [{"let_out_m": 5000, "speed_m_s": 1, "depth_m": 9}]}, "holds"),
        ({"typed": [{"let_out_m": 50, "speed_m_s": 1, "depth_m": 9, "kind": "guess"}]}, "kind"),
        ({"typed": [{"speed_m_s": 1, "depth_m": 9}]}, "let_out_m"),
    ],
)
def test_readings_that_cannot_be(client: TestClient, body: dict[str, Any], says: str) -> None:
    answer = client.post("/api/rigs/demo/calibrate", json=body)
    assert answer.status_code == 422 and says in answer.json()["error"], answer.text
    assert client.post("/api/rigs/none/calibrate", json={}).status_code == 422
    assert client.delete("/api/rigs/demo/readings").status_code == 422


def test_a_broken_tackle_file_is_named_and_left(client: TestClient, own_home: Path) -> None:
    (own_home / "tackle.toml").write_text("[rigs.port]\nlure = 3\n")
    for answer in (client.get("/api/rigs"), client.put("/api/rigs/bow", json=SPEC)):
        assert answer.status_code == 422 and "tackle.toml" in answer.json()["error"]
    assert (own_home / "tackle.toml").read_text() == "[rigs.port]\nlure = 3\n"


def test_a_slider_is_followed(client: TestClient) -> None:
    ask(client, rig="demo", speed_m_s=0.9, depth_m=8.0)
    spent = []
    for n in range(30):
        begun = time.process_time()  # what it costs, whatever else the machine does meanwhile
        ask(client, rig="demo", speed_m_s=0.7 + 0.02 * n, depth_m=8.0)
        spent.append(time.process_time() - begun)
    assert sorted(spent)[15] < 0.1
