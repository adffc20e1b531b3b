"""Time of `import towscope` in a fresh process; fails above 50 ms."""

from __future__ import annotations

import subprocess
import sys

MOST_MS = 50.0
TRIES = 15
CODE = (
    "import time; begun = time.perf_counter(); import towscope; "
    "print(1000.0 * (time.perf_counter() - begun))"
)


def main() -> None:
    """Print the least and the middle of many tries, and fail where the least is too long."""
    taken = sorted(
        float(subprocess.run([sys.executable, "-c", CODE], capture_output=True, check=True).stdout)
        for _ in range(TRIES)
    )
    print(f"import towscope: {taken[0]:.1f} ms at best, {taken[TRIES // 2]:.1f} ms usually")
    if taken[0] > MOST_MS:
        sys.exit(f"expected at most {MOST_MS:g} ms")


if __name__ == "__main__":
    main()
