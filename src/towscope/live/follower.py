"""One line followed live: kept up with to a moment ago, and looked ahead of from there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from towscope.arrays import Array
from towscope.follow.lure_path import ROUGH_SEGMENT
from towscope.live.lines_out import Out
from towscope.towing.lookahead import HOLD, Boat, ahead, tips
from towscope.towing.moving import Bed, Lines, Passage, State, run, settled

STEP: Final = 0.5  # [s]; of the best estimate
ROUGH_STEP: Final = 1.0  # [s]; of the band about it
DRAWS: Final = 32
RANKS: Final = (0.05, 0.5, 0.95)  # versions, by their depth now, that look ahead
LINE_SPEED: Final = 0.5  # [m/s]; how fast line goes out or comes in, where only the result is told
AHEAD: Final = 120.0  # [s]
AHEAD_STEP, ROUGH_AHEAD_STEP = 1.0, 2.0  # [s]


@dataclass(frozen=True)
class Seen:
    """Where one line is now and will be.

    Attributes
    ----------
    lure : (3,) array
        Place of the lure now [m].
    low, high : float
        Span of its depth now, with 90 % probability [m].
    shape : (n, 3) array
        The line now, from the lure to the rod tip [m].
    tension : float
        Pull at the rod now [N].
    let_out : float
        Line out now, as read [m].
    ahead : Passage
        The next two minutes, best estimate, once a second from now.
    low_ahead, high_ahead : (m,) array
        Span of the depth then [m].
    lines, state : Lines, State
        For trying changes: the best estimate now, of a line cut coarser.
    """

    lure: Array
    low: float
    high: float
    shape: Array
    tension: float
    let_out: float
    ahead: Passage
    low_ahead: Array
    high_ahead: Array
    lines: Lines
    state: State


class Follower:
    """One line, in its best estimate and in many versions.

    Parameters
    ----------
    out : Out
        The line.
    """

    def __init__(self, out: Out) -> None:
        self.out = out
        mounts = np.array([out.mount])
        self._best = Lines.of([out.tow], mounts=mounts)
        self._band = Lines.of([out.tow], draws=DRAWS, segment=ROUGH_SEGMENT, mounts=mounts)
        self._rough = Lines.of([out.tow], segment=ROUGH_SEGMENT, mounts=mounts)
        self._states: tuple[State, ...] | None = None
        self._let_out = out.let_out

    @property
    def time(self) -> float | None:
        """Moment up to which it is followed for good [s]; None before it has begun."""
        return None if self._states is None else self._states[0].time

    def off(self, boat: Boat) -> float:
        """Tell how far the rod tip is from where the boat would have it [m]."""
        assert self._states is not None
        there = tips(self._best.mounts, np.array([[boat.x, boat.y, boat.course]]))[0, 0]
        return float(np.linalg.norm(self._states[0].tip[0] - there))

    def take(self, out: Out) -> None:
        """Take what has changed about the line: how much of it is out."""
        self.out = out

    def begin(self, boat: Boat, time: float, current: Array | None) -> None:
        """Begin, as a line that has long been going straight.

        Parameters
        ----------
        boat : Boat
            Where the boat is.
        time : float
            When [s].
        current : (k, 3) array or None
            Depth [m], speed of the water to the east and to the north [m/s].
        """
        self._let_out = self.out.let_out
        self._states = tuple(
            settled(
                lines,
                self._let_out,
                max(boat.speed, 0.3),  # a boat that stands still begins to tow when it goes
                boat.course,
                at=(boat.x, boat.y),
                current=current,
                time=time,
            )
            for lines in (self._best, self._band, self._rough)
        )

    def advance(self, moments: Array, path: Array, current: Array | None) -> None:
        """Follow on for good.

        Parameters
        ----------
        moments : (m,) array
            Moments [s], from the last that was followed to.
        path : (m, 4) array
            The boat: x, y [m], course [rad], speed [m/s].
        current : (k, 3) array or None
            As `begin` takes it.
        """
        assert self._states is not None
        if len(moments) < 2:
            return
        let_out = self._reeled(moments)
        self._states = self._follow(self._states, moments, path, let_out, current)
        self._let_out = float(let_out[-1])

    def look(
        self, moments: Array, path: Array, boat: Boat, current: Array | None, bed: Bed | None
    ) -> Seen:
        """Say where the line is now and will be, without keeping it.

        Parameters
        ----------
        moments : (m,) array
            Moments [s] from the last that was followed to, up to now.
        path : (m, 4) array
            The boat then.
        boat : Boat
            The boat now.
        current : (k, 3) array or None
            As `begin` takes it.
        bed : Bed or None
            The bottom.
        """
        assert self._states is not None
        best, band, rough = self._states
        out = self._let_out
        if len(moments) > 1:
            let_out = self._reeled(moments)
            out = float(let_out[-1])
            best, band, rough = self._follow(self._states, moments, path, let_out, current)
        order = np.argsort(band.depth)
        chosen = order[[round(rank * (DRAWS - 1)) for rank in RANKS]][None]
        later = ahead(
            self._best, best, boat, HOLD, AHEAD, current=current, bed=bed, step=AHEAD_STEP
        )
        coarse = ahead(
            self._band.only(chosen),
            band.only(DRAWS, chosen),
            boat,
            HOLD,
            AHEAD,
            current=current,
            step=ROUGH_AHEAD_STEP,
        )
        since = later.time - later.time[0]
        then = coarse.time - coarse.time[0]
        low, high = (
            np.interp(since, then, edge) for edge in (coarse.depth.min(0), coarse.depth.max(0))
        )
        depth = float(best.depth[0])
        ends = np.quantile(band.depth, [0.05, 0.95])
        return Seen(
            best.lure[0],
            min(float(ends[0]), depth),
            max(float(ends[1]), depth),
            best.shape(0),
            float(best.rod[0]),
            out,
            later,
            np.minimum(low, later.depth[0]),
            np.maximum(high, later.depth[0]),
            self._rough,
            rough,
        )

    def _reeled(self, moments: Array) -> Array:
        """Line out at moments: let out or reeled in evenly to what was last said of it."""
        goal = self.out.let_out
        moved = np.minimum(LINE_SPEED * (moments - moments[0]), abs(goal - self._let_out))
        return np.asarray(self._let_out + np.sign(goal - self._let_out) * moved)

    def _follow(
        self,
        states: tuple[State, ...],
        moments: Array,
        path: Array,
        let_out: Array,
        current: Array | None,
    ) -> tuple[State, ...]:
        rods = tips(self._best.mounts, path)
        # A fix that has come since moves the way a little where it was already followed: the
        # difference is made up along this piece.
        off = states[0].tip[:1] - rods[:, 0]
        rods += off[:, None] * np.linspace(1.0, 0.0, len(moments))[None, :, None]
        return tuple(
            run(
                lines,
                state,
                moments,
                rods,
                let_out=let_out[None],
                current=current,
                longest_step=step,
            ).state
            for lines, state, step in zip(
                (self._best, self._band, self._rough),
                states,
                (STEP, ROUGH_STEP, ROUGH_STEP),
                strict=True,
            )
        )
