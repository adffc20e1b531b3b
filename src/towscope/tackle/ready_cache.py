"""Rigs made ready, kept on disk under a digest of all that goes into them.

Reading and checking tackle, and solving a lure from its rating, cost as much as a quick answer
itself. What comes of them is kept in the user's folder under a digest of all that goes in, so that
any change to any file asks for it anew. Nothing depends on it: what cannot be read or written is
worked out.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import fields
from importlib.resources import files as package_files
from pathlib import Path
from typing import Any

import numpy as np

from towscope import __version__
from towscope.towing.tow import Doubt, Tow

FORM = 1  # of what is kept; another form has another digest
MOST = 64  # rigs kept; beyond it all are thrown away
_ARRAYS = ("pieces", "lure", "medium", "color_length", "strength")
_DOUBTS = tuple(field.name for field in fields(Doubt))


def digest(files: Sequence[Path], words: Sequence[str]) -> str | None:
    """Give the digest of all that a rig is made from; None where a file cannot be read.

    Parameters
    ----------
    files : sequence of Path
        Tackle files, in the order in which they are laid over the stock.
    words : sequence of str
        The rig's name and whatever else was asked for.
    """
    made = hashlib.sha256(f"{FORM} {__version__}".encode())
    try:
        own = package_files("towscope.tackle")
        parts = [own.joinpath(f"{name}.py").read_bytes() for name in ("models", "shelf", "rating")]
        parts += [own.joinpath("tackle.toml").read_bytes(), *(path.read_bytes() for path in files)]
    except OSError:
        return None
    for part in (*parts, *(word.encode() for word in words)):
        made.update(len(part).to_bytes(8, "big"))
        made.update(part)
    return made.hexdigest()[:32]


def find(folder: Path, name: str) -> Tow | None:
    """Take a kept rig from its folder; None where there is none that can be read whole."""
    try:
        with np.load(folder / f"{name}.npz", allow_pickle=False) as kept:
            doubt: dict[str, Any] = {
                key: kept[f"doubt_{key}"]
                if kept[f"doubt_{key}"].ndim
                else float(kept[f"doubt_{key}"])
                for key in _DOUBTS
            }
            return Tow(
                **{key: kept[key] for key in _ARRAYS},
                tip=float(kept["tip"]),
                names=tuple(str(n) for n in kept["names"]),
                counter_factor=float(kept["counter_factor"]),
                doubt=Doubt(**doubt),
            )
    except Exception:  # whatever is wrong with it, it can be worked out anew
        return None


def keep(folder: Path, name: str, tow: Tow) -> None:
    """Keep a rig made ready, where that can be done."""
    arrays = {key: getattr(tow, key) for key in _ARRAYS}
    arrays |= {f"doubt_{key}": np.asarray(getattr(tow.doubt, key)) for key in _DOUBTS}
    arrays |= {
        "tip": np.asarray(tow.tip),
        "names": np.array(tow.names),
        "counter_factor": np.asarray(tow.counter_factor),
    }
    with suppress(OSError):
        folder.mkdir(parents=True, exist_ok=True)
        there = list(folder.glob("*.npz"))
        if len(there) >= MOST:
            for path in there:
                path.unlink(missing_ok=True)
        whole = folder / f"{name}.npz"
        part = whole.with_suffix(".part.npz")
        try:
            np.savez(part, **arrays)
            part.replace(whole)
        finally:
            part.unlink(missing_ok=True)
