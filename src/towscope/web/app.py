"""The app put together: routes, errors in plain words, and the pages themselves."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules
from typing import Any, Final

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from pydantic import BaseModel
from starlette.exceptions import HTTPException

from towscope import __version__
from towscope.errors import InputError, NoAnswer, one_line
from towscope.journal.database import DamagedError
from towscope.web import routes
from towscope.web.context import AppContext
from towscope.web.pages_files import Pages
from towscope.web.saying import said

PAGES: Final = Path(__file__).parent / "pages"  # what the front end is built into


class Problem(BaseModel):
    """What is wrong, in one line: the body of every answer that is none."""

    error: str


PROBLEMS: Final = {
    401: "The phone is not paired with the boat",
    403: "Sent from a page that is not the app's",
    404: "There is no such thing",
    409: "The question is fine; there is no such answer",
    413: "Too large to take",
    422: "Something given is wrong; what, and what is expected",
    429: "Too much at once; wait",
}


def make_app(aboard: AppContext | None = None) -> FastAPI:
    """Put the app together.

    Parameters
    ----------
    aboard : AppContext, optional
        What it holds; the user's own journal and tackle if left out.

    Returns
    -------
    FastAPI
        Ready to be served.
    """
    aboard = AppContext() if aboard is None else aboard

    @asynccontextmanager
    async def life(_: FastAPI) -> AsyncIterator[None]:
        yield
        aboard.close()

    app = FastAPI(
        title="towscope",
        version=__version__,
        lifespan=life,
        docs_url=None,  # its page would come from another origin
        redoc_url=None,
        openapi_url="/api/openapi.json",
    )
    app.openapi = _document(app.openapi)  # type: ignore[method-assign]
    app.state.aboard = aboard
    app.add_exception_handler(DamagedError, _anew)
    app.add_exception_handler(InputError, _bad_input)
    app.add_exception_handler(NoAnswer, _no_answer)
    app.add_exception_handler(RequestValidationError, _bad_shape)
    app.add_exception_handler(HTTPException, _no_such)
    app.add_exception_handler(Exception, _fault)
    for name in sorted(module.name for module in iter_modules(routes.__path__)):
        # a module without one holds what others of the same family share
        if router := getattr(import_module(f"towscope.web.routes.{name}"), "router", None):
            app.include_router(router)
    if PAGES.is_dir():
        app.mount("/", Pages(directory=PAGES, html=True), name="pages")
    return app


def _document(made: Callable[[], dict[str, Any]]) -> Callable[[], dict[str, Any]]:
    """Put into the API's document what is answered where there is no answer: said once for all.

    (Given to FastAPI as a model, a route that answers with a page or a PDF would promise its
    refusals as that, too.)
    """
    told: dict[str, Any] = {}

    def document() -> dict[str, Any]:
        if not told:
            told.update(made())
            schemas = told.setdefault("components", {}).setdefault("schemas", {})
            for theirs in ("HTTPValidationError", "ValidationError"):
                schemas.pop(theirs, None)
            schemas["Problem"] = Problem.model_json_schema()
            shape = {"application/json": {"schema": {"$ref": "#/components/schemas/Problem"}}}
            meanings = "; ".join(f"{status}: {meaning}" for status, meaning in PROBLEMS.items())
            answer = {"description": meanings, "content": shape}
            told["components"]["responses"] = {"Problem": answer}
            for operations in told["paths"].values():
                for operation in operations.values():
                    operation["responses"].pop("422", None)  # the framework's own shape
                    operation["responses"]["default"] = {"$ref": "#/components/responses/Problem"}
        return told

    return document


async def _anew(request: Request, error: Exception) -> JSONResponse:
    """Leave a damaged journal for a new one; who asked asks again, phones by themselves."""
    aboard: AppContext = request.app.state.aboard
    if aboard.store.path is None:  # a database server's files are for its keeper to mend
        return await _bad_input(request, error)
    await asyncio.to_thread(aboard.store.begin_anew)
    logging.getLogger("towscope").error("%s", "; ".join(aboard.store.remarks) or error)
    told = "the journal was damaged; a new one holds all that could be read of it; try again"
    return JSONResponse({"error": told}, status_code=503, headers={"Retry-After": "1"})


async def _bad_input(_: Request, error: Exception) -> JSONResponse:
    return JSONResponse({"error": said(error)}, status_code=422)


async def _no_answer(_: Request, error: Exception) -> JSONResponse:
    return JSONResponse({"error": said(error)}, status_code=409)


async def _bad_shape(_: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, RequestValidationError)
    first = error.errors()[0]
    where = ".".join(str(part) for part in first["loc"])
    return JSONResponse({"error": one_line(f"{where}: {first['msg']}")}, status_code=422)


async def _no_such(_: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, HTTPException)
    # A body that is no text at all is bad input like any other.
    status = 422 if error.status_code == 400 else error.status_code
    return JSONResponse({"error": one_line(error.detail)}, status, headers=error.headers)


async def _fault(_: Request, error: Exception) -> JSONResponse:
    told = f"a fault in towscope itself ({type(error).__name__}: {error}); nothing was changed"
    return JSONResponse({"error": one_line(told)}, status_code=500)
