"""The schema that GPX files are held against lets good files pass and refuses broken ones."""

from datetime import UTC, datetime

import gpxpy.gpx as gx
import pytest

from gpx_schema import RefusedError, hold_against_schema

HEAD = '<gpx xmlns="http://www.topografix.com/GPX/1/1" version="1.1" creator="towscope">'
POINT = (
    '<wpt lat="48.4" lon="-91.9"><ele>412.5</ele><time>2026-08-14T07:00:00Z</time>'
    "<magvar>1.5</magvar><geoidheight>-30</geoidheight><name>rise</name><cmt>c</cmt><desc>d</desc>"
    '<src>s</src><link href="a"><text>t</text><type>u</type></link><sym>Flag</sym><type>t</type>'
    "<fix>3d</fix><sat>9</sat><hdop>1.1</hdop><vdop>.9</vdop><pdop>1.</pdop>"
    "<ageofdgpsdata>3</ageofdgpsdata><dgpsid>1023</dgpsid>"
    '<extensions><d:depth xmlns:d="urn:depth">9.1</d:depth></extensions></wpt>'
)
WHOLE = (
    HEAD
    + "<metadata><name>n</name><desc>d</desc><author><name>A</name>"
    + '<email id="a" domain="example.org"/><link href="a"/></author>'
    + '<copyright author="A"><year>2026</year><license>l</license></copyright><link href="a"/>'
    + '<link href="b"/><time>2026-08-14T07:00:00.5-05:00</time><keywords>k</keywords>'
    + '<bounds minlat="48" minlon="-92" maxlat="49" maxlon="-91"/></metadata>'
    + POINT
    + "<rte><name>r</name><number>1</number><type>t</type>"
    + '<rtept lat="48.4" lon="-180"/><rtept lat="-90" lon="179.9"/></rte>'
    + '<trk><name>t</name><number>2</number><trkseg><trkpt lat="1" lon="2"><ele>1</ele></trkpt>'
    + '<trkpt lat="1" lon="2"/></trkseg><trkseg/></trk></gpx>'
)


def test_a_file_with_everything_that_may_be_in_one_passes() -> None:
    hold_against_schema(WHOLE)
    hold_against_schema(HEAD + "</gpx>")


def test_what_an_independent_library_writes_passes() -> None:
    # gpxpy writes 1.1 by its own table of the schema's fields and their order
    whole = gx.GPX()
    whole.name, whole.description, whole.author_name = "n", "d", "A"
    whole.author_email, whole.copyright_author, whole.copyright_year = "a@b.c", "A", "2026"
    whole.link, whole.keywords, whole.time = "a", "k", datetime(2026, 8, 14, tzinfo=UTC)
    whole.bounds = gx.GPXBounds(48, 49, -92, -91)
    point = gx.GPXWaypoint(48.4, -91.9, 400.0, whole.time, "n", "d", "Flag", "t", "c", 1.0, 2.0)
    point.type_of_gpx_fix, point.satellites, point.dgps_id = "3d", 9, 7
    point.position_dilution, point.age_of_dgps_data, point.magnetic_variation = 1.0, 2.0, 3.0
    point.geoid_height, point.source, point.link, point.link_text = 4.0, "s", "a", "b"
    whole.waypoints.append(point)
    whole.routes.append(gx.GPXRoute("r", "d", 1))
    whole.routes[0].points.append(gx.GPXRoutePoint(48.4, -91.9))
    track = gx.GPXTrack("t", "d", 2)
    track.segments.append(gx.GPXTrackSegment([gx.GPXTrackPoint(48.4, -91.9, 1.0, whole.time)]))
    whole.tracks.append(track)
    hold_against_schema(whole.to_xml("1.1"))


@pytest.mark.parametrize(
    ("good", "bad", "words"),
    [
        (' version="1.1"', "", "lacks the attribute version"),
        (' version="1.1"', ' version="1.0"', "version"),
        (' creator="towscope"', "", "lacks the attribute creator"),
        ("GPX/1/1", "GPX/1/0", "root"),
        ('lat="48.4" lon="-91.9"', 'lat="91" lon="-91.9"', "lat"),
        ('lat="48.4" lon="-91.9"', 'lat="48.4"', "lacks the attribute lon"),
        ('lat="48.4" lon="-91.9"', 'lat="48,4" lon="-91.9"', "lat"),
        ('lat="48.4" lon="-91.9"', 'lat="4.84e1" lon="-91.9"', "lat"),
        ('lat="48.4" lon="-91.9"', 'lat="NaN" lon="-91.9"', "lat"),
        ('lon="-180"', 'lon="180"', "lon"),
        ('lon="-180"', 'lon="-180" depth="3"', "depth"),
        ("<ele>412.5</ele>", "<ele>412.5 m</ele>", "ele"),
        ("<ele>412.5</ele>", "<ele></ele>", "ele"),
        ("<ele>412.5</ele>", "<ele>4</ele><ele>5</ele>", "twice"),
        ("<ele>412.5</ele>", "<depth>4</depth>", "depth"),
        ("<ele>412.5</ele>", '<ele unit="m">4</ele>', "unit"),
        ("<ele>412.5</ele>", "deep", "text"),
        ("2026-08-14T07:00:00Z", "2026-08-14 07:00:00", "time"),
        ("2026-08-14T07:00:00Z", "2026-02-30T07:00:00Z", "time"),
        ("2026-08-14T07:00:00Z", "2026-08-14T25:00:00Z", "time"),
        ("2026-08-14T07:00:00Z", "1781420400", "time"),
        ("<magvar>1.5</magvar>", "<magvar>360</magvar>", "magvar"),
        ("<cmt>c</cmt><desc>d</desc>", "<desc>d</desc><cmt>c</cmt>", "cmt comes after desc"),
        ("<sym>Flag</sym><type>t</type>", "<type>t</type><sym>Flag</sym>", "sym comes after type"),
        ("<fix>3d</fix>", "<fix>4d</fix>", "fix"),
        ("<sat>9</sat>", "<sat>-9</sat>", "sat"),
        ("<dgpsid>1023</dgpsid>", "<dgpsid>1024</dgpsid>", "dgpsid"),
        ('<d:depth xmlns:d="urn:depth">9.1</d:depth>', "<depth>9.1</depth>", "another namespace"),
        ('<link href="a"><text>', "<link><text>", "lacks the attribute href"),
        ("<year>2026</year>", "<year>26</year>", "year"),
        (' domain="example.org"', "", "domain"),
        (' maxlon="-91"', "", "maxlon"),
        ("<number>1</number>", "<number>one</number>", "number"),
        ("<trkseg/>", '<trkpt lat="1" lon="2"/>', "trkpt"),
        (POINT, "", ""),
    ],
)  # fmt: skip
def test_a_broken_file_is_refused(good: str, bad: str, words: str) -> None:
    broken = WHOLE.replace(good, bad, 1)
    assert broken != WHOLE
    if not words:  # points are not needed
        hold_against_schema(broken)
        return
    with pytest.raises(RefusedError, match=words):
        hold_against_schema(broken)


def test_a_track_before_a_point_is_refused() -> None:
    hold_against_schema(f'{HEAD}<wpt lat="1" lon="2"/><trk/></gpx>')
    with pytest.raises(RefusedError, match="wpt comes after trk"):
        hold_against_schema(f'{HEAD}<trk/><wpt lat="1" lon="2"/></gpx>')
