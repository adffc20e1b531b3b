"""The app says of what works, and of what to run next, what the command line says."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient
from tests.waiting import until

from towscope.demo.day import DEVICE, FIRST, ZONE, demo_day
from towscope.errors import NoAnswer
from towscope.journal.events import read_event
from towscope.journal.ids import new_id
from towscope.journal.opening import open_store
from towscope.progress import Progress
from towscope.web.answer_cache import AnswerCache
from towscope.web.app import make_app
from towscope.web.context import AppContext
from towscope.web.jobs import Job, Jobs

WAIT_S = 60.0  # the kernels may have to be compiled first


@pytest.fixture
def client(own_home: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[TestClient]:
    from zoneinfo import ZoneInfo

    monkeypatch.setenv("TOWSCOPE_ZONE", ZONE)
    with open_store(own_home / "journal.sqlite") as store:
        made = demo_day(FIRST)
        store.append(made.events)
        store.add_track(made.track, DEVICE, ZoneInfo(ZONE))
    with TestClient(make_app(AppContext())) as client:
        yield client


def settled(client: TestClient, path: str, **query: Any) -> dict[str, Any]:
    """Ask until the answer is fresh, or is refused."""
    end = time.monotonic() + WAIT_S
    while time.monotonic() < end:
        answer = client.get(path, params=query)
        assert answer.status_code == 200, answer.text
        said: dict[str, Any] = answer.json()
        if said["state"] in ("fresh", "failed", "stopped"):
            return said
        time.sleep(0.05)
    raise AssertionError(f"{path} was still {said['state']} after {WAIT_S} s")


def test_pattern_is_worked_out_in_the_units_asked(client: TestClient) -> None:
    first = client.get("/api/pattern").json()
    assert first["state"] == "working"
    assert first["answer"] is None
    assert client.get(f"/api/jobs/{first['job']}").json()["what"] == "Pattern"
    assert settled(client, "/api/pattern")["answer"]["comparisons"][0]["text"]
    # in other units the words change, and so do the classes
    metric = settled(client, "/api/pattern", by="depth", units="metric")["answer"]
    assert metric["by"]["depth"][0]["level"].endswith(" m")


def test_a_new_entry_makes_the_answer_stale_then_fresh_again(client: TestClient) -> None:
    before = settled(client, "/api/pattern", by="lure")
    again = client.get("/api/pattern", params={"by": "lure"}).json()
    assert again["as_of"] == before["as_of"], "asked again, it is not worked out again"
    last = [e for e in demo_day(FIRST).events if e.kind == "line_in"][-1]
    fish = read_event(
        {
            "id": new_id(now_s=last.at_s),
            "device": "phone",
            "kind": "catch",
            "rod": last.model_dump()["rod"],
            "at": last.at.isoformat(),
            "species": "walleye",
        }
    )
    with open_store() as store:
        store.append([fish])
    stale = client.get("/api/pattern", params={"by": "lure"}).json()
    assert stale["state"] == "stale"
    assert stale["as_of"] == before["as_of"]
    assert stale["answer"] == before["answer"]
    after = settled(client, "/api/pattern", by="lure")
    assert after["answer"]["catches"] == before["answer"]["catches"] + 1
    assert after["as_of"] > before["as_of"]


def test_a_locked_rod_is_left_alone_and_stays_locked(client: TestClient) -> None:
    said = client.put("/api/next/locks", json={"rods": ["port", " port ", "centre"]})
    assert said.json() == {"rods": ["centre", "port"]}
    answer = settled(client, "/api/next")
    assert answer["locks"] == ["centre", "port"]
    held = {r["rod"]: r for r in answer["answer"]["rods"]}
    assert held["port"]["locked"]
    assert not held["port"]["change"]
    assert not held["starboard"]["locked"]

    client.put("/api/next/locks", json={"rods": ["port", "centre", "starboard"]})
    none = settled(client, "/api/next")
    assert none["state"] == "failed"
    assert "every rod is locked" in none["why"]
    client.put("/api/next/locks", json={"rods": []})
    assert settled(client, "/api/next")["answer"]["rods"]


def test_nothing_fished_is_said_so_and_nonsense_is_refused(
    own_home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with TestClient(make_app(AppContext())) as client:
        empty = settled(client, "/api/pattern")
        assert empty["state"] == "failed"
        assert "no line was in the water in that time" in empty["why"]
        assert "no line was ever set" in settled(client, "/api/next")["why"]
        for query in ({"by": "luck"}, {"by": ","}, {"day": "soon"}, {"days": "-1"},
                      {"units": "furlongs"}, {"by": "x" * 300}):  # fmt: skip
            answer = client.get("/api/pattern", params=query)
            assert answer.status_code == 422, query
            assert len(answer.json()["error"].splitlines()) == 1
        for query in ({"hours_left": "nan"}, {"hours_left": "0"}, {"water_c": "400"}):
            assert client.get("/api/next", params=query).status_code == 422, query
        for body in ({"rods": ["x" * 200]}, {"rods": "port"}, {}, {"rods": ["a"] * 100}):
            assert client.put("/api/next/locks", json=body).status_code == 422, body


def test_what_failed_or_was_stopped_is_not_tried_again_by_itself() -> None:
    jobs = Jobs()
    kept = AnswerCache(jobs)
    tries: list[str] = []

    def fail(_: Progress) -> str:
        tries.append("once")
        raise NoAnswer("too few fish")

    def wait(job: Job | None) -> Job:
        assert job is not None
        until(lambda: job.state != "going", of="the end of the task")
        return job

    first = wait(kept.ask("q", "then", "Q", fail).job)
    assert (first.state, first.error) == ("failed", "too few fish")
    assert kept.ask("q", "then", "Q", fail).job is first
    assert wait(kept.ask("q", "then", "Q", fail, again=True).job) is not first
    wait(kept.ask("q", "since", "Q", fail).job)  # the journal has changed: it may do now
    assert len(tries) == 3

    wait(kept.ask("q", "later", "Q", lambda _: "four fish").job)
    good = kept.ask("q", "later", "Q", fail)
    assert (good.answer, good.fresh) == ("four fish", True)
    old = kept.ask("q", "still later", "Q", fail)
    assert (old.answer, old.fresh, old.as_of) == ("four fish", False, good.as_of)
    jobs.close()
