"""How are rows of work that do not touch each other spread over the cores.

The kernels let go of the interpreter's lock, so plain threads do it: they cost nothing where there
is little to do, and work wherever the engine is called from.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import cache

LITTLE = 200  # row-steps, some milliseconds; less than this is not worth a second thread
PARTS = 4  # for each core: rows are not all equally hard


def cores() -> int:
    """Cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


@cache
def _pool(size: int) -> ThreadPoolExecutor:
    return ThreadPoolExecutor(size, thread_name_prefix="rows")


def share_out(work: Callable[[int, int], None], rows: int, steps: int) -> None:
    """Call `work(first, beyond)` on spans that cover all rows, on all cores if it is worth it.

    Parameters
    ----------
    work : callable
        Does the rows from the first up to, not including, the one beyond.
    rows, steps : int
        How many there are, and how many steps each takes.
    """
    size = cores()
    if size == 1 or rows == 1 or rows * steps < LITTLE:
        work(0, rows)
        return
    parts = min(rows, size * PARTS)
    edges = [rows * i // parts for i in range(parts + 1)]
    list(_pool(size).map(work, edges[:-1], edges[1:]))
