"""Parser of a few words typed on a boat: an entry's kind and fields, or what is unclear.

    out port rig demo 170 ft          catch port 21.5in released walleye
    lure port small-spoon silver      miss starboard 10 min ago
    hit bottom port 31ft              sky cloudy

The order of the words hardly matters. What cannot be read, or could mean two things, is refused.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from difflib import get_close_matches
from typing import Any, Final

from towscope.errors import InputError, one_line
from towscope.journal.phrase_tokens import (
    CLOCK_WORD,
    GRAMMAR,
    HOOKED,
    KEPT,
    RELEASED,
    SKIES,
    VERBS,
    WINDS,
    kind_of,
    time_out_of,
    tokens_of,
)
from towscope.journal.replay import LineSpan
from towscope.journal.times import parse_time
from towscope.units import parse as parse_exactly
from towscope.units import parse_wind
from towscope.words.hooks import HOOKS


@dataclass(frozen=True)
class PhraseContext:
    """What the words are read against.

    Attributes
    ----------
    now : datetime
        The present, with its zone.
    out : mapping
        Rods with a line out, by name.
    last : mapping
        What each known rod had on last.
    rigs, lures : mapping
        Names in the tackle; a rig to its lure, a lure to (body, size [m], colour).
    let_out : callable
        (text, rig, lure) to a let-out [m], for colours of coded line count differently on each rig.
    species : callable
        What people call a fish to its one name; None for what is no fish.
    anyway : bool
        Whether odd things are to be logged with a flag rather than refused.
    """

    now: datetime
    out: Mapping[str, LineSpan] = field(default_factory=dict)
    last: Mapping[str, LineSpan] = field(default_factory=dict)
    rigs: Mapping[str, str] = field(default_factory=dict)
    lures: Mapping[str, tuple[str, float | None, str]] = field(default_factory=dict)
    let_out: Callable[[str, str, str], float] | None = None
    species: Callable[[str], str | None] = lambda _: None
    anyway: bool = False


@dataclass(frozen=True)
class Said:
    """One entry's kind and fields, and what the crew should be told about how it was read."""

    kind: str
    at: datetime
    fields: dict[str, Any]
    remarks: tuple[str, ...] = ()


def parse(text: str, kind: str) -> float:
    """Read a quantity to five decimals: 170 ft is 51.816 m, not 51.815999999."""
    return round(parse_exactly(text, kind), 5)


def read_words(words: Sequence[str], aboard: PhraseContext, at: str | None = None) -> list[Said]:
    """Read one line of words.

    Parameters
    ----------
    words : sequence of str
        As typed; quotes and commas do not matter.
    aboard : PhraseContext
        What they are read against.
    at : str, optional
        The time, where it was given apart from the words.

    Returns
    -------
    list of Said
        Mostly one; ``in all`` gives one for each rod.

    Raises
    ------
    InputError
        Naming the word that cannot be read and what was expected.
    """
    text = " ".join(" ".join(words).split())
    if not text:
        raise InputError(f"nothing to log; expected one of {GRAMMAR}")
    if len(text) > 2200:
        raise InputError("far too much for one entry; expected a few words")
    first, _, rest = text.partition(" ")
    if (
        CLOCK_WORD.fullmatch(first) and at is None
    ):  # a line of a day written down: "7:42am catch ..."
        at, (first, _, rest) = first, rest.partition(" ")
    verb = VERBS.get(first.lower())
    if verb is None:
        near = get_close_matches(first.lower(), VERBS, 1)
        hint = f'; did you mean "{near[0]}"?' if near else ";"
        raise InputError(f'cannot log "{one_line(first, 40)}"{hint} expected one of {GRAMMAR}')
    if verb == "note":
        if not rest:
            raise InputError("an empty note; expected some words")
        return [Said("note", parse_time(at or "", aboard.now), {"text": rest})]
    when, rest = time_out_of(rest, at, aboard.now)
    return READERS[verb](_Reader(tokens_of(rest), aboard, when))


class _Reader:
    """Reads the words after the verb."""

    def __init__(self, tokens: list[str], aboard: PhraseContext, at: datetime) -> None:
        self.tokens, self.aboard, self.at = tokens, aboard, at
        self.told: dict[str, Any] = {}
        self.remarks: list[str] = []

    def said(self, kind: str) -> list[Said]:
        return [Said(kind, self.at, self.told, tuple(self.remarks))]

    def put(self, name: str, value: Any) -> None:
        if name in self.told and self.told[name] != value:
            raise InputError(f"{name.removesuffix('_m').replace('_', ' ')} is given twice")
        self.told[name] = value

    def pop_after(self, word: str) -> str:
        if not self.tokens:
            raise InputError(f'"{word}" and then nothing; expected what it is')
        return self.tokens.pop(0)

    def quantity(self, token: str, kind: str) -> float:
        return parse(token, kind)

    def common(self, token: str) -> bool:
        """Take a word that any entry may hold."""
        if token.lower() in ("by", "who"):
            self.put("who", self.pop_after(token))
            return True
        return False

    def unknown(self, token: str, expected: str) -> InputError:
        if kind_of(token) == "bare":
            return InputError(f'"{token}" has no unit; expected such as {token} ft or {token} in')
        return InputError(f'cannot read "{one_line(token, 40)}"; expected {expected}')

    # -- rods

    def rod(self, *, out: bool = True) -> str:
        """Take the rod: the first word, or the only line out."""
        known = {**self.aboard.last, **self.aboard.out}
        for i, token in enumerate(self.tokens[:1] if not out else self.tokens):
            if token.lower() in known:
                return self.tokens.pop(i).lower()
        if out and not self.tokens_may_be_rod():
            lines = list(self.aboard.out)
            if len(lines) == 1:
                self.remarks.append(f"on {lines[0]}, the only line out")
                return lines[0]
            raise InputError(f"which rod? {self.lines_out()}")
        name = self.tokens.pop(0).lower() if self.tokens else ""
        if not name:
            raise InputError(f"which rod? {self.lines_out()}")
        if not re.fullmatch(r"[^\W_][\w.-]{0,39}", name) or kind_of(name) is not None:
            raise InputError(f'"{one_line(name, 40)}" is no name for a rod; expected one word')
        if out and not self.aboard.anyway:
            near = get_close_matches(name, known, 1, 0.5)
            hint = f'; did you mean "{near[0]}"?' if near else ";"
            raise InputError(
                f'no rod "{one_line(name, 40)}"{hint} {self.lines_out()}; --anyway logs it, flagged'
            )
        if not out and known:
            self.remarks.append(f"a new rod (known: {', '.join(known)})")
        return name

    def tokens_may_be_rod(self) -> bool:
        """Say whether the first word is none that the verb knows, and so must mean a rod."""
        if not self.tokens:
            return False
        first = self.tokens[0].lower()
        known = (
            *RELEASED,
            *KEPT,
            *HOOKED,
            "bled",
            "bleeding",
            "by",
            "who",
            "depth",
            "at",
            "species",
        )
        if first in known or kind_of(first) is not None:
            return False
        return self.species_at(0) is None

    def lines_out(self) -> str:
        return f"lines out: {', '.join(self.aboard.out) or 'none'}"

    # -- verbs

    def read_out(self) -> list[Said]:
        """Read a line going out; where it is out already, its length or lure changes."""
        first = self.tokens[0].lower() if self.tokens else ""
        out = first in self.aboard.out or (self.aboard.out and kind_of(first) == "length")
        return self.read_change() if out else self.read_set()

    def read_set(self) -> list[Said]:
        rod = self.rod(out=False)
        self.told["rod"] = rod
        self.dressing(self.aboard.last.get(rod))
        if "rig" not in self.told:
            names = ", ".join(sorted(self.aboard.rigs)) or "none"
            self.remarks.append(f"no rig given, so no depth (rigs: {names})")
        elif "let_out_m" not in self.told:
            self.remarks.append("no line out given, so no depth")
        if rod in self.aboard.out:
            self.remarks.append(f"{rod} already had a line out: this one takes its place")
        return self.said("line_out")

    def read_change(self) -> list[Said]:
        rod = self.rod()
        self.told["rod"] = rod
        if rod not in self.aboard.out and not self.aboard.anyway:
            raise InputError(
                f'{rod} has no line out to change; expected "out {rod} ..." first; '
                "--anyway logs it, flagged"
            )
        if not self.tokens:
            raise InputError(f"what changed on {rod}? expected a lure, a rig, a colour or line out")
        self.dressing(self.aboard.out.get(rod), keep=False)
        return self.said("line_change")

    def dressing(self, before: LineSpan | None, *, keep: bool = True) -> None:
        """Take what is on the line: rig, lure, its looks, line out; what is not said stays."""
        out_text = ""
        while self.tokens:
            token = self.tokens.pop(0)
            low = token.lower()
            if self.common(token):
                continue
            if low == "rig":
                self.put("rig", self.pop_after(token))
            elif low == "lure":
                self.lure(self.pop_after(token))
            elif low in ("colour", "color"):
                self.put("colour", self.pop_after(token).lower())
            elif low == "body":
                self.put("body", self.pop_after(token).lower())
            elif low == "size":
                self.put("size_m", self.quantity(self.pop_after(token), "length"))
            elif low in ("out", "let-out", "with", "line"):
                out_text = self.pop_after(token)
                if kind_of(out_text) != "length":
                    raise self.unknown(out_text, 'line out such as "170 ft" or "4.5 colors"')
            elif kind_of(token) == "length":
                if out_text:
                    raise InputError(f'two lengths of line out: "{out_text}" and "{token}"')
                out_text = token
            elif low == "same":
                continue
            elif token in self.aboard.rigs:
                self.put("rig", token)
            elif token in self.aboard.lures:
                self.lure(token)
            elif "lure" in self.told and "colour" not in self.told and low.isalpha():
                self.put("colour", low)
            else:
                near = get_close_matches(token, [*self.aboard.rigs, *self.aboard.lures], 2)
                hint = f"; did you mean {' or '.join(near)}?" if near else ""
                raise self.unknown(token, f"a rig, a lure, colour NAME, or line out{hint}")
        self.known_tackle()
        changed_lure = "lure" in self.told
        if keep and before is not None:
            names = (
                ["rig", "let_out_m"]
                if changed_lure
                else ["rig", "let_out_m", "lure", "body", "size_m", "colour"]
            )
            if "rig" in self.told and self.told["rig"] != before.rig:
                names = ["let_out_m"]
            for name in names:
                value = getattr(before, name)
                skip = name == "let_out_m" and out_text
                if name not in self.told and value not in ("", None) and not skip:
                    self.told[name] = value
        rig = self.told.get("rig") or (before.rig if before else "")
        if "lure" not in self.told and (keep or "rig" in self.told) and rig in self.aboard.rigs:
            self.told["lure"] = self.aboard.rigs[rig]
        self.looks()
        if out_text:
            self.told["let_out_m"] = self.line_out(out_text, str(rig or ""))

    def lure(self, name: str) -> None:
        self.put("lure", name)

    def known_tackle(self) -> None:
        for kind, names in (("rig", self.aboard.rigs), ("lure", self.aboard.lures)):
            name = self.told.get(kind)
            if name is None or name in names:
                continue
            near = get_close_matches(name, names, 2, 0.5) or sorted(names)[:4]
            if not self.aboard.anyway:
                raise InputError(
                    f'no {kind} "{one_line(name, 40)}" in the tackle; nearest: {", ".join(near)}; '
                    "--anyway logs it, flagged"
                )
            self.remarks.append(f"{kind} {one_line(name, 40)} is not in the tackle")

    def looks(self) -> None:
        """Write down what the lure looks like now: the tackle file may say otherwise next year."""
        lure = str(self.told.get("lure", ""))
        if lure in self.aboard.lures:
            body, size_m, colour = self.aboard.lures[lure]
            for name, value in (("body", body), ("size_m", size_m), ("colour", colour)):
                if value not in ("", None):
                    self.told.setdefault(name, value)

    def line_out(self, text: str, rig: str) -> float:
        if self.aboard.let_out is not None and rig in self.aboard.rigs:
            return self.aboard.let_out(text, rig, str(self.told.get("lure", "")))
        return parse(text, "length")

    def read_in(self) -> list[Said]:
        if [token.lower() for token in self.tokens] == ["all"]:
            if not self.aboard.out:
                raise InputError("no line is out")
            return [Said("line_in", self.at, {"rod": rod}) for rod in self.aboard.out]
        self.told["rod"] = self.rod()
        self.rest("nothing more")
        return self.said("line_in")

    def rest(self, expected: str) -> None:
        while self.tokens:
            token = self.tokens.pop(0)
            if not self.common(token):
                raise self.unknown(token, expected)

    def read_miss(self) -> list[Said]:
        self.told["rod"] = self.rod()
        self.rest("nothing more")
        return self.said("strike_missed")

    def read_hit(self) -> list[Said]:
        if [token.lower() for token in self.tokens[:1]] == ["bottom"]:
            self.tokens.pop(0)
        self.told["rod"] = self.rod()
        while self.tokens:
            token = self.tokens.pop(0)
            if token.lower() in ("at", "bottom", "depth") or self.common(token):
                continue
            if kind_of(token) != "length":
                raise self.unknown(token, 'the depth on the sounder, "31 ft"')
            self.put("depth_m", parse(token, "length"))
        return self.said("bottom_hit")

    def read_sonar(self) -> list[Said]:
        while self.tokens:
            token = self.tokens.pop(0)
            low = token.lower()
            if low in ("at", "depth", "fish") or self.common(token):
                continue
            if kind_of(token) == "length":
                self.put("depth_m", parse(token, "length"))
            elif re.fullmatch(r"x?\d{1,3}", low):
                self.put("count", int(low.removeprefix("x")))
            else:
                raise self.unknown(token, 'how deep the fish were, "31 ft"')
        if "depth_m" not in self.told:
            raise InputError('how deep were the fish? expected for example "sonar 31 ft"')
        return self.said("sonar_mark")

    def read_catch(self) -> list[Said]:
        self.told["rod"] = self.rod()
        while self.tokens:
            token = self.tokens.pop(0)
            low = token.lower()
            if self.common(token):
                continue
            if low in RELEASED or low in KEPT:
                self.put("kept", low in KEPT)
            elif low in ("bled", "bleeding"):
                self.put("bled", True)
            elif low in HOOKED and not self.means_walleye(low):
                self.put("hook", HOOKED[low])
                if self.tokens and self.tokens[0].lower() == "hooked":
                    self.tokens.pop(0)
            elif low in ("depth", "at"):
                self.put("depth_m", self.quantity(self.pop_after(token), "length"))
            elif low == "species":
                self.put("species", self.pop_after(token).lower().replace("-", " "))
            elif low == "let" and self.tokens[:1] == ["go"]:
                self.tokens.pop(0)
                self.put("kept", False)
            elif kind_of(token) == "length":
                self.put("length_m", parse(token, "length"))
            elif kind_of(token) == "mass":
                self.put("weight_kg", parse(token, "mass"))
            else:
                self.tokens.insert(0, token)
                found = self.species_at(0)
                if found is None:
                    raise self.unknown(
                        token,
                        'a length, a weight, a fish, "released" or "kept", where it was hooked '
                        f'({", ".join(HOOKS)}), or "bled"',
                    )
                name, used = found
                del self.tokens[:used]
                self.put("species", name)
        return self.said("catch")

    def means_walleye(self, low: str) -> bool:
        """Say whether "eye" is the crew's word for the fish, not where it was hooked."""
        hooked = self.tokens[:1] and self.tokens[0].lower() == "hooked"
        return low == "eye" and "species" not in self.told and not hooked

    def species_at(self, start: int) -> tuple[str, int] | None:
        for used in (3, 2, 1):
            part = self.tokens[start : start + used]
            name = self.aboard.species(" ".join(part)) if len(part) == used else None
            if name is not None:
                return name, used
        return None

    def read_sky(self) -> list[Said]:
        words = " ".join(self.tokens).lower()
        if words not in SKIES and not (self.aboard.anyway and words):
            near = get_close_matches(words, SKIES, 1)
            hint = f'did you mean "{near[0]}"? ' if near else ""
            raise InputError(
                f'sky "{one_line(words, 40)}": {hint}expected one of {", ".join(SKIES)}; '
                "--anyway logs another word"
            )
        self.told["sky"] = words
        return self.said("conditions")

    def read_wind(self) -> list[Said]:
        while self.tokens:
            token = self.tokens.pop(0)
            low = token.lower()
            if low in ("from", "the") or self.common(token):
                continue
            if low in ("calm", "none"):
                self.put("wind_m_s", 0.0)
            elif low in ("force", "bft", "beaufort") and self.tokens:
                self.put("wind_m_s", round(parse_wind(f"{low} {self.tokens.pop(0)}"), 5))
            elif kind_of(token) == "speed":
                self.put("wind_m_s", round(parse_wind(token), 5))
            elif WINDS.fullmatch(low):
                self.put("wind_from", low.upper())
            else:
                raise self.unknown(
                    token, 'a speed and where from, "8 mph NW" or "3 bft NW", or "calm"'
                )
        if not self.told:
            raise InputError('what wind? expected such as "8 mph NW", "3 bft NW" or "calm"')
        return self.said("conditions")

    def read_temp(self) -> list[Said]:
        tokens = [t for t in self.tokens if t.lower() not in ("temp", "temperature", "water")]
        if len(tokens) != 1 or kind_of(tokens[0]) != "temperature":
            shown = one_line(" ".join(tokens), 30)
            raise InputError(f'surface temperature "{shown}"; expected such as "71F" or "21.5 C"')
        self.told["surface_temp_c"] = round(parse(tokens[0], "temperature"), 3)
        return self.said("conditions")

    def read_clarity(self) -> list[Said]:
        if len(self.tokens) != 1 or kind_of(self.tokens[0]) != "length":
            raise InputError('how clear? expected how far down you see, such as "9 ft"')
        self.told["clarity_m"] = parse(self.tokens[0], "length")
        return self.said("conditions")


READERS: Final[dict[str, Callable[[_Reader], list[Said]]]] = {
    "out": _Reader.read_out,
    "set": _Reader.read_set,
    "in": _Reader.read_in,
    "change": _Reader.read_change,
    "catch": _Reader.read_catch,
    "miss": _Reader.read_miss,
    "hit": _Reader.read_hit,
    "sonar": _Reader.read_sonar,
    "sky": _Reader.read_sky,
    "wind": _Reader.read_wind,
    "temp": _Reader.read_temp,
    "clarity": _Reader.read_clarity,
}
