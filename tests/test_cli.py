"""The command line as its user meets it: answers, one clear line on a fault, the exit status."""

import csv
import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from pypdf import PdfReader

from towscope.cli import QUICK, ROOMS, build, run

LETOUT = ["letout", "demo", "--depth", "28 ft", "--speed", "2 mph"]


def ask(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    status = run(list(words))
    out, err = capsys.readouterr()
    return status, out, err


def test_how_much_line(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, err = ask(capsys, *LETOUT)
    assert (status, err) == (0, "")
    assert "Let out" in out
    assert "leader, then" in out
    assert "9 times in 10" in out
    assert "shallower" in out
    assert "deeper" in out


def test_json_is_one_object_in_si_wherever_the_options_stand(
    capsys: pytest.CaptureFixture[str],
) -> None:
    status, out, _ = ask(capsys, "letout", "--json", "--speed", "2 mph", "demo", "--depth", "28 ft")
    answer = json.loads(out)
    assert status == 0
    assert answer["depth_m"] == pytest.approx(8.5344)
    assert answer["speed_m_s"] == pytest.approx(0.89408)
    low, high = answer["let_out_90_m"]
    assert low < answer["let_out_m"] < high
    # 30 ft of leader, then colours of 30 ft.
    assert answer["colors_out"] == pytest.approx((answer["let_out_m"] / 0.3048 - 30) / 30, rel=1e-4)
    for key in ("depth_90_m", "layback_m", "tension_n", "strength_share"):
        assert key in answer


def test_colours_are_counted_past_the_leader(capsys: pytest.CaptureFixture[str]) -> None:
    _, colours, _ = ask(
        capsys, "depth", "demo", "--out", "4.5 colors", "--speed", "2 mph", "--json"
    )
    _, feet, _ = ask(capsys, "depth", "demo", "--out", "165 ft", "--speed", "2 mph", "--json")
    assert json.loads(colours) == json.loads(feet)


def test_a_stated_current_against_the_boat_is_speed_through_the_water(
    capsys: pytest.CaptureFixture[str],
) -> None:
    _, against, _ = ask(capsys, *LETOUT, "--current", "0.3 mph against", "--json")
    _, faster, _ = ask(capsys, "letout", "demo", "--depth", "28 ft", "--speed", "2.3 mph", "--json")
    assert json.loads(against)["let_out_m"] == pytest.approx(
        json.loads(faster)["let_out_m"], rel=1e-3
    )


def test_a_table_in_every_form(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    words = ["table", "demo", "--depths", "20, 30 ft", "--speeds", "1.6 to 2.4 mph by 0.4"]
    status, out, _ = ask(capsys, *words, "--depth", "30 ft", "--speed", "2 mph")
    assert status == 0
    assert out.count("▸") == 1
    _, out, _ = ask(capsys, *words, "--json")
    cells = json.loads(out)["cells"]
    assert len(cells) == 6
    _, one, _ = ask(capsys, "letout", "demo", "--depth", "30 ft", "--speed", "2 mph", "--json")
    assert cells[4]["let_out_m"] == pytest.approx(json.loads(one)["let_out_m"], rel=1e-4)
    assert ask(capsys, *words, "-o", str(tmp_path / "t.csv"))[0] == 0
    rows = list(csv.reader(io.StringIO((tmp_path / "t.csv").read_text())))
    assert rows[0][:3] == ["depth [ft]", "speed [mph]", "let_out [ft]"]
    assert len(rows) == 7
    assert ask(capsys, *words, "-o", str(tmp_path / "t.json"))[0] == 0
    assert len(json.loads((tmp_path / "t.json").read_text())["cells"]) == 6


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("rig", ["demo", "demo-bulky"])
def test_the_sheet_is_one_page_that_holds_figures_and_cautions(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, units: str, rig: str
) -> None:
    path = tmp_path / "sheet.pdf"
    assert ask(capsys, "table", rig, "--units", units, "-o", str(path))[0] == 0
    pages = PdfReader(path).pages
    assert len(pages) == 1
    text = " ".join(pages[0].extract_text().split())
    for words in (rig, "Safety", "wash hands", "Local rules come first", "lookout", "10 = "):
        assert words in text
    _, out, _ = ask(capsys, "table", rig, "--units", units, "--json")
    scale = 0.3048 if units == "us" else 1.0
    for cell in json.loads(out)["cells"]:
        assert f"{cell['let_out_m'] / scale:.0f}" in text


def test_a_reel(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = ask(capsys, "reel", "large", "demo", "--out", "170 ft", "--counter", "190 ft")
    assert status == 0
    assert "It fits" in out
    assert "counter_factor = 0.895" in out
    status, out, _ = ask(capsys, "reel", "medium", "demo", "--json")
    assert json.loads(out)["fits"] is False


def test_a_stored_counter_factor_is_used(
    capsys: pytest.CaptureFixture[str], own_home: Path
) -> None:
    (own_home / "tackle.toml").write_text(
        '[rigs.mine]\nlure = "small-minnow"\ncounter_factor = 0.9\n'
        'line = [{ line = "thin-core-18", length = "10 colors" }]\n'
    )
    words = ["letout", "mine", "--depth", "20 ft", "--speed", "2 mph"]
    answer = json.loads(ask(capsys, *words, "--json")[1])
    assert answer["counter_m"] == pytest.approx(answer["let_out_m"] / 0.9, rel=1e-4)
    assert "counter then shows" in ask(capsys, *words)[1]


def test_what_is_aboard(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = ask(capsys, "stock")
    assert status == 0
    for name in ("demo", "thin-core-18", "small-minnow", "large"):
        assert name in out
    lines = json.loads(ask(capsys, "stock", "lines", "--json")[1])["lines"]
    assert lines["thin-core-18"]["source"]["mass"].startswith("computed")


# Bad input: one clear line on standard error, exit status 2 (1 where there is no such answer).
BAD = [
    (["letout", "demo", "--depth", "28", "--speed", "2 mph"], 2, "has no unit"),
    (["letout", "demo", "--depth", "28 mph", "--speed", "2 mph"], 2, "--depth.*no unit of length"),
    (["letout", "demo", "--depth", "-28 ft", "--speed", "2 mph"], 2, "--depth"),
    (["letout", "demo", "--depth", "0 ft", "--speed", "2 mph"], 2, "--depth"),
    (["letout", "demo", "--depth", "nan ft", "--speed", "2 mph"], 2, "--depth"),
    (["letout", "demo", "--depth", "inf m", "--speed", "2 mph"], 2, "--depth"),
    (["letout", "demo", "--depth", "1e300 ft", "--speed", "2 mph"], 2, "--depth"),
    (["letout", "demo", "--depth", "28 ft", "--speed", "0 mph"], 2, "--speed"),
    (["letout", "demo", "--depth", "28 ft", "--speed", "-2 mph"], 2, "--speed"),
    (["letout", "demo", "--depth", "28 ft", "--speed", "60 mph"], 2, "--speed"),
    (["letout", "demo", "--depth", "28 ft", "--speed", "2 ft"], 2, "--speed.*no unit of speed"),
    (["letout", "demo", "--depth", "28 ft"], 2, "Missing option '--speed'"),
    (["letout", "demo", "--depth", "28 ft", "--speed"], 2, "requires an argument"),
    (["letout", "dem", "--depth", "28 ft", "--speed", "2 mph"], 2, "did you mean: demo"),
    ([*LETOUT, "--lure", "no-such"], 2, "no lure called"),
    ([*LETOUT, "--tackle", "no-such.toml"], 2, "no-such.toml"),
    ([*LETOUT, "--current", "0.3 mph"], 2, "expected which way"),
    ([*LETOUT, "--current", "0.3 with"], 2, "--current"),
    ([*LETOUT, "--current", "3 mph with"], 2, "less than the boat's speed"),
    ([*LETOUT, "--current", "0.3 mph with at 30 ft, 0 mph at 0 ft"], 2, "top down"),
    ([*LETOUT, "--water", "100 degF"], 2, "32 to 95 degF"),
    ([*LETOUT, "--units", "cubits"], 2, "us or metric"),
    ([*LETOUT, "--frobnicate"], 2, "No such option"),
    (["depth", "demo", "--out", "20 ft", "--speed", "2 mph"], 2, "shorter than the leader"),
    (["depth", "demo", "--out", "11 colors", "--speed", "2 mph"], 2, "holds 10 colors"),
    (["depth", "demo", "--out", "900 ft", "--speed", "2 mph"], 1, "cannot be let out"),
    (["letout", "demo", "--depth", "400 ft", "--speed", "2 mph"], 1, "deepest is"),
    (["speed", "demo", "--out", "100 ft", "--depth", "99.9 ft"], 1, "no speed"),
    (["table", "demo", "--depths", "30 to 10 ft by 5"], 2, "rising range"),
    (["table", "demo", "--depths", "1 to 100 ft by 0.001"], 2, "rising range"),
    (["table", "demo", "--depths", "30"], 2, "has no unit"),
    (["table", "demo", "-o", "sheet.docx"], 2, "expected a name that ends in"),
    (["table", "demo", "--depths", "20 ft", "-o", "/no/such/folder/sheet.csv"], 2, "cannot write"),
    (["reel", "nothing", "demo"], 2, "no reel called"),
    (["reel", "large", "demo", "--counter", "90 ft"], 2, "--counter needs --out"),
    (["stock", "boats"], 2, "expected one of"),
    (["no-such-command"], 2, "No such command"),
]


@pytest.mark.parametrize(("words", "status", "named"), BAD, ids=lambda v: str(v)[:40])
def test_a_fault_is_one_clear_line(
    capsys: pytest.CaptureFixture[str], words: list[str], status: int, named: str
) -> None:
    import re

    found, out, err = ask(capsys, *words)
    assert (found, out) == (status, "")
    assert err.count("\n") == 1
    assert err.startswith("towscope: ")
    assert re.search(named, err), err


FULL_DISK = (
    "import resource, signal, sys; signal.signal(signal.SIGXFSZ, signal.SIG_IGN);"
    "resource.setrlimit(resource.RLIMIT_FSIZE, (2000, 2000));"
)
"""No file can grow past 2 kB, which stands in for a full disk."""


def on_a_full_disk(script: str, *words: str, **env: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", FULL_DISK + script, *words],
        capture_output=True,
        text=True,
        env={**os.environ, **env},
        check=False,
    )


def test_a_full_disk_leaves_the_old_sheet(tmp_path: Path) -> None:
    path = tmp_path / "sheet.pdf"
    path.write_bytes(b"the old sheet")
    words = ("table", "demo", "--depths", "20 ft", "-o", str(path))
    done = on_a_full_disk("from towscope.cli import main; main(sys.argv[1:])", *words)
    assert done.returncode == 2
    assert "cannot write" in done.stderr.strip().splitlines()[-1]
    assert path.read_bytes() == b"the old sheet"
    assert [p.name for p in tmp_path.iterdir() if p.suffix == ".part"] == []


def test_a_kernel_that_cannot_be_kept_still_runs(tmp_path: Path) -> None:
    done = on_a_full_disk(
        "from towscope.towing.drag import cross_flow_coefficient as c; print(round(c(130.0), 2))",
        NUMBA_CACHE_DIR=str(tmp_path / "cache"),
    )
    assert (done.returncode, done.stdout.strip()) == (0, "1.39"), done.stderr


def test_help_names_every_command(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = ask(capsys, "--help")
    assert status == 0
    for command in ("letout", "depth", "speed", "table", "reel", "stock"):
        assert f"  {command} " in out
    first = {c.callback.__name__ for c in build(ROOMS[:1]).registered_commands if c.callback}
    assert first == QUICK
    assert ask(capsys, "--version")[1].startswith("towscope ")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("lake sun north 0", 'LAT "north"'),
        ("lake sun 48 0 --date yesterday", '--date "yesterday"'),
        ("lake build s.csv --name x --depth-unit furlong", '--depth-unit "furlong"'),
        ("lake build s.csv --name x --level high", "--level: "),
        ("lake demo -o log.txt", '-o "log.txt"'),
        ("lake map Pond -o map.txt", '-o "map.txt"'),
        ("fish weight walleye long", "LENGTH: "),
        ("letout demo --depth 0ft --speed 2mph", '--depth "0ft"'),
        ("depth demo --out much --speed 2mph", "--out: "),
    ],
)
def test_an_argument_is_named_as_its_command_takes_it(
    words: str, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(words.split()) == 2
    assert capsys.readouterr().err.startswith(f"towscope: {said}")
