"""How deep did the journal's lures run: the engine asked for many let-outs and speeds."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Final

from towscope.errors import InputError, NoAnswer
from towscope.tackle import Shelf, load
from towscope.towing.questions import SLOWEST, where_at
from towscope.towing.tow import Setting, Tow

_STEP_M: Final = 0.1


class Depths:
    """The engine as effort asks it: rig, lure, let-out, speed; each asked once.

    Parameters
    ----------
    shelf : Shelf
        The tackle aboard.
    """

    def __init__(self, shelf: Shelf) -> None:
        self._shelf = shelf
        self._tows: dict[tuple[str, str], Tow | None] = {}
        self._known: dict[tuple[str, str, int, int], float | None] = {}

    def __call__(self, rig: str, lure: str, let_out_m: float, speed_m_s: float) -> float | None:
        """Give the lure's depth [m]; None for unknown tackle or where the engine has no answer."""
        key = (rig, lure, round(let_out_m / _STEP_M), round(speed_m_s * 100))
        if key not in self._known:
            self._known[key] = self._ask(rig, lure, let_out_m, speed_m_s)
        return self._known[key]

    def _ask(self, rig: str, lure: str, let_out_m: float, speed_m_s: float) -> float | None:
        tow = self._tow(rig, lure)
        # slower than any boat trolls the lure sinks or floats with the line, and steady tow says
        # little; the slowest speed the engine answers stands in
        if tow is None or let_out_m <= 0:
            return None
        try:
            return where_at(tow, let_out_m, Setting(max(speed_m_s, SLOWEST))).depth
        except NoAnswer:
            return None

    def _tow(self, rig: str, lure: str) -> Tow | None:
        if (rig, lure) not in self._tows:
            shelf = self._shelf
            try:
                if lure and shelf.rig(rig).lure != lure:
                    other = shelf.rig(rig).model_copy(update={"lure": lure})
                    shelf = replace(shelf, rigs={**shelf.rigs, rig: other})
                self._tows[rig, lure] = shelf.tow(rig)
            except InputError:
                self._tows[rig, lure] = None
        return self._tows[rig, lure]

    def fingerprint(self) -> str:
        """Give a short text that changes when the tackle does."""
        parts = repr((self._shelf.lines, self._shelf.lures, self._shelf.rigs, self._shelf.water))
        return hashlib.sha256(parts.encode()).hexdigest()[:16]


def load_depths(files: Iterable[Path] | None = None) -> Depths:
    """Give the engine for the tackle aboard, the user's own and further files included."""
    return Depths(load(files or ()))
