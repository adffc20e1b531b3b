"""NMEA 0183 sentences found in noise, checked and joined to days: places, speeds and depths.

pynmea2 reads the sentences: checksum, talker, fields. What is left for us is what no library does
for a boat's cable: find the sentences in noise and torn lines, refuse what cannot be, join clock
and day over midnight, and count what was left out and why.

References
----------
NMEA 0183 (IEC 61162-1), sentences RMC, GGA, GLL, ZDA, VTG, VHW, DPT, DBT, DBS and MTW.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time
from typing import Any

import pynmea2

from towscope.constants import FOOT, KNOT

FATHOM = 6.0 * FOOT
DAY = 86_400.0
MIDNIGHT = time(tzinfo=UTC)
VOID_FOR = 10.0  # [s] by the receiver's clock, for which its RMC's word holds that it has no fix
# places that no receiver measured, by GGA's quality and by the mode that other sentences end with
UNREAL_QUALITY = {7.0: "typed in", 8.0: "simulated"}
UNREAL_MODE = {"M": "typed in", "S": "simulated"}
_SENSELESS = ("status", "time", "day", "place", "figure")
PLACES = ("RMC", "GGA", "GLL")  # best first: RMC alone says the day
SPEEDS = ("VTG", "VHW")
DEPTHS = ("DBS", "DPT", "DBT")  # best first: below the surface, then with the way to it
WARMTHS = ("MTW",)
# a sentence begins at its $ and ends where the next begins, or where no field can go on; a talker
# that begins with P is none: such sentences are each maker's own
SENTENCE = re.compile(
    r"\$((?!P)[A-Z]{2})(" + "|".join((*PLACES, "ZDA", *SPEEDS, *DEPTHS, *WARMTHS)) + r"),"
    r"[^$!*\r\n\\]*(?:\*[0-9A-Fa-f]{2})?"
)


@dataclass(frozen=True)
class Fix:
    """One fix.

    Attributes
    ----------
    time : float
        Unix time [s], or seconds of an unknown day, rising over midnight, where not `dated`.
    dated : bool
        Whether the day is known.
    latitude, longitude : float
        Place [degrees].
    speed : float or None
        Over ground [m/s], where the sentence says it.
    course : float or None
        Over ground [degrees from true north], where the sentence says it.
    kind, talker : str
        Of the sentence.
    """

    time: float
    dated: bool
    latitude: float
    longitude: float
    speed: float | None
    course: float | None
    kind: str
    talker: str


@dataclass(frozen=True)
class Speed:
    """A speed without a place.

    Attributes
    ----------
    speed : float
        Speed [m/s].
    way : float or None
        Course over ground, or heading through water [degrees from true north].
    water : bool
        Whether it is through the water (VHW) rather than over ground (VTG).
    kind, talker : str
        Of the sentence.
    """

    speed: float
    way: float | None
    water: bool
    kind: str
    talker: str


@dataclass(frozen=True)
class Depth:
    """A depth without a place.

    Attributes
    ----------
    depth : float
        Depth below the surface (DBS) or below the transducer (DPT, DBT) [m]; NaN where the
        sounder lost the bottom.
    offset : float or None
        What DPT says of the transducer [m]: positive, its depth below the surface; negative, its
        height above the keel.
    kind, talker : str
        Of the sentence.
    """

    depth: float
    offset: float | None
    kind: str
    talker: str


@dataclass(frozen=True)
class Warmth:
    """A temperature of the water.

    Attributes
    ----------
    warmth : float
        Temperature [degC].
    kind, talker : str
        Of the sentence.
    """

    warmth: float
    kind: str
    talker: str


Heard = Fix | Speed | Depth | Warmth


@dataclass
class TalkReader:
    """Takes talk as it comes, remembers the day, and counts what it cannot use.

    Attributes
    ----------
    kinds : tuple of str
        Kinds of sentence to listen for.
    strict : bool
        Refuse sentences without a checksum; where not, refuse them of those talkers only that
        send others with one.
    dropped : Counter
        Sentences left out, by why.
    void, used : int
        Sentences that said "no fix"; those that gave something.
    unreal : Counter
        Places that the receiver itself says it did not measure, by what they are: "simulated",
        "typed in".

    Examples
    --------
    >>> listener = TalkReader()
    >>> fix = listener.take("$GPRMC,123519,A,4807.038,N,01131.000,E,002.4,084.4,230394,003.1,W*68")
    >>> fix.talker, round(fix.latitude, 4), round(fix.speed, 2)
    ('GP', 48.1173, 1.23)
    >>> listener.take("$GPRMC,123519,A,4907.038,N,01131.000,E,002.4,084.4,230394,003.1,W*68")
    >>> listener.spoilt, dict(listener.dropped)
    (1, {'wrong checksum': 1})
    >>> TalkReader(kinds=("DPT",), strict=False).take("$SDDPT,9.4,0.5,").depth
    9.4
    """

    kinds: tuple[str, ...] = PLACES
    strict: bool = True
    dropped: Counter[str] = field(default_factory=Counter)
    unreal: Counter[str] = field(default_factory=Counter)
    void: int = 0
    used: int = 0
    day: date | None = None
    _checked: set[str] = field(default_factory=set)
    _last: dict[str, float] = field(default_factory=dict)
    _days: dict[str, int] = field(default_factory=dict)
    _voided: dict[str, float] = field(default_factory=dict)  # talker to second of the day

    @property
    def spoilt(self) -> int:
        """How many sentences were left out."""
        return self.dropped.total()

    def unmeasured(self) -> str:
        """Say what places were that no receiver measured: "12 simulated"; empty without any."""
        return ", ".join(f"{count:,} {what}" for what, count in self.unreal.items() if count)

    def why(self) -> str:
        """Say why sentences were left out: "12 wrong checksum, 1 no place"."""
        return ", ".join(
            f"{count:,} {reason}" for reason, count in self.dropped.most_common() if count
        )

    def take(self, line: str) -> Heard | None:
        """Take one line; give what its last good sentence says, if anything."""
        heard = None
        for heard in self.hear(line):  # noqa: B007 - a torn line may run into a whole one
            pass
        return heard

    def hear(self, talk: str) -> Iterator[Heard]:
        """Give what each sentence in a piece of talk says, be it a line or a whole log."""
        for match in SENTENCE.finditer(talk):
            # RMC is heard in any case: it says whether its talker has a fix at all
            if match[2] not in self.kinds and match[2] not in ("ZDA", "RMC"):
                continue
            whole = "*" in match[0]
            try:
                said = pynmea2.parse(match[0], check=self.strict or match[1] in self._checked)
                if whole:
                    self._checked.add(match[1])
                heard = self._read(said)
            except pynmea2.ChecksumError:
                why = "wrong checksum" if whole else "no checksum"
            except pynmea2.ParseError:
                why = "torn"
            except (ValueError, OverflowError) as error:
                why = f"senseless {error}" if str(error) in _SENSELESS else "senseless"
            else:
                if heard is not None and match[2] in self.kinds:
                    self.used += 1
                    yield heard
                continue
            self.dropped[why] += match[2] in (*self.kinds, "ZDA")

    def _read(self, said: Any) -> Heard | None:
        kind = said.sentence_type
        if kind == "ZDA":
            if all(isinstance(part, int) for part in (said.year, said.month, said.day)):
                self.day = said.datestamp
                return None
            if said.year is said.month is said.day is None:
                return None  # before its first fix a receiver has no day to say
            raise ValueError("day")
        if kind in PLACES:
            return self._fix(said)
        if kind in DEPTHS:
            return _depth(said)
        return _warmth(said) if kind in WARMTHS else _speed(said)

    def _fix(self, said: Any) -> Fix | None:
        kind, talker = said.sentence_type, said.talker
        clock, leap = said.timestamp, 0.0
        if isinstance(clock, str) and clock[4:6] == "60":
            # a leap second: Unix time gives it the number of the second after it
            said.timestamp, leap = f"{clock[:4]}59{clock[6:]}", 1.0
            clock = said.timestamp
        # pynmea2's own is_valid takes the navigational status V, "not provided", which many
        # receivers send in every RMC, for "not valid"
        mode = None if kind == "GGA" else getattr(said, _MODES[kind], None)
        quality = _figure(said.gps_qual) if kind == "GGA" else None
        unreal = UNREAL_MODE.get(mode or "") or UNREAL_QUALITY.get(quality or 0.0)
        if unreal is not None:
            self.unreal[unreal] += kind in self.kinds
            return None
        if quality in (None, 0.0) if kind == "GGA" else said.status == "V" or mode == "N":
            self.void += kind in self.kinds
            if kind == "RMC" and isinstance(clock, time):
                self._voided[talker] = _seconds(clock)
            return None
        if kind != "GGA" and said.status != "A":
            raise ValueError("status")
        if not isinstance(clock, time):
            raise ValueError("time")
        if kind == "RMC":
            self._voided.pop(talker, None)
        elif talker in self._voided:
            apart = abs(_seconds(clock) - self._voided[talker])
            if min(apart, DAY - apart) <= VOID_FOR:
                self.void += 1  # its RMC says that it has none
                return None
        _check_place(said)
        speed = course = None
        if kind == "RMC":
            speed, course = _figure(said.spd_over_grnd, KNOT), _figure(said.true_course)
            day = said.datestamp
            if isinstance(day, date):
                self.day = day
            elif day is not None:
                raise ValueError("day")
        moment, dated = self._moment(clock, talker + kind)
        return Fix(moment + leap, dated, said.latitude, said.longitude, speed, course, kind, talker)

    def _moment(self, clock: time, key: str) -> tuple[float, bool]:
        """Join clock and day; give the moment [s] and whether the day is known."""
        last = self._last.get(key)
        if self.day is not None:
            moment = datetime.combine(self.day, clock).timestamp()
            if not key.endswith("RMC") and last is not None and last - moment > DAY / 2:
                moment += DAY  # past midnight before the next sentence that says the day
            self._last[key] = moment
            return moment, True
        second = _seconds(clock)
        days = self._days.get(key, 0)
        if last is not None and last - (days * DAY + second) > DAY / 2:
            days += 1
        self._days[key] = days
        self._last[key] = days * DAY + second
        return days * DAY + second, False


def _seconds(clock: time) -> float:
    """Give the second of the day."""
    return clock.hour * 3600.0 + clock.minute * 60.0 + clock.second + clock.microsecond / 1e6


def _check_place(said: Any) -> None:
    """Refuse what pynmea2 lets pass as a place: no side, over 59 minutes, over 90 degrees."""
    for name, sides, most in (("lat", "NS", 90.0), ("lon", "EW", 180.0)):
        text, side = getattr(said, name), getattr(said, f"{name}_dir")
        if len(side) != 1 or side not in sides or not text:
            raise ValueError("place")
        if not (float(text) % 100.0 < 60.0 and float(text) <= 100.0 * most):
            raise ValueError("place")
        if not text.rpartition(".")[2].isdecimal() or "." not in text:
            setattr(said, name, f"{text.rstrip('.')}.0")  # it wants decimals, the standard none


# as pynmea2 names the field that says how a place was come by
_MODES = {"RMC": "mode_indicator", "GLL": "faa_mode"}
# pynmea2 spells the fields of DBT and DBS differently
_DEPTH_FIELDS = {
    "depth_meters": 1.0,
    "depth_meter": 1.0,
    "depth_feet": FOOT,
    "depth_fathoms": FATHOM,
    "depth_ fathoms": FATHOM,
}


def _depth(said: Any) -> Depth:
    kind, offset = said.sentence_type, None
    if kind == "DPT":
        depth, offset = _figure(said.depth), _figure(said.offset)
    else:
        given = (_figure(getattr(said, name, None), k) for name, k in _DEPTH_FIELDS.items())
        depth = next((figure for figure in given if figure is not None), None)
    return Depth(math.nan if depth is None else depth, offset, kind, said.talker)


def _speed(said: Any) -> Speed | None:
    water = said.sentence_type == "VHW"
    if water:
        given = (_figure(said.water_speed_knots, KNOT), _figure(said.water_speed_km, 1.0 / 3.6))
        way = _figure(said.heading_true)
    else:
        given = (_figure(said.spd_over_grnd_kts, KNOT), _figure(said.spd_over_grnd_kmph, 1.0 / 3.6))
        way = _figure(said.true_track)
    speed = next((s for s in given if s is not None), None)
    return None if speed is None else Speed(speed, way, water, said.sentence_type, said.talker)


def _warmth(said: Any) -> Warmth | None:
    warmth = _figure(said.temperature)
    if warmth is None:
        return None
    if said.units not in ("C", ""):
        raise ValueError("figure")
    return Warmth(warmth, said.sentence_type, said.talker)


def _figure(value: object, scale: float = 1.0) -> float | None:
    """Give a field's figure; pynmea2 leaves a field that is none as its letters."""
    if value is None:
        return None
    if isinstance(value, str) or not math.isfinite(value):  # type: ignore[arg-type]
        raise ValueError("figure")
    return float(value) * scale  # type: ignore[arg-type]
