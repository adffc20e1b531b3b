"""Deadlines for a request's head and body, and a cap on open lines of one client.

The server's own limits begin when a request is complete; who sends the head of one a letter at a
time, or opens lines and says nothing, would hold them for ever.
"""

from __future__ import annotations

import asyncio
from collections import Counter
from collections.abc import Callable
from typing import Final

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

HEAD_S: Final = 15.0
EACH: Final = 48  # a browser holds six; several pages on the laptop hold some more
# Told of each line that has shaken hands, by its address and port (`towscope.web.gate.doorstep`).
SHAKEN: Final[list[Callable[[tuple[str, int]], None]]] = []
_open: Counter[str] = Counter()


class Wire(H11Protocol):
    """HTTP/1.1 that hangs up on who dawdles or holds too many lines."""

    _late: asyncio.TimerHandle | None = None
    _from: str = ""

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Take a line, unless this address holds too many."""
        super().connection_made(transport)
        self._from = self.client[0] if self.client else ""
        if self.client:
            for told in SHAKEN:
                told(self.client)
        _open[self._from] += 1
        if _open[self._from] > EACH:
            transport.abort()
        else:
            self._watch()

    def connection_lost(self, exc: Exception | None) -> None:
        """Forget a line."""
        _open[self._from] -= 1
        if _open[self._from] <= 0:
            del _open[self._from]
        self._unwatch()
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """Take what has come; watch the clock while a head is incomplete."""
        super().data_received(data)
        unfinished = self.conn.their_state is h11.IDLE or (
            # answered already, and still sending: a refusal does not stop him
            self.conn.our_state is h11.DONE and self.conn.their_state is h11.SEND_BODY
        )
        if unfinished and not self.transport.is_closing():
            self._watch()
        else:
            self._unwatch()

    def _watch(self) -> None:
        if self._late is None:
            self._late = self.loop.call_later(HEAD_S, self._hang_up)

    def _unwatch(self) -> None:
        if self._late is not None:
            self._late.cancel()
            self._late = None

    def _hang_up(self) -> None:
        self._late = None
        if not self.transport.is_closing():
            self.transport.close()
