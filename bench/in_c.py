"""The same kernels, written out in C by tools/core and built with cc -O3, to see how far from C we are."""

from __future__ import annotations

import ctypes
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tools" / "core"))

from entries import ENTRIES
from outside import source


def built(name: str) -> Callable[..., None]:
    """Build a way into the core, and give it as a function of what the kernel takes."""
    text, _ = source({name: ENTRIES[name]})
    folder = Path(tempfile.mkdtemp())
    (folder / "core.c").write_text(text)
    subprocess.run(
        ["cc", "-O3", "-march=native", "-shared", "-fPIC", "-o", "core.so", "core.c", "-lm"],
        cwd=folder,
        check=True,
    )
    way = getattr(ctypes.CDLL(str(folder / "core.so")), f"core_{name}")

    def words(value: Any) -> list[Any]:
        if isinstance(value, np.ndarray):
            sizes = [ctypes.c_int64(n) for n in value.shape]
            return [ctypes.c_void_p(value.ctypes.data), *sizes]
        if isinstance(value, tuple):
            return [word for own in value for word in words(own)]
        if isinstance(value, bool):
            return [ctypes.c_int(value)]
        return [ctypes.c_int64(value) if isinstance(value, int) else ctypes.c_double(value)]

    return lambda *given: way(*words(given))
