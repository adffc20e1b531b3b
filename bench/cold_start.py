"""Time and memory of short commands in fresh processes, beside that of `import numba`.

    python bench/cold_start.py [--times 9] [--beside FOLDER]

Each command is run so many times, in turn with the others, and the least is told: seconds of
processor, which other work on the machine changes little, seconds by the clock, and memory [MB].
With another checkout's folder the same is asked of that one in the same run. Linux and macOS only.
"""

from __future__ import annotations

import argparse
import os
import platform
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parents[1]
DEMO = ["--depth", "28 ft", "--speed", "2 mph"]
PYTHON = {
    "python, nothing imported": ["-c", ""],
    "import numba": ["-c", "import numba"],
}
ASKED = {
    "--version": ["--version"],
    "letout": ["letout", "demo", *DEMO],
    "letout, a current by depth": [
        "letout", "demo", *DEMO, "--current", "0.4 mph with at 0 ft, 0 mph at 30 ft",
    ],
    "depth": ["depth", "demo", "--out", "150 ft", "--speed", "2 mph"],
    "speed": ["speed", "demo", "--depth", "28 ft", "--out", "150 ft"],
    "table": ["table", "demo", *DEMO],
}  # fmt: skip
LIBRARY = (
    "import towscope as ts; ts.rig('demo').let_out(depth='28 ft', speed='2 mph')",
    "import towscope as ts; ts.rig('demo').shape('150 ft', '2 mph')",
)
Cost = tuple[float, float, float]  # processor [s], clock [s], most memory [MB]


def run(words: list[str], source: Path) -> Cost:
    """Run Python once, with towscope from a folder of sources."""
    env = {**os.environ, "PYTHONPATH": str(source), "OMP_NUM_THREADS": "1"}
    begun = time.perf_counter()
    running = subprocess.Popen([sys.executable, *words], env=env, stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(running.pid, 0)
    took = time.perf_counter() - begun
    running.returncode = os.waitstatus_to_exitcode(status)
    if running.returncode:
        sys.exit(f"{words} ended with {running.returncode}")
    most = used.ru_maxrss * (1 if sys.platform == "darwin" else 1024) / 1e6
    return used.ru_utime + used.ru_stime, took, most


def main() -> None:
    """Print the table."""
    told = argparse.ArgumentParser(description=__doc__)
    told.add_argument("--times", type=int, default=9)
    told.add_argument("--beside", type=Path, help="another checkout")
    words = told.parse_args()
    sources = {"": ROOT / "src"}
    if words.beside:
        sources = {"before: ": words.beside.resolve() / "src", "now: ": ROOT / "src"}
    asked = {name: (each, ROOT / "src") for name, each in PYTHON.items()}
    for name, each in ASKED.items():
        for of, source in sources.items():
            asked[of + name] = (["-m", "towscope", *each], source)
    for each in LIBRARY:
        for of, source in sources.items():
            asked[of + each.rpartition(".")[2].partition("(")[0] + " of the library"] = (
                ["-c", each], source,
            )  # fmt: skip
    for each, source in asked.values():
        run(each, source)  # compiled files are there, and what the disk holds is in memory
    least: dict[str, Cost] = {}
    for _ in range(words.times):
        for name, (each, source) in asked.items():
            new = run(each, source)
            old = least.get(name, new)
            least[name] = (min(old[0], new[0]), min(old[1], new[1]), min(old[2], new[2]))
    print(f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}")
    print(f"least of {words.times}\n")
    print("| | processor [s] | of numba's | clock [s] | of numba's | memory [MB] | of numba's |")
    print("|---|---|---|---|---|---|---|")
    unit = least["import numba"]
    for name, cost in least.items():
        row = [f"{x:.{d}f} | {x / of:.2f}" for x, of, d in zip(cost, unit, (2, 2, 0), strict=True)]
        print(f"| {name} | {' | '.join(row)} |")


if __name__ == "__main__":
    main()
