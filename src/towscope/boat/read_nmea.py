"""Where was the boat by its NMEA 0183 talk: one sentence at a time, or a whole log, noise and all.

Taken are RMC, GGA and GLL (places) and ZDA (dates), from any talker. What a bad cable or a torn
line spoils fails its checksum and is counted, never believed.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time
from functools import reduce
from operator import xor
from pathlib import Path

import numpy as np

from towscope.boat.track import Fixes
from towscope.errors import InputError, one_line

KNOT = 1852.0 / 3600.0  # [m/s]; International Hydrographic Conference, Monaco 1929
MOST_BYTES = 250_000_000
DAY = 86_400.0
MIDNIGHT = time(tzinfo=UTC)
PLACES = ("RMC", "GGA", "GLL")  # best first: RMC alone says the day
SENTENCE = re.compile(r"\$([A-Z]{2})(RMC|GGA|GLL|ZDA),[^$!*\r\n\\]*(?:\*[0-9A-Fa-f]{2})?")
_DEGREES = re.compile(r"(\d{1,3})([0-5]\d(?:\.\d*)?)")
_FIELDS = {"RMC": (1, 3, 2), "GGA": (1, 2, 6), "GLL": (5, 1, 6)}  # clock, place, status
_CLOCK = re.compile(r"([01]\d|2[0-3])([0-5]\d)([0-5]\d|60)(\.\d*)?")


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


@dataclass
class Listener:
    """Takes sentences as they come, remembers the day, and counts what it cannot use.

    Attributes
    ----------
    kinds : tuple of str
        Kinds of sentence to take places from.
    strict : bool
        Refuse sentences without a checksum.
    spoilt, void, used : int
        Sentences with a wrong checksum or senseless fields; those that said "no fix"; the rest.

    Examples
    --------
    >>> listener = Listener()
    >>> fix = listener.take("$GPRMC,123519,A,4807.038,N,01131.000,E,002.4,084.4,230394,003.1,W*68")
    >>> fix.talker, round(fix.latitude, 4), round(fix.speed, 2)
    ('GP', 48.1173, 1.23)
    >>> listener.take("$GPRMC,123519,A,4907.038,N,01131.000,E,002.4,084.4,230394,003.1,W*68")
    >>> listener.spoilt
    1
    """

    kinds: tuple[str, ...] = PLACES
    strict: bool = True
    spoilt: int = 0
    void: int = 0
    used: int = 0
    _day: date | None = None
    _last: dict[str, float] = field(default_factory=dict)
    _days: dict[str, int] = field(default_factory=dict)

    def take(self, line: str) -> Fix | None:
        """Take one line; give the fix in it, if any."""
        match = SENTENCE.search(line)
        if match is None or (match[2] not in self.kinds and match[2] != "ZDA"):
            return None
        try:
            fix = self._read(match[2], match[1], self._fields(match[0]))
        except (ValueError, IndexError, OverflowError):
            self.spoilt += 1
            return None
        self.used += fix is not None
        return fix

    def _fields(self, sentence: str) -> list[str]:
        """Give what stands between the commas of a whole sentence, its name first."""
        body, star, check = sentence[1:].partition("*")
        if star:
            if int(check, 16) != reduce(xor, body.encode("latin-1"), 0):
                raise ValueError("checksum")
        elif self.strict:
            raise ValueError("no checksum")
        return body.split(",")

    def _read(self, kind: str, talker: str, said: list[str]) -> Fix | None:
        if kind == "ZDA":
            self._day = date(int(said[4]), int(said[3]), int(said[2]))
            return None
        clock_at, place_at, status_at = _FIELDS[kind]
        if said[status_at] in ("", "0") if kind == "GGA" else said[status_at] != "A":
            self.void += 1
            return None
        clock = _CLOCK.fullmatch(said[clock_at])
        if clock is None:
            raise ValueError("time")
        second = int(clock[1]) * 3600.0 + int(clock[2]) * 60.0 + int(clock[3])
        second += float(f"0{clock[4]}") if clock[4] else 0.0
        latitude = _angle(said[place_at], said[place_at + 1], "NS", 90.0)
        longitude = _angle(said[place_at + 2], said[place_at + 3], "EW", 180.0)
        speed = course = None
        if kind == "RMC":
            speed, course = _maybe(said[7], KNOT), _maybe(said[8], 1.0)
            if day := said[9]:
                if len(day) != 6 or not day.isdecimal():
                    raise ValueError("day")
                # two digits say the year: from 1980, when the satellites' clock began
                year = int(day[4:]) + (1900 if int(day[4:]) >= 80 else 2000)
                self._day = date(year, int(day[2:4]), int(day[:2]))
        if self._day is not None:
            midnight = datetime.combine(self._day, MIDNIGHT).timestamp()
            moment = midnight + second
            last = self._last.get(talker + kind)
            if kind != "RMC" and last is not None and last - moment > DAY / 2:
                moment += DAY  # past midnight before the next sentence that says the day
            self._last[talker + kind] = moment
            return Fix(moment, True, latitude, longitude, speed, course, kind, talker)
        key = talker + kind
        days = self._days.get(key, 0)
        last = self._last.get(key)
        if last is not None and last - (days * DAY + second) > DAY / 2:
            days += 1
        self._days[key] = days
        self._last[key] = days * DAY + second
        return Fix(days * DAY + second, False, latitude, longitude, speed, course, kind, talker)


def _angle(text: str, side: str, sides: str, most: float) -> float:
    match = _DEGREES.fullmatch(text)
    if match is None or len(side) != 1 or side not in sides:
        raise ValueError("place")
    angle = int(match[1]) + float(match[2]) / 60.0
    if angle > most:
        raise ValueError("place")
    return angle if side == sides[0] else -angle


def _maybe(text: str, scale: float) -> float | None:
    return float(text) * scale if text.strip() else None


def read_nmea(path: Path) -> Fixes:
    """Read a track from a log of NMEA 0183 sentences.

    Parameters
    ----------
    path : Path
        The log; what else stands in or between its lines is passed over.

    Returns
    -------
    Fixes
        The fixes of one kind of sentence and one talker: of the best kind that the log has, and
        of that the talker with most to say.

    Raises
    ------
    InputError
        Where there is no whole sentence with a fix.

    References
    ----------
    NMEA 0183 (IEC 61162-1), sentences RMC, GGA, GLL and ZDA.
    """
    shown = one_line(path.name, 60)
    expected = "a log of NMEA 0183 sentences with RMC, GGA or GLL"
    size = path.stat().st_size
    if size > MOST_BYTES:
        raise InputError(
            f"{shown} is {size / 1e6:.0f} MB; expected {expected} of at most "
            f"{MOST_BYTES / 1e6:.0f} MB, some days: cut it by days"
        )
    text = path.read_bytes().decode("latin-1")
    seen = Counter((m[1], m[2]) for m in SENTENCE.finditer(text))
    by_kind = Counter[str]()
    for (_, kind), count in seen.items():
        by_kind[kind] += count
    most = max((by_kind[kind] for kind in PLACES), default=0)
    if not most:
        raise InputError(f"{shown} holds no RMC, GGA or GLL sentence; expected {expected}")
    fixes: list[Fix] = []
    listener = Listener()
    for kind in PLACES:
        if not by_kind[kind]:
            continue
        sentences = [m[0] for m in SENTENCE.finditer(text) if m[2] in (kind, "ZDA")]
        checked = any("*" in s for s in sentences[:2000])
        listener = Listener(kinds=(kind,), strict=checked)
        listener._day = _first_day(text)  # it may be said later than the first fix
        found = [fix for s in sentences if (fix := listener.take(s)) is not None]
        if len(found) > len(fixes):
            fixes, used, chosen, strict = found, listener, kind, checked
        if 2 * len(found) > most:
            break
    if not fixes:
        raise InputError(
            f"{shown}: {listener.spoilt} sentences are spoilt and {listener.void} say that there "
            f"was no fix; expected {expected}"
        )
    talkers = Counter(fix.talker for fix in fixes)
    talker = max(talkers, key=lambda t: (talkers[t], t == "GN"))
    notes = []
    if used.spoilt:
        notes.append(f"left out {used.spoilt} spoilt sentences (checksum or fields)")
    if used.void:
        notes.append(f"left out {used.void} sentences that say there was no fix")
    if not strict:
        notes.append("the log has no checksums: sentences are believed as they stand")
    if len(talkers) > 1:
        others = ", ".join(sorted(t for t in talkers if t != talker))
        notes.append(f"{chosen} sentences of several talkers: {talker} is used, not {others}")
    own = [fix for fix in fixes if fix.talker == talker]
    dated = own[0].dated
    moments = np.array([fix.time for fix in own])
    if not dated:
        moments -= moments[0]
        notes.append("the log does not say its day: times are counted from its first fix")
    return Fixes(
        moments,
        np.array([fix.latitude for fix in own]),
        np.array([fix.longitude for fix in own]),
        True,
        dated,
        (),
        tuple(notes),
        shown,
    )


def _first_day(text: str) -> date | None:
    """Give the first day that any whole sentence of a log says."""
    listener = Listener(kinds=("RMC",), strict=False)
    for match in SENTENCE.finditer(text):
        if match[2] in ("RMC", "ZDA"):
            listener.take(match[0])
            if listener._day is not None:
                return listener._day
    return None
