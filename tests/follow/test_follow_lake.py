"""Clearance over a lake's own bottom, behind a recorded track: a slope known to the inch."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from towscope.bed.bed import LakeBed
from towscope.bed.gridding import Frame
from towscope.bed.store import save
from towscope.cli import run
from towscope.geodesy import Place

PLACE = Place(48.4, -91.9)
CELL, WIDE = 5.0, 121  # 600 m square about the place
SLOPE = 0.02  # it falls to the east, 12 m deep in the middle
SD = 0.4


def slope(x: np.ndarray) -> np.ndarray:
    return 12.0 + SLOPE * x


@pytest.fixture
def lake(own_home: Path) -> Iterator[str]:
    west = -0.5 * CELL * (WIDE - 1)
    x = west + CELL * np.arange(WIDE)
    surface = np.tile(slope(x), (WIDE, 1)).astype(np.float32)
    sd = np.full_like(surface, SD)
    wet = np.ones(surface.shape, bool)
    save("Sloping", LakeBed(PLACE, Frame(west, west, CELL, WIDE, WIDE), surface, sd, wet))
    yield "Sloping"


def track(path: Path, begin: float = -200.0, seconds: int = 240) -> Path:
    """Write a track to the east at 2 mph through the middle of the lake."""
    x = begin + 0.894 * np.arange(seconds)
    lat, lon = PLACE.to_globe(x, np.full(seconds, 30.0))
    rows = [
        f"2026-08-14T12:{s // 60:02d}:{s % 60:02d}Z,{a:.8f},{o:.8f}"
        for s, (a, o) in enumerate(zip(lat, lon, strict=True))
    ]
    path.write_text("time,lat,lon\n" + "\n".join(rows) + "\n")
    return path


def asked(capsys: pytest.CaptureFixture[str], *words: object) -> tuple[int, str, str]:
    status = run(["follow", "demo", *(str(word) for word in words), "--out", "170 ft"])
    seen = capsys.readouterr()
    return status, seen.out, seen.err


def test_clearance_is_over_the_lakes_bottom(
    lake: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The reference is the slope itself, where PROJ puts the lure in the lake's metres."""
    from pyproj import Transformer

    way = track(tmp_path / "a.csv")
    status, out, error = asked(capsys, way, "--lake", lake, "--every", "5s", "--json")
    assert (status, error) == (0, "")
    told = json.loads(out)
    assert told["lake"] == "Sloping"
    to_lake = Transformer.from_crs("EPSG:4326", PLACE.definition, always_xy=True)
    x, _ = (np.array(v) for v in to_lake.transform(told["lon"], told["lat"]))
    assert told["bottom_m"] == pytest.approx(slope(x), abs=0.01)
    depth, clear = np.array(told["depth_m"]), np.array(told["off_bottom_m"])
    # the line may hang below the lure, and the bottom is shallower behind it by the slope of 2 %
    off = slope(x) - depth - clear
    assert float(off.min()) > -0.02
    assert float(off.max()) < 0.6
    least = told["least_off_bottom"]
    assert least["off_bottom_m"] == pytest.approx(float(clear.min()), abs=1e-6)
    assert least["off_bottom_95_low_m"] < least["off_bottom_m"] - 1.645 * SD + 0.01


def test_words_table_and_picture_say_it_too(
    lake: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    way, target = track(tmp_path / "a.csv"), tmp_path / "out.csv"
    status, out, _ = asked(capsys, way, "--lake", lake, "--keep", "4 ft", "-o", target)
    assert status == 0
    words = " ".join(out.split())
    assert "Over the bottom of Sloping" in words
    assert "off bottom all along" in words
    rows = list(csv.DictReader(io.StringIO(target.read_text())))
    assert all(row["off_bottom_m"] for row in rows)
    picture = tmp_path / "out.png"
    status, _, _ = asked(capsys, way, "--lake", lake, "--every", "2s", "-o", picture)
    assert status == 0
    assert picture.read_bytes().startswith(b"\x89PNG")


def test_what_lies_beyond_the_bed_is_said(
    lake: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    way = track(tmp_path / "a.csv", begin=150.0, seconds=300)  # and out over its eastern rim
    status, out, _ = asked(capsys, way, "--lake", lake, "--every", "5s", "--json")
    told = json.loads(out)
    assert status == 0
    assert any("the bottom of Sloping is not known" in note for note in told["repairs"])
    assert told["bottom_m"][0] is not None
    assert told["bottom_m"][-1] is None
    assert told["off_bottom_m"][-1] is None


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--lake", "Nowhere"], 'no lake is called "Nowhere" here (saved: Sloping)'),
        (["--lake", "Sloping", "--bottom", "40 ft"], "expected one bottom"),
        (["--keep", "2 ft"], "or --lake"),
    ],
)
def test_bad_wishes_are_one_line(
    lake: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    words: list[str],
    said: str,
) -> None:
    status, out, error = asked(capsys, track(tmp_path / "a.csv"), *words)
    assert (status, out, error.count("\n")) == (2, "", 1)
    assert said in error


def test_a_track_elsewhere_or_in_metres_is_refused(
    lake: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    far = track(tmp_path / "far.csv", begin=90_000.0)
    status, _, error = asked(capsys, far, "--lake", lake)
    assert status == 2
    assert "56 miles from the middle of it" in error
    metres = tmp_path / "metres.csv"
    rows = "".join(f"{i},{0.9 * i},0\n" for i in range(60))
    metres.write_text(f"time_s,x_m,y_m\n{rows}")
    status, _, error = asked(capsys, metres, "--lake", lake)
    assert status == 2
    assert "expected latitudes and longitudes" in error
