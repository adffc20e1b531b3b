"""Made-up days whose truth is known, to see how good the answers are that a crew would get.

Not the regression's own picture of the world: lures' worth wanders as a random walk, sun and
cloud come and go and bring each colour its own luck, schools give several fish at once.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from towscope.effort.stint import Stint
from towscope.pattern.binning import LureLook

START_S = 1_786_000_000.0 - 1_786_000_000.0 % 86_400.0 + 6 * 3_600.0  # six in the morning, UTC
BODIES = ("minnow", "shad", "spoon")
SIZES = (0.0508, 0.0762, 0.1016)
COLOURS = ("perch", "silver", "chartreuse", "orange", "black")


@dataclass(frozen=True)
class World:
    """How the fish of a made-up lake behave.

    Attributes
    ----------
    lures : int
        Lures aboard.
    rate : float
        Median catch rate of the middle lure [fish per rod-hour].
    day_sd : float
        How much days differ [ln].
    lure_sd : float
        How much lures differ [ln]; half of the variance by size, colour and body.
    wander : float
        Random walk of each lure's worth [ln per root hour].
    light_sd : float
        How much each colour gains or loses when the sky changes [ln].
    bite_sd : float
        How much the bite of all lines changes with the sky [ln].
    sky_hours : float
        How long sun or cloud lasts on average [h].
    clump : float
        Variance over mean of the catch, less one.
    hours : float
        Length of the day [h].
    """

    lures: int = 10
    rate: float = 0.5
    day_sd: float = 0.5
    lure_sd: float = 0.6
    wander: float = 0.2
    light_sd: float = 0.3
    bite_sd: float = 0.3
    sky_hours: float = 2.0
    clump: float = 0.3
    hours: float = 8.0


@dataclass(frozen=True)
class Truth:
    """What is true all season: the lures and what each is worth in the long run [ln]."""

    lures: tuple[LureLook, ...]
    worth: np.ndarray
    by_light: np.ndarray


def season(world: World, rng: np.random.Generator) -> Truth:
    """Draw the lures aboard and their worth."""
    n = world.lures
    body, size, colour = (rng.integers(0, k, n) for k in (3, 3, 5))
    part = world.lure_sd * np.sqrt(0.5 / 3.0)
    worth = (
        rng.normal(0, part, 3)[body] + rng.normal(0, part, 3)[size] + rng.normal(0, part, 5)[colour]
    ) + rng.normal(0, world.lure_sd * np.sqrt(0.5), n)
    lures = tuple(
        LureLook(f"lure-{i}", BODIES[body[i]], SIZES[size[i]], COLOURS[colour[i]]) for i in range(n)
    )
    return Truth(lures, worth, rng.normal(0, world.light_sd, (2, 5))[:, colour])


@dataclass
class Day:
    """One day, ready to be fished block by block of half an hour.

    Attributes
    ----------
    rates : ndarray (blocks, lures)
        True catch rates [fish per rod-hour].
    sky : list of str
        "sunny" or "cloudy" in each block.
    """

    world: World
    truth: Truth
    number: int
    rates: np.ndarray
    sky: list[str]
    chance: np.ndarray

    @classmethod
    def make(cls, world: World, truth: Truth, number: int, rng: np.random.Generator) -> Day:
        """Draw a day: its sky, its bite, and how the lures' worth wanders."""
        blocks = int(2 * world.hours)
        sky = np.empty(blocks, dtype=int)
        sky[0] = rng.integers(2)
        for b in range(1, blocks):
            sky[b] = sky[b - 1] ^ int(rng.random() < 0.5 / world.sky_hours)
        steps = rng.normal(0, world.wander * np.sqrt(0.5), (blocks, world.lures))
        log = np.log(world.rate) + rng.normal(0, world.day_sd) + truth.worth
        log = log + np.cumsum(steps, axis=0) + truth.by_light[sky]
        log = log + rng.normal(0, world.bite_sd, 2)[sky][:, None]
        # the same chances whoever fishes: what one crew misses another does not get for it
        chance = rng.random((blocks, world.lures))
        return cls(world, truth, number, np.exp(log), [("sunny", "cloudy")[s] for s in sky], chance)

    def catch(self, block: int, lure: int) -> int:
        """Fish half an hour with a lure."""
        from scipy.stats import nbinom

        mean = 0.5 * float(self.rates[block, lure])
        c = self.world.clump
        return int(nbinom.ppf(self.chance[block, lure], mean / c, 1 / (1 + c)))

    def stint(self, block: int, rod: int, lure: int, catches: int) -> Stint:
        """Write half an hour down as the journal would."""
        start = START_S + self.number * 86_400.0 + block * 1_800.0
        x = self.truth.lures[lure]
        hour = 6.0 + (block + 0.5) * 0.5
        return Stint(
            rod=f"rod-{rod}", rig="", lure=x.name, body=x.body, size_m=x.size_m, colour=x.colour,
            depth_m=None, speed_m_s=None, let_out_m=None, start_s=start, end_s=start + 1_800.0,
            hours=0.5, catches=catches, strikes_missed=0, lat=None, lon=None,
            light=self.sky[block], surface_temp_c=None,
            day=f"2026-08-{10 + self.number:02d}", hour=hour,
        )  # fmt: skip


Habit = Callable[[Day, int, list[Stint], list[int]], list[int]]


def fish(day: Day, rods: int, habit: Habit, log: list[Stint], start: list[int]) -> int:
    """Fish a day by a habit; give the catch, and add the day's stints to the log."""
    running, total = list(start), 0
    for block in range(len(day.rates)):
        running = habit(day, block, log, running)
        assert len(set(running)) == rods, "one lure of each aboard"
        for rod, lure in enumerate(running):
            n = day.catch(block, lure)
            total += n
            log.append(day.stint(block, rod, lure, n))
    return total


def stay(day: Day, block: int, log: list[Stint], running: list[int]) -> list[int]:
    """Keep what hangs on the rods."""
    return running


def rotate(day: Day, block: int, log: list[Stint], running: list[int]) -> list[int]:
    """Give every lure aboard the same time, whatever happens."""
    if block == 0:
        return running
    return [(lure + len(running)) % day.world.lures for lure in running]


def shift(day: Day, block: int, log: list[Stint], running: list[int]) -> list[int]:
    """Win, stay; lose, shift: change what caught nothing in the last half hour for the next one."""
    if block == 0:
        return running
    last = log[-len(running) :]
    out = list(running)
    front = max(out) if block == 1 else _front[id(day)]
    for rod, stint in enumerate(last):
        if stint.catches == 0:
            for step in range(1, day.world.lures + 1):
                candidate = (front + step) % day.world.lures
                if candidate not in out:
                    break
            out[rod] = front = candidate
    _front[id(day)] = front
    return out


_front: dict[int, int] = {}


def best_so_far(day: Day, block: int, log: list[Stint], running: list[int]) -> list[int]:
    """Try each lure once, then run those with the best catch per hour so far."""
    hours, catches = np.zeros(day.world.lures), np.zeros(day.world.lures)
    for s in log:
        i = int(s.lure.removeprefix("lure-"))
        hours[i] += s.hours
        catches[i] += s.catches
    with np.errstate(invalid="ignore", divide="ignore"):
        rate = np.where(hours > 0, catches / hours, np.inf)
    order = np.lexsort((np.arange(len(rate)), -rate))
    return [int(i) for i in order[: len(running)]]


VARIANTS: dict[str, World] = {
    "usual": World(),
    "no drift": replace(World(), wander=0.0, light_sd=0.0),
    "strong drift": replace(World(), wander=0.4, light_sd=0.5),
    "lures much alike": replace(World(), lure_sd=0.3),
    "lures far apart": replace(World(), lure_sd=0.9),
    "slow fishing": replace(World(), rate=0.25),
    "fast fishing": replace(World(), rate=1.2),
    "six lures": replace(World(), lures=6),
}
