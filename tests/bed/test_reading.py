"""Soundings in: every kind of file, and what is wrong with it said in one line."""

from __future__ import annotations

import io
import zipfile

import numpy as np
import pytest
import rasterio
from rasterio.transform import Affine

from towscope.bed import archive, raster
from towscope.bed.cleaning import clean, doubts, sound_speed
from towscope.bed.reading import read
from towscope.bed.shoreline import read_shoreline
from towscope.bed.soundings import FileOptions, Log
from towscope.errors import InputError, NoAnswer

from .known import PLACE, lines

FOOT = 0.3048  # exact: NIST SP 811


def csv(tmp_path, text, name="log.csv"):
    path = tmp_path / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def sentence(body: str) -> str:
    check = 0
    for c in body:
        check ^= ord(c)
    return f"${body}*{check:02X}"


def test_lake_227_has_six_stray_rows_and_they_are_named(real):
    # The data's README: six of the rows lie 3.7 km from the rest.
    assert [(d.row, d.reason) for d in real.dropped] == [(k, "stray") for k in range(2, 8)]
    assert real.depth.size == 1033
    assert any("read as metres" in note for note in real.notes)


@pytest.mark.parametrize(
    ("head", "row", "depth"),
    [
        ("lat,lon,depth_ft", "48.1,-92.1,10", 10 * FOOT),
        ("Latitude;Longitude;Depth (m)", "48,1;-92,1;3,5", 3.5),
        ("time\tlon\tlat\tDEPTH_M", "x\t-92.1\t48.1\t4", 4.0),
        ("y,x,z", "48.1,-92.1,-2.5", 2.5),
        ("lat,lon,depth_fathoms", "48.1,-92.1,2", 2 * 6 * FOOT),
        ("# a remark\nLAT LON DEPTHM", "48.1 -92.1 4", 4.0),
    ],
)
def test_tables_of_many_kinds(tmp_path, head, row, depth):
    log = read(csv(tmp_path, f"{head}\n{row}\n{row}\n"), FileOptions())
    assert log.latitude == pytest.approx(48.1)
    assert log.longitude == pytest.approx(-92.1)
    assert log.depth == pytest.approx(depth)


def test_columns_and_units_may_be_named(tmp_path):
    path = csv(tmp_path, "a,b,c\n48.1,-92.1,10\n")
    how = FileOptions(unit="ft", columns={"lat": "a", "lon": "b", "depth": "c"})
    assert read(path, how).depth == pytest.approx(10 * FOOT)
    with pytest.raises(
        InputError, match="can't make out which column holds latitude and longitude"
    ):
        read(path, FileOptions())
    with pytest.raises(InputError, match='no column "q"'):
        read(path, FileOptions(columns={"lat": "q"}))


def test_easting_and_northing_need_a_system(tmp_path):
    path = csv(tmp_path, "easting,northing,depth_m\n500000,5300000,4\n")
    with pytest.raises(InputError, match="set --crs"):
        read(path, FileOptions())
    with pytest.raises(InputError, match="unknown coordinate system"):
        read(path, FileOptions(crs="EPSG:1"))
    log = read(path, FileOptions(crs="EPSG:32615"))
    # the middle of UTM zone 15 is 93 W (Snyder 1987, USGS Prof. Paper 1395, p. 57)
    assert log.longitude == pytest.approx(-93.0, abs=1e-9)
    assert log.latitude == pytest.approx(47.85, abs=0.01)


def test_nmea_pairs_depths_with_fixes(tmp_path):
    rows = []
    for k in range(20):
        minute = 24.0 + 0.01 * k
        rows.append(sentence(f"GPRMC,1200{k:02d},A,48{minute:07.4f},N,09154.0000,W,2.0,0,090825,,"))
        rows.append(sentence(f"SDDPT,{5 + 0.1 * k:.1f},0.5"))
        rows.append(sentence(f"SDDBT,{(5 + 0.1 * k) / FOOT:.1f},f,{5 + 0.1 * k:.1f},M,,F"))
    rows[7] = rows[7][:-1] + "0"  # a spoilt checksum
    log = read(csv(tmp_path, "\r\n".join(rows), "sounder.nmea"), FileOptions())
    # DPT with a positive offset counts from the water line (NMEA 0183)
    assert log.depth[0] == pytest.approx(5.5)
    assert log.depth[-1] == pytest.approx(7.4)
    assert log.longitude == pytest.approx(-91.9)
    # between the fix before it and the one after: a third of the way, by sentences
    assert log.latitude[1] == pytest.approx((48 * 60 + 24.01 + 0.01 / 3) / 60, abs=2e-6)
    assert any("1 spoilt" in note for note in log.notes)
    with pytest.raises(InputError, match="holds no depths"):
        read(csv(tmp_path, rows[0], "x.nmea"), FileOptions())


def test_gpx_with_depths(tmp_path):
    points = "".join(
        f'<trkpt lat="48.{k:02d}" lon="-92"><extensions><e:TrackPointExtension><e:depth>{k + 1}'
        "</e:depth></e:TrackPointExtension></extensions></trkpt>"
        for k in range(10)
    )
    text = (
        '<?xml version="1.0"?><gpx version="1.1" creator="x" '
        'xmlns="http://www.topografix.com/GPX/1/1" xmlns:e="urn:x"><trk><trkseg>'
        f"{points}</trkseg></trk></gpx>"
    )
    log = read(csv(tmp_path, text, "a.gpx"), FileOptions())
    assert log.depth == pytest.approx(np.arange(1, 11))
    with pytest.raises(InputError):
        read(csv(tmp_path, text.replace("e:depth", "e:heart"), "b.gpx"), FileOptions())


def test_an_xml_bomb_is_refused(tmp_path):
    bomb = (
        '<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY a "aaaaaaaaaa">'
        + "".join(
            f'<!ENTITY a{k} "{"&a" + (str(k - 1) if k else "") + ";"}">' * 1 for k in range(1, 9)
        )
        + "]><gpx><wpt lat='1' lon='1'><extensions><depth>&a8;</depth></extensions></wpt></gpx>"
    )
    with pytest.raises(InputError):
        read(csv(tmp_path, bomb, "bomb.gpx"), FileOptions())


@pytest.fixture
def grid(tmp_path):
    """A grid of depths in a UTM zone, written by rasterio."""

    def make(name="bed.tif", crs="EPSG:32615", values=None, **more):
        path = tmp_path / name
        z = np.arange(1.0, 13.0).reshape(3, 4) if values is None else values
        with rasterio.open(
            path, "w", driver=more.pop("driver", "GTiff"), width=z.shape[1], height=z.shape[0],
            count=1, dtype="float32", crs=crs, transform=Affine(10, 0, 500000, 0, -10, 5300000),
            **more,
        ) as file:  # fmt: skip
            file.write(z.astype("float32"), 1)
        return path

    return make


def test_a_geotiff_is_read_cell_by_cell(grid):
    log = read(grid(), FileOptions())
    assert sorted(log.depth) == pytest.approx(np.arange(1, 13))
    first = np.argmin(log.depth)
    from pyproj import Transformer

    lon, lat = Transformer.from_crs("EPSG:32615", "EPSG:4326", always_xy=True).transform(
        500005, 5299995
    )  # the middle of the first cell
    assert (log.latitude[first], log.longitude[first]) == pytest.approx((lat, lon), abs=1e-8)
    assert not log.track


def test_an_esri_grid_is_read(tmp_path):
    text = "ncols 3\nnrows 2\nxllcorner -92.0\nyllcorner 48.0\ncellsize 0.001\nNODATA_value -9999\n"
    path = csv(tmp_path, text + "1 2 3\n4 -9999 6\n", "bed.asc")
    with pytest.raises(InputError, match="set --crs"):
        read(path, FileOptions())
    log = read(path, FileOptions(crs="EPSG:4326"))
    assert sorted(log.depth) == [1, 2, 3, 4, 6]
    assert log.latitude[np.argmin(log.depth)] == pytest.approx(48.0015)


def test_a_huge_raster_is_refused_by_size_and_read_by_window(tmp_path, monkeypatch):
    path = tmp_path / "huge.tif"
    with rasterio.open(
        path, "w", driver="GTiff", width=100_000, height=50_000, count=1, dtype="float32",
        crs="EPSG:32615", transform=Affine(1, 0, 500000, 0, -1, 5300000), tiled=True,
        sparse_ok=True, bigtiff="YES",
    ) as file:  # fmt: skip
        file.write(np.full((20, 30), 7.0, "float32"), 1, window=((100, 120), (200, 230)))
    with pytest.raises(InputError, match=r"5,000 million cells.*20\.0 GB.*--box"):
        read(path, FileOptions())
    from pyproj import Transformer

    back = Transformer.from_crs("EPSG:32615", "EPSG:4326", always_xy=True)
    west, north = back.transform(500190, 5299910)
    east, south = back.transform(500240, 5299870)
    log = read(path, FileOptions(box=(south, west, north, east)))
    assert log.size == 600
    assert set(log.depth) == {7.0}
    with pytest.raises(InputError, match="nothing of it"):
        read(path, FileOptions(box=(10.0, 10.0, 10.1, 10.1)))


def test_only_plain_grids_are_opened(tmp_path):
    vrt = csv(tmp_path, '<VRTDataset rasterXSize="1" rasterYSize="1"></VRTDataset>', "x.tif")
    with pytest.raises(InputError, match="expected GeoTIFF"):
        read(vrt, FileOptions())
    assert set(raster.DRIVERS.values()) == {"GTiff", "AAIGrid", "AIG", "EHdr"}


def layer(tmp_path, name, driver, depths=(2.0, 4.0, 6.0), field="depth_m", crs="EPSG:4326"):
    import pyogrio
    import shapely

    shapes = [
        shapely.LineString([(-92.0, 48.0 + 0.001 * k), (-91.99, 48.0 + 0.001 * k)])
        for k in range(len(depths))
    ]
    path = tmp_path / name
    pyogrio.raw.write(
        path, np.array(shapely.to_wkb(shapes)), [np.array(depths)], [field], driver=driver, crs=crs,
        geometry_type="LineString",
    )  # fmt: skip
    return path


@pytest.mark.parametrize(
    ("name", "driver"), [("c.shp", "ESRI Shapefile"), ("c.gpkg", "GPKG"), ("c.geojson", "GeoJSON")]
)
def test_contours_of_every_kind(tmp_path, name, driver):
    log = read(layer(tmp_path, name, driver), FileOptions())
    assert log.size == 6
    assert sorted(set(log.depth)) == [2.0, 4.0, 6.0]


def test_a_zipped_shapefile(tmp_path):
    layer(tmp_path, "c.shp", "ESRI Shapefile", field="DEPTH_FT")
    with zipfile.ZipFile(tmp_path / "c.zip", "w") as pack:
        for part in tmp_path.glob("c.*"):
            if part.suffix != ".zip":
                pack.write(part, f"lakes/{part.name}")
    log = read(tmp_path / "c.zip", FileOptions())
    assert sorted(set(np.round(log.depth / FOOT, 6))) == [2.0, 4.0, 6.0]
    assert log.source.startswith("c.zip")


def test_archives_that_would_do_harm_are_refused(tmp_path):
    path = tmp_path / "evil.zip"
    with zipfile.ZipFile(path, "w") as pack:
        pack.writestr("../../outside.csv", "lat,lon,depth_m\n1,1,1\n")
    with pytest.raises(InputError, match="outside the folder"):
        read(path, FileOptions())
    assert not (tmp_path.parent / "outside.csv").exists()
    bomb = tmp_path / "bomb.zip"
    with zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED) as pack:
        pack.writestr("a.csv", b"0" * 60_000_000)
    with pytest.raises(InputError, match="would unpack"):
        read(bomb, FileOptions())
    torn = csv(tmp_path, bomb.read_bytes()[:200], "torn.zip")
    with pytest.raises(InputError, match="no whole zip"):
        read(torn, FileOptions())
    assert archive.MOST_BYTES < 5e9


def test_a_shoreline_of_a_closed_line_or_polygon(tmp_path):
    ring = "[[-92,48],[-91.99,48],[-91.99,48.01],[-92,48.01],[-92,48]]"
    for kind, coordinates in (("Polygon", f"[{ring}]"), ("LineString", ring)):
        path = csv(
            tmp_path,
            f'{{"type":"FeatureCollection","features":[{{"type":"Feature","properties":{{}},'
            f'"geometry":{{"type":"{kind}","coordinates":{coordinates}}}}}]}}',
            f"{kind}.geojson",
        )
        assert read_shoreline(path).area == pytest.approx(1e-4)
    with pytest.raises(InputError, match="contours without a shore"):
        read_shoreline(layer(tmp_path, "d.geojson", "GeoJSON"))


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("a.csv", b"", "is empty"),
        ("a.csv", b"lat,lon,depth\n", "no soundings"),
        ("a.csv", b"48.1,-92.1,10\n", "no headings"),
        ("a.csv", b"\x00\x01\x02binary", "binary"),
        ("a.csv", b"lat,lon,depth\n\xff\xfe,1,1\n", "UTF-8"),
        ("a.gpx", b"<gpx><trk>", "gpx"),
        ("a.xls", b"hello", "unknown kind"),
        ("a.tif", b"not a tiff", "expected GeoTIFF"),
        ("a.geojson", b"{", "cannot be read"),
        ("a.shp", b"junk", "cannot be read"),
    ],
)
def test_files_that_are_not_what_they_seem(tmp_path, name, content, said):
    with pytest.raises(InputError, match=f"(?i){said}"):
        read(csv(tmp_path, content, name), FileOptions())


def test_missing_files_and_folders(tmp_path):
    with pytest.raises(InputError, match="No such file"):
        read(tmp_path / "none.csv", FileOptions())
    with pytest.raises(InputError, match="is a folder"):
        read(tmp_path, FileOptions())


def log_of(x, y, z, source="log.csv") -> Log:
    lat, lon = PLACE.to_globe(x, y)
    return Log(source, lat, lon, np.asarray(z, float), np.arange(2, len(z) + 2))


def test_every_dropped_sounding_is_named():
    x, y = lines(200.0)
    z = 8.0 + 0.01 * x
    log = log_of(x, y, z)
    lat, depth = log.latitude.copy(), log.depth.copy()
    depth[[5, 50]] = 0.0
    depth[100] = 25.0
    depth[200] = np.nan
    depth[300] = -3.0
    depth[400] = 4000.0
    lat[500] = 0.0
    lon = log.longitude.copy()
    lon[500] = 0.0
    lat[600] += 0.2
    found = clean([Log("log.csv", lat, lon, depth, log.row)])
    assert {(d.row, d.reason) for d in found.dropped} == {
        (7, "lost bottom"), (52, "lost bottom"), (102, "spike"), (202, "no figure"),
        (302, "above water"), (402, "too deep"), (502, "no place"), (602, "stray"),
    }  # fmt: skip
    assert found.depth.size == x.size - 8


def test_a_steep_edge_is_no_spike():
    t = np.arange(0.0, 400.0, 3.0)
    z = np.where(t < 200.0, 5.0, 17.0)  # a wall: one step between two soundings
    assert not clean([log_of(t, 0 * t, z)]).dropped


def test_swapped_and_doubtful_soundings_are_said():
    x, y = lines(200.0)
    lat, lon = PLACE.to_globe(x, y)
    z = 8.0 + 0.01 * x
    with pytest.raises(InputError, match="look swapped"):
        clean([Log("a.csv", lon, lat, z, np.arange(x.size))])
    with pytest.raises(InputError, match="all 4,242 depths are 8 m"):
        clean([Log("a.csv", lat, lon, np.full(x.size, 8.0), np.arange(x.size))])
    with pytest.raises(NoAnswer, match="no sounding is left"):
        clean([Log("a.csv", lat, lon, np.zeros(x.size), np.arange(x.size))])
    feet = clean([log_of(x, y, (20 + 0.16 * x + 8 * np.sin(y / 9)) / FOOT)])
    assert any("--depth-unit ft" in d for d in doubts(feet, unit_known=False))
    assert not doubts(feet, unit_known=True)
    with pytest.raises(InputError, match="two lakes"):
        clean([log_of(x, y, z), log_of(x + 40_000.0, y, z)])


def test_corrections_are_made_and_said():
    x, y = lines(200.0)
    z = 8.0 + 0.01 * x
    found = clean([log_of(x, y, z)], temperature=10.0, level=0.5)
    # speed of sound in pure water at 10 degC: 1447.27 m/s (Del Grosso & Mader 1972, J. Acoust.
    # Soc. Am. 52:1442, table; from memory)
    assert sound_speed(10.0) == pytest.approx(1447.27, abs=0.1)
    assert sound_speed(20.0) == pytest.approx(1482.34, abs=0.1)
    assert found.depth == pytest.approx(z * sound_speed(10.0) / 1500.0 + 0.5)
    assert len([n for n in found.notes if "sound" in n or "water level" in n]) == 2
    with pytest.raises(InputError, match="no lake's temperature"):
        clean([log_of(x, y, z)], temperature=80.0)


def test_mixed_signs_are_asked_about(tmp_path):
    rows = "\n".join(f"48.{k:03d},-92,{(-1) ** k * 5}" for k in range(100))
    path = csv(tmp_path, f"lat,lon,depth_m\n{rows}\n")
    with pytest.raises(InputError, match="--sign"):
        read(path, FileOptions())


def test_a_million_rows_are_read_in_seconds(tmp_path):
    from time import process_time

    out = io.StringIO()
    out.write("lat,lon,depth_m\n")
    out.write("48.123456,-92.123456,12.3\n" * 200_000)
    path = csv(tmp_path, out.getvalue())
    start = process_time()
    assert read(path, FileOptions()).size == 200_000
    assert process_time() - start < 4.0
