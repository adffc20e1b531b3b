"""Grammar of feed addresses, "tcp:10.0.0.5:10110", "serial:/dev/ttyUSB0@4800": a feed for each."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Final

from towscope.boat.feeds.model import Feed
from towscope.errors import InputError, one_line

FORMS: Final = (
    "tcp:HOST:PORT, udp:PORT, serial:/dev/ttyUSB0@4800, file:PATH[@10], gpsd:HOST[:2947], "
    "signalk:HOST[:3000], phone or demo"
)
# a name, an IPv4 address, or an IPv6 address in square brackets
_HOST: Final = re.compile(r"(?:\[([0-9A-Fa-f:.%\w]+)\]|([A-Za-z0-9_.-]{1,253}))(?::(\d{1,6}))?")
SPEEDS: Final = (1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200, 230400, 460800, 921600)


def feed_of(
    text: str, *, transducer: float = 0.0, made_up: Callable[[], Feed] | None = None
) -> Feed:
    """Make a feed from how it is written.

    Parameters
    ----------
    text : str
        "tcp:HOST:PORT", "udp:PORT", "serial:/dev/ttyUSB0@4800", "file:PATH", "file:PATH@10",
        "gpsd:HOST[:2947]", "signalk:HOST[:3000]", "phone" or "demo".
    transducer : float
        Depth of the sounder's transducer below the surface [m], added to depths below it where
        the instruments themselves do not say it.
    made_up : callable, optional
        Gives the feed that is written "demo", such as `towscope.demo.feed.demo_feed`.

    Returns
    -------
    Feed
        The feed, not yet started.

    Raises
    ------
    InputError
        Where it is none of these, or what it names cannot be.

    Examples
    --------
    >>> feed_of("gpsd:localhost").name
    'gpsd localhost:2947'
    """
    words = text.strip()
    kind, colon, rest = words.partition(":")
    kind = kind.strip().lower()
    if not 0.0 <= transducer <= 20.0:
        raise InputError(f"a transducer {transducer:g} m down: expected 0 to 20 m")
    if kind == "phone" and not rest:
        from towscope.boat.feeds.phone import PhoneFeed

        return PhoneFeed()
    if kind == "demo" and not rest and made_up is not None:
        return made_up()
    if not colon or not rest:
        raise _bad(text, FORMS)
    if kind == "file":
        return _file(rest, text, transducer)
    if kind == "serial":
        return _serial(rest, text, transducer)
    if kind == "udp":
        from towscope.boat.feeds.lines import UdpFeed

        return UdpFeed(_port(rest, text, "udp:PORT"), transducer=transducer)
    if kind == "tcp":
        from towscope.boat.feeds.lines import TcpFeed

        host, port = _place(rest, text, "tcp:HOST:PORT, such as tcp:10.0.0.5:10110", None)
        return TcpFeed(host, port, transducer=transducer)
    if kind == "gpsd":
        from towscope.boat.feeds import gpsd

        host, port = _place(rest, text, "gpsd:HOST or gpsd:HOST:PORT", gpsd.PORT)
        return gpsd.GpsdFeed(host, port, transducer=transducer)
    if kind == "signalk":
        from towscope.boat.feeds import signalk

        host, port = _place(rest, text, "signalk:HOST or signalk:HOST:PORT", signalk.PORT)
        return signalk.SignalKFeed(host, port, transducer=transducer)
    raise _bad(text, FORMS)


def _bad(text: str, expected: str) -> InputError:
    return InputError(f'feed "{one_line(text, 80)}": expected {expected}')


def _port(text: str, whole: str, expected: str) -> int:
    if not re.fullmatch(r"[0-9]{1,5}", text) or not 1 <= int(text) <= 65_535:
        raise _bad(whole, f"{expected}, the port from 1 to 65535")
    return int(text)


def _place(rest: str, whole: str, expected: str, usual: int | None) -> tuple[str, int]:
    found = _HOST.fullmatch(rest.strip())
    if found is None or (found[3] is None and usual is None):
        raise _bad(whole, expected)
    port = usual if found[3] is None else _port(found[3], whole, expected)
    assert port is not None
    return found[1] or found[2], port


def _serial(rest: str, whole: str, transducer: float) -> Feed:
    from towscope.boat.feeds.lines import SerialFeed

    port, at, speed = rest.rpartition("@")
    if not at:
        port, speed = rest, "4800"
    expected = f"serial:PORT@SPEED with a speed of {', '.join(map(str, SPEEDS))}"
    if not port or not port.isprintable():
        raise _bad(whole, expected)
    if not re.fullmatch(r"[0-9]{1,7}", speed) or int(speed) not in SPEEDS:
        raise _bad(whole, expected)
    if "://" in port:
        raise _bad(whole, "the name of a port on this machine, such as serial:/dev/ttyUSB0@4800")
    return SerialFeed(port, int(speed), transducer=transducer)


def _file(rest: str, whole: str, transducer: float) -> Feed:
    from towscope.boat.feeds.playback import FileFeed

    path, at, pace = rest.rpartition("@")
    if not at or Path(rest).expanduser().exists():
        return FileFeed(Path(rest).expanduser(), transducer=transducer)
    if not re.fullmatch(r"[0-9]{1,4}(?:\.[0-9]{1,3})?", pace):
        raise _bad(whole, "file:PATH or file:PATH@10, ten times as fast")
    return FileFeed(Path(path).expanduser(), float(pace), transducer=transducer)
