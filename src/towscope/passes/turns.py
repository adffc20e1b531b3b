"""Dubins paths followed with lines out: the way round from one pass to the next."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from towscope.arrays import Array
from towscope.bed.bed import LakeBed
from towscope.passes.safe_water import over_water
from towscope.passes.steering import SEGMENT, STEP, Hand, by_hand
from towscope.towing.lookahead import tips
from towscope.towing.moving import Bed as Bottom
from towscope.towing.moving import Lines, State, run
from towscope.towing.tow import Tow

Pose = tuple[float, float, float]  # x, y [m], course [rad from north]

RADII = (25.0, 35.0, 50.0, 75.0)  # [m]
SHORTENED = (0.0, 0.15, 0.3, 0.45, 0.6)  # parts of the line to take in for the turn
MOST_PATHS = 8
LONGEST = 4000.0  # [m]; a longer way round is better made with the lines in
WORDS = ("lsl", "rsr", "lsr", "rsl", "rlr", "lrl")
LEAVING, JOINING = 40.0, 60.0  # [m]; where the lure still, or again, runs as on a pass
NEARLY = 0.75  # of the passes' clearance is good enough there
PIECE = 64  # steps; after each it is looked whether the lure has come too low


@dataclass(frozen=True)
class WayRound:
    """One way round.

    Attributes
    ----------
    x, y, course : (n,) array
        The boat's way [m, m, rad from north].
    radius : float
        Of its turns [m].
    first : str
        ``"port"`` or ``"starboard"``: the way it turns first.
    turn_out : float
        Line past the rod tip in the turns, as read [m].
    speed : float
        Speed over ground in the turns [m/s].
    """

    x: Array
    y: Array
    course: Array
    radius: float
    first: str
    turn_out: float
    speed: float

    @property
    def length(self) -> float:
        """Length [m]."""
        return float(np.hypot(np.diff(self.x), np.diff(self.y)).sum())


@dataclass(frozen=True)
class FollowedTurn:
    """One way round, followed.

    Attributes
    ----------
    choice : WayRound
        The way, its turns, line and speed.
    path : (m, 4) array
        Boat at even moments: x, y [m], course [rad from north], speed [m/s].
    time : (m,) array
        Moments from its beginning [s].
    out : (m,) array
        Line past the rod tip as read [m].
    lure : (m, 3) array
        Lure: x, y, z [m].
    clearance : (m,) array
        Least height of lure or line above the bottom [m].
    state : State
        The line at its end.
    """

    choice: WayRound
    path: Array
    time: Array
    out: Array
    lure: Array
    clearance: Array
    state: State


def shortest(a: Pose, b: Pose, radius: float) -> list[tuple[str, tuple[float, float, float]]]:
    """Give the ways of a circle, a straight and a circle (or three circles) between two poses.

    Parameters
    ----------
    a, b : (x, y, course)
        Where it begins and ends [m, m, rad from north].
    radius : float
        Of the turns [m].

    Returns
    -------
    list of (word, (first, second, third))
        Turns to port (l), to starboard (r) and straights (s) with their lengths [m], the shortest
        first.

    References
    ----------
    Dubins (1957), Am. J. Math. 79:497-516; Shkel & Lumelsky (2001), Robotics and Autonomous
    Systems 34:179-202.
    """
    dx, dy = (b[0] - a[0]) / radius, (b[1] - a[1]) / radius
    d, theta = math.hypot(dx, dy), math.atan2(dy, dx)
    alpha = (0.5 * math.pi - a[2] - theta) % (2.0 * math.pi)
    beta = (0.5 * math.pi - b[2] - theta) % (2.0 * math.pi)
    sa, ca, sb, cb = math.sin(alpha), math.cos(alpha), math.sin(beta), math.cos(beta)
    both = math.cos(alpha - beta)

    def whole(angle: float) -> float:
        angle %= 2.0 * math.pi
        return 0.0 if angle > 2.0 * math.pi - 1e-9 else angle

    found: list[tuple[str, tuple[float, float, float]]] = []
    for word in WORDS:
        if word in ("lsl", "rsr"):
            side = 1.0 if word == "lsl" else -1.0
            square = 2.0 + d * d - 2.0 * both + side * 2.0 * d * (sa - sb)
            if square < 0.0:
                continue
            angle = math.atan2(side * (cb - ca), d + side * (sa - sb))
            parts = (side * (angle - alpha), math.sqrt(square), side * (beta - angle))
        elif word in ("lsr", "rsl"):
            side = 1.0 if word == "lsr" else -1.0
            square = -2.0 + d * d + 2.0 * both + side * 2.0 * d * (sa + sb)
            if square < 0.0:
                continue
            p = math.sqrt(square)
            angle = math.atan2(-side * (ca + cb), d + side * (sa + sb)) - math.atan2(-side * 2.0, p)
            parts = (side * (angle - alpha), p, side * (angle - beta))
        else:
            side = 1.0 if word == "lrl" else -1.0
            c = (6.0 - d * d + 2.0 * both - side * 2.0 * d * (sa - sb)) / 8.0
            if abs(c) > 1.0:
                continue
            p = 2.0 * math.pi - math.acos(c)
            angle = math.atan2(side * (ca - cb), d + side * (sa - sb))
            t = whole(side * (angle - alpha) + 0.5 * p)
            parts = (t, p, whole(side * (beta - alpha) - t + p))
        lengths = (
            whole(parts[0]) * radius,
            (whole(parts[1]) if word[1] != "s" else parts[1]) * radius,
            whole(parts[2]) * radius,
        )
        x, y, course = (float(v[-1]) for v in points(a, word, lengths, radius, 1e9))
        miss = math.hypot(x - b[0], y - b[1]) + radius * abs(
            math.remainder(course - b[2], 2.0 * math.pi)
        )
        if miss < 1e-3 * radius:
            found.append((word, lengths))
    return sorted(found, key=lambda w: sum(w[1]))


def points(
    a: Pose, word: str, lengths: tuple[float, float, float], radius: float, grain: float = 1.0
) -> tuple[Array, Array, Array]:
    """Give x, y [m] and course [rad] along such a way."""
    x, y, course = a
    xs, ys, cs = [np.array([x])], [np.array([y])], [np.array([course])]
    for letter, length in zip(word, lengths, strict=True):
        n = max(math.ceil(length / grain), 1)
        s = np.arange(1, n + 1) * (length / n)
        if letter == "s":
            px, py = x + s * math.sin(course), y + s * math.cos(course)
            c = np.full(n, course)
        else:
            side = -1.0 if letter == "l" else 1.0  # of the compass
            c = course + side * s / radius
            px = x + side * radius * (math.cos(course) - np.cos(c))
            py = y + side * radius * (np.sin(c) - math.sin(course))
        xs.append(px)
        ys.append(py)
        cs.append(c)
        x, y, course = float(px[-1]), float(py[-1]), float(c[-1])
    return np.concatenate(xs), np.concatenate(ys), np.concatenate(cs)


class Ways:
    """The ways round between two poses, each followed when it is first asked for.

    Parameters
    ----------
    bed, bottom : LakeBed
        The bottom, and the same as the engine takes it.
    tow : Tow
        The rig.
    state : State
        The line at the beginning, one row.
    a, b : (x, y, course)
        Where the boat is and where it must come to.
    out : (from, to)
        Line past the rod tip at the beginning and at the end [m].
    speed, band : float
        Speed over ground, and how much faster it may be in the turns [m/s].
    clearance : float
        Height of the passes above the bottom [m].
    grain : float
        Let-outs are multiples of this [m].
    least_out : float
        Least line out [m].
    hand : Hand
        How it is worked.
    """

    def __init__(
        self,
        bed: LakeBed,
        bottom: Bottom,
        tow: Tow,
        state: State,
        a: Pose,
        b: Pose,
        out: tuple[float, float],
        speed: float,
        band: float,
        clearance: float,
        grain: float,
        least_out: float,
        hand: Hand,
    ) -> None:
        self._bottom, self._state, self._out = bottom, state, out
        self._speed, self._hand, self._clearance = speed, hand, clearance
        self._lines = Lines.of(
            [tow], segment=SEGMENT, mounts=np.array([[hand.mount[0], hand.mount[1], tow.tip]])
        )
        # Most line first: more taken in only makes more work. Of alike ones the shortest first.
        self._tries = sorted(
            _choices(bed, a, b, out, speed, band, grain, least_out),
            key=lambda c: (-c.turn_out, c.speed, c.length),
        )
        self._followed: dict[int, FollowedTurn] = {}
        self._too_low: dict[int, float] = {}  # at which height each was found too low [m]

    def best(self, need: float) -> FollowedTurn | None:
        """Give the shortest that keeps the lure off the bottom with the least done to the line.

        Parameters
        ----------
        need : float
            Height to keep above the bottom between the passes [m].

        Returns
        -------
        FollowedTurn or None
            None where none does it.
        """
        for k, choice in enumerate(self._tries):
            if need >= self._too_low.get(k, math.inf):
                continue
            done = self._followed.get(k)
            if done is None:
                done = self._follow(choice, need)
            elif not _clear(done.path, done.clearance, self._clearance, need):
                done = None
            if done is not None:
                self._followed[k] = done
                return done
            self._too_low[k] = need
        return None

    def _follow(self, choice: WayRound, need: float) -> FollowedTurn | None:
        """Follow the lure through one, for as long as it keeps off the bottom."""
        time, path, out = _timed(choice, self._out, self._speed, self._hand.line_rate)
        tip = tips(self._lines.mounts, path)
        far = _far(path)
        state = self._state
        lure, clearance = np.empty((len(time), 3)), np.empty(len(time))
        for first in range(0, len(time) - 1, PIECE):
            piece = slice(first, min(first + PIECE, len(time) - 1) + 1)
            passage = run(
                self._lines, state, self._state.time + time[piece], tip[:, piece],
                let_out=out[None, piece], current=self._hand.current, bed=self._bottom,
                longest_step=STEP,
            )  # fmt: skip
            state = passage.state
            lure[piece], clearance[piece] = passage.lure[0], passage.clearance[0]
            if not _clear(path, clearance[: piece.stop], self._clearance, need, far):
                return None
        return FollowedTurn(choice, path, time, out, lure, clearance, state)


def _far(path: Array) -> Array:
    """Give the distance run along a way [m]."""
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(path[:, :2], axis=0).T))])


def _clear(
    path: Array, clearance: Array, wanted: float, need: float, far: Array | None = None
) -> bool:
    """Tell whether a way round keeps off the bottom, as far as it was followed.

    At its ends as the passes do, between them by more.
    """
    far = _far(path) if far is None else far
    clear = np.where(np.isnan(clearance), np.inf, clearance)
    between = (far > LEAVING) & (far < far[-1] - JOINING)
    within = between[: len(clear)]
    return bool(clear.min() >= NEARLY * wanted and clear[within].min(initial=np.inf) >= need)


def _choices(
    bed: LakeBed,
    a: Pose,
    b: Pose,
    out: tuple[float, float],
    speed: float,
    band: float,
    grain: float,
    least_out: float,
) -> list[WayRound]:
    ways = []
    for radius in RADII:
        for word, lengths in shortest(a, b, radius):
            if sum(lengths) > LONGEST:
                continue
            x, y, course = points(a, word, lengths, radius)
            if over_water(bed, x, y):
                first = word[0] if lengths[0] > 0.1 * radius else word[2]
                side = "port" if first == "l" else "starboard"
                ways.append((x, y, course, radius, side, sum(lengths)))
    ways = sorted(ways, key=lambda w: w[5])[:MOST_PATHS]
    tries = []
    for share in SHORTENED:
        low = max(round((1.0 - share) * min(out) / grain) * grain, least_out)
        turn_out = min(out) if share == 0.0 else min(low, *out)
        for pace in (speed, speed + band) if share in (0.0, 0.3) and band > 0 else (speed + band,):
            tries += [WayRound(*way[:5], turn_out, pace) for way in ways]
    return tries


def _timed(
    each: WayRound, out: tuple[float, float], speed: float, rate: float
) -> tuple[Array, Array, Array]:
    """Put a way round on the clock: moments, path, line out."""
    far = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(each.x), np.diff(each.y)))])
    total = float(far[-1])
    back = abs(out[1] - each.turn_out) / rate * each.speed + 2.0  # line is out again by the end
    pace = np.interp(
        far, [0.0, 4.0, max(total - 8.0, 5.0), total], [speed, each.speed, each.speed, speed]
    )
    clock = np.concatenate([[0.0], np.cumsum(np.diff(far) / (0.5 * (pace[1:] + pace[:-1])))])
    n = max(round(float(clock[-1]) / STEP), 2)
    clock *= n * STEP / clock[-1]  # a whole number of steps
    time: Array = np.arange(n + 1, dtype=np.float64) * STEP
    at = np.interp(time, clock, far)
    own = np.column_stack([np.interp(at, far, v) for v in (each.x, each.y, each.course, pace)])
    wanted = np.where(at < total - back, each.turn_out, out[1])
    wanted[0] = out[0]
    return time, own, by_hand(wanted, time, rate)
