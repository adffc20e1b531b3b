"""The app says hello, and says plainly what is wrong."""

from fastapi.testclient import TestClient

from towscope.units import US
from towscope.web.app import make_app
from towscope.web.context import AppContext


def test_hello_tells_units_as_the_command_line_shows_them() -> None:
    with TestClient(make_app(AppContext(demo=True))) as client:
        said = client.get("/api/hello").json()
    assert said["demo"] is True
    for kind in ("length", "speed", "temperature"):
        unit = said["units"]["us"][kind]
        assert (12.3 - unit["offset"]) / unit["scale"] == US.convert(12.3, kind)
        assert unit["label"] == US.label(kind)


def test_an_unknown_task_is_named() -> None:
    with TestClient(make_app(AppContext())) as client:
        answer = client.get("/api/jobs/none-such")
    assert answer.status_code == 422
    assert "none-such" in answer.json()["error"]
