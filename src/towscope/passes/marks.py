"""Places along a pass at which line, lure or helm change."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

import numpy as np

from towscope.arrays import Array
from towscope.passes.passes import Pass

if TYPE_CHECKING:
    from towscope.geodesy import Place
    from towscope.units import System

Kind = Literal["start", "line", "on edge", "off edge", "turn", "end"]
DIGITS: Final = 7  # of a degree: a centimetre


@dataclass(frozen=True)
class Mark:
    """One thing to do at one place.

    Attributes
    ----------
    far : float
        Distance the boat has run since the beginning of the pass [m].
    time : float
        Seconds since then.
    x, y : float
        Where the boat is [m].
    kind : str
        ``"line"``: have so much out from here on; ``"on edge"``, ``"off edge"``: the lure comes on
        the edge, leaves it.
    out : float
        Line to have out from here on, as read [m].
    speed : float
        Speed over ground [m/s].
    """

    far: float
    time: float
    x: float
    y: float
    kind: Kind
    out: float
    speed: float


def marks(each: Pass) -> list[Mark]:
    """Give what is to be done on a pass, in order; the way round is not among it."""
    trial = each.trial
    path, along = trial.path, trial.boat_u
    far = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(path[:, :2], axis=0).T))])
    time = trial.passage.time - trial.passage.time[0]
    out = trial.way.out

    def at(i: int, kind: Kind) -> Mark:
        value = float(out.on(along[i : i + 1])[0])
        x, y, _, speed = (float(v) for v in path[i])
        return Mark(float(far[i]), float(time[i]), x, y, kind, value, speed)

    found = [at(0, "start")]
    found += [
        at(min(int(np.searchsorted(along, u)), len(along) - 1), "line")
        for u in out.at[1:]
        if u > along[0]
    ]
    mine = np.flatnonzero(each.on_stretch)
    if mine.size:
        found += [at(int(mine[0]), "on edge"), at(int(mine[-1]), "off edge")]
    found.append(at(len(path) - 1, "turn" if each.link is not None else "end"))
    return sorted(found, key=lambda m: m.time)


def mark_words(mark: Mark, system: System) -> str:
    """Say what is to be done at a mark."""
    line, speed = system.show(mark.out, "length"), system.show(mark.speed, "speed")
    return {
        "start": f"start: {line} out, {speed}",
        "line": f"line to {line}",
        "on edge": "lure on the edge",
        "off edge": "lure off the edge",
        "turn": "turn",
        "end": "end: lines in",
    }[mark.kind]


def globe(place: Place, points: Array) -> list[tuple[float, float]]:
    """Give points of the lake [m] as latitude and longitude [degrees]."""
    lat, lon = place.to_globe(points[:, 0], points[:, 1])
    return [
        (round(float(a), DIGITS), round(float(b), DIGITS)) for a, b in zip(lat, lon, strict=True)
    ]
