"""The crew's own limits: entered, counted by, read back, and never guessed."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from towscope.effort.fished import present
from towscope.journal.events import read_event
from towscope.journal.ids import new_id
from towscope.journal.times import day_at
from towscope.web.app import make_app
from towscope.web.context import Aboard

INCH = 0.0254
LIMIT = {
    "water": 'Long "Slate"',
    "species": "walleye",
    "minimum_m": 15 * INCH,
    "release_m": [[20 * INCH, 26 * INCH]],
    "keep": 2,
    "over_m": 26 * INCH,
    "over_keep": 1,
    "source": "the rule book, page 12",
}


@pytest.fixture
def aboard() -> Aboard:
    return Aboard()


@pytest.fixture
def client(own_home: Path, aboard: Aboard) -> Iterator[TestClient]:
    with TestClient(make_app(aboard)) as client:
        yield client


def keep(client: TestClient, inches: float, **query: Any) -> dict[str, Any]:
    asked = {"species": "walleye", "length_m": inches * INCH, **query}
    answer = client.get("/api/fish/keep", params=asked)
    assert answer.status_code == 200, answer.text
    told: dict[str, Any] = answer.json()
    return told


def caught(aboard: Aboard, inches: float | None, kept: bool, species: str = "walleye") -> str:
    """Log a fish of now; gives the entry's id."""
    now = present()[0]
    made = {"id": new_id(now_s=now.timestamp()), "device": "phone", "kind": "catch"}
    fish = {"rod": "port", "species": species, "kept": kept}
    if inches is not None:
        fish["length_m"] = inches * INCH
    aboard.store.append([read_event({**made, "at": now.isoformat(), **fish})])
    return str(made["id"])


def test_without_limits_nothing_is_said(client: TestClient) -> None:
    assert keep(client, 21.5) | {"kept_today": 0} == {
        "known": False, "may_keep": None, "why": "", "water": "", "waters": [], "source": "",
        "checked": "", "old": False, "kept_today": 0,
    }  # fmt: skip
    assert client.get("/api/fish/limits").json() == {"limits": [], "trouble": ""}


def test_limits_are_entered_and_read_back(client: TestClient, own_home: Path) -> None:
    told = client.put("/api/fish/limits", json=LIMIT, params={"units": "us"}).json()
    (one,) = told["limits"]
    assert one["checked"] == day_at(present()[0]).isoformat()
    for key, value in LIMIT.items():
        if key not in ("release_m", "minimum_m", "over_m"):
            assert one[key] == value
    assert one["minimum_m"] == pytest.approx(15 * INCH)
    # the file is the one that the command reads, in the units that were typed
    file = tomllib.loads((own_home / "limits.toml").read_text())
    assert file['Long "Slate"']["walleye"]["release"] == [["20 in", "26 in"]]
    # a fish with an odd name, or none we know, has no limit to go by
    assert keep(client, 21.5, species="goldfish from the fair")["known"] is False
    # answers are in the words that were entered, however exact
    assert keep(client, 14.5)["why"] == "shorter than 15 in"
    metric = {**LIMIT, "species": "sauger", "minimum_m": 0.3875}
    client.put("/api/fish/limits", json=metric, params={"units": "metric"})
    assert keep(client, 14.5, species="sauger")["why"] == "shorter than 38.75 cm"
    assert keep(client, 14.5)["why"] == "shorter than 15 in"
    client.delete("/api/fish/limits", params={"water": 'Long "Slate"', "species": "sauger"})
    assert keep(client, 21.5)["may_keep"] is False
    assert keep(client, 16.0)["may_keep"] is True
    gone = client.delete(
        "/api/fish/limits", params={"water": 'Long "Slate"', "species": "walleye"}
    ).json()
    assert gone["limits"] == []
    assert keep(client, 14.5)["known"] is False


def test_what_was_kept_today_counts(client: TestClient, aboard: Aboard) -> None:
    client.put("/api/fish/limits", json=LIMIT)
    caught(aboard, 16.0, kept=False)
    caught(aboard, 16.0, kept=True, species="northern pike")
    assert keep(client, 16.0)["kept_today"] == 0
    long = caught(aboard, 27.0, kept=True)
    assert keep(client, 28.0)["why"] == "1 over 26 in kept already"
    # the fish that is being asked about does not count against itself
    assert keep(client, 27.0, but=long)["may_keep"] is True
    caught(aboard, None, kept=True)
    told = keep(client, 16.0)
    assert (told["may_keep"], told["why"]) == (False, "2 kept already, the limit")
    assert told["kept_today"] == 2


def test_old_limits_say_so(client: TestClient, own_home: Path) -> None:
    client.put("/api/fish/limits", json=LIMIT)
    assert keep(client, 16.0)["old"] is False
    path = own_home / "limits.toml"
    today = day_at(present()[0])
    past = (today - timedelta(days=400)).isoformat()
    path.write_text(path.read_text().replace(today.isoformat(), past))
    assert keep(client, 16.0)["old"] is True


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"source": "  "}, "where the limits are from"),
        ({"species": "dragon"}, "unknown fish"),
        ({"release_m": [[0.6, 0.5]]}, "not shorter"),
        ({"maximum_m": 0.3}, "shortest to keep"),
        ({"over_keep": None}, "both or neither"),
        ({"minimum_m": -1.0}, "minimum_m"),
        ({"keep": 1.5}, "keep"),
    ],
)
def test_bad_limits_are_refused(
    client: TestClient, own_home: Path, change: dict[str, Any], words: str
) -> None:
    answer = client.put("/api/fish/limits", json={**LIMIT, **change})
    assert answer.status_code == 422
    assert words in answer.json()["error"]
    assert not (own_home / "limits.toml").exists()


def test_a_spoilt_file_is_named_and_left_as_it_is(client: TestClient, own_home: Path) -> None:
    path = own_home / "limits.toml"
    path.write_text('["lake"\n')
    assert "not TOML" in client.get("/api/fish/limits").json()["trouble"]
    assert client.put("/api/fish/limits", json=LIMIT).status_code == 422
    assert path.read_text() == '["lake"\n'
