"""The boat's talk by TCP and UDP, on real sockets: cut off, silent, torn, drowned in noise."""

from __future__ import annotations

import random
import socket
import time
from collections.abc import Iterator

import pytest
from feed_talker import Heard, Talker, ended, rmc, sentence, wait_for_word
from tests.waiting import until

from towscope.boat.feeds.lines import TcpFeed, UdpFeed

QUICK = {"first_wait": 0.1, "longest_wait": 0.4}


@pytest.fixture
def talker() -> Iterator[Talker]:
    talker = Talker()
    yield talker
    talker.die()


@pytest.fixture
def heard() -> Heard:
    return Heard()


def free_port() -> int:
    with socket.socket() as way:
        way.bind(("127.0.0.1", 0))
        return int(way.getsockname()[1])


def test_tcp_says_place_course_and_speed(talker: Talker, heard: Heard) -> None:
    feed = TcpFeed("127.0.0.1", talker.port, **QUICK)
    assert feed.name == f"TCP 127.0.0.1:{talker.port}"
    assert feed.status().why == "not started"
    feed.start(heard)
    talker.joined()
    talker.say(rmc(0) + sentence("SDDPT,9.4,0.5,") + sentence("IIMTW,21.5,C"))
    talker.say(sentence("VWVHW,,T,,M,1.94,N,3.6,K"))
    heard.wait(4)
    fix, depth, warmth, speed = heard.readings
    assert heard.places() == [(48.4, -91.9)]
    assert fix.time == 1786708800.0  # 2026-08-14 12:00 UTC, by `date -u -d ... +%s`
    assert fix.course == pytest.approx(0.785398, abs=1e-6)
    assert fix.ground_speed == pytest.approx(1.75 * 1852 / 3600)
    assert depth.depth == pytest.approx(9.9)
    assert warmth.water_temp == 21.5
    assert speed.water_speed == pytest.approx(1.94 * 1852 / 3600)
    status = feed.status()
    assert (status.connected, status.count, status.spoilt, status.why) == (True, 4, 0, "")
    feed.stop()
    assert not feed.status().connected


def test_tcp_comes_back_when_the_server_dies_and_returns(heard: Heard) -> None:
    first = Talker()
    feed = TcpFeed("127.0.0.1", first.port, **QUICK)
    feed.start(heard)
    first.joined()
    first.say(rmc(0))
    heard.wait(1)
    first.die()
    status = wait_for_word(feed, "nothing listens at")
    assert not status.connected
    assert "trying again in 1 s" in status.why
    again = Talker(first.port)
    again.joined()
    again.say(rmc(5, 48.5))
    heard.wait(2)
    assert heard.places() == [(48.4, -91.9), (48.5, -91.9)]
    until(lambda: feed.status().why == "")
    feed.stop()
    again.die()


def test_waits_grow_and_are_short_again_after_good_talk(heard: Heard) -> None:
    feed = TcpFeed("127.0.0.1", free_port(), first_wait=1.0, longest_wait=30.0)
    waits: list[float] = []
    life_waits = iter([True])

    def rest(self: object, seconds: float) -> bool:
        waits.append(seconds)
        return len(waits) >= 7 or not next(life_waits, True)

    from towscope.boat.feeds.reconnect import Life

    original = Life.rest
    Life.rest = rest  # type: ignore[method-assign]
    try:
        feed.start(heard)
        until(lambda: len(waits) >= 7)
    finally:
        Life.rest = original  # type: ignore[method-assign]
        feed.stop()
    assert waits == [1.0, 2.0, 4.0, 8.0, 16.0, 30.0, 30.0]


def test_a_silent_server_is_reported_and_opened_anew(talker: Talker, heard: Heard) -> None:
    feed = TcpFeed("127.0.0.1", talker.port, silence=0.5, **QUICK)
    feed.start(heard)
    talker.joined()
    talker.say(rmc(0))
    heard.wait(1)
    status = wait_for_word(feed, "is there but silent")
    assert not status.connected
    talker.joined(2)  # it opened the way again by itself
    talker.say(rmc(1))
    heard.wait(2)
    feed.stop()


def test_noise_half_lines_and_bad_checksums_spoil_only_themselves(
    talker: Talker, heard: Heard
) -> None:
    rng = random.Random(7)
    feed = TcpFeed("127.0.0.1", talker.port, **QUICK)
    feed.start(heard)
    talker.joined()
    talk = b""
    for second in range(40):
        talk += bytes(rng.randrange(256) for _ in range(rng.randrange(60))).replace(b"$", b"")
        talk += b"\r\n" + rmc(second, 48.4 + second * 1e-4)
        talk += rmc(second, 10.0)[:-9] + b"*00\r\n"  # another place, spoilt
        talk += rmc(second)[: rng.randrange(5, 30)]  # torn; the next line begins in it
    while talk:
        piece = rng.randrange(1, 50)
        talker.say(talk[:piece])
        talk = talk[piece:]
    talker.say(b"\r\n" + rmc(50, 49.0))  # after all of it
    until(lambda: heard.places()[-1:] == [(49.0, -91.9)])
    assert heard.places()[:-1] == [(round(48.4 + s * 1e-4, 5), -91.9) for s in range(40)]
    until(lambda: feed.status().spoilt >= 40)
    assert feed.status().connected
    feed.stop()


def test_a_sentence_split_over_packets_is_taken_when_its_checksum_is_there(
    talker: Talker, heard: Heard
) -> None:
    feed = TcpFeed("127.0.0.1", talker.port, **QUICK)
    feed.start(heard)
    talker.joined()
    whole = rmc(1)
    talker.say(rmc(0) + whole[:20])
    heard.wait(1)
    assert len(heard.readings) == 1  # the half that came with it is no reading
    talker.say(whole[20:-2])  # without its end of line yet
    heard.wait(2)
    talker.say(whole[-2:] + rmc(2))
    heard.wait(3)
    assert len(heard.readings) == 3
    feed.stop()


def test_what_is_no_talk_is_said_so(talker: Talker, heard: Heard) -> None:
    from towscope.boat.feeds import lines

    puzzled, lines.PUZZLED = lines.PUZZLED, 0.2  # type: ignore[misc]
    try:
        feed = TcpFeed("127.0.0.1", talker.port, **QUICK)
        feed.start(heard)
        talker.joined()

        def told(word: str, of: bytes) -> bool:
            talker.say(of)
            return word in feed.status().why

        until(lambda: told("no NMEA 0183", b"HTTP/1.1 400 Bad Request\r\n\r\n"))
        until(lambda: told("no fix yet", sentence("GPRMC,120000.00,V,,,,,,,140826,,,N")))
        talker.say(rmc(1))
        until(lambda: feed.status().why == "")
    finally:
        feed.stop()
        lines.PUZZLED = puzzled  # type: ignore[misc]


@pytest.mark.parametrize("state", ["connected", "refused", "no answer"])
def test_it_stops_within_a_second(talker: Talker, heard: Heard, state: str) -> None:
    host = "127.0.0.1" if state != "no answer" else "192.0.2.1"  # TEST-NET-1 of RFC 5737
    feed = TcpFeed(host, talker.port if state == "connected" else free_port())
    feed.start(heard)
    if state == "connected":
        talker.joined()
    elif state == "refused":
        wait_for_word(feed, "nothing listens")
    else:  # what nobody answers has no end by itself
        until(lambda: not ended(feed))
    begun = time.monotonic()
    feed.stop()
    assert time.monotonic() - begun < 1.0
    until(lambda: ended(feed), of="the end of what listens")
    talker.say(rmc(0))
    assert heard.readings == []


def test_an_unknown_host_is_said(heard: Heard) -> None:
    feed = TcpFeed("no-such-host.invalid", 10110, **QUICK)  # RFC 6761: never resolves
    feed.start(heard)
    status = wait_for_word(feed, "no host no-such-host.invalid on this network", 20.0)
    assert not status.connected
    feed.stop()


def test_a_taker_that_fails_does_not_end_the_feed(talker: Talker) -> None:
    seen: list[float] = []

    def take(reading: object) -> None:
        seen.append(0.0)
        if len(seen) == 1:
            raise RuntimeError("broken on purpose")

    feed = TcpFeed("127.0.0.1", talker.port, **QUICK)
    feed.start(take)
    talker.joined()
    talker.say(rmc(0) + rmc(1))
    until(lambda: len(seen) == 2)
    feed.stop()


def test_udp_hears_two_talkers_and_keeps_their_half_lines_apart(heard: Heard) -> None:
    port = free_port()
    feed = UdpFeed(port, **QUICK)
    feed.start(heard)
    until(lambda: feed.status().connected)
    with (
        socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as one,
        socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as two,
    ):
        first, second = rmc(0, 48.4), sentence("SDDPT,9.4,0.5,")
        one.sendto(first[:30], ("127.0.0.1", port))
        two.sendto(second[:9], ("127.0.0.1", port))
        one.sendto(first[30:].strip(), ("127.0.0.1", port))  # no end of line, as many do
        two.sendto(second[9:], ("127.0.0.1", port))
        two.sendto(b"\xff\xfe\x00", ("127.0.0.1", port))
        two.sendto(b"", ("127.0.0.1", port))
        heard.wait(2)
    assert [r.depth for r in heard.readings if r.depth] == [pytest.approx(9.9)]
    assert heard.places() == [(48.4, -91.9)]
    feed.stop()


def test_udp_silence_is_said_and_goes_on(heard: Heard) -> None:
    port = free_port()
    feed = UdpFeed(port, silence=0.3, **QUICK)
    feed.start(heard)
    assert "nothing" in wait_for_word(feed, "for 0 s").why
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as one:
        one.sendto(rmc(0), ("127.0.0.1", port))
    heard.wait(1)
    assert feed.status().why == ""
    feed.stop()


def test_a_feed_can_be_started_again(talker: Talker, heard: Heard) -> None:
    feed = TcpFeed("127.0.0.1", talker.port, **QUICK)
    for number in (1, 2):
        feed.start(heard)
        talker.joined(number)
        talker.say(rmc(number))
        heard.wait(number)
        feed.stop()
