"""Additive model of the log catch rate: which things may matter, and how they hang together.

The log of the expected catch of a cell is the sum of: a base; effects of lure, body, size and
colour (a lure nobody fished is thought of as its size, colour and body let expect); of light, and
of each colour in each light; smoothly of depth, speed, hour and water temperature; of the day; of
the bite as it comes and goes over the day for all lines alike; and of each lure's own luck of the
hour, which fades. Rules of thumb enter as weak priors.

How recent hours weigh more: the bite and each lure's luck of the hour wander (Ornstein-Uhlenbeck)
and forget themselves within hours, so what was caught this morning says most about now, and last
week's fish speak only through what stays the same. Over the seasons even that changes: a day's
fish count by half for each half-life of age (a power likelihood; Ibrahim & Chen 2000).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

from towscope.arrays import Array, Integers
from towscope.pattern.binning import DAY_S, HOUR_S, Cells, LureLook
from towscope.pattern.fit import Design, RatePosterior, Term, alike, given
from towscope.pattern.fit import fit as fit_design
from towscope.pattern.priors import CUSTOMS, RuleOfThumb


@dataclass(frozen=True)
class Priors:
    """How much each thing may matter, before any fish: half-normal scales of log catch rates.

    With 0.4, two thirds of all lures catch within a factor 1.5 of the middle one and hardly any
    beyond a factor 3: wide enough for any trade wisdom, narrow enough that two lucky fish make no
    miracle lure. The base is 0.4 fish per rod-hour, give or take a factor of three.

    Attributes
    ----------
    scales : dict
        Half-normal scale of each family [ln].
    base, base_sd : float
        Prior of the log base rate.
    reach : dict
        Over what distance a smooth effect changes, in SI.
    bite_hours, luck_hours : float
        Over what time the bite, and a lure's luck of the hour, forget themselves [h].
    half_life_days : float
        Age at which a day counts half [d]; infinite for never.
    customs : tuple of RuleOfThumb
        The rules of thumb.
    """

    scales: dict[str, float] = field(
        default_factory=lambda: {
            "lure": 0.4,
            "body": 0.3,
            "size": 0.35,
            "colour": 0.35,
            "light": 0.3,
            "rod": 0.25,
            "place": 0.4,
            "depth": 0.5,
            "speed": 0.3,
            "temperature": 0.3,
            "hour": 0.4,
            "day": 0.5,
            "mood": 0.3,
            "bite": 0.4,
            "luck": 0.5,
            "clump": 0.5,
        }
    )
    base: float = math.log(0.4)
    base_sd: float = 1.1
    reach: dict[str, float] = field(
        default_factory=lambda: {"depth": 3.0, "speed": 0.25, "temperature": 4.0, "hour": 3.0}
    )
    bite_hours: float = 2.0
    luck_hours: float = 6.0
    half_life_days: float = 365.0
    customs: tuple[RuleOfThumb, ...] = CUSTOMS


Add = Callable[[Term, Integers], None]
SMOOTH = ("depth", "speed", "temperature", "hour")
_MOOD = ("colour", "light")
LURE_TERMS = ("lure", "body", "size", "colour")
_NODES = 100  # of luck effects, at most: keeps one fit in milliseconds
_LUCK_DAYS = 14.0


@dataclass
class Model:
    """The regression of one set of cells.

    Attributes
    ----------
    cells : Cells
        What was fished.
    priors : Priors
        What was assumed.
    design : Design
        What the kernels see.
    luck_nodes : list of (level, time)
        Lure and time [s] of each luck effect.
    bite_nodes : list of float
        Time of each bite effect [s].
    mood_pairs : list of (level, level)
        Colour and sky of each mood effect.
    """

    cells: Cells
    priors: Priors
    design: Design
    luck_nodes: list[tuple[int, float]]
    bite_nodes: list[float]
    mood_pairs: list[tuple[int, int]]


def build(cells: Cells, priors: Priors | None = None, *, extra: Sequence[str] = ()) -> Model:
    """Set up the regression.

    Parameters
    ----------
    cells : Cells
        Effort and catches.
    priors : Priors, optional
        The usual ones if not given.
    extra : sequence of str
        Factors to take in beyond the usual: "place", "rod".

    Returns
    -------
    Model
        Ready to fit.
    """
    priors = priors or Priors()
    n = len(cells.y)
    terms: list[Term] = []
    columns: list[tuple[Integers, Array]] = []
    width = 0

    def add(term: Term, code: Integers, value: Array | None = None) -> None:
        nonlocal width
        terms.append(term)
        on = code >= 0
        columns.append(
            (np.where(on, width + code, 0), on.astype(float) if value is None else value)
        )
        width += len(term.labels)

    # what meets few others goes first: the kernels skip what stays zero before it
    luck_nodes = _luck(cells, priors, add)
    bite_nodes = _bite(cells, priors, add)
    within = 0
    if len(cells.days) > 1:
        within = int(np.sum(cells.now_s - cells.day_s < _LUCK_DAYS * DAY_S))
        if within:
            old = len(cells.days) - within
            code = np.where(cells.day >= old, cells.day - old, -1)
            add(alike("day", cells.days[old:], priors.scales["day"]), code)
    for name, factor in cells.factors.items():
        if len(factor.keys) < 2 or (name in ("place", "rod") and name not in extra):
            continue
        code = cells.codes[name]
        if name in SMOOTH and factor.middles is not None:
            precision = _inverse(_matern(factor.middles, priors.reach[name]))
            add(Term(name, tuple(factor.keys), precision, priors.scales[name]), code)
        else:
            add(alike(name, factor.keys, priors.scales[name]), code)
    mood_pairs = _mood(cells, priors, add)
    zero = np.zeros(n, dtype=np.int64)
    for custom in priors.customs:
        value = custom_values(cells, custom)
        if np.ptp(value) > 0.0:
            add(given(custom.name, custom.mean, custom.sd), zero, value)
    add(given("base", priors.base, priors.base_sd), zero)
    age = np.maximum(cells.now_s - cells.day_s, 0.0) / DAY_S
    weight = 0.5 ** (np.floor(age) / priors.half_life_days)
    design = Design(
        tuple(terms),
        np.column_stack([c for c, _ in columns]),
        np.column_stack([v for _, v in columns]),
        cells.y,
        cells.hours,
        weight[cells.day],
        cells.day,
        day_scale=priors.scales["day"] if len(cells.days) > 1 else 0.0,
        days_within=within,
        clump_scale=priors.scales["clump"],
    )
    return Model(cells, priors, design, luck_nodes, bite_nodes, mood_pairs)


def fit(
    model: Model,
    *,
    draws: int = 2000,
    points: int | None = None,
    tries: int | None = None,
    seed: int = 1,
) -> RatePosterior:
    """Fit it; see `towscope.pattern.fit.fit`."""
    return fit_design(model.design, draws=draws, points=points, tries=tries, seed=seed)


def custom_values(cells: Cells, custom: RuleOfThumb) -> Array:
    """Say how far a rule of thumb speaks for each cell (cells,)."""
    factors = cells.factors
    bodies, colours, lights = (
        np.array([*(factors[n].keys if n in factors else []), ""], dtype=object)
        for n in ("body", "colour", "light")
    )
    middles = factors["temperature"].middles if "temperature" in factors else None
    temps = [*(middles if middles is not None else []), None]
    none = np.full(len(cells.y), -1)
    four = [cells.codes.get(n, none) for n in ("body", "colour", "light", "temperature")]
    sizes = (len(bodies), len(colours), len(lights), len(temps))
    # level -1, not known, is the last of each list
    key = np.ravel_multi_index([c % n for c, n in zip(four, sizes, strict=True)], sizes)
    kinds, inverse = np.unique(key, return_inverse=True)
    values = [
        custom.value(bodies[b], colours[c], lights[sky] or None, temps[t])
        for b, c, sky, t in zip(*np.unravel_index(kinds, sizes), strict=True)
    ]
    return np.array(values)[inverse.ravel()]


def _inverse(covariance: Array) -> Array:
    return np.asarray(np.linalg.inv(covariance), dtype=np.float64)


def _matern(at: Array, reach: float) -> Array:
    """Give Matern's covariance of smoothness 3/2 (k, k)."""
    distance = math.sqrt(3.0) * np.abs(at[:, None] - at) / reach
    return np.asarray((1.0 + distance) * np.exp(-distance) + 1e-6 * np.eye(len(at)))


def _wander(at_s: Array, hours: float) -> Array:
    """Give the precision of a wandering effect at some times (k, k)."""
    distance = np.abs(at_s[:, None] - at_s) / (hours * HOUR_S)
    return _inverse(np.exp(-distance) + 1e-6 * np.eye(len(at_s)))


def _times(cells: Cells, hours: int, days: float) -> tuple[Integers, Array]:
    """Give each cell's time a number: its hour where recent, its day before that, -1 if old."""
    recent = cells.hour_bin >= 0
    middle = np.where(
        recent, (cells.hour_bin // hours + 0.5) * hours * HOUR_S, cells.day_s[cells.day]
    )
    known = recent | (cells.now_s - middle < days * DAY_S)
    key = np.where(recent, cells.hour_bin // hours, -2 - cells.day)
    return np.where(known, key, -1), middle


def _luck(cells: Cells, priors: Priors, add: Add) -> list[tuple[int, float]]:
    factor = cells.factors.get("lure")
    if factor is None or len(factor.keys) < 2:
        return []
    lure = cells.codes["lure"]
    nodes: list[tuple[int, float]] = []
    code: Integers = np.full(len(lure), -1, dtype=np.int64)
    for hours, days in ((1, _LUCK_DAYS), (2, _LUCK_DAYS), (2, 7.0), (4, 3.0), (8, 1.0), (24, 0.5)):
        time, middle = _times(cells, hours, days)
        on = (time != -1) & (lure >= 0)
        pair = np.column_stack([lure[on], time[on]])
        unique, first, inverse = np.unique(pair, axis=0, return_index=True, return_inverse=True)
        if len(unique) <= _NODES:
            break
    if len(unique) == 0:
        return []
    at = middle[on][first]
    order = np.lexsort((at, unique[:, 0]))
    rank = np.empty(len(order), dtype=np.int64)
    rank[order] = np.arange(len(order))
    code[on] = rank[inverse.ravel()]
    precision = np.zeros((len(order), len(order)))
    for level in np.unique(unique[:, 0]):
        mine = np.flatnonzero(unique[order, 0] == level)
        precision[np.ix_(mine, mine)] = _wander(at[order][mine], priors.luck_hours)
    nodes = [(int(unique[i, 0]), float(at[i])) for i in order]
    add(Term("luck", tuple(nodes), precision, priors.scales["luck"]), code)
    return nodes


def _mood(cells: Cells, priors: Priors, add: Add) -> list[tuple[int, int]]:
    """Let each colour do better or worse under each sky."""
    if not all(name in cells.factors and len(cells.factors[name].keys) > 1 for name in _MOOD):
        return []
    colour, light = (cells.codes[name] for name in _MOOD)
    on = (colour >= 0) & (light >= 0)
    skies = len(cells.factors["light"].keys)
    pairs, inverse = np.unique(colour[on] * skies + light[on], return_inverse=True)
    if len(pairs) < 2:
        return []
    code = np.full(len(colour), -1, dtype=np.int64)
    code[on] = inverse.ravel()
    found = [(int(a) // skies, int(a) % skies) for a in pairs]
    add(alike("mood", found, priors.scales["mood"]), code)
    return found


def _bite(cells: Cells, priors: Priors, add: Add) -> list[float]:
    recent = cells.hour_bin >= 0
    bins = np.unique(cells.hour_bin[recent])
    if len(bins) < 2:
        return []
    code = np.where(recent, np.searchsorted(bins, cells.hour_bin), -1).astype(np.int64)
    at = np.asarray((bins + 0.5) * HOUR_S, dtype=np.float64)
    precision = _wander(at, priors.bite_hours)
    add(Term("bite", tuple(at), precision, priors.scales["bite"]), code)
    return [float(t) for t in at]


def lure_now(
    model: Model,
    posterior: RatePosterior,
    lures: Sequence[LureLook],
    *,
    codes: dict[str, Sequence[int]] | None = None,
    light: str | None = None,
    temp_c: float | None = None,
    at_s: float | None = None,
    seed: int = 2,
) -> Array:
    """Draw the log effect of each lure at a moment: all that its kind and its luck come to.

    Parameters
    ----------
    model, posterior
        The regression and its fit.
    lures : sequence of LureLook
        The lures.
    codes : dict, optional
        Levels of "lure", "body", "size", "colour" for each, where already known.
    light : str, optional
        The sky, for the rules of thumb.
    temp_c : float, optional
        Surface temperature, for the rules of thumb [degC].
    at_s : float, optional
        The moment, unix time [s]; the model's own if not given.
    seed : int
        Of the luck to come.

    Returns
    -------
    ndarray (draws, lures)
        Log of the catch rate relative to the base.
    """
    cells, design = model.cells, model.design
    rng = np.random.default_rng(seed)
    draws = len(posterior.effects)
    total = np.zeros((draws, len(lures)))
    for name in LURE_TERMS:
        found = codes[name] if codes else [level_of(cells, name, x) for x in lures]
        if not design.has(name):
            continue
        effect = posterior.effect(name)
        fresh: dict[object, Array] = {}
        for j, level in enumerate(found):
            if level >= 0:
                total[:, j] += effect[:, level]
            elif getattr(lures[j], "name" if name == "lure" else _FIELD[name]) not in ("", None):
                key = getattr(lures[j], "name" if name == "lure" else _FIELD[name])
                if key not in fresh:  # never seen: anything its family allows
                    fresh[key] = posterior.scales[name] * rng.standard_normal(draws)
                total[:, j] += fresh[key]
    for custom in model.priors.customs:
        if design.has(custom.name):
            value = np.array([custom.value(x.body, x.colour, light, temp_c) for x in lures])
        elif not any(t.name == custom.name for t in design.terms):
            value = np.array([custom.value(x.body, x.colour, light, temp_c) for x in lures])
            if np.any(value):
                total += (custom.mean + custom.sd * rng.standard_normal(draws))[:, None] * value
            continue
        total += posterior.effect(custom.name) * value
    if model.mood_pairs and light:
        sky = cells.factors["light"].find(light)
        wanted = [(level_of(cells, "colour", x), sky) for x in lures]
        unseen = {
            pair: posterior.scales["mood"] * rng.standard_normal(draws)
            for pair in dict.fromkeys(wanted)
            if pair not in model.mood_pairs
        }
        for j, pair in enumerate(wanted):
            if pair in unseen:
                total[:, j] += unseen[pair]
            else:
                total[:, j] += posterior.effect("mood")[:, model.mood_pairs.index(pair)]
    return total + luck_now(model, posterior, [level_of(cells, "lure", x) for x in lures],
                            at_s=at_s, rng=rng)  # fmt: skip


_FIELD = {"body": "body", "size": "size_m", "colour": "colour"}


def level_of(cells: Cells, name: str, lure: LureLook) -> int:
    """Give the level of a lure's name, body, size or colour; -1 where unknown."""
    factor = cells.factors.get(name)
    if factor is None:
        return -1
    if name == "size":
        if lure.size_m is None or factor.middles is None or len(factor.middles) == 0:
            return -1
        away = np.abs(factor.middles - lure.size_m)
        best = int(np.argmin(away))
        return best if away[best] <= 0.5 * factor.width + 1e-9 else -1
    return factor.find(lure.name if name == "lure" else getattr(lure, _FIELD[name]))


def luck_now(
    model: Model,
    posterior: RatePosterior,
    levels: Sequence[int],
    *,
    at_s: float | None,
    rng: np.random.Generator,
) -> Array:
    """Draw each lure's luck of the hour at a moment (draws, lures) [ln]."""
    at = model.cells.now_s if at_s is None else at_s
    draws = len(posterior.effects)
    out = np.zeros((draws, len(levels)))
    scale = posterior.scales.get("luck")
    if scale is None:
        return out
    last: dict[int, tuple[float, int]] = {}
    for node, (level, time) in enumerate(model.luck_nodes):
        if level not in last or time > last[level][0]:
            last[level] = (time, node)
    effect = posterior.effect("luck")
    for j, level in enumerate(levels):
        keep = 0.0
        if level in last:
            time, node = last[level]
            keep = math.exp(-max(at - time, 0.0) / (model.priors.luck_hours * HOUR_S))
            out[:, j] = keep * effect[:, node]
        out[:, j] += scale * math.sqrt(1.0 - keep * keep) * rng.standard_normal(draws)
    return out


def surroundings(
    model: Model,
    posterior: RatePosterior,
    *,
    light: str | None = None,
    temp_c: float | None = None,
    hour_h: float | None = None,
    at_s: float | None = None,
    seed: int = 3,
) -> Array:
    """Draw the log catch rate per rod-hour of a lure of no effect, at a moment (draws,)."""
    cells, design = model.cells, model.design
    rng = np.random.default_rng(seed)
    draws = len(posterior.effects)
    out = posterior.effect("base")[:, 0].copy()
    for name, value in (("temperature", temp_c), ("hour", hour_h)):
        middles = cells.factors[name].middles if name in cells.factors else None
        if value is None or middles is None or not design.has(name):
            continue
        out += posterior.effect(name)[:, int(np.argmin(np.abs(middles - value)))]
    if light and design.has("light"):
        level = cells.factors["light"].find(light)
        scale = posterior.scales["light"]
        out += (
            posterior.effect("light")[:, level]
            if level >= 0
            else scale * rng.standard_normal(draws)
        )
    if "day" in posterior.scales:
        today = (cells.now_s if at_s is None else at_s) - cells.fished_s < 10 * HOUR_S
        out += (
            (posterior.effect("day") if design.has("day") else posterior.day_effects)[:, -1]
            if today
            else posterior.scales["day"] * rng.standard_normal(draws)
        )
    if model.bite_nodes:
        at = cells.now_s if at_s is None else at_s
        keep = math.exp(-max(at - model.bite_nodes[-1], 0.0) / (model.priors.bite_hours * HOUR_S))
        out += keep * posterior.effect("bite")[:, -1]
        out += posterior.scales["bite"] * math.sqrt(1 - keep * keep) * rng.standard_normal(draws)
    return out
