"""How a feed is written, and what is said of one written wrong."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from towscope.boat.feeds.address import feed_of
from towscope.boat.feeds.lines import SerialFeed, TcpFeed, UdpFeed
from towscope.boat.feeds.phone import PhoneFeed
from towscope.demo.boat import SimulatedFeed
from towscope.demo.feed import demo_feed
from towscope.errors import InputError


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("tcp:10.0.0.5:10110", "TCP 10.0.0.5:10110"),
        ("TCP:plotter.local:2000", "TCP plotter.local:2000"),
        ("tcp:[fe80::1%eth0]:10110", "TCP fe80::1%eth0:10110"),
        ("udp:10110", "UDP port 10110"),
        ("serial:/dev/ttyUSB0", "serial port /dev/ttyUSB0 at 4800"),
        ("serial:/dev/ttyUSB0@38400", "serial port /dev/ttyUSB0 at 38400"),
        ("serial:COM3@9600", "serial port COM3 at 9600"),
        ("gpsd:localhost", "gpsd localhost:2947"),
        ("gpsd:10.0.0.5:2948", "gpsd 10.0.0.5:2948"),
        ("signalk:boat.local", "Signal K boat.local:3000"),
        (" signalk:boat.local:80 ", "Signal K boat.local:80"),
        ("phone", "the phone's own place"),
        ("demo", "Demo boat"),
    ],
)
def test_feeds_are_read_as_written(text: str, name: str) -> None:
    assert feed_of(text, made_up=demo_feed).name == name


def test_they_are_of_their_kinds() -> None:
    assert isinstance(feed_of("tcp:a:1"), TcpFeed)
    assert isinstance(feed_of("udp:1"), UdpFeed)
    assert isinstance(feed_of("serial:x"), SerialFeed)
    assert isinstance(feed_of("phone"), PhoneFeed)
    assert isinstance(feed_of("demo", made_up=demo_feed), SimulatedFeed)
    feed = feed_of("tcp:a:1", transducer=0.4)
    assert isinstance(feed, TcpFeed)
    assert feed.transducer == 0.4


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", "tcp:HOST:PORT, udp:PORT, serial:"),
        ("nmea", "phone or demo"),
        ("tcp:", "phone or demo"),
        ("tcp:10.0.0.5", "tcp:HOST:PORT"),
        ("tcp:10.0.0.5:0", "1 to 65535"),
        ("tcp:10.0.0.5:70000", "1 to 65535"),
        ("tcp:10.0.0.5:abc", "tcp:HOST:PORT"),
        ("tcp:a b:1", "tcp:HOST:PORT"),
        ("tcp:a/../b:1", "tcp:HOST:PORT"),
        ("udp:", "phone or demo"),
        ("udp:10.0.0.5:1", "udp:PORT"),
        ("udp:-1", "udp:PORT"),
        ("udp:١٢٣", "udp:PORT"),
        ("serial:/dev/ttyUSB0@fast", "4800"),
        ("serial:/dev/ttyUSB0@4801", "4800"),
        ("serial:@4800", "serial:PORT@SPEED"),
        ("serial:socket://10.0.0.5:1@4800", "a port on this machine"),
        ("gpsd:", "phone or demo"),
        ("gpsd:a:b", "gpsd:HOST"),
        ("signalk:http://a", "signalk:HOST"),
        ("file:/no/such/file.gpx", "no such file"),
        ("file:/no/such/file.gpx@fast", "ten times as fast"),
        ("https:boat", "phone or demo"),
        ("demo:fast", "phone or demo"),
    ],
)
def test_what_is_wrong_is_said_in_one_line(text: str, expected: str) -> None:
    with pytest.raises(InputError) as wrong:
        feed_of(text)
    said = str(wrong.value)
    assert expected in said
    assert "expected" in said
    assert "\n" not in said


def test_a_file_with_an_at_sign_is_a_file(tmp_path: Path) -> None:
    track = tmp_path / "day@10"
    track.write_text("time,lat,lon\n2026-08-14T12:00:00Z,48.4,-91.9\n")
    assert feed_of(f"file:{track}").name == "recording day@10"
    assert feed_of(f"file:{track}@25").name == "recording day@10, 25 times as fast"
    for pace in ("0", "2000"):
        with pytest.raises(InputError, match="pace"):
            feed_of(f"file:{track}@{pace}")


def test_a_file_that_is_no_track_on_the_globe_is_refused(tmp_path: Path) -> None:
    metres = tmp_path / "metres.csv"
    metres.write_text("time_s,x_m,y_m\n0,0,0\n1,0,0.9\n")
    with pytest.raises(InputError, match="not places on the globe"):
        feed_of(f"file:{metres}")
    empty = tmp_path / "empty.gpx"
    empty.write_text("")
    with pytest.raises(InputError, match="is empty"):
        feed_of(f"file:{empty}")
    with pytest.raises(InputError, match="is a folder"):
        feed_of(f"file:{tmp_path}")


@given(st.text(max_size=40))
def test_no_text_does_worse_than_be_refused(text: str) -> None:
    for words in (text, f"tcp:{text}", f"serial:{text}", f"gpsd:{text}", f"udp:{text}"):
        try:
            feed_of(words)
        except InputError as error:
            assert len(str(error).splitlines()) == 1
