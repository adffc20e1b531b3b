"""GPX against gpxpy, which writes it and reads it back, and against files that mean harm."""

import sys
import tracemalloc
from datetime import UTC, datetime, timedelta
from pathlib import Path
from xml.etree import ElementTree as ET

import gpxpy
import numpy as np
import pytest
from gpxpy import gpx as g
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from towscope.bed import gpx_log
from towscope.bed.soundings import FileOptions
from towscope.boat.read import read_fixes
from towscope.errors import InputError
from towscope.formats import gpx
from towscope.journal import exchange

START = datetime(2026, 8, 14, 12, 20, tzinfo=UTC)
here = settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)


def read(path: Path, text: str | bytes) -> gpx.Gpx:
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return gpx.read(path, expected="a track")


def written(places, version="1.1", depths=None, marks=()) -> str:
    out = g.GPX()
    out.nsmap["d"] = "urn:depth"
    segment = g.GPXTrackSegment()
    for i, (lat, lon) in enumerate(places):
        point = g.GPXTrackPoint(lat, lon, elevation=400.0, time=START + timedelta(seconds=i))
        if depths is not None:
            element = ET.Element("{urn:depth}depth")
            element.text = str(depths[i])
            point.extensions.append(element)
        segment.points.append(point)
    out.tracks.append(g.GPXTrack(name="<a> & b"))
    out.tracks[0].segments.append(segment)
    out.waypoints.extend(g.GPXWaypoint(*place, name="a hump") for place in marks)
    route = g.GPXRoute()
    route.points = [g.GPXRoutePoint(*place) for place in marks]
    out.routes.append(route)
    return str(out.to_xml(version=version))


lat = st.floats(-90, 90).map(lambda x: round(x, 9))
lon = st.floats(-180, 180).map(lambda x: round(x, 9))


# Reference: gpxpy, which writes the file and reads it back whole.
@here
@given(
    st.lists(st.tuples(lat, lon), min_size=1, max_size=8),
    st.lists(st.tuples(lat, lon), max_size=3),
    st.sampled_from(["1.0", "1.1"]),
)
def test_as_gpxpy_reads_it(tmp_path, places, marks, version):
    text = written(places, version, marks=marks)
    whole = gpxpy.parse(text)
    points = [p for t in whole.tracks for s in t.segments for p in s.points]
    found = read(tmp_path / "a.gpx", text)
    assert found.latitude[found.track].tolist() == [p.latitude for p in points]
    assert found.longitude[found.track].tolist() == [p.longitude for p in points]
    assert found.time[found.track].tolist() == [p.time.timestamp() for p in points]
    others = [*whole.waypoints, *(p for r in whole.routes for p in r.points)]
    assert sorted(found.latitude[~found.track]) == sorted(p.latitude for p in others)
    assert found.broken == "" and found.starts == ()


def test_depths_as_gpxpy_keeps_them(tmp_path):
    depths = np.linspace(9.0, 11.0, 20)
    text = written([(46.9 + i * 1e-5, -95.2) for i in range(20)], depths=depths)
    points = gpxpy.parse(text).tracks[0].segments[0].points
    found = read(tmp_path / "a.gpx", text)
    assert found.depth.tolist() == [float(p.extensions[0].text) for p in points]
    log = gpx_log.read(tmp_path / "a.gpx", FileOptions(unit="ft"))
    # feet to metres: international yard and pound agreement, 1959
    assert log.depth == pytest.approx(depths * 0.3048) and log.notes == ()


def test_depth_beside_the_place_as_old_files_have_it(tmp_path):
    # GPX 1.0 lets a point hold elements of other namespaces without "extensions" around them
    text = (
        '<gpx version="1.0" creator="x" xmlns="http://www.topografix.com/GPX/1/0" xmlns:s="urn:s">'
        '<trk><trkseg><trkpt lat="1" lon="2"><time>2026-08-14T12:20:00Z</time>'
        "<s:WaterDepth>7.5</s:WaterDepth></trkpt></trkseg></trk></gpx>"
    )
    assert read(tmp_path / "a.gpx", text).depth.tolist() == [7.5]


@pytest.mark.parametrize(
    ("written", "moment"),
    [
        ("2026-08-14T12:20:00Z", START),
        ("\n  2026-08-14T12:20:00Z ", START),
        ("2026-08-14T07:20:00-05:00", START),
        ("2026-08-14T12:20:00", START),  # GPX 1.1 schema: times are UTC
        ("2026-08-14T12:20:00.250Z", START + timedelta(seconds=0.25)),
        ("2026-08-14T12:20:00+99:59", None),
        ("0001-01-01T00:00:00+23:00", None),
        ("9999-99-99T00:00:00Z", None),
        ("yesterday", None),
        ("", None),
    ],
)
def test_times(tmp_path, written, moment):
    text = f'<gpx><trk><trkseg><trkpt lat="1" lon="2"><time>{written}</time></trkpt></trkseg></trk>'
    time = read(tmp_path / "a.gpx", text + "</gpx>").time[0]
    if moment is None:
        assert np.isnan(time) or time < -6e10
    else:
        assert time == moment.timestamp()


@pytest.mark.parametrize("bad", ["north", "", "1,5", "0x10", "1 2"])
def test_a_figure_that_is_none_costs_one_place(tmp_path, bad):
    text = written([(1.0, 2.0), (3.0, 4.0), (5.0, 6.0)]).replace('lat="3.0"', f'lat="{bad}"')
    text = text.replace("<ele>400.0</ele>", "<ele>high</ele>", 1)
    with pytest.raises(g.GPXException):
        gpxpy.parse(text)
    found = read(tmp_path / "a.gpx", text)
    assert found.latitude[[0, 2]].tolist() == [1.0, 5.0] and np.isnan(found.latitude[1])
    assert np.isfinite(found.time).all()


def test_a_prefix_before_every_name(tmp_path):
    text = (
        '<p:gpx xmlns:p="http://www.topografix.com/GPX/1/1"><p:trk><p:trkseg><p:trkpt lat="1" '
        'lon="2"><p:time>2026-08-14T12:20:00Z</p:time></p:trkpt></p:trkseg></p:trk></p:gpx>'
    )
    assert read(tmp_path / "a.gpx", text).time.tolist() == [START.timestamp()]


# -- cut short -------------------------------------------------------------------------------------


def test_cut_at_any_letter_gives_the_whole_points_before(tmp_path):
    text = written([(46.0, -95.0), (46.1, -95.1), (46.2, -95.2)], marks=[(1.0, 2.0)])
    for cut in range(len(text)):
        head = text[:cut]
        # Reference: the end tags in the letters themselves
        whole = head.count("</trkpt>") + head.count("</wpt>") + head.count("</rtept>")
        if not whole:
            with pytest.raises(InputError, match="no whole GPX"):
                read(tmp_path / "a.gpx", head)
            continue
        found = read(tmp_path / "a.gpx", head)
        assert found.latitude.size == whole and np.isfinite(found.latitude).all()
        assert bool(found.broken) == ("</gpx>" not in head)


def test_every_room_says_that_it_breaks_off(tmp_path):
    path = tmp_path / "a.gpx"
    text = written([(46.0 + i * 1e-5, -95.0) for i in range(30)], depths=range(30))
    path.write_text(text[: text.index("<trkpt", len(text) // 2)])
    whole = path.read_text().count("</trkpt>")
    said = f"the {whole} track points before that are used"
    assert said in read_fixes(path).notes[0]
    remarks: list[str] = []
    assert len(exchange.track_of(read_fixes(path), remarks)) == whole and said in remarks[0]
    log = gpx_log.read(path, FileOptions())
    assert log.size == whole and "breaks off" in log.notes[0]


# -- meaning harm ----------------------------------------------------------------------------------

POINT = '<trk><trkseg><trkpt lat="1" lon="1"><time>{}</time></trkpt></trkseg></trk>'
LAUGHS = "".join(f'<!ENTITY {chr(98 + i)} "{("&" + chr(97 + i) + ";") * 10}">' for i in range(9))
AGAIN = f'<!ENTITY a "{"a" * 50_000}">'
HARM = {
    "a billion laughs": f'<!DOCTYPE gpx [<!ENTITY a "ha">{LAUGHS}]>'
    f"<gpx>{POINT.format('&j;')}</gpx>",
    "one long word, often": f"<!DOCTYPE gpx [{AGAIN}]><gpx>{'&a;' * 50_000}</gpx>",
    "a file of the machine": '<!DOCTYPE gpx [<!ENTITY x SYSTEM "file:///etc/hostname">]>'
    f"<gpx>{POINT.format('&x;')}</gpx>",
    "a parameter from elsewhere": '<!DOCTYPE gpx [<!ENTITY % x SYSTEM "http://localhost:9/x">%x;]>'
    "<gpx></gpx>",
    "a document type elsewhere": '<!DOCTYPE gpx SYSTEM "http://localhost:9/x.dtd"><gpx></gpx>',
    "a bare document type": f"<!DOCTYPE gpx><gpx>{POINT.format('2026-08-14T12:20:00Z')}</gpx>",
}


@pytest.mark.parametrize("harm", HARM)
def test_harm_is_refused_in_every_room(tmp_path, harm):
    path = tmp_path / "a.gpx"
    path.write_text(HARM[harm])
    for reader in (read_fixes, lambda p: gpx_log.read(p, FileOptions())):
        with pytest.raises(InputError, match="declares a document type or entities"):
            reader(path)


def test_endless_nesting_is_refused(tmp_path):
    with pytest.raises(InputError, match="nests over 100"):
        read(tmp_path / "a.gpx", "<gpx>" + "<a>" * 1_000_000)


@pytest.mark.parametrize("where", ["<gpx>{}</gpx>", '<gpx><wpt lat="1" lon="2">{}</wpt></gpx>'])
def test_what_gpx_does_not_know_takes_no_memory(tmp_path, where):
    path = tmp_path / "a.gpx"
    path.write_text(where.format("<a><b/></a>" * 40_000))
    tracemalloc.start()
    gpx.read(path, expected="a track")
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 4_000_000  # a tree of its 80,000 elements takes over 10 MB


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda p: p.mkdir(), "directory"),
        (lambda p: None, "No such file"),
        (lambda p: p.write_text("hello"), "no whole GPX"),
        (lambda p: p.write_bytes(b"\x00\x01" * 99), "no whole GPX"),
        (lambda p: p.write_text('<?xml version="1.0" encoding="martian"?><gpx/>'), "no whole GPX"),
        (lambda p: p.write_text("<svg/>"), 'XML, but of "svg": no GPX'),
    ],
)
def test_what_is_no_gpx(tmp_path, make, words):
    make(tmp_path / "a.gpx")
    with pytest.raises(InputError, match=words):
        gpx.read(tmp_path / "a.gpx", expected="a track")


@here
@given(st.lists(st.tuples(st.integers(0, 10**6), st.integers(0, 255)), min_size=1, max_size=12))
def test_spoilt_letters_never_raise_anything_else(tmp_path, changes):
    text = bytearray(written([(46.0, -95.0), (46.1, -95.1)], depths=[1, 2]).encode())
    for at, letter in changes:
        text[at % len(text)] = letter
    try:
        found = read(tmp_path / "a.gpx", bytes(text))
    except InputError as error:
        assert "\n" not in str(error)
    else:
        assert found.time.size == found.latitude.size == found.depth.size


def test_a_point_takes_few_steps(tmp_path):
    # 100 MB hold a million points: what is done for each decides whether they take seconds or
    # minutes. Counted, not timed: calls of the interpreter (an element tree and gpxpy took 138).
    text = written([(46.0 + i * 1e-5, -95.0) for i in range(200)])
    (tmp_path / "a.gpx").write_text(text)
    calls = 0

    def count(frame, event, argument):
        nonlocal calls
        calls += event in ("call", "c_call")

    sys.setprofile(count)
    try:
        gpx.read(tmp_path / "a.gpx", expected="a track")
    finally:
        sys.setprofile(None)
    assert calls < 200 * 60
