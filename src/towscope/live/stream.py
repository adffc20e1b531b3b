"""One slot for each kind of event and listener: each gets the newest, none waits for another."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import AsyncIterator
from typing import Final

KINDS: Final = ("run", "boat", "journal", "units")
QUIET: Final = 10.0  # [s]; a comment is sent where there is nothing to say, so that all know


class Listener:
    """One page that listens: for each kind of event the newest that it has not had yet."""

    def __init__(self, loop: asyncio.AbstractEventLoop) -> None:
        self._loop = loop
        self._ready = asyncio.Event()
        self._newest: dict[str, bytes] = {}
        self._open = True

    def put(self, kind: str, data: bytes) -> None:
        """Leave an event for it, in place of an older one of the kind; from any thread."""
        self._loop.call_soon_threadsafe(self._leave, kind, data)

    def _leave(self, kind: str, data: bytes) -> None:
        self._newest[kind] = data
        self._ready.set()

    def close(self) -> None:
        """End it; from any thread."""

        def end() -> None:
            self._open = False
            self._ready.set()

        self._loop.call_soon_threadsafe(end)

    async def events(self) -> AsyncIterator[bytes]:
        """Give its events as the stream's lines, until it is closed."""
        while self._open:
            try:
                await asyncio.wait_for(self._ready.wait(), QUIET)
            except TimeoutError:
                yield b": quiet\n\n"
                continue
            self._ready.clear()
            newest, self._newest = self._newest, {}
            for kind, data in newest.items():
                yield b"event: " + kind.encode() + b"\ndata: " + data + b"\n\n"


class Listeners:
    """All pages that listen."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._all: set[Listener] = set()
        self._last: dict[str, bytes] = {}

    def join(self) -> Listener:
        """Begin to listen, in the event loop that calls; the newest picture comes at once."""
        listener = Listener(asyncio.get_running_loop())
        with self._lock:
            self._all.add(listener)
            last = self._last.get("run")
        if last is not None:
            listener.put("run", last)
        return listener

    def leave(self, listener: Listener) -> None:
        """Listen no more."""
        with self._lock:
            self._all.discard(listener)

    def tell(self, kind: str, data: bytes) -> None:
        """Tell all; from any thread. `data` is one line."""
        with self._lock:
            self._last[kind] = data
            everyone = list(self._all)
        for listener in everyone:
            try:
                listener.put(kind, data)
            except RuntimeError:  # its loop has ended
                self.leave(listener)

    def close(self) -> None:
        """End them all."""
        with self._lock:
            everyone = list(self._all)
            self._all.clear()
        for listener in everyone:
            try:
                listener.close()
            except RuntimeError:
                continue

    def __len__(self) -> int:
        with self._lock:
            return len(self._all)
