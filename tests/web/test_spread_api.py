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
from towscope.web.context import AppContext


@pytest.fixture
def aboard() -> AppContext:
    return AppContext()


@pytest.fixture
def client(own_home: object, aboard: AppContext) -> Iterator[TestClient]:
    with TestClient(make_app(aboard)) as client:
        yield client


def out(aboard: AppContext, *lines: tuple[str, float]) -> None:
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
    client: TestClient, aboard: AppContext
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


def test_boards_take_lines_out_so_that_they_turn_wider(
    client: TestClient, aboard: AppContext
) -> None:
    """Two lines behind boards, 60 ft out on either side: the one inside a turn comes to stand."""
    assert client.get("/api/run/spread/boards").json()["kinds"] == ["small", "medium", "large"]
    out(aboard, ("port", 20.0), ("starboard", 20.0))
    bare = asked(client)["turns"][0]["radius_m"]
    board = {"kind": "medium", "line_m": 18.288}
    told = asked(client, boards={"port": board, "starboard": board})
    assert told["verdict"] == "clear"
    wide = told["turns"][0]["radius_m"]
    assert wide is None or wide > 1.3 * bare


@pytest.mark.parametrize(
    ("boards", "words"),
    [
        ({"centre": {"kind": "medium", "line_m": 18.0}}, "no line is out on this rod"),
        ({"port": {"kind": "huge", "line_m": 18.0}}, 'no planer board called "huge"; known are'),
        ({"port": {"kind": "small", "line_m": 1.0}}, "line_m"),
        ({"port": {"kind": "small", "line_m": 149.0}}, "of line in all"),
    ],
)
def test_a_board_that_cannot_be_there_is_refused(
    client: TestClient, aboard: AppContext, boards: dict[str, Any], words: str
) -> None:
    out(aboard, ("port", 100.0), ("starboard", 40.0))
    answer = client.post("/api/run/spread", json={"boards": boards})
    assert answer.status_code == 422
    assert words in answer.json()["error"]


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
    client: TestClient, aboard: AppContext, lines: tuple[tuple[str, float], ...], words: str
) -> None:
    out(aboard, *lines) if lines else None
    answer = client.post("/api/run/spread", json={})
    assert answer.status_code == 409
    assert words in answer.json()["error"]
