"""Lakes and passes over HTTP: the same answers as the command line, kept, and stoppable."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx2 as httpx
import numpy as np
import pytest
import shapely
import shapely.geometry
from fastapi.testclient import TestClient
from tests.waiting import job_done

from towscope.bed import store
from towscope.bed.bed import LakeBed
from towscope.bed.gridding import Frame
from towscope.cli import run
from towscope.demo import long_slate
from towscope.geodesy import Place
from towscope.passes import plans
from towscope.units import METRIC, US
from towscope.web.app import make_app
from towscope.web.context import AppContext

NAME = "Step Pond"
ASK = {
    "depth_m": 12.0, "off_bottom_m": 2.0, "rig": "demo", "speed_m_s": 0.894,
    "wind_from_deg": 270.0, "wind_m_s": 3.0, "count": 1,
}  # fmt: skip


def pond(half: float = 200.0, cell: float = 4.0) -> LakeBed:
    """A square lake whose bottom steps from 8 m to 16 m, with an island."""
    n = int(2 * half / cell) + 1
    v = -half + cell * np.arange(n)
    x, y = np.meshgrid(v, v)
    depth = 12.0 + 4.0 * np.tanh(y / 12.0)
    wet = np.hypot(np.abs(x) / half, np.abs(y) / half) < 0.98
    wet &= np.hypot(x - 90.0, y + 90.0) > 20.0
    return LakeBed(
        Place(48.0, -92.0), Frame(-half, -half, cell, n, n), depth.astype(np.float32),
        np.full((n, n), 0.1, np.float32), wet, {"between_runs_m": 30.0},
    )  # fmt: skip


@pytest.fixture
def client() -> Iterator[TestClient]:
    store.save(NAME, pond())
    with TestClient(make_app(AppContext(lake=NAME)), headers={"X-Towscope": "1"}) as found:
        yield found


def finished(client: TestClient, answer: httpx.Response, patience: float = 120.0) -> dict[str, Any]:
    assert answer.status_code == 202, answer.text
    return job_done(client, answer.json(), patience)


def test_lakes_are_listed_with_their_figures(client: TestClient) -> None:
    said = client.get("/api/lakes").json()
    assert said["current"] == NAME
    (lake,) = said["lakes"]
    assert lake["name"] == NAME
    assert lake["max_depth_m"] == pytest.approx(store.facts(NAME)["max_depth_m"])
    refused = client.get("/api/lakes/None Such/map")
    assert refused.status_code == 422
    assert "None Such" in refused.json()["error"]


# -- the map -----------------------------------------------------------------------------------


def signed_area(ring: list[list[float]]) -> float:
    x, y = np.array(ring).T
    return float(0.5 * np.sum(x[:-1] * y[1:] - x[1:] * y[:-1]))


def check_geojson(found: dict[str, Any]) -> None:
    """Hold it to RFC 7946 (2016): rings closed, outside ones anticlockwise, longitude first."""
    assert found["type"] == "FeatureCollection"
    for feature in found["features"]:
        assert feature["type"] == "Feature"
        shape = shapely.geometry.shape(feature["geometry"])
        assert shapely.is_valid(shape), shapely.is_valid_reason(shape)
        west, south, east, north = shape.bounds
        assert -93.0 < west <= east < -91.0
        assert 47.0 < south <= north < 49.0
        if feature["geometry"]["type"] == "Polygon":
            outer, *holes = feature["geometry"]["coordinates"]
            assert outer[0] == outer[-1]
            assert signed_area(outer) > 0.0
            assert all(signed_area(hole) < 0.0 for hole in holes)


def test_the_map_is_valid_geojson_at_round_depths(client: TestClient) -> None:
    bed = pond()
    for units, system, round_ones in (("us", US, {30.0, 35.0, 40.0}), ("metric", METRIC, {10.0})):
        found = client.get(f"/api/lakes/{NAME}/map", params={"units": units}).json()
        check_geojson(found)
        contours = [f for f in found["features"] if f["properties"]["kind"] == "contour"]
        shown = {f["properties"]["shown"] for f in contours}
        assert round_ones <= shown
        for each in contours:
            p = each["properties"]
            assert system.convert(p["depth_m"], "length") == pytest.approx(p["shown"], abs=0.01)
            # the pond's bottom is known in closed form: where on a line is it not so deep?
            lon, lat = np.array(each["geometry"]["coordinates"]).T
            _, y = bed.place.to_metres(lat, lon)
            # smoothing and thinning move a line sideways by 1.5 m at most
            steep = 4.0 / 12.0
            assert np.abs(12.0 + 4.0 * np.tanh(y / 12.0) - p["depth_m"]).max() < 1.5 * steep


def test_the_shading_covers_what_lies_deeper(client: TestClient) -> None:
    found = client.get(f"/api/lakes/{NAME}/map").json()
    bed = pond()
    rng = np.random.default_rng(7)
    x, y = rng.uniform(-180.0, 180.0, (2, 600))
    truth = 12.0 + 4.0 * np.tanh(y / 12.0)
    lat, lon = bed.place.to_globe(x, y)
    places = shapely.points(lon, lat)
    in_water = np.zeros(600, bool)
    for f in found["features"]:
        if f["properties"]["kind"] == "water":
            in_water |= shapely.contains(shapely.geometry.shape(f["geometry"]), places)
    wet = np.array([bed.on_water(a, b) for a, b in zip(x, y, strict=True)])
    assert np.mean(in_water == wet) > 0.97  # all but those within a cell of the shore
    depths = {f["properties"]["depth_m"] for f in found["features"] if "depth_m" in f["properties"]}
    for depth in depths:
        covered = np.zeros(600, bool)
        for f in found["features"]:
            if f["properties"]["kind"] == "deeper" and f["properties"]["depth_m"] == depth:
                covered |= shapely.contains(shapely.geometry.shape(f["geometry"]), places)
        clear = in_water & (np.abs(truth - depth) > 0.5)
        assert np.array_equal(covered[clear], truth[clear] > depth)


def test_the_map_is_asked_for_once(client: TestClient) -> None:
    url = f"/api/lakes/{NAME}/map"
    first = client.get(url)
    tag = first.headers["etag"]
    again = client.get(url, headers={"If-None-Match": tag})
    assert again.status_code == 304
    assert not again.content
    assert client.get(url, params={"units": "metric"}).headers["etag"] != tag
    store.save(NAME, pond(half=180.0))  # built anew: another bed, another tag
    anew = client.get(url, headers={"If-None-Match": tag})
    assert anew.status_code == 200
    assert anew.json()["bbox"] != first.json()["bbox"]


@pytest.fixture(scope="module")
def slate() -> LakeBed:
    v = [np.arange(-1750.0, 1750.0, 8.0), np.arange(-700.0, 700.0, 8.0)]
    x, y = np.meshgrid(*v)
    depth = long_slate.true_depth(x, y).astype(np.float32)
    frame = Frame(-1750.0, -700.0, 8.0, *x.shape)
    return LakeBed(long_slate.PLACE, frame, depth, np.full_like(depth, 0.3), depth > 0.0, {})


def test_the_map_of_a_whole_lake_stays_small(client: TestClient, slate: LakeBed) -> None:
    store.save("Long Slate", slate)
    for units in ("us", "metric"):
        answer = client.get(
            "/api/lakes/Long Slate/map", params={"units": units, "depth_m": 31 * 0.3048}
        )
        assert answer.status_code == 200
        assert len(answer.content) < 400_000
        found = answer.json()
        check_geojson(found)
        kinds = {f["properties"]["kind"] for f in found["features"]}
        assert {"water", "deeper", "contour", "edge", "point", "inside turn", "hump"} <= kinds


# -- edges and depths --------------------------------------------------------------------------


def test_edges_are_thinned_for_a_screen(client: TestClient, slate: LakeBed) -> None:
    store.save("Long Slate", slate)
    found = client.get("/api/lakes/Long Slate/edges", params={"depth_m": 9.4}).json()
    assert found["edges"] >= 1
    assert len(found["features"]) > 8
    thin = client.get("/api/lakes/Long Slate/edges", params={"depth_m": 9.4, "thin_m": 0.75})
    assert len(thin.content) < 0.4 * len(json.dumps(found))
    for mine, fewer in zip(found["features"], thin.json()["features"], strict=True):
        a = shapely.geometry.shape(mine["geometry"])
        b = shapely.geometry.shape(fewer["geometry"])
        # 0.75 m and the rounding of both, in degrees of longitude here
        assert shapely.hausdorff_distance(a, b) < 0.9 / 73_900.0


def test_no_depth_is_told_ashore(client: TestClient) -> None:
    ashore = client.get(f"/api/lakes/{NAME}/depth", params={"lat": 48.1, "lon": -92.0})
    assert ashore.status_code == 409


@pytest.mark.parametrize(
    ("path", "status"),
    [
        ("edges?depth_m=nan", 422),
        ("edges?depth_m=-3", 422),
        ("edges?depth_m=99", 409),
        ("edges", 422),
        ("map?units=cubits", 422),
        ("map?depth_m=inf", 422),
        ("depth?lat=91&lon=0", 422),
        ("depth?lat=48", 422),
        ("passes/../../../etc/passwd", 404),
        ("passes/20260101-000000-abcdef", 422),
        ("passes/x/gpx", 422),
    ],
)
def test_bad_questions_are_answered_in_one_line(client: TestClient, path: str, status: int) -> None:
    answer = client.get(f"/api/lakes/{NAME}/{path}")
    assert answer.status_code == status
    if status != 404:
        assert len(answer.json()["error"].splitlines()) == 1


# -- a lake from a log -------------------------------------------------------------------------


def log_of_a_bay() -> bytes:
    """A small survey, run by run, with one spike and one lost bottom among it."""
    rows = ["lat,lon,depth_ft"]
    place = Place(48.0, -92.0)
    for k, y in enumerate(np.arange(-120.0, 121.0, 20.0)):
        x = np.arange(-150.0, 151.0, 5.0)[:: 1 if k % 2 else -1]
        lat, lon = place.to_globe(x, np.full_like(x, y))
        feet = (20.0 + 0.05 * x + 4.0 * np.sin(y / 40.0)).round(1)
        rows += [f"{a:.6f},{b:.6f},{d}" for a, b, d in zip(lat, lon, feet, strict=True)]
    cells = rows[200].split(",")
    rows[200] = f"{cells[0]},{cells[1]},95.0"
    cells = rows[400].split(",")
    rows[400] = f"{cells[0]},{cells[1]},0.0"
    return "\n".join(rows).encode()


def upload(client: TestClient, body: bytes, **more: Any) -> httpx.Response:
    params = {"name": "Bay", "file": "bay log.csv", **more}
    answer: httpx.Response = client.post("/api/lakes", params=params, content=body)
    return answer


def test_a_log_becomes_a_lake_and_says_what_it_left_out(client: TestClient) -> None:
    job = finished(client, upload(client, log_of_a_bay()))
    assert job["state"] == "done", job
    built = job["result"]
    assert built["lake"]["name"] == "Bay"
    assert built["lake"]["sources"] == ["bay log.csv"]
    assert {row["reason"] for row in built["rows"]} == {"spike", "lost bottom"}
    assert {row["row"] for row in built["rows"]} == {201, 401}
    assert sum(built["lake"]["dropped"].values()) == 2
    found = client.get("/api/lakes/Bay/depth", params={"lat": 48.0, "lon": -92.0}).json()
    assert found["depth_m"] == pytest.approx(20.0 * 0.3048, abs=0.3)
    # a second of the same name is refused unless it is meant
    assert "called Bay already" in upload(client, log_of_a_bay()).json()["error"]
    assert finished(client, upload(client, log_of_a_bay(), replace=True))["state"] == "done"


def square(half: float) -> str:
    """A square about the bay, as a line."""
    x = np.array([-half, half, half, -half, -half])
    y = np.array([-half, -half, half, half, -half])
    lat, lon = Place(48.0, -92.0).to_globe(x, y)
    return json.dumps(
        {
            "type": "Feature",
            "properties": {},
            "geometry": {"type": "LineString", "coordinates": list(zip(lon, lat, strict=True))},
        }
    )


def test_a_shoreline_sent_behind_the_soundings_bounds_the_water(client: TestClient) -> None:
    log, shore = log_of_a_bay(), square(100.0).encode()
    more = {"shore": "shore of the bay.geojson", "shore_bytes": len(shore)}
    job = finished(client, upload(client, log + shore, **more))
    assert job["state"] == "done", job
    lake = job["result"]["lake"]
    assert lake["area_m2"] == pytest.approx(200.0**2, rel=0.02)
    assert lake["sources"] == ["bay log.csv"]
    outside = client.get("/api/lakes/Bay/depth", params={"lat": 48.0, "lon": -92.0 + 0.0018})
    assert outside.status_code in (409, 422)


def test_heights_of_the_bottom_become_depths_below_the_waters(client: TestClient) -> None:
    """1417 ft less 20 ft deep, in metres: the bottom is told by its height."""
    rows = log_of_a_bay().decode().splitlines()[1:]
    heights = ["lat,lon,elevation_m"]
    for row in rows:
        lat, lon, feet = row.split(",")
        heights.append(f"{lat},{lon},{(1417.0 - float(feet)) * 0.3048:.3f}")
    body = "\n".join(heights).encode()
    more = {"columns": "lat=lat,lon=lon,depth=elevation_m", "depth_unit": "m"}
    refused = finished(client, upload(client, body, **more))
    assert refused["state"] == "failed" and "Height of the water" in refused["error"]
    job = finished(client, upload(client, body, surface_m=1417.0 * 0.3048, **more))
    assert job["state"] == "done", job
    found = client.get("/api/lakes/Bay/depth", params={"lat": 48.0, "lon": -92.0}).json()
    assert found["depth_m"] == pytest.approx(20.0 * 0.3048, abs=0.3)


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"shore": "s.geojson", "shore_bytes": 10**6}, "expected some of them"),
        ({"shore": "s.geojson"}, "expected some of them"),
    ],
)
def test_a_shoreline_that_is_not_there_is_refused(
    client: TestClient, more: dict[str, Any], said: str
) -> None:
    answer = upload(client, log_of_a_bay(), **more)
    assert answer.status_code == 422 and said in answer.json()["error"]


@pytest.mark.parametrize(
    ("body", "more", "said"),
    [
        (b"", {}, "empty"),
        (b"\x00\x01\x02" * 50, {"file": "x.exe"}, "binary"),
        (b"hello, this is no log\n" * 20, {}, "bay log.csv"),
        (b"lat,lon,depth_ft\n48,-92,10\n", {}, "too few"),
        (b"lat,lon,depth_ft\n" + b"48,-92,nan\n" * 30, {}, "sounding"),
        (b"x", {"name": "../up"}, "will not do"),
        (b"x", {"columns": "sideways"}, "Columns"),
        (b"x", {"water_degc": "nan"}, "water_degc"),
    ],
)
def test_what_is_no_log_is_refused(
    client: TestClient, body: bytes, more: dict[str, str], said: str
) -> None:
    answer = upload(client, body, **more)
    if answer.status_code == 202:
        job = finished(client, answer)
        assert job["state"] == "failed"
        text = job["error"]
    else:
        assert answer.status_code == 422
        text = answer.json()["error"]
    assert said in text
    assert "/tmp" not in text  # not where it lay on this machine
    assert "--" not in text  # not in the command line's words
    assert "Bay" not in store.names()


def test_too_large_a_log_is_refused_before_it_is_read(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    from towscope.web.routes import lakes

    monkeypatch.setattr(lakes, "MOST_UPLOADED", 1000)
    assert "expected a sounder's log below" in upload(client, b"1" * 1001).json()["error"]

    def pieces() -> Iterator[bytes]:  # without a length said beforehand
        for _ in range(20):
            yield b"1" * 100

    answer = client.post("/api/lakes", params={"name": "Bay", "file": "b.csv"}, content=pieces())
    assert "expected a sounder's log below" in answer.json()["error"]


# -- passes ------------------------------------------------------------------------------------


def test_passes_are_planned_kept_and_given_out(
    client: TestClient, capsys: pytest.CaptureFixture[str], own_home: Path
) -> None:
    url = f"/api/lakes/{NAME}/passes"
    assert client.get(url).json() == {"plans": []}
    job = finished(client, client.post(url, json=ASK))
    assert job["state"] == "done", job
    plan = job["result"]["id"]
    (brief,) = client.get(url).json()["plans"]
    assert brief["id"] == plan
    assert brief["same_bed"] is True
    whole = client.get(f"{url}/{plan}").json()
    # the same question of the command line
    words = ["--off-bottom", "2 m", "--rig", "demo", "--speed", "0.894 m/s", "--wind", "W, 3 m/s"]
    line = ["lake", "passes", NAME, "--depth", "12 m", *words, "--count", "1", "--json"]
    capsys.readouterr()
    assert run(line) == 0
    (told,) = json.loads(capsys.readouterr().out)["passes"]
    (mine,) = whole["passes"]
    for key in ("length_m", "heading_deg", "reason", "lure_off_line_m", "let_out_m"):
        assert mine[key] == (told[key] if isinstance(told[key], str) else pytest.approx(told[key]))
    assert mine["risk"]["bottom_hit"] == told["risk"]["bottom_hit"]
    assert [t["let_out_m"] for t in mine["schedule"]] == pytest.approx(
        [t["let_out_m"] for t in told["schedule"]]
    )
    # words in both systems, no figure of the one in the other
    assert " ft" in whole["words"]["us"]["passes"][0]["why"]
    assert " ft" not in json.dumps(whole["words"]["metric"])
    assert "--" not in json.dumps(whole["words"])
    gpx = client.get(f"{url}/{plan}/gpx", params={"units": "metric"})
    assert gpx.headers["content-type"].startswith("application/gpx+xml")
    assert "attachment" in gpx.headers["content-disposition"]
    import gpxpy
    import pypdf

    assert gpxpy.parse(gpx.text).routes[0].name == "pass 1"
    page = client.get(f"{url}/{plan}/page")
    (own_home / "page.pdf").write_bytes(page.content)
    text = "".join(p.extract_text() for p in pypdf.PdfReader(own_home / "page.pdf").pages)
    assert "lure on the edge" in text
    # the lake built anew: the plan says so
    store.save(NAME, pond(half=180.0))
    assert client.get(url).json()["plans"][0]["same_bed"] is False
    assert client.delete(f"{url}/{plan}").json() == {"plans": []}
    assert client.get(f"{url}/{plan}").status_code == 422
    assert not list((own_home / "lakes" / "step-pond" / "plans").iterdir())


def test_a_plan_shows_how_far_it_is_and_stops(client: TestClient) -> None:
    answer = client.post(f"/api/lakes/{NAME}/passes", json={**ASK, "safer": True, "count": 2})
    job = answer.json()
    seen = [0.0]
    until = time.monotonic() + 60.0
    while job["state"] == "going" and job["share"] < 0.1 and time.monotonic() < until:
        time.sleep(0.02)
        job = client.get(f"/api/jobs/{job['id']}").json()
        seen.append(job["share"])
    assert seen == sorted(seen)
    assert job["doing"]
    client.delete(f"/api/jobs/{job['id']}")
    assert finished(client, answer, 30.0)["state"] == "stopped"
    assert client.get(f"/api/lakes/{NAME}/passes").json() == {"plans": []}


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"rig": "none-such"}, "none-such"),
        ({"lure": "none-such"}, "none-such"),
        ({"off_bottom_m": 13.0}, "higher off bottom"),
        ({"depth_m": -1.0}, "depth_m"),
        ({"speed_m_s": 50.0}, "speed_m_s"),
        ({"count": 100}, "count"),
        ({"units": "cubits"}, "units"),
        ({"wind_m_s": "fast"}, "wind_m_s"),
    ],
)
def test_a_plan_that_makes_no_sense_is_refused_at_once(
    client: TestClient, more: dict[str, Any], said: str
) -> None:
    answer = client.post(f"/api/lakes/{NAME}/passes", json={**ASK, **more})
    assert answer.status_code == 422
    assert said in answer.json()["error"]


def test_what_cannot_be_had_is_said(client: TestClient) -> None:
    job = finished(client, client.post(f"/api/lakes/{NAME}/passes", json={**ASK, "depth_m": 40.0}))
    assert job["state"] == "failed"
    assert "this lake's deepest" in job["error"]
    assert " ft" in job["error"]  # in the asker's units


def test_a_broken_plan_spoils_no_list(client: TestClient, own_home: Path) -> None:
    good = plans.keep(
        NAME,
        {"bed": "", "asked": ASK, "calibrated": False, "passes": []},
        {"lake": NAME},
        {".pdf": b"%PDF"},
    )
    folder = own_home / "lakes" / "step-pond" / "plans"
    (folder / "20260101-000000-abcdef.json").write_text('{"format": 1, "id')
    (folder / "20260101-000001-abcdef.json").write_text("[]")
    found = client.get(f"/api/lakes/{NAME}/passes").json()["plans"]
    assert [each["id"] for each in found] == [good]


# -- what readings have taught --------------------------------------------------------------------

READINGS = """time,rig,let_out [ft],speed [mph],bottom_depth [ft],kind
2026-08-14T06:40:00-05:00,demo,120,1.8,19.5,bottom hit
2026-08-14T06:58:00-05:00,demo,150,1.9,25,bottom hit
2026-08-14T07:10:00-05:00,demo,170,2.1,26,first bottom hit
2026-08-14T08:10:00-05:00,demo,140,1.7,28,miss
2026-08-15T08:40:00-05:00,demo,200,1.9,34,bottom hit
"""


def test_a_pass_is_run_by_the_rig_as_its_readings_leave_it(
    client: TestClient,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from towscope.sheets import passes as sheet

    monkeypatch.setattr(sheet, "page", lambda *_: b"%PDF")  # its page is set elsewhere
    readings = tmp_path / "readings.csv"
    readings.write_text(READINGS)
    assert run(["calibrate", "demo", str(readings), "--json"]) == 0
    url = f"/api/lakes/{NAME}/passes"

    def most_out(**more: Any) -> tuple[float, bool]:
        job = finished(client, client.post(url, json={**ASK, "units": "metric", **more}))
        assert job["state"] == "done", job
        whole = client.get(f"{url}/{job['result']['id']}").json()
        return whole["passes"][0]["let_out_m"][1], whole["calibrated"]

    calibrated, said = most_out()
    stated, said_uncalibrated = most_out(uncalibrated=True)
    assert (said, said_uncalibrated) == (True, False)
    # these readings say that the line runs shallower than stated: more is let out
    assert calibrated > stated + 2.0
    words = ["--off-bottom", "2 m", "--rig", "demo", "--speed", "0.894 m/s", "--wind", "W, 3 m/s"]
    line = ["lake", "passes", NAME, "--depth", "12 m", *words, "--count", "1", "--units", "metric"]
    capsys.readouterr()
    assert run([*line, "--json"]) == 0
    (told,) = json.loads(capsys.readouterr().out)["passes"]
    assert told["let_out_m"][1] == pytest.approx(calibrated)
