"""How the kernels are compiled: once, kept on disk, and still working where they cannot be kept.

One typed wrapper stands between the kernels and numba, so that strict typing holds and a folder
that cannot be written costs only time.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from contextlib import suppress
from typing import Any, TypeVar, cast

from numba import njit

F = TypeVar("F", bound=Callable[..., Any])


def start_light() -> None:
    """Let the compiler start without linear algebra, for a command that asks one quick question.

    At its first kernel numba looks for a BLAS and pulls in half of scipy for it: as long again as
    all the rest of a short command. The line's own kernels use none; where scipy is in already,
    or another kernel was first, nothing changes.
    """
    if "scipy.linalg" in sys.modules or "numba.np.arraymath" in sys.modules:
        return
    sys.modules["scipy.linalg"] = None  # type: ignore[assignment]
    try:
        import numba.np.arraymath  # noqa: F401 - imported for what it does
    finally:
        del sys.modules["scipy.linalg"]


def kernel(function: F) -> F:
    """Compile a numeric function to machine code at its first call, cached on disk.

    The cache needs a place to write: beside the module, or the user's cache folder; where there
    is neither, the kernel compiles anew in every process.
    """
    return _compile(function)


def inlined(function: F) -> F:
    """Compile a small function that becomes part of whatever kernel calls it."""
    return _compile(function, forceinline=True)


def _compile(function: F, **more: Any) -> F:
    options: dict[str, Any] = {"nogil": True, "error_model": "numpy", **more}
    try:
        compiled = njit(cache=True, **options)(function)
    except RuntimeError:  # numba found no place for a cache
        return cast(F, njit(**options)(function))
    _forgive(compiled)
    return cast(F, compiled)


def _forgive(compiled: Any) -> None:
    """Let a kernel run where its compiled form cannot be kept: a full disk must not cost an answer.

    numba lets the failed write through as an OSError; there is no public switch for it.
    """
    cache = getattr(compiled, "_cache", None)
    save = getattr(cache, "save_overload", None)
    if cache is None or save is None:
        return

    def save_if_possible(*args: Any) -> None:
        with suppress(OSError):
            save(*args)

    with suppress(AttributeError):
        cache.save_overload = save_if_possible
