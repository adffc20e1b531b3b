"""Lines that never shake hands cost the app nothing: others come through, the laptop always."""

from __future__ import annotations

import contextlib
import resource
import socket
import ssl
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests import loops
from tests.web.gated import Boat

from towscope.web.gate import doorstep
from towscope.web.gate.doorstep import Doorstep


@pytest.fixture
def boat(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Boat]:
    # the test's own 1,300 ends of the lines are open files of this process too
    before = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (min(4096, before[1]), before[1]))
    made = Boat(tmp_path, monkeypatch, https=True)
    yield made
    made.close()
    resource.setrlimit(resource.RLIMIT_NOFILE, before)


def from_address(boat: Boat, last: int) -> socket.socket:
    """Open a line from 127.0.0.`last` (Linux answers all of 127/8) and say nothing."""
    return socket.create_connection(
        ("127.0.0.1", boat.port), timeout=10.0, source_address=(f"127.0.0.{last}", 0)
    )


def asked(boat: Boat, last: int = 1) -> int:
    """Ask over https, as a phone does; give the answer's status."""
    context = ssl._create_unverified_context()
    with context.wrap_socket(from_address(boat, last)) as line:
        line.sendall(b"GET /api/hello HTTP/1.1\r\nHost: boat.local\r\nConnection: close\r\n\r\n")
        return int(line.recv(100).split()[1])


def ended(line: socket.socket, seconds: float = 5.0) -> bool:
    line.settimeout(seconds)
    try:
        return line.recv(1) == b""
    except ConnectionError:
        return True
    except TimeoutError:
        return False


def test_thirteen_hundred_silent_lines_stop_nobody(boat: Boat) -> None:
    assert isinstance(boat.socket, Doorstep)
    silent: list[socket.socket] = []
    try:
        # of thirty addresses, one after the other
        silent.extend(from_address(boat, 10 + number % 30) for number in range(1300))
        assert asked(boat, 200) in (200, 401)
        assert boat.socket.held <= doorstep.MOST
        assert asked(boat, 201) in (200, 401)
    finally:
        for line in silent:
            line.close()


def test_one_address_holds_its_share_and_no_more(boat: Boat) -> None:
    silent = [from_address(boat, 10) for _ in range(doorstep.EACH + 5)]
    try:
        assert sum(ended(line) for line in silent[-5:]) == 5
        assert asked(boat, 11) in (200, 401)
    finally:
        for line in silent:
            line.close()


def test_who_does_not_shake_hands_is_hung_up_on(
    boat: Boat, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(doorstep, "HANDSHAKE_S", 0.3)
    with from_address(boat, 10) as silent, from_address(boat, 10) as dribbles:
        begun = time.monotonic()
        dribbles.sendall(b"\x16\x03\x01")
        assert ended(silent)
        assert ended(dribbles)
        assert time.monotonic() - begun < 4.0
    # who has shaken hands stays, however long it takes over its next word
    context = ssl._create_unverified_context()
    with context.wrap_socket(from_address(boat, 10)) as line, contextlib.suppress(TimeoutError):
        assert not ended(line, 1.0)


def test_when_all_places_are_taken_the_longest_silent_gives_way() -> None:
    async def take() -> None:
        step = Doorstep(socket.create_server(("127.0.0.1", 0)), most=2)
        step.setblocking(False)
        ours = [socket.create_connection(step.getsockname()[:2]) for _ in range(2)]
        theirs = [step.accept()[0] for _ in ours]
        for told in list(doorstep.SHAKEN):
            told(ours[0].getsockname()[:2])  # the first has shaken hands, the second has not
        ours.append(socket.create_connection(step.getsockname()[:2]))
        theirs.append(step.accept()[0])
        assert ended(ours[1])
        for told in list(doorstep.SHAKEN):
            told(ours[2].getsockname()[:2])
        ours.append(socket.create_connection(step.getsockname()[:2]))  # nobody is left to give way
        with pytest.raises(BlockingIOError):
            step.accept()
        assert ended(ours[3])
        assert step.held == 2
        for line in theirs:
            line.close()
        assert step.held == 0
        for line in (*ours, step):
            line.close()

    loops.run(take)
