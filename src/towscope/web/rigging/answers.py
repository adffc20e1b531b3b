"""Rigs kept ready in memory: answers fast enough to follow a finger on a slider.

Making a rig ready (a lure solved from its rating, what its readings taught) costs as much as an
answer or more, so rigs made ready are kept for as long as nothing they are made of has changed.
"""

from __future__ import annotations

import math
import threading
import time
from collections import OrderedDict
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from towscope import clock
from towscope.calibration.calibrated_rig import calibrated_tow
from towscope.errors import InputError, NoAnswer
from towscope.files import home
from towscope.journal.times import local_zone
from towscope.rig_answers import rig_answer
from towscope.tackle.counting import count
from towscope.tackle.validate import check_depth, check_let_out, check_setting
from towscope.towing.questions import (
    depth_of,
    depths_by_let_out,
    let_out_for,
    line_shape,
    where_at,
)
from towscope.towing.steady import DEPTH
from towscope.towing.tow import Draws, Setting, Tow, draw
from towscope.units import SYSTEMS
from towscope.water import fresh_water
from towscope.web.rigging.models import Around, Ask, Counted, Nearby, PieceShown, Told
from towscope.web.rigging.parts import UNNAMED, laid_over, pieces_of

if TYPE_CHECKING:
    from towscope.towing.questions import Answer
    from towscope.web.context import Aboard

MOST: Final = 32
SPEEDS, LET_OUTS = 5, 8  # steps to either side in the table around an answer
SLOWEST, LEAST = 0.2, 2.0  # [m/s], [m]
POINTS: Final = 70
HEAVY, TOO_HEAVY = 0.33, 0.6  # shares of a line's strength
OFTEN: Final = 0.97


@dataclass(frozen=True)
class Ready:
    """A rig made ready, and its versions drawn."""

    name: str
    tow: Tow
    draws: Draws
    pieces: list[PieceShown]


class Racks:
    """Rigs made ready, the latest asked for."""

    def __init__(self) -> None:
        self._ready: OrderedDict[tuple[Any, ...], Ready] = OrderedDict()
        self._lock = threading.Lock()

    def ready(self, here: Aboard, ask: Ask) -> Ready:
        """Give the asked rig, made ready."""
        if bool(ask.rig) == (ask.spec is not None):
            raise InputError("expected a rig's name or a rig in full: one of them")
        spec = "" if ask.spec is None else ask.spec.model_dump_json()
        key = (ask.rig, spec, ask.lure, ask.water_c, ask.uncalibrated, *_stamps())
        with self._lock:
            found = self._ready.get(key)
            if found is not None:
                self._ready.move_to_end(key)
                return found
        made = self._made(here, ask)
        with self._lock:
            self._ready[key] = made
            while len(self._ready) > MOST:
                self._ready.popitem(last=False)
        return made

    def _made(self, here: Aboard, ask: Ask) -> Ready:
        shelf = here.shelf()
        if ask.water_c is not None:
            if not 0.0 <= ask.water_c <= 35.0:
                raise InputError(f"water at {ask.water_c:g} °C: expected 0 to 35 °C (32 to 95 °F)")
            shelf = shelf.in_water(fresh_water(ask.water_c))
        name = ask.rig or UNNAMED
        if ask.spec is not None:
            shelf = laid_over(shelf, ask.spec)
        if ask.lure:
            other = shelf.rig(name).model_copy(update={"lure": ask.lure})
            shelf = replace(shelf, rigs={**shelf.rigs, name: other})
        tow = shelf.tow(name) if ask.uncalibrated else calibrated_tow(shelf, name)
        return Ready(name, tow, draw(tow), pieces_of(shelf, tow))


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


def racks(here: Aboard) -> Racks:
    """Give the running app's racks."""
    found = here.rooms.setdefault("rigs", Racks())
    assert isinstance(found, Racks)
    return found


def warm(here: Aboard) -> None:
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


def answer(here: Aboard, ask: Ask) -> Told:
    """Answer a question to a rig.

    Raises
    ------
    InputError
        Where the rig or the question is wrong.
    NoAnswer
        Where the rig cannot do it; says what it can.
    """
    begun = time.perf_counter()
    layers = [(each.depth_m, each.along_m_s, each.across_m_s) for each in ask.current]
    setting = check_setting(ask.speed_m_s, layers, f"speed {ask.speed_m_s:g} m/s", "the current")
    ready = racks(here).ready(here, ask)
    tow, draws = ready.tow, ready.draws
    if ask.depth_m is not None and ask.let_out_m is None:
        depth = check_depth(ask.depth_m, f"depth {ask.depth_m:g} m")
        found = let_out_for(tow, depth, setting, draws)
    elif ask.let_out_m is not None and ask.depth_m is None:
        let_out = check_let_out(ask.let_out_m, tow, f"let-out {ask.let_out_m:.1f} m")
        found = depth_of(tow, let_out, setting, draws)
    else:
        raise InputError("expected a depth or how much line is out: one of them")
    where = found.where
    figures = rig_answer("" if ask.spec is not None else ask.rig, tow, found, setting).to_dict()
    points = line_shape(tow, where.let_out, setting, max(where.let_out / POINTS, 0.2))
    return Told(
        **figures,
        count=_counted(tow, where.let_out, ask),
        nearby=_nearby(tow, where.let_out, setting, ask),
        around=_around(tow, where.let_out, setting, ask),
        shape_m=[(round(s, 2), round(x, 2), round(z, 3)) for s, x, _, z in points.tolist()],
        pieces=ready.pieces,
        mind=_mind(tow, found),
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


def _nearby(tow: Tow, let_out: float, setting: Setting, ask: Ask) -> Nearby:
    def depth(out: float, speed: float) -> float | None:
        if not (0.0 < out <= tow.length and speed >= 0.05):
            return None
        try:
            return where_at(tow, out, setting.at_speed(speed)).depth
        except NoAnswer:
            return None

    v, dv, dl = setting.speed, ask.step_speed_m_s, ask.step_let_out_m
    return Nearby(
        slower_m=depth(let_out, v - dv) if _outruns(setting, v - dv) else None,
        faster_m=depth(let_out, v + dv),
        less_m=depth(let_out - dl, v),
        more_m=depth(let_out + dl, v),
    )


def _outruns(setting: Setting, speed: float) -> bool:
    """Tell whether a speed is towing at all, whatever the current."""
    return all(speed - along >= 0.02 for _, along, _ in setting.current or ((0.0, 0.0, 0.0),))


def _around(tow: Tow, let_out: float, setting: Setting, ask: Ask) -> Around:
    v, dv, dl = setting.speed, ask.step_speed_m_s, ask.step_let_out_m
    # a current by depth costs as much for each let-out as one sweep does for all of them
    across, down = (2, 2) if len(setting.current) > 1 else (SPEEDS, LET_OUTS)
    speeds = [v + k * dv for k in range(-across, across + 1)]
    speeds = [s for s in speeds if s >= SLOWEST and _outruns(setting, s)]
    middle = round(let_out / dl) * dl
    outs = [middle + k * dl for k in range(-down, down + 1)]
    outs = [out for out in outs if LEAST <= out <= tow.length]
    rows: list[list[float | None]] = [[None] * len(speeds) for _ in outs]
    for j, speed in enumerate(speeds):
        if not outs:
            break
        for i, depth in enumerate(depths_by_let_out(tow, outs, setting.at_speed(speed))[:, DEPTH]):
            known = math.isfinite(depth) and depth > 0.0
            rows[i][j] = round(float(depth), 3) if known else None
    return Around(speeds_m_s=speeds, let_outs_m=outs, depths_m=rows)


def _mind(tow: Tow, found: Answer) -> list[str]:
    """Say what to take care of with an answer."""
    said = []
    share = found.where.share
    if share >= TOO_HEAVY:
        said.append(
            f"This pull is {share * 100:.0f} % of what the weakest line carries: a weed or a fish "
            "more can break it. Slow down, or take stronger line."
        )
    elif share >= HEAVY:
        said.append(
            f"This pull is {share * 100:.0f} % of what the weakest line carries, before any fish "
            "or weed: check the drag."
        )
    if found.within < OFTEN:
        said.append(
            f"Only {found.within * 100:.0f} in 100 likely lines of this make get there at all."
        )
    state = count(tow, found.where.let_out)
    if state.colors and state.after > 0.0:
        said.append("All colours are out: what follows is backing, which sinks little.")
    if found.where.let_out > 0.97 * tow.length:
        said.append("This is nearly all the line on the rig: leave some turns on the spool.")
    return said
