"""Times as people say them on a boat, read against a clock and a time zone.

Nothing is guessed: a clock time that happened twice, never, or could be morning or evening is
refused with the two ways to say it.
"""

from __future__ import annotations

import contextlib
import os
import re
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from pathlib import Path
from typing import Final
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from towscope.errors import ArgumentError, InputError, one_line

EARLIEST: Final = datetime(1990, 1, 1, tzinfo=UTC)
LATEST: Final = datetime(2100, 1, 1, tzinfo=UTC)
BEGINS_H: Final = 3  # o'clock, at which a day on the water begins
EXAMPLES: Final = '"now", "10 min ago", "7:40am", "19:05", "yesterday 18:30" or "2026-08-14 07:40"'
_UNITS: Final[dict[str, float]] = {"s": 1.0, "min": 60.0, "h": 3600.0, "d": 86400.0}
_UNIT: Final = r"(seconds?|secs?|s|minutes?|mins?|m|hours?|hrs?|h|days?|d)"
_AMOUNT: Final = rf"(an?|half an|\d+(?:\.\d+)?)\s*{_UNIT}"
AGO: Final = re.compile(rf"((?:{_AMOUNT}\s*(?:and\s*)?){{1,2}})\s*ago", re.IGNORECASE)
_CLOCK: Final = re.compile(
    r"(\d{1,2})(?:[:.h](\d{2}))?(?::(\d{2}))?\s*(am|pm|a\.m\.|p\.m\.)?", re.IGNORECASE
)


def local_zone() -> tuple[tzinfo, str | None]:
    """Give the time zone of this machine, and its name where it has one.

    ``TOWSCOPE_ZONE`` or ``TZ`` may name another.

    Raises
    ------
    InputError
        Where ``TOWSCOPE_ZONE`` names no zone.
    """
    chosen = os.environ.get("TOWSCOPE_ZONE")
    if chosen:
        return zone(chosen), chosen
    name = os.environ.get("TZ", "").lstrip(":")
    if not name:
        with contextlib.suppress(OSError):
            name = str(Path("/etc/localtime").resolve()).partition("/zoneinfo/")[2]
    with contextlib.suppress(ZoneInfoNotFoundError, ValueError, OSError):
        return ZoneInfo(name), name
    return _MachineZone(), None


class _MachineZone(tzinfo):
    """The machine's own clock, where its zone has no name: each date by its own offset."""

    def utcoffset(self, moment: datetime | None) -> timedelta | None:
        return None if moment is None else self._local(moment).utcoffset()

    def tzname(self, moment: datetime | None) -> str | None:
        return None if moment is None else self._local(moment).tzname()

    def dst(self, moment: datetime | None) -> timedelta | None:
        return None  # the system does not say it

    def fromutc(self, moment: datetime) -> datetime:
        local = moment.replace(tzinfo=UTC).astimezone()
        naive = local.replace(tzinfo=None, fold=0)
        later = naive.astimezone().utcoffset() != local.utcoffset()
        return naive.replace(tzinfo=self, fold=int(later))

    @staticmethod
    def _local(moment: datetime) -> datetime:
        return moment.replace(tzinfo=None).astimezone()


def zone(name: str) -> ZoneInfo:
    """Give the time zone of that name.

    Raises
    ------
    InputError
        Where there is none.
    """
    try:
        return ZoneInfo("UTC" if name.upper() in ("UTC", "Z") else name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise InputError(
            f'unknown time zone "{one_line(name, 40)}"; expected a name such as "America/Chicago" '
            "or UTC"
        ) from None


def parse_time(text: str, now: datetime) -> datetime:
    """Read a time as people say it.

    Parameters
    ----------
    text : str
        ``"10 min ago"``, ``"7:40am"``, ``"yesterday 18:30"``, ISO 8601; empty text is now.
    now : datetime
        The present, with its zone, in which clock times are meant.

    Returns
    -------
    datetime
        The time, with its zone.

    Raises
    ------
    InputError
        Where it cannot be read, lies ahead of `now`, or can be meant two ways.

    Examples
    --------
    >>> now = datetime(2026, 8, 14, 15, 0, tzinfo=ZoneInfo("America/Chicago"))
    >>> parse_time("10 min ago", now).isoformat()
    '2026-08-14T14:50:00-05:00'
    >>> parse_time("7:40am", now).isoformat()
    '2026-08-14T07:40:00-05:00'
    >>> parse_time("2:40", now)
    Traceback (most recent call last):
    towscope.errors.InputError: "2:40" could be morning or evening; expected 2:40am, 2:40pm or 02:40
    """
    words = " ".join(text.split())
    if len(words) > 80:
        raise InputError(f'time "{one_line(words, 40)}" is far too long; expected {EXAMPLES}')
    low = words.lower().removeprefix("at ")
    if low in ("", "now", "just now"):
        return now
    if match := AGO.fullmatch(low):
        return _ago(match[1], words, now)
    moment = _dated(low, words, now) if re.match(r"\d{4}-\d", low) else _spoken(low, words, now)
    if moment.astimezone(UTC) > now.astimezone(UTC):
        raise InputError(
            f'"{one_line(words, 40)}" is {_span(moment - now)} ahead of now '
            f"({now:%Y-%m-%d %H:%M}); is the clock or the date wrong?"
        )
    return moment


def _ago(amounts: str, words: str, now: datetime) -> datetime:
    seconds = 0.0
    for number, unit in re.findall(_AMOUNT, amounts, re.IGNORECASE):
        count = {"a": 1.0, "an": 1.0, "half an": 0.5}.get(number) or float(number)
        key = "min" if unit.startswith("m") else unit[0]
        seconds += count * _UNITS[key]
    if not 0 <= seconds <= 40 * 365 * 86400:
        raise InputError(f'"{one_line(words, 40)}" is out of all reason; expected {EXAMPLES}')
    return (now.astimezone(UTC) - timedelta(seconds=seconds)).astimezone(now.tzinfo)


def _dated(low: str, words: str, now: datetime) -> datetime:
    spelled = re.sub(r"(\d)\s+(\d)", r"\1T\2", low.replace(" z", "z"), count=1).upper()
    try:
        moment = datetime.fromisoformat(spelled.replace(" ", ""))
    except ValueError:
        raise InputError(
            f'cannot read the time "{one_line(words, 40)}"; expected {EXAMPLES}'
        ) from None
    if len(spelled) <= 10:
        raise InputError(f'"{one_line(words, 40)}" is a date without a time; expected {EXAMPLES}')
    return moment if moment.tzinfo is not None else _placed(moment, words, now.tzinfo)


def _spoken(low: str, words: str, now: datetime) -> datetime:
    day, rest, named, yesterday = now.date(), low, False, False
    for name, back in (("today", 0), ("yesterday", 1)):
        if low.startswith(name):
            day, rest, named = now.date() - timedelta(days=back), low[len(name) :].strip(), True
            yesterday = back > 0
    match = _CLOCK.fullmatch(rest.removeprefix("at ").strip())
    if match is None or (match[2] is None and match[4] is None):
        raise InputError(f'cannot read the time "{one_line(words, 40)}"; expected {EXAMPLES}')
    hour, minute, second = int(match[1]), int(match[2] or 0), int(match[3] or 0)
    half = (match[4] or "").replace(".", "")
    if half and not 1 <= hour <= 12:
        raise InputError(f'"{one_line(words, 40)}": no hour {hour} {half}')
    if half:
        hour = hour % 12 + (12 if half == "pm" else 0)
    try:
        naive = datetime.combine(day, time(hour, minute, second))
    except ValueError:
        raise InputError(
            f'"{one_line(words, 40)}" is no time of day; expected {EXAMPLES}'
        ) from None
    local = now.replace(tzinfo=None)
    if (
        yesterday and day_at(now) != now.date()
    ):  # the night goes on: is yesterday the eve, or before?
        raise InputError(
            f'"{one_line(words, 40)}" could be two days now, past midnight; '
            f"expected {day} {rest} or {day - timedelta(days=1)} {rest}"
        )
    if naive > local:  # after midnight, "23:40" is still of the same night
        before = naive - timedelta(days=1)
        naive = before if day_at(before) == day_at(now) else naive
    moment = _placed(naive, words, now.tzinfo)
    evening = naive + timedelta(hours=12)
    spoken = not half and 1 <= hour < 12 and len(match[1]) == 1
    past = evening <= local
    if spoken and (past or named):
        clock = f"{hour}:{minute:02d}"
        raise InputError(
            f'"{one_line(words, 40)}" could be morning or evening; '
            f"expected {clock}am, {clock}pm or {hour:02d}:{minute:02d}"
        )
    return moment


def _placed(naive: datetime, words: str, where: tzinfo | None) -> datetime:
    """Give the one moment a local clock time means; twice or never is refused."""
    early, late = naive.replace(tzinfo=where, fold=0), naive.replace(tzinfo=where, fold=1)
    if early.utcoffset() == late.utcoffset():
        return early
    there = early.astimezone(UTC).astimezone(where).replace(tzinfo=None)
    shown = one_line(words, 40)
    if there != naive:
        raise InputError(f'"{shown}" never happened: the clocks went forward over it')
    one, two = (f"{moment:%Y-%m-%dT%H:%M%z}" for moment in (early, late))
    raise InputError(f'"{shown}" happened twice as the clocks went back; expected {one} or {two}')


def day_at(moment: datetime) -> date:
    """Give the day on the water that a moment belongs to.

    It runs from three in the morning to three the next by the clock on the wall: who fishes past
    midnight is still out on the same day.

    Parameters
    ----------
    moment : datetime
        In the boat's time zone.

    Examples
    --------
    >>> day_at(datetime(2026, 8, 15, 1, 30)).isoformat()
    '2026-08-14'
    """
    return (moment.replace(tzinfo=None) - timedelta(hours=BEGINS_H)).date()


def check_day(text: str) -> str:
    """Give a day in its one spelling, or say what is wrong with it.

    Raises
    ------
    InputError
        Where it is no day between 1990 and 2100, or is spelled otherwise than "2026-08-14".
    """
    try:
        day = date.fromisoformat(text)
    except ValueError:
        day = None
    if day is None or day.isoformat() != text:
        raise InputError(f'"{one_line(text, 40)}" is no day; expected such as "2026-08-14"')
    # west of Greenwich, and before three in the morning, the first moment is of a day before
    if not EARLIEST.date() - timedelta(days=2) <= day <= LATEST.date():
        raise ArgumentError("day", f' "{text}"; expected one between 1990 and 2100')
    return text


def begin_of(day: date, zone: tzinfo | None) -> datetime:
    """Give the moment at which a day on the water begins; see `day_at`."""
    return datetime.combine(day, time(BEGINS_H), zone)


def parse_day(text: str, today: date) -> date:
    """Read a day: ``"today"``, ``"yesterday"`` or ``"2026-08-14"``.

    Raises
    ------
    InputError
        Where it is none of these.

    Examples
    --------
    >>> parse_day("yesterday", date(2026, 8, 14)).isoformat()
    '2026-08-13'
    """
    low = text.strip().lower()
    if low in ("today", "now"):
        return today
    if low == "yesterday":
        return today - timedelta(days=1)
    try:
        return date.fromisoformat(check_day(low))
    except InputError:
        raise InputError(
            f'cannot read the day "{one_line(text, 40)}"; '
            'expected "today", "yesterday" or one between 1990 and 2100, as "2026-08-14"'
        ) from None


def _span(gap: timedelta) -> str:
    minutes = gap.total_seconds() / 60
    if minutes < 90:
        return f"{max(minutes, 1):.0f} min"
    return f"{minutes / 60:.1f} h" if minutes < 2880 else f"{minutes / 1440:.0f} days"
