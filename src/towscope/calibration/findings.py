"""Before against after, influence and misfit of readings: what they come to for one rig."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from towscope.arrays import Array
from towscope.calibration import kernels
from towscope.calibration.apply import depths_at, take_in, usual_let_outs
from towscope.calibration.drift import LineShift, change_in
from towscope.calibration.model import Evidence
from towscope.calibration.next_reading import DEEPEST, Lesson, teaches_most, versions
from towscope.calibration.posterior import Posterior, smooth
from towscope.calibration.readings import Reading
from towscope.constants import FOOT, MPH
from towscope.towing.steady import LENGTH
from towscope.towing.tow import Tow

Pair = tuple[float, float]

COLORS = (2.0, 5.0)
COLOR = 9.144  # [m]
WRONG = 0.5
PULLED = 0.1 * FOOT
OPEN, TIED = 0.9, 0.6
ONE_SPEED, ONE_LET_OUT = 1.06, 1.12


@dataclass(frozen=True)
class Weighed:
    """One reading against what is now believed.

    Attributes
    ----------
    reading : Reading
        The reading.
    depth : float
        Depth that the lure is now believed to have run at [m].
    depth_90 : tuple of float
        90 % interval of it [m].
    wrong : float
        Probability that the reading is something else.
    pull : float
        By how much it moves the depth at the middle usual setting, by being there [m].
    """

    reading: Reading
    depth: float
    depth_90: Pair
    wrong: float
    pull: float


@dataclass(frozen=True)
class DepthBands:
    """Depth at one usual setting, before and after the readings: 5, 50 and 95 % [m]."""

    let_out: float
    speed: float
    before: tuple[float, float, float]
    after: tuple[float, float, float]


@dataclass(frozen=True)
class Findings:
    """What the readings come to for one rig.

    Attributes
    ----------
    rig, lure : str
        Which.
    stated, before, calibrated : Tow
        As stated; with what was unsure before the readings; and after them.
    per_color_before, per_color_after : tuple of float
        Depth for each further colour (or 10 yd) at 2 mph: 5, 50 and 95 % [m].
    color : float
        Length of that colour [m].
    coded : bool
        Whether the rig has coded line.
    usual : list of DepthBands
        Depths at the usual settings.
    weighed : list of Weighed
        Readings of this rig.
    open : list of str
        What the readings cannot tell, in words.
    lesson : Lesson or None
        Where to take a reading next.
    change : LineShift or None
        Where the line seems to have become another.
    misfit : bool
        Whether too many readings look wrong for one line.
    others : int
        Readings of other rigs that taught of this one's line or lure.
    """

    rig: str
    lure: str
    stated: Tow
    before: Tow
    calibrated: Tow
    per_color_before: tuple[float, float, float]
    per_color_after: tuple[float, float, float]
    color: float
    coded: bool
    usual: list[DepthBands]
    weighed: list[Weighed]
    open: list[str]
    lesson: Lesson | None
    change: LineShift | None
    misfit: bool
    others: int


def findings(
    posterior: Posterior, rig: str, lure: str, tow: Tow, *, deepest: float = DEEPEST
) -> Findings:
    """Say what a posterior comes to for one rig.

    Parameters
    ----------
    posterior : Posterior
        From all readings.
    rig, lure : str
        Which rig, with which lure.
    tow : Tow
        It, as stated.
    deepest : float
        Deepest bottom that the crew can take a reading over [m].
    """
    problem = posterior.problem
    own = np.array([m.rig == rig and m.lure == lure for m in problem.readings])
    since = max((m.day for m in problem.readings), default="")
    count = len(posterior.x)
    rng = np.random.Generator(np.random.PCG64(11))
    prior, _ = problem.to_x(rng.standard_normal(posterior.x.shape))

    def made(x: Array) -> Tow:
        def figure(name: str) -> Array | None:
            at = problem.at(name)
            return None if at is None else x[:, at]

        return take_in(
            tow, lure, rig, figure, count=count, counter_sd=problem.customs.counter,
            along=np.empty(0), since=since, readings=int(own.sum()),
        )  # fmt: skip

    before, after = made(prior), made(posterior.x)
    usual = usual_settings([m for m, o in zip(problem.readings, own, strict=True) if o], tow)
    spreads = []
    for v in sorted({v for _, v in usual}):
        at = np.array(sorted(out for out, w in usual if w == v))
        was, now = (versions(t, at, v, 400) for t in (before, after))
        spreads += [
            DepthBands(float(out), v, _three(was[:, k]), _three(now[:, k]))
            for k, out in enumerate(at)
        ]
    color, outs, coded = _colours(tow)
    per = [
        _three((d[:, 1] - d[:, 0]) * color / (outs[1] - outs[0]))
        for d in (versions(t, outs, 2.0 * MPH, 400) for t in (before, after))
    ]
    weighed = _weighed(posterior, own, usual[len(usual) // 2], tow, rig, lure)
    hits = [r for r in weighed if r.reading.kind != "miss"]
    bad = sum(r.wrong > WRONG for r in hits)
    return Findings(
        rig=rig,
        lure=lure,
        stated=tow,
        before=before,
        calibrated=after,
        per_color_before=per[0],
        per_color_after=per[1],
        color=color,
        coded=coded,
        usual=spreads,
        weighed=weighed,
        open=what_is_open(posterior, own, rig, lure, tow),
        lesson=teaches_most(after, usual, problem.customs, deepest=deepest),
        change=change_in(posterior, rig, lure) if own.any() else None,
        misfit=len(hits) >= 4 and bad > 0.35 * len(hits),
        others=len(problem.readings) - int(own.sum()),
    )


def _three(values: Array) -> tuple[float, float, float]:
    low, mid, high = (float(v) for v in np.nanquantile(values, [0.05, 0.5, 0.95]))
    return low, mid, high


def _colours(tow: Tow) -> tuple[float, Array, bool]:
    """Give one colour's length, the two let-outs between which depth is counted, and if coded."""
    coded = np.flatnonzero(np.isfinite(tow.color_length))
    if len(coded) == 0:
        outs = usual_let_outs(tow)
        return COLOR, outs[[0, -1]], False
    color = float(tow.color_length[coded[0]])
    leader = float(tow.pieces[: coded[0], LENGTH].sum())
    held = float(tow.pieces[coded, LENGTH].sum()) / color
    few, many = min(COLORS[0], 0.3 * held), min(COLORS[1], 0.9 * held)
    return color, leader + color * np.array([few, many]), True


def usual_settings(readings: Sequence[Reading], tow: Tow) -> list[tuple[float, float]]:
    """Give settings at which a crew wants to know: about where it read, and a little beyond.

    Returns
    -------
    list of (let-out, speed)
        Let-outs to the nearest 10 ft, speeds to the nearest 0.1 mph [m, m/s].
    """
    if readings:
        outs = np.quantile([m.let_out for m in readings], [0.1, 0.5, 0.9])
        middle = float(np.median([m.speed for m in readings]))
    else:
        outs = usual_let_outs(tow)[:3]
        middle = 2.0 * MPH
    if outs[-1] < 1.2 * outs[0]:
        outs = outs[1] * np.array([0.75, 1.0, 1.25])
    step = 10.0 * FOOT
    held = step * math.floor(0.98 * tow.length / step)
    outs = np.unique(np.clip(np.round(outs / step) * step, step, max(held, step)))
    middle = round(middle / (0.1 * MPH)) * 0.1 * MPH
    speeds = [max(middle + d * MPH, 0.6 * MPH) for d in (-0.4, 0.0, 0.4)]
    return [(float(out), float(v)) for v in speeds for out in outs]


def _weighed(
    posterior: Posterior,
    own: npt.NDArray[np.bool_],
    setting: tuple[float, float],
    tow: Tow,
    rig: str,
    lure: str,
) -> list[Weighed]:
    problem, every = posterior.problem, max(1, len(posterior.x) // 512)
    x = posterior.x[::every]
    depth = problem.depths(x, posterior.table)
    centre = _centre_depths(posterior, x, setting, tow, rig, lure) if own.any() else np.zeros(1)
    share = problem.customs.wrong
    found = []
    for i in np.flatnonzero(own):
        given = (problem.kind[i], problem.depth[i], problem.error[i], share, problem.room[i])
        fit = np.array([kernels.fit_of(d, *given)[0] for d in depth[:, i]])
        off = share * (0.5 if problem.kind[i] == kernels.CLEAR else 1.0 / problem.room[i])
        wrong = float(np.mean(off / np.exp(fit)))
        weight, _ = smooth(-fit)
        without = float((weight * centre).sum() / weight.sum())
        low, mid, high = _three(depth[:, i])
        found.append(
            Weighed(
                problem.readings[i],
                mid,
                (low, high),
                min(wrong, 1.0),
                float(centre.mean()) - without,
            )
        )
    return found


def _centre_depths(
    posterior: Posterior, x: Array, setting: tuple[float, float], tow: Tow, rig: str, lure: str
) -> Array:
    """Depth of every draw at one setting, in the order of the draws."""

    def figure(name: str) -> Array | None:
        at = posterior.problem.at(name)
        return None if at is None else x[:, at]

    made = take_in(
        tow, lure, rig, figure, count=len(x), counter_sd=posterior.problem.customs.counter,
        along=np.empty(0), since="", readings=0,
    )  # fmt: skip
    assert made.learnt is not None
    d = made.learnt.draws(made, len(x), 20_190)
    return np.array(
        [
            depths_at(made, p, one, np.array([min(setting[0] * c, made.length)]), setting[1])[0]
            for p, one, c in zip(d.pieces, d.lures, d.let_out_scale, strict=True)
        ]
    )


def what_is_open(
    posterior: Posterior, own: npt.NDArray[np.bool_], rig: str, lure: str, tow: Tow
) -> list[str]:
    """Name what the readings of a rig cannot tell, and what can't be told apart."""
    problem = posterior.problem
    readings = [m for m, o in zip(problem.readings, own, strict=True) if o]
    if not readings:
        return [
            f"no reading of {rig} itself: all of it comes from other rigs with its line or lure"
        ]
    said = []
    if len(readings) == 1:
        said.append("one reading is a start: it cannot show that it is wrong")
    speeds = [m.speed for m in readings]
    outs = [m.let_out for m in readings]
    if max(speeds) < ONE_SPEED * min(speeds):
        said.append(
            f"all readings at one speed ({np.mean(speeds) / MPH:.1f} mph): what another speed does "
            "still rests on the stated line and lure"
        )
    if max(outs) < ONE_LET_OUT * min(outs):
        said.append(
            f"all readings at one line out ({np.mean(outs) / FOOT:.0f} ft): what lure and leader "
            "do and what the line does can't be told apart"
        )
    if all(m.kind == "miss" for m in readings):
        said.append("no bottom hit yet: misses only show that it runs no deeper than that")
    said += _tied(problem, posterior, own, rig, lure, tow)
    said += _at_odds(problem, own)
    return said


def _tied(
    problem: Evidence,
    posterior: Posterior,
    own: npt.NDArray[np.bool_],
    rig: str,
    lure: str,
    tow: Tow,
) -> list[str]:
    """Say which figures only act together, and which the readings hardly bear on.

    A figure's share in the depth is its slope times the figure. Where the sum of the shares is well
    known and the shares are not, the figures can't be told apart.
    """
    middle = posterior.x.mean(0)
    _, jacobian = problem.slopes(middle, posterior.table)
    pull = np.abs(jacobian[own]).mean(0) * problem.sd
    spread = posterior.z.std(0)
    whole = posterior.problem.depths(posterior.x, posterior.table)[:, own].std(0).mean()
    before = math.sqrt(float((pull**2).sum()))
    words = {f.name: _words(f.name, rig, lure) for f in problem.figures}
    mine = [
        j
        for j, f in enumerate(problem.figures)
        if words[f.name] and (not f.name.startswith("line:") or f.name.split(":")[1] in tow.names)
    ]
    weighty = [j for j in mine if pull[j] > 0.12 * before]
    weighty.sort(key=lambda j: -pull[j])
    tied = [j for j in weighty if spread[j] > TIED]
    said = []
    if len(tied) > 1 and whole < 0.7 * before:
        names = list(dict.fromkeys(words[problem.figures[j].name] for j in tied))
        least = min(100, round(100 * float(spread[tied].min())))
        said.append(
            f"how deep it runs is known better than why: {_list(names)} can't be told apart "
            f"(each alone is still at least {least} % as unsure as before)"
        )
    hardly = [j for j in mine if j not in weighty and spread[j] > OPEN]
    if hardly:
        names = list(dict.fromkeys(words[problem.figures[j].name] for j in hardly))
        said.append(f"hardly told at all, and of little weight here: {_list(names)}")
    return said


def _list(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _words(name: str, rig: str, lure: str) -> str:
    """Say a figure in words; "" where it is another rig's."""
    kind, _, rest = name.partition(":")
    if kind == "line":
        line, what = rest.rsplit(":", 1)
        return f"the {what} of {line}"
    if kind == "lure":
        own, what = rest.rsplit(":", 1)
        return "" if own != lure else f"the {'dive' if what == 'trim' else what} of {own}"
    if kind == "counter":
        return "the counter" if rest == rig else ""
    return "the speed reading" if kind == "speed" else "the currents of the days"


def _at_odds(problem: Evidence, own: npt.NDArray[np.bool_]) -> list[str]:
    """Find a clear run that says it ran shallower, where a bottom hit says it ran deeper."""
    readings = [m for m, o in zip(problem.readings, own, strict=True) if o]
    errors = problem.error[own]
    clear = [(m, e) for m, e in zip(readings, errors, strict=True) if m.kind == "miss"]
    hit = [(m, e) for m, e in zip(readings, errors, strict=True) if m.kind != "miss"]
    worst, said = 2.5, []
    for c, ce in clear[:400]:
        for t, te in hit[:400]:
            if t.let_out <= c.let_out and t.speed >= c.speed:
                gap = (t.depth - c.depth) / math.hypot(ce, te)
                if gap > worst:
                    worst = gap
                    said = [
                        f"these contradict each other: clear over {c.depth / FOOT:.0f} ft with "
                        f"{c.let_out / FOOT:.0f} ft out at {c.speed / MPH:.1f} mph, but "
                        f"{t.kind} at {t.depth / FOOT:.0f} ft with {t.let_out / FOOT:.0f} ft at "
                        f"{t.speed / MPH:.1f} mph"
                    ]
    return said
