"""A journal leaves and comes back: the same in JSON Lines, as others read it in the rest."""

from __future__ import annotations

import csv
import io
import json
import xml.etree.ElementTree as ET
from datetime import timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pynmea2
import pytest

from gpx_schema import hold_against_schema
from towscope.boat.read import read_fixes
from towscope.demo.day import DEVICE, ZONE, DemoDay, demo_day
from towscope.errors import InputError
from towscope.journal import exchange
from towscope.journal.opening import open_store
from towscope.journal.store import Store
from towscope.units import US

from .conftest import entry

HERE = ZoneInfo(ZONE)


@pytest.fixture(scope="module")
def made() -> DemoDay:
    return demo_day()


@pytest.fixture
def full(store: Store, made: DemoDay) -> Store:
    store.append(made.events)
    store.add_track(made.track, DEVICE, HERE)
    return store


def test_json_lines_come_back_the_same(full: Store, tmp_path: Path) -> None:
    path = tmp_path / "j.jsonl"
    lines = list(exchange.jsonl(full, device="phone"))
    path.write_text("".join(lines), encoding="utf-8")
    with open_store(tmp_path / "other.sqlite") as other:
        taken = exchange.take(other, path, device="laptop", zone=HERE, read=read_fixes)
        assert (taken.new_events, taken.new_points) == (taken.events, taken.points)
        assert taken.new_events > 30
        again = exchange.take(other, path, device="laptop", zone=HERE, read=read_fixes)
        assert (again.new_events, again.new_points) == (0, 0)
        assert list(exchange.jsonl(other, device="phone"))[1:] == lines[1:]
        assert other.day("2026-08-14") == full.day("2026-08-14")


def test_every_line_is_json_of_its_own(full: Store) -> None:
    # JSON Lines, jsonlines.org: UTF-8, one JSON value a line, "\n" at the end
    for line in exchange.jsonl(full):
        assert line.endswith("\n")
        assert "\n" not in line[:-1]
        json.loads(line)


def test_one_day_takes_its_mending_along(store: Store, tmp_path: Path) -> None:
    fish, other = entry("catch", 0), entry("catch", 1440)
    store.append([fish, other, entry("undo", 3000, target=fish.id)])
    path = tmp_path / "d.jsonl"
    path.write_text("".join(exchange.jsonl(store, "2026-08-14")))
    with open_store(tmp_path / "o.sqlite") as there:
        assert exchange.take(there, path, device="x", zone=HERE, read=read_fixes).events == 2
        assert there.day("2026-08-14").undone == (fish.id,)


@pytest.mark.parametrize(
    ("damage", "words"),
    [
        (lambda t: t[: len(t) // 2], "cut short"),
        (lambda t: "".join(t.splitlines(True)[:-1]), "last line is missing"),
        (lambda t: "".join(t.splitlines(True)[:3] + t.splitlines(True)[4:]), "lines are missing"),
        (lambda t: t.replace('"towscope_journal":1', '"towscope_journal":2', 1), "format 2"),
        (lambda t: t.replace('"kind":"catch"', '"kind":"waltz"', 1), "unknown kind"),
        (lambda t: t.replace('"rod":', '"reel":"big","rod":', 1), "unknown field"),
        (lambda t: t + '{"entry":{}}\n', "after the end"),
        (lambda t: t.replace('"t_ms":[', '"t_ms":["x",', 1), "damaged stretch"),
        (lambda t: t.replace('"lat":[48.', '"lat":[148.', 1), "no sane time and place"),
        (lambda t: "hello\n" + t, "not a line of JSON"),
        (lambda t: '{"a": 1}\n', "no exported journal"),
        (lambda t: "[" * 100_000, "not a line of JSON"),
        (lambda t: "", "empty"),
    ],
)
def test_a_damaged_file_is_refused_whole(
    full: Store, tmp_path: Path, damage: object, words: str
) -> None:
    path = tmp_path / "j.jsonl"
    assert callable(damage)
    path.write_text(damage("".join(exchange.jsonl(full))), encoding="utf-8")
    with open_store(tmp_path / "o.sqlite") as other:
        with pytest.raises(InputError, match=words) as caught:
            exchange.take(other, path, device="x", zone=HERE, read=read_fixes)
        assert "\n" not in str(caught.value)
        assert other.days() == []


def test_a_file_from_a_clock_that_runs_ahead_is_taken_with_a_mark(
    full: Store, tmp_path: Path
) -> None:
    lines = list(exchange.jsonl(full, device="phone"))
    head = json.loads(lines[0])
    path = tmp_path / "j.jsonl"
    path.write_text("".join(lines))
    from datetime import datetime

    early = datetime.fromisoformat(head["written"]) - timedelta(hours=1)
    with open_store(tmp_path / "o.sqlite") as other:
        taken = exchange.take_jsonl(other, path, now=early)
    assert any("60 min in the future" in remark for remark in taken.remarks)


def test_csv_is_read_by_the_standard_reader_and_comes_back(full: Store, tmp_path: Path) -> None:
    journal = full.day("2026-08-14")
    text = exchange.to_csv(journal)
    rows = list(csv.DictReader(io.StringIO(text)))  # RFC 4180, by the standard library
    assert len(rows) == len(journal.events)
    assert sum(row["kind"] == "catch" for row in rows) == sum(
        e.kind == "catch" for e in journal.events
    )
    path = tmp_path / "j.csv"
    path.write_text(text, encoding="utf-8", newline="")
    assert tuple(exchange.from_csv(path, device="x")) == journal.events
    taken = exchange.take(full, path, device="x", zone=HERE, read=read_fixes)
    assert taken.new_events == 0
    assert "differs from the same here" in taken.remarks[0]  # one was corrected since it was made


def test_csv_written_by_hand_is_taken_once(store: Store, tmp_path: Path) -> None:
    path = tmp_path / "mine.csv"
    path.write_text(
        "kind,at,rod,length_m,kept\n"
        "line_out,2026-08-14T07:00:00-05:00,port,,\n"
        "catch,2026-08-14T07:30:00-05:00,port,0.52,no\n"
    )
    assert exchange.take(store, path, device="x", zone=HERE, read=read_fixes).new_events == 2
    assert exchange.take(store, path, device="x", zone=HERE, read=read_fixes).new_events == 0
    assert [e.kind for e in store.day("2026-08-14").events] == ["line_out", "catch"]


def test_a_cell_is_never_a_formula(tmp_path: Path) -> None:
    from towscope.journal.replay import settle

    note = entry("note", 0, text='=HYPERLINK("x")')
    text = exchange.to_csv(settle([note]))
    assert "'=HYPERLINK" in text
    path = tmp_path / "n.csv"
    path.write_text(text, newline="")
    assert exchange.from_csv(path, device="x") == [note]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("a,b\n1,2\n", "unknown column"),
        ("kind\ncatch\n", "no kind or at"),
        ("kind,at\ncatch,yesterday\n", "row 2"),
        ("kind,at\ncatch,2026-08-14T07:00:00\n", "no offset"),
        ("kind,at,kept\ncatch,2026-08-14T07:00:00Z,perhaps\n", "expected yes or no"),
        ("kind,at,length_m\ncatch,2026-08-14T07:00:00Z,nan\n", "length_m"),
        ("kind,at\ncatch,2026-08-14T07:00:00Z,7\n", "more or fewer cells"),
        ("\x00\x01", "binary"),
    ],
)
def test_bad_csv_names_row_and_column(tmp_path: Path, text: str, words: str) -> None:
    path = tmp_path / "x.csv"
    path.write_text(text)
    with pytest.raises(InputError, match=words):
        exchange.from_csv(path, device="x")


def test_geojson_follows_the_standard_and_comes_back(
    full: Store, made: DemoDay, tmp_path: Path
) -> None:
    shapely = pytest.importorskip("shapely")
    journal = full.day("2026-08-14")
    text = exchange.to_geojson(journal, full.track("2026-08-14"))
    shapes = shapely.from_geojson(text)  # GEOS reads it as RFC 7946 says
    line = next(g for g in shapes.geoms if g.geom_type == "LineString")
    # longitude first, RFC 7946 section 3.1.1
    assert line.bounds[0] == pytest.approx(made.track.lon.min(), abs=1e-6)
    assert line.bounds[1] == pytest.approx(made.track.lat.min(), abs=1e-6)
    path = tmp_path / "j.geojson"
    path.write_text(text, encoding="utf-8")
    assert tuple(exchange.from_geojson(path)) == journal.events


def test_gpx_has_track_and_fish_and_the_track_comes_back(
    full: Store, made: DemoDay, tmp_path: Path
) -> None:
    whole = full.track("2026-08-14")
    journal, track = full.day("2026-08-14"), whole.between(whole.t_s[0], whole.t_s[1500])
    text = exchange.to_gpx(journal, track, US)
    hold_against_schema(text)
    root = ET.fromstring(text)
    tags = [child.tag.split("}")[1] for child in root]
    assert tags.count("wpt") == sum(
        e.kind in ("catch", "strike_missed", "bottom_hit", "sonar_mark") for e in journal.events
    )
    path = tmp_path / "j.gpx"
    path.write_text(text)
    back = exchange.track_of(read_fixes(path))
    assert len(back) == len(track)
    assert abs(back.lat - track.lat).max() < 1e-7
    assert abs(back.t_s - track.t_s).max() < 1e-3


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("<gpx", "no whole GPX"),
        ("<html></html>", r"no GPX|no track"),
        (
            '<gpx xmlns="http://www.topografix.com/GPX/1/1" version="1.1" creator="x"></gpx>',
            "no track",
        ),
        (
            '<gpx xmlns="http://www.topografix.com/GPX/1/1" version="1.1" creator="x"><trk><trkseg>'
            '<trkpt lat="45" lon="-93"/></trkseg></trk></gpx>',
            "none of its 1 track point has a time",
        ),
        (
            '<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">]><gpx>&b;</gpx>',
            "declares a document type or entities",
        ),
    ],
)
def test_bad_gpx_is_refused(tmp_path: Path, text: str, words: str) -> None:
    path = tmp_path / "x.gpx"
    path.write_text(text)
    with pytest.raises(InputError, match=words):
        exchange.track_of(read_fixes(path))


def test_other_endings_are_refused(store: Store, tmp_path: Path) -> None:
    path = tmp_path / "x.docx"
    path.write_text("x")
    with pytest.raises(InputError, match=r"\.jsonl"):
        exchange.take(store, path, device="x", zone=HERE, read=read_fixes)


# -- tracks as other programs record them --------------------------------------------------------

HEAD = '<gpx xmlns="http://www.topografix.com/GPX/1/1" version="1.1" creator="x"><trk><trkseg>'


def taken(store: Store, path: Path) -> exchange.FileTaken:
    return exchange.take(store, path, device="x", zone=HERE, read=read_fixes)


def test_points_without_a_time_are_left_out_and_said(store: Store, tmp_path: Path) -> None:
    path = tmp_path / "x.gpx"
    points = "".join(
        f'<trkpt lat="45.00{i}" lon="-93">'
        + (f"<time>2026-08-14T12:00:0{i}Z</time>" if i else "")
        + "</trkpt>"
        for i in range(5)
    )
    path.write_text(f"{HEAD}{points}</trkseg></trk></gpx>")
    got = taken(store, path)
    assert (got.points, got.new_points) == (4, 4)
    assert got.remarks == ["left out 1 track point of 5 without a time"]


@pytest.mark.parametrize("name", ["a.nmea", "a.log", "a.txt", "a.csv", "semicolons.csv"])
def test_whatever_follow_reads_is_taken_in(store: Store, tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    if name == "a.csv":
        rows = [f"2026-08-14T12:00:{i:02d}Z,48.4{i:02d},-91.9" for i in range(20)]
        path.write_text("\n".join(["time,lat,lon", *rows]))
    elif name == "semicolons.csv":
        rows = [f"2026-08-14T12:00:{i:02d}Z;48,4{i:02d};-91,9" for i in range(20)]
        path.write_text("\n".join(["time;lat;lon", *rows]))
    else:
        said = [
            pynmea2.RMC("GP", "RMC", (f"1200{i:02d}", "A", f"48{24 + i / 100:07.4f}", "N",
                        "09154.0000", "W", "1.7", "45.0", "140826", "", "", "A"))
            for i in range(20)
        ]  # fmt: skip
        path.write_text("\r\n".join(str(each) for each in said))
    fixes = read_fixes(path)
    got = taken(store, path)
    assert got.points == got.new_points == len(fixes) == 20
    track = store.track("2026-08-14")
    assert track.lat == pytest.approx(fixes.first, abs=1e-6)
    assert track.t_s == pytest.approx(fixes.time, abs=1e-3)
    assert taken(store, path).new_points == 0


def test_entries_with_semicolons_and_decimal_commas(store: Store, tmp_path: Path) -> None:
    path = tmp_path / "entries.csv"
    path.write_text("kind;at;lat;lon;text\nnote;2026-08-14T07:42:00-05:00;48,4;-91,9;a, b\n")
    assert taken(store, path).new_events == 1
    note = store.day("2026-08-14").events[0]
    assert (note.lat, note.lon, note.text) == (48.4, -91.9, "a, b")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("time_s,x_m,y_m\n0,1,2\n1,2,3\n", "holds metres"),
        ("time,lat,lon\n0,48.4,-91.9\n1,48.4,-91.9\n", "does not say its day"),
        ("time,lat,lon\n2026-08-14T12:00:00Z,0,0\n", "has a time and a sane place"),
    ],
)
def test_a_track_that_is_of_no_day_or_no_place(
    store: Store, tmp_path: Path, text: str, words: str
) -> None:
    path = tmp_path / "x.csv"
    path.write_text(text)
    with pytest.raises(InputError, match=words):
        taken(store, path)
