"""NMEA 0183 against pynmea2, which writes the sentences, and against the cable's noise."""

import math
from datetime import UTC, datetime, timedelta

import numpy as np
import pynmea2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from towscope.bed import nmea_log
from towscope.bed.soundings import FileOptions
from towscope.boat.read import read_fixes
from towscope.errors import InputError
from towscope.formats.nmea import DEPTHS, PLACES, SPEEDS, Depth, Fix, Speed, TalkReader

ALL = (*PLACES, *SPEEDS, *DEPTHS)


def say(kind, *said, talker="SD") -> str:
    return str(getattr(pynmea2, kind)(talker, kind, said))


def rmc(i=0, **changes) -> str:
    clock = datetime(2026, 8, 14, 12, 20, tzinfo=UTC) + timedelta(seconds=i)
    said = {
        "clock": f"{clock:%H%M%S.00}", "status": "A", "lat": f"46{54 + i / 1000:07.4f}",
        "side": "N", "lon": "09512.0000", "east": "W", "speed": "1.74", "course": "15.0",
        "day": f"{clock:%d%m%y}", "variation": "", "way": "", "mode": "A",
    }  # fmt: skip
    return say("RMC", *{**said, **changes}.values(), talker="GP")


# -- figures ---------------------------------------------------------------------------------------


# Units: knot 1852 m/h (International Hydrographic Conference, 1929), foot 0.3048 m (1959), fathom
# six feet; fields by IEC 61162-1.
@pytest.mark.parametrize(
    ("line", "expected"),
    [
        (say("DPT", "9.4", "0.5", ""), Depth(9.4, 0.5, "DPT", "SD")),
        (say("DPT", "9.4", "-1.2", "100"), Depth(9.4, -1.2, "DPT", "SD")),
        (say("DPT", "9.4", ""), Depth(9.4, None, "DPT", "SD")),
        (say("DBT", "30.8", "f", "9.4", "M", "5.1", "F"), Depth(9.4, None, "DBT", "SD")),
        (say("DBT", "10", "f", "", "M", "", "F"), Depth(3.048, None, "DBT", "SD")),
        (say("DBS", "30.8", "f", "9.4", "M", "5.1", "F"), Depth(9.4, None, "DBS", "SD")),
        (say("DBS", "", "f", "", "M", "10", "F"), Depth(18.288, None, "DBS", "SD")),
        (say("DBT", "", "f", "", "M", "10", "F"), Depth(18.288, None, "DBT", "SD")),
        (
            say("VTG", "15.0", "T", "", "M", "2.0", "N", "3.7", "K", "A", talker="GP"),
            Speed(2 * 1852 / 3600, 15.0, False, "VTG", "GP"),
        ),
        (
            say("VHW", "", "T", "", "M", "", "N", "3.6", "K", talker="VW"),
            Speed(1.0, None, True, "VHW", "VW"),
        ),
    ],
)
def test_depths_and_speeds(line, expected):
    listener = TalkReader(kinds=ALL)
    heard = listener.take(line)
    assert type(heard) is type(expected) and heard.kind == expected.kind
    for name in ("depth", "offset", "speed", "way"):
        if getattr(expected, name, None) is not None:
            assert getattr(heard, name) == pytest.approx(getattr(expected, name), rel=1e-12)
        else:
            assert getattr(heard, name, None) is None
    assert (listener.used, listener.spoilt) == (1, 0)


# Sentences printed in handbooks, from memory; pynmea2 vouches for their checksums.
def test_sentences_as_printed():
    depth = TalkReader(kinds=ALL).take("$INDPT,2.3,0.0*46")
    assert isinstance(depth, Depth) and depth.depth == 2.3 and depth.talker == "IN"
    fix = TalkReader().take("$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47")
    assert isinstance(fix, Fix) and fix.latitude == pytest.approx(48 + 7.038 / 60)
    assert not fix.dated and fix.time == 12 * 3600 + 35 * 60 + 19


def test_a_lost_bottom_is_no_depth():
    listener = TalkReader(kinds=ALL)
    for line in (say("DPT", "", "0.5"), say("DBT", "", "f", "", "M", "", "F")):
        assert math.isnan(listener.take(line).depth)
    assert listener.take(say("VTG", "", "T", "", "M", "", "N", "", "K", talker="GP")) is None
    assert listener.spoilt == 0


@given(st.floats(-89.9, 89.9), st.floats(-179.9, 179.9), st.sampled_from(PLACES))
def test_places_as_pynmea2_reads_them(lat, lon, kind):
    place = (
        f"{int(abs(lat)):02d}{abs(lat) % 1 * 59.999:08.5f}", "NS"[lat < 0],
        f"{int(abs(lon)):03d}{abs(lon) % 1 * 59.999:08.5f}", "EW"[lon < 0],
    )  # fmt: skip
    said = {
        "RMC": ("122000", "A", *place, "1.7", "15.0", "140826", "", "", "A"),
        "GGA": ("122000", *place, "1", "09", "0.9", "400.0", "M", "", "M", "", ""),
        "GLL": (*place, "122000", "A", "A"),
    }[kind]
    line = say(kind, *said, talker="GN")
    fix, read = TalkReader().take(line), pynmea2.parse(line)
    assert (fix.latitude, fix.longitude) == (read.latitude, read.longitude)


def test_whole_minutes_need_no_decimals():
    # IEC 61162-1: the point and what follows may be left out
    for lat in ("4654", "4654."):
        assert TalkReader().take(rmc(lat=lat)).latitude == pytest.approx(46.9)


def test_navigational_status_v_is_no_void():
    # IEC 61162-1, from edition 4: V, "equipment is not providing navigational status information"
    line = say(
        "RMC", "122000", "A", "4654.0", "N", "09512.0", "W", "1.7", "15", "140826", "", "", "A",
        "V", talker="GN",
    )  # fmt: skip
    assert not pynmea2.parse(line).is_valid  # what we must not ask it
    assert TalkReader().take(line).latitude == pytest.approx(46.9)


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"side": ""}, "senseless place"),  # of which pynmea2 makes 0 degrees
        ({"side": "NS"}, "senseless place"),
        ({"side": "E"}, "senseless place"),
        ({"lat": ""}, "senseless place"),
        ({"lat": "4675.0"}, "senseless place"),
        ({"lat": "9100.0"}, "senseless place"),
        ({"lon": "18000.1"}, "senseless place"),
        ({"lat": "nan"}, "senseless place"),
        ({"lat": "north"}, "senseless"),
        ({"lat": "-4654.0"}, "senseless"),
        ({"status": ""}, "senseless status"),
        ({"status": "B"}, "senseless status"),
        ({"clock": "250000"}, "senseless time"),
        ({"clock": ""}, "senseless time"),
        ({"day": "310226"}, "senseless day"),
        ({"speed": "nan"}, "senseless figure"),
        ({"speed": "fast"}, "senseless figure"),
    ],
)
def test_what_cannot_be_is_left_out_and_why(changes, why):
    listener = TalkReader()
    assert listener.take(rmc(**changes)) is None
    assert dict(listener.dropped) == {why: 1} and listener.why() == f"1 {why}"


def test_what_says_that_it_has_no_fix_is_not_spoilt():
    listener = TalkReader()
    assert listener.take(rmc(status="V", lat="", side="")) is None
    assert listener.take(say("GGA", "122000", "", "", "", "", "0", talker="GP")) is None
    assert (listener.void, listener.spoilt, listener.used) == (2, 0, 0)


# -- the cable -------------------------------------------------------------------------------------


def test_a_torn_line_does_not_take_the_next_with_it():
    listener = TalkReader()
    assert listener.take(rmc(0)[:30] + rmc(1)).time == TalkReader().take(rmc(1)).time
    assert listener.take("!AIVDM,1,1,,A,13aEO" + rmc(2) + "!AIVDM,1").time > 0
    assert dict(listener.dropped) == {"no checksum": 1} and listener.used == 2


def test_a_makers_own_sentence_is_no_rmc():
    # names that begin with P are each maker's own (NMEA 0183); checksum by pynmea2
    line = "$PGRMC,A,0.0,100,,,,,,A,3,1,2,4,30"
    line = f"{line}*{pynmea2.NMEASentence.checksum(line[1:]):02X}"
    listener = TalkReader(strict=False)
    assert listener.take(line) is None and listener.spoilt == 0


def test_without_checksums_only_who_never_sends_them_is_believed():
    listener = TalkReader(kinds=ALL, strict=False)
    bare = say("DPT", "9.4", "0.5").split("*")[0]
    assert listener.take(bare).depth == 9.4
    assert listener.take(rmc()) is not None
    assert listener.take(rmc(1).split("*")[0]) is None  # torn just before the star
    assert listener.take(bare).depth == 9.4
    assert dict(listener.dropped) == {"no checksum": 1}


@given(st.text(max_size=120), st.sampled_from(ALL), st.booleans())
def test_nothing_that_stands_between_commas_makes_it_fall(text, kind, strict):
    fields = text.replace("$", "").split(",")
    listener = TalkReader(kinds=ALL, strict=strict)
    listener.take(say(kind, *fields))
    for heard in listener.hear(say(kind, *fields).split("*")[0] + "\r\n" + rmc()):
        last = heard
    assert isinstance(last, Fix) and last.kind == "RMC"


# -- the rooms -------------------------------------------------------------------------------------


def log(depth_of, count=40) -> str:
    return "\r\n".join(line for i in range(count) for line in (rmc(i), depth_of(i)))


def test_boat_and_lake_hear_the_same_places(tmp_path):
    path = tmp_path / "a.nmea"
    path.write_text(log(lambda i: say("DPT", f"{9 + i / 10:.1f}", "0.5")))
    fixes, soundings = read_fixes(path), nmea_log.read(path, FileOptions())
    assert len(fixes) == soundings.size == 40
    # each depth lies between the fixes before and after it
    middle = (fixes.first[1:] + fixes.first[:-1]) / 2
    assert soundings.latitude[:-1] == pytest.approx(middle, abs=1e-9)
    assert soundings.depth == pytest.approx(9.5 + np.arange(40) / 10)
    assert soundings.notes == ("depths from DPT, fixes from RMC",)


@pytest.mark.parametrize(
    ("line", "depth", "note"),
    [
        (say("DPT", "9.4", "-1.0"), 9.8, "offsets are to the keel"),
        (say("DPT", "9.4", ""), 9.8, ""),
        (say("DBT", "30.8", "f", "9.4", "M", "5.1", "F"), 9.8, ""),
        (say("DBS", "30.8", "f", "9.4", "M", "5.1", "F"), 9.4, ""),
    ],
)
def test_soundings_from_the_transducer_down(tmp_path, line, depth, note):
    path = tmp_path / "a.nmea"
    path.write_text(log(lambda i: line))
    found = nmea_log.read(path, FileOptions(transducer=0.4))
    assert found.depth == pytest.approx(np.full(40, depth)) and note in " ".join(found.notes)


def test_spoilt_soundings_are_counted(tmp_path):
    lines = log(lambda i: say("DPT", f"{9 + i / 10:.1f}", "0.5")).splitlines()
    lines[5] = lines[5].replace("DPT,9", "DPT,8")
    lines[7] = lines[7][:9]
    (tmp_path / "a.nmea").write_text("\n".join(lines))
    found = nmea_log.read(tmp_path / "a.nmea", FileOptions())
    assert found.size == 38
    assert "2 spoilt sentences passed over (1 wrong checksum, 1 no checksum)" in found.notes


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("$", "no fixes"),
        (rmc(), "no depths"),
        (say("DPT", "9.4", "0.5"), "no fixes"),
    ],
)
def test_no_soundings(tmp_path, text, words):
    (tmp_path / "a.nmea").write_text(text)
    with pytest.raises(InputError, match=words):
        nmea_log.read(tmp_path / "a.nmea", FileOptions())


# -- what no receiver measured -------------------------------------------------------------------

PLACE = ("4824.0000", "N", "09154.0000", "W")


def gga(clock: str, quality: str, talker: str = "GP") -> str:
    return say("GGA", clock, *PLACE, quality, "08", "0.9", "350.0", "M", "", "M", "", "",
               talker=talker)  # fmt: skip


def said_rmc(clock: str, status: str, mode: str = "A", talker: str = "GP") -> str:
    return say("RMC", clock, status, *PLACE, "1.7", "45.0", "140826", "", "", mode, talker=talker)


@pytest.mark.parametrize(
    ("line", "what"),
    [
        (gga("120000", "8"), "simulated"),  # GGA quality 8 and 7, NMEA 0183
        (gga("120000", "7"), "typed in"),
        (said_rmc("120000", "A", "S"), "simulated"),  # mode indicator S and M
        (said_rmc("120000", "A", "M"), "typed in"),
        (say("GLL", *PLACE, "120000", "A", "S", talker="GP"), "simulated"),
    ],
)
def test_a_place_that_no_receiver_measured_is_none(line, what):
    listener = TalkReader()
    assert listener.take(line) is None
    assert listener.unmeasured() == f"1 {what}"
    assert (listener.spoilt, listener.void, listener.used) == (0, 0, 0)


def test_a_place_is_none_where_the_same_instrument_says_void():
    listener = TalkReader()
    assert listener.take(said_rmc("120000", "V", "N")) is None
    assert listener.take(gga("120000", "1")) is None
    assert listener.take(gga("120001", "6")) is None
    assert listener.void == 3
    # another instrument's word is its own
    assert listener.take(gga("120001", "1", talker="GN")) is not None
    # its fix is back, or its RMC has long been silent
    assert listener.take(said_rmc("120002", "A")) is not None
    assert listener.take(gga("120002", "1")) is not None
    assert listener.take(said_rmc("235958", "V", "N")) is None
    assert listener.take(gga("000003", "1")) is None
    assert listener.take(gga("000030", "1")) is not None


def test_its_word_counts_where_only_gga_is_listened_for():
    listener = TalkReader(kinds=("GGA",))
    listener.take(said_rmc("120000", "V", "N"))
    assert listener.take(gga("120000", "1")) is None
    assert (listener.void, listener.spoilt) == (1, 0)
    assert listener.take(said_rmc("120001", "A")) is None


def test_a_log_of_a_simulator_is_no_track(tmp_path):
    path = tmp_path / "bench.nmea"
    lines = [said_rmc(f"1200{k:02d}", "V", "S") + gga(f"1200{k:02d}", "8") for k in range(30)]
    path.write_text("".join(lines))
    with pytest.raises(InputError, match="30 simulated"):
        read_fixes(path)
    lines += [gga(f"1201{k:02d}", "1", talker="GN") for k in range(30)]
    path.write_text("".join(lines))
    fixes = read_fixes(path)
    assert len(fixes) == 30
    assert any("no receiver measured: 30 simulated" in note for note in fixes.notes)


def test_an_empty_zda_is_no_noise():
    listener = TalkReader()
    assert listener.take(say("ZDA", "", "", "", "", "", "", talker="GP")) is None
    assert listener.take(say("ZDA", "120000", "", "", "", "", "", talker="GP")) is None
    assert listener.spoilt == 0
    listener.take(say("ZDA", "120000", "14", "", "2026", "", "", talker="GP"))
    assert dict(listener.dropped) == {"senseless day": 1}
