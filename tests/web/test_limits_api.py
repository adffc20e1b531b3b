"""The crew's own limits: entered, read back, and never guessed."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from towscope.effort.fished import present
from towscope.journal.times import day_at
from towscope.web.app import make_app
from towscope.web.context import AppContext

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
def aboard() -> AppContext:
    return AppContext()


@pytest.fixture
def client(own_home: Path, aboard: AppContext) -> Iterator[TestClient]:
    with TestClient(make_app(aboard)) as client:
        yield client


def limits(client: TestClient) -> list[dict[str, Any]]:
    told: list[dict[str, Any]] = client.get("/api/fish/limits").json()["limits"]
    return told


def test_without_limits_nothing_is_said(client: TestClient) -> None:
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
    # however exact, it is read back as it was entered
    metric = {**LIMIT, "species": "sauger", "minimum_m": 0.3875}
    client.put("/api/fish/limits", json=metric, params={"units": "metric"})
    assert "38.75 cm" in (own_home / "limits.toml").read_text()
    assert [one["minimum_m"] for one in limits(client)] == pytest.approx([15 * INCH, 0.3875])
    client.delete("/api/fish/limits", params={"water": 'Long "Slate"', "species": "sauger"})
    assert [one["species"] for one in limits(client)] == ["walleye"]
    gone = client.delete(
        "/api/fish/limits", params={"water": 'Long "Slate"', "species": "walleye"}
    ).json()
    assert gone["limits"] == limits(client) == []


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
