"""What the pattern says of days whose truth is known, and of days that know too little."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from simulated_days import START_S, World
from towscope.effort.stint import Stint
from towscope.errors import InputError
from towscope.pattern.answers import pattern_answer
from towscope.pattern.binning import fold
from towscope.pattern.compare import pattern
from towscope.pattern.fit import Term, fit
from towscope.pattern.model import Priors, build
from towscope.pattern.words import comparison, limits, verdict
from towscope.units import METRIC, US


def stint(lure: str, catches: int, **more: object) -> Stint:
    plain = Stint(
        "port", "", lure, "", None, "", None, None, None, START_S, START_S + 3600.0, 1.0, catches,
        0, None, None, None, None, "2026-08-10", 8.0,
    )  # fmt: skip
    return replace(plain, **more)  # type: ignore[arg-type]


def test_two_lures_with_wide_priors_are_the_ratio_of_two_gammas(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # conjugate theory (Gelman et al., Bayesian Data Analysis, ch. 2): with flat priors on the logs
    # of two Poisson rates the rates are gammas of the counts; scipy.stats.gamma draws them
    spans = [stint("small", 14, hours=6.0), stint("large", 6, hours=5.0, rod="starboard")]
    monkeypatch.setattr(
        "towscope.pattern.model.alike",
        lambda name, labels, scale: Term(
            name, tuple(labels), np.eye(len(labels)), 50.0, fixed=True
        ),
    )
    scales = dict.fromkeys(Priors().scales, 1e-3) | {"clump": 0.0}
    priors = Priors(scales=scales, base_sd=50.0, customs=())
    found = pattern(spans, ["lure"], priors=priors, draws=8000)
    rng = np.random.default_rng(0)
    a, b = (stats.gamma.rvs(n, scale=1 / h, size=200_000, random_state=rng) for n, h in
            ((14, 6.0), (6, 5.0)))  # fmt: skip
    pair = found.pairs["lure"][0]
    assert found.levels["lure"][pair.better].key == "small"
    assert pair.probability == pytest.approx(np.mean(a > b), abs=0.015)
    low, middle, high = np.quantile(a / b, (0.05, 0.5, 0.95))
    assert pair.low == pytest.approx(low, rel=0.06)
    assert pair.ratio == pytest.approx(middle, rel=0.04)
    assert pair.high == pytest.approx(high, rel=0.08)
    best = found.levels["lure"][0]
    assert (best.low, best.high) == pytest.approx(
        (np.quantile(a, 0.05), np.quantile(a, 0.95)), rel=0.06
    )


def test_a_lure_is_not_praised_for_the_hour_it_fished() -> None:
    # both lures catch alike hour by hour, but "lucky" fished mostly the good hours
    rng = np.random.default_rng(4)
    spans = []
    for day in range(12):
        for hour in range(6):
            good = hour >= 3
            for rod, lure in enumerate(("lucky", "lucky") if good else ("plain", "plain")):
                name = lure if rng.random() < 0.8 else {"lucky": "plain", "plain": "lucky"}[lure]
                start = START_S + day * 86_400.0 + hour * 3600.0
                spans.append(
                    stint(
                        name,
                        int(rng.poisson(1.5 if good else 0.4)),
                        rod=f"rod-{rod}",
                        start_s=start,
                        end_s=start + 3600.0,
                        day=f"2026-08-{10 + day}",
                        hour=6.5 + hour,
                    )
                )
    found = pattern(spans, ["lure"])
    raw = {x.key: x.raw.per_hour for x in found.levels["lure"]}
    assert raw["lucky"] / raw["plain"] > 1.6
    pair = found.pairs["lure"][0]
    assert pair.low < 1.0
    assert pair.ratio < 1.45


def test_clumped_fish_are_seen_as_such_and_count_for_less() -> None:
    rng = np.random.default_rng(2)
    mean = 0.8
    spans = [
        stint(
            ("small", "large")[i % 2], int(rng.negative_binomial(mean / 1.0, 1 / 2.0)),
            start_s=START_S + 86400.0 * (i // 12), end_s=START_S + 86400.0 * (i // 12) + 3600.0,
            day=f"2026-07-{10 + i // 12:02d}", rod=f"rod-{i % 12}",
        )
        for i in range(240)
    ]  # fmt: skip
    found = pattern(spans, ["lure"])
    assert found.clump_low > 0.3
    assert found.clump_low < 1.0 < found.clump_high
    even = [replace(s, catches=int(rng.poisson(mean))) for s in spans]
    plain = pattern(even, ["lure"])
    assert plain.clump_low < 0.1
    wide = [np.log(f.pairs["lure"][0].high / f.pairs["lure"][0].low) for f in (found, plain)]
    assert wide[0] > 1.1 * wide[1]


def test_recent_hours_weigh_more() -> None:
    # the same fish, yesterday morning or this hour: what a lure is worth now differs
    def worth(newest: str) -> float:
        spans = []
        for i in range(8):
            early = i < 4
            on = ("old" if early else "new") if newest == "new" else ("new" if early else "old")
            for rod, name in enumerate(("old", "new")):
                start = START_S + i * 3600.0
                spans.append(
                    stint(
                        name,
                        2 if name == on else 0,
                        start_s=start,
                        end_s=start + 3600.0,
                        rod=f"rod-{rod}",
                        hour=6.5 + i,
                    )
                )
        found = pattern(spans, ["lure"])
        by = {x.key: x.per_hour for x in found.levels["lure"]}
        return by["new"] / by["old"]

    assert worth("new") > 1.5 > 1 / 1.5 > worth("old")


def test_three_fish_say_what_they_cannot_know() -> None:
    spans = [stint("small", 2), stint("large", 1, rod="starboard"), stint("other", 0)]
    spans = [replace(s, hours=4.0, colour="perch") for s in spans]
    found = pattern(spans, ["lure", "colour", "depth"])
    said = " ".join(limits(found, US))
    assert "Three fish in 12.0 rod-hours can't tell one lure from another" in said
    assert "about 16 fish on the two together" in said
    assert "All effort was with one colour (perch)" in said
    assert "No depth was noted" in said
    assert max(p.probability for p in found.pairs["lure"]) < 0.8
    told = pattern_answer(found, US)
    pairs = [p for p in told.comparisons if p["by"] == "lure"]
    assert "no lure is surely better" in verdict("lure", pairs, told.by["lure"])


def test_no_fish_at_all() -> None:
    found = pattern([stint("small", 0, hours=6.0), stint("large", 0, hours=6.0)], ["lure"])
    assert "No fish in 12.0 rod-hours: the rate is most likely under 0.25" in limits(found, US)[0]


def test_what_always_went_together_cannot_be_told_apart() -> None:
    spans = [
        stint("a", 5, size_m=0.0508, colour="perch"),
        stint("b", 1, size_m=0.1016, colour="silver"),
    ]
    said = " ".join(limits(pattern(spans, ["size", "colour"]), METRIC))
    assert "always went with the same" in said


def test_the_sentence_is_that_of_the_trade() -> None:
    spans = [stint("small", 30, hours=10.0), stint("large", 8, hours=10.0)]
    found = pattern(spans, ["lure"])
    text = comparison(found.pairs["lure"][0], found.levels["lure"], US)
    assert text.startswith("small out-fishes large: 9")
    assert text.endswith(" times")


def test_rules_of_thumb_give_way_to_fish() -> None:
    # warm water, and the quiet lure catches: the rule is believed less than before
    spans = [
        stint(
            name, n, body=body, surface_temp_c=24.0 + (day % 2), rod=name, day=f"2026-08-{day:02d}",
            start_s=START_S + day * 86400.0, end_s=START_S + day * 86400.0 + 3600.0, hours=5.0,
        )
        for day in range(1, 9)
        for name, body, n in (("shad", "shad", 1), ("stick", "stick", 6))
    ]  # fmt: skip
    found = pattern(spans, ["lure"])
    (custom,) = found.customs
    assert custom.believed == pytest.approx(stats.norm.cdf(0.15 / 0.25), abs=1e-6)
    assert custom.probability < custom.believed - 0.15
    assert "rule of thumb" in custom.text


def test_folding_spans_changes_nothing_where_fish_come_one_by_one(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # two spans of an hour are one of two hours, in whatever order they come
    priors = Priors(scales=Priors().scales | {"clump": 0.0})
    monkeypatch.setattr("towscope.pattern.binning.APART", 0)
    one = [stint("a", 3, hours=2.0), stint("b", 1, hours=2.0)]
    two = [stint("b", 1), stint("a", 2), stint("a", 1), stint("b", 0)]
    first, second = (pattern(x, ["lure"], priors=priors) for x in (one, two))
    assert [x.per_hour for x in first.levels["lure"]] == [x.per_hour for x in second.levels["lure"]]
    monkeypatch.setattr("towscope.pattern.binning.APART", 100)
    apart = pattern(two, ["lure"], priors=priors)
    assert [x.per_hour for x in apart.levels["lure"]] == pytest.approx(
        [x.per_hour for x in first.levels["lure"]], rel=0.05
    )


def test_species_counts_only_its_own() -> None:
    spans = [
        stint("a", 3, species=("walleye", "Walleye", "pike")),
        stint("b", 1, species=("pike",)),
    ]
    assert pattern(spans, ["lure"], species="walleye").total.catches == 2


@pytest.mark.parametrize(
    ("spans", "words"),
    [
        ([], "no effort"),
        ([stint("a", 0, hours=0.0)], "no effort"),
        ([stint("a", 1, start_s=5.0, end_s=4.0)], "ends before it starts"),
        ([stint("a", 1, hours=float("nan"))], "rod-hours"),
        ([stint("a", -1)], "catches"),
        ([stint("a", 1, start_s=float("inf"))], "no time"),
    ],
)
def test_impossible_spans_are_named(spans: list[Stint], words: str) -> None:
    with pytest.raises(InputError, match=words):
        pattern(spans, ["lure"])


def test_unknown_factor_is_named() -> None:
    with pytest.raises(InputError, match=r'^by "moon"'):
        pattern([stint("a", 1)], ["moon"])


def test_a_large_fit_agrees_with_a_small_one(monkeypatch: pytest.MonkeyPatch) -> None:
    # the quick way that seasons take, on data that both can do
    import towscope.pattern.fit as module
    from simulated_days import Day, fish, rotate, season

    rng = np.random.default_rng(8)
    world = World(lures=5, rate=1.2)
    truth, log = season(world, rng), []
    for k in range(12):
        fish(Day.make(world, truth, k, rng), 4, rotate, log, [0, 1, 2, 3])
    design = build(fold(log, ignore=("place", "rod"))).design
    exact = fit(design, draws=4000)
    monkeypatch.setattr(module, "LARGE", 10)
    quick = fit(design)
    a, b = exact.effect("lure"), quick.effect("lure")
    assert np.max(np.abs(a.mean(axis=0) - b.mean(axis=0)) / a.std(axis=0)) < 0.35
    assert b.std(axis=0) / a.std(axis=0) == pytest.approx(1.0, abs=0.35)
