"""NMEA 0183 talk as it really comes: any pieces, any noise, all talkers, oddities one by one."""

from __future__ import annotations

import itertools
import math
import random
from datetime import UTC, datetime
from functools import reduce

import pytest
from feed_talker import rmc, sentence
from hypothesis import example, given, settings
from hypothesis import strategies as st

from towscope.boat.feeds.model import FeedReading
from towscope.boat.feeds.reconnect import same_moment
from towscope.boat.feeds.talk import Talk
from towscope.formats.nmea import DEPTHS, PLACES, SPEEDS, Fix, TalkReader

NOON = datetime(2026, 8, 14, 12, tzinfo=UTC).timestamp()
ALL = (*PLACES, *SPEEDS, *DEPTHS, "MTW")


def heard(data: bytes, wall: float = NOON, transducer: float = 0.0) -> list[FeedReading]:
    return list(Talk(transducer).hear(data, wall))


def lower(data: bytes) -> bytes:
    """Write a checksum in small letters."""
    at = data.rindex(b"*")
    return data[:at] + data[at:].lower()


# -- oddities, each as receivers and multiplexers really send it (common practice, no source,
# where no clause is named) ----------------------------------------------------------------------


def test_mixed_talkers_are_kept_apart() -> None:
    talk = rmc(0, talker="GP") + rmc(0, talker="GN") + rmc(0, talker="II") + rmc(0, talker="GL")
    assert [r.source for r in heard(talk)] == ["GP", "GN", "II", "GL"]


def test_proprietary_sentences_and_other_boats_are_passed_over() -> None:
    talk = (
        sentence("PGRME,3.0,M,4.0,M,5.0,M")
        + sentence("PMTK001,314,3")
        + sentence("PRMC,120000,A,1000.0,N,1000.0,E,1.0,1.0,140826,,")  # a talker none may have
        + b"!AIVDM,1,1,,B,177KQJ5000G?tO`K>RA1wUbN0TKH,0*5C\r\n"  # IEC 61162-1, encapsulated
        + b"!AIVDO,1,1,,,B3m0Q6@00?vHeBUG0l3Q3woUoP06,0*1C\r\n"
    )
    talker = Talk()
    assert list(talker.hear(talk)) == []
    assert talker.spoilt == 0  # not understood, but not spoilt


@pytest.mark.parametrize("end", [b"\r\n", b"\n", b"\r", b"\n\r", b"\r\r\n", b"\r\n\r\n"])
def test_any_end_of_line_will_do(end: bytes) -> None:
    talk = b"".join(rmc(k).rstrip() + end for k in range(3))
    assert len(heard(talk)) == 3


def test_tag_blocks_are_passed_over() -> None:
    tag = b"s:gp0001,c:1786708800,n:23"  # NMEA 0183 4.10 section 7, from memory
    mark = b"%02X" % reduce(lambda a, c: a ^ c, tag, 0)
    talk = b"\\" + tag + b"*" + mark + b"\\" + rmc(0)
    assert [(r.lat, r.lon) for r in heard(talk)] == [
        (pytest.approx(48.4, abs=1e-7), pytest.approx(-91.9, abs=1e-7))
    ]


def test_lower_case_checksums_are_checksums() -> None:
    assert len(heard(lower(rmc(3)))) == 1
    spoilt = lower(rmc(3)).replace(b"48", b"49", 1)
    assert heard(spoilt) == []


def test_missing_checksums_are_believed_only_of_talkers_that_never_send_one() -> None:
    bare = rmc(0)[: rmc(0).index(b"*")] + b"\r\n"
    assert len(heard(bare)) == 1
    assert len(heard(rmc(0) + bare)) == 1  # the second may be a torn one


def test_a_leap_second_is_the_second_after_it() -> None:
    """POSIX.1 (4.16): the number of a leap second is that of the second after it."""
    talk = sentence("GPRMC,235960.00,A,4824.0000,N,09154.0000,W,1.7,45.0,311216,,,A")
    assert heard(talk)[0].time == datetime(2017, 1, 1, tzinfo=UTC).timestamp()
    assert heard(sentence("GPRMC,235961.00,A,4824.0,N,09154.0,W,1.7,45.0,311216,,,A")) == []


def test_empty_fields_are_nothing_said() -> None:
    talk = (
        sentence("GPRMC,,V,,,,,,,,,,N")
        + sentence("GPGGA,,,,,,0,,,,M,,M,,")
        + sentence("GPVTG,,T,,M,,N,,K,N")
        + sentence("SDDPT,,")
        + sentence("SDDBT,,f,,M,,F")
        + sentence("IIMTW,,C")
        + sentence("VWVHW,,T,,M,,N,,K")
    )
    talker = Talk()
    assert list(talker.hear(talk)) == []
    assert talker.spoilt == 0
    moving = sentence("GPRMC,120000.00,A,4824.0000,N,09154.0000,W,0.02,,140826,,,A")
    fix = heard(moving)[0]  # receivers leave the course out where the boat lies still
    assert fix.course is None
    assert fix.ground_speed == pytest.approx(0.0103, abs=1e-4)


def test_midnight_comes_without_a_leap() -> None:
    """GGA says no day: it goes on over midnight before RMC says the new one."""
    place = "4824.0000,N,09154.0000,W"
    talk = (
        sentence(f"GPRMC,235959.00,A,{place},1.7,45.0,140826,,,A")
        + sentence(f"GPGGA,235959.50,{place},1,08,0.9,350.0,M,0,M,,")
        + sentence(f"GPGGA,000000.50,{place},1,08,0.9,350.0,M,0,M,,")
        + sentence(f"GPRMC,000001.00,A,{place},1.7,45.0,150826,,,A")
        + sentence(f"GPGGA,000001.50,{place},1,08,0.9,350.0,M,0,M,,")
    )
    times = [r.time for r in heard(talk)]
    assert [round(b - a, 3) for a, b in itertools.pairwise(times)] == [0.5, 1.0, 0.5, 0.5]


@pytest.mark.parametrize("hours", [-11.0, -0.01, 0.0, 0.01, 11.9])
def test_undated_talk_is_dated_by_this_machine(hours: float) -> None:
    wall = NOON + hours * 3600.0
    talk = sentence("GPGGA,120000.00,4824.0000,N,09154.0000,W,1,08,0.9,350.0,M,0,M,,")
    assert heard(talk, wall)[0].time == NOON


@given(st.floats(0.0, 86_400.0), st.floats(1e9, 2e9))
def test_the_nearest_day_is_meant(second: float, wall: float) -> None:
    moment = same_moment(second, wall)
    assert abs(moment - wall) <= 43_200.0 + 1e-6
    assert (moment - second + 43_200.0) % 86_400.0 == pytest.approx(43_200.0, abs=1e-3)


def test_one_kind_of_depth_silences_poorer_ones_of_the_same_sounder() -> None:
    both = sentence("SDDBT,30.8,f,9.4,M,5.1,F") + sentence("SDDPT,9.4,0.5,")
    depths = [r.depth for r in heard(both + both, transducer=0.3)]
    assert depths == [pytest.approx(9.7), pytest.approx(9.9), pytest.approx(9.9)]
    keel = sentence("SDDPT,9.4,-0.8,")  # an offset to the keel says nothing of the surface
    assert heard(keel, transducer=0.3)[0].depth == pytest.approx(9.7)
    lost = sentence("SDDPT,0.0,0.5,") + sentence("SDDBT,,f,0.0,M,,F")
    assert heard(lost) == []


def test_what_cannot_be_is_left_out() -> None:
    talk = (
        sentence("VWVHW,,T,,M,99.9,N,185.0,K")
        + sentence("IIMTW,77.0,C")
        + sentence("IIMTW,70.0,F")
        + sentence("SDDPT,2000.0,0.5,")
        + sentence("GPRMC,120000.00,A,9124.0000,N,09154.0000,W,1.7,45.0,140826,,,A")
        + sentence("GPRMC,120000.00,A,4860.0000,N,09154.0000,W,1.7,45.0,140826,,,A")
        + sentence("GPRMC,250000.00,A,4824.0000,N,09154.0000,W,1.7,45.0,140826,,,A")
    )
    assert heard(talk) == []


def test_endless_lines_take_no_room() -> None:
    talk = Talk()
    for _ in range(200):
        assert list(talk.hear(b"x" * 10_000)) == []
    assert len(talk._rest) <= 2_000
    assert len(list(talk.hear(b"\n" + rmc(0)))) == 1


# -- anything at all -----------------------------------------------------------------------------

FIGURES = st.one_of(
    st.just(""),
    st.from_regex(r"-?[0-9]{0,7}\.?[0-9]{0,5}", fullmatch=True),
    st.sampled_from(["nan", "inf", "1e400", "0x10", "1_000", " 5", "٣", "A", "V", "N", "T", "K"]),
    st.text(st.characters(codec="latin-1", exclude_characters="\r\n"), max_size=8),
)


@st.composite
def anybody(draw: st.DrawFn) -> bytes:
    """A sentence of any kind with fields of any sort, its checksum right, wrong or left out."""
    talker = draw(st.sampled_from(["GP", "GN", "II", "SD", "VW", "YX", "P", "ZZ"]))
    kind = draw(st.sampled_from([*ALL, "ZDA", "GSV", "XXX"]))
    fields = draw(st.lists(FIGURES, max_size=16))
    text = f"{talker}{kind},{','.join(fields)}"
    mark = reduce(lambda a, c: a ^ ord(c), text, 0) & 0xFF
    end = draw(st.sampled_from([f"*{mark:02X}", f"*{mark:02x}", "*00", "", "*"]))
    return f"${text}{end}".encode("latin-1", "replace") + draw(
        st.sampled_from([b"\r\n", b"\n", b"\r", b""])
    )


def sane(reading: FeedReading) -> bool:
    """Say whether a reading may be believed without a look."""
    told = (reading.lat, reading.lon, reading.course, reading.ground_speed)
    told += (reading.water_speed, reading.depth, reading.water_temp)
    return (
        all(value is None or math.isfinite(value) for value in (*told, reading.time))
        and (reading.lat is None) == (reading.lon is None)
        and (reading.lat is None or (abs(reading.lat) <= 90 and abs(reading.lon or 0) <= 180))
        and (reading.course is None or 0.0 <= reading.course < 2 * math.pi)
        and (reading.ground_speed is None or 0.0 <= reading.ground_speed <= 40.0)
        and (reading.water_speed is None or 0.0 <= reading.water_speed <= 40.0)
        and (reading.depth is None or 0.0 < reading.depth <= 1000.0)
        and (reading.water_temp is None or -3.0 <= reading.water_temp <= 45.0)
        and any(value is not None for value in told)
    )


@settings(max_examples=150)
@given(st.lists(st.one_of(anybody(), st.binary(max_size=60)), max_size=8))
@example([b"$GPRMC,000000,A,0000.0,N,00000.0,E,1e308,0.0,010100,,\n"])
def test_nothing_breaks_it_and_nothing_senseless_comes_through(pieces: list[bytes]) -> None:
    for reading in heard(b"".join(pieces)):
        assert sane(reading)


@given(st.lists(anybody(), max_size=6), st.lists(st.integers(1, 40), min_size=1, max_size=60))
def test_pieces_say_what_the_whole_says(talk: list[bytes], cuts: list[int]) -> None:
    whole = b"".join(talk) + b"\n"
    torn = Talk()
    said: list[FeedReading] = []
    rest, turn = whole, 0
    while rest:
        size = cuts[turn % len(cuts)]
        turn += 1
        said += torn.hear(rest[:size], NOON)
        rest = rest[size:]
    wanted = heard(whole)

    def gist(reading: FeedReading) -> tuple[object, ...]:
        return (reading.lat, reading.lon, reading.depth, reading.water_speed, reading.water_temp)

    assert [gist(r) for r in said] == [gist(r) for r in wanted]


@given(
    st.floats(-89.9, 89.9),
    st.floats(-179.9, 179.9),
    st.integers(0, 86_399),
    st.sampled_from(["GP", "GN", "GL", "GA", "II"]),
)
def test_a_place_comes_back_as_it_was_said(
    lat: float, lon: float, second: int, talker: str
) -> None:
    """The reference is the arithmetic of the standard: degrees and minutes, five decimals."""

    def angle(value: float, width: int) -> tuple[str, float]:
        tenths = round(abs(value) * 60.0 * 1e5)
        degrees, minutes = divmod(tenths, 6_000_000)
        text = f"{degrees:0{width}d}{minutes // 100_000:02d}.{minutes % 100_000:05d}"
        return text, math.copysign(tenths / 6e6, value)

    (north, want_lat), (east, want_lon) = angle(lat, 2), angle(lon, 3)
    clock = f"{second // 3600:02d}{second // 60 % 60:02d}{second % 60:02d}"
    talk = sentence(
        f"{talker}RMC,{clock},A,{north},{'N' if lat >= 0 else 'S'},{east},"
        f"{'E' if lon >= 0 else 'W'},1.0,0.0,140826,,,A"
    )
    (reading,) = heard(talk)
    assert reading.lat == pytest.approx(want_lat, abs=1e-9)
    assert reading.lon == pytest.approx(want_lon, abs=1e-9)
    assert reading.time == NOON - 43_200.0 + second


@given(st.binary(max_size=300), st.randoms(use_true_random=False))
def test_noise_between_good_lines_costs_none_of_them(noise: bytes, rng: random.Random) -> None:
    clean = noise.replace(b"$", b"?")  # what is noise in a line may begin no other
    lines = [rmc(k, 48.4 + 1e-3 * k) for k in range(5)]
    talk = b"".join(clean[: rng.randrange(len(clean) + 1)] + b"\r\n" + line for line in lines)
    places = [r.lat for r in heard(talk) if r.lat is not None]
    assert places == [pytest.approx(48.4 + 1e-3 * k, abs=1e-7) for k in range(5)]


@given(st.integers(0, 200), st.integers(1, 255))
def test_one_wrong_byte_never_moves_the_boat(at: int, flip: int) -> None:
    """A parity like NMEA's finds every single wrong byte; a torn sentence then stays unread."""
    good = bytearray(rmc(0))
    body = good.index(b"*")
    good[1 + at % (body - 1)] ^= flip
    for reading in heard(bytes(good)):
        assert reading.lat is None or bytes(good) == rmc(0)


def test_the_listener_takes_a_whole_log_with_all_kinds() -> None:
    talker = TalkReader(kinds=ALL, strict=False)
    talk = "".join(rmc(k).decode() for k in range(3))
    assert [type(each) for each in talker.hear(talk)] == [Fix, Fix, Fix]
