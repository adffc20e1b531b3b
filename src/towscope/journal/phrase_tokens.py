"""The crew's words: the verbs, skies and hooks that are known, and a line parted into tokens."""

from __future__ import annotations

import re
from datetime import datetime
from typing import Final

from towscope.errors import InputError, one_line
from towscope.journal.times import AGO, parse_time
from towscope.words.hooks import Hook

SKIES: Final = (
    "sunny",
    "clear",
    "hazy",
    "partly cloudy",
    "cloudy",
    "overcast",
    "rain",
    "drizzle",
    "fog",
    "snow",
    "dawn",
    "dusk",
    "night",
)
HOOKED: Final[dict[str, Hook]] = {
    "lip": "lip",
    "jaw": "lip",
    "mouth": "mouth",
    "gill": "gill",
    "gills": "gill",
    "eye": "eye",
    "throat": "throat",
    "stomach": "stomach",
    "gut": "stomach",
    "outside": "outside",
    "foul": "outside",
}
VERBS: Final[dict[str, str]] = {
    "out": "out",
    "set": "set",
    "in": "in",
    "reel": "in",
    "lure": "change",
    "change": "change",
    "length": "change",
    "catch": "catch",
    "caught": "catch",
    "fish": "catch",
    "landed": "catch",
    "miss": "miss",
    "missed": "miss",
    "strike": "miss",
    "lost": "miss",
    "hit": "hit",
    "bottom": "hit",
    "tick": "hit",
    "sonar": "sonar",
    "mark": "sonar",
    "marked": "sonar",
    "sky": "sky",
    "light": "sky",
    "wind": "wind",
    "temp": "temp",
    "water": "temp",
    "surface": "temp",
    "clarity": "clarity",
    "visibility": "clarity",
    "note": "note",
}
GRAMMAR: Final = (
    "out, in, change, lure, catch, miss, hit, sonar, sky, wind, temp, clarity, note, undo, fix"
)
_LENGTH: Final = r"ft|feet|foot|in|inch|inches|\"|'|m|cm|mm|yd|yds|yards|fathoms?|colou?rs?"
_UNIT: Final = re.compile(
    rf"({_LENGTH}|lbs?|pounds?|oz|kg|g|grams?|mph|knots?|kn|kts?|km/h|kph|m/s|bft|beaufort"
    r"|f|c|°f|°c|degf|degc|deg)",
    re.IGNORECASE,
)
_FIGURE: Final = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)")
_MEASURE: Final = re.compile(rf"({_FIGURE.pattern})({_UNIT.pattern})", re.IGNORECASE)
CLOCK_WORD: Final = re.compile(r"\d{1,2}(?::\d{2}){1,2}(?:am|pm)?|\d{1,2}(?:am|pm)", re.IGNORECASE)
WINDS: Final = re.compile(r"(?:from)?([ns]?[ew]|[ns]|[nesw][ns][ew])", re.IGNORECASE)
RELEASED: Final = ("released", "release", "rel", "back", "let-go")
KEPT: Final = ("kept", "keep", "box", "boxed")


def time_out_of(text: str, at: str | None, now: datetime) -> tuple[datetime, str]:
    """Take the time out of the words."""
    found = [at] if at else []
    if match := AGO.search(text):
        found.append(match[0])
        text = text[: match.start()] + " " + text[match.end() :]
    word = rf"(?:(?:at|yesterday|today)\s+)*(?:{CLOCK_WORD.pattern})(?=\s|$)"
    if match := re.search(rf"(?:^|\s)({word})", text, re.IGNORECASE):
        found.append(match[1])
        text = text[: match.start()] + " " + text[match.end() :]
    if len(found) > 1:
        raise InputError(f'two times: "{one_line(found[0], 30)}" and "{one_line(found[1], 30)}"')
    return parse_time(found[0] if found else "", now), text


def tokens_of(text: str) -> list[str]:
    """Part the words, a figure and its unit together: "3 lb 4 oz" is one."""
    raw = [part for part in re.split(r"[\s,;]+", text) if part]
    out: list[str] = []
    i = 0
    while i < len(raw):
        token = raw[i]
        if _FIGURE.fullmatch(token) and i + 1 < len(raw) and _UNIT.fullmatch(raw[i + 1]):
            token, i = f"{token} {raw[i + 1]}", i + 1
        elif match := _MEASURE.fullmatch(token):
            token = f"{match[1]} {match[2]}"
        if (
            out
            and kind_of(out[-1]) == kind_of(token) in ("length", "mass")
            and _smaller(out[-1], token)
        ):
            out[-1] = f"{out[-1]} {token}"
        else:
            out.append(token)
        i += 1
    return out


def _smaller(big: str, small: str) -> bool:
    pair = (big.split()[-1].lower(), small.split()[-1].lower())
    feet, inches = ("ft", "feet", "foot", "'"), ("in", "inch", "inches", '"')
    pounds = ("lb", "lbs", "pound", "pounds")
    return (pair[0] in feet and pair[1] in inches) or (pair[0] in pounds and pair[1] == "oz")


def kind_of(token: str) -> str | None:
    """Say what kind of quantity a token is, "bare" for a figure without unit, else None."""
    if _FIGURE.fullmatch(token):
        return "bare"
    match = re.fullmatch(rf"{_FIGURE.pattern} (\S+).*", token)
    if match is None:
        return None
    unit = match[1].lower()
    if re.fullmatch(_LENGTH, unit):
        return "length"
    if unit in ("lb", "lbs", "pound", "pounds", "oz", "kg", "g", "gram", "grams"):
        return "mass"
    if unit in ("f", "c", "°f", "°c", "degf", "degc", "deg"):
        return "temperature"
    return "speed"
