"""The picture of the run put together from boat, ground and lines."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np

from towscope.arrays import Array
from towscope.constants import ABOVE_NINE_IN_TEN, HALF_OF_90
from towscope.geodesy import LevelFrame
from towscope.live.advice import Advice, chance_low
from towscope.live.follower import Seen
from towscope.live.ground import BottomAbout
from towscope.live.lines_out import Out
from towscope.live.models import Ahead, Bottom, Change, LineNow, Notice
from towscope.live.wake import Wake
from towscope.tackle.counting import count
from towscope.towing.lookahead import Boat

AHEAD_M: Final = 30.0  # [m]; shown ahead beyond where the boat comes to in two minutes
BEHIND_M: Final = 30.0  # [m]; shown behind the lure that runs farthest back
BOTTOM_POINTS: Final = 140
SHAPE_POINTS: Final = 24
AHEAD_EVERY: Final = 4  # of the seconds ahead, every fourth is told
SOON: Final = 120.0  # [s]
MAY_SOON: Final = (
    60.0  # [s]; a bottom hit that only may come is not told of earlier: too many would be
)


def known(values: Array, decimals: int = 2) -> list[float | None]:
    """Give figures for the page, None where there is none."""
    return [None if math.isnan(v) else round(float(v), decimals) for v in values]


def figures(values: Array, decimals: int = 2) -> list[float]:
    """Give figures for the page."""
    return [round(float(v), decimals) for v in values]


def bottom(wake: Wake, ground: BottomAbout, boat: Boat, layback: float) -> Bottom:
    """Give the bottom along the wake and straight on.

    Parameters
    ----------
    wake, ground, boat
        The boat's wake, the bottom, the boat now.
    layback : float
        How far back the farthest lure runs [m].
    """
    back, front = layback + BEHIND_M, boat.speed * SOON + AHEAD_M
    step = (back + front) / BOTTOM_POINTS
    along, x, y = wake.behind(boat, back, step)
    on = np.arange(step, front + step, step)
    along = np.concatenate([along[::-1], on])
    x = np.concatenate([x[::-1], boat.x + on * math.sin(boat.course)])
    y = np.concatenate([y[::-1], boat.y + on * math.cos(boat.course)])
    depth, sd = ground.depth(x, y)
    return Bottom(along_m=figures(along, 1), depth_m=known(depth), sd_m=known(sd))


def line(
    out: Out,
    seen: Seen,
    wake: Wake,
    frame: LevelFrame,
    ground: BottomAbout,
    boat: Boat,
    towed_at: float,
    wanted: float | None,
    advice: Advice,
) -> tuple[LineNow, Notice | None]:
    """Give one line's part of the picture, and the bottom hit that it is coming to, if any.

    Parameters
    ----------
    out, seen
        The line, and where it is.
    wake, ground, boat
        As `bottom` takes them.
    frame : LevelFrame
        What turns metres into places.
    towed_at : float
        Speed through the water [m/s].
    wanted : float or None
        Depth that the crew wants it at [m].
    advice : Advice
        The steady engine's answers.
    """
    x, y, z = (float(v) for v in seen.lure)
    back = math.dist((x, y), (boat.x, boat.y)) + 20.0
    shape = _thinned(seen.shape)
    along, side = wake.place_along(boat, shape[:, 0], shape[:, 1], back)
    depth_there, sd_there = ground.depth(seen.ahead.lure[0, :, 0], seen.ahead.lure[0, :, 1])
    later = seen.ahead
    clearance = later.clearance[0]
    if np.isnan(clearance).all():  # no bed: what the sounder heard where the lure comes
        clearance = depth_there - later.depth[0]
    doubt = np.nan_to_num(sd_there)
    low = chance_low(clearance, later.depth[0], seen.high_ahead, doubt, HALF_OF_90)
    every = slice(None, None, AHEAD_EVERY)
    lat, lon = frame.to_globe(later.lure[0, every, 0], later.lure[0, every, 1])
    since = later.time - later.time[0]
    ahead_along = _along_ahead(along[0], boat, later.lure[0], since)
    now = LineNow(
        rod=out.span.rod,
        rig=out.span.rig,
        lure=out.span.lure,
        colour=out.span.colour,
        size_m=out.span.size_m,
        let_out_m=round(seen.let_out, 2),
        colors_out=None if out.colors is None else round(out.colors, 2),
        side_m=round(float(side[0]), 2),
        along_m=round(float(along[0]), 2),
        depth_m=round(-z, 3),
        depth_90_m=(round(seen.low, 2), round(seen.high, 2)),
        settled_depth_m=round(advice.settled_depth(out.tow, out.let_out, towed_at), 2),
        bottom_m=known(depth_there[:1])[0],
        off_bottom_m=known(clearance[:1])[0],
        off_bottom_low_m=known(low[:1])[0],
        tension_n=round(seen.tension, 2),
        shape=[
            (round(float(a), 1), round(float(-d), 2))
            for a, d in zip(along, shape[:, 2], strict=True)
        ],
        target_m=wanted,
        change=(
            None
            if wanted is None
            else in_colors(advice.change(out.tow, seen.let_out, towed_at, wanted), out)
        ),
        lat=round(float(lat[0]), 7),
        lon=round(float(lon[0]), 7),
        ahead=Ahead(
            time_s=figures(since[every], 1),
            along_m=figures(ahead_along[every], 1),
            depth_m=figures(later.depth[0, every]),
            low_m=figures(seen.low_ahead[every]),
            high_m=figures(seen.high_ahead[every]),
            bottom_m=known(depth_there[every]),
            lat=figures(lat, 7),
            lon=figures(lon, 7),
        ),
        calibrated=out.tow.learnt is not None,
    )
    chancy = chance_low(clearance, later.depth[0], seen.high_ahead, doubt, ABOVE_NINE_IN_TEN)
    return now, _touch(out.span.rod, since, clearance, chancy)


def in_colors(change: Change, out: Out) -> Change:
    """Say in colours too what is to be out then, for those who count them.

    Parameters
    ----------
    change : Change
        What to do.
    out : Out
        The line.
    """
    if out.colors is None or change.let_out_m is None:
        return change
    then = count(out.tow, change.let_out_m * out.tow.counter_factor).colors
    return change.model_copy(update={"colors_out": None if then is None else round(then, 2)})


def _touch(rod: str, since: Array, clearance: Array, chancy: Array) -> Notice | None:
    for sure, series, soon in (
        ("will hit bottom", clearance, SOON),
        ("may hit bottom", chancy, MAY_SOON),
    ):
        # NaN, where the bottom is not known, is no touch
        hits = np.flatnonzero((series <= 0.0) & (since <= soon))
        if hits.size:
            return Notice(
                rod=rod,
                sure=sure,  # type: ignore[arg-type]
                seconds=round(float(since[hits[0]]), 1),
                off_bottom_m=round(float(np.nanmin(series)), 2),
            )
    return None


def _thinned(shape: Array) -> Array:
    """Give enough nodes to draw the line by, its ends among them."""
    if len(shape) <= SHAPE_POINTS:
        return shape
    chosen = np.linspace(0, len(shape) - 1, SHAPE_POINTS).round().astype(int)
    return np.asarray(shape[chosen])


def _along_ahead(now: float, boat: Boat, lure: Array, since: Array) -> Array:
    """Place what is coming along the same way: the lure comes on as fast as it moves."""
    moved = np.hypot(np.diff(lure[:, 0]), np.diff(lure[:, 1]))
    return np.asarray(now + np.concatenate([[0.0], np.cumsum(moved)]))


def farthest(seen: Sequence[Seen], boat: Boat) -> float:
    """Give how far back the farthest lure runs [m]."""
    return max((math.dist(s.lure[:2], (boat.x, boat.y)) for s in seen), default=0.0)
