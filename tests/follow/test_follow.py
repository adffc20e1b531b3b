"""`towscope follow` against the steady engine, the moving engine alone, and bad input."""

import csv
import io
import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from towscope.boat.clean import clean
from towscope.boat.track import Fixes
from towscope.cli import run
from towscope.demo.track import demo_fixes
from towscope.follow.clear import most_line
from towscope.follow.explain import reason
from towscope.follow.lure_path import flat_bed, follow
from towscope.tackle.shelf import stock
from towscope.towing.lookahead import Boat, Manoeuvre, ahead, course
from towscope.towing.moving import Lines, settled
from towscope.towing.questions import depth_of
from towscope.towing.tow import Setting

FT, MPH = 0.3048, 0.44704
SPEED = 2.0 * MPH


def made(plan, seconds=300.0, boat=None, step=1.0):
    time, path = course(boat or Boat(0.0, 0.0, SPEED, 0.4), plan, seconds, step)
    return time, path


def as_track(time, path):
    return clean(Fixes(time, path[:, 0], path[:, 1], on_globe=False, dated=False))


def table(path: Path, time, way) -> Path:
    rows = [f"{t:.3f},{x:.4f},{y:.4f}" for t, (x, y) in zip(time, way[:, :2], strict=True)]
    path.write_text("time_s,x_m,y_m\n" + "\n".join(rows) + "\n")
    return path


@pytest.fixture(scope="module")
def tow():
    return stock().tow("demo")


# Reference: the steady engine, which is checked against closed forms and DOP853 on its own.
@pytest.mark.parametrize("factor", [1.0, 0.93])
def test_straight_track_gives_the_steady_depth(tow, factor):
    rig = replace(tow, counter_factor=factor)
    way = follow(rig, as_track(*made([])), 51.8, draws=1)
    steady = depth_of(rig, 51.8, Setting(SPEED)).where
    assert way.depth == pytest.approx(np.full(301, steady.depth), rel=2e-3)
    assert way.tension == pytest.approx(np.full(301, steady.tension), rel=5e-3)
    behind = np.hypot(*(way.lure[:, :2] - way.boat[:, :2]).T)
    assert behind == pytest.approx(np.full(301, steady.layback), rel=2e-3)


def test_band_is_the_steady_band(tow):
    way = follow(tow, as_track(*made([], 60.0)), 51.8)
    low, high = depth_of(tow, 51.8, Setting(SPEED)).depth_90
    # 48 draws against 512: quantiles of so few wander by a tenth of the band
    assert way.low[-1] == pytest.approx(low, abs=0.12 * (high - low))
    assert way.high[-1] == pytest.approx(high, abs=0.12 * (high - low))
    assert (way.low <= way.depth).all() and (way.depth <= way.high).all()


# Reference: the moving engine, driven along the exact turn instead of along fixes.
@pytest.mark.parametrize("step", [1.0, 4.0])
def test_turn_from_fixes_is_the_turn_itself(tow, step):
    plan = [Manoeuvre(begin=40.0, turn=math.pi, radius=20.0)]
    way = follow(tow, as_track(*made(plan, step=step)), 51.8, draws=1)
    lines = Lines.of([tow])
    exact = ahead(
        lines, settled(lines, 51.8, SPEED, 0.4), Boat(0.0, 0.0, SPEED, 0.4), plan, 300.0, step=0.25
    )
    truth = exact.lure[0, ::4]
    assert np.hypot(*(way.lure - truth)[:, :2].T).max() < 0.5
    assert way.depth == pytest.approx(-truth[:, 2], rel=0.02)
    # common practice, no source: it sinks in a turn
    assert way.depth.max() > 1.2 * way.depth[0]


def test_noise_of_a_receiver_moves_the_depth_little(tow):
    rng = np.random.default_rng(2)
    time, path = made([Manoeuvre(begin=90.0, turn=math.pi, radius=20.0)], 300.0)
    exact = follow(tow, as_track(time, path), 51.8, draws=1)
    path[:, :2] += rng.normal(0.0, 0.8, (len(time), 2))
    noisy = follow(tow, as_track(time, path), 51.8, draws=1)
    assert np.abs(noisy.depth - exact.depth)[60:].max() < 0.5


def test_every_tells_the_same_story(tow):
    track = as_track(*made([Manoeuvre(begin=40.0, turn=math.pi, radius=20.0)]))
    one, ten = (follow(tow, track, 51.8, every=e, draws=1) for e in (1.0, 10.0))
    assert (one.time[::10] == ten.time).all()
    assert ten.depth == pytest.approx(one.depth[::10], rel=2e-3)
    half = follow(tow, track, 51.8, every=0.5, draws=1)
    assert half.depth[::2] == pytest.approx(one.depth, rel=3e-3)


def test_long_gap_starts_anew(tow):
    time, path = made([], 600.0)
    keep = (time < 200) | (time > 400)
    way = follow(tow, as_track(time[keep], path[keep]), 51.8, draws=1)
    assert set(way.stretch) == {0.0, 1.0} and not ((way.time > 200) & (way.time < 401)).any()
    assert way.depth == pytest.approx(np.full(len(way.time), way.depth[0]), rel=2e-3)


def test_current_by_the_compass_slows_one_way(tow):
    rows = np.array([[0.0, 0.0, -0.2]])  # setting south
    out, back = (
        follow(tow, as_track(*made([], 60.0, Boat(0, 0, SPEED, c))), 51.8, current=rows, draws=1)
        for c in (0.0, math.pi)
    )
    for way, along in ((out, -0.2), (back, 0.2)):
        steady = depth_of(tow, 51.8, Setting(SPEED, ((0.0, along, 0.0),))).where
        assert way.depth[-1] == pytest.approx(steady.depth, rel=2e-3)


def test_a_boat_at_rest_hangs_it_straight_down(tow):
    t = np.arange(0.0, 60.0)
    way = follow(tow, as_track(t, np.zeros((60, 2))), 51.8, draws=1)
    # the demo lure floats by little: the core takes nearly all of the line down
    assert way.depth[-1] > 0.75 * 51.8 and any("stood nearly still" in n for n in way.notes)


def test_rod_tip_to_the_side(tow):
    track = as_track(*made([], 60.0, Boat(0.0, 0.0, SPEED, 0.0)))
    way = follow(tow, track, 51.8, mount=(-2.0, 3.0), draws=1)
    plain = follow(tow, track, 51.8, draws=1)
    assert way.lure[-1] - plain.lure[-1] == pytest.approx([3.0, -2.0, 0.0], abs=0.02)


def test_most_line_is_the_steady_let_out(tow):
    track = as_track(*made([], 120.0))
    steady = depth_of(tow, 51.8, Setting(SPEED)).where.depth
    bed = flat_bed(steady + 1.0)
    assert most_line(tow, track, 51.8, 0.5, bed) == 51.8
    found = most_line(tow, track, 51.8, 2.0, bed)
    assert found is not None
    lowest = depth_of(tow, found, Setting(SPEED)).where.deepest
    assert 0.0 <= steady - 1.0 - lowest < 0.15


def test_demo_hour_and_its_reasons(tow):
    track = clean(demo_fixes())
    assert [gap.bridged for gap in track.gaps] == [True]
    way = follow(tow, track, 51.8, draws=1)
    deepest = int(np.argmax(way.depth))
    turn = reason(way, deepest)
    assert math.degrees(turn.turn) == pytest.approx(-180.0, abs=15.0)
    slow = reason(way, int(np.searchsorted(way.time, 2150.0)))
    assert slow.slower and not slow.turn
    fast = reason(way, int(np.argmin(way.depth)))
    assert fast.faster and not fast.turn
    # common practice, no source: deeper when slow, shallower when fast
    usual = float(np.median(way.depth))
    assert way.depth[2150] > usual + 1.0 and way.depth[3200] < usual - 1.0


def test_the_invented_hour_is_on_the_invented_lake():
    """The lake's own true bottom is the reference: deep enough to troll all along."""
    from towscope.demo.long_slate import PLACE, true_depth

    fixes = demo_fixes()
    depth = true_depth(*PLACE.to_metres(fixes.first, fixes.second))
    assert float(depth.min()) > 10.0


# -- the command -----------------------------------------------------------------------------------


def asked(capsys, *words):
    status = run([str(word) for word in words])
    seen = capsys.readouterr()
    return status, seen.out, seen.err


def test_json_has_what_is_promised(tmp_path, capsys):
    time, path = made([Manoeuvre(begin=40.0, turn=math.pi, radius=20.0)], 120.0)
    track = table(tmp_path / "a.csv", time + 7.0, path)
    status, out, _ = asked(
        capsys,
        "follow",
        "demo",
        track,
        "--json",
        "--out",
        "170 ft",
        "--every",
        "2s",
        "--bottom",
        "40 ft",
    )
    answer = json.loads(out)
    assert status == 0
    arrays = ("time_s", "x_m", "y_m", "depth_m", "tension_n", "depth_90_low_m", "depth_90_high_m")
    assert {len(answer[key]) for key in arrays} == {61}
    assert answer["time_s"][:2] == [7.0, 9.0] and "lat" not in answer
    assert answer["repairs"] == [] and answer["gaps"] == []
    least = answer["least_off_bottom"]
    # in the turn the core hangs below the floating lure: it is the line that comes nearest
    room = 40 * FT - max(answer["depth_m"])
    assert room - 0.5 < least["off_bottom_m"] < room and least["by"] == "line"
    assert least["off_bottom_95_low_m"] < least["off_bottom_m"] == min(answer["off_bottom_m"])


def test_gpx_gives_lat_and_lon_of_the_lure(tmp_path, capsys):
    geod = pytest.importorskip("pyproj").Geod(ellps="WGS84")
    status, out, _ = asked(
        capsys, "follow", "demo", "demo", "--out", "170 ft", "--json", "--every", "60s"
    )
    answer = json.loads(out)
    assert status == 0 and len(answer["lat"]) == len(answer["time_s"]) == 61
    far = geod.inv(answer["boat_lon"], answer["boat_lat"], answer["lon"], answer["lat"])[2]
    level = np.hypot(
        np.subtract(answer["x_m"], answer["boat_x_m"]),
        np.subtract(answer["y_m"], answer["boat_y_m"]),
    )
    assert far == pytest.approx(level, abs=0.03)  # seven decimals of a degree are a centimetre
    assert answer["start"] == "2026-08-14T12:20:00+00:00" and len(answer["gaps"]) == 1


def test_let_out_by_a_table(tmp_path, capsys):
    time, path = made([], 300.0)
    track = table(tmp_path / "a.csv", time, path)
    outs = tmp_path / "outs.csv"
    outs.write_text("time_s,let_out\n0,100 ft\n60,100 ft\n120,170 ft\n")
    status, out, _ = asked(capsys, "follow", "demo", track, "--out", outs, "--json")
    answer = json.loads(out)
    assert status == 0 and answer["let_out_m"][90] == pytest.approx(135 * FT)
    tow = stock().tow("demo")
    for at, feet in ((50, 100), (300, 170)):
        steady = depth_of(tow, feet * FT, Setting(SPEED)).where
        assert answer["depth_m"][at] == pytest.approx(steady.depth, rel=0.01)


@pytest.mark.parametrize("ending", ["png", "svg", "pdf", "csv", "json"])
def test_files(tmp_path, capsys, ending):
    time, path = made([Manoeuvre(begin=20.0, turn=math.pi, radius=20.0)], 90.0)
    track, target = table(tmp_path / "a.csv", time, path), tmp_path / f"out.{ending}"
    status, out, _ = asked(capsys, "follow", "demo", track, "--out", "170 ft", "-o", target)
    assert status == 0 and "Deepest" in out and "turn to starboard" in out
    data = target.read_bytes()
    if ending == "csv":
        rows = list(csv.DictReader(io.StringIO(data.decode())))
        assert len(rows) == 91 and float(rows[0]["depth_m"]) == pytest.approx(9.58, abs=0.05)
    elif ending == "json":
        assert len(json.loads(data)["depth_m"]) == 91
    else:
        assert data.startswith({"png": b"\x89PNG", "svg": b"<?xml", "pdf": b"%PDF"}[ending])
        assert len(data) > 10_000


STRAIGHT = "time_s,x_m,y_m\n" + "".join(f"{i},{0.9 * i},0\n" for i in range(60))


@pytest.mark.parametrize(
    ("text", "words", "message"),
    [
        ("time_s,x_m,y_m\n0,0,0\n", [], "1 usable fix; expected a track of two or more"),
        ("", [], "is empty"),
        ("time_s,x_m,y_m\n0,nan,0\n1,nan,0\n", [], "none of its 2 fixes"),
        (STRAIGHT, ["--out", "170"], "has no unit"),
        (STRAIGHT, ["--out", "9000 ft"], "expected a length"),
        (STRAIGHT, ["--out", "2900 ft"], "the line on the rig"),
        (STRAIGHT, ["--out", "170 mph"], "no unit of length"),
        (STRAIGHT, ["--out", "none.csv"], "none.csv"),
        (STRAIGHT, ["--every", "0s"], "--every"),
        (STRAIGHT, ["--every", "nan s"], "--every"),
        (STRAIGHT, ["--every", "2 min"], "lasts 0:59, less than one step"),
        (STRAIGHT, ["--current", "0.3 mph"], "expected which way"),
        (STRAIGHT, ["--current", "0.3 mph from upstairs"], "expected north"),
        (STRAIGHT, ["--current", "30 mph from west"], "expected 0 to 6.7 mph"),
        (STRAIGHT, ["--tip", "5 ft up"], "--tip"),
        (STRAIGHT, ["--bottom", "-4 ft"], "--bottom"),
        (STRAIGHT, ["--keep", "2 ft"], "--keep needs --bottom"),
        (STRAIGHT, ["-o", "way.bmp"], "ends in"),
        (STRAIGHT, ["--tackle", "none.toml"], "none.toml"),
    ],
)
def test_bad_input_is_one_line(tmp_path, capsys, text, words, message):
    track = tmp_path / "a.csv"
    track.write_text(text)
    out = [] if "--out" in words else ["--out", "170 ft"]
    status, shown, error = asked(capsys, "follow", "demo", track, *out, *words)
    assert status == 2 and shown == "" and message in error
    assert error.count("\n") == 1 and "Traceback" not in error


def test_another_rig_is_named(tmp_path, capsys):
    track = tmp_path / "a.csv"
    track.write_text(STRAIGHT)
    status, _, error = asked(capsys, "follow", "nobody", track, "--out", "170 ft")
    assert status == 2 and "nobody" in error


@pytest.mark.parametrize(
    ("rows", "message"),
    [
        ("time_s,let_out\n0,100 ft\n0,120 ft\n", "line 3: time does not rise"),
        ("time_s,let_out\n0,100 ft\n1,170 ft\n", "line 3: 69 ft of line"),
        ("time_s,let_out\n0,100\n", "line 2: "),
        ("time_s,let_out\nnan,100 ft\n", "expected seconds"),
        ("time,let_out\n2026-08-14T07:40:00Z,100 ft\n", "the track has no date"),
        ("when,what\n", "expected a table"),
        ("time_s,let_out\n", "no rows"),
    ],
)
def test_bad_let_out_tables(tmp_path, capsys, rows, message):
    track, outs = tmp_path / "a.csv", tmp_path / "outs.csv"
    track.write_text(STRAIGHT)
    outs.write_text(rows)
    status, _, error = asked(capsys, "follow", "demo", track, "--out", outs)
    assert status == 2 and message in error and error.count("\n") == 1
