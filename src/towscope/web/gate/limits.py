"""Token buckets and caps: how many writes, bytes and streams one client may have."""

from __future__ import annotations

import asyncio
import re
import time
from collections import OrderedDict
from collections.abc import Callable, Iterable
from typing import Any, Final, cast

from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from towscope.web.gate.asgi import WRITES, address_of, header, refusal
from towscope.web.gate.streams import Streams

BODY_BYTES: Final = 2_000_000
UPLOAD_BYTES: Final = 50_000_000
WRITES_EACH_S: Final = 20.0  # a queue that comes ashore goes in batches: far below
WRITES_AT_ONCE: Final = 200.0
# What a route that takes a file says of its body in the API's document; by this it is known here.
FILE_BODY: Final[dict[str, Any]] = {
    "requestBody": {
        "required": True,
        "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
    }
}
PIECE_S: Final = 20.0  # longest silence within a body [s]
GRACE_S: Final = 20.0  # after this, a body must come at SLOWEST on the whole [s]
SLOWEST: Final = 1000.0  # [bytes/s]
KNOWN: Final = 1024  # addresses that are remembered


class Bucket:
    """How many writes an address still has: so many at once, then so many a second."""

    def __init__(
        self,
        rate_s: float = WRITES_EACH_S,
        at_once: float = WRITES_AT_ONCE,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._rate, self._most, self._clock = rate_s, at_once, clock
        self._left: OrderedDict[str, tuple[float, float]] = OrderedDict()

    def wait(self, address: str) -> float:
        """Take one, and give 0; or give the seconds to wait."""
        now = self._clock()
        left, then = self._left.pop(address, (self._most, now))
        left = min(self._most, left + (now - then) * self._rate)
        short = left < 1.0
        self._left[address] = (left if short else left - 1.0, now)
        if len(self._left) > KNOWN:
            self._left.popitem(last=False)
        return (1.0 - left) / self._rate if short else 0.0


class RequestLimits:
    """Refuses writes that come too fast, bodies too large or too slow, and too many streams.

    Parameters
    ----------
    app : ASGIApp
        What is behind.
    uploads : callable, optional
        Gives the paths that take files, as the API has them: ``/api/lake/{name}/soundings``; asked
        once, in a thread, when something large comes for the first time.
    stream : str
        Path of the live stream.
    bucket : Bucket, optional
        Counts the writes.
    streams : Streams, optional
        Counts the streams.
    """

    def __init__(
        self,
        app: ASGIApp,
        uploads: Callable[[], Iterable[str]] = tuple,
        stream: str = "/api/stream",
        bucket: Bucket | None = None,
        streams: Streams | None = None,
    ) -> None:
        self._app, self._stream = app, stream
        self._bucket = bucket or Bucket()
        self._ask, self._uploads = uploads, cast("list[re.Pattern[str]] | None", None)
        self._streams = streams or Streams()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, or say why not."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
        elif scope["path"] == self._stream:
            await self._streams.run(self._app, scope, receive, send)
        else:
            await self._bounded(scope, receive, send)

    async def _bounded(self, scope: Scope, receive: Receive, send: Send) -> None:
        wrong = await self._wrong(scope)
        if wrong is not None:
            await wrong(scope, receive, send)
            return
        await self._measured(scope, receive, send)

    async def _wrong(self, scope: Scope) -> Response | None:
        """Give the refusal that a request's head calls for; None where it may go on."""
        if scope["method"] in WRITES:
            wait = self._bucket.wait(address_of(scope))
            if wait > 0.0:
                seconds = str(max(1, round(wait + 0.5)))
                why = f"too many changes at once; wait {seconds} s"
                return refusal(429, why, retry_after=seconds)
        told = header(scope, "content-length")
        if told is not None and header(scope, "transfer-encoding") is not None:
            return refusal(400, "two lengths are given; expected one", connection="close")
        if told is not None and not (told.isascii() and told.isdigit() and len(told) < 16):
            why = "the length of what was sent is no number"
            return refusal(400, why, connection="close")
        limit = await self._limit(scope, int(told or 0))
        # The line stays open for a while, or the client would not get to read why.
        return refusal(413, _too_large(limit)) if int(told or 0) > limit else None

    async def _measured(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the body on as it comes, counted and timed; answer in the app's place if it errs."""
        begun = time.monotonic()
        come = 0
        done = False  # the body is all here
        wrong: tuple[int, str] | None = None
        started = False

        async def counted() -> Message:
            nonlocal come, done, wrong
            if done:  # the app only waits for the client to leave
                return await receive()
            if wrong is not None:
                return {"type": "http.disconnect"}
            try:
                message = await asyncio.wait_for(receive(), PIECE_S)
            except TimeoutError:
                wrong = (408, f"nothing came for {PIECE_S:.0f} s; send it again")
                return {"type": "http.disconnect"}
            if message["type"] != "http.request":
                return message
            come += len(message.get("body", b""))
            done = not message.get("more_body", False)
            lasted = time.monotonic() - begun
            limit = await self._limit(scope, come)
            if come > limit:
                wrong = (413, _too_large(limit))
            elif not done and lasted > GRACE_S and come < SLOWEST * lasted:
                wrong = (408, "what was sent came too slowly; try nearer to the boat's network")
            if wrong is not None:
                done = False
                return {"type": "http.disconnect"}
            return message

        async def held(message: Message) -> None:
            nonlocal started
            if wrong is not None and not started:
                return  # what the app makes of a body cut short: ours is the better answer
            started = started or message["type"] == "http.response.start"
            await send(message)

        try:
            await self._app(scope, counted, held)
        except Exception:
            if wrong is None or started:
                raise
        if wrong is not None and not started:
            status, why = wrong
            # after a slow body the rest of it is not wanted
            answer = (
                refusal(status, why) if status == 413 else refusal(status, why, connection="close")
            )
            await answer(scope, receive, send)

    async def _limit(self, scope: Scope, size: int) -> int:
        """Give the bytes that may come; what is small need not be asked about."""
        if size <= BODY_BYTES:
            return BODY_BYTES
        if self._uploads is None:
            paths = await asyncio.to_thread(self._ask)
            self._uploads = [re.compile(_pattern(path)) for path in paths]
        path = str(scope["path"])
        return UPLOAD_BYTES if any(each.fullmatch(path) for each in self._uploads) else BODY_BYTES


def _too_large(limit: int) -> str:
    return f"too large to take; expected at most {limit // 1_000_000} MB"


def _pattern(path: str) -> str:
    """Make a pattern of an API path: each {part} stands for one piece between slashes."""
    return "".join(
        "[^/]+" if each.startswith("{") else re.escape(each)
        for each in re.split(r"(\{[^}]*\})", path)
    )
