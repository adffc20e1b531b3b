"""The boat's talk by a serial port, on a pseudo-terminal pair (POSIX openpty)."""

from __future__ import annotations

import contextlib
import os
import sys
import time
from collections.abc import Iterator

import pytest
from feed_talker import Heard, rmc, wait_for_word
from tests.waiting import until

from towscope.boat.feeds import lines
from towscope.boat.feeds.lines import SerialFeed

if sys.platform == "win32":
    pytest.skip("no pseudo-terminals here", allow_module_level=True)

import pty
import tty

QUICK = {"first_wait": 0.1, "longest_wait": 0.4}


class Cable:
    """The instrument's end of a serial cable."""

    def __init__(self) -> None:
        self.end, self.port_end = pty.openpty()
        tty.setraw(self.port_end)
        self.port = os.ttyname(self.port_end)

    def say(self, data: bytes) -> None:
        os.write(self.end, data)

    def unplug(self) -> None:
        for each in (self.end, self.port_end):
            with contextlib.suppress(OSError):
                os.close(each)


@pytest.fixture
def cable() -> Iterator[Cable]:
    cable = Cable()
    yield cable
    cable.unplug()


def test_serial_says_the_place_and_sends_nothing(cable: Cable) -> None:
    heard = Heard()
    feed = SerialFeed(cable.port, 4800, **QUICK)
    assert feed.name == f"serial port {cable.port} at 4800"
    feed.start(heard)
    until(lambda: feed.status().connected)
    talk = b"\x00\xff\x80" + rmc(0) + rmc(1, 48.5)
    for k in range(0, len(talk), 7):
        cable.say(talk[k : k + 7])
        time.sleep(0.002)
    heard.wait(2)
    assert heard.places() == [(48.4, -91.9), (48.5, -91.9)]
    feed.stop()
    os.set_blocking(cable.end, False)
    with pytest.raises(BlockingIOError):
        os.read(cable.end, 100)


def test_a_port_that_is_not_there_is_said_and_tried_again() -> None:
    feed = SerialFeed("/dev/no-such-port", **QUICK)
    feed.start(Heard())
    status = wait_for_word(feed, "no serial port /dev/no-such-port: is it plugged in?")
    assert not status.connected
    feed.stop()


def test_an_unplugged_port_is_said_and_a_silent_one_opened_anew(cable: Cable) -> None:
    heard = Heard()
    feed = SerialFeed(cable.port, silence=0.5, **QUICK)
    feed.start(heard)
    until(lambda: feed.status().connected)
    wait_for_word(feed, "says nothing")
    until(lambda: feed.status().connected)
    cable.say(rmc(0))
    heard.wait(1)
    cable.unplug()
    status = wait_for_word(feed, cable.port)
    assert not status.connected
    feed.stop()


def test_the_wrong_speed_is_guessed_at(cable: Cable, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lines, "PUZZLED", 0.2)
    feed = SerialFeed(cable.port, 38400, **QUICK)
    feed.start(Heard())
    until(lambda: feed.status().connected)

    def puzzled() -> bool:
        cable.say(b"\x9e\xe6\x06\x98\x78\x80\xfe\x1e\n")  # what 4800 looks like at another speed
        return "may be the wrong speed" in feed.status().why

    until(puzzled)
    assert "38400 bit/s" in feed.status().why
    feed.stop()


def test_a_port_in_use_is_said(cable: Cable) -> None:
    first, second = SerialFeed(cable.port, **QUICK), SerialFeed(cable.port, **QUICK)
    first.start(Heard())
    until(lambda: first.status().connected)
    second.start(Heard())
    wait_for_word(second, "is in use by another program")
    second.stop()
    begun = time.monotonic()
    first.stop()
    assert time.monotonic() - begun < 1.0
