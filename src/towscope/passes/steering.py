"""Iterated linear response of lure to boat: the boat's way that puts the lure on a line.

A towed lure cuts corners: where its line turns, the boat has to swing wide, and earlier. How a
small swing of the boat comes out at the lure is asked of the engine once, on a straight course;
with that answer the boat's way is corrected, and the engine asked again with the real course,
until the lure is where it should be.

Distances along a `CourseLine` are counted from the start of the stretch that counts; they are
negative on the run-in. The boat's way is given as how far it keeps to port of that line.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import scipy

from towscope.arrays import Array
from towscope.progress import Detail
from towscope.towing.lookahead import tips
from towscope.towing.moving import Bed, Lines, Passage, State, run, settled

GRAIN = 1.0  # [m]; between points of a line
KNOT = 5.0  # [m]; between places where the boat's swing is free
STEP, SEGMENT = 1.0, 2.0  # [s], [m]; a few millimetres of depth, measured on the demo rig
ROUNDS = 6
GOOD = 0.1  # [m]; a lure so near its line is there
BENDING = 3.0  # [m^4]; how much a bent way of the boat counts against a lure off its line
TIGHTEST = 18.0  # [m]; turns of the boat below this are no way to tow


@dataclass(frozen=True)
class CourseLine:
    """A line to follow, at even steps, with a run-in before it and a run-out after it.

    Attributes
    ----------
    u : (n,) array
        Distance along it from the start of the stretch that counts [m].
    x, y : (n,) array
        Its points [m].
    tx, ty : (n,) array
        Its direction there.
    length : float
        Length of the stretch that counts [m].
    """

    u: Array
    x: Array
    y: Array
    tx: Array
    ty: Array
    length: float

    @staticmethod
    def through(
        x: Array,
        y: Array,
        before: float,
        after: float,
        bend_in: float = 0.0,
        bend_out: float = 0.0,
    ) -> CourseLine:
        """Make the line through the points of a stretch, run on at both ends.

        Parameters
        ----------
        x, y : (n,) array
            The stretch [m].
        before, after : float
            How far to run it on [m].
        bend_in, bend_out : float
            Curvature of what is run on, positive to port [1/m].
        """
        s = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))])
        keep = np.concatenate([[True], np.diff(s) > 1e-9])
        s, x, y = s[keep], x[keep], y[keep]
        fx, fy = scipy.interpolate.CubicSpline(s, x), scipy.interpolate.CubicSpline(s, y)
        n = max(round(float(s[-1]) / GRAIN), 2)
        at = np.linspace(0.0, float(s[-1]), n + 1)
        px, py = np.asarray(fx(at)), np.asarray(fy(at))
        # the ends' directions from a few metres: a spline wags its ends
        k = min(4, n)
        head = np.array([px[0] - px[k], py[0] - py[k]])
        tail = np.array([px[-1] - px[-1 - k], py[-1] - py[-1 - k]])
        ax, ay = _arc(head, before, -bend_in)
        bx, by = _arc(tail, after, bend_out)
        px = np.concatenate([px[0] + ax[::-1], px, px[-1] + bx])
        py = np.concatenate([py[0] + ay[::-1], py, py[-1] + by])
        step = np.hypot(np.diff(px), np.diff(py))
        u = np.concatenate([[0.0], np.cumsum(step)])
        length = float(u[len(ax) + n] - u[len(ax)])
        u -= u[len(ax)]
        tx, ty = np.gradient(px, u), np.gradient(py, u)
        size = np.hypot(tx, ty)
        return CourseLine(u, px, py, tx / size, ty / size, length)

    def on(self, u: Array) -> tuple[Array, Array, Array, Array]:
        """Give places and directions at distances along it."""
        tx, ty = np.interp(u, self.u, self.tx), np.interp(u, self.u, self.ty)
        size = np.hypot(tx, ty)
        return np.interp(u, self.u, self.x), np.interp(u, self.u, self.y), tx / size, ty / size

    def abeam(self, x: Array, y: Array, near: Array, within: float) -> tuple[Array, Array]:
        """Give where along the line points lie, and how far to port of it.

        Parameters
        ----------
        x, y : (m,) array
            The points [m].
        near : (m,) array
            Where along it each is expected [m]; a line may come back past itself.
        within : float
            How far from there to look [m].

        Returns
        -------
        along, port : (m,) array
            Distance along it, and to port of it [m].
        """
        # each is looked for in a window of the line alone: the line may be long
        first = np.searchsorted(self.u, near - within)
        wide = int((np.searchsorted(self.u, near + within, "right") - first).max(initial=0))
        k = np.minimum(first[:, None] + np.arange(max(wide, 1)), len(self.u) - 1)
        away = (x[:, None] - self.x[k]) ** 2 + (y[:, None] - self.y[k]) ** 2
        away[np.abs(self.u[k] - near[:, None]) > within] = np.inf
        k = k[np.arange(len(k)), away.argmin(axis=1)]
        dx, dy = x - self.x[k], y - self.y[k]
        along = dx * self.tx[k] + dy * self.ty[k]
        port = dy * self.tx[k] - dx * self.ty[k]
        return self.u[k] + along, port


def _arc(ahead: Array, length: float, bend: float) -> tuple[Array, Array]:
    """Give points that run on from the origin, not with it, in a direction along an arc."""
    n = max(round(length / GRAIN), 1)
    s = np.arange(1, n + 1) * (length / n)
    angle = np.arctan2(ahead[1], ahead[0]) + bend * (s - 0.5 * length / n)
    return np.cumsum(np.cos(angle)) * length / n, np.cumsum(np.sin(angle)) * length / n


@dataclass(frozen=True)
class Steps:
    """Something held, and changed at a few places: the speed, or the line out.

    Attributes
    ----------
    at : (k,) array
        Distances along the line where each value begins [m]; the first is where the run begins.
    value : (k,) array
        The values.
    """

    at: Array
    value: Array

    @staticmethod
    def held(value: float) -> Steps:
        """Give one that never changes."""
        return Steps(np.array([-np.inf]), np.array([value]))

    def on(self, u: Array) -> Array:
        """Give the values at distances along the line."""
        return np.asarray(self.value[np.maximum(np.searchsorted(self.at, u, "right") - 1, 0)])

    @property
    def changes(self) -> int:
        """How often it changes."""
        return len(self.value) - 1


@dataclass(frozen=True)
class SteeredWay:
    """How the boat is run along a line.

    Attributes
    ----------
    line : CourseLine
        The line that the lure is to follow.
    u : (k,) array
        Distances along it [m], `KNOT` apart: from where the boat begins to where it ends.
    port : (k,) array
        How far the boat keeps to port of it there [m].
    speed, out : Steps
        Speed over ground [m/s], and line past the rod tip as read [m].
    """

    line: CourseLine
    u: Array
    port: Array
    speed: Steps
    out: Steps

    def dense(self) -> tuple[Array, Array, Array, Array]:
        """Give u [m], x, y [m] and the distance run [m] along the boat's way."""
        u = np.linspace(self.u[0], self.u[-1], max(round(float(np.ptp(self.u)) / GRAIN), 2) + 1)
        off = scipy.interpolate.CubicSpline(self.u, self.port, bc_type="clamped")(u)
        x, y, tx, ty = self.line.on(u)
        x, y = x - off * ty, y + off * tx
        run_ = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))])
        return u, x, y, run_

    @property
    def tightest(self) -> float:
        """Radius of the boat's tightest turn [m], over 10 m of its way."""
        _, x, y, far = self.dense()
        course = np.unwrap(np.arctan2(np.gradient(x, far), np.gradient(y, far)))
        k = min(10, len(far) - 1)
        turn = np.abs(course[k:] - course[:-k]) / np.maximum(far[k:] - far[:-k], 1e-9)
        return float(1.0 / max(turn.max(), 1e-9))


@dataclass(frozen=True)
class Hand:
    """What moves what.

    Attributes
    ----------
    mount : (ahead, to starboard)
        Of the rod tip from the boat's place [m].
    line_rate : float
        How fast line is let out or reeled in [m/s].
    current : (k, 3) array or None
        Depth [m], speed of the water to the east and to the north [m/s].
    """

    mount: tuple[float, float] = (0.0, 0.0)
    line_rate: float = 0.3
    current: Array | None = None


def timed(way: SteeredWay, step: float, rate: float) -> tuple[Array, Array, Array, Array]:
    """Put the boat on a clock.

    Returns
    -------
    tuple
        Moments from 0 [s], (m,); x, y [m], course [rad] and speed [m/s], (m, 4); distance along
        the line [m], (m,); line out as read [m], (m,).
    """
    u, x, y, far = way.dense()
    pace = np.interp(u, *_ramped(way.speed, u, 3.0))
    clock = np.concatenate([[0.0], np.cumsum(np.diff(far) / (0.5 * (pace[1:] + pace[:-1])))])
    n = max(int(clock[-1] / step), 2)
    time: Array = np.arange(n + 1, dtype=np.float64) * step
    at = np.interp(time, clock, far)
    shown = scipy.interpolate.CubicSpline(far, np.column_stack([x, y]))
    place, heading = shown(at), shown(at, 1)
    course = np.unwrap(np.arctan2(heading[:, 0], heading[:, 1]))
    along = np.interp(at, far, u)
    path = np.column_stack([place, course, np.interp(along, u, pace)])
    return time, path, along, by_hand(way.out.on(along), time, rate)


def _ramped(steps: Steps, u: Array, over: float) -> tuple[Array, Array]:
    """Give points through which a stepped value goes, its changes spread over a distance [m]."""
    if not steps.changes:
        return u[[0, -1]], np.repeat(steps.value[0], 2)
    at = steps.at[1:]
    points = np.column_stack([at, at + over]).ravel()
    values = np.column_stack([steps.value[:-1], steps.value[1:]]).ravel()
    order = np.maximum.accumulate(points)
    return order, values


def by_hand(wanted: Array, time: Array, rate: float) -> Array:
    """Give the line out when what is wanted is brought about at a hand's pace [m]."""
    if (wanted == wanted[0]).all():
        return np.array(wanted, dtype=float)
    out = np.empty(len(wanted))
    now = float(wanted[0])
    last = float(time[0])
    for i, (goal, t) in enumerate(zip(wanted.tolist(), time.tolist(), strict=True)):
        most = rate * (t - last)
        now += min(max(goal - now, -most), most)
        out[i], last = now, t
    return out


@dataclass(frozen=True)
class FollowedWay:
    """One way, followed.

    Attributes
    ----------
    way : SteeredWay
        The way.
    passage : Passage
        What the engine showed, every step.
    path : (m, 4) array
        Boat: x, y [m], course [rad], speed [m/s].
    boat_u : (m,) array
        Where along the line the boat was [m].
    lure_u, lure_port : (m,) array
        Where along the line the lure was, and how far to port of it [m].
    """

    way: SteeredWay
    passage: Passage
    path: Array
    boat_u: Array
    lure_u: Array
    lure_port: Array

    def on_stretch(self) -> npt.NDArray[np.bool_]:
        """Moments at which the lure was on the stretch that counts."""
        return (self.lure_u >= 0.0) & (self.lure_u <= self.way.line.length)

    @property
    def astray(self) -> float:
        """The farthest the lure was off the stretch [m]."""
        return float(np.abs(self.lure_port[self.on_stretch()]).max(initial=0.0))


def begin(lines: Lines, way: SteeredWay, hand: Hand) -> State:
    """Give the state at the beginning of a way after a long straight tow towards it."""
    _, path, _, _ = timed(way, STEP, hand.line_rate)
    x, y, course, speed = (float(v) for v in path[0])
    out = float(way.out.value[0])
    return settled(lines, out, speed, course, at=(x, y), current=hand.current)


def follow(
    lines: Lines, way: SteeredWay, hand: Hand, bed: Bed | None, state: State | None = None
) -> FollowedWay:
    """Follow the lure behind a way."""
    time, path, along, out = timed(way, STEP, hand.line_rate)
    state = state or begin(lines, way, hand)
    passage = run(
        lines, state, state.time + time, tips(lines.mounts, path), let_out=out[None],
        current=hand.current, bed=bed, longest_step=STEP,
    )  # fmt: skip
    lure = passage.lure[0]
    behind = float(np.hypot(*(path[0, :2] - lure[0, :2])))
    lure_u, port = way.line.abeam(lure[:, 0], lure[:, 1], along - behind, behind + 30.0)
    return FollowedWay(way, passage, path, along, lure_u, port)


@dataclass(frozen=True)
class Response:
    """What one metre of a change comes to at the lure, by distance past where it was made.

    Attributes
    ----------
    far : (n,) array
        Place of the lure along the line, from where the boat made the change [m].
    twice : (n,) array
        The response to a change that grows by a metre each metre [m].
    """

    far: Array
    twice: Array

    def to(self, places: Array, knots: Array) -> Array:
        """Give what a unit at each knot and none at its neighbours does: (places, knots)."""
        first, last = knots[0] - KNOT, knots[-1] + KNOT
        all_knots = np.concatenate([[first], knots, [last]])
        d = places[:, None] - all_knots
        slope = (self.twice[-1] - self.twice[-2]) / (self.far[-1] - self.far[-2])
        ramp = np.interp(d, self.far, self.twice, left=0.0)
        ramp = np.where(d > self.far[-1], self.twice[-1] + slope * (d - self.far[-1]), ramp)
        return np.asarray((ramp[:, :-2] - 2.0 * ramp[:, 1:-1] + ramp[:, 2:]) / KNOT)


def responses(lines: Lines, out: float, speed: float, hand: Hand) -> tuple[Response, Response]:
    """Ask the engine how the lure answers a swing of the boat, and a change of line.

    Parameters
    ----------
    lines : Lines
        One line.
    out, speed : float
        Line past the rod tip [m], speed [m/s].
    hand : Hand
        How it is worked; its current is left out.

    Returns
    -------
    tuple of Response
        Of the lure's place to port to the boat's, and of its depth to line let out.
    """
    reach = 4.0 * out + 60.0
    straight = CourseLine.through(
        np.zeros(3), np.array([0.0, 0.5, 1.0]) * reach, 2.0 * out + 20.0, out + 60.0
    )
    u = np.arange(-0.5 * out - 4.0 * KNOT, reach, KNOT)
    still = Hand((0.0, hand.mount[1]), hand.line_rate)
    plain = SteeredWay(straight, u, np.zeros(len(u)), Steps.held(speed), Steps.held(out))
    swing = replace(plain, port=np.where(u > 0.0, 1.0, np.where(u == 0.0, 0.5, 0.0)))
    swing = replace(swing, port=np.clip((u + KNOT) / (2.0 * KNOT), 0.0, 1.0))
    more = min(1.5, 0.1 * out)
    let = replace(plain, out=Steps(np.array([-np.inf, 0.0]), np.array([out, out + more])))
    zero = follow(lines, plain, still, None)
    found = []
    for way, what, scale in ((swing, "port", 1.0), (let, "depth", more)):
        trial = follow(lines, way, still, None)
        value = trial.lure_port if what == "port" else trial.passage.depth[0]
        base = zero.lure_port if what == "port" else zero.passage.depth[0]
        n = min(len(value), len(base))
        far = trial.lure_u[:n]
        keep = np.concatenate([[True], np.diff(np.maximum.accumulate(far)) > 1e-6])
        far, change = far[keep], ((value[:n] - base[:n]) / scale)[keep]
        twice = np.concatenate([[0.0], np.cumsum(0.5 * (change[1:] + change[:-1]) * np.diff(far))])
        found.append(Response(far, twice))
    return found[0], found[1]


def on_line(
    lines: Lines,
    way: SteeredWay,
    hand: Hand,
    bed: Bed | None,
    response: Response,
    state: State | None = None,
    *,
    bending: float = BENDING,
    detail: Detail | None = None,
) -> FollowedWay:
    """Find the boat's way that puts the lure on the line.

    Parameters
    ----------
    lines : Lines
        One line, its best estimate.
    way : SteeredWay
        The line to follow, from where to where, how fast and on how much line.
    hand : Hand
        How it is worked.
    bed : Bed or None
        The bottom.
    response : Response
        Of the lure's place to the boat's.
    state : State, optional
        Where the line is at the beginning; after a long straight tow where not given.
    bending : float
        How much a bent way of the boat counts against a lure off its line [m^4].
    detail : callable, optional
        Called with how far the lure is off, round by round.

    Returns
    -------
    FollowedWay
        The best way found, followed.

    Notes
    -----
    Gauss-Newton steps with the response of a straight tow in place of the true derivative, and a
    penalty on bending: what the lure does not feel must not make the boat weave.
    """
    line = way.line
    # no more places than the swing of the boat can tell apart
    places = np.arange(-25.0, line.length + 1e-6, 4.0)
    weight = np.where(places < 0.0, 0.3, 1.0)
    knots = way.u
    answer = response.to(places, knots)
    # the ends stay where they are: they join what comes before and after
    free = np.arange(2, len(knots) - 1)
    bend = np.zeros((len(knots), len(knots)))
    for j in range(1, len(knots) - 1):
        bend[j, j - 1 : j + 2] = np.array([1.0, -2.0, 1.0]) / KNOT**2
    best: FollowedWay | None = None
    while True:
        penalty = np.sqrt(bending) * bend
        now = way
        found: FollowedWay | None = None
        for _ in range(ROUNDS):
            trial = follow(lines, now, hand, bed, state)
            if detail is not None:
                detail(f"lure {trial.astray:.2f} m off its line")
            if found is None or _off(trial) < _off(found):
                better = found is None or _off(trial) < 0.7 * _off(found)
                found = trial
            else:
                better = False
            if trial.astray < GOOD or not better:
                break
            off = np.interp(places, trial.lure_u, trial.lure_port)
            a = np.vstack([weight[:, None] * answer[:, free], penalty[:, free]])
            b = np.concatenate([-weight * off, -penalty @ now.port])
            change = np.zeros(len(knots))
            change[free] = np.linalg.lstsq(a, b, rcond=None)[0]
            now = replace(now, port=now.port + change)
        assert found is not None
        if best is None or found.way.tightest >= TIGHTEST:
            best = found
        if found.way.tightest >= TIGHTEST or bending > 1e4:
            return best
        bending *= 4.0


def _off(trial: FollowedWay) -> float:
    mine = trial.on_stretch()
    return float(np.sqrt(np.mean(trial.lure_port[mine] ** 2))) if mine.any() else np.inf
