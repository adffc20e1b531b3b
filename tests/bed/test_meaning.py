"""What a file's figures mean: depths or heights or colours, degrees or metres; asked where open."""

from __future__ import annotations

import numpy as np
import pytest
import rasterio
from rasterio.enums import ColorInterp
from rasterio.transform import Affine

from towscope.bed import store
from towscope.bed.cleaning import clean
from towscope.bed.reading import read
from towscope.bed.soundings import FileOptions
from towscope.cli import run
from towscope.errors import InputError

from .test_reading import FOOT, csv, sentence


def grid(path, z, **more):
    z = np.asarray(z)
    z = z[None] if z.ndim == 2 else z
    with rasterio.open(
        path, "w", driver="GTiff", width=z.shape[2], height=z.shape[1], count=z.shape[0],
        dtype=str(z.dtype), crs="EPSG:32615", transform=Affine(10, 0, 500000, 0, -10, 5300000),
        nodata=more.pop("nodata", None), **more,
    ) as file:  # fmt: skip
        file.write(z)
    return path


def bowl(size=40, deep=12.0):
    j, i = np.meshgrid(np.arange(size), np.arange(size))
    r = np.hypot(i - size / 2, j - size / 2) / (0.42 * size)
    return np.where(r < 1.0, deep * (1.0 - r**2) + 0.1, -9999.0).astype("float32")


def test_a_lake_s_grid_is_read_and_heights_of_it_are_asked_about(tmp_path):
    z = bowl()
    log = read(grid(tmp_path / "depth.tif", z, nodata=-9999.0), FileOptions())
    assert log.depth.max() == pytest.approx(12.1, abs=0.1)
    heights = np.where(z > 0.0, 432.0 - z, -9999.0).astype("float32")
    path = grid(tmp_path / "heights.tif", heights, nodata=-9999.0)
    with pytest.raises(
        InputError, match=r"from 419\.\d* to 431\.\d* m: depths, or heights"
    ) as told:
        read(path, FileOptions())
    assert "--surface" in str(told.value)
    assert "--sign down" in str(told.value)
    found = read(path, FileOptions(surface=432.0))
    assert sorted(found.depth) == pytest.approx(sorted(log.depth), abs=1e-3)
    assert any("432 m less the heights" in note for note in found.notes)


def test_a_picture_and_a_grid_wet_to_its_rim_are_no_lake(tmp_path):
    rng = np.random.default_rng(0)
    colours = rng.integers(0, 255, (3, 30, 40), dtype="uint8")
    path = grid(tmp_path / "scan.tif", colours, photometric="RGB")
    with pytest.raises(InputError, match="is a picture"):
        read(path, FileOptions())
    with rasterio.open(grid(tmp_path / "legend.tif", colours[0]), "r+") as file:
        file.write_colormap(1, {k: (k, k, 255, 255) for k in range(256)})
        file.colorinterp = [ColorInterp.palette]
    with pytest.raises(InputError, match="is a picture"):
        read(tmp_path / "legend.tif", FileOptions())
    # a grey scan or the land by the sea: something near 0, but wet along its rim
    grey = grid(tmp_path / "grey.tif", rng.integers(0, 240, (30, 40), dtype="uint8"))
    with pytest.raises(
        InputError, match=r"wet along \d+ % of its rim: a part of a larger lake, or"
    ):
        read(grey, FileOptions())
    assert read(grey, FileOptions(down=True)).size > 1000  # who says so has it
    part = grid(tmp_path / "part.tif", np.linspace(0, 20, 1200, dtype="float32").reshape(30, 40))
    south, west, north, east = 47.0, -94.0, 48.5, -92.0
    assert read(part, FileOptions(box=(south, west, north, east))).size > 1000


@pytest.mark.parametrize(
    ("head", "low", "high", "asked"),
    [
        ("z", 310.0, 1416.0, True),
        ("z", 0.5, 33.0, False),
        ("z", 12.0, 20.0, True),  # nothing near 0
        ("depth_m", 12.0, 20.0, False),  # it says depth
        ("depth_m", 300.0, 330.0, True),
        ("elevation", 0.2, 33.0, True),  # it says height
        ("elevation", -33.0, -0.2, False),  # below the water, as heights are
        ("sounding_ft", 60.0, 110.0, False),
    ],
)
def test_figures_with_nothing_near_0_are_asked_about(tmp_path, head, low, high, asked):
    z = np.linspace(low, high, 60)
    rows = "".join(f"48.1{k:02d},-92.1,{v:.2f}\n" for k, v in enumerate(z))
    path = csv(tmp_path, f"lat,lon,{head}\n{rows}")
    if asked:
        with pytest.raises(InputError, match="depths, or heights of the bottom"):
            read(path, FileOptions())
        assert read(path, FileOptions(down=True)).size == 60
        assert read(path, FileOptions(surface=high)).depth.min() == pytest.approx(0.0, abs=0.01)
    else:
        assert read(path, FileOptions()).size == 60


def test_a_column_that_says_its_unit_goes_before_one_that_does_not(tmp_path):
    path = csv(tmp_path, "lat,lon,DEPTH,DEPTH_M\n48.1,-92.1,10,3.048\n48.2,-92.1,20,6.096\n")
    assert read(path, FileOptions()).depth == pytest.approx([3.048, 6.096])
    assert read(path, FileOptions(unit="ft")).depth == pytest.approx([3.048, 6.096])
    with pytest.raises(InputError, match='"DEPTH_M" says m and --depth-unit says ft'):
        read(path, FileOptions(unit="ft", columns={"depth": "DEPTH_M"}))


def test_tables_without_headings_with_a_day_in_them(tmp_path):
    rows = "".join(f"2024-05-01,12:00:{k:02d},48.1{k},-92.1,{5 + k}\n" for k in range(9))
    path = csv(tmp_path, rows)
    with pytest.raises(InputError, match=r"no headings \(1=2024-05-01, 2=12:00:00, 3=48\.10"):
        read(path, FileOptions())
    how = FileOptions(unit="ft", columns={"lat": "3", "lon": "4", "depth": "5"})
    assert read(path, how).depth == pytest.approx(np.arange(5, 14) * FOOT)
    assert read(path, how).row[0] == 1
    # by number in a table with headings too
    path = csv(tmp_path, "when,a,b,c\n" + rows.replace(",12:", " 12:"), "b.csv")
    how = FileOptions(unit="m", columns={"lat": "2", "lon": "3", "depth": "4"})
    assert read(path, how).latitude[0] == pytest.approx(48.10)


@pytest.mark.parametrize(
    ("lat", "lon", "place"),
    [
        ("48 24.123", "-91 53.766", (48.40205, -91.8961)),
        ("48° 24' 07.4\" N", "91° 53' 45.96\" W", (48.402056, -91.8961)),
        ("N48.402", "W91.8961", (48.402, -91.8961)),
        ("48.402 N", "91.8961 W", (48.402, -91.8961)),
        ("48.402", "268.1039", (48.402, -91.8961)),  # eastward all the way round
    ],
)
def test_places_written_in_many_ways(tmp_path, lat, lon, place):
    path = csv(tmp_path, f"lat\tlon\tdepth_m\n{lat}\t{lon}\t4\n{lat}\t{lon}\t5\n")
    log = read(path, FileOptions())
    assert (log.latitude[0], log.longitude[0]) == pytest.approx(place, abs=1e-6)


@pytest.mark.parametrize(
    ("lat", "lon", "said"),
    [
        ("5301222.5", "512345.1", r"\(such as 5,301,222\.5, 512,345\.1\) are no degrees: metres"),
        ("4824.123", "9153.766", "degrees and minutes run together, or metres .* 48 24.123 for"),
        ("north", "west", 'column "lat" holds no degrees \\(it begins with "north"'),
    ],
)
def test_places_that_are_no_degrees_say_why(tmp_path, lat, lon, said):
    path = csv(tmp_path, f"lat,lon,depth_m\n{lat},{lon},4\n{lat},{lon},5\n")
    with pytest.raises(InputError, match=said):
        read(path, FileOptions())


def test_a_log_with_noughts_and_a_table_that_ends_in_log(tmp_path):
    rows = []
    for k in range(20):
        rows.append(
            sentence(f"GPRMC,1200{k:02d},A,48{24 + 0.01 * k:07.4f},N,09154.0000,W,2,0,090825,,")
        )
        rows.append(sentence(f"SDDPT,{5 + 0.1 * k:.1f},0.5"))
    text = "\r\n".join(rows).encode()
    torn = b"\x00" * 100 + text[:700] + b"\x00" * 3 + text[700:]
    log = read(csv(tmp_path, torn, "a.log"), FileOptions())
    assert log.depth == pytest.approx(read(csv(tmp_path, text, "b.nmea"), FileOptions()).depth)
    table = "lat,lon,depth_ft\n" + "".join(f"48.1{k},-92.1,{k + 1}\n" for k in range(9))
    plain = read(csv(tmp_path, table, "SONAR.LOG"), FileOptions())
    assert plain.depth == pytest.approx(np.arange(1, 10) * FOOT)
    torn_table = table[:60].encode() + b"\x00" * 5 + table[60:].encode()
    assert read(csv(tmp_path, torn_table, "c.csv"), FileOptions()).size == 9
    with pytest.raises(InputError, match="is binary"):
        read(csv(tmp_path, bytes(range(8)) * 400, "d.log"), FileOptions())


def test_names_that_fall_into_one_folder_are_two_lakes(tmp_path):
    from .known import lake_of

    bed = lake_of(lambda x, y: 5.0 + x / 100.0, half=60.0)
    store.save("Long Slate", bed)
    with pytest.raises(InputError, match='"Long-Slate" and your lake "Long Slate" are too alike'):
        store.save("Long-Slate", bed)
    store.save("long slate", bed)  # the same name, however it is spelled
    assert store.names() == ["long slate"]


def test_an_answer_with_nowhere_to_go_is_refused_before_the_work(tmp_path, capsys):
    words = "--depth 31ft --off-bottom 3ft --rig demo --speed 2mph --wind calm"
    ask = words.split(" ")
    for name, *argv in (
        ["map.pdf", "map"],
        ["e.geojson", "edges", "--depth", "30 ft"],
        ["way.gpx", "passes", *ask],
    ):
        command, *options = argv
        to = str(tmp_path / "gone" / name)
        # there is no such lake either: the folder is looked at first
        assert run(["lake", command, "No Lake", *options, "-o", to]) == 2
        assert "there is no folder" in capsys.readouterr().err


def test_an_agency_s_shuffled_rows_are_all_kept(tmp_path):
    # good soundings of a steep lake, far apart: none is a spike
    rng = np.random.default_rng(0)
    x, y = rng.uniform(-0.01, 0.01, (2, 800))
    z = 40.0 * np.exp(-((x / 0.004) ** 2)) + 1.0
    rows = "".join(f"{48 + b:.6f},{-92 + a:.6f},{c:.2f}\n" for a, b, c in zip(x, y, z, strict=True))
    found = clean([read(csv(tmp_path, "lat,lon,depth_m\n" + rows), FileOptions())])
    assert found.dropped == ()
