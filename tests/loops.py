"""Run a coroutine to its end wherever the test stands.

The browser's driver keeps a loop running in the thread of the tests that use it, and which tests
share a worker with it is not known beforehand: a loop of one's own needs a thread of its own.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine
from concurrent.futures import ThreadPoolExecutor
from typing import Any, TypeVar

T = TypeVar("T")


def run(begin: Callable[[], Coroutine[Any, Any, T]]) -> T:
    """Run what `begin` gives in a new loop of a new thread, and give its result."""
    with ThreadPoolExecutor(1) as thread:
        return thread.submit(lambda: asyncio.run(begin())).result()
