"""A fake gpsd that speaks as gpsd_json(5) of gpsd 3.24 says; its TPV example is in a check."""

from __future__ import annotations

import json
import math
import threading
from collections.abc import Iterator

import pytest
from feed_talker import Heard, Talker, sentence, wait_for_word
from hypothesis import given
from hypothesis import strategies as st
from tests.waiting import until

from towscope.boat.feeds.gpsd import GpsdFeed
from towscope.boat.feeds.reconnect import Life

QUICK = {"first_wait": 0.1, "longest_wait": 0.4}
# from the page's own examples of VERSION and TPV
HELLO = b'{"class":"VERSION","release":"3.24","rev":"3.24","proto_major":3,"proto_minor":14}\r\n'
EXAMPLE = (
    b'{"class":"TPV","device":"/dev/pts/1","time":"2005-06-08T10:34:48.283Z","ept":0.005,'
    b'"lat":46.498293369,"lon":7.567411672,"alt":1343.127,"eph":36.000,"epv":32.321,'
    b'"track":10.3788,"speed":0.091,"climb":-0.085,"mode":3}\r\n'
)


@pytest.fixture
def gpsd() -> Iterator[Talker]:
    talker = Talker(greeting=HELLO)
    yield talker
    talker.die()


def test_it_watches_and_takes_the_manuals_example(gpsd: Talker) -> None:
    heard = Heard()
    feed = GpsdFeed("127.0.0.1", gpsd.port, transducer=0.4, **QUICK)
    feed.start(heard)
    gpsd.joined()
    gpsd.ways[0].settimeout(5.0)
    asked = b""
    while not asked.endswith(b"\n"):
        asked += gpsd.ways[0].recv(200)
    assert asked.startswith(b"?WATCH=")
    assert asked.endswith(b";\n")
    assert len(asked) <= 81  # the manual: at most 80 characters and the end of line
    told = json.loads(asked[7:-2])
    assert told["enable"] is True
    assert told["json"] is True
    gpsd.say(b'{"class":"DEVICES","devices":[{"class":"DEVICE","path":"/dev/pts/1"}]}\r\n')
    gpsd.say(EXAMPLE[:70])
    gpsd.say(EXAMPLE[70:])
    heard.wait(1)
    fix = heard.readings[0]
    assert (fix.lat, fix.lon) == (46.498293369, 7.567411672)
    assert fix.course == pytest.approx(math.radians(10.3788))
    assert fix.ground_speed == 0.091
    assert fix.time == pytest.approx(1118226888.283)  # by `date -u`
    gpsd.say(sentence("SDDBT,30.8,f,9.4,M,5.1,F") + sentence("VWVHW,,T,,M,1.94,N,3.6,K"))
    heard.wait(3)
    assert heard.readings[1].depth == pytest.approx(9.8)
    assert heard.readings[2].water_speed == pytest.approx(0.998, abs=1e-3)
    assert feed.status().why == ""
    feed.stop()


def test_no_fix_no_receiver_and_rubbish_are_said(gpsd: Talker) -> None:
    heard = Heard()
    feed = GpsdFeed("127.0.0.1", gpsd.port, **QUICK)
    feed.start(heard)
    gpsd.joined()
    gpsd.say(b'{"class":"DEVICES","devices":[]}\r\n')
    wait_for_word(feed, "gpsd runs, but has no receiver")
    gpsd.say(b'{"class":"TPV","mode":1,"lat":10.0,"lon":10.0}\r\n')
    wait_for_word(feed, "no fix")
    simulated = b'{"class":"TPV","mode":3,"status":8,"lat":10.0,"lon":10.0,"speed":1.0}\r\n'
    gpsd.say(simulated)
    wait_for_word(feed, "places are simulated")
    gpsd.say(b'{"class":"ERROR","message":"Unrecognized request"}\r\n')
    wait_for_word(feed, "gpsd: Unrecognized request")
    gpsd.say(b'{"class":"TPV","mode":3,"lat":NaN,"lon":7.5,"speed":NaN}\r\n{"class":"TPV","mo\r\n')
    gpsd.say(EXAMPLE)
    heard.wait(1)
    until(lambda: feed.status().spoilt == 1)
    assert feed.status().why == ""
    assert len(heard.readings) == 1
    feed.stop()


def test_another_server_is_told_from_gpsd() -> None:
    talker = Talker(greeting=b"220 mail.example ready\r\n" * 5)
    feed = GpsdFeed("127.0.0.1", talker.port, **QUICK)
    feed.start(Heard())
    wait_for_word(feed, "is not gpsd")
    feed.stop()
    talker.die()


def test_a_silent_gpsd_is_opened_anew(gpsd: Talker) -> None:
    feed = GpsdFeed("127.0.0.1", gpsd.port, silence=0.4, **QUICK)
    feed.start(Heard())
    wait_for_word(feed, "is there but silent")
    gpsd.joined(2)
    feed.stop()


@given(
    st.dictionaries(
        st.sampled_from(
            ["class", "mode", "lat", "lon", "track", "speed", "time", "depth", "wtemp", "device"]
        ),
        st.one_of(
            st.none(),
            st.booleans(),
            st.floats(),
            st.integers(),
            st.integers(min_value=10**310, max_value=10**311),
            st.text(max_size=30),
            st.lists(st.integers(), max_size=3),
            st.just("2026-08-14T12:00:00Z"),
        ),
    )
)
def test_no_report_whatever_breaks_it(said: dict[str, object]) -> None:
    from towscope.boat.feeds.talk import Talk

    heard = Heard()
    life = Life(heard)
    GpsdFeed("127.0.0.1")._report({**said, "class": "TPV"}, life, Talk())
    for reading in heard.readings:
        assert reading.lat is None or (abs(reading.lat) <= 90 and math.isfinite(reading.time))
        assert reading.ground_speed is None or 0.0 <= reading.ground_speed <= 40.0


def test_threads_end(gpsd: Talker) -> None:
    feed = GpsdFeed("127.0.0.1", gpsd.port)
    feed.start(Heard())
    gpsd.joined()
    feed.stop()
    until(lambda: not any("gpsd" in thread.name for thread in threading.enumerate()))
