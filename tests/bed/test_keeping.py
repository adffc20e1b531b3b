"""Lakes kept and asked about by the commands: whole or not at all, nothing outside the house."""

from __future__ import annotations

import json

import numpy as np
import pytest
import rasterio
from hypothesis import given
from hypothesis import strategies as st

from towscope.bed import store
from towscope.cli import run
from towscope.errors import InputError
from towscope.files import home

from .conftest import REAL
from .known import PLACE, lake_of, lines


@pytest.fixture(scope="module")
def plane():
    return lake_of(lambda x, y: 15.0 + 0.03 * x + 0.04 * y, half=80.0, cell=4.0)


def kept(name="Plane"):
    return home() / "lakes" / store.slug(name)


def test_a_lake_comes_back_as_it_was_kept(plane):
    store.save("Plane Lake", plane, {"notes": ["as surveyed"]})
    back = store.load("plane lake")
    assert np.array_equal(back.surface, plane.surface)
    assert np.array_equal(back.sd, plane.sd)
    assert np.array_equal(back.wet, plane.wet)
    assert back.frame == plane.frame
    assert back.place == plane.place
    assert back.facts["notes"] == ["as surveyed"]
    assert store.names() == ["Plane Lake"]


def test_the_geotiff_says_the_same_to_rasterio(plane):
    store.save("Plane", plane)
    (path,) = kept().glob("bed-*.tif")
    with rasterio.open(path) as grid:
        assert grid.tags(ns="IMAGE_STRUCTURE")["LAYOUT"] == "COG"
        assert grid.units == ("metre",) * 3
        assert grid.descriptions[0] == "depth"
        x, y = 20.0, -30.0
        depth, sd, _ = next(grid.sample([(x, y)]))
        assert depth == pytest.approx(15.0 + 0.03 * 20 - 0.04 * 30, abs=0.25)
        # by way of the globe, as another program would come
        from pyproj import Transformer

        lat, lon = PLACE.to_globe(x, y)
        to = Transformer.from_crs("EPSG:4326", grid.crs.to_wkt(), always_xy=True)
        assert to.transform(lon, lat) == pytest.approx((x, y), abs=1e-3)
        i, j = grid.index(x, y)
        assert np.isnan(grid.read(1)[0, 0])
        assert sd == pytest.approx(plane.sd[::-1][i, j])


def test_a_failed_save_leaves_the_old_lake(plane, monkeypatch):
    store.save("Plane", plane)
    before = {p.name: p.read_bytes() for p in kept().iterdir()}

    def full(path, data):
        raise InputError("cannot write: No space left on device")

    monkeypatch.setattr(store, "write_whole", full)
    with pytest.raises(InputError, match="No space"):
        store.save("Plane", plane)
    assert {p.name: p.read_bytes() for p in kept().iterdir()} == before


@pytest.mark.parametrize(
    "name",
    ["", "..", "../x", "a/b", "a\\b", "/etc", "C:x", "con", "x" * 80, ".hidden", "a\x00b", "-o"],
)
def test_names_that_would_leave_the_house(name):
    with pytest.raises(InputError, match="will not do"):
        store.slug(name)


@given(st.text(max_size=70))
def test_no_name_leaves_the_house(name):
    try:
        found = store.folder(name)
    except InputError:
        return
    assert found.parent == home() / "lakes"
    assert found.name not in ("", ".", "..")


def test_broken_lakes_are_named(plane):
    with pytest.raises(InputError, match="no lake is called"):
        store.load("Nowhere")
    store.save("Plane", plane)
    (tif,) = kept().glob("bed-*.tif")
    tif.write_bytes(tif.read_bytes()[:300])
    with pytest.raises(InputError, match="broken"):
        store.load("Plane")
    text = json.loads((kept() / "lake.json").read_text())
    for change in ({"bed": "../../x.tif"}, {"cell_m": -1}, {"rows": "many"}, {"format": 99}):
        (kept() / "lake.json").write_text(json.dumps({**text, **change}))
        with pytest.raises(InputError, match="broken"):
            store.load("Plane")
    (kept() / "lake.json").write_text("[1")
    with pytest.raises(InputError, match="broken"):
        store.load("Plane")


def asked(capsys, *argv, status=0):
    assert run([str(a) for a in argv]) == status
    out = capsys.readouterr()
    return out.out if status == 0 else out.err


def survey(tmp_path, unit="ft", head="lat,lon,depth_ft"):
    x, y = lines(80.0)
    z = (15.0 + 0.03 * x + 4.0 * np.tanh(y / 12.0)) / (0.3048 if unit == "ft" else 1.0)
    lat, lon = PLACE.to_globe(x, y)
    rows = [f"{a:.7f},{b:.7f},{c:.2f}" for a, b, c in zip(lat, lon, z, strict=True)]
    rows[10] = rows[10].rsplit(",", 1)[0] + ",0.0"
    path = tmp_path / "log.csv"
    path.write_text("\n".join([head, *rows]) + "\n")
    return path


def test_from_a_log_to_depth_edges_and_map(tmp_path, capsys):
    log = survey(tmp_path)
    answer = json.loads(
        asked(capsys, "lake", "build", log, "--name", "Two Mile", "--cell", "4 m", "--json")
    )
    assert [(d["row"], d["reason"]) for d in answer["dropped"]] == [(12, "lost bottom")]
    shown = json.loads(asked(capsys, "lake", "show", "Two Mile", "--json"))
    for key in ("area_m2", "volume_m3", "max_depth_m", "mean_depth_m", "cell_m"):
        assert shown[key] > 0
    assert "tmerc" in shown["crs"]
    # a longitude west of Greenwich begins with a minus, and is no option
    lat, lon = PLACE.to_globe(30.0, -60.0)
    found = json.loads(
        asked(capsys, "lake", "depth", "Two Mile", f"{lat:.6f}", f"{lon:.6f}", "--json")
    )
    assert found["depth_m"] == pytest.approx(15.0 + 0.9 - 4.0, abs=0.2)
    assert found["interval_90_m"][0] < found["depth_m"] < found["interval_90_m"][1]
    assert "nine times in ten" in asked(
        capsys, "lake", "depth", "--units", "metric", "Two Mile", f"{lat:.6f}", f"{lon:.6f}"
    )
    edges = json.loads(asked(capsys, "lake", "edges", "Two Mile", "--depth", "49 ft", "--json"))
    assert edges["type"] == "FeatureCollection"
    assert edges["features"][0]["properties"]["kind"] == "edge"
    assert "edge" in asked(capsys, "lake", "edges", "Two Mile", "--depth", "15 m")
    for kind in ("png", "pdf"):
        picture = tmp_path / f"map.{kind}"
        asked(capsys, "lake", "map", "Two Mile", "-o", picture, "--depth", "49 ft")
        assert picture.read_bytes()[:4] in (b"\x89PNG", b"%PDF")
        assert picture.stat().st_size > 20_000
    assert "Two Mile" in asked(capsys, "lake", "list")
    assert "row 12" in asked(capsys, "lake", "show", "Two Mile")


def test_building_the_same_lake_twice_gives_the_same_bed(tmp_path, capsys):
    log = survey(tmp_path)
    asked(capsys, "lake", "build", log, "--name", "Twin", "--cell", "4 m")
    first = next(kept("Twin").glob("bed-*.tif")).name
    asked(capsys, "lake", "build", log, "--name", "twin", "--cell", "4 m")
    assert next(kept("Twin").glob("bed-*.tif")).name == first  # named by its content


def test_an_assumed_unit_is_said(tmp_path, capsys):
    log = survey(tmp_path, head="lat,lon,depth")
    out = asked(capsys, "lake", "build", log, "--name", "Doubt", "--cell", "4 m", "--json")
    notes = " ".join(json.loads(out)["notes"])
    assert "read as metres" in notes


@pytest.mark.parametrize(
    ("argv", "said"),
    [
        (("build", "none.csv", "--name", "X"), "No such file"),
        (("build", "{log}", "--name", "../X"), "will not do"),
        (("build", "{log}", "--name", "X", "--depth-unit", "yards"), "expected m, ft or fathom"),
        (("build", "{log}", "--name", "X", "--sign", "left"), "expected down or up"),
        (("build", "{log}", "--name", "X", "--columns", "lat"), "expected lat=NAME"),
        (("build", "{log}", "--name", "X", "--cell", "2"), "no unit"),
        (("build", "{log}", "--name", "X", "--cell", "1 mm"), "expected 0.1 to 1000 m"),
        (("build", "{log}", "--name", "X", "--box", "1,2"), "SOUTH,WEST"),
        (("build", "{log}", "--name", "X", "--water", "200 degF"), "reason"),
        (("show", "Nowhere"), "no lake is called"),
        (("depth", "Nowhere", "north", "-92"), "expected degrees"),
        (("depth", "Nowhere", "-92.1", "48.1"), "latitude comes first"),
        (("depth", "Nowhere", "nan", "48.1"), "expected degrees"),
        (("edges", "Nowhere", "--depth", "31"), "no unit"),
        (("edges", "Nowhere", "--depth", "31 ft", "--steep", "0 %"), "expected a slope"),
        (("map", "Nowhere", "-o", "x.doc"), "name ending in .png"),
        (("sun", "48", "-92", "--date", "yesterday"), "expected a day"),
        (("sun", "48", "-92", "--tz", "Mars"), "unknown time zone"),
        (("sun", "48"), "LON"),
        (("column", "warm"), "cannot read"),
        (("column", "none.csv"), "No such file"),
        (("show", "Nowhere", "--units", "cubits"), "us or metric"),
    ],
)
def test_bad_words_end_in_one_line_and_status_two(tmp_path, capsys, argv, said):
    log = survey(tmp_path)
    err = asked(capsys, "lake", *(a.format(log=log) for a in argv), status=2)
    assert said in err
    assert err.count("\n") == 1
    assert "Traceback" not in err
    assert not (home() / "lakes").exists()


def test_no_such_answer_is_status_one(tmp_path, capsys):
    asked(capsys, "lake", "build", survey(tmp_path), "--name", "Deep", "--cell", "4 m")
    err = asked(capsys, "lake", "edges", "Deep", "--depth", "200 ft", status=1)
    assert "this lake's deepest is" in err
    assert "ft" in err
    lat, lon = PLACE.to_globe(3000.0, 0.0)
    err = asked(capsys, "lake", "depth", "Deep", f"{lat:.5f}", f"{lon:.5f}", status=1)
    assert "from the sounded water" in err


def test_lake_227_from_the_command(capsys):
    answer = json.loads(asked(capsys, "lake", "build", REAL, "--name", "Lake 227", "--json"))
    assert [d["row"] for d in answer["dropped"]] == [2, 3, 4, 5, 6, 7]
    assert answer["area_m2"] == pytest.approx(5.0e4, rel=0.10)


def test_water_and_sky_from_the_command(capsys):
    found = json.loads(
        asked(
            capsys, "lake", "sun", "48.4", "-91.9", "--date", "2026-08-09", "--tz", "UTC", "--json"
        )
    )
    assert found["sunrise"].startswith("2026-08-09T10:5")
    assert "low light" in asked(
        capsys, "lake", "sun", "48.4", "-91.9", "--date", "2026-08-09", "--tz", "America/Chicago"
    )
    profile = "0 ft 72 degF, 10 72, 20 70, 25 64, 30 57, 35 54, 45 51"
    found = json.loads(asked(capsys, "lake", "column", profile, "--depth", "31 ft", "--json"))
    assert found["below_thermocline"] is True
    assert 6.0 < found["thermocline_m"] < 9.0
    assert "Read et al." in found["method"]
    out = asked(capsys, "lake", "column", profile, "--depth", "31 ft")
    assert "31 ft is below" in out.replace("\n", " ")
