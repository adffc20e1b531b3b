"""The portable core looks through speeds, draws versions and knows water as the kernels do."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np

from asking import Case, ask
from rigs import desk, pieces, rig, towed
from towscope import water
from towscope.towing import question_kernels as qk
from towscope.towing import rating_kernels as rk
from towscope.towing import search_kernels as sk
from towscope.towing.draw_kernels import shifted
from towscope.towing.steady import ANSWER, room_for

CASES = 2_000
RELATIVE = 1e-9


def _still(own: qk.Rig) -> qk.Rig:
    """Give the rig with the current alone as its water."""
    flow = own.towed.flow - np.array([0.0, own.towed.air_speed, 0.0])
    return own._replace(towed=own.towed._replace(flow=flow, air_speed=0.0))


def test_speeds_for_a_depth_and_a_let_out(tmp_path: Path) -> None:
    rng = np.random.default_rng(11)
    cases = []
    for i in range(CASES):
        own = _still(rig(rng, 2, 1 if i % 40 else 2))
        length = float(own.towed.pieces[:, 0].sum())
        out = length * float(rng.uniform(0.2, 0.9))
        given = {
            "still": own,
            "let_out": out,
            "depth": out * float(rng.uniform(0.05, 0.5)),
            "near": float(rng.uniform(0.5, 1.5)),
            "desk": desk(own),
            "search": sk.Search(
                np.zeros(sk.SEARCHED),
                np.zeros(sk.SPEEDS),
                np.zeros_like(own.towed.flow),
                np.zeros((sk.NEAR, 2)),
            ),
            "found": np.zeros(qk.FOUND),
        }
        cases.append(Case("speed_for", given, ["found", "search.given", "search.others"]))
    ask(cases, tmp_path)
    answered = 0
    for case in cases:
        many = sk.speed_for(*case.given.values())
        assert case.result[0] == many
        search = case.given["search"]
        for path, ours in (("found", case.given["found"]), ("search.given", search.given)):
            np.testing.assert_allclose(case.arrays[path], ours, rtol=RELATIVE, atol=1e-9)
        others = slice(0, max(many - 1, 0))
        np.testing.assert_allclose(
            case.arrays["search.others"][others], search.others[others], rtol=RELATIVE
        )
        answered += many > 0
    assert answered > CASES / 4


def test_the_deepest_and_the_speed_that_reaches_a_depth(tmp_path: Path) -> None:
    rng = np.random.default_rng(12)
    cases = []
    for i in range(CASES):
        own = rig(rng, 1, 1 if i % 100 != 1 else 2)
        if i % 16 == 0:
            own = _still(own)
        rooms = {
            "goals": np.zeros(sk.GOALS),
            "answers": np.zeros((sk.GOALS, ANSWER)),
        }
        room = room_for(len(own.towed.pieces))
        if i % 16:
            cases.append(Case("deepest", {"towed": own.towed, **rooms, "room": room}, []))
            continue
        given = {
            "still": own.towed,
            "depth": float(rng.uniform(1.0, 15.0)),
            "near": float(rng.uniform(0.5, 1.5)),
            **rooms,
            "flow": np.zeros_like(own.towed.flow),
            "room": room,
        }
        cases.append(Case("speed_that_reaches", given, []))
    ask(cases, tmp_path)
    for case in cases:
        ours = getattr(sk, case.way)(*case.given.values())
        np.testing.assert_allclose(case.result, np.atleast_1d(ours), rtol=RELATIVE, atol=1e-9)


def test_dive_areas_from_ratings(tmp_path: Path) -> None:
    rng = np.random.default_rng(13)
    cases = []
    for _ in range(CASES):
        own = towed(rng, pieces(rng)[:1], 1)
        length = float(own.pieces[0, 0])
        out = length * float(rng.uniform(0.3, 0.9))
        given = {
            "towed": own,
            "depth": out * float(rng.uniform(0.02, 0.3)),
            "let_out": out,
            "lure": np.zeros(3),
            "room": room_for(1),
            "out": np.zeros(ANSWER),
        }
        cases.append(Case("dive_area", given, []))
    ask(cases, tmp_path)
    found = 0
    for case in cases:
        ours = rk.dive_area(*case.given.values())
        np.testing.assert_allclose(case.result, ours, rtol=RELATIVE, atol=1e-12)
        found += ours[2] == rk.FOUND
    assert found > CASES / 4


def test_versions_drawn(tmp_path: Path) -> None:
    rng = np.random.default_rng(14)
    cases = []
    for _ in range(CASES):
        own = pieces(rng)
        group = np.sort(rng.integers(0, len(own), len(own)))
        given = {
            "pieces": own,
            "lure": rng.uniform(-0.1, 0.3, 3),
            "group": group,
            "line_sd": rng.uniform(0.0, 0.3, (len(own), 3)),
            "lure_sd": rng.uniform(0.0, 0.3, 4),
            "normal": rng.standard_normal((5, 3 * int(group.max()) + 7)),
            "drawn": np.zeros((5, *own.shape)),
            "lures": np.zeros((5, 3)),
        }
        cases.append(Case("shifted", given, ["drawn", "lures"]))
    ask(cases, tmp_path)
    for case in cases:
        shifted(*case.given.values())
        for path in case.wanted:  # to the last digit
            np.testing.assert_array_equal(case.arrays[path], case.given[path])


def test_water_by_its_temperature(tmp_path: Path) -> None:
    temperatures = np.random.default_rng(15).uniform(0.0, 35.0, CASES)
    cases = [
        Case(way, {"t": float(t)}, [])
        for t in temperatures
        for way in ("water_density", "water_viscosity")
    ]
    ask(cases, tmp_path)
    for case in cases:
        name = {"water_density": "density_at", "water_viscosity": "viscosity_at"}[case.way]
        ours = getattr(water, name)(case.given["t"])
        # a processor's own power may end one digit apart
        assert math.isclose(case.result[0], ours, rel_tol=1e-15)
