"""Coverage of the pattern's statements: 90 % intervals, and "88 % better", as often as stated.

Simulation-based calibration: days with a known truth, fitted as the crew's journal would be.
"own" draws the truth from the regression's own priors (so any miss is a fault in the inference);
the others fish the made-up lakes of `simulated_days`, which the regression does not know, and ask
what each lure will catch in the next half hour.

Run as ``python bench/pattern_calibration.py [--days N] [--plot FILE]``.

References
----------
Talts, Betancourt, Simpson, Vehtari & Gelman (2018), "Validating Bayesian inference algorithms with
simulation-based calibration", arXiv:1804.06788.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

import numpy as np

from simulated_days import BODIES, COLOURS, SIZES, START_S, VARIANTS, Day, World, rotate, season
from towscope.effort.stint import Stint
from towscope.pattern.binning import LureLook, fold
from towscope.pattern.fit import fit
from towscope.pattern.model import LURE_TERMS, build
from towscope.pattern.next import rates_now

DRAWS = 1000


@dataclass
class Tally:
    """What was said and what was true, day by day."""

    hit: list[float] = field(default_factory=list)
    rank: list[float] = field(default_factory=list)
    said: list[np.ndarray] = field(default_factory=list)
    true: list[np.ndarray] = field(default_factory=list)
    fish: list[float] = field(default_factory=list)

    def add(self, draws: np.ndarray, truth: np.ndarray, rng: np.random.Generator) -> None:
        """Take in one day: draws (draws, k) and truth (k,) of log rates that may be compared."""
        k = len(truth)
        a, b = np.triu_indices(k, 1)
        difference, really = draws[:, a] - draws[:, b], truth[a] - truth[b]
        low, high = np.quantile(difference, (0.05, 0.95), axis=0)
        self.hit.append(float(np.mean((low <= really) & (really <= high))))
        pick = int(rng.integers(len(a)))
        self.rank.append(float(np.mean(difference[:, pick] < really[pick])))
        p = np.mean(difference > 0.0, axis=0)
        self.said.append(np.where(p >= 0.5, p, 1.0 - p))
        self.true.append(np.where(p >= 0.5, really > 0.0, really < 0.0))

    def coverage(self) -> tuple[float, float]:
        """Give the share of 90 % intervals that hold the truth, and its standard error."""
        hits = np.array(self.hit)
        return float(hits.mean()), float(hits.std(ddof=1) / np.sqrt(len(hits)))

    def reliability(self, edges: np.ndarray) -> list[tuple[float, float, float, int]]:
        """Give, by class of what was said: mean said, share true, its error (by day), count."""
        out = []
        for low, high in pairwise(edges):
            inside = [(s >= low) & (s < high) for s in self.said]
            count = np.array([x.sum() for x in inside], dtype=float)
            if count.sum() < 20:
                continue
            right = np.array([t[x].sum() for t, x in zip(self.true, inside, strict=True)])
            said = sum(s[x].sum() for s, x in zip(self.said, inside, strict=True)) / count.sum()
            share = right.sum() / count.sum()
            error = np.sqrt(np.sum((right - share * count) ** 2)) / count.sum()
            out.append((float(said), float(share), float(error), int(count.sum())))
        return out


def own_day(rng: np.random.Generator) -> list[Stint]:
    """Lay out one to three days' effort: who fished what, where and when; no catch yet."""
    n = int(rng.integers(4, 11))
    lures = [
        LureLook(f"lure-{i}", str(rng.choice(BODIES)), float(rng.choice(SIZES)), str(rng.choice(COLOURS)))
        for i in range(n)
    ]  # fmt: skip
    rods, out = int(rng.integers(2, 5)), []
    days = int(rng.integers(1, 4))
    for day in range(days):
        running = list(rng.integers(0, n, rods))
        sky = "sunny"
        for block in range(int(2 * rng.integers(5, 10))):
            sky = ("cloudy" if sky == "sunny" else "sunny") if rng.random() < 0.2 else sky
            for rod in range(rods):
                if rng.random() < 0.35:
                    running[rod] = int(rng.integers(n))
                x = lures[running[rod]]
                start = START_S + day * 86_400.0 + block * 1_800.0
                out.append(
                    Stint(
                        f"rod-{rod}",
                        "",
                        x.name,
                        x.body,
                        x.size_m,
                        x.colour,
                        float(rng.choice([6.0, 8.0, 10.0])),
                        None,
                        None,
                        start,
                        start + 1_800.0,
                        0.5,
                        0,
                        0,
                        None,
                        None,
                        sky,
                        18.0 + 4.0 * float(rng.random()),
                        f"2026-08-{10 + day}",
                        6.25 + 0.5 * block,
                    )
                )
    return out


def by_own_priors(seed: int, number: int, tallies: dict[str, Tally]) -> None:
    rng = np.random.default_rng([seed, number])
    cells = fold(own_day(rng), ignore=("place", "rod"))
    design = build(cells).design
    u, scales = [], {}
    for term in design.terms:
        sd = term.scale
        if not term.fixed:
            name = "day" if term.name == "day" else term.name
            scales.setdefault(name, abs(rng.normal(0, term.scale)))
            sd = scales[name]
        root = np.linalg.cholesky(np.linalg.inv(term.unit_precision))
        u.append(term.mean + sd * (root @ rng.standard_normal(len(term.labels))))
    effects = np.concatenate(u)
    clump = max(abs(rng.normal(0, design.clump_scale)), 1e-6)
    eta = np.log(cells.hours) + (effects[design.idx] * design.val).sum(axis=1)
    cells.y[:] = rng.negative_binomial(np.exp(eta) / clump, 1.0 / (1.0 + clump))
    model = build(cells)
    posterior = fit(model.design, draws=DRAWS, seed=number)
    lures = list(cells.lures.values())
    draws, truth = np.zeros((DRAWS, len(lures))), np.zeros(len(lures))
    for name in LURE_TERMS:
        if not design.has(name):
            continue
        factor = cells.factors[name]
        part = effects[design.columns(name)]
        if len(factor.keys) > 1 and name != "lure":
            tallies[f"own: {name}s" if name != "body" else "own: bodies"].add(
                posterior.effect(name), part, rng
            )
        for j, lure in enumerate(lures):
            code = cells.codes[name][cells.codes["lure"] == cells.factors["lure"].find(lure.name)]
            draws[:, j] += posterior.effect(name)[:, code[0]]
            truth[j] += part[code[0]]
    tallies["own: lures"].add(draws, truth, rng)
    tallies["own: lures"].fish.append(float(cells.y.sum()))
    # the base stands for the rate itself: compared with nothing, by a second column of zeros
    base = posterior.effect("base")
    tallies["own: base rate"].add(
        np.hstack([base, np.zeros_like(base)]),
        np.append(effects[design.columns("base")], 0.0),
        rng,
    )


def by_world(world: World, seed: int, number: int, tally: Tally) -> None:
    rng = np.random.default_rng([seed, number])
    truth = season(world, rng)
    log: list[Stint] = []
    days = 1 + number % 2
    for k in range(days):
        day = Day.make(world, truth, k, rng)
        blocks = len(day.rates) - 1  # the last half hour is what is asked for
        running = [int(x) for x in rng.permutation(world.lures)[:3]]
        for block in range(blocks):
            running = rotate(day, block, log, running) if block % 2 == 0 else running
            log += [day.stint(block, r, x, day.catch(block, x)) for r, x in enumerate(running)]
    rates = rates_now(
        log, truth.lures, now_s=log[-1].end_s, light=day.sky[-1], draws=DRAWS, seed=number,
    )  # fmt: skip
    tally.add(np.log(rates), np.log(day.rates[-1]), rng)
    tally.fish.append(float(sum(s.catches for s in log)))


def run(days: int, seed: int, worlds: list[str]) -> dict[str, Tally]:
    tallies = {
        f"own: {x}": Tally() for x in ("lures", "sizes", "colours", "bodies", "base rate")
    } | {name: Tally() for name in worlds}
    for number in range(days):
        by_own_priors(seed, number, tallies)
    for name in worlds:
        for number in range(max(days // 4, 1)):
            by_world(VARIANTS[name], seed, number, tallies[name])
    return tallies


EDGES = np.array([0.5, 0.6, 0.7, 0.8, 0.85, 0.9, 0.95, 0.98, 1.0001])


def plot(tallies: dict[str, Tally], path: Path) -> None:
    from matplotlib.figure import Figure

    from towscope.sheets.pattern import INK, LEAD, PALE, REST

    figure = Figure(figsize=(6.4, 6.0))
    axes = figure.add_axes((0.13, 0.12, 0.83, 0.76))
    axes.plot([0.5, 1], [0.5, 1], color=PALE, lw=1.5, zorder=0)
    shown = (("own: lures", "truth drawn from the regression's own priors", "D", LEAD),
             ("usual", "a made-up lake the regression does not know", "o", REST))  # fmt: skip
    for name, text, marker, colour in shown:
        points = tallies[name].reliability(EDGES)
        x, y, e = (np.array([p[i] for p in points]) for i in range(3))
        shift = -0.002 if marker == "D" else 0.002
        axes.errorbar(x + shift, y, yerr=1.645 * e, fmt=marker, ms=7, mfc=colour, mec=INK,
                      ecolor=INK, elinewidth=1.1, label=text)  # fmt: skip
    axes.set_xlabel('what was said: "this lure out-fishes that one, ... %"', color=INK)
    axes.set_ylabel("how often it did", color=INK)
    ticks = [0.5, 0.6, 0.7, 0.8, 0.9, 1.0]
    for axis in (axes.xaxis, axes.yaxis):
        axis.set_ticks(ticks, [f"{100 * t:.0f} %" for t in ticks])
    axes.set_xlim(0.49, 1.01)
    axes.set_ylim(0.45, 1.02)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    axes.legend(frameon=False, loc="upper left", fontsize=9)
    figure.text(0.13, 0.94, "Said, and so", fontsize=15, weight="bold", color=INK)
    figure.text(0.13, 0.905, "bars: 90 % intervals over days; line: exactly as said", fontsize=9,
                color=REST)  # fmt: skip
    figure.savefig(path, dpi=130)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--days", type=int, default=500)
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--plot", type=Path)
    options = parser.parse_args()
    worlds = ["usual", "no drift", "strong drift", "slow fishing"]
    tallies = run(options.days, options.seed, worlds)
    print("| truth | days | fish a set | 90 % intervals hold | said 85 to 90 % | was so |")
    print("|---|---|---|---|---|---|")
    for name, tally in tallies.items():
        share, error = tally.coverage()
        near = tally.reliability(np.array([0.85, 0.90]))
        said, was = (f"{near[0][0]:.1%}", f"{near[0][1]:.1%} ± {near[0][2]:.1%}") if near else (
            "", "")  # fmt: skip
        fish = f"{np.mean(tally.fish):.0f}" if tally.fish else ""
        print(
            f"| {name} | {len(tally.hit)} | {fish} | {share:.1%} ± {error:.1%} | {said} | {was} |"
        )
    print("\n| said (own: lures) | was so | comparisons |\n|---|---|---|")
    for said, was, error, count in tallies["own: lures"].reliability(EDGES):
        print(f"| {said:.1%} | {was:.1%} ± {error:.1%} | {count} |")
    if options.plot:
        plot(tallies, options.plot)


if __name__ == "__main__":
    main()
