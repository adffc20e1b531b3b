"""The invented lake Long Slate by rule: its true bottom, and sounder logs made over it.

Long Slate is nobody's lake. It has what trollers look for: a shelf, a steep northern and an easy
southern break, humps, points, inside turns, a flat, a saddle between two basins. Its log has what
real logs have: fixes that wander, echoes that scatter, spikes, lost bottom, a gap, stray rows.
"""

from __future__ import annotations

import io
from datetime import UTC, datetime, timedelta

import numpy as np
import numpy.typing as npt

from towscope.arrays import Array
from towscope.constants import FOOT
from towscope.geodesy import Place

NAME = "Long Slate"
PLACE = Place(48.4, -91.9)
SEED = 1907
# Tops of the humps: east, north [m], how far they rise [m], half-width along and across [m], turn.
HUMPS = (
    (-760.0, 40.0, 11.0, 95.0, 55.0, 0.4),
    (-150.0, -60.0, 7.5, 60.0, 60.0, 0.0),
    (520.0, 90.0, 10.0, 130.0, 50.0, -0.5),
    (1060.0, 20.0, 6.0, 55.0, 45.0, 0.2),
)
# Points (out over the deep, positive) and inside turns of the break: east, how far, half-width [m],
# and the side: 1 north, -1 south.
POINTS = (
    (-1120.0, 75.0, 42.0, -1),
    (-640.0, 95.0, 45.0, -1),
    (-330.0, 62.0, 34.0, 1),
    (-210.0, -38.0, 36.0, 1),
    (240.0, 85.0, 38.0, -1),
    (420.0, -75.0, 50.0, -1),
    (1010.0, 58.0, 30.0, 1),
)


def middle(x: Array) -> Array:
    """Give the lake's middle line: how far north it lies at x [m]."""
    return np.asarray(110.0 * np.sin(x / 520.0))


def half_width(x: Array) -> Array:
    """Give half the lake's width at x [m]; negative beyond its ends."""
    body = 1.0 - (np.abs(x) / 1700.0) ** 3
    shape = 1.0 + 0.13 * np.sin(x / 165.0) + 0.07 * np.sin(x / 71.0 + 1.3)
    return np.asarray(430.0 * np.sign(body) * np.sqrt(np.abs(body)) * shape)


def _step(v: Array) -> Array:
    return 0.5 * (1.0 + np.tanh(v))


def true_depth(x: npt.ArrayLike, y: npt.ArrayLike) -> Array:
    """Give Long Slate's true depth.

    Parameters
    ----------
    x, y : array
        Points in the lake's metres, from `PLACE` [m].

    Returns
    -------
    array
        Depth [m]; negative ashore.
    """
    x, y = np.asarray(x, float), np.asarray(y, float)
    across = y - middle(x)
    shore = half_width(x) - np.abs(across)  # distance to the shore, nearly
    north = _step(across / 60.0)
    shelf = 45.0 + 75.0 * (1.0 - north) + 22.0 * np.sin(x / 120.0) + 12.0 * np.sin(x / 47.0)
    for east, out, wide, side in POINTS:
        here = north if side > 0 else 1.0 - north
        shelf = shelf + out * np.exp(-0.5 * ((x - east) / wide) ** 2) * here
    fall = 16.0 * north + 46.0 * (1.0 - north)
    basin = 15.0 + 6.0 * np.tanh((np.abs(x + 150.0) - 260.0) / 150.0) + 1.5 * np.sin(x / 300.0)
    rim = np.where(shore > 0.0, 4.8 * -np.expm1(-np.maximum(shore, 0.0) / 22.0), 0.22 * shore)
    deep = _step((shore - shelf - fall) / fall)
    depth = rim + (basin - 2.0) * deep
    for east, up, rise, long, wide, turn in HUMPS:
        u = (x - east) * np.cos(turn) + (y - up) * np.sin(turn)
        v = -(x - east) * np.sin(turn) + (y - up) * np.cos(turn)
        depth = depth - rise * np.exp(-0.5 * ((u / long) ** 2 + (v / wide) ** 2)) * deep
    return np.asarray(depth)


def shoreline() -> Array:
    """Give the shore as a closed ring: (n, 2) latitude, longitude [degrees]."""
    x = 1699.0 * np.sin(np.linspace(-0.5, 0.5, 600) * np.pi)
    w = half_width(x)
    ring_x = np.concatenate([x, x[::-1]])
    ring_y = np.concatenate([middle(x) + w, (middle(x) - w)[::-1]])
    lat, lon = PLACE.to_globe(ring_x, ring_y)
    return np.column_stack([lat, lon])


def tracks(spacing: float = 45.0, step: float = 2.0) -> list[tuple[Array, Array]]:
    """Give the runs of a survey as x, y [m]: across the lake, then along its edges.

    Parameters
    ----------
    spacing : float
        Between neighbouring runs across the lake [m].
    step : float
        Between soundings along a run [m].
    """
    runs: list[tuple[Array, Array]] = []
    for k, at in enumerate(np.arange(-1640.0, 1641.0, spacing)):
        if 250.0 < at < 420.0 and k % 4 != 0:
            continue  # the crew left a gap here
        w = float(half_width(np.array([at]))[0]) - 9.0
        if w < 15.0:
            continue
        t = np.arange(-w, w, step)
        if k % 2:
            t = t[::-1]
        lean = 0.18 * np.sin(0.7 * k)
        x = at + lean * t
        keep = np.abs(t) < half_width(x) - 9.0
        runs.append((x[keep], (middle(x) + t)[keep]))
    for share in (0.82, 0.62, -0.62, -0.82, 0.0):
        x = np.arange(-1560.0, 1560.0, step)
        runs.append((x, middle(x) + share * half_width(x)))
    return runs


def log_csv(spacing: float = 45.0, *, seed: int = SEED, clean: bool = False) -> str:
    """Give the crew's sounder log of Long Slate as CSV text: time, lat, lon, depth in feet.

    Parameters
    ----------
    spacing : float
        Between runs [m].
    seed : int
        Seed of everything that is random.
    clean : bool
        Leave out spikes, lost bottom and stray rows.

    Returns
    -------
    str
        The file's text.

    Examples
    --------
    >>> log_csv(200.0).splitlines()[0]
    'time,lat,lon,depth_ft'
    """
    rng = np.random.default_rng(seed)
    out = io.StringIO()
    out.write("time,lat,lon,depth_ft\n")
    now = datetime(2025, 8, 9, 11, 30, tzinfo=UTC)
    if not clean:  # where the sounder was switched on: the shed, 4 km off
        for k in range(4):
            lat, lon = PLACE.to_globe(-3900.0 + 2.0 * k, 2100.0)
            out.write(f"{now:%Y-%m-%dT%H:%M:%SZ},{float(lat):.6f},{float(lon):.6f},2.1\n")
            now += timedelta(seconds=1)
        now += timedelta(minutes=20)
    for x, y in tracks(spacing):
        if x.size < 5:
            continue
        wander = np.cumsum(rng.normal(0.0, 0.06, (2, x.size)), axis=1)
        wander -= wander.mean(axis=1, keepdims=True)
        wander = np.clip(wander + rng.normal(0.0, 0.5, (2, 1)), -2.5, 2.5)
        depth = np.maximum(true_depth(x, y), 0.35)
        depth = depth + rng.normal(0.0, 0.05 + 0.004 * depth)
        lat, lon = PLACE.to_globe(x + wander[0], y + wander[1])
        feet = np.round(depth / FOOT, 1)
        if not clean:
            bad = rng.random(x.size)
            feet = np.where(bad < 0.0012, 0.0, feet)
            feet = np.where(bad > 0.9988, np.round(feet * rng.uniform(1.6, 2.1, x.size), 1), feet)
        for k in range(x.size):
            out.write(f"{now:%Y-%m-%dT%H:%M:%SZ},{lat[k]:.6f},{lon[k]:.6f},{feet[k]:.1f}\n")
            now += timedelta(seconds=1)
        now += timedelta(seconds=40)
    return out.getvalue()
