"""The journal on the command line: a day entered, shown, counted, reported, carried."""

from __future__ import annotations

import json
import re
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from towscope.cli import run

ZONE = "America/Chicago"


@pytest.fixture(autouse=True)
def _home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TOWSCOPE_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("TOWSCOPE_ZONE", ZONE)
    monkeypatch.setenv("TOWSCOPE_DEVICE", "phone")
    monkeypatch.delenv("TOWSCOPE_JOURNAL", raising=False)
    monkeypatch.delenv("TOWSCOPE_UNITS", raising=False)


class Boat:
    """Runs commands and keeps what they said."""

    def __init__(self, capsys: pytest.CaptureFixture[str]) -> None:
        self.capsys = capsys

    def __call__(self, *words: str, status: int = 0) -> str:
        found = run(list(words))
        out, err = self.capsys.readouterr()
        assert found == status, err or out
        if status:
            assert err.count("\n") == 1, err
            assert err.startswith("towscope: ")
            return err
        return out

    def json(self, *words: str) -> Any:
        return json.loads(self(*words, "--json"))


@pytest.fixture
def boat(capsys: pytest.CaptureFixture[str]) -> Boat:
    return Boat(capsys)


def test_a_day_in_few_words(boat: Boat) -> None:
    boat("log", "out", "port", "--rig", "demo", "--out", "170ft")
    boat("log", "out", "starboard", "rig", "demo", "150 ft", "small-spoon", "silver")
    boat("log", "catch", "port", "21.5in", "released", "walleye")
    boat("log", "hit", "port", "31ft")
    boat("log", "sky", "cloudy")
    boat("log", "--json", "in", "all")
    day = boat.json("day", "show")
    kinds = [e["kind"] for e in day["entries"]]
    assert kinds == [
        "line_out",
        "line_out",
        "catch",
        "bottom_hit",
        "conditions",
        "line_in",
        "line_in",
    ]
    assert day["entries"][0]["let_out_m"] == pytest.approx(170 * 0.3048)
    assert day["entries"][0]["size_m"] == pytest.approx(0.0508)
    assert day["entries"][2]["length_m"] == pytest.approx(21.5 * 0.0254)
    assert day["day_checks"] == []
    text = boat("day", "show")
    assert "walleye 21.5 in, released, about 3.9 lb" in text


def test_a_night_is_one_day(boat: Boat, tmp_path: Path) -> None:
    notes = tmp_path / "night.txt"
    notes.write_text("22:00 set port rig demo 150 ft\n00:40 catch port 21in\n02:30 in port\n")
    boat("log", "--file", str(notes), "--day", "2026-08-14")
    day = boat.json("day", "show", "2026-08-14")
    assert [e["at"][:16] for e in day["entries"]] == [
        "2026-08-14T22:00", "2026-08-15T00:40", "2026-08-15T02:30"
    ]  # fmt: skip
    assert day["day_checks"] == []
    assert not any(e.get("checks") for e in day["entries"])
    effort = boat.json("day", "effort", "2026-08-14")
    assert effort["hours"] == pytest.approx(4.5)
    assert sum(group["catches"] for group in effort["groups"]) == 1


def test_no_rate_is_said_before_a_quarter_of_a_rod_hour(boat: Boat, tmp_path: Path) -> None:
    """A fish in the first two minutes made 30 an hour; the figure stays in the JSON's counts."""
    notes = tmp_path / "short.txt"
    notes.write_text("07:00 set port rig demo 150 ft\n07:01 catch port 21in\n07:02 in port\n")
    boat("log", "--file", str(notes), "--day", "2026-08-14")
    said = boat("day", "effort", "2026-08-14")
    assert "too early to say" in said and "30.00" not in said
    effort = boat.json("day", "effort", "2026-08-14")
    assert effort["groups"][0]["hours"] == pytest.approx(2 / 60)


def test_undo_redo_and_fix(boat: Boat) -> None:
    boat("log", "out", "port", "rig", "demo", "170ft")
    boat("log", "catch", "port", "21in")
    assert "now" in boat("log", "fix", "last", "22in", "kept")
    assert boat.json("day", "show")["entries"][1]["length_m"] == pytest.approx(0.5588)
    boat("log", "undo")  # of the correction
    assert boat.json("day", "show")["entries"][1]["length_m"] == pytest.approx(0.5334)
    assert "took back" in boat("log", "undo")  # of the fish
    assert len(boat.json("day", "show")["entries"]) == 1
    assert "brought back" in boat("log", "redo")
    assert len(boat.json("day", "show")["entries"]) == 2
    name = boat.json("day", "show")["entries"][0]["id"]
    boat("log", "undo", name[-6:])
    assert "taken back already" in boat("log", "undo", name[-6:], status=2)
    checks = boat.json("day", "show")["entries"][0]["checks"]
    assert [m["code"] for m in checks] == ["unknown-rod"]


def test_undo_and_fix_take_the_entry_made_last_whatever_the_clock_said(
    boat: Boat, monkeypatch: pytest.MonkeyPatch
) -> None:
    from towscope.effort import fished
    from towscope.journal import ids

    zone = ZoneInfo(ZONE)
    noon = datetime(2026, 8, 14, 12, 0, tzinfo=zone)

    def at(moment: datetime) -> None:
        monkeypatch.setattr(fished, "present", lambda: (moment, ZONE))
        monkeypatch.setattr(ids, "time_s", moment.timestamp)

    at(noon + timedelta(hours=3))  # the computer's clock is three hours ahead
    boat("log", "note", "first")
    at(noon)  # and set right
    boat("log", "note", "second")
    assert "second" in boat("log", "undo")
    assert "first" in boat("log", "undo")
    assert "first" in boat("log", "redo")
    assert fished.present()[0] == noon


def test_colours_count_past_the_leader(boat: Boat) -> None:
    made = boat.json("log", "out", "port", "rig", "demo", "out", "4.5 colors")
    # 30 ft of leader, then 4.5 colours of 10 yd: 165 ft (common practice, no source)
    assert made["added"][0]["let_out_m"] == pytest.approx(165 * 0.3048)


def test_what_does_not_fit_is_refused_or_kept_with_a_mark(boat: Boat) -> None:
    assert "which rod" in boat("log", "catch", "21in", status=2)
    boat("log", "out", "port", "rig", "demo", "170ft")
    assert "before its line went out" in boat("log", "catch", "port", "10", "min", "ago", status=2)
    assert 'did you mean "port"' in boat("log", "catch", "prot", status=2)
    ahead = (datetime.now(ZoneInfo(ZONE)) + timedelta(hours=2)).isoformat(timespec="minutes")
    assert "ahead of now" in boat("log", "catch", "port", "--at", ahead, status=2)
    assert "no unit" in boat("log", "catch", "port", "21", status=2)
    assert len(boat.json("day", "show")["entries"]) == 1
    kept = boat.json("log", "catch", "bow", "--anyway")
    assert kept["added"][0]["checks"][0]["code"] == "unknown-rod"
    assert "Check:" in boat("day", "show")


def test_a_day_read_from_a_file_all_or_nothing(boat: Boat, tmp_path: Path) -> None:
    notes = tmp_path / "notes.txt"
    lines = [
        "# Long Slate, with Tor",
        "07:00 set port rig demo 170 ft",
        "07:05 sky sunny",
        "07:42 catch port walleye 21.5in released",
        "08:15 hit port 31 ft",
        "09:00 in port",
    ]
    notes.write_text("\n".join([*lines, "09:05 catch prot"]))
    error = boat("log", "--file", str(notes), "--day", "2026-08-14", status=2)
    assert error.startswith("towscope: line 7: ")
    assert "empty" in boat("day", "list", status=1)
    notes.write_text("\n".join(lines))
    boat("log", "--file", str(notes), "--day", "2026-08-14")
    day = boat.json("day", "show", "2026-08-14")
    assert [e["at"][11:16] for e in day["entries"]] == ["07:00", "07:05", "07:42", "08:15", "09:00"]
    effort = boat.json("day", "effort", "2026-08-14")
    assert effort["hours"] == pytest.approx(2.0)
    assert effort["groups"][0]["catches"] == 1


def test_the_demo_day_is_shown_counted_and_reported(boat: Boat, tmp_path: Path) -> None:
    first = boat.json("day", "demo")
    assert first["new_entries"] > 30
    assert boat.json("day", "demo")["new_entries"] == 0
    rows = boat.json("day", "list")["days"]
    assert [row["day"] for row in rows] == ["2026-08-14"]
    effort = boat.json("day", "effort", "--by", "lure,colour")
    hours = sum(g["hours"] for g in effort["groups"])
    assert hours == pytest.approx(effort["hours"], rel=1e-4)  # six digits are shown
    assert sum(g["catches"] for g in effort["groups"]) == rows[0]["catches"]
    assert effort["stints"][0]["start"].startswith("2026-08-14T06:")
    assert "small-minnow" in boat("day", "effort")
    assert "27 to 30 ft" in boat("day", "effort", "--by", "depth,sky")
    html, pdf = tmp_path / "d.html", tmp_path / "d.pdf"
    boat("day", "report", "-o", str(html))
    boat("day", "report", "2026-08-14", "--out", str(pdf))
    text = html.read_text(encoding="utf-8")
    # self-contained: nothing is asked of any other place
    assert not re.search(r'(?:src|href|url)\s*[=(]\s*["\']?(?:https?:)?//', text)
    assert "<script" not in text
    assert text.count("<svg") == 2
    from pypdf import PdfReader

    pages = PdfReader(pdf).pages
    words = " ".join(page.extract_text() for page in pages)
    assert len(pages) <= 3
    assert "Friday 14 August 2026" in words
    for row in ("small-minnow black-gold", "rod-hours", "Swallows low"):
        assert row in words


def test_what_a_crew_types_cannot_reach_the_page_as_markup(boat: Boat, tmp_path: Path) -> None:
    boat("log", "out", "port", "rig", "demo", "170ft")
    boat("log", "note", "<script>alert(1)</script> #panic() & $x$ *b*")
    html = tmp_path / "d.html"
    boat("day", "report", "-o", str(html))
    assert "<script>" not in html.read_text()
    boat("day", "report", "-o", str(tmp_path / "d.pdf"))


def test_there_and_back(boat: Boat, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    boat("day", "demo")
    for kind in ("jsonl", "csv", "geojson", "gpx"):
        boat("day", "export", str(tmp_path / f"j.{kind}"))
    monkeypatch.setenv("TOWSCOPE_HOME", str(tmp_path / "other"))
    taken = boat.json("day", "import", str(tmp_path / "j.jsonl"))["files"][0]
    assert taken["new_entries"] == taken["entries"] > 30
    for kind in ("jsonl", "csv", "geojson"):
        again = boat.json("day", "import", str(tmp_path / f"j.{kind}"))["files"][0]
        assert again["new_entries"] == 0
    (tmp_path / "cut.jsonl").write_bytes((tmp_path / "j.jsonl").read_bytes()[:5000])
    assert "cut short" in boat("day", "import", str(tmp_path / "cut.jsonl"), status=2)
    assert "expected a name ending in" in boat("day", "export", "x.docx", status=2)
    assert "No such file" in boat("day", "import", str(tmp_path / "none.jsonl"), status=2)


def test_a_clock_an_hour_off_is_seen_and_mended(
    boat: Boat, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    notes = tmp_path / "n.txt"
    notes.write_text(
        "07:00 set port rig demo 170ft\n07:01 set starboard rig demo 150ft\n"
        "11:00 in port\n11:01 in starboard\n"
    )
    boat("log", "--file", str(notes), "--day", "2026-08-14")
    monkeypatch.setenv("TOWSCOPE_DEVICE", "tablet")
    notes.write_text("06:10 catch port 21in\n06:20 catch starboard 20in\n09:00 catch port 18in\n")
    assert "before its line" in boat("log", "--file", str(notes), "--day", "2026-08-14", status=2)
    boat("log", "--file", str(notes), "--day", "2026-08-14", "--anyway")
    checks = [m["text"] for m in boat.json("day", "show", "2026-08-14")["day_checks"]]
    assert any("clock of tablet may run 1 h behind" in text for text in checks)
    said = boat("day", "clock", "tablet", "--behind", "1 h", "--day", "2026-08-14")
    assert said.startswith("Clock corrected; 0 left to check")
    day = boat.json("day", "show", "2026-08-14")
    assert [e["at"][11:16] for e in day["entries"] if e["kind"] == "catch"] == [
        "07:10", "07:20", "10:00",
    ]  # fmt: skip


@pytest.mark.parametrize(
    "words",
    [
        ("log",),
        ("log", "out"),
        ("log", "fix", "last"),
        ("log", "undo"),
        ("log", "undo", "zzzz"),
        ("log", "undo", "abcdef"),
        ("log", "catch", "--at", "nonsense"),
        ("log", "note", "x", "--lat", "45"),
        ("log", "note", "x", "--lat", "95", "--lon", "0"),
        ("log", "--file", "/nowhere"),
        ("day", "show", "14.8."),
        ("day", "effort", "--by", "moon"),
        ("day", "effort", "--running", "fast"),
        ("day", "report", "-o", "x.txt"),
        ("day", "clock", "phone"),
        ("day", "clock", "nobody", "--ahead", "1 h"),
        ("fish", "weight", "walleye", "21"),
        ("fish", "weight", "walleye", "21 in", "300 lb"),
        ("fish", "weight", "dragon", "21 in"),
        ("fish", "release", "walleye", "--hook", "fin"),
        ("fish", "release", "walleye", "--depth", "31"),
    ],
)
def test_bad_input_ends_with_one_line_and_status_2(boat: Boat, words: tuple[str, ...]) -> None:
    boat("day", "demo")
    boat(*words, status=2)


def test_no_answer_ends_with_status_1(boat: Boat) -> None:
    boat("log", "note", "alone")
    assert "nothing was logged" in boat("day", "show", "2020-01-01", status=1)
    assert "no line was out" in boat("day", "effort", status=1)
    assert "holds from" in boat("fish", "weight", "walleye", "4in", status=1)
    assert "no standard weight" in boat("fish", "weight", "whitefish", "20in", status=1)


@pytest.mark.parametrize("kind", ["jsonl", "csv", "geojson", "gpx"])
def test_an_empty_day_leaves_no_file(boat: Boat, tmp_path: Path, kind: str) -> None:
    path = tmp_path / f"j.{kind}"
    boat("log", "sky", "cloudy")
    said = boat("day", "export", str(path), "--day", "2001-05-06", status=1)
    assert "nothing was logged on 2001-05-06" in said
    if kind == "gpx":  # the sky has no place
        assert "has a place" in boat("day", "export", str(path), "--day", "today", status=1)
    else:
        boat("day", "export", str(tmp_path / f"other.{kind}"), "--day", "today")
    assert not path.exists()


def test_fish_on_the_command_line(boat: Boat, tmp_path: Path) -> None:
    found = boat.json("fish", "weight", "walleye", "21.5in", "3.4 lb")
    # Murphy et al. 1990, by hand: 3.180 log10 546.1 - 5.453 = 3.25152, or 1784.5 g
    assert found["standard_weight_kg"] == pytest.approx(1.7845, abs=0.0005)
    assert found["relative_weight"] == pytest.approx(3.4 * 0.45359237 / 1.7845, abs=0.001)
    assert (
        boat.json("fish", "release", "walleye", "--depth", "36 ft", "--surface", "74F")["outlook"]
        == "poor"
    )
    assert "walleye" in boat("fish", "species")
    rules = tmp_path / "limits.toml"
    rules.write_text(
        '[long-slate]\nsource = "the invented county of Slate"\nchecked = 2026-05-03\n'
        '[long-slate.walleye]\nminimum = "15 in"\nrelease = ["20 in", "26 in"]\nkeep = 4\n'
    )
    assert (
        boat.json("fish", "keep", "walleye", "21.5 in", "--rules", str(rules))["may_keep"] is False
    )
    assert "may be kept" in boat("fish", "keep", "walleye", "18 in", "--rules", str(rules))
