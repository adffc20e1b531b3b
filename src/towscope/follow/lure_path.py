"""Moving-line simulation behind a track, in draws: where the lure ran, second by second."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from towscope.arrays import Array
from towscope.boat.track import BoatTrack, Gap, clock
from towscope.errors import InputError
from towscope.progress import Progress, unheard
from towscope.towing.lookahead import tips
from towscope.towing.moving import SHORTEST, Bed, Lines, State, run, settled
from towscope.towing.tow import Tow

DRAWS = 48
STEP, ROUGH_STEP = 0.5, 1.0  # [s]; of the best estimate, and of the band about it
ROUGH_SEGMENT = 2.0  # [m]; the band's lines are cut coarser: 0.3 % of depth, and four times as fast
PATH_STEP = 1.0  # [s]; between these the boat goes straight
BLOCK = 900  # moments followed at once: bounds the room it takes
SLOW = 0.15  # [m/s]; below it a boat's way says nothing of where its bow points
FAST = 4.0  # [m/s], 9 mph; nobody trolls lead-core so fast
LEVEL = 0.9


@dataclass(frozen=True)
class Followed:
    """Where boat and lure were, moment by moment.

    Attributes
    ----------
    time : (m,) array
        Moments [s on the track's clock]; none between stretches of the track.
    boat : (m, 4) array
        Boat: x, y [m], course [rad from north, without jumps], speed over ground [m/s].
    lure : (m, 3) array
        Lure: x, y, z [m], z up from the surface.
    tension : (m,) array
        Pull at the rod [N].
    low, high : (m,) array
        Depths between which the lure was with 90 % probability [m].
    let_out : (m,) array
        Line past the rod tip [m].
    clearance, clearance_low : (m,) array
        Least height of lure or line above the bottom [m]: best estimate, and so much or more
        with 95 % probability; NaN where the bottom is not known.
    by_lure : (m,) array
        1 where it is the lure that is nearest the bottom, 0 where it is the line.
    stretch : (m,) array
        Number of the track's stretch.
    notes : tuple of str
        What had to be assumed.
    gaps : tuple of Gap
        Times without fixes.
    """

    time: Array
    boat: Array
    lure: Array
    tension: Array
    low: Array
    high: Array
    let_out: Array
    clearance: Array
    clearance_low: Array
    by_lure: Array
    stretch: Array
    notes: tuple[str, ...] = ()
    gaps: tuple[Gap, ...] = ()

    @property
    def depth(self) -> Array:
        """Depth of the lure [m], (m,)."""
        return -self.lure[:, 2]

    @property
    def trolling(self) -> npt.NDArray[np.bool_]:
        """Moments at which the boat went no faster than anybody trolls, (m,)."""
        return np.asarray(self.boat[:, 3] <= FAST)


def follow(
    tow: Tow,
    track: BoatTrack,
    let_out: float | Callable[[Array], Array],
    *,
    every: float = 1.0,
    current: Array | None = None,
    bed: Bed | None = None,
    mount: tuple[float, float] = (0.0, 0.0),
    draws: int = DRAWS,
    progress: Progress = unheard,
) -> Followed:
    """Follow one lure behind a track.

    Parameters
    ----------
    tow : Tow
        The rig.
    track : BoatTrack
        The boat's way.
    let_out : float or callable
        Line truly past the rod tip [m], or a function that gives it at moments (m,) [s].
    every : float
        Time between the moments shown [s].
    current : (k, 3) array, optional
        Depth [m], speed of the water to the east and to the north [m/s]; still water if left out.
    bed : Bed, optional
        Depth of the bottom, in the track's metres.
    mount : tuple of float
        Rod tip ahead and to starboard of where the fixes are taken [m].
    draws : int
        Versions of the rig that the band on depth is taken from; 1 for no band.
    progress : callable, optional
        Called with the share done.

    Returns
    -------
    Followed
        The lure's way. It starts settled at the first speed and course of each stretch.

    Raises
    ------
    InputError
        Where the let-out is more line than the rig has, or less than a metre.

    Examples
    --------
    A small minnow on 170 ft of thin core goes round a half turn of 20 m at 2 mph. How many feet
    deep does it run before, and at the deepest?

    >>> from towscope.boat.clean import clean
    >>> from towscope.boat.track import Fixes
    >>> from towscope.tackle.shelf import stock
    >>> from towscope.towing.lookahead import Boat, Manoeuvre, course
    >>> half = Manoeuvre(turn=math.pi, radius=20.0, begin=30.0)
    >>> time, path = course(Boat(0.0, 0.0, 0.894, 0.0), half, 240.0, 1.0)
    >>> track = clean(Fixes(time, path[:, 0], path[:, 1], on_globe=False, dated=False))
    >>> way = follow(stock().tow("demo"), track, 51.8, draws=1)
    >>> [round(float(depth) / 0.3048) for depth in (way.depth[0], way.depth.max())]
    [31, 42]
    """
    if every <= 0.0:
        raise ValueError(f"every {every:g} s; expected above 0")
    notes: list[str] = []
    sub = max(1, math.ceil(every / PATH_STEP - 1e-9))
    best = _Band(tow, 1, 1.0, STEP, mount)
    band = _Band(tow, draws, ROUGH_SEGMENT, ROUGH_STEP, mount) if draws > 1 else None
    total = sum(float(track.time[b - 1] - track.time[a]) for a, b in track.stretches) or 1.0
    done = 0.0
    found: list[dict[str, Array]] = []
    zero = float(track.time[0])
    for number, (a, b) in enumerate(track.stretches):
        first, last = float(track.time[a]), float(track.time[b - 1])
        # moments fall on whole multiples of `every` from the start of the track
        begin = zero + every * math.ceil((first - zero) / every - 1e-9)
        count = math.floor((last - begin) / every + 1e-9) + 1
        if count < 1:
            notes.append(f"the stretch at {clock(first - zero)} is too short to show")
            continue
        moments: Array = begin + np.arange((count - 1) * sub + 1, dtype=np.float64) * (every / sub)
        path = _path(track, moments)
        out = let_out(moments) if callable(let_out) else np.full(len(moments), float(let_out))
        _check_let_out(tow, out)
        if path[0, 3] < SLOW:
            notes.append(
                f"the boat stood nearly still at {clock(first - zero)}: the line hangs down there "
                "until it gets under way"
            )
        for each in (best, band):
            if each is not None:
                each.settle(path[0], float(out[0]), current, begin)
        for i in range(0, max(count - 1, 1), BLOCK):
            own = slice(i * sub, min(i + BLOCK, count - 1) * sub + 1)
            given = (moments[own], path[own], out[own], current, bed, sub)
            block = best.go(*given)
            _band_of(block, None if band is None else band.go(*given))
            block["stretch"] = np.full(len(block["time"]), float(number))
            # a block begins with the moment that the last one ended with
            found.append({key: column[min(i, 1) :] for key, column in block.items()})
            done += float(moments[own][-1] - moments[own][0])
            progress(min(done / total, 1.0), "following")
    if sum(len(block["time"]) for block in found) < 2:
        raise InputError(
            f"the track lasts {clock(total)}, less than one step of {every:g} s; "
            "expected a longer track or shorter steps"
        )
    joined = {key: np.concatenate([block[key] for block in found]) for key in found[0]}
    fast = float((joined["boat"][:, 3] > FAST).sum()) * every
    if fast:
        notes.append(
            f"the boat ran faster than anybody trolls for {clock(fast)}: what the lure does then "
            "is not counted in the summary"
        )
    return Followed(**joined, notes=tuple(notes), gaps=track.gaps)


def _band_of(block: dict[str, Array], spread: dict[str, Array] | None) -> None:
    """Add the band to a block: its draws are cut coarser, hence it always holds the best."""
    depth, clear = -block["lure"][:, 2], block["clearance"]
    block.update(low=depth, high=depth, clearance_low=clear)
    if spread is None:
        return
    low, high = np.quantile(-spread["lures"][:, :, 2], [0.5 - LEVEL / 2, 0.5 + LEVEL / 2], axis=0)
    known = np.where(np.isnan(spread["clearances"]), np.inf, spread["clearances"])
    clear_low = np.quantile(known, 0.5 - LEVEL / 2, axis=0, method="lower")
    block.update(
        low=np.minimum(low, depth),
        high=np.maximum(high, depth),
        clearance_low=np.where(np.isnan(clear), np.nan, np.minimum(clear_low, clear)),
    )


class _Band:
    """One rig in one or many draws, followed block by block."""

    def __init__(
        self, tow: Tow, draws: int, segment: float, step: float, mount: tuple[float, float]
    ) -> None:
        place = np.array([[mount[0], mount[1], tow.tip]])
        self.lines = Lines.of([tow], draws=draws, segment=segment, mounts=place)
        self.step = step
        self.factor = tow.counter_factor
        self.state: State | None = None

    def settle(self, boat: Array, out: float, current: Array | None, time: float) -> None:
        """Start anew, settled."""
        x, y, course, speed = (float(v) for v in boat)
        self.state = settled(
            self.lines, out / self.factor, speed, course, at=(x, y), current=current, time=time
        )

    def go(
        self,
        moments: Array,
        path: Array,
        out: Array,
        current: Array | None,
        bed: Bed | None,
        sub: int,
    ) -> dict[str, Array]:
        """Follow on through a block, whose first moment is the state's."""
        assert self.state is not None
        shown = {"time": moments[::sub], "boat": path[::sub], "let_out": out[::sub]}
        if len(moments) < 2:
            lures, tension = self.state.lure[:, None], self.state.rod[:, None]
            clearances = np.full(tension.shape, np.nan)
            by_lure = np.ones(1)
        else:
            passage = run(
                self.lines,
                self.state,
                moments,
                tips(self.lines.mounts, path),
                let_out=(out / self.factor)[None],
                current=current,
                bed=bed,
                longest_step=self.step,
                every=sub,
            )
            self.state = passage.state
            lures, tension, clearances = passage.lure, passage.tension, passage.clearance
            by_lure = (passage.nearest[0] == passage.lure[0]).all(axis=1).astype(float)
        if self.lines.draws > 1:
            return {**shown, "lures": lures, "clearances": clearances}
        return {
            **shown,
            "lure": lures[0],
            "tension": tension[0],
            "clearance": clearances[0],
            "by_lure": by_lure,
        }


def _path(track: BoatTrack, moments: Array) -> Array:
    """Give the boat's x, y [m], course [rad] and speed [m/s] at moments, (m, 4)."""
    x, y, vx, vy = track.at(moments)
    speed = np.hypot(vx, vy)
    course = np.arctan2(vx, vy)
    moving = speed >= SLOW
    if moving.any() and not moving.all():
        # a boat that hardly moves keeps pointing where it went; before that, where it goes next
        index = np.where(moving, np.arange(len(course)), -1)
        index = np.maximum.accumulate(index)
        course = course[np.where(index < 0, int(np.argmax(moving)), index)]
    return np.column_stack([x, y, np.unwrap(course), speed])


def _check_let_out(tow: Tow, out: Array) -> None:
    shortest, longest = SHORTEST, tow.length
    low, high = float(out.min()), float(out.max())
    if low < shortest or high > longest + 1e-6:
        wrong = low if low < shortest else high
        raise InputError(
            f"let-out of {wrong:.1f} m; expected "
            f"{shortest:.0f} to {longest:.0f} m, the line on the rig"
        )


def flat_bed(depth: float, reach: float = 1e6) -> Bed:
    """Give a bottom that is equally deep everywhere [m]."""
    return Bed(-reach, -reach, 2.0 * reach, np.full((2, 2), float(depth)))
