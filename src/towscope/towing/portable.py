"""The portable core asked from Python: the kernels as WebAssembly, run by wasmtime, without numba.

numba needs longer to load than a short command has. The module that the build makes of the same
kernels (`tools/core`) is there in a fraction of that, and its answers are those of numba. It is
used only where it was made from the very sources beside it; where it, wasmtime or a place to run
it is missing, there is none, and nothing is lost but time.

What wasmtime makes of the module for this machine is kept in the user's cache folder, under a check
of every byte: what is damaged or of another module is made anew. What another wasmtime or another
processor made, wasmtime itself refuses.
"""

from __future__ import annotations

import atexit
import hashlib
import os
import tempfile
from collections import deque
from collections.abc import Callable
from contextlib import suppress
from functools import cache
from inspect import get_annotations
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, cast, get_args

import numpy as np

from towscope.towing.question_kernels import Desk, Versions
from towscope.towing.steady import Room, Towed

if TYPE_CHECKING:
    from wasmtime import Engine, Func, Global, Memory, Module

HERE: Final = Path(__file__).parent
WASM: Final = HERE / "core.wasm"
KEPT: Final = "core.bin"
# What it is made from: the modules of its kernels, and their constants; the build refuses others.
SOURCES: Final = (
    "constants",
    "water",
    "towing/elementary",
    "towing/drag",
    "towing/blocks",
    "towing/steady",
    "towing/question_kernels",
    "towing/search_kernels",
    "towing/rating_kernels",
    "towing/draw_kernels",
    "towing/moving_kernels",
    "towing/settling_kernels",
    "towing/lookahead_kernels",
    "boat/filter_steps",
    "boat/smooth",
)
SECTION: Final = b"kernels"
PAGE: Final = 65_536
EVEN: Final = 8  # bytes that every array begins on a multiple of
KINDS: Final[dict[np.dtype[Any], np.dtype[Any]]] = {
    np.dtype(np.float64): np.dtype(np.float64),
    np.dtype(np.int64): np.dtype(np.int32),
}
# Named tuples whose arrays kernels only read, and those that are only room to work in.
READ: Final = (Towed, Versions)
ROOM: Final = (Room, Desk)
Laid = tuple[int, np.ndarray[Any, Any], np.dtype[Any], bool]


def stamp() -> bytes:
    """Give the section of the module that tells what sources it was made from.

    It is the module's last: a custom section, which engines pass over.

    Raises
    ------
    OSError
        Where the sources are not to be read.
    """
    digest = hashlib.sha256()
    for name in SOURCES:
        digest.update((HERE.parent / f"{name}.py").read_bytes())
    body = bytes([len(SECTION)]) + SECTION + digest.digest()
    return bytes([0, len(body)]) + body


class Core:
    """One core: a memory of its own, asked one question at a time.

    Parameters
    ----------
    engine : wasmtime.Engine
        What runs it.
    module : wasmtime.Module
        The core's module.
    """

    def __init__(self, engine: Engine, module: Module) -> None:
        from wasmtime import Instance, Store

        self._store = Store(engine)
        self._out = Instance(self._store, module, []).exports(self._store)
        self._memory = cast("Memory", self._out["memory"])
        base = cast("Global", self._out["__heap_base"]).value(self._store)
        self._base = _even(base)
        cast("Func", self._out["_initialize"])(self._store)

    def ask(self, way: Callable[..., Any], given: tuple[Any, ...]) -> Any:
        """Answer as the kernel does.

        Arrays are afterwards as the kernel leaves them, but for those of `READ`, which it only
        reads, and of `ROOM`, which are only room.
        """
        words, arrays, beyond = _laid_out(given, self._base)
        several = _several(way)
        result = beyond
        beyond += 8 * several
        short = beyond - self._memory.data_len(self._store)
        if short > 0:
            self._memory.grow(self._store, -(-short // PAGE))
        held: Any = self._memory.get_buffer_ptr(self._store)
        memory = np.frombuffer(held, np.uint8)
        places = [
            (array, memory[at : at + array.size * kind.itemsize].view(kind), filled)
            for at, array, kind, filled in arrays
        ]
        for array, place, _ in places:
            place[:] = array.ravel()
        function = cast("Func", self._out[f"core_{way.__name__}"])
        answer = function(self._store, *words, *([result] if several else []))
        for array, place, filled in places:
            if filled:
                array[...] = place.reshape(array.shape)
        return tuple(memory[result:beyond].view(float).tolist()) if several else answer


class Cores:
    """As many cores as are asked at one time, from as many threads.

    Parameters
    ----------
    engine : wasmtime.Engine
        What runs them.
    module : wasmtime.Module
        Their module.
    """

    def __init__(self, engine: Engine, module: Module) -> None:
        self._engine, self._module = engine, module
        self._idle = deque([Core(engine, module)])
        self.ways: Final = frozenset(
            each.name.removeprefix("core_")
            for each in module.exports
            if each.name is not None and each.name.startswith("core_")
        )

    def ask(self, way: Callable[..., Any], given: tuple[Any, ...]) -> Any:
        """Let a core that is idle, or a new one, answer."""
        try:
            core = self._idle.pop()
        except IndexError:
            core = Core(self._engine, self._module)
        answer = core.ask(way, given)
        self._idle.append(core)  # not where it failed: what it holds is then unknown
        return answer


@cache
def cores() -> Cores | None:
    """Give the cores of this process; None where there can be none."""
    try:
        wasm = WASM.read_bytes()
        if not wasm.endswith(stamp()):
            return None
        import wasmtime
    except (ImportError, OSError, RuntimeError):  # no module, no wheel, no such machine
        return None
    try:
        config = wasmtime.Config()
        # twice as long, a tenth of a second, and once: but no threads that a process which splits
        # later would take along half
        config.parallel_compilation = False
        engine = wasmtime.Engine(config)
        # let go before Python takes its modules apart, or wasmtime has nothing left to do it with
        atexit.register(cores.cache_clear)
        return Cores(engine, module_of(engine, wasm, _cache_folder()))
    except wasmtime.WasmtimeError:
        return None


def module_of(engine: Engine, wasm: bytes, folder: Path) -> Module:
    """Give the module, compiled for this machine: from the folder, else anew and kept there."""
    from wasmtime import Module, WasmtimeError

    key = hashlib.sha256(wasm).digest()
    file = folder / KEPT
    with suppress(OSError, WasmtimeError):
        kept = file.read_bytes()
        body = kept[32:]
        if kept[:32] == hashlib.sha256(key + body).digest():
            return Module.deserialize(engine, body)
    module = Module(engine, wasm)
    with suppress(OSError):
        body = bytes(module.serialize())
        _keep(file, hashlib.sha256(key + body).digest() + body)
    return module


def _keep(file: Path, data: bytes) -> None:
    """Write beside and rename, so that nobody reads half of it."""
    file.parent.mkdir(parents=True, exist_ok=True)
    number, beside = tempfile.mkstemp(dir=file.parent, prefix=file.name)
    try:
        with os.fdopen(number, "wb") as stream:
            stream.write(data)
        Path(beside).replace(file)
    except OSError:
        Path(beside).unlink(missing_ok=True)
        raise


def _cache_folder() -> Path:
    from platformdirs import user_cache_path

    return user_cache_path("towscope", appauthor=False)


@cache
def _several(way: Callable[..., Any]) -> int:
    """Give how many numbers a kernel gives back, 0 where it is one at most."""
    bare = getattr(way, "py_func", way)
    return len(get_args(get_annotations(bare, eval_str=True)["return"]))


def _laid_out(given: tuple[Any, ...], at: int) -> tuple[list[int | float], list[Laid], int]:
    """Give the plain numbers that stand for what a kernel is given, and where its arrays lie.

    An array is its place and its sizes, a named tuple all of its fields; arrays that are only room
    have a place and nothing to be filled with. With each array its kind in the core, and whether
    the kernel may fill it. Last, the first byte beyond.
    """
    words: list[int | float] = []
    arrays: list[Laid] = []

    def lay(value: Any, filled: bool, room: bool) -> None:
        nonlocal at
        if isinstance(value, tuple):
            filled = filled and not isinstance(value, READ)
            room = room or isinstance(value, ROOM)
            for each in value:
                lay(each, filled, room)
        elif isinstance(value, np.ndarray):
            kind = KINDS.get(value.dtype)
            if kind is None:
                raise TypeError(f"an array of {value.dtype}; expected float64 or int64")
            words.extend((at, *value.shape))
            if not room:
                arrays.append((at, value, kind, filled))
            at = _even(at + value.size * kind.itemsize)
        else:
            words.append(value if isinstance(value, (int, float)) else float(value))

    lay(given, True, False)
    return words, arrays, at


def _even(at: int) -> int:
    return -(-at // EVEN) * EVEN
