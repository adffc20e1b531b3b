"""Listeners to NMEA 0183 talk on a network or a cable: TCP, UDP and serial feeds.

These only listen: not a byte is ever sent to the boat's instruments.
"""

from __future__ import annotations

import contextlib
import errno
import os
import select
import socket
import time
from collections.abc import Iterator
from typing import Any, Final

from towscope.boat.feeds.reconnect import SILENCE, SLICE, Broken, Life, Worker
from towscope.boat.feeds.talk import Talk

CONNECTING: Final = 5.0  # [s] to answer in
PUZZLED: Final = 5.0  # [s] of bytes without talk after which it is said
CHUNK: Final = 65_536
_UNDER_WAY = {errno.EINPROGRESS, errno.EWOULDBLOCK, getattr(errno, "WSAEWOULDBLOCK", -1)}


class _Lines(Worker):
    """What the feeds of NMEA 0183 talk share.

    Parameters
    ----------
    name : str
        What it is, in words.
    transducer : float
        Depth of the sounder's transducer below the surface [m].
    silence : float
        Time without a byte after which the way is opened anew [s].
    waits : float
        As `Worker` has them.
    """

    hint = "expected lines like $GPRMC,..."

    def __init__(
        self, name: str, *, transducer: float = 0.0, silence: float = SILENCE, **waits: float
    ) -> None:
        super().__init__(name, **waits)
        self.transducer, self.silence = transducer, silence

    def _hear(self, life: Life, talk: Talk, data: bytes, opened: float, spoilt: int) -> None:
        """Hand on what bytes say, and say what is wrong with them."""
        for reading in talk.hear(data):
            life.hand(reading)
        life.spoilt = spoilt + talk.spoilt
        if life.good:
            fix = talk.fixed
            late = fix is None or time.monotonic() - fix > self.silence
            life.say(_no_fix(talk) if late else "")
        elif time.monotonic() - opened > PUZZLED:
            if why := _no_fix(talk):
                life.say(why.replace("no fix", "no fix yet", 1))
            elif talk.lines > talk.rubbish:
                life.say("NMEA 0183 comes, but no place, speed or depth in it yet")
            else:
                life.say(f"something comes, but it is no NMEA 0183; {self.hint}")


class TcpFeed(_Lines):
    """NMEA 0183 from a host on the boat's network, by TCP.

    Parameters
    ----------
    host : str
        Its name or address.
    port : int
        Its port.
    transducer, silence, waits : float
        As `_Lines` has them.
    """

    def __init__(self, host: str, port: int, **more: float) -> None:
        super().__init__(f"TCP {host}:{port}", **more)
        self.host, self.port = host, port

    def _listen(self, life: Life) -> None:
        where, spoilt, talk = f"{self.host}:{self.port}", life.spoilt, Talk(self.transducer)
        with connected(self.host, self.port, life) as way:
            opened = time.monotonic()
            life.opened()
            for data in received(way, where, life, self.silence):
                self._hear(life, talk, data, opened, spoilt)


class UdpFeed(_Lines):
    """NMEA 0183 sent to this machine, or to all on the network, by UDP.

    Parameters
    ----------
    port : int
        Port it is sent to.
    transducer, silence, waits : float
        As `_Lines` has them.
    """

    def __init__(self, port: int, **more: float) -> None:
        super().__init__(f"UDP port {port}", **more)
        self.port = port

    def _listen(self, life: Life) -> None:
        spoilt = life.spoilt
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way:
            with contextlib.suppress(AttributeError, OSError):
                way.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                way.bind(("", self.port))
            except OSError as error:
                raise Broken(f"cannot listen on UDP port {self.port}: {_why(error)}") from None
            way.setblocking(False)
            opened = last = time.monotonic()
            life.opened(f"nothing has come on UDP port {self.port} yet")
            talks: dict[Any, Talk] = {}  # each sender's half lines are its own
            while not life.stopped:
                if not _ready(way, SLICE):
                    quiet = time.monotonic() - last
                    if quiet > self.silence:
                        life.say(f"nothing on UDP port {self.port} for {quiet:.0f} s")
                    continue
                try:
                    data, sender = way.recvfrom(CHUNK)
                except BlockingIOError:
                    continue
                except OSError as error:
                    raise Broken(f"UDP port {self.port} broke off: {_why(error)}") from None
                last = time.monotonic()
                talk = talks.get(sender)
                if talk is None:
                    if len(talks) >= 16:
                        spoilt += sum(each.spoilt for each in talks.values())
                        talks.clear()
                    talk = talks[sender] = Talk(self.transducer)
                others = sum(each.spoilt for each in talks.values()) - talk.spoilt
                self._hear(life, talk, data, opened, spoilt + others)


class SerialFeed(_Lines):
    """NMEA 0183 from a serial or USB port.

    Parameters
    ----------
    port : str
        Its name: "/dev/ttyUSB0".
    speed : int
        Its speed [bit/s].
    transducer, silence, waits : float
        As `_Lines` has them.
    """

    def __init__(self, port: str, speed: int = 4800, **more: float) -> None:
        super().__init__(f"serial port {port} at {speed}", **more)
        self.port, self.speed = port, speed
        self.hint = f"{speed} bit/s may be the wrong speed: 4800, 9600, 38400 and 115200 are common"

    def _listen(self, life: Life) -> None:
        import serial

        spoilt, talk = life.spoilt, Talk(self.transducer)
        try:
            way = serial.Serial(self.port, self.speed, timeout=SLICE, exclusive=True)
        except (serial.SerialException, OSError, ValueError) as error:
            raise Broken(self._unopened(error)) from None
        with contextlib.closing(way):
            opened = last = time.monotonic()
            life.opened()
            while not life.stopped:
                try:
                    data = way.read(max(1, min(int(way.in_waiting), CHUNK)))
                except (serial.SerialException, OSError, TypeError) as error:
                    told = "was it unplugged?" if _gone(self.port) else one_reason(error)
                    raise Broken(f"{self.port} broke off: {told}") from None
                if data:
                    last = time.monotonic()
                    self._hear(life, talk, data, opened, spoilt)
                elif time.monotonic() - last > self.silence:
                    raise Broken(f"{self.port} says nothing")

    def _unopened(self, error: Exception) -> str:
        number = getattr(error, "errno", None)
        if _gone(self.port) or number == errno.ENOENT:
            return f"no serial port {self.port}: is it plugged in?"
        if number == errno.EACCES:
            return f"{self.port} may not be read by this user (on Linux: the group dialout may)"
        if number in (errno.EBUSY, errno.EAGAIN) or "lock" in str(error):
            return f"{self.port} is in use by another program"
        return f"{self.port} cannot be opened: {one_reason(error)}"


@contextlib.contextmanager
def connected(host: str, port: int, life: Life) -> Iterator[socket.socket]:
    """Open a TCP connection, looking every moment whether to stop.

    Raises
    ------
    Broken
        Where there is no answer, or nobody listens.
    """
    where = f"{host}:{port}"
    try:
        ways = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
    except (OSError, UnicodeError):
        raise Broken(f"no host {host} on this network") from None
    why = f"no answer from {where}"
    for family, kind, protocol, _, address in ways[:4]:
        with socket.socket(family, kind, protocol) as way:
            way.setblocking(False)
            result = way.connect_ex(address)
            end = time.monotonic() + CONNECTING
            if result in (
                errno.EINPROGRESS,
                errno.EWOULDBLOCK,
                getattr(errno, "WSAEWOULDBLOCK", -1),
            ):
                result = errno.ETIMEDOUT
                while not life.stopped and time.monotonic() < end:
                    if select.select([], [way], [way], SLICE)[1:] != ([], []):
                        result = way.getsockopt(socket.SOL_SOCKET, socket.SO_ERROR)
                        break
            if life.stopped:
                raise Broken("stopped")
            if result == 0:
                _keep_alive(way)
                yield way
                return
            if result == errno.ECONNREFUSED:
                why = f"nothing listens at {where}"
            elif result != errno.ETIMEDOUT:
                why = f"no way to {where}: {os.strerror(result)}"
    raise Broken(why)


def received(way: socket.socket, where: str, life: Life, silence: float) -> Iterator[bytes]:
    """Give what comes until it is to stop.

    Raises
    ------
    Broken
        Where the other side closes, the way breaks, or nothing comes for too long.
    """
    last = time.monotonic()
    while not life.stopped:
        if not _ready(way, SLICE):
            if time.monotonic() - last > silence:
                raise Broken(f"{where} is there but silent")
            continue
        try:
            data = way.recv(CHUNK)
        except (BlockingIOError, InterruptedError):
            continue
        except OSError as error:
            raise Broken(f"{where} broke off: {_why(error)}") from None
        if not data:
            raise Broken(f"{where} closed")
        last = time.monotonic()
        yield data


def _no_fix(talk: Talk) -> str:
    """Say why there is no place, where the receiver says it."""
    if any(talk.listener.unreal.values()):
        return f"no fix: the receiver says its places are {' or '.join(talk.listener.unreal)}"
    return "no fix: the receiver does not see enough of the sky" if talk.listener.void else ""


def _ready(way: socket.socket, seconds: float) -> bool:
    try:
        return bool(select.select([way], [], [], seconds)[0])
    except (OSError, ValueError) as error:
        raise Broken(f"it broke off: {one_reason(error)}") from None


def _keep_alive(way: socket.socket) -> None:
    """Let a peer that vanished be noticed below the talk, too."""
    with contextlib.suppress(OSError):
        way.setsockopt(socket.SOL_SOCKET, socket.SO_KEEPALIVE, 1)
        for name, value in (("TCP_KEEPIDLE", 5), ("TCP_KEEPINTVL", 2), ("TCP_KEEPCNT", 3)):
            if hasattr(socket, name):
                way.setsockopt(socket.IPPROTO_TCP, getattr(socket, name), value)


def _gone(port: str) -> bool:
    return port.startswith("/") and not os.path.exists(port)  # noqa: PTH110 - a device, no file


def _why(error: OSError) -> str:
    if error.errno == errno.EADDRINUSE:
        return "another program listens there"
    return one_reason(error)


def one_reason(error: Exception) -> str:
    """Say in a few words why something failed."""
    return str(getattr(error, "strerror", None) or error or type(error).__name__)
