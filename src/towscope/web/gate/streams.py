"""Live streams by owner, counted, and ended whole, at once."""

from __future__ import annotations

import asyncio
import threading
from typing import Final

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from towscope.web.gate.asgi import address_of, refusal

EACH: Final = 8  # a phone has one or two; the laptop's browser may have several pages open
ALL: Final = 64
OWNER: Final = "towscope.owner"  # key of the scope: the phone that a request is from


class Streams:
    """The streams that are open.

    Each is counted for the address that it goes to, and runs as a task of its own, so that it can
    be ended from outside: when its phone is put ashore, or the server ends.
    """

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._open: dict[asyncio.Task[None], tuple[str, str | None]] = {}
        self._closed = False

    def count(self, address: str | None = None) -> int:
        """Count those that go to an address, or all."""
        with self._lock:
            return sum(address in (None, each) for each, _ in self._open.values())

    def end(self, owner: str | None = None) -> None:
        """End those of a phone; all of them, and let no more begin, where none is named."""
        with self._lock:
            self._closed = self._closed or owner is None
            tasks = [task for task, (_, whose) in self._open.items() if owner in (None, whose)]
        for task in tasks:
            task.get_loop().call_soon_threadsafe(task.cancel)

    async def run(self, app: ASGIApp, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one, or say why not."""
        address = address_of(scope)
        here = self.count(address)
        if self._closed:
            await refusal(503, "the app is ending; open it again in a moment")(scope, receive, send)
            return
        if here >= EACH or self.count() >= ALL:
            why = f"{here} live pictures are open here already; close some of them"
            await refusal(429, why, retry_after="5")(scope, receive, send)
            return
        started = ended = False

        async def noted(message: Message) -> None:
            nonlocal started, ended
            started = True
            ended = message["type"] == "http.response.body" and not message.get("more_body", False)
            await send(message)

        async def serve() -> None:
            await app(scope, receive, noted)

        task = asyncio.create_task(serve())
        with self._lock:
            self._open[task] = (address, scope.get(OWNER))
        try:
            await asyncio.wait({task})
        finally:
            with self._lock:
                del self._open[task]
            task.cancel()  # where the server itself ends this
        if not task.cancelled():
            task.result()
        elif not started:
            await refusal(401, "this phone was removed")(scope, receive, send)
        elif not ended:
            await send({"type": "http.response.body", "body": b""})
