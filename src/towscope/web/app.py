"""The app put together: routes, errors in plain words, and the pages themselves."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib import import_module
from pathlib import Path
from typing import Final

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from fastapi.staticfiles import StaticFiles

from towscope import __version__
from towscope.errors import InputError, NoAnswer, one_line
from towscope.web.aboard import Aboard

# Modules of `towscope.web.routes`, each with a `router`.
ROUTES: Final = ("hello", "jobs")
PAGES: Final = Path(__file__).parent / "pages"  # what the front end is built into


def make_app(aboard: Aboard | None = None) -> FastAPI:
    """Put the app together.

    Parameters
    ----------
    aboard : Aboard, optional
        What it holds; the user's own journal and tackle if left out.

    Returns
    -------
    FastAPI
        Ready to be served.
    """
    aboard = Aboard() if aboard is None else aboard

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
    app.state.aboard = aboard
    app.add_exception_handler(InputError, _bad_input)
    app.add_exception_handler(NoAnswer, _no_answer)
    app.add_exception_handler(RequestValidationError, _bad_shape)
    for name in ROUTES:
        app.include_router(import_module(f"towscope.web.routes.{name}").router)
    if PAGES.is_dir():
        app.mount("/", StaticFiles(directory=PAGES, html=True), name="pages")
    return app


async def _bad_input(_: Request, error: Exception) -> JSONResponse:
    return JSONResponse({"error": one_line(error)}, status_code=422)


async def _no_answer(_: Request, error: Exception) -> JSONResponse:
    return JSONResponse({"error": one_line(error)}, status_code=409)


async def _bad_shape(_: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, RequestValidationError)
    first = error.errors()[0]
    where = ".".join(str(part) for part in first["loc"])
    return JSONResponse({"error": one_line(f"{where}: {first['msg']}")}, status_code=422)
