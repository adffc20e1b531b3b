"""The API keeps its word: no answer but those the OpenAPI document promises, and never a fault.

The judge is schemathesis: it makes requests from the document, good ones and bad ones, and holds
each answer against it.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, settings
from schemathesis import Case, CheckContext, Response
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)
from starlette.types import Receive, Scope, Send

from towscope.web.app import PROBLEMS, make_app
from towscope.web.context import AppContext
from towscope.web.gate import upload_paths

EXAMPLES = 6  # for each operation; the run must stay short


def known_refusal(_: CheckContext, response: Response, case: Case) -> None:
    """An answer is the operation's own, or a refusal of a kind that the document names.

    (To schemathesis any status is promised where there is a default.)
    """
    if case.method.upper() != case.operation.method.upper() and response.status_code == 405:
        return  # the path has no such method
    own = case.operation.definition.raw["responses"]
    assert str(response.status_code) in own or response.status_code in PROBLEMS, (
        f"no answer promised has status {response.status_code}"
    )


CHECKS = [
    not_a_server_error,
    known_refusal,
    status_code_conformance,
    content_type_conformance,
    response_schema_conformance,
]

_ABOARD = AppContext()
_APP = make_app(_ABOARD)


async def _going(scope: Scope, receive: Receive, send: Send) -> None:
    """The app, kept going: each request here would else end it and begin it again."""
    if scope["type"] == "http":
        await _APP(scope, receive, send)
        return
    for what in ("startup", "shutdown"):
        await receive()
        await send({"type": f"lifespan.{what}.complete"})


_SCHEMA = schemathesis.openapi.from_asgi("/api/openapi.json", _going).exclude(
    path="/api/stream"  # it has no end; tests of its own follow it
)


@pytest.fixture(scope="module")
def laid(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, str]]:
    """Lay out the made-up days, and give the names of what is in them."""
    from towscope.demo.home import lay_out

    home = tmp_path_factory.mktemp("schema")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("TOWSCOPE_HOME", str(home))
        playing = lay_out(home)
        _ABOARD.lake = playing.lake
        _ABOARD.follow()
        day = _ABOARD.store.last_day()
        assert day is not None
        rig = next(iter(_ABOARD.shelf().rigs))
        yield {"home": str(home), "lake": playing.lake, "day": day, "rig": rig}
        _ABOARD.close()


def _there(case: Case, laid: dict[str, str]) -> None:
    """Name what there is in half of the requests: made-up names alone find nothing."""
    if not case.path_parameters or zlib.crc32(repr(case.path_parameters).encode()) % 2:
        return
    path = case.operation.path
    for part in case.path_parameters:
        if part == "lake" or (part == "name" and "/lakes/" in path):
            case.path_parameters[part] = laid["lake"]
        elif part == "day":
            case.path_parameters[part] = laid["day"]
        elif part == "name" and "/rigs/" in path:
            case.path_parameters[part] = laid["rig"]


@_SCHEMA.parametrize()
@settings(
    max_examples=EXAMPLES,
    deadline=None,
    derandomize=True,
    suppress_health_check=list(HealthCheck),
)
def test_every_answer_is_one_that_was_promised(
    case: Case, laid: dict[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TOWSCOPE_HOME", laid["home"])
    _there(case, laid)
    case.call_and_validate(checks=CHECKS)


def test_what_is_wrong_has_one_shape_everywhere() -> None:
    document = _APP.openapi()
    for path, operations in document["paths"].items():
        for method, operation in operations.items():
            answers: dict[str, Any] = operation["responses"]
            assert answers["default"] == {"$ref": "#/components/responses/Problem"}, (path, method)
            assert all(each < "4" for each in answers if each != "default"), (path, method)
    refusal = document["components"]["responses"]["Problem"]
    assert refusal["content"] == {
        "application/json": {"schema": {"$ref": "#/components/schemas/Problem"}}
    }
    assert all(f"{status}: " in refusal["description"] for status in PROBLEMS)
    assert document["components"]["schemas"]["Problem"]["required"] == ["error"]
    assert "HTTPValidationError" not in document["components"]["schemas"]


def test_the_gate_knows_what_takes_files() -> None:
    assert set(upload_paths(_APP.openapi())) == {"/api/lakes", "/api/journal-file"}
