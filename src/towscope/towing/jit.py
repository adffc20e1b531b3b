"""How the kernels are compiled: at their first call, kept on disk where there is a place for it.

A kernel is its Python until something calls it; numba itself is not loaded before. So a command
that the portable core answers (`towscope.towing.runner`) pays nothing for kernels that it only
passes by. Within kernels a call of another is a call of compiled code.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from functools import cache, update_wrapper
from threading import RLock
from typing import Any, TypeVar, cast

F = TypeVar("F", bound=Callable[..., Any])
_ONE_AT_A_TIME = RLock()


class Kernel:
    """A numeric function that numba compiles at its first call.

    Parameters
    ----------
    function : callable
        The kernel as it is written.
    options : object
        Further options of the compiler.
    """

    def __init__(self, function: Callable[..., Any], **options: Any) -> None:
        self.py_func = function
        self.inlined = bool(options.get("forceinline"))
        self._options = options
        self._compiled: Any = None
        update_wrapper(self, function)

    @property
    def compiled(self) -> Any:
        """What numba makes of it."""
        if self._compiled is None:
            with _ONE_AT_A_TIME:
                if self._compiled is None:
                    self._compiled = _compile(self.py_func, self._options)
        return self._compiled

    def __call__(self, *given: Any) -> Any:
        """Call the compiled kernel."""
        return (self._compiled or self.compiled)(*given)


def kernel(function: F) -> F:
    """Compile a numeric function to machine code at its first call, cached on disk.

    The cache needs a place to write: beside the module, or the user's cache folder; where there
    is neither, the kernel compiles anew in every process.
    """
    return cast(F, Kernel(function))


def inlined(function: F) -> F:
    """Compile a small function that becomes part of whatever kernel calls it."""
    return cast(F, Kernel(function, forceinline=True))


def loaded() -> bool:
    """Tell whether a kernel was called before in this process, and numba is there for the rest."""
    return _njit.cache_info().currsize > 0


@cache
def _njit() -> Callable[..., Any]:
    """Load numba, and tell it that a kernel called by another is a compiled function."""
    from numba import njit
    from numba.extending import typeof_impl

    @typeof_impl.register(Kernel)
    def _(called: Kernel, context: Any) -> Any:
        return typeof_impl(called.compiled, context)

    return cast(Callable[..., Any], njit)


def _compile(function: Callable[..., Any], more: dict[str, Any]) -> Any:
    njit = _njit()
    options: dict[str, Any] = {"nogil": True, "error_model": "numpy", **more}
    try:
        compiled = njit(cache=True, **options)(function)
    except RuntimeError:  # numba found no place for a cache
        return njit(**options)(function)
    _forgive(compiled)
    return compiled


def _forgive(compiled: Any) -> None:
    """Let a kernel run whatever its place on disk is worth.

    A full disk must not cost an answer, and no more must what another version of towscope left
    there: numba unpickles a cache's index before it looks at how old it is, and lets the error of a
    name that is gone through. There is no public switch for either.
    """
    cache = getattr(compiled, "_cache", None)
    save, load = getattr(cache, "save_overload", None), getattr(cache, "load_overload", None)
    if cache is None or save is None or load is None:
        return

    def save_if_possible(*args: Any) -> None:
        with suppress(OSError):
            save(*args)

    def load_if_possible(*args: Any) -> Any:
        try:
            return load(*args)
        except Exception:  # whatever a pickle can raise
            with suppress(OSError):
                cache.flush()
            return None

    with suppress(AttributeError):
        cache.save_overload, cache.load_overload = save_if_possible, load_if_possible
