"""Cross-validation by whole survey runs: how wrong the bed is where nobody sounded.

From the left-out runs come the surface's two constants, the standard error at every place, and the
proof that the error is honest. Since a left-out run is never far from its neighbours, whole discs
are left out too: they teach how the error grows in the wide gaps.

A left-out sounding differs from the bed by sd with

    sd^2 = noise^2 + (shift * slope)^2 + spread^2 * (1 - exp(-(rate * distance / spread)^2))

slope being the bed's and distance that to the nearest sounding used: an echo's own noise, a
misplaced fix on a slope, and what the bottom may do between soundings, which grows in proportion
to the distance at first and ends at the lake's own relief.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import scipy

from towscope.arrays import Array
from towscope.bed import layout
from towscope.bed.gridding import Frame, Plate, at, gather, means, surface
from towscope.bed.multigrid import raise_grid
from towscope.bed.survey_runs import Labels, folds, runs
from towscope.constants import HALF_OF_90
from towscope.progress import Detail

TRIAL_NODES = 30_000
TRIAL_TOLERANCE = 0.01  # [m]
MOST_FOLDS = 8
MANY = 10_000
MOST_JUDGED = 2_000  # of each hand
DISC_HANDS = 3
NEAR = 1.5  # times the soundings' own noise: so far may the surface miss them
FIRM = 0.25  # of the least length: stiffer is never asked for to come near them
FREEDOM = 4.0  # Student's t: sounder errors have long tails, and a few must not set the scale


@dataclass(frozen=True)
class ErrorModel:
    """How the bed's standard error follows from the slope and the distance to a sounding.

    Attributes
    ----------
    noise : float
        Scatter of an echo on a level bottom [m].
    shift : float
        Misplacement, as it shows on a slope [m].
    rate : float
        Growth of the error with distance from the nearest sounding [m/m].
    spread : float
        The most it grows to [m].
    """

    noise: float
    shift: float
    rate: float
    spread: float

    def sd(self, slope: Array, distance: Array) -> Array:
        """Give the standard error [m].

        Parameters
        ----------
        slope : array
            Slope of the bed [m/m].
        distance : array
            To the nearest sounding [m].
        """
        far = self.spread**2 * -np.expm1(-((self.rate * distance / self.spread) ** 2))
        return np.asarray(np.sqrt(self.noise**2 + (self.shift * slope) ** 2 + far))


@dataclass(frozen=True)
class LeftOut:
    """What was left out and what the bed said there.

    Attributes
    ----------
    error : (n,) array
        Bed less sounding [m].
    slope : (n,) array
        The bed's slope there [m/m].
    distance : (n,) array
        To the nearest sounding used [m].
    fold : (n,) array of int
        With which runs it was left out.
    """

    error: Array
    slope: Array
    distance: Array
    fold: Labels

    @property
    def rmse(self) -> float:
        """Root mean square error [m]."""
        return float(np.sqrt(np.mean(self.error**2)))

    @property
    def mae(self) -> float:
        """Mean absolute error [m]."""
        return float(np.mean(np.abs(self.error)))


@dataclass(frozen=True)
class Trial:
    """What the left-out runs taught.

    Attributes
    ----------
    plate : Plate
        The surface's constants.
    errors : ErrorModel
        The standard error.
    rmse, mae : float
        Error at left-out soundings [m].
    coverage : float
        Share of left-out soundings inside the 90 % band, each judged by a band fitted without it.
    judged : int
        Left-out soundings.
    runs : int
        Runs in the log.
    tried : tuple
        Each pair of constants tried, and its root mean square error [m].
    """

    plate: Plate
    errors: ErrorModel
    rmse: float
    mae: float
    coverage: float
    judged: int
    runs: int
    tried: tuple[tuple[Plate, float], ...]


@dataclass(frozen=True)
class Thinned:
    """Soundings gathered for trials: one weighted mean for each node and hand.

    A million soundings on a trial grid say little more than their means do, and the means are
    few. What is left out is judged sounding by sounding, on a random share where there are many.

    Attributes
    ----------
    x, y, z, weight : (m,) array
        Means [m] and how many soundings each stands for.
    hand : (m,) array of int
        The hand each belongs to; -1 is always used.
    judged : list of (k, 3) arrays
        For each hand the soundings it is judged by: x, y, depth [m].
    """

    x: Array
    y: Array
    z: Array
    weight: Array
    hand: Labels
    judged: list[Array]


def thin(
    x: Array,
    y: Array,
    z: Array,
    hands: list[Labels],
    frame: Frame,
    fixed: Array | None = None,
    most: int = MOST_JUDGED,
) -> Thinned:
    """Gather soundings for trials on a grid.

    Parameters
    ----------
    x, y, z : (n,) array
        Soundings [m].
    hands : list of (k,) arrays of int
        The soundings to be left out together.
    frame : Frame
        Grid of the trials.
    fixed : (m, 3) array, optional
        Points that are always used, such as the shoreline: x, y, depth [m].
    most : int
        Most soundings by which one hand is judged.
    """
    rng = np.random.default_rng(0)
    hand = np.full(x.size, -1)
    judged = []
    for k, mine in enumerate(hands):
        hand[mine] = k
        some = rng.choice(mine, most, replace=False) if mine.size > most else mine
        judged.append(np.column_stack([x[some], y[some], z[some]]))
    columns, number = [], []
    for k in range(-1, len(hands)):
        mine = hand == k
        if mine.any():
            columns.append(means(gather(x[mine], y[mine], z[mine], frame), frame))
            number.append(np.full(columns[-1].shape[0], k))
    if fixed is not None and fixed.size:
        columns.append(np.column_stack([fixed, np.ones(len(fixed))]))
        number.append(np.full(len(fixed), -1))
    table = np.concatenate(columns)
    px, py, pz, weight = (table[:, c].copy() for c in range(4))
    return Thinned(px, py, pz, weight, np.concatenate(number), judged)


def leave_out(thinned: Thinned, frame: Frame, plate: Plate, start: Array | None = None) -> LeftOut:
    """Leave each hand of runs out in turn.

    Parameters
    ----------
    thinned : Thinned
        The soundings.
    frame : Frame
        Grid of the trial beds.
    plate : Plate
        The surface's constants.
    start : (rows, columns) array, optional
        A first guess at the bed [m].

    Returns
    -------
    LeftOut
        The errors.
    """
    t = thinned
    whole = surface(
        t.x, t.y, t.z, frame, plate, weight=t.weight, start=start, tolerance=TRIAL_TOLERANCE
    )

    def one(k: int) -> tuple[Array, Array, Array, Labels]:
        use = t.hand != k
        x, y = t.x[use], t.y[use]
        bed = surface(
            x, y, t.z[use], frame, plate, weight=t.weight[use], start=whole,
            tolerance=TRIAL_TOLERANCE,
        )  # fmt: skip
        px, py, pz = (np.ascontiguousarray(c) for c in t.judged[k].T)
        slope = at(slopes(bed, frame.cell), frame, px, py)
        far = at(distances(x, y, frame), frame, px, py)
        return at(bed, frame, px, py) - pz, slope, far, np.full(px.size, k)

    # The kernels let go of the interpreter, so the hands run side by side.
    with ThreadPoolExecutor(min(4, os.cpu_count() or 1)) as pool:
        parts = list(pool.map(one, range(len(t.judged))))
    error, slope, far, fold = (np.concatenate(each) for each in zip(*parts, strict=True))
    return LeftOut(error, np.maximum(slope, 0.0), np.maximum(far, 0.0), fold.astype(np.int64))


def slopes(bed: Array, cell: float) -> Array:
    """Give the slope of a gridded bed [m/m]."""
    north, east = np.gradient(bed, cell)
    return np.asarray(np.hypot(east, north))


def distances(x: Array, y: Array, frame: Frame) -> Array:
    """Give each node's distance to the nearest node with a sounding [m].

    On large grids it is found at every second node: nobody's depth hangs on half a cell.
    """
    if frame.rows * frame.columns > 1_000_000:
        fine = np.empty(frame.shape)
        raise_grid(distances(x, y, frame.coarser()), fine, False)
        return np.maximum(fine, 0.0)
    empty = gather(x, y, np.zeros(x.size), frame)[0] == 0.0
    return np.asarray(scipy.ndimage.distance_transform_edt(empty, sampling=frame.cell))


def fit_errors(left: LeftOut, relief: float, discs: LeftOut | None = None) -> ErrorModel:
    """Fit the error model to left-out soundings, scaled so that its 90 % band holds 90 % of them.

    Parameters
    ----------
    left : LeftOut
        The left-out runs.
    relief : float
        Standard deviation of the soundings' depths [m]: as wrong as a guess can be.
    discs : LeftOut, optional
        Left-out discs, far from any sounding used.

    Returns
    -------
    ErrorModel
        The model.
    """
    spread = max(relief, 0.05)
    both = left if discs is None else _joined(left, discs)
    typical = max(float(np.median(np.abs(both.error))), 1e-3)
    middle = max(float(np.median(both.distance)), 1e-3)

    def model(log: Array) -> ErrorModel:
        a, b, c = np.exp(np.clip(log, -12.0, 6.0))
        return ErrorModel(float(a), float(b), float(c), spread)

    def cost(log: Array) -> float:
        sd = model(log).sd(both.slope, both.distance)
        t = (both.error / sd) ** 2
        return float(np.mean(np.log(sd) + 0.5 * (FREEDOM + 1.0) * np.log1p(t / FREEDOM)))

    start = np.log([typical, typical, typical / middle])
    best = scipy.optimize.minimize(
        cost, start, method="Nelder-Mead", options={"maxiter": 400, "xatol": 0.02, "fatol": 1e-5}
    )
    raw = model(best.x)
    scale = _over(left, raw)
    fitted = ErrorModel(raw.noise * scale, raw.shift * scale, raw.rate * scale, spread)
    if discs is not None:
        far = discs.distance >= np.median(discs.distance)
        remote = _part(discs, far)
        for _ in range(8):
            lack = _over(remote, fitted)
            if lack > 1.0:  # only ever upward
                fitted = replace(fitted, rate=fitted.rate * min(lack, 1.5))
            # What the gaps claim for the distance, the runs need no more for noise and slope.
            least = 0.5 * raw.noise * scale / fitted.noise
            excess = float(np.clip(_over(left, fitted), max(0.7, least), 1.4))
            fitted = replace(fitted, noise=fitted.noise * excess, shift=fitted.shift * excess)
    return fitted


def _part(left: LeftOut, keep: npt.NDArray[np.bool_]) -> LeftOut:
    return LeftOut(left.error[keep], left.slope[keep], left.distance[keep], left.fold[keep])


def _over(left: LeftOut, errors: ErrorModel) -> float:
    """Give how much wider the 90 % band must be to hold 90 %."""
    ratio = np.abs(left.error) / errors.sd(left.slope, left.distance)
    return float(np.quantile(ratio, 0.9)) / HALF_OF_90


def _joined(a: LeftOut, b: LeftOut) -> LeftOut:
    return LeftOut(
        np.concatenate([a.error, b.error]),
        np.concatenate([a.slope, b.slope]),
        np.concatenate([a.distance, b.distance]),
        np.concatenate([a.fold, b.fold]),
    )


def _leave_discs(thinned: Thinned, frame: Frame, plate: Plate, between: float) -> LeftOut | None:
    """Leave out scattered discs, two to four times as wide as the runs are apart."""
    rng = np.random.default_rng(2)
    all_judged = np.concatenate(thinned.judged)
    hand = np.full(thinned.x.size, -1)
    judged = []
    for k in range(DISC_HANDS):
        out = np.zeros(thinned.x.size, bool)
        wrong = np.zeros(len(all_judged), bool)
        for _ in range(100):
            if np.count_nonzero(out) > 0.1 * out.size:
                break
            at_x, at_y = all_judged[int(rng.integers(len(all_judged))), :2]
            near = (between * rng.uniform(2.0, 4.0)) ** 2
            disc = (thinned.x - at_x) ** 2 + (thinned.y - at_y) ** 2 < near
            disc &= hand == -1  # a mean may be left out with one hand only
            if np.count_nonzero(disc | out) < 0.3 * out.size:
                out |= disc
                wrong |= (all_judged[:, 0] - at_x) ** 2 + (all_judged[:, 1] - at_y) ** 2 < near
        hand[out] = k
        judged.append(all_judged[wrong][:MOST_JUDGED])
    if not sum(len(j) for j in judged):
        return None
    return leave_out(replace(thinned, hand=hand, judged=judged), frame, plate)


def covered(left: LeftOut, relief: float, discs: LeftOut | None = None) -> float:
    """Give the share inside the 90 % band, each fold judged by a band fitted to the other folds."""
    inside = 0
    for k in np.unique(left.fold):
        mine = left.fold == k
        if mine.all():
            errors = fit_errors(left, relief, discs)
        else:
            rest = ~mine
            errors = fit_errors(
                _part(left, rest),
                relief,
                discs,
            )
        sd = errors.sd(left.slope[mine], left.distance[mine])
        inside += int(np.count_nonzero(np.abs(left.error[mine]) <= HALF_OF_90 * sd))
    return inside / left.error.size


def spacing(x: Array, y: Array) -> tuple[float, float]:
    """Give the distance between soundings along a run, and between runs, as they mostly are [m].

    The second is the sounded area over the length driven.
    """
    step = np.hypot(np.diff(x), np.diff(y))
    moved = step[step > 0.0]
    if not moved.size:
        return 1.0, 1.0
    along = max(float(np.median(moved)), 0.05)
    wide, high = float(np.ptp(x)), float(np.ptp(y))
    size = max(wide, high) / 200.0 + 1e-9
    cells = np.unique(
        np.floor((x - x.min()) / size).astype(np.int64) * 100_000
        + np.floor((y - y.min()) / size).astype(np.int64)
    )
    i, j = cells // 100_000, cells % 100_000
    grid = np.zeros((int(i.max()) + 40, int(j.max()) + 40), bool)
    grid[i + 20, j + 20] = True
    closed = scipy.ndimage.distance_transform_edt(~grid) <= 12
    closed = scipy.ndimage.binary_fill_holes(closed)
    area = np.count_nonzero(scipy.ndimage.distance_transform_edt(closed) > 12) * size**2
    length = float(moved[moved < 6.0 * max(along, size / 6.0)].sum())
    between = area / length if length > 0.0 else along
    return along, float(np.clip(between, along, max(wide, high, along)))


def noise(x: Array, y: Array, z: Array, along: float, between: float) -> float:
    """Give how far neighbouring soundings differ for no reason of the bottom, at the most [m].

    Parameters
    ----------
    x, y, z : (n,) array
        Soundings [m].
    along, between : float
        How far they are apart along runs and between runs [m].
    """
    if x.size > 4 * MANY:
        some = np.random.default_rng(3).choice(x.size, 4 * MANY, replace=False)
        x, y, z = x[some], y[some], z[some]
    points = np.column_stack([x, y])
    near, which = layout.neighbours(points, points, 2)
    close = near[:, 1] < max(0.3 * between, 1.0)
    at_least = 0.1 + 0.01 * float(np.median(np.abs(z)))
    if along > 0.3 * between or np.count_nonzero(close) < 20:
        return at_least  # too far apart to tell noise from bottom
    differ = np.abs(z - z[which[:, 1]])[close]
    return max(float(np.median(differ)) / 0.9539, at_least)  # median |difference| of two normals


def _missed(t: Thinned, grid: Frame, stiffness: float, reach: float) -> float:
    """Give how far a surface misses the soundings that it is laid through, rms [m]."""
    bed = surface(
        t.x, t.y, t.z, grid, Plate(stiffness, reach), weight=t.weight, tolerance=TRIAL_TOLERANCE
    )
    off = at(bed, grid, t.x, t.y) - t.z
    real = t.hand >= 0 if (t.hand >= 0).any() else np.ones(off.size, bool)
    return float(np.sqrt(np.average(off[real] ** 2, weights=t.weight[real])))


def try_out(
    x: Array,
    y: Array,
    z: Array,
    frame: Frame,
    *,
    run: Labels | None = None,
    fixed: Array | None = None,
    most_folds: int | None = None,
    ordered: bool = True,
    apart: tuple[float, float] | None = None,
    detail: Detail | None = None,
) -> Trial:
    """Choose the surface's constants by left-out runs and fit its standard error.

    Parameters
    ----------
    x, y, z : (n,) array
        Soundings in the order they were made [m], or in any order.
    frame : Frame
        The grid the bed will have; the trials use a coarser one of about 30,000 nodes.
    run : (n,) array of int, optional
        The run of each sounding; found from the turns where not given.
    fixed : (m, 3) array, optional
        Points always used.
    most_folds : int, optional
        In how many hands the runs are left out; fewer where the soundings are many.
    ordered : bool
        Whether the order is the one they were made in; if not, square patches are left out, twice
        as wide as lines of soundings are apart, in place of runs.
    apart : tuple of float, optional
        Distance between soundings along a run and between runs [m], where measured before.
    detail : callable, optional
        Called with a line on what is being done.

    Returns
    -------
    Trial
        The constants, the standard error, and the figures they were judged by.
    """
    along, between = apart or (spacing(x, y) if ordered else layout.spacing(x, y))
    if run is None:
        run = runs(x, y) if ordered else layout.patches(x, y, 2.0 * between)
    most = most_folds or (MOST_FOLDS if x.size < MANY else MOST_FOLDS // 2)
    hands = folds(run, most, least=None if ordered else 1)
    grid = frame
    while grid.rows * grid.columns > 2 * TRIAL_NODES:
        grid = grid.coarser()
    relief = float(np.std(z))
    thinned = thin(x, y, z, hands, grid, fixed)
    tried: dict[tuple[float, float], LeftOut] = {}
    density = 1.0 / (along * between)

    def judge(length: float, reach: float) -> float:
        if (length, reach) not in tried:
            plate = Plate(density * length**4, reach)
            tried[length, reach] = leave_out(thinned, grid, plate)
            if detail is not None:
                detail(f"left-out error {tried[length, reach].rmse:.3f} m")
        return tried[length, reach].rmse

    least = 0.5 * max(along, 0.5 * grid.cell)
    length, reach = 2.0 * least, 4.0 * between

    def close() -> None:
        """Let the surface come as near to the soundings as they are sure themselves."""
        nonlocal length
        limit = NEAR * noise(x, y, z, along, between)
        while length > FIRM * least and _missed(thinned, grid, density * length**4, reach) > limit:
            length /= 2.0**0.5

    if hands:
        length = _downhill(lambda v: judge(v, reach), length, least / 2.0, 4.0 * between)
        reach = _downhill(lambda v: judge(length, v), reach, between / 2.0, 64.0 * between)
        length = _downhill(
            lambda v: judge(v, reach), length, least / 2.0, 4.0 * between, ratio=2.0**0.5
        )
        close()
        judge(length, reach)
        left = tried[length, reach]
        rmse, mae, judged = left.rmse, left.mae, left.error.size
        plate = Plate(density * length**4, reach)
        discs = _leave_discs(thinned, grid, plate, between)
        errors = fit_errors(left, relief, discs)
        coverage = covered(left, relief, discs)
    else:  # too few soundings to leave any out: the error is a guess, and wide
        close()
        errors = ErrorModel(0.3, 2.0, 0.2, max(relief, 1.0))
        coverage, rmse, mae, judged = np.nan, np.nan, np.nan, 0
    return Trial(
        Plate(density * length**4, reach),
        errors,
        rmse,
        mae,
        coverage,
        judged,
        int(run.max()) + 1,
        tuple((Plate(density * a**4, b), left.rmse) for (a, b), left in tried.items()),
    )


def _downhill(
    cost: Callable[[float], float], start: float, low: float, high: float, ratio: float = 2.0
) -> float:
    """Walk by factors from the start to where the cost is least nearby."""
    best, value = start, cost(start)
    for factor in (ratio, 1.0 / ratio):
        moved = False
        while low <= best * factor <= high:
            there = cost(best * factor)
            if there >= value * (1.0 - 1e-3):
                break
            best, value, moved = best * factor, there, True
        if moved:
            break
    return best
