"""Tow a line with MoorDyn, an independent lumped-mass code, run to convergence.

Gives `tow`: the same rig, the same path of the rod tip, in MoorDyn; used by the other scripts here
and by the tests. Only lures without dive force and lines with fixed coefficients can be compared.
MoorDyn 2.7 multiplies its axial coefficient by pi times the diameter: its `CdAx` is our friction
coefficient as it stands (the pull at the rod tells: with pi times it, it is twice as hard).
Points that both move: lines are as soft in ours as in MoorDyn, which likes them soft.
"""

from __future__ import annotations

import math
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter

import moordyn
import numpy as np

from towscope.arrays import Array
from towscope.towing.moving import Lines, settled
from towscope.towing.tow import Doubt, Tow

GRAVITY = 9.80665
MEDIUM = np.array([998.2, 1.0e-6, 1.204, 1.51e-5])
UNDER = 0.02  # [m]; the rod tip, below the surface so that no air comes in


@dataclass(frozen=True)
class Rig:
    """A lure on a leader on core, with fixed coefficients.

    Lengths [m], diameters [m], masses [kg/m], stiffness [N], lure drag area [m^2], weight [N].
    """

    leader: float = 9.144
    core: float = 42.67
    leader_diameter: float = 0.26e-3
    core_diameter: float = 0.60e-3
    leader_mass: float = 9.45e-5
    core_mass: float = 2.34e-3
    normal: float = 1.4
    friction: float = 0.01
    drag_area: float = 2e-4
    weight: float = 0.02
    leader_stiffness: float = 100.0
    core_stiffness: float = 750.0

    def tow(self) -> Tow:
        """Give the rig to our own engine."""
        rows = []
        for length, d, mass in (
            (self.leader, self.leader_diameter, self.leader_mass),
            (self.core, self.core_diameter, self.core_mass),
        ):
            wet = (mass - MEDIUM[0] * math.pi / 4 * d * d) * GRAVITY
            rows.append([length, d, wet, mass * GRAVITY, self.normal, self.friction, 1.0, 1.0])
        none = np.zeros(2)
        return Tow(
            np.array(rows),
            np.array([self.drag_area, 0.0, self.weight]),
            MEDIUM,
            0.0,
            ("leader", "core"),
            np.full(2, np.nan),
            np.full(2, np.nan),
            Doubt(np.array([0, 1]), none, none, none),
        )

    def lines(self, segment: float = 1.0, *, stretch: bool = True) -> Lines:
        """Give the rig ready for the moving engine, with the same stretch as in MoorDyn."""
        return Lines.of(
            [self.tow()],
            segment=segment,
            mounts=np.array([[0.0, 0.0, -UNDER]]),
            stiffness=[np.array([self.leader_stiffness, self.core_stiffness])] if stretch else None,
        )

    @property
    def length(self) -> float:
        """All line [m]."""
        return self.leader + self.core


def tow(
    rig: Rig,
    path: Callable[[float], tuple[float, float]],
    seconds: float,
    *,
    speed: float,
    course: float = 0.0,
    segment: float = 0.5,
    dt: float = 4e-4,
    scheme: str = "RK4",
    every: float = 1.0,
    damping: float = 0.1,
    added: float = 1.0,
    per: int = 4,
) -> tuple[Array, Array, Array, float]:
    """Tow a rig behind a path of the rod tip.

    Parameters
    ----------
    rig : Rig
        The rig.
    path : callable
        Place of the rod tip [m] at a moment [s].
    seconds : float
        How long.
    speed, course : float
        What the line is settled at to begin with [m/s], [rad from north].
    segment : float
        Length of a segment [m].
    dt : float
        MoorDyn's own step [s].
    scheme : str
        MoorDyn's scheme.
    every : float
        How often to look [s].
    damping : float
        Damping of the stretch, share of critical.
    added : float
        Added mass coefficient across the line.

    Returns
    -------
    tuple
        Moments (m,), lure places (m, 3), pull at the rod (m,), and seconds of computing.
    """
    ours = rig.lines(0.3 * segment)
    state = settled(ours, rig.length, speed, course, at=path(0.0))
    nodes = state.shape(0)
    own = np.append(ours.knots[0][: len(nodes) - 1], rig.length)
    # Corners of the settled shape: short MoorDyn lines between free points, so that it starts there.
    cuts = [0.0]
    kinds: list[int] = []
    for kind, (length, pieces) in enumerate(
        (
            (rig.leader, max(1, round(rig.leader / (per * segment)))),
            (rig.core, max(1, round(rig.core / (per * segment)))),
        )
    ):
        start = cuts[-1]
        cuts.extend(start + length * (i + 1) / pieces for i in range(pieces))
        kinds.extend([kind] * pieces)
    spots = np.column_stack([np.interp(cuts, own, nodes[:, c]) for c in range(3)])
    volume = 1e-5
    mass = rig.weight / GRAVITY + float(MEDIUM[0]) * volume
    text = [
        "MoorDyn input",
        "---- LINE TYPES ----",
        "Name Diam MassDen EA BA EI Cd Ca CdAx CaAx",
        "(-) (m) (kg/m) (N) (-) (-) (-) (-) (-) (-)",
    ]
    for name, d, m, ea in (
        ("leader", rig.leader_diameter, rig.leader_mass, rig.leader_stiffness),
        ("core", rig.core_diameter, rig.core_mass, rig.core_stiffness),
    ):
        text.append(
            f"{name} {d!r} {m!r} {ea!r} {-damping!r} 0 {rig.normal!r} {added!r} {rig.friction!r} 0"
        )
    text += [
        "---- POINTS ----",
        "ID Type X Y Z M V CdA Ca",
        "(-) (-) (m) (m) (m) (kg) (m3) (m2) (-)",
    ]
    for i, (x, y, z) in enumerate(spots.tolist()):
        kind = "Coupled" if i == len(spots) - 1 else "Free"
        body = f"{mass!r} {volume!r} {rig.drag_area!r} 0" if i == 0 else "0 0 0 0"
        text.append(f"{i + 1} {kind} {x!r} {y!r} {z!r} {body}")
    text += [
        "---- LINES ----",
        "ID LineType AttachA AttachB UnstrLen NumSegs Outputs",
        "(-) (-) (-) (-) (m) (-) (-)",
    ]
    for i, kind_of in enumerate(kinds):
        length = cuts[i + 1] - cuts[i]
        count = max(1, round(length / segment))
        text.append(
            f"{i + 1} {'core' if kind_of else 'leader'} {i + 1} {i + 2} {length!r} {count} -"
        )
    text += [
        "---- OPTIONS ----",
        "0 writeLog",
        "1 disableOutput",
        f"{dt!r} dtM",
        f"{scheme} tScheme",
        f"{GRAVITY} g",
        f"{MEDIUM[0]} rho",
        "200 WtrDpth",
        "1e5 kBot",
        "1e3 cBot",
        "0 TmaxIC",
        "---- END ----",
        "",
    ]
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "tow.txt"
        file.write_text("\n".join(text))
        system = moordyn.Create(str(file))
        moordyn.SetVerbosity(system, moordyn.LEVEL_ERR)

        def tip(t: float) -> tuple[list[float], list[float]]:
            h = 1e-4
            (x, y), (u, v) = path(t), path(t + h)
            return [x, y, -UNDER], [(u - x) / h, (v - y) / h, 0.0]

        moordyn.Init(system, *tip(0.0))
        lure = moordyn.GetPoint(system, 1)
        count = round(seconds / every)
        times = np.arange(count + 1) * every
        places = np.empty((count + 1, 3))
        pulls = np.full(count + 1, np.nan)
        places[0] = moordyn.GetPointPos(lure)
        sub = max(1, math.ceil(every / 0.05 - 1e-9))
        begin = perf_counter()
        for i in range(count):
            for k in range(sub):
                t = (i * sub + k) * every / sub
                force = moordyn.Step(system, *tip(t), t, every / sub)
            places[i + 1] = moordyn.GetPointPos(lure)
            pulls[i + 1] = math.sqrt(sum(f * f for f in force))
        took = perf_counter() - begin
        moordyn.Close(system)
    return times, places, pulls, took
