"""Compare the steady engine with MoorDyn, towed straight until nothing changes.

    python bench/moordyn_steady.py

Same weights and fixed coefficients; MoorDyn's lines stretch a little (0.02 to 0.1 % of their
length here), ours in the steady engine do not. MoorDyn runs at two segment lengths, from which the
answer at none is extrapolated (its error falls with the square).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from moordyn_tow import MEDIUM, UNDER, Rig, tow
from towscope.towing.moving import settled
from towscope.towing.steady import (
    ANSWER,
    DEPTH,
    LAYBACK,
    TENSION,
    Towed,
    room_for,
    settle,
)

SPEEDS = (0.6, 0.9, 1.3)
# A hard pull wants a line that stretches no more than the others.
THICK = {
    "leader_diameter": 0.4e-3,
    "leader_mass": 2.2e-4,
    "leader_stiffness": 400.0,
    "core_stiffness": 1500.0,
}
RIGS = {
    "thin core, small lure": Rig(),
    "bulky core": Rig(core_diameter=1.0e-3, core_mass=2.6e-3, normal=1.5, friction=0.02),
    "light lure, long leader": Rig(leader=15.0, drag_area=1e-4, weight=0.0, friction=0.005),
    "heavy lure, no friction": Rig(drag_area=8e-4, weight=0.3, friction=0.0, normal=1.2, **THICK),
}
SHORT_RIGS = {
    "thin core, small lure": Rig(leader=3.0, core=9.0),
    "bulky core": Rig(
        leader=3.0, core=9.0, core_diameter=1.0e-3, core_mass=2.6e-3, normal=1.5, friction=0.02
    ),
    "light lure, long leader": Rig(leader=5.0, core=7.0, drag_area=1.5e-4, weight=0.01),
    "heavy lure, no friction": Rig(
        leader=3.0, core=9.0, drag_area=8e-4, weight=0.3, friction=0.0, normal=1.2, **THICK
    ),
}


@dataclass(frozen=True)
class Row:
    """What both gave: depth, layback [m] and pull [N], and what to judge them by.

    Attributes
    ----------
    still : float
        How far MoorDyn's depth still moved over the last quarter, as a share.
    seconds : float
        Computing time of MoorDyn [s].
    stretched : float
        Depth in our moving engine with MoorDyn's stretch [m].
    """

    depth: float
    layback: float
    pull: float
    moordyn_depth: float
    moordyn_layback: float
    moordyn_pull: float
    still: float
    seconds: float
    stretched: float


def compare(
    rig: Rig, speed: float, *, segments: tuple[float, float], seconds: float, dt: float
) -> Row:
    """Tow one rig at one speed in both; `dt` is MoorDyn's step per metre of segment [s/m]."""
    ours = rig.tow()
    out, flow = np.empty(ANSWER), np.array([[0.0, speed, 0.0]])
    towed = Towed(ours.pieces, ours.lure, MEDIUM, flow, 0.0, 0.0)
    settle(towed, rig.length, 1e-9, room_for(len(ours.pieces)), out)
    ends = []
    took = 0.0
    for segment in segments:
        times, lure, pull, spent = tow(
            rig,
            lambda t: (0.0, speed * t),
            seconds,
            speed=speed,
            segment=segment,
            dt=dt * segment,
            every=seconds / 4.0,
        )
        took += spent
        depth = -lure[:, 2] - UNDER
        still = abs(depth[-1] / depth[-2] - 1.0)
        ends.append(np.array([depth[-1], speed * times[-1] - lure[-1, 1], pull[-1]]))
    ratio = (segments[0] / segments[1]) ** 2
    figures = ends[1] + (ends[1] - ends[0]) / (ratio - 1.0)
    return Row(
        float(out[DEPTH]),
        float(out[LAYBACK]),
        float(out[TENSION]),
        *(float(figure) for figure in figures),
        float(still),
        took,
        float(settled(rig.lines(0.5), rig.length, speed).depth[0]) - UNDER,
    )


def main() -> None:
    print(
        "| rig | speed, m/s | depth, m | MoorDyn, m | off, % | with its stretch, % | layback off, % | pull off, % | "
        "still moving, % |"
    )
    print("|---|---|---|---|---|---|---|---|---|")
    worst = 0.0
    for name, rig in RIGS.items():
        for speed in SPEEDS:
            row = compare(rig, speed, segments=(1.5, 0.75), seconds=30.0, dt=8e-4)
            off = [
                100.0 * (mine / theirs - 1.0)
                for mine, theirs in (
                    (row.depth, row.moordyn_depth),
                    (row.stretched, row.moordyn_depth),
                    (row.layback, row.moordyn_layback),
                    (row.pull, row.moordyn_pull),
                )
            ]
            worst = max(worst, abs(off[0]))
            print(
                f"| {name} | {speed} | {row.depth:.3f} | {row.moordyn_depth:.3f} | {off[0]:.3f} | "
                f"{off[1]:.3f} | {off[2]:.3f} | {off[3]:.3f} | {100.0 * row.still:.3f} |",
                flush=True,
            )
    print(f"\nDepth off by {worst:.3f} % at the most.")


if __name__ == "__main__":
    main()
