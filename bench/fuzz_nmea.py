"""Fuzzing of the readers of the boat's talk: whether any input breaks them or gets nonsense through.

Coverage-guided fuzzing (atheris, which is libFuzzer for Python) of three readers: NMEA 0183 bytes in
pieces of any size, gpsd's reports, Signal K's deltas. Each input must raise nothing, and whatever
reading comes out must be one that can be: finite, on the globe, in the bounds of boats and lakes.
Where atheris is not installed, hypothesis makes the inputs: at random, not guided.

    python bench/fuzz_nmea.py [--seconds 60] [--keep FOLDER]
"""

from __future__ import annotations

import argparse
import math
import os
import platform
import re
import subprocess
import sys
import tempfile
import time
from functools import reduce
from importlib.util import find_spec
from pathlib import Path

READERS = ("nmea", "gpsd", "signalk")
NOON = 1_786_708_800.0


def mark(text: str) -> bytes:
    return f"${text}*{reduce(lambda a, c: a ^ ord(c), text, 0):02X}\r\n".encode("latin-1")


SEEDS = {
    "nmea": [
        mark("GPRMC,120000.00,A,4824.00000,N,09154.00000,W,1.75,45.0,140826,,,A"),
        mark("GNGGA,235959.50,4824.00000,N,09154.00000,W,1,08,0.9,350.0,M,0,M,,"),
        mark("GPGLL,4824.00000,N,09154.00000,W,120000.00,A,A"),
        mark("GPZDA,120000.00,14,08,2026,00,00"),
        mark("GPVTG,45.0,T,,M,1.75,N,3.2,K,A"),
        mark("VWVHW,,T,,M,1.94,N,3.6,K"),
        mark("SDDPT,9.4,0.5,"),
        mark("SDDBT,30.8,f,9.4,M,5.1,F"),
        mark("SDDBS,30.8,f,9.4,M,5.1,F"),
        mark("IIMTW,21.5,C"),
        mark("PGRME,3.0,M,4.0,M,5.0,M"),
        b"!AIVDM,1,1,,B,177KQJ5000G?tO`K>RA1wUbN0TKH,0*5C\r\n",
        b"\\s:gp0001,c:1786708800*6B\\"
        + mark("GPRMC,235960.00,A,4824.0,N,09154.0,W,1.7,4,311216,,"),
    ],
    "gpsd": [
        b'{"class":"TPV","device":"/dev/pts/1","time":"2005-06-08T10:34:48.283Z","lat":46.498293369,'
        b'"lon":7.567411672,"track":10.3788,"speed":0.091,"mode":3,"depth":9.4,"wtemp":21.5}',
        b'{"class":"DEVICES","devices":[]}',
        b'{"class":"ERROR","message":"no"}',
    ],
    "signalk": [
        b'{"context":"vessels.self","updates":[{"$source":"a.GP","timestamp":"2026-08-14T12:00:00Z",'
        b'"values":[{"path":"navigation.position","value":{"latitude":48.4,"longitude":-91.9}},'
        b'{"path":"navigation.speedOverGround","value":0.9},'
        b'{"path":"navigation.courseOverGroundTrue","value":1.2},'
        b'{"path":"environment.depth.belowTransducer","value":9.4},'
        b'{"path":"environment.depth.surfaceToTransducer","value":0.4},'
        b'{"path":"environment.water.temperature","value":294.6}]}]}',
        b'{"name":"x","version":"1.7.0","self":"vessels.urn:mrn:signalk:uuid:1","roles":["main"]}',
    ],
}
WORDS = [
    *("$GPRMC,", "$GNGGA,", "$GPGLL,", "$GPZDA,", "$GPVTG,", "$VWVHW,", "$SDDPT,", "$SDDBT,"),
    *("$SDDBS,", "$IIMTW,", "$P", "!AIVDM,", "*00", ",A,", ",V,", ",N,", ",W,", "235960", "nan"),
    *(
        "inf",
        "1e400",
        "-0",
        "null",
        "true",
        "NaN",
        "Infinity",
        '\\"lat\\":',
        '\\"mode\\":',
        "1e999",
    ),
]


def sane(reading: object) -> bool:
    """Tell whether a reading can be."""
    get = lambda name: getattr(reading, name)  # noqa: E731
    bounds = {
        "lat": (-90.0, 90.0),
        "lon": (-180.0, 180.0),
        "course": (0.0, 2.0 * math.pi),
        "ground_speed": (0.0, 40.0),
        "water_speed": (0.0, 40.0),
        "depth": (1e-9, 1000.0),
        "water_temp": (-3.01, 45.01),
    }
    told = {name: get(name) for name in bounds if get(name) is not None}
    return (
        bool(told)
        and math.isfinite(get("time"))
        and ("lat" in told) == ("lon" in told)
        and all(bounds[name][0] <= value <= bounds[name][1] for name, value in told.items())
    )


def mended(data: bytes) -> bytes:
    """Give sentences their right checksums, by which most mutants would else fail at the gate."""

    def right(match: re.Match[bytes]) -> bytes:
        return mark(match[1].decode("latin-1")).rstrip()

    return re.sub(rb"\$([^*$\r\n]*)\*[0-9A-Fa-f]{2}", right, data)


def try_one(reader: str, data: bytes) -> int:
    """Hand one input to a reader; give how many readings came, or raise."""
    from towscope.boat.feeds.fusion import Now
    from towscope.boat.feeds.gpsd import GpsdFeed
    from towscope.boat.feeds.json_values import read_object
    from towscope.boat.feeds.reconnect import Life
    from towscope.boat.feeds.signalk import Deltas
    from towscope.boat.feeds.talk import Talk

    readings: list[object] = []
    if reader == "nmea":
        size = 1 + (data[0] if data else 0) % 97
        body = mended(data[1:]) if data[:1] and data[0] % 4 else data[1:]
        talk = Talk()
        for k in range(0, len(body), size):
            readings += talk.hear(body[k : k + size], NOON)
        assert len(talk._rest) <= 2_000
    else:
        said = read_object(data)
        if said is None:
            return 0
        if reader == "gpsd":
            GpsdFeed("127.0.0.1")._report(said, Life(readings.append), Talk())
        else:
            readings += Deltas().read(said)
    now = Now()
    for reading in readings:
        assert sane(reading), reading
        now.take(reading)  # type: ignore[arg-type]
    present = now.present()
    assert present.lat is None or abs(present.lat) <= 90.0
    return len(readings)


def fuzz(reader: str, arguments: list[str]) -> None:
    """Be the fuzzer: this never returns."""
    import atheris

    with atheris.instrument_imports(include=["towscope.boat.feeds", "towscope.formats", "pynmea2"]):
        import pynmea2  # noqa: F401

        import towscope.boat.feeds.fusion
        import towscope.boat.feeds.gpsd
        import towscope.boat.feeds.signalk
        import towscope.boat.feeds.talk  # noqa: F401

    atheris.Setup([sys.argv[0], *arguments], lambda data: bool(try_one(reader, data)) and None)
    atheris.Fuzz()


def guided(reader: str, seconds: float, folder: Path) -> dict[str, object]:
    corpus = folder / reader
    corpus.mkdir(parents=True, exist_ok=True)
    for number, seed in enumerate(SEEDS[reader]):
        # the first byte says the size of the pieces, and whether checksums are mended
        (corpus / f"seed{number}").write_bytes((b"\x31" if reader == "nmea" else b"") + seed)
    words = folder / "words"
    words.write_text("".join(f'"{word}"\n' for word in WORDS))
    ran = subprocess.run(
        [
            *(sys.executable, __file__, "--be", reader, str(corpus), f"-dict={words}"),
            *(f"-max_total_time={seconds:.0f}", "-max_len=600", "-timeout=5", "-rss_limit_mb=2000"),
            f"-artifact_prefix={folder}/{reader}-",
            "-print_final_stats=1",
        ],
        capture_output=True,
        text=True,
        env={**os.environ, "OMP_NUM_THREADS": "1"},
        check=False,
    )
    done = re.findall(r"cov: (\d+) ft: (\d+) corp: (\d+)", ran.stderr)
    count = re.search(r"stat::number_of_executed_units:\s*(\d+)", ran.stderr)
    if ran.returncode != 0:
        sys.stderr.write(ran.stderr[-3000:])
    first, last = done[0] if done else ("?",) * 3, done[-1] if done else ("?",) * 3
    return {
        "inputs": int(count[1]) if count else 0,
        "branches": f"{first[0]} to {last[0]}",
        "kept": last[2],
        "faults": 0 if ran.returncode == 0 else 1,
    }


def unguided(reader: str, seconds: float) -> dict[str, object]:
    from hypothesis import HealthCheck, given, settings
    from hypothesis import strategies as st

    seeds = SEEDS[reader]
    end, tried, faults = time.monotonic() + seconds, 0, 0

    @settings(max_examples=500, deadline=None, suppress_health_check=list(HealthCheck))
    @given(
        st.lists(st.sampled_from(seeds), min_size=1, max_size=4),
        st.lists(st.tuples(st.integers(0, 599), st.binary(max_size=4)), max_size=12),
        st.integers(0, 255),
    )
    def run(parts: list[bytes], changes: list[tuple[int, bytes]], first: int) -> None:
        nonlocal tried
        data = bytearray(b"".join(parts))
        for at, new in changes:
            at %= len(data) + 1
            data[at : at + len(new)] = new
        tried += 1
        try_one(reader, bytes([first]) + bytes(data) if reader == "nmea" else bytes(data))

    while time.monotonic() < end:
        try:
            run()
        except AssertionError as error:
            faults += 1
            sys.stderr.write(f"{error}\n")
            break
    return {"inputs": tried, "branches": "not counted", "kept": "none", "faults": faults}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=60.0, help="for each reader")
    parser.add_argument("--keep", type=Path, help="keep inputs that reach new branches here")
    if sys.argv[1:2] == ["--be"]:
        fuzz(sys.argv[2], sys.argv[3:])
        return
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as made:
        folder = given.keep or Path(made)
        able = find_spec("atheris") is not None
        how = "atheris" if able else "hypothesis"
        print(f"{how}, {given.seconds:.0f} s each, Python {platform.python_version()}, "
              f"{os.cpu_count()} cores\n")  # fmt: skip
        print("| reader | inputs | branches reached | inputs kept | faults |")
        print("|---|---|---|---|---|")
        faults = 0
        for reader in READERS:
            told = (
                guided(reader, given.seconds, folder) if able else unguided(reader, given.seconds)
            )
            faults += int(str(told["faults"]))
            print(
                f"| {reader} | {told['inputs']:,} | {told['branches']} | {told['kept']} "
                f"| {told['faults']} |",
                flush=True,
            )
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
