"""Counts lines as they come in, by address and in all, before anybody has said a word.

The wire's own limits begin when a line is secured. Who opens lines and never shakes hands would use
up the files that a process may hold open, and with them the app; so they are counted, and hurried,
from the moment they are accepted.
"""

from __future__ import annotations

import asyncio
import contextlib
import socket
import sys
from collections import Counter
from typing import Any, Final

from towscope.web.gate.timeouts import EACH, SHAKEN

HANDSHAKE_S: Final = 10.0  # a phone at the far end of a bad network needs one or two
MOST: Final = 256  # a boat's phones hold some six each
_MOST_AT_ONCE: Final = 64  # refused in a row; then others get their turn
Peer = tuple[str, int]


class Doorstep(socket.socket):
    """A listening socket that holds no more lines than it may.

    A line too many of one address is refused. Where all places are taken, the one that has waited
    longest without shaking hands gives way; where all have shaken hands, the new one is refused.

    Parameters
    ----------
    listening : socket.socket
        A listening socket; it is taken over.
    most : int
        How many lines at once.
    each : int
        How many of one address.

    Notes
    -----
    asyncio asks a selector's listening socket itself for its lines (CPython 3.11 to 3.14,
    ``asyncio.selector_events``): there `accept` is the one place that all pass. On Windows the
    system hands them over; the wire's own limits hold there alone.
    """

    def __init__(self, listening: socket.socket, *, most: int = MOST, each: int = EACH) -> None:
        blocking = listening.getblocking()
        super().__init__(listening.family, listening.type, listening.proto, listening.detach())
        self.setblocking(blocking)
        self.most = min(most, _a_third_of_files())
        self.each = each
        self._held: dict[Peer, _Line] = {}  # in order of arrival
        self._of: Counter[str] = Counter()
        SHAKEN.append(self._shaken)

    def accept(self) -> tuple[socket.socket, Any]:
        """Take a line.

        Raises
        ------
        BlockingIOError, ConnectionAbortedError
            Where none waits, or all that do are refused.
        """
        for _ in range(_MOST_AT_ONCE):
            made, peer = super().accept()
            if self._of[peer[0]] >= self.each or not self._room():
                made.close()
                continue
            line = _Line(made, self, peer[:2])
            self._held[line.peer] = line
            self._of[peer[0]] += 1
            return line, peer
        raise ConnectionAbortedError

    def close(self) -> None:
        """Stop listening."""
        with contextlib.suppress(ValueError):
            SHAKEN.remove(self._shaken)
        super().close()

    @property
    def held(self) -> int:
        """How many lines there are."""
        return len(self._held)

    def _room(self) -> bool:
        if len(self._held) < self.most:
            return True
        waiting = next((line for line in self._held.values() if line.late is not None), None)
        if waiting is not None:
            waiting.hang_up()
        return waiting is not None

    def _shaken(self, peer: Peer) -> None:
        line = self._held.get(peer)
        if line is not None:
            line.wait_no_longer()

    def forget(self, line: _Line) -> None:
        """Count a line no more."""
        if self._held.get(line.peer) is line:
            del self._held[line.peer]
            self._of[line.peer[0]] -= 1
            if not self._of[line.peer[0]]:
                del self._of[line.peer[0]]


class _Line(socket.socket):
    """One line: hung up on where it does not shake hands in time."""

    def __init__(self, made: socket.socket, step: Doorstep, peer: Peer) -> None:
        super().__init__(made.family, made.type, made.proto, made.detach())
        self.peer = peer
        self._step = step
        self.late: asyncio.TimerHandle | None = asyncio.get_running_loop().call_later(
            HANDSHAKE_S, self.hang_up
        )

    def wait_no_longer(self) -> None:
        """End the wait: it has shaken hands, or is gone."""
        if self.late is not None:
            self.late.cancel()
            self.late = None

    def hang_up(self) -> None:
        """End it for both sides; who reads from it here finds its end, and closes it."""
        self.wait_no_longer()
        self._step.forget(self)
        with contextlib.suppress(OSError):
            self.shutdown(socket.SHUT_RDWR)

    def close(self) -> None:
        """Close it, and count it no more."""
        self.wait_no_longer()
        self._step.forget(self)
        super().close()


def _a_third_of_files() -> int:
    """Give a third of the files that this process may hold open: the rest is the boat's own."""
    if sys.platform == "win32":
        return MOST
    import resource

    soft, _ = resource.getrlimit(resource.RLIMIT_NOFILE)
    return MOST if soft == resource.RLIM_INFINITY else max(soft // 3, 1)
