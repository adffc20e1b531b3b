"""Lines out by the journal: do they tangle, how tight may the boat turn, when is nothing said."""

from __future__ import annotations

import time
from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
from fastapi.testclient import TestClient

from towscope.effort.fished import present
from towscope.journal.events import read_event
from towscope.journal.ids import new_id
from towscope.web.app import make_app
from towscope.web.context import Aboard


@pytest.fixture
def aboard() -> Aboard:
    return Aboard()


@pytest.fixture
def client(own_home: object, aboard: Aboard) -> Iterator[TestClient]:
    with TestClient(make_app(aboard)) as client:
        yield client


def out(aboard: Aboard, *lines: tuple[str, float]) -> None:
    """Log lines out on the demo rig."""
    at = present()[0] - timedelta(minutes=10)
    made: list[Any] = []
    for rod, let_out in lines:
        name = new_id(after=made[-1].id if made else None, now_s=at.timestamp())
        said = {"id": name, "device": "phone", "at": at.isoformat(), "kind": KIND, "rod": rod}
        made.append(read_event({**said, "rig": "demo", "let_out_m": let_out}))
    aboard.store.append(made)


KIND = "line_out"


def asked(client: TestClient, **ask: Any) -> dict[str, Any]:
    answer = client.post("/api/run/spread", json=ask)
    assert answer.status_code == 202, answer.text
    end = time.monotonic() + 240.0  # the kernels may have to be compiled
    while (job := client.get(f"/api/jobs/{answer.json()['id']}").json())["state"] == "going":
        assert time.monotonic() < end
        time.sleep(0.05)
    assert job["state"] == "done", job["error"]
    result: dict[str, Any] = job["result"]
    return result


def test_two_lines_well_apart_do_not_tangle_and_turn_only_so_tight(
    client: TestClient, aboard: Aboard
) -> None:
    out(aboard, ("port", 40.0), ("starboard", 40.0))
    told = asked(client)
    assert told["verdict"] == "clear"
    assert told["faults"] == []
    assert told["rods"] == ["port", "starboard"]
    port, starboard = told["turns"]
    assert (port["side"], starboard["side"]) == ("port", "starboard")
    # alike on both sides, so the boat turns as tight either way
    assert port["radius_m"] == pytest.approx(starboard["radius_m"], rel=0.05)
    assert 5.0 <= port["radius_m"] < 120.0


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ((), "fewer than two lines"),
        ((("port", 40.0),), "fewer than two lines"),
        ((("rod 1", 40.0), ("rod 2", 45.0)), "rod 1 and rod 2 stand at the same place"),
        ((("port", 40.0), ("starboard", 900.0)), "starboard: "),
    ],
)
def test_what_can_not_be_known_is_not_said(
    client: TestClient, aboard: Aboard, lines: tuple[tuple[str, float], ...], words: str
) -> None:
    out(aboard, *lines) if lines else None
    answer = client.post("/api/run/spread", json={})
    assert answer.status_code == 409
    assert words in answer.json()["error"]
