"""Readers against the libraries that write and read the same formats, and against bad files."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from towscope.boat import read_csv, read_gpx, read_nmea
from towscope.boat.clean import clean
from towscope.boat.read import read_fixes
from towscope.errors import InputError
from towscope.formats.iso import unix_time, unix_times

START = datetime(2026, 8, 14, 12, 20, tzinfo=UTC)
N = 60
LAT, LON = 46.9 + 8e-6 * np.arange(N), -95.2 + 3e-6 * np.arange(N)


def kept(path: Path, text: str | bytes) -> Path:
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return path


# -- times -----------------------------------------------------------------------------------------


# Reference: datetime.fromisoformat (Python's own reading of ISO 8601).
@given(
    st.lists(
        st.tuples(
            st.datetimes(datetime(1971, 1, 1), datetime(2090, 1, 1)),
            st.sampled_from(["Z", "+00:00", "-05:00", "+05:30", "-0500"]),
            st.sampled_from(["seconds", "milliseconds", "microseconds"]),
        ),
        min_size=1,
        max_size=20,
    )
)
def test_many_times_read_as_one_by_one(drawn):
    texts = [moment.isoformat(timespec=spec) + zone for moment, zone, spec in drawn]
    found = unix_times(np.array(texts, dtype="S"))
    assert found == pytest.approx([datetime.fromisoformat(t).timestamp() for t in texts], abs=1e-6)


@pytest.mark.parametrize("text", ["2026-02-30T07:40:00Z", "2026-08-14T07:40:00", "noon", "", "7"])
def test_no_time(text):
    assert np.isnan(unix_times(np.array([text.encode()], dtype="S40")))[0]
    with pytest.raises(ValueError):
        unix_time(text)


# -- GPX -------------------------------------------------------------------------------------------


def gpx(segments=((0, N),), times=True) -> str:
    from gpxpy import gpx as g

    out = g.GPX()
    track = g.GPXTrack()
    out.tracks.append(track)
    for a, b in segments:
        segment = g.GPXTrackSegment()
        segment.points = [
            g.GPXTrackPoint(LAT[i], LON[i], time=START + timedelta(seconds=i) if times else None)
            for i in range(a, b)
        ]
        track.segments.append(segment)
    return str(out.to_xml(version="1.1"))


# Reference: gpxpy, which writes the file and reads it back.
def test_gpx_as_gpxpy_reads_it(tmp_path):
    import gpxpy

    text = gpx(((0, 20), (20, 45), (45, N)))
    points = [p for t in gpxpy.parse(text).tracks for s in t.segments for p in s.points]
    fixes = read_fixes(kept(tmp_path / "a.gpx", text))
    assert fixes.first == pytest.approx([p.latitude for p in points], abs=1e-12)
    assert fixes.second == pytest.approx([p.longitude for p in points], abs=1e-12)
    assert fixes.time == pytest.approx([p.time.timestamp() for p in points])
    assert fixes.starts == (20, 45) and fixes.notes == ()


def test_gpx_segments_are_named_gaps(tmp_path):
    track = clean(read_fixes(kept(tmp_path / "a", gpx(((0, 30), (30, N))))))
    assert [gap.why for gap in track.gaps] == ["a new segment begins in the file"]


@pytest.mark.parametrize("share", [0.97, 0.5, 0.31])
def test_gpx_cut_off_gives_what_stands_before(tmp_path, share):
    text = gpx()
    cut = text[: int(share * len(text))]
    fixes = read_fixes(kept(tmp_path / "a.gpx", cut))
    whole = cut.count("</time>")
    assert len(fixes) == whole and f"the {whole} track points" in fixes.notes[0]
    assert (fixes.time == START.timestamp() + np.arange(whole)).all()


BOMB = (
    '<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY a "aaaaaaaaaa">'
    + "".join(f'<!ENTITY {chr(98 + i)} "{("&" + chr(97 + i) + ";") * 10}">' for i in range(9))
    + ']><gpx><trk><trkseg><trkpt lat="1" lon="1"><time>&j;</time></trkpt></trkseg></trk></gpx>'
)
THIEF = (
    '<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY x SYSTEM "file:///etc/hostname">]>'
    '<gpx><trk><trkseg><trkpt lat="1" lon="1"><time>&x;</time></trkpt></trkseg></trk></gpx>'
)
OUTSIDE = '<?xml version="1.0"?><!DOCTYPE gpx SYSTEM "http://localhost:9/x.dtd"><gpx></gpx>'


@pytest.mark.parametrize("text", [BOMB, THIEF, OUTSIDE])
def test_hostile_xml_is_refused(tmp_path, text):
    with pytest.raises(InputError, match="declares a document type or entities"):
        read_fixes(kept(tmp_path / "a.gpx", text))


def test_the_bomb_is_refused_by_a_parser_set_safe_too(tmp_path):
    # Reference: defusedxml, made to refuse such files.
    import defusedxml.ElementTree
    from defusedxml.common import DefusedXmlException

    for text in (BOMB, THIEF, OUTSIDE):
        with pytest.raises(DefusedXmlException):
            defusedxml.ElementTree.fromstring(text, forbid_dtd=True)
    defusedxml.ElementTree.fromstring(gpx(), forbid_dtd=True)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("<gpx><trk><trkseg/></trk></gpx>", "holds no track"),
        ('<gpx><rte><rtept lat="1" lon="2"/></rte></gpx>', "a planned way or marks"),
        (gpx(times=False), "none of its 60 track points has a time"),
        ("<kml><Document/></kml>", 'XML, but of "kml"'),
        ("<gpx><trk", "no whole GPX"),
        ("<html><body>not found</body></html>", 'XML, but of "html"'),
        ("<", "no whole GPX"),
    ],
)
def test_no_gpx_track(tmp_path, text, words):
    with pytest.raises(InputError, match=words):
        read_fixes(kept(tmp_path / "a.gpx", text))


def test_gpx_points_without_sense(tmp_path):
    text = (
        gpx().replace(f'lat="{LAT[3]}"', 'lat="north"', 1).replace("2026-08-14T12:20:05Z", "?", 1)
    )
    fixes = read_fixes(kept(tmp_path / "a.gpx", text))
    assert np.isnan(fixes.first).sum() == 1
    assert fixes.notes == ("left out 1 track point of 60 without a time",)


def test_a_track_from_few_of_its_points_says_so_first(tmp_path):
    points = "".join(
        f'<trkpt lat="{46.0 + i * 2e-5}" lon="-95.0">'
        + (f"<time>2026-08-14T12:00:{2 * i:02d}Z</time>" if i < 9 else "")
        + "</trkpt>"
        for i in range(300)
    )
    (tmp_path / "t.gpx").write_text(f"<gpx><trk><trkseg>{points}</trkseg></trk></gpx>")
    track = clean(read_fixes(tmp_path / "t.gpx"))
    assert track.repairs[0] == "Check: only 9 of the file's 300 fixes could be used"
    assert track.repairs[1] == "left out 291 track points of 300 without a time"


def test_gpx_in_other_letters_and_zones(tmp_path):
    text = gpx().replace('encoding="UTF-8"', 'encoding="UTF-16"').replace(":05Z", ":05", 1)
    fixes = read_fixes(kept(tmp_path / "a.gpx", text.encode("utf-16")))
    assert fixes.time == pytest.approx(START.timestamp() + np.arange(N))


def test_gpx_too_large_is_refused_by_size(tmp_path, monkeypatch):
    monkeypatch.setattr(read_gpx, "MOST_BYTES", 1000)
    with pytest.raises(InputError, match="cut it by days"):
        read_fixes(kept(tmp_path / "a.gpx", gpx()))
    monkeypatch.setattr(read_gpx, "MOST_BYTES", 10**9)
    monkeypatch.setattr(read_gpx, "MOST_FIXES", 10)
    with pytest.raises(InputError, match="million points"):
        read_fixes(kept(tmp_path / "a.gpx", gpx()))


# -- NMEA ------------------------------------------------------------------------------------------


def angle(value, width, sides):
    degrees = int(abs(value))
    return f"{degrees:0{width}d}{(abs(value) - degrees) * 60:08.5f}", sides[int(value < 0)]


def sentence(i, kind="RMC", talker="GP", day="140826") -> str:
    """One sentence as pynmea2 writes it, checksum and all."""
    import pynmea2

    lat, lon = angle(LAT[i % N], 2, "NS"), angle(LON[i % N], 3, "EW")
    clock = f"{START + timedelta(seconds=i):%H%M%S}.00"
    if kind == "RMC":
        said = (clock, "A", *lat, *lon, "1.74", "15.0", day, "", "", "A")
    elif kind == "GGA":
        said = (clock, *lat, *lon, "1", "09", "0.9", "400.0", "M", "", "M", "", "")
    else:
        said = (*lat, *lon, clock, "A", "A")
    return str(getattr(pynmea2, kind)(talker, kind, said))


# Reference: pynmea2, which writes the sentences and reads them back.
@pytest.mark.parametrize("kind", ["RMC", "GGA", "GLL"])
def test_nmea_as_pynmea2_reads_it(tmp_path, kind):
    import pynmea2

    lines = [sentence(i, kind, "GN") for i in range(N)]
    fixes = read_fixes(kept(tmp_path / "log.txt", "\r\n".join(lines)))
    read = [pynmea2.parse(line) for line in lines]
    assert fixes.first == pytest.approx([r.latitude for r in read], abs=1e-12)
    assert fixes.second == pytest.approx([r.longitude for r in read], abs=1e-12)
    assert np.diff(fixes.time) == pytest.approx(np.ones(N - 1))
    assert fixes.dated == (kind == "RMC")
    if kind == "RMC":
        assert fixes.time[0] == START.timestamp()
        fix = read_nmea.TalkReader().take(lines[0])
        assert fix.speed == pytest.approx(read[0].spd_over_grnd * 1852 / 3600)
        assert fix.course == read[0].true_course


def test_nmea_noise_half_lines_and_mixed_talkers(tmp_path):
    import pynmea2

    lines = []
    for i in range(N):
        whole = sentence(i)
        if i == 10:
            whole = whole[:30]  # half a line, the next runs into it
        elif i == 11:
            whole = whole.replace(",A,46", ",A,47")  # one digit wrong: the checksum is not
        elif i == 12:
            whole = "\xfe\x00~~" + whole + "\x07\x07"
        elif i == 13:
            whole = "\\s:gps,c:1786710000*00\\" + whole
        end = "" if i == 10 else "\r\n"
        lines.append(whole + end)
        lines.append("!AIVDM,1,1,,A,13aEOK?P00PD2wVMdLDRhgvL289?,0*26\r\n")
        lines.append("$GPGSV,3,1,11,03,03,111,00*74\r\n")
        if i < 20:
            lines.append(sentence(i, talker="II") + "\r\n")
        if i in (30, 31):
            void = ("122030", "V", "", "", "", "", "", "", "140826", "", "", "N")
            lines.append(str(pynmea2.RMC("GP", "RMC", void)) + "\r\n")
    fixes = read_fixes(kept(tmp_path / "log.nmea", "".join(lines).encode("latin-1")))
    good = np.array([i for i in range(N) if i not in (10, 11)])
    assert fixes.time == pytest.approx(START.timestamp() + good)
    assert fixes.first == pytest.approx(LAT[good], abs=1e-7)
    said = " ".join(fixes.notes)
    assert "2 spoilt sentences" in said and "2 sentences without a fix" in said
    assert "GP is used, not II" in said


def test_nmea_over_midnight(tmp_path):
    late = 42_000 - 60 * 5
    for kind in ("RMC", "GLL"):
        lines = [
            sentence(i, kind, day="140826" if i < 42_000 else "150826")
            for i in range(late, late + 600)
        ]
        fixes = read_fixes(kept(tmp_path / "log", "\n".join(lines)))
        assert (np.diff(fixes.time) == 1.0).all()


def test_nmea_gga_takes_its_day_from_elsewhere(tmp_path):
    import pynmea2

    zda = str(pynmea2.ZDA("GP", "ZDA", ("122000.00", "14", "08", "2026", "00", "00")))
    lines = [zda, *(sentence(i, "GGA") for i in range(N))]
    fixes = read_fixes(kept(tmp_path / "log", "\n".join(lines)))
    assert fixes.dated and fixes.time[0] == START.timestamp()


def test_nmea_without_checksums_is_said(tmp_path):
    lines = [sentence(i).split("*")[0] for i in range(N)]
    fixes = read_fixes(kept(tmp_path / "log", "\n".join(lines)))
    assert len(fixes) == N and "no checksums" in fixes.notes[0]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("$GPGSV,3,1,11,03,03,111,00*74\n", "holds no RMC, GGA or GLL"),
        (
            sentence(0)[:-1] + "0\n" if sentence(0)[-1] != "0" else sentence(0)[:-1] + "1",
            "1 spoilt senten",
        ),
        ("$GPRMC,,V,,,,,,,,,,N\n" * 3, "3 without a fix"),
    ],
)
def test_nmea_without_a_fix(tmp_path, text, words):
    with pytest.raises(InputError, match=words):
        read_fixes(kept(tmp_path / "log", text))


@given(st.binary(max_size=200), st.integers(0, N - 1), st.integers(0, 75))
def test_listener_never_falls(noise, i, cut):
    listener = read_nmea.TalkReader()
    listener.take(noise.decode("latin-1"))
    listener.take(sentence(i)[:cut] + noise.decode("latin-1"))
    fix = listener.take(noise.decode("latin-1").replace("$", "") + sentence(i))
    assert fix is not None and fix.latitude == pytest.approx(LAT[i], abs=1e-7)


# -- tables ----------------------------------------------------------------------------------------


def test_csv_metres_and_globe(tmp_path):
    text = "time_s,x_m,y_m\n" + "".join(f"{i},{0.9 * i:.3f},{-i}\n" for i in range(N))
    fixes = read_fixes(kept(tmp_path / "a.csv", text))
    assert not fixes.on_globe and not fixes.dated
    assert fixes.first == pytest.approx(0.9 * np.arange(N)) and fixes.time[-1] == N - 1
    text = "time,lat,lon\n" + "".join(
        f"{(START + timedelta(seconds=i)).isoformat()},{LAT[i]},{LON[i]}\n" for i in range(N)
    )
    fixes = read_fixes(kept(tmp_path / "b.csv", text))
    assert fixes.on_globe and fixes.dated and fixes.time[0] == START.timestamp()
    assert fixes.second == pytest.approx(LON)


def test_csv_as_people_save_it(tmp_path):
    rows = "".join(f'"{i}";x;{i},5;"{2 * i}"\r\n' for i in range(N))
    text = "\ufeff# from the boat\r\n\r\nTime_s;note;Y_M;X_M\r\n" + rows
    fixes = read_fixes(kept(tmp_path / "a.csv", text))
    assert fixes.second == pytest.approx(np.arange(N) + 0.5)
    assert fixes.first == pytest.approx(2.0 * np.arange(N)) and fixes.notes == ()
    unix = "time,lat,lon\n" + "".join(f"{1786710000 + i},{LAT[i]},{LON[i]}\n" for i in range(N))
    assert read_fixes(kept(tmp_path / "b.csv", unix)).dated


def test_csv_bad_rows_are_counted(tmp_path):
    rows = [f"{i},{i},0" for i in range(N)]
    rows[7], rows[9], rows[11] = "seven,7,0", "9,nan,0", "11,,0"
    rows[-1] = "59,5"
    fixes = read_fixes(kept(tmp_path / "a.csv", "time_s,x_m,y_m\n" + "\n".join(rows)))
    assert fixes.notes == ("left out 2 lines, the first 9: cannot be read",)
    assert len(fixes) == N - 2 and np.isnan(fixes.first).sum() == 2


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (b"", "is empty"),
        (b"   \n \n", "is empty"),
        (b"\x00\x01\x02" * 99, "binary"),
        (b"1,2,3\n4,5,6\n", 'first line reads "1,2,3"'),
        (b"time_s,x_m\n1,2\n", 'expected a first line "time_s,x_m,y_m"'),
        (b"time_s,x_m,y_m\n", "no rows"),
        (b"time_s,x_m,y_m\na,b,c\nd,e,f\n", "line 2: cannot be read, nor 1 others"),
        (b"time,lat,lon\n2026-08-14T07:40:00,46.9,-95\n" * 1, "with its zone"),
        (b"\xff\xd8\xff\xe0JFIF" + bytes(range(1, 255)), "first line reads"),
        (b"%PDF-1.7\n%\xe2\xe3\n1 0 obj\n", "first line reads"),
    ],
)
def test_no_table(tmp_path, text, words):
    with pytest.raises(InputError, match=words):
        read_fixes(kept(tmp_path / "a.csv", text))


def test_missing_or_a_folder(tmp_path):
    with pytest.raises(InputError, match="no such file"):
        read_fixes(tmp_path / "none.gpx")
    with pytest.raises(InputError, match="is a folder"):
        read_fixes(tmp_path)


def test_too_many_rows_are_refused(tmp_path, monkeypatch):
    text = "time_s,x_m,y_m\n" + "".join(f"{i},{i},0\n" for i in range(N))
    monkeypatch.setattr(read_csv, "MOST_FIXES", 50)
    with pytest.raises(InputError, match="cut it by days"):
        read_fixes(kept(tmp_path / "a.csv", text))
    monkeypatch.setattr(read_csv, "MOST_BYTES", 50)
    with pytest.raises(InputError, match="cut it by days"):
        read_fixes(kept(tmp_path / "a.csv", text))


def test_blocks_break_anywhere(tmp_path, monkeypatch):
    text = "time_s,x_m,y_m\n" + "".join(f"{i},{0.5 * i},0\n" for i in range(2000))
    path = kept(tmp_path / "a.csv", text)
    for size in (7, 100, 4096):
        monkeypatch.setattr(read_csv, "CHUNK", size)
        fixes = read_fixes(path)
        assert (fixes.time == np.arange(2000)).all() and (fixes.first == 0.5 * fixes.time).all()
