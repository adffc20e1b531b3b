"""Ask the built core, in Node, what the kernels are asked here."""

from __future__ import annotations

import base64
import sys
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from tests.in_node import ROOT, asked

sys.path.insert(0, str(ROOT / "tools" / "core"))
ROOMS = {"room", "desk", "space"}
KINDS = {"f8": "doubles", "f4": "singles", "i8": "integers"}


@dataclass
class Case:
    """One question: a way in, what it is given by name, and which arrays to look at afterwards."""

    way: str
    given: dict[str, Any]
    wanted: list[str]
    time: int = 0
    result: np.ndarray = field(default_factory=lambda: np.empty(0))
    arrays: dict[str, np.ndarray] = field(default_factory=dict)
    best: float = np.inf


def _laid(value: Any, room: bool = False) -> Any:
    """Give a value as the file has it; of room to work in only how much it is."""
    if isinstance(value, np.ndarray):
        kind = KINDS[value.dtype.str[1:]]
        if room:
            return {"kind": kind, "sizes": list(value.shape)}
        bare = np.ascontiguousarray(value, np.int32 if kind == "integers" else value.dtype)
        return {
            "kind": kind,
            "sizes": list(value.shape),
            "bytes": base64.b64encode(bare.tobytes()).decode(),
        }
    if isinstance(value, tuple):
        names = value._fields  # type: ignore[attr-defined]
        return {name: _laid(own, room) for name, own in zip(names, value, strict=True)}
    return {"number": base64.b64encode(np.float64(value).tobytes()).decode()}


def ask(cases: list[Case], folder: Path) -> None:
    """Ask all of them; fills in what the core answers."""
    lines = (
        {
            "way": case.way,
            "given": {name: _laid(value, name in ROOMS) for name, value in case.given.items()},
            "wanted": case.wanted,
            "time": case.time,
        }
        for case in cases
    )
    answers = asked(Path(__file__).with_name("ask.mjs"), lines, folder)
    for case, answer in zip(cases, answers, strict=True):
        case.best = answer["best"] if answer["best"] is not None else np.inf
        case.result = np.frombuffer(base64.b64decode(answer["result"]))
        for path, text in answer["arrays"].items():
            own: Any = case.given
            for name in path.split("."):
                own = own[name] if isinstance(own, dict) else getattr(own, name)
            kind = np.int32 if own.dtype == np.int64 else own.dtype
            case.arrays[path] = np.frombuffer(base64.b64decode(text), kind).reshape(own.shape)
