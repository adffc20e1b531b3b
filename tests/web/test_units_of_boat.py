"""The boat's units: the first phone's, then whatever is chosen; kept over a restart."""

from __future__ import annotations

from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from towscope.web.app import make_app
from towscope.web.context import AppContext


def test_the_first_phone_decides_and_a_choice_counts_for_all(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TOWSCOPE_HOME", str(tmp_path))

    def put(client: TestClient, units: str, first: bool = False) -> str:
        answer = client.put("/api/units", json={"units": units, "first": first})
        return str(answer.json()["units"])

    with TestClient(make_app(AppContext()), headers={"X-Towscope": "1"}) as client:
        assert client.get("/api/hello").json()["boat_units"] is None
        assert put(client, "us", first=True) == "us"
        assert put(client, "metric", first=True) == "us"
        assert put(client, "metric-knots") == "metric-knots"
        assert client.put("/api/units", json={"units": "furlongs"}).status_code == 422
    with TestClient(make_app(AppContext()), headers={"X-Towscope": "1"}) as client:
        told = client.get("/api/hello").json()
        assert told["boat_units"] == "metric-knots"
        # 1 knot is 1852 m in an hour (BIPM, The International System of Units, 9th edition)
        assert told["units"]["us-knots"]["speed"]["scale"] == pytest.approx(1852.0 / 3600.0)
        assert told["units"]["us-knots"]["length"] == told["units"]["us"]["length"]
    (tmp_path / "boat.json").write_text("{")
    with TestClient(make_app(AppContext()), headers={"X-Towscope": "1"}) as client:
        assert client.get("/api/units").json() == {"units": None}
