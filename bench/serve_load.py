"""A full boat's load: eight lines, instruments at 20 Hz, five pages that look on.

Starts ``towscope serve`` over the made-up lake, sends NMEA 0183 (RMC, DPT, VHW) by UDP twenty times
a second along the made-up boat's way, and opens five live streams. All on 127.0.0.1.

    python bench/serve_load.py [--minutes 1] [--clients 5] [--lines 8] [--rate 20]
"""

from __future__ import annotations

import argparse
import asyncio
import json
import os
import platform
import socket
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime
from functools import reduce
from operator import xor
from pathlib import Path
from typing import Any

import numpy as np
import psutil

from towscope.geodesy import Globe
from towscope.journal.events import read_event
from towscope.journal.ids import new_id
from towscope.journal.opening import open_store
from towscope.journal.times import local_zone

WARM_S = 25.0  # kernels load, lines settle; not counted
RIGS = (("demo", 30.0), ("demo-bulky", 38.0), ("demo", 45.0), ("demo-bulky", 52.0))
RODS = ("port outer", "port", "starboard", "starboard outer", "port far", "starboard far",
        "port long", "starboard long")  # fmt: skip


def lay(home: Path, lines: int) -> Any:
    """Lay the made-up lake and days out, and put so many lines into the water."""
    os.environ["TOWSCOPE_HOME"] = str(home)
    from towscope.demo.home import lay_out

    playing = lay_out(home)
    now = datetime.now(local_zone()[0])
    last: str | None = None
    events = []
    with open_store(home / "journal.sqlite") as store:
        for state in store.day(now.date().isoformat()).events:
            if state.kind == "line_out":
                last = new_id(after=last)
                events.append({"id": last, "kind": "line_in", "rod": state.rod})
        done = set()
        for each in events.copy():
            if each["rod"] in done:
                events.remove(each)
            done.add(each["rod"])
        for n in range(lines):
            last = new_id(after=last)
            rig, out = RIGS[n % len(RIGS)]
            events.append(
                {"id": last, "kind": "line_out", "rod": RODS[n], "rig": rig, "let_out_m": out + n}
            )
        store.append(
            [
                read_event({**each, "v": 1, "device": "bench", "at": now.isoformat()})
                for each in events
            ]
        )
    return playing


def sentence(body: str) -> bytes:
    """Frame a sentence: NMEA 0183's checksum is the exclusive or of what is between."""
    return f"${body}*{reduce(xor, body.encode()):02X}\r\n".encode()


class Instruments:
    """The boat's receiver, sounder and log."""

    def __init__(self, track: Any, begin_s: float, port: int, rate: float) -> None:
        self._globe = Globe(float(track.lat[0]), float(track.lon[0]))
        self._t = track.t_s
        self._x, self._y = self._globe.to_metres(track.lat, track.lon)
        self._lat, self._lon, self._depth = track.lat, track.lon, track.depth_m
        self._begin, self._port, self._rate = begin_s, port, rate
        self.sent = 0

    async def play(self, until: float) -> None:
        """Send until then, each reading at its time."""
        line = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        start = time.time()
        n = 0
        while time.time() < until:
            due = start + n / self._rate
            await asyncio.sleep(max(0.0, due - time.time()))
            now = time.time()
            line.sendto(self._told(now, self._begin + now - start), ("127.0.0.1", self._port))
            self.sent += 1
            n = max(n + 1, int((now - start) * self._rate) - 5)  # no burst after a stall

    def _told(self, now: float, at: float) -> bytes:
        x, y = np.interp(at, self._t, self._x), np.interp(at, self._t, self._y)
        x2, y2 = np.interp(at + 2.0, self._t, self._x), np.interp(at + 2.0, self._t, self._y)
        lat, lon = (float(np.interp(at, self._t, each)) for each in (self._lat, self._lon))
        speed = float(np.hypot(x2 - x, y2 - y)) / 2.0 * 3600.0 / 1852.0
        course = float(np.degrees(np.arctan2(x2 - x, y2 - y))) % 360.0
        when = datetime.fromtimestamp(now, UTC)
        clock = f"{when:%H%M%S}.{when.microsecond // 1000:03d}"
        depth = float(np.interp(at, self._t, self._depth))
        a, o = abs(lat), abs(lon)
        return (
            sentence(
                f"GPRMC,{clock},A,{int(a):02d}{a % 1 * 60:08.5f},{'N' if lat >= 0 else 'S'},"
                f"{int(o):03d}{o % 1 * 60:08.5f},{'E' if lon >= 0 else 'W'},{speed:.2f},"
                f"{course:.1f},{when:%d%m%y},,,A"
            )
            + sentence(f"SDDPT,{depth:.2f},0.0")
            + sentence(f"VWVHW,,T,,M,{speed:.2f},N,{speed * 1.852:.2f},K")
        )


class Page:
    """A page that looks on."""

    def __init__(self) -> None:
        self.boat: list[float] = []  # fix to page [s]
        self.run: list[float] = []  # the picture's moment to page [s]
        self.bytes = 0
        self.lines = 0
        self.state = ""

    async def look(self, port: int, since: float, until: float) -> None:
        """Take the stream's events until then."""
        reader, writer = await asyncio.open_connection("127.0.0.1", port, limit=4_000_000)
        writer.write(f"GET /api/stream HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n\r\n".encode())
        await writer.drain()
        kind = b""
        while time.time() < until:
            try:
                line = await asyncio.wait_for(reader.readline(), 15.0)
            except TimeoutError:
                break
            came = time.time()
            if not line:
                break
            if line.startswith(b"event: "):
                kind = line[7:].strip()
            elif line.startswith(b"data: ") and came >= since:
                self.bytes += len(line)
                if kind == b"boat":
                    self.boat.append(came - json.loads(line[6:])["time_s"])
                elif kind == b"run":
                    at = line.split(b'"at":"', 1)[1].split(b'"', 1)[0].decode()
                    self.run.append(came - datetime.fromisoformat(at).timestamp())
                    self.lines = line.count(b'"settled_depth_m"')
                    self.state = line.split(b'"state":"', 1)[1].split(b'"', 1)[0].decode()
        writer.close()


async def measure(given: argparse.Namespace, home: Path) -> None:
    """Run it all and print the table."""
    playing = lay(home, given.lines)
    udp = _free_udp()
    server = subprocess.Popen(
        [sys.executable, "-m", "towscope", "serve", "--json", "--port", "0", "--no-open",
         "--feed", f"udp:{udp}", "--lake", playing.lake],
        env={**os.environ, "TOWSCOPE_HOME": str(home)}, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    try:
        assert server.stdout is not None
        told = json.loads(await asyncio.to_thread(server.stdout.readline))
        port = int(told["address"].rsplit(":", 1)[1].strip("/"))
        app = psutil.Process(told["process"])
        since = time.time() + WARM_S
        until = since + given.minutes * 60.0
        pages = [Page() for _ in range(given.clients)]
        instruments = Instruments(playing.track, playing.now_s, udp, given.rate)
        going = [asyncio.create_task(each.look(port, since, until)) for each in pages]
        going.append(asyncio.create_task(instruments.play(until)))
        await asyncio.sleep(WARM_S)
        before, begun = app.cpu_times(), time.monotonic()
        others: list[float] = []
        memory: list[float] = []
        psutil.cpu_percent()
        while time.time() < until - 0.5:
            await asyncio.sleep(min(5.0, until - time.time()))
            memory.append(app.memory_info().rss / 1e6)
            others.append(psutil.cpu_percent())
        after, lasted = app.cpu_times(), time.monotonic() - begun
        await asyncio.gather(*going)
    finally:
        server.terminate()
        server.wait(20)
    cpu = after.user + after.system - before.user - before.system
    boat, run = (np.concatenate([getattr(p, name) for p in pages]) for name in ("boat", "run"))
    fifth = max(1, len(memory) // 5)
    print(f"\n{datetime.now():%Y-%m-%d}, {os.cpu_count()} cores, {platform.system()}, "
          f"`python bench/serve_load.py --minutes {given.minutes:g}`; the machine was "
          f"{np.mean(others):.0f} % busy on the whole\n")  # fmt: skip
    print("| what | figure |\n|---|---|")
    print(f"| lines followed, pages, readings a second | {pages[0].lines} ({pages[0].state}), "
          f"{given.clients}, {instruments.sent / (WARM_S + given.minutes * 60):.1f} |")  # fmt: skip
    print(f"| server's share of one core | {100 * cpu / lasted:.0f} % |")
    print(f"| fix to page, median / p95 / longest | {_ms(boat)} |")
    print(f"| moment of the picture to page, median / p95 / longest | {_ms(run)} |")
    print(f"| pictures a page got a second | {len(run) / given.clients / lasted:.2f} |")
    print(f"| stream to each page | {pages[0].bytes / lasted / 1e3:.0f} kB/s |")
    shown = ", ".join(f"{np.mean(memory[i:i + fifth]):.0f}" for i in range(0, fifth * 5, fifth) if memory[i:i + fifth])  # fmt: skip
    print(f"| memory, each fifth of the time | {shown} MB |")
    if len(memory) > 3:
        slope = np.polyfit(np.arange(len(memory)) * 5.0 / 60.0, memory, 1)[0]
        print(f"| memory grows by | {slope:+.2f} MB a minute |")


def _ms(seconds: Any) -> str:
    if not seconds.size:
        return "none came"
    return (
        " / ".join(f"{1000 * v:.0f}" for v in (*np.percentile(seconds, (50, 95)), seconds.max()))
        + " ms"
    )


def _free_udp() -> int:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--minutes", type=float, default=1.0)
    asked.add_argument("--clients", type=int, default=5)
    asked.add_argument("--lines", type=int, default=8)
    asked.add_argument("--rate", type=float, default=20.0)
    given = asked.parse_args()
    with tempfile.TemporaryDirectory(prefix="towscope-load-") as home:
        asyncio.run(measure(given, Path(home)))


if __name__ == "__main__":
    main()
