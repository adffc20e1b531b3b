"""What the gate's tests share: a small app behind the gate, and clients that reach it."""

from __future__ import annotations

import asyncio
import contextlib
import socket
import threading
import time
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Any

import pytest
import uvicorn
from fastapi import FastAPI, Request
from fastapi.responses import JSONResponse, StreamingResponse
from fastapi.staticfiles import StaticFiles
from fastapi.testclient import TestClient
from starlette.types import ASGIApp

from towscope.errors import InputError, NoAnswer
from towscope.web.gate import Settings, addresses, doorstep, guard, timeouts
from towscope.web.gate.limits import FILE_BODY
from towscope.web.routes import pairing

LAPTOP = "http://127.0.0.1:8642"
BOAT = "192.168.4.1"
PHONES = f"https://{BOAT}:8643"
MARK = {"X-Towscope": "1"}
SECRET = "the boat's own secret"


def small_app(pages: Path | None = None) -> FastAPI:
    """An app with one of each: a read, a write, an upload, a stream."""
    app = FastAPI(openapi_url="/api/openapi.json")
    app.state.written = []
    app.add_exception_handler(InputError, _said(422))
    app.add_exception_handler(NoAnswer, _said(409))

    @app.get("/api/hello")
    def hello() -> dict[str, str]:
        return {"version": "1"}

    @app.post("/api/write")
    def write(what: dict[str, Any]) -> dict[str, int]:
        app.state.written.append(what)
        return {"length": len(str(what))}

    @app.post("/api/lakes/{name}/soundings", openapi_extra=FILE_BODY)
    async def upload(name: str, request: Request) -> dict[str, Any]:
        size = 0
        async for piece in request.stream():
            size += len(piece)
        return {"name": name, "size": size}

    @app.get("/api/stream")
    async def stream() -> StreamingResponse:
        async def events() -> AsyncIterator[bytes]:
            for count in range(10_000):
                yield f"event: run\ndata: {count}\n\n".encode()
                await asyncio.sleep(0.02)

        return StreamingResponse(events(), media_type="text/event-stream")

    app.include_router(pairing.router)
    if pages is not None:
        app.mount("/", StaticFiles(directory=pages, html=True))
    return app


def _said(status: int) -> Any:
    return lambda _, error: JSONResponse({"error": str(error)}, status_code=status)


def gated(
    home: Path, monkeypatch: pytest.MonkeyPatch, *, lan: bool = True, pages: Path | None = None
) -> tuple[FastAPI, ASGIApp]:
    """Give the small app and the gate around it, on a boat's network."""
    monkeypatch.setattr(addresses, "lan_addresses", lambda: [BOAT])
    monkeypatch.setattr(addresses, "machine_names", lambda: ["boat.local", "boat"])
    app = small_app(pages)
    return app, guard(app, Settings(lan, 8643, home))


def laptop(app: ASGIApp) -> TestClient:
    """Give the browser of the boat's own machine."""
    return TestClient(app, base_url=LAPTOP, client=("127.0.0.1", 40_000), follow_redirects=False)


def phone(app: ASGIApp, address: str = "192.168.4.20") -> TestClient:
    """Give a phone's browser on the boat's network."""
    return TestClient(app, base_url=PHONES, client=(address, 40_000), follow_redirects=False)


def pair(app: FastAPI, client: TestClient, name: str = "Ada") -> Any:
    """Let a phone in."""
    code = app.state.gate.pairing.renew()
    return client.post("/pair", data={"code": code, "name": name}, headers={"Origin": PHONES})


class Boat:
    """A small app behind the gate, served."""

    def __init__(
        self, home: Path, monkeypatch: pytest.MonkeyPatch, *, lan: bool = True, https: bool = False
    ) -> None:
        pages = home / "pages"
        (pages / "assets").mkdir(parents=True)
        (pages / "index.html").write_text("<!doctype html><title>app</title>")
        (pages / "assets" / "app-1234.js").write_text("1")
        (home / "secret.txt").write_text(SECRET)
        self.app: FastAPI
        self.app, gate = gated(home, monkeypatch, lan=lan, pages=pages)
        context = self.app.state.gate.certificate.context() if https else None
        config = uvicorn.Config(
            gate, interface="asgi3", http=timeouts.Wire, ws="none", log_config=None,
            access_log=False, server_header=False, proxy_headers=False,
            timeout_graceful_shutdown=1,
            ssl_context_factory=(lambda *_: context) if context is not None else None,
        )  # fmt: skip
        self.server = uvicorn.Server(config)
        self.socket = socket.create_server(("127.0.0.1", 0), backlog=512)
        if https:
            self.socket = doorstep.Doorstep(self.socket)
        self.port: int = self.socket.getsockname()[1]
        self.thread = threading.Thread(
            target=self.server.run, kwargs={"sockets": [self.socket]}, daemon=True
        )
        self.thread.start()
        while not self.server.started:
            time.sleep(0.01)

    def close(self) -> None:
        self.app.state.gate.streams.end()
        self.server.should_exit = True
        self.thread.join(5.0)

    def line(self) -> socket.socket:
        return socket.create_connection(("127.0.0.1", self.port), timeout=10.0)

    def say(self, text: str | bytes) -> bytes:
        """Send bytes as they are and give all that comes back."""
        with self.line() as line:
            line.sendall(text if isinstance(text, bytes) else text.encode())
            return heard(line)

    def head(
        self, target: str = "/api/hello", method: str = "GET", more: str = "", keep: bool = False
    ) -> str:
        more = more if keep else f"Connection: close\r\n{more}"
        return f"{method} {target} HTTP/1.1\r\nHost: 127.0.0.1:{self.port}\r\n{more}\r\n"


def heard(line: socket.socket, seconds: float = 0.5) -> bytes:
    """Give what comes until it is quiet for a while or the line ends."""
    line.settimeout(seconds)
    got = b""
    with contextlib.suppress(TimeoutError, ConnectionError):
        while piece := line.recv(65_536):
            got += piece
    return got
