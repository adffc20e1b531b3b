"""Start of the app timed and its memory measured: first page, first rig answer.

Starts ``towscope serve`` over an empty home some times, beside the least app that FastAPI and
uvicorn can serve, and prints the medians and what they are of the least app's. On Linux the memory
is the resident set of the process that serves; the one that keeps it is told apart.

    python bench/serve_start.py [--times 3]
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psutil

BARE = """
import json, os, socket
import fastapi, uvicorn
app = fastapi.FastAPI()
app.get("/")(lambda: {"version": "1"})
sock = socket.create_server(("127.0.0.1", 0))
print(json.dumps({"address": f"http://127.0.0.1:{sock.getsockname()[1]}/", "process": os.getpid()}),
      flush=True)
uvicorn.Server(uvicorn.Config(app, log_config=None)).run(sockets=[sock])
"""
QUESTION = {"rig": "demo", "speed_m_s": 0.9, "depth_m": 8.0}
Figures = dict[str, tuple[float, float]]  # what: seconds since the start, MB held


@contextmanager
def started(command: list[str], home: Path) -> Iterator[tuple[str, int]]:
    """Start a server and give its address and its process; end it after."""
    env = {**os.environ, "TOWSCOPE_HOME": str(home)}
    with subprocess.Popen(command, env=env, stdout=subprocess.PIPE) as run:
        try:
            assert run.stdout is not None
            told = json.loads(run.stdout.readline())
            yield told["address"], told["process"]
        finally:
            run.terminate()
            run.wait()


def ask(address: str, question: dict[str, object] | None = None) -> None:
    """Get a page, or put a question."""
    body = None if question is None else json.dumps(question).encode()
    headers = {"X-Towscope": "1", "Content-Type": "application/json"}
    with urllib.request.urlopen(urllib.request.Request(address, body, headers)) as answer:
        answer.read()


def held(process: int) -> float:
    """Give the memory that a process holds [MB]."""
    return float(psutil.Process(process).memory_info().rss) / 1e6


def bare(home: Path) -> Figures:
    """Measure the least app."""
    begun = time.perf_counter()
    with started([sys.executable, "-c", BARE], home) as (address, process):
        ask(address)
        return {"the least app, first page": (time.perf_counter() - begun, held(process))}


def towscope(home: Path) -> Figures:
    """Measure the app: its first page, its first answer, one more."""
    command = [sys.executable, "-m", "towscope", "serve", "--port", "0", "--no-open", "--json"]
    found: Figures = {}
    begun = time.perf_counter()
    with started(command, home) as (address, process):
        keeper = psutil.Process(process).ppid()
        ask(address)
        found["towscope, first page"] = time.perf_counter() - begun, held(process)
        found["  what keeps it"] = 0.0, held(keeper)
        for name in ("  first rig answer", "  second rig answer"):
            asked = time.perf_counter()
            ask(f"{address}api/rigs/answer", QUESTION)
            found[name] = time.perf_counter() - asked, held(process)
    return found


def main() -> None:
    """Print the table."""
    told = argparse.ArgumentParser(description=__doc__)
    told.add_argument("--times", type=int, default=3)
    times = told.parse_args().times
    runs: list[Figures] = []
    for _ in range(times):
        with tempfile.TemporaryDirectory() as home:
            runs.append(bare(Path(home)) | towscope(Path(home)))
    print(f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}")
    print(f"median of {times}\n\n{'':28}{'s':>8}{'ratio':>8}{'MB':>8}{'ratio':>8}")
    least = [statistics.median(run["the least app, first page"][k] for run in runs) for k in (0, 1)]
    for name in runs[0]:
        row = [statistics.median(run[name][k] for run in runs) for k in (0, 1)]
        seconds = f"{row[0]:8.2f}{row[0] / least[0]:8.1f}" if row[0] else f"{'':16}"
        print(f"{name:28}{seconds}{row[1]:8.0f}{row[1] / least[1]:8.1f}")


if __name__ == "__main__":
    main()
