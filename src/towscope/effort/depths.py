"""Steady engine asked once for each rig, let-out and speed: how deep the journal's lures ran."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from typing import Final

from towscope.errors import InputError, NoAnswer
from towscope.tackle import Shelf
from towscope.towing.questions import where_at
from towscope.towing.search_kernels import SLOWEST
from towscope.towing.tow import Setting, Tow

_STEP_M: Final = 0.1


class Depths:
    """The engine as effort asks it: rig, lure, let-out, speed; each asked once.

    Parameters
    ----------
    shelf : Shelf
        The tackle aboard.
    tow_of : callable
        Makes a rig of a shelf ready by its name: as it is stated, or as its marks leave it, which
        is not for the journal to know.
    mark : str
        What `tow_of` depends on besides the shelf: effort is worked out anew where it changes.
    """

    def __init__(
        self, shelf: Shelf, tow_of: Callable[[Shelf, str], Tow] = Shelf.tow, mark: str = ""
    ) -> None:
        self._shelf = shelf
        self._tow_of = tow_of
        self._mark = mark
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
            try:
                self._tows[rig, lure] = self._tow_of(self._shelf.changed(rig, lure=lure), rig)
            except InputError:
                self._tows[rig, lure] = None
        return self._tows[rig, lure]

    def fingerprint(self) -> str:
        """Give a short text that changes when the tackle does, or what is known of it."""
        parts = repr((self._shelf.lines, self._shelf.lures, self._shelf.rigs, self._shelf.water))
        parts += self._mark
        return hashlib.sha256(parts.encode()).hexdigest()[:16]
