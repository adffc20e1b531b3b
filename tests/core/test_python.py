"""The portable core asked from Python answers what numba does; its absence costs time alone."""

from __future__ import annotations

import io
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from rich.console import Console

import towscope as ts
from rigs import desk, rig
from towscope.errors import NoAnswer
from towscope.sheets.terminal import panel, table_grid
from towscope.tackle.counting import count
from towscope.towing import draw_kernels as dk
from towscope.towing import jit, portable
from towscope.towing import question_kernels as qk
from towscope.towing import rating_kernels as rk
from towscope.towing import search_kernels as sk
from towscope.towing.steady import ANSWER, RELATIVE, room_for, settle, sweep
from towscope.towing.tow import draw
from towscope.units import US

CASES = 300


def cores() -> portable.Cores:
    found = portable.cores()
    assert found is not None, "not built of these sources; run `make core`"
    return found


def same(way: Any, given: tuple[Any, ...], filled: int) -> Any:
    """Ask both; the arrays from so far from the end on are what is filled."""
    copies = tuple(np.copy(each) for each in given[-filled:]) if filled else ()
    answer = cores().ask(way, given)
    ours = way(*given[: len(given) - filled], *copies)
    np.testing.assert_allclose(
        np.array(answer, float) if answer is not None else 0.0,
        np.array(ours, float) if ours is not None else 0.0,
        rtol=1e-9,
    )
    for theirs, own in zip(given[-filled:] if filled else (), copies, strict=True):
        np.testing.assert_allclose(theirs, own, rtol=1e-9, atol=1e-12)
    return answer


def test_every_way_on_made_up_rigs() -> None:
    rng = np.random.default_rng(11)
    answered = 0
    came = set()
    for i in range(CASES):
        own = rig(rng, 8)
        at, length = own.towed, float(own.towed.pieces[:, 0].sum())
        room = room_for(len(at.pieces))
        depth, out = length * rng.uniform(0.02, 0.3), length * rng.uniform(0.1, 1.0)
        answered += same(qk.let_out_for, (own, depth, desk(own), np.zeros(qk.FOUND)), 1)
        answered += same(qk.depth_of, (own, out, desk(own), np.zeros(qk.FOUND)), 1)
        answered += same(qk.where_at, (own, out, room, np.zeros(qk.FOUND)), 1)
        same(settle, (at, out, RELATIVE, room, np.zeros(ANSWER)), 1)
        if len(at.flow) == 1:
            outs = np.linspace(0.1, 1.1, 9) * length
            same(sweep, (at, outs, 1e-7, room, np.zeros((9, ANSWER))), 1)
        grid = (np.array([2.0, 9.0]), np.array([0.6, 1.1]))
        same(qk.table, (own, *grid, desk(own), *np.zeros((3, 2, 2))), 3)
        found = np.zeros(qk.FOUND)
        if qk.where_at(own, out, room, found):
            at_depth = (at, float(found[0]), float(found[5]), room, np.zeros((12, 4)))
            same(qk.line, at_depth, 1)
            rated = (at, float(found[0]), out, np.zeros(3), room, np.zeros(ANSWER))
            came.add(same(rk.dive_area, rated, 0)[2])
        if i % 20 == 0:  # a search takes a thousand questions
            same(sk.speed_for, (*_search(own, out, depth), np.zeros(qk.FOUND)), 1)
            goals = (np.zeros(sk.GOALS), np.zeros((sk.GOALS, ANSWER)))
            same(sk.deepest, (at, *goals, room), 0)
    assert answered > 1.5 * CASES
    assert rk.FOUND in came


def _search(own: qk.Rig, out: float, depth: float) -> tuple[Any, ...]:
    """Ask for a speed: the tow at none, in its current alone."""
    room = desk(own)
    empty = np.empty_like(room.flow)
    still = own._replace(towed=qk.at_speed(own.towed, 0.0, empty))
    search = sk.Search(
        np.zeros(sk.SEARCHED), np.zeros(sk.SPEEDS), empty.copy(), np.zeros((sk.NEAR, 8))
    )
    return still, out, depth, 0.9, room, search


def test_what_is_filled_within_a_named_tuple_comes_back() -> None:
    own = rig(np.random.default_rng(14), 8)
    out = 0.5 * float(own.towed.pieces[:, 0].sum())
    found = np.zeros(qk.FOUND)
    assert qk.where_at(own, out, desk(own).room, found)
    theirs, ours = _search(own, out, float(found[0])), _search(own, out, float(found[0]))
    many = cores().ask(sk.speed_for, (*theirs, np.zeros(qk.FOUND)))
    assert many == sk.speed_for(*ours, np.zeros(qk.FOUND)) > 0
    np.testing.assert_allclose(theirs[-1].given, ours[-1].given, rtol=1e-9)
    assert np.any(np.isclose(theirs[-1].given[sk.SPEED], own.towed.air_speed))


def test_versions_are_drawn_the_same() -> None:
    rng = np.random.default_rng(15)
    drawn = []
    for ask in (cores().ask, lambda way, given: way(*given)):
        rng = np.random.default_rng(15)
        given = (
            rng.uniform(0.1, 2.0, (4, 8)), rng.uniform(0.1, 1.0, 3), np.array([0, 1, 1, 2]),
            rng.uniform(0.0, 0.2, (4, 3)), rng.uniform(0.0, 0.2, 4),
            rng.standard_normal((64, 13)), np.zeros((64, 4, 8)), np.zeros((64, 3)),
        )  # fmt: skip
        ask(dk.shifted, given)
        drawn.append((given[-2], given[-1]))
    np.testing.assert_allclose(drawn[0][0], drawn[1][0], rtol=1e-9)
    np.testing.assert_allclose(drawn[0][1], drawn[1][1], rtol=1e-9)
    assert np.ptp(drawn[0][0][:, 3, 2]) > 0.0


def told(asked: ts.Rig, question: tuple[str, ...]) -> str:
    """Give all that is printed of an answer."""
    page = Console(file=io.StringIO(), width=100, legacy_windows=False)
    try:
        if question[0] == "table":
            grid = asked.table(question[1], question[2])
            page.print(table_grid(asked, grid, US, "", None), repr(grid.to_dict()))
        else:
            answer = getattr(asked, question[0])(*question[1:])
            beside = count(asked.tow, answer.let_out_m).words(US)
            page.print(panel("", repr(answer), beside, asked, answer, US, ""))
    except NoAnswer as none:
        page.print(str(none))
    assert isinstance(page.file, io.StringIO)
    return page.file.getvalue()


def test_what_is_printed_is_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(12)
    asked = []
    for name in ts.rigs():
        own = ts.rig(name)
        own.__dict__["draws"] = draw(own.tow, 16)
        for _ in range(max(6, CASES // len(ts.rigs()))):
            depth, out = f"{rng.uniform(5, 60):.1f} ft", f"{rng.uniform(40, 280):.1f} ft"
            speed = f"{rng.uniform(1.2, 3.2):.2f} mph"
            current = rng.choice(["", "0.3 mph against", "0.4 mph with at 0 ft, 0 mph at 30 ft"])
            way = rng.choice(["let_out", "let_out", "depth"])
            question = (str(way), depth if way == "let_out" else out, speed)
            asked.append((own, question, str(current)))
        asked.append((own, ("table", "10, 20, 30 ft", "1.6, 2.2 mph"), ""))
    monkeypatch.setattr(jit, "loaded", lambda: False)
    light = [_printed(*each) for each in asked]
    monkeypatch.setattr(jit, "loaded", lambda: True)
    assert light == [_printed(*each) for each in asked]
    assert len(light) >= CASES
    assert len(set(light)) > 0.9 * len(light)


def _printed(own: ts.Rig, question: tuple[str, ...], current: str) -> str:
    if not current:
        return told(own, question)
    try:
        answer = getattr(own, question[0])(*question[1:], current=current)
    except NoAnswer as none:
        return str(none)
    return f"{answer!r} {answer.to_dict()}"


def test_a_speed_and_a_shape_are_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    own = ts.rig("demo")
    own.__dict__["draws"] = draw(own.tow, 16)
    found = []
    for loaded in (False, True):
        monkeypatch.setattr(jit, "loaded", lambda own=loaded: own)
        speed = own.speed("30 ft", "170 ft")
        shape = own.shape("150 ft", "2 mph")
        found.append((repr(speed), speed.speed_m_s, np.array([shape.behind_m, shape.depth_m])))
    assert found[0][0] == found[1][0]
    assert found[0][1] == pytest.approx(found[1][1], rel=1e-9)
    np.testing.assert_allclose(found[0][2], found[1][2], rtol=1e-9, atol=1e-9)


def test_from_many_threads() -> None:
    own = rig(np.random.default_rng(13), 16)

    def answer(depth: float) -> list[float]:
        found = np.zeros(qk.FOUND)
        cores().ask(qk.let_out_for, (own, depth, desk(own), found))
        return found.tolist()

    depths = [0.02 * i for i in range(1, 60)]
    with ThreadPoolExecutor(8) as pool:
        at_once = list(pool.map(answer, depths))
    np.testing.assert_equal(at_once, [answer(depth) for depth in depths])


@pytest.mark.parametrize(
    "spoil",
    [
        lambda kept: b"",
        lambda kept: kept[: len(kept) // 2],
        lambda kept: kept[:32] + kept[40:],
        lambda kept: kept[:5000] + bytes([kept[5000] ^ 1]) + kept[5001:],
        lambda kept: bytes(32) + kept[32:],
    ],
)
def test_what_is_kept_and_damaged_is_made_anew(tmp_path: Path, spoil: Any) -> None:
    from wasmtime import Engine

    engine, wasm = Engine(), portable.WASM.read_bytes()
    portable.module_of(engine, wasm, tmp_path)
    file = tmp_path / portable.KEPT
    kept = file.read_bytes()
    file.write_bytes(spoil(kept))
    portable.Cores(engine, portable.module_of(engine, wasm, tmp_path))
    assert file.read_bytes() == kept


def test_what_is_kept_is_used_and_is_of_one_module(tmp_path: Path) -> None:
    from wasmtime import Engine

    engine, wasm = Engine(), portable.WASM.read_bytes()
    portable.module_of(engine, wasm, tmp_path)
    file = tmp_path / portable.KEPT
    first = file.stat()
    portable.module_of(engine, wasm, tmp_path)
    assert (file.stat().st_ino, file.stat().st_mtime_ns) == (first.st_ino, first.st_mtime_ns)
    portable.module_of(engine, wasm + b"\0\3\1xy", tmp_path)  # one more section: another module
    assert file.stat().st_ino != first.st_ino


def test_no_place_to_keep_it_costs_no_answer(tmp_path: Path) -> None:
    from wasmtime import Engine

    engine = Engine()
    (tmp_path / "file").write_text("")
    module = portable.module_of(engine, portable.WASM.read_bytes(), tmp_path / "file" / "below")
    assert portable.Cores(engine, module).ways >= {"let_out_for", "table"}


def test_a_core_of_other_sources_is_not_asked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    wasm = portable.WASM.read_bytes()
    (tmp_path / "core.wasm").write_bytes(wasm[:-1] + bytes([wasm[-1] ^ 1]))
    monkeypatch.setattr(portable, "WASM", tmp_path / "core.wasm")
    assert portable.cores.__wrapped__() is None


def test_without_wasmtime_numba_answers(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "wasmtime", None)
    none = portable.cores.__wrapped__()
    assert none is None
    monkeypatch.setattr("towscope.towing.runner.cores", lambda: none)
    monkeypatch.setattr(jit, "loaded", lambda: False)
    assert "155 ft" in repr(ts.rig("demo").let_out(depth="28 ft", speed="2 mph"))


@pytest.mark.parametrize(
    "asked",
    [
        ["letout", "demo", "--depth", "28 ft", "--speed", "2 mph"],
        ["depth", "demo", "--out", "150 ft", "--speed", "2 mph", "--current", "0.3 mph against"],
        ["speed", "demo", "--depth", "28 ft", "--out", "150 ft"],
        ["table", "demo", "--depths", "20 ft", "--speeds", "2 mph"],
        ["--version"],
    ],
)
def test_a_short_command_never_loads_numba(asked: list[str]) -> None:
    code = (
        "import sys; from towscope.cli import run; "
        f"status = run({asked!r}); print('numba' in sys.modules, status)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "False 0", done.stdout + done.stderr
