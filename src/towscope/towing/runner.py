"""Who works a steady question out: the portable core while numba is not loaded, else numba.

Both are the same kernels and give the same answers; what differs is the start. numba takes longer
to load than all else in a short command, so a process that asks nothing but steady questions never
loads it. Where a kernel that only numba has was needed before, it is there and is used.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import ParamSpec, TypeVar

from towscope.towing import jit
from towscope.towing.portable import cores

P = ParamSpec("P")
R = TypeVar("R")


def run(way: Callable[P, R], *given: P.args, **none: P.kwargs) -> R:
    """Call a kernel that is a way into the core.

    Parameters
    ----------
    way : kernel
        One of `tools/core/entries.py`.
    given : object
        What it takes, by place.

    Returns
    -------
    object
        What the kernel gives.
    """
    if not jit.loaded():
        asked = cores()
        if asked is not None and way.__name__ in asked.ways:
            return asked.ask(way, given)  # type: ignore[no-any-return]
    return way(*given, **none)
