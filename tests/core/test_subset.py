"""What kernels may not have is refused by name, with its file and line."""

from __future__ import annotations

import importlib
import sys
from pathlib import Path

import pytest

from asking import ROOT
from entries import ENTRIES
from outside import source
from typed import typescript
from writer import Book, OutsideError

START = """from __future__ import annotations
import math
import numpy as np
from towscope.arrays import Matrix, Vector
from towscope.towing.jit import kernel

@kernel
def odd(x: float, a: Vector, m: Matrix) -> float:
"""
REFUSED = {
    "    return sum(a)\n": "a call of sum, which is no kernel",
    "    return math.gamma(x)\n": "a call of math.gamma",
    "    b = np.zeros(3)\n    return b[0]\n": "a call of np.zeros",
    "    b = np.empty(int(x))\n    return b[0]\n": "not a fixed size",
    "    return a[1:][0]\n": "a slice",
    "    return a[-1]\n": "counted from the end",
    "    return [x][0]\n": "the expression List",
    "    for v in a:\n        x += v\n    return x\n": "a loop over a",
    "    try:\n        x = 1.0\n    finally:\n        x = 2.0\n    return x\n": "statement Try",
    "    with open('f'):\n        pass\n    return x\n": "the statement With",
    "    b = lambda: x\n    return b()\n": "the expression Lambda",
    "    x = a\n    return 1.0\n": "the name x for two kinds",
    "    m[0] = 1.0\n    return x\n": "set as a whole",
    "    return x if x in (1.0, 2.0) else 0.0\n": "comparison In",
    "    return f'{x}'\n": "the expression JoinedStr",
}


@pytest.mark.parametrize("body", REFUSED)
def test_what_is_outside_is_refused_by_name(
    body: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    name = f"odd_{abs(hash(body))}"
    file = tmp_path / f"{name}.py"
    file.write_text(START + body)
    monkeypatch.syspath_prepend(str(tmp_path))
    module = importlib.import_module(name)
    try:
        with pytest.raises(OutsideError) as refused:
            Book().kernel(module.odd)
    finally:
        del sys.modules[name]
    line = START.count("\n") + 1
    words = str(refused.value)
    assert REFUSED[body] in words
    assert words.startswith(tuple(f"{file}:{line + i}: " for i in range(3)))


def test_the_types_kept_are_those_of_the_kernels() -> None:
    assert (ROOT / "frontend/src/lib/core/entries.ts").read_text() == typescript(source(ENTRIES)[1])
