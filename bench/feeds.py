"""Processor time and delay of a busy boat's talk.

A TCP server on 127.0.0.1 says RMC, GGA, VTG, DBT, VHW and MTW at 20 Hz, with a line of noise each time;
one feed hears it and the mixer makes the present of it. Measured: this process's time (server and
feed in one), the time from saying to hearing, and the memory at the end against that at the middle.

    python bench/feeds.py [--seconds 60] [--rate 20]
"""

from __future__ import annotations

import argparse
import gc
import os
import platform
import sys
import time
import tracemalloc
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests" / "boat"))

from feed_talker import Talker, sentence

from towscope.boat.feeds.aboard import Feeds
from towscope.boat.feeds.lines import TcpFeed
from towscope.boat.feeds.model import FeedReading


def talk(second: float, moment: datetime) -> bytes:
    minutes = (48.4 + 0.9 * second / 111_214.0 - 48.0) * 60.0
    clock = f"{moment:%H%M%S}.{moment.microsecond // 10_000:02d}"
    place = f"48{minutes:08.5f},N,09154.00000,W"
    return (
        sentence(f"GPRMC,{clock},A,{place},1.75,0.0,{moment:%d%m%y},,,A")
        + sentence(f"GPGGA,{clock},{place},1,08,0.9,350.0,M,0,M,,")
        + sentence("GPVTG,0.0,T,,M,1.75,N,3.2,K,A")
        + sentence("SDDBT,30.8,f,9.4,M,5.1,F")
        + sentence("VWVHW,,T,,M,1.94,N,3.6,K")
        + sentence("IIMTW,21.5,C")
        + b"\xff\x00\x12 rubbish\r\n"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--rate", type=float, default=20.0, help="[Hz]")
    given = parser.parse_args()
    said: dict[int, float] = {}
    late: list[float] = []

    def take(reading: FeedReading) -> None:
        if reading.lat is not None:
            key = round(reading.time * 100)
            if key in said:
                late.append(time.perf_counter() - said.pop(key))

    talker = Talker()
    feeds = Feeds([TcpFeed("127.0.0.1", talker.port)])
    feeds.start(take)
    talker.joined()
    begun, used = time.perf_counter(), time.process_time()
    count, held = 0, 0
    tracing = given.seconds >= 30.0
    while (gone := time.perf_counter() - begun) < given.seconds:
        moment = datetime.now(UTC)
        words = talk(gone, moment)
        said[round(moment.timestamp() * 100)] = time.perf_counter()
        if len(said) > 1000:
            said.clear()
        talker.say(words)
        count += 1
        time.sleep(max(begun + count / given.rate - time.perf_counter(), 0.0))
    share = (time.process_time() - used) / (time.perf_counter() - begun)
    status = feeds.statuses()[0].status
    if tracing:  # memory is watched apart from time: watching slows everything
        tracemalloc.start()
        for number in range(2):
            for _ in range(round(5.0 * given.rate)):
                moment = datetime.now(UTC)
                talker.say(talk(time.perf_counter() - begun, moment))
                time.sleep(1.0 / given.rate)
            gc.collect()
            now = tracemalloc.get_traced_memory()[0]
            held, grown = (now, 0) if number == 0 else (held, now - held)
    feeds.stop()
    talker.die()
    print(f"{given.rate:g} Hz for {given.seconds:.0f} s, Python {platform.python_version()}, "
          f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.0f}\n")  # fmt: skip
    print("| figure | value |")
    print("|---|---|")
    print(f"| share of one core, server and feed | {100 * share:.1f} % |")
    print(f"| from said to heard, median | {1000 * float(np.median(late)):.1f} ms |")
    print(f"| from said to heard, 95 in 100 | {1000 * float(np.quantile(late, 0.95)):.1f} ms |")
    print(f"| readings | {status.count:,} |")
    print(f"| lines of noise passed over | {status.spoilt:,} of {count:,} |")
    if tracing:
        print(f"| memory grown in 5 s, the way gone kept in it | {grown / 1024:.0f} kB |")


if __name__ == "__main__":
    main()
