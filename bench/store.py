"""Size, speed and safety of the journal's store: a fishing life in one file.

Builds 2,000 days with 200,000 entries and 50 million track points, and measures; then kills a
writer 200 times in the midst of writing, and fills a disk.

    python bench/store.py [--days 2000] [--kill 200] [--keep FOLDER]
"""

from __future__ import annotations

import argparse
import contextlib
import os
import platform
import random
import shutil
import subprocess
import sys
import tempfile
import time
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

from towscope.effort.effort import pack, season, stints
from towscope.errors import InputError
from towscope.journal.events import AnyEvent, read_event
from towscope.journal.ids import join_id
from towscope.journal.opening import open_store
from towscope.journal.store import Store
from towscope.journal.track import LoggedTrack, make_track

ZONE = ZoneInfo("America/Chicago")
POINTS, ENTRIES = 25_000, 100
LURES = [("small-minnow", "perch"), ("small-minnow", "black-gold"), ("small-spoon", "silver")]


def track_of(day: date, rng: np.random.Generator) -> LoggedTrack:
    """Seven hours once a second: a receiver's wander, three instruments with noise."""
    start = datetime(day.year, day.month, day.day, 6, tzinfo=ZONE).timestamp()
    n = POINTS
    heading = np.cumsum(rng.normal(0, 0.02, n))
    speed = np.clip(0.9 + np.cumsum(rng.normal(0, 0.004, n)) * 0.1, 0.4, 1.4)
    speed[n // 2 : n // 2 + 400] = 9.0
    x, y = np.cumsum(speed * np.cos(heading)), np.cumsum(speed * np.sin(heading))
    wander = rng.normal(0, 0.12, (2, n)).cumsum(axis=1) * 0.1
    lat = 46.9 + (y + wander[0]) / 111_195
    lon = -95.2 + (x + wander[1]) / 76_000
    depth = 9 + np.cumsum(rng.normal(0, 0.02, n)) * 0.3 + rng.normal(0, 0.02, n)
    temp = np.round(21 + np.linspace(0, 1, n) + rng.normal(0, 0.03, n), 1)
    measured = speed + rng.normal(0, 0.03, n)
    return make_track(start + np.arange(n), lat, lon, measured, np.abs(depth), temp)


def events_of(day: date, rng: random.Random) -> list[AnyEvent]:
    start = datetime(day.year, day.month, day.day, 6, tzinfo=ZONE)
    out: list[AnyEvent] = []

    def add(second: float, kind: str, **told: object) -> AnyEvent:
        at = start + timedelta(seconds=int(second))
        name = join_id(int(at.timestamp() * 1000), rng.getrandbits(74))
        event = read_event(
            {"id": name, "device": "phone", "kind": kind, "at": at.isoformat(), **told}
        )
        out.append(event)
        return event

    for rod in ("port", "starboard"):
        add(
            60, "line_out", rod=rod, rig="demo", lure="small-minnow", colour="perch", let_out_m=50.0
        )
    for i in range(ENTRIES - 6):
        second, rod = 120 + i * 250, rng.choice(("port", "starboard"))
        kind = rng.choices(
            ("catch", "strike_missed", "bottom_hit", "line_change", "conditions", "note"),
            (25, 15, 15, 20, 5, 20),
        )[0]
        told: dict[str, object] = {"rod": rod}
        if kind == "catch":
            told |= {"species": "walleye", "length_m": 0.45, "kept": False}
        elif kind == "line_change":
            lure, colour = rng.choice(LURES)
            told |= {"lure": lure, "colour": colour}
        elif kind == "conditions":
            told = {"sky": rng.choice(("sunny", "cloudy"))}
        elif kind == "note":
            told = {"text": "turned along the edge, marks at thirty feet"}
        add(second, kind, **told)
    last = out[-1]
    add(24_500, "undo", target=last.id)
    add(24_510, "conditions", surface_temp_c=21.5)
    for rod in ("port", "starboard"):
        add(24_600, "line_in", rod=rod)
    return out


def build(store: Store, days: list[date]) -> tuple[int, int]:
    entries = points = 0
    pending: list[AnyEvent] = []
    for number, day in enumerate(days):
        points += store.add_track(track_of(day, np.random.default_rng(number)), "phone", ZONE)
        pending += events_of(day, random.Random(number))
        if len(pending) > 20_000:
            entries += store.append(pending)
            pending = []
    return entries + store.append(pending), points


def timed(task: object, times: int) -> str:
    """Time so many runs: the median and the worst by the clock, and the processor's share."""
    assert callable(task)
    taken, busy = [], []
    for _ in range(times):
        begin, cpu = time.perf_counter(), time.process_time()
        task()
        taken.append(time.perf_counter() - begin)
        busy.append(time.process_time() - cpu)
    middle, worst, own = float(np.median(taken)), max(taken), float(np.median(busy))
    unit, factor = ("s", 1.0) if middle >= 1 else ("ms", 1e3)
    return (
        f"{middle * factor:.3g} {unit}, worst {worst * factor:.3g} (processor {own * factor:.3g})"
    )


def full_disk() -> str:
    """Fill a real, tiny file system while writing."""
    folder = Path(tempfile.mkdtemp())
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=3m", "tmpfs", folder], capture_output=True, check=False
    )
    if mounted.returncode:
        folder.rmdir()
        return "not measured: no right to mount"
    try:
        store = open_store(folder / "j.sqlite")
        said, number = "never full", 0
        day = date(2026, 8, 14)
        try:
            while number < 100_000:
                number += store.append(events_of(day, random.Random(number)))
        except InputError as error:
            said = str(error).split(":")[0]
        kept = len(list(store.events()))
        store.close()
        filler = (folder / "filler").open("wb")
        try:
            while filler.write(b"x" * 4096):
                filler.flush()
        except OSError:
            pass
        with open_store(folder / "j.sqlite", create=False) as again:
            reread = len(list(again.events()))
        with contextlib.suppress(OSError):
            filler.close()
        return f'"{said} ..."; {number} acknowledged, {kept} kept, {reread} read on the full disk'
    finally:
        subprocess.run(["umount", "-l", folder], check=False)


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--days", type=int, default=2000)
    parser.add_argument("--kill", type=int, default=200)
    parser.add_argument("--keep", type=Path)
    given = parser.parse_args()
    folder = given.keep or Path(tempfile.mkdtemp())
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / "journal.sqlite"
    rows: list[tuple[str, str]] = []
    days = [date(2012, 5, 1) + timedelta(days=2 * n) for n in range(given.days)]
    begin = time.perf_counter()
    fresh = not path.exists()
    with open_store(path) as store:
        if fresh:
            entries, points = build(store, days)
            rows.append(("built in", f"{time.perf_counter() - begin:.0f} s"))
        else:
            entries = sum(1 for _ in store.events())
            points = sum(row.track_points for row in store.days())
    size = sum(file.stat().st_size for file in folder.glob("journal.sqlite*"))
    rows.append(("holds", f"{len(days):,} days, {entries:,} entries, {points:,} points"))
    rows.append(("size", f"{size / 1e6:.0f} MB ({size / max(points, 1):.1f} bytes a point)"))

    chosen = random.Random(1).sample(days, 30)
    places = iter(chosen)

    def open_day() -> None:
        with open_store(path) as store:
            day = next(places).isoformat()
            assert store.day(day).events
            assert len(store.track(day)) == POINTS

    rows.append(("a day opens (store, entries, track)", timed(open_day, 30)))
    command = [sys.executable, "-m", "towscope", "day", "show", chosen[0].isoformat()]
    command += ["--journal", str(path)]

    def by_command() -> None:
        subprocess.run(command, check=True, capture_output=True)

    rows.append(("the command `day show`, start to end", timed(by_command, 5).split(" (")[0]))
    with open_store(path) as store:
        rows.append(("list of all days", timed(store.days, 5)))
        event = iter(events_of(date(2011, 1, 1), random.Random(time.time_ns())))
        rows.append(("one entry to the disk", timed(lambda: store.append([next(event)]), 50)))
        some = days[: min(50, len(days))]
        begin = time.perf_counter()
        for day in some:
            stints(store.day(day.isoformat()), store.track(day.isoformat()))
        each = (time.perf_counter() - begin) / len(some)
        rows.append(("effort of a day, computed (engine apart)", f"{each * 1e3:.0f} ms"))
        model = stints(store.day(days[0].isoformat()), store.track(days[0].isoformat()))
        # what a season looks like once its days have been computed, each at its first asking
        import hashlib

        from towscope.effort import effort

        key = f"{effort._VERSION}|{effort._FIELDS}||False|{effort.RUNNING_M_S:g}"
        marks = store.fingerprints()
        kept = {
            day: (hashlib.sha256(f"{key}|{mark}".encode()).hexdigest(), pack(model))
            for day, mark in marks.items()
        }
        store.keep_effort(kept)
        found: list[object] = []

        def whole() -> None:
            found[:] = season(store)

        told = timed(whole, 3)
        rows.append((f"effort of all days, kept ({len(found):,} stints)", told))
    if not given.keep:
        shutil.rmtree(folder)
    if given.kill:
        from journal.test_store import kill_while_writing

        with tempfile.TemporaryDirectory() as place:
            acknowledged, lost = kill_while_writing(Path(place) / "j.sqlite", given.kill)
        rows.append(
            (
                f"killed (-9) {given.kill} times while writing",
                f"{acknowledged:,} entries acknowledged, {lost} lost",
            )
        )
    rows.append(("full disk (tmpfs of 3 MB)", full_disk().replace(tempfile.gettempdir(), "")))
    today = datetime.now(UTC).date()
    load = f", load {os.getloadavg()[0]:.0f}" if hasattr(os, "getloadavg") else ""
    kind = f"{os.cpu_count()} cores {platform.machine()}{load}"
    print(f"{today}, {kind}, python {platform.python_version()}\n")
    print("| what | measured |\n| --- | --- |")
    for name, value in rows:
        print(f"| {name} | {value} |")


if __name__ == "__main__":
    main()
