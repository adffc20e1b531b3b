"""Rigs kept ready in memory: answers fast enough to follow a finger on a slider.

Making a rig ready (a lure solved from its rating, what its readings taught) costs as much as an
answer or more, so rigs made ready are kept for as long as nothing they are made of has changed.
"""

from __future__ import annotations

import threading
import time
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from cachetools import LRUCache

from towscope import clock
from towscope.answers.rig import Rig
from towscope.errors import InputError, NoAnswer
from towscope.files import home
from towscope.journal.times import local_zone
from towscope.tackle.counting import count
from towscope.tackle.validate import outruns
from towscope.units import SYSTEMS
from towscope.web.rigging.models import Ask, Counted, DepthsAround, Nearby, PieceShown, Told
from towscope.web.rigging.parts import UNNAMED, laid_over, pieces_of
from towscope.words import term

if TYPE_CHECKING:
    from towscope.answers.steady import RigAnswer
    from towscope.towing.tow import Tow
    from towscope.web.context import AppContext

MOST: Final = 32
SPEEDS, LET_OUTS = 5, 8  # steps to either side in the table around an answer
SLOWEST, LEAST = 0.2, 2.0  # [m/s], [m]
POINTS: Final = 70
HEAVY, TOO_HEAVY = 0.33, 0.6  # shares of a line's strength
OFTEN: Final = 0.97


@dataclass(frozen=True)
class Ready:
    """A rig made ready, and how its pieces are shown."""

    rig: Rig
    pieces: list[PieceShown]


class Racks:
    """Rigs made ready, the latest asked for."""

    def __init__(self) -> None:
        self._ready: LRUCache[tuple[Any, ...], Ready] = LRUCache(MOST)
        self._lock = threading.Lock()

    def ready(self, here: AppContext, ask: Ask) -> Ready:
        """Give the asked rig, made ready."""
        if bool(ask.rig) == (ask.spec is not None):
            raise InputError("expected a rig's name or a rig in full: one of them")
        spec = "" if ask.spec is None else ask.spec.model_dump_json()
        key = (ask.rig, spec, ask.lure, ask.water_c, ask.uncalibrated, *_stamps())
        with self._lock:
            found = self._ready.get(key)
        if found is None:
            found = self._made(here, ask)
            with self._lock:
                self._ready[key] = found
        return found

    def _made(self, here: AppContext, ask: Ask) -> Ready:
        shelf = here.shelf()
        if ask.water_c is not None and not 0.0 <= ask.water_c <= 35.0:
            raise InputError(f"water at {ask.water_c:g} °C: expected 0 to 35 °C (32 to 95 °F)")
        if ask.spec is not None:
            shelf = laid_over(shelf, ask.spec)
        rig = Rig(ask.rig or UNNAMED, shelf, not ask.uncalibrated)
        rig = rig.with_(lure=ask.lure or None, water=ask.water_c)
        return Ready(rig, pieces_of(rig.shelf, rig.tow))


def _stamps() -> tuple[Any, ...]:
    """Give what changes when anything kept that a rig is made of does."""
    found: list[Any] = [clock.now(local_zone()[0]).date(), str(home())]
    for name in ("tackle.toml", "calibration.json"):
        try:
            state = (home() / name).stat()
            found.append((state.st_mtime_ns, state.st_size, state.st_ino))
        except OSError:
            found.append(None)
    return tuple(found)


def racks(here: AppContext) -> Racks:
    """Give the running app's racks."""
    found = here.rooms.setdefault("rigs", Racks())
    assert isinstance(found, Racks)
    return found


def warm(here: AppContext) -> None:
    """Get the engine ready behind the first page, so that the first answer is quick too."""
    if here.rooms.setdefault("warm", threading.Event()).is_set():
        return
    here.rooms["warm"].set()

    def run() -> None:
        for depth, let_out in ((6.0, None), (None, 36.0)):
            with suppress(InputError, NoAnswer):
                ask = Ask(rig="demo", speed_m_s=0.9, depth_m=depth, let_out_m=let_out)
                answer(here, ask)

    threading.Thread(target=run, name="warm", daemon=True).start()


def answer(here: AppContext, ask: Ask) -> Told:
    """Answer a question to a rig.

    Raises
    ------
    InputError
        Where the rig or the question is wrong.
    NoAnswer
        Where the rig cannot do it; says what it can.
    """
    begun = time.perf_counter()
    if (ask.depth_m is None) == (ask.let_out_m is None):
        raise InputError("expected a depth or how much line is out: one of them")
    layers = [(each.depth_m, each.along_m_s, each.across_m_s) for each in ask.current]
    ready = racks(here).ready(here, ask)
    rig = ready.rig
    if ask.depth_m is not None:
        found = rig.let_out(ask.depth_m, ask.speed_m_s, current=layers)
    else:
        found = rig.depth(ask.let_out_m or 0.0, ask.speed_m_s, current=layers)
    out = found.let_out_m
    line = rig.shape(out, ask.speed_m_s, spacing_m=max(out / POINTS, 0.2), current=layers)
    return Told(
        **{**found.to_dict(), "rig": ask.rig},
        count=_counted(rig.tow, out, ask),
        nearby=_nearby(rig, found, ask),
        around=_around(rig, found, ask),
        shape_m=[
            (round(s, 2), round(x, 2), round(z, 3))
            for s, x, z in zip(
                line.along_m.tolist(), line.behind_m.tolist(), line.depth_m.tolist(), strict=True
            )
        ],
        pieces=ready.pieces,
        mind=_mind(rig.tow, found),
        made_ms=round(1000.0 * (time.perf_counter() - begun), 1),
    )


def _counted(tow: Tow, let_out: float, ask: Ask) -> Counted:
    state = count(tow, let_out)
    coded = tow.color_length[np.isfinite(tow.color_length)]
    return Counted(
        before_m=state.before,
        colors=state.colors,
        after_m=state.after,
        color_length_m=float(coded[0]) if len(coded) else None,
        words=state.words(SYSTEMS[ask.units]),
    )


def _nearby(rig: Rig, found: RigAnswer, ask: Ask) -> Nearby:
    def depth(more_line: float, faster: float) -> float | None:
        out, speed = found.let_out_m + more_line, found.speed_m_s + faster
        return _depths(rig, [out], [speed], found)[0][0] if out > 0.0 else None

    dv, dl = ask.step_speed_m_s, ask.step_let_out_m
    return Nearby(
        slower_m=depth(0.0, -dv),
        faster_m=depth(0.0, dv),
        less_m=depth(-dl, 0.0),
        more_m=depth(dl, 0.0),
    )


def _around(rig: Rig, found: RigAnswer, ask: Ask) -> DepthsAround:
    v, dv, dl = found.speed_m_s, ask.step_speed_m_s, ask.step_let_out_m
    # a current by depth costs as much for each let-out as one sweep does for all of them
    across, down = (2, 2) if len(found.current) > 1 else (SPEEDS, LET_OUTS)
    speeds = [v + k * dv for k in range(-across, across + 1)]
    speeds = [s for s in speeds if s >= SLOWEST and outruns(s, found.layers)]
    middle = round(found.let_out_m / dl) * dl
    outs = [middle + k * dl for k in range(-down, down + 1)]
    outs = [out for out in outs if LEAST <= out <= rig.tow.length]
    return DepthsAround(
        speeds_m_s=speeds, let_outs_m=outs, depths_m=_depths(rig, outs, speeds, found)
    )


def _depths(
    rig: Rig, outs: list[float], speeds: list[float], found: RigAnswer
) -> list[list[float | None]]:
    """Give depths by let-out and speed; None where the lure does not run or cannot be asked."""
    if not (outs and speeds):
        return [[None] * len(speeds) for _ in outs]
    try:
        depths = rig.depths(outs, speeds, current=found.layers)
    except InputError:
        return [[None] * len(speeds) for _ in outs]
    return [[round(d, 3) if d > 0.0 else None for d in row] for row in depths.tolist()]


def _mind(tow: Tow, found: RigAnswer) -> list[str]:
    """Say what to take care of with an answer."""
    said = []
    share = found.strength_share
    if share >= HEAVY:
        said.append(_care("too_heavy" if share >= TOO_HEAVY else "heavy", share))
    if found.answered_share < OFTEN:
        said.append(_care("seldom", found.answered_share))
    state = count(tow, found.let_out_m)
    if state.colors and state.after > 0.0:
        said.append(_care("backing"))
    if found.let_out_m > 0.97 * tow.length:
        said.append(_care("spool"))
    return said


def _care(key: str, share: float = 0.0) -> str:
    return term("rig_care", key).format(share=f"{share * 100:.0f}")
