"""Monte Carlo of bed, line and helm errors: how likely lure or line hits bottom, and where.

Many equally likely versions of the pass are followed at once: in each the line is another of its
stated uncertainty, the bottom errs by its standard error, the boat wanders off her way and goes
a little too fast or too slow. Beside them go the four corners: the best estimate of line and
bottom with the boat off to either side by the whole steering error, too fast and too slow by the
whole speed error.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from towscope.arrays import Array
from towscope.bed.bed import LakeBed
from towscope.constants import HALF_OF_90, MPH
from towscope.towing.lookahead import tips
from towscope.towing.moving import SHORTEST, Lines, State, run, settled
from towscope.towing.moving import Bed as Bottom
from towscope.towing.tow import SEED, Tow, draw, standard_normal

DRAWS = 60
STEERING, SPEED = 5.0, 0.2 * MPH  # [m], [m/s]; what nine in ten keep within
WANDER = 60.0  # [m]; over which a boat that has wandered off is brought back
STEP, SEGMENT = 3.0, 3.0  # [s], [m]; coarse: two centimetres of clearance at most, measured
BIN = 20.0  # [m]; along the boat's way, to say where
WAVES = 48  # of which a drawn field of bed errors is made
LARGEST = 5.0  # standard errors; no drawn field of bed errors goes farther
PATCH = 0.5  # length over which the bed errs alike, as a share of the distance between runs
CORNERS = ((1.0, 1.0), (1.0, -1.0), (-1.0, 1.0), (-1.0, -1.0))  # to port, faster


@dataclass(frozen=True)
class BottomRisk:
    """What may go wrong on a way.

    Attributes
    ----------
    hit : float
        Probability that lure or line hits the bottom anywhere on it.
    least : tuple of float
        Low, middle and high of the least clearance along it, 90 % between low and high [m].
    worst : tuple of float
        Where a bottom hit is likeliest: x, y [m].
    worst_hit : float
        Probability of a bottom hit within `BIN` metres of there.
    worst_at : float
        How far along the boat's way that is [m].
    corners : float
        Least clearance when steering and speed err by their whole amounts at once, line and
        bottom by best estimate [m].
    best : float
        Least clearance by best estimate [m].
    draws : int
        How many versions were followed.
    rise : (draws,) array
        The least clearance of each version [m].
    doubts : dict of str to float
        What makes the clearance there doubtful, and by how much to either side with 90 %
        probability [m]: "line" (how deep it runs), "bottom", "steering", "speed".
    """

    hit: float
    least: tuple[float, float, float]
    worst: tuple[float, float]
    worst_hit: float
    worst_at: float
    corners: float
    best: float
    draws: int
    rise: Array
    doubts: dict[str, float]

    @property
    def because(self) -> str:
        """Which doubt is the greatest."""
        return max(self.doubts, key=self.doubts.__getitem__)

    def safe(self, limit: float) -> bool:
        """Tell whether it may be called safe: corners clear, bottom hits no likelier than asked."""
        return self.corners > 0.0 and self.hit <= limit + 1e-9

    def short_of(self, limit: float) -> float:
        """How much more clearance would make it safe [m], about; 0 where it is."""
        if self.safe(limit):
            return 0.0
        rank = np.sort(self.rise)[int(np.floor(limit * self.draws + 1e-9))]
        return float(max(-rank, -self.corners, 0.0))


def risk(
    bed: LakeBed,
    bottom: Bottom,
    tow: Tow,
    path: Array,
    time: Array,
    out: Array,
    mount: tuple[float, float],
    *,
    current: Array | None = None,
    draws: int = DRAWS,
    steering: float = STEERING,
    speed: float = SPEED,
    parts: tuple[float, ...] = (0.0,),
    seed: int = SEED,
) -> list[BottomRisk]:
    """Judge a way over a bottom.

    Parameters
    ----------
    bed, bottom : LakeBed
        The bottom with its standard error, and the same as the engine takes it.
    tow : Tow
        The rig.
    path : (m, 4) array
        Boat: x, y [m], course [rad from north], speed [m/s].
    time : (m,) array
        When it is there [s].
    out : (m,) array
        Line past the rod tip there, as read [m].
    mount : (ahead, to starboard)
        Of the rod tip from the boat's place [m].
    current : (k, 3) array, optional
        Depth [m], speed of the water to the east and to the north [m/s].
    draws : int
        How many versions.
    steering, speed : float
        What the boat keeps within of her way [m] and of her speed [m/s] nine times in ten.
    parts : tuple of float
        For each a risk is given: that of the way from so far along it on [m].
    seed : int
        Seed.

    Returns
    -------
    list of BottomRisk
        The risk of each part.
    """
    z = standard_normal(draws, 1, seed + 1)[:, 0]
    pace = np.concatenate([z * speed / HALF_OF_90, [c[1] * speed for c in CORNERS], [0.0]])
    far = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(path[:, :2], axis=0).T))])
    swing = np.concatenate(
        [
            _wander(far, draws, seed + 2) * steering / HALF_OF_90,
            np.array([[c[0]] for c in CORNERS]) * steering * np.ones_like(far),
            np.zeros((1, len(far))),
        ]
    )
    swing *= np.clip((far - far[0]) / 40.0, 0.0, 1.0)  # she begins on her way
    lines = Lines.of(
        _versions(tow, draws, seed),
        segment=SEGMENT,
        mounts=np.tile([mount[0], mount[1], tow.tip], (len(pace), 1)),
    )
    span = float((time[-1] - time[0]) / (1.0 + pace.min() / path[:, 3].mean()))
    clock: Array = np.arange(int(span / STEP) + 1, dtype=np.float64) * STEP
    rows = [
        _driven(path, far, time - time[0], out, swing[k], float(pace[k]), clock)
        for k in range(len(pace))
    ]
    ways, outs = np.stack([r[0] for r in rows]), np.stack([r[1] for r in rows])
    where = np.stack([r[2] for r in rows])
    tip = np.stack([tips(lines.mounts[k : k + 1], ways[k])[0] for k in range(len(pace))])
    state = settled(
        lines, outs[:, 0], float(path[0, 3]), float(path[0, 2]),
        at=(float(path[0, 0]), float(path[0, 1])), current=current,
    )  # fmt: skip
    state = _moved(state, tip[:, 0])
    passage = run(
        lines, state, clock, tip, let_out=outs, current=current, bed=bottom, longest_step=STEP
    )
    clear = np.where(np.isnan(passage.clearance), np.inf, passage.clearance)
    clear[where >= far[-1]] = np.inf  # past the end
    x, y = passage.nearest[:draws, :, 0], passage.nearest[:draws, :, 1]
    before = clear[:draws].copy()
    clear[:draws] -= _bed_errors(bed, x, y, clear[:draws], seed + 3)
    found = []
    for begin in parts:
        own = _of(np.where(where < begin, np.inf, clear), where, passage.nearest, draws)
        at = np.abs(where[:draws] - own.worst_at).argmin(axis=1)
        there = before[np.arange(draws), at]
        side = _aside(passage.nearest, where, own.worst_at, at)
        sd = float(bed.sample(np.array([own.worst[0]]), np.array([own.worst[1]]))[0, 3])
        found.append(replace(own, doubts=_doubts(there, side, pace[:draws], sd)))
    return found


def _of(clear: Array, where: Array, nearest: Array, draws: int) -> BottomRisk:
    """Sum up: clearance (rows, m) and where the boat was then, versions first."""
    drawn = clear[:draws]
    least = drawn.min(axis=1)
    bins = (where[:draws] / BIN).astype(int)
    hit = np.zeros((draws, int(bins.max()) + 1), bool)
    row, moment = np.nonzero(drawn < 0.0)
    hit[row, bins[row, moment]] = True
    if row.size:
        chance = hit.mean(axis=0)
        b = int(chance.argmax())
        at, there = (b + 0.5) * BIN, float(chance[b])
        spot = nearest[:draws][(drawn < 0.0) & (bins == b)][:, :2].mean(axis=0)
    else:
        k = int(least.argmin())
        i = int(drawn[k].argmin())
        at, there, spot = float(where[k, i]), 0.0, nearest[k, i, :2]
    low, middle, high = np.quantile(least, [0.05, 0.5, 0.95])
    return BottomRisk(
        float((least < 0.0).mean()),
        (float(low), float(middle), float(high)),
        (float(spot[0]), float(spot[1])),
        there,
        at,
        float(clear[draws : draws + len(CORNERS)].min()),
        float(clear[-1].min()),
        draws,
        least,
        {},
    )


def _aside(nearest: Array, where: Array, along: float, at: npt.NDArray[np.intp]) -> Array:
    """Give how far each version's nearest point is to port of the best estimate's there [m]."""
    best = int(np.abs(where[-1] - along).argmin())
    before, after = max(best - 3, 0), min(best + 3, where.shape[1] - 1)
    tx, ty = nearest[-1, after, :2] - nearest[-1, before, :2]
    size = max(float(np.hypot(tx, ty)), 1e-9)
    dx, dy = (nearest[np.arange(len(at)), at, :2] - nearest[-1, best, :2]).T
    return np.asarray((dy * tx - dx * ty) / size)


def _doubts(there: Array, side: Array, pace: Array, bed_sd: float) -> dict[str, float]:
    """Share the spread of clearances at one place out among what was drawn, by least squares."""
    known = np.isfinite(there)
    doubts = {"line": 0.0, "bottom": HALF_OF_90 * bed_sd, "steering": 0.0, "speed": 0.0}
    if np.count_nonzero(known) < 8:
        return doubts
    there, side, pace = there[known], side[known], pace[known]
    # on an edge it matters to which side she is off, over a ridge only how far
    columns = np.column_stack([np.ones(len(there)), side, np.abs(side), pace])
    found, *_ = np.linalg.lstsq(columns, there, rcond=None)
    doubts["steering"] = HALF_OF_90 * float(np.std(columns[:, 1:3] @ found[1:3]))
    doubts["speed"] = HALF_OF_90 * float(np.std(columns[:, 3] * found[3]))
    doubts["line"] = HALF_OF_90 * float(np.std(there - columns @ found))
    return doubts


def _versions(tow: Tow, draws: int, seed: int) -> list[Tow]:
    """Give the drawn versions of a tow, then the tow itself for each corner and for the best."""
    drawn = draw(tow, draws, seed)
    scale = drawn.let_out_scale if drawn.let_out_scale.size else np.ones(draws)
    plain = replace(tow, learnt=None)
    own = [
        replace(
            plain,
            pieces=drawn.pieces[k],
            lure=drawn.lures[k],
            counter_factor=tow.counter_factor * float(scale[k]),
        )
        for k in range(draws)
    ]
    return own + [plain] * (len(CORNERS) + 1)


def _wander(far: Array, draws: int, seed: int) -> Array:
    """Draw smooth wanderings of standard deviation 1 along a way, (draws, m)."""
    rng = np.random.Generator(np.random.PCG64(seed))
    wave = rng.normal(0.0, 1.0 / WANDER, (draws, WAVES))
    phase = rng.uniform(0.0, 2.0 * np.pi, (draws, WAVES))
    # its shortest waves are some 100 m long: between points far closer it goes straight
    places = np.linspace(far[0], far[-1], max(int(np.ptp(far) / (WANDER / 12.0)), 1) + 1)
    total = np.zeros((draws, len(places)))
    for k in range(WAVES):
        total += np.cos(places * wave[:, k : k + 1] + phase[:, k : k + 1])
    total *= np.sqrt(2.0 / WAVES)
    return np.stack([np.interp(far, places, each) for each in total])


def _driven(
    path: Array, far: Array, time: Array, out: Array, swing: Array, faster: float, clock: Array
) -> tuple[Array, Array, Array]:
    """Give one version's boat (m, 4), line out, and distance along the way, moment by moment."""
    pace = np.maximum(path[:, 3] + faster, 0.1)
    own = np.concatenate(
        [[0.0], np.cumsum(np.diff(time) * 2.0 * path[:-1, 3] / (pace[1:] + pace[:-1]))]
    )
    at = np.interp(clock, own, far)
    beyond = np.maximum(clock - own[-1], 0.0) * pace[-1]
    x, y = (np.interp(at, far, path[:, c]) for c in (0, 1))
    course = np.interp(at, far, path[:, 2])
    side = np.interp(at, far, swing)
    x, y = x - side * np.cos(course), y + side * np.sin(course)
    x, y = x + beyond * np.sin(course), y + beyond * np.cos(course)
    way = np.column_stack([x, y, course, np.interp(at, far, pace)])
    return way, np.maximum(np.interp(at, far, out), SHORTEST + 1.0), at


def _moved(state: State, tip: Array) -> State:
    """Put each settled line under its own rod tip."""
    used = np.arange(state.place.shape[1]) < state.count[:, None]
    place = state.place + np.where(used[..., None], (tip - state.tip)[:, None, :], 0.0)
    return replace(state, place=place)


def _bed_errors(bed: LakeBed, x: Array, y: Array, clear: Array, seed: int) -> Array:
    """Draw how much shallower than the bed the bottom is, under points of each version [m].

    A Gaussian field over the lake for each version, made of waves (random Fourier features), of
    the bed's standard error; 0 where no likely error makes the clearance the version's least, or
    a bottom hit.

    References
    ----------
    Rahimi & Recht (2007), Advances in Neural Information Processing Systems 20.
    """
    draws = len(x)
    patch = max(PATCH * float(bed.facts.get("between_runs_m") or 20.0), 2.0 * bed.frame.cell)
    rng = np.random.Generator(np.random.PCG64(seed))
    kx, ky = rng.normal(0.0, 1.0 / patch, (2, draws, WAVES))
    phase = rng.uniform(0.0, 2.0 * np.pi, (draws, WAVES))
    sd = np.zeros(x.shape)
    known = np.isfinite(clear)
    sd[known] = bed.sample(x[known], y[known])[:, 3]
    most = np.maximum((clear + LARGEST * sd).min(axis=1), 0.0)
    rows, moments = np.nonzero(known & (clear - LARGEST * sd <= most[:, None]))
    px, py = x[rows, moments], y[rows, moments]
    field = np.zeros(len(rows))
    for k in range(WAVES):
        field += np.cos(kx[rows, k] * px + ky[rows, k] * py + phase[rows, k])
    errors = np.zeros(x.shape)
    errors[rows, moments] = np.sqrt(2.0 / WAVES) * field * sd[rows, moments]
    return errors
