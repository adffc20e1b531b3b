"""How the engine's kernels are compiled: once, kept on disk, and still working where they cannot be.

One typed wrapper stands between the kernels and numba, so that strict typing holds and a folder
that cannot be written costs only time.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, cast

from numba import njit

F = TypeVar("F", bound=Callable[..., Any])


def kernel(function: F) -> F:
    """Compile a numeric function to machine code at its first call, cached on disk.

    The cache needs a place to write: beside the module, or the user's cache folder; where there
    is neither, the kernel compiles anew in every process.
    """
    return _compile(function, parallel=False)


def parallel_kernel(function: F) -> F:
    """Do the same with numba's ``prange`` spread over all cores."""
    return _compile(function, parallel=True)


def _compile(function: F, *, parallel: bool) -> F:
    options: dict[str, Any] = {"nogil": True, "error_model": "numpy", "parallel": parallel}
    try:
        return cast(F, njit(cache=True, **options)(function))
    except RuntimeError:  # numba found no place for a cache
        return cast(F, njit(**options)(function))
