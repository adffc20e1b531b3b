"""Words typed on a boat, line by line, made into entries: each read against the day before it.

What is undone, brought back or corrected is looked up among this device's own entries.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from towscope import arguments
from towscope.errors import ArgumentError, InputError, one_line
from towscope.journal.database import DamagedError
from towscope.journal.describe import Weigh, describe
from towscope.journal.device import device_name
from towscope.journal.events import AnyEvent, Clock, Correct, Undo, read_event
from towscope.journal.ids import new_id
from towscope.journal.phrase_parser import PhraseContext, Said, read_words
from towscope.journal.phrase_tokens import VERBS
from towscope.journal.replay import LineSpan, StandingEntries, settle, settle_day
from towscope.journal.store import Store
from towscope.journal.times import begin_of, day_at, parse_day, parse_time

if TYPE_CHECKING:
    from towscope.tackle.shelf import Shelf
    from towscope.units import System

MOST_LINES: Final = 5000
ODD: Final = ("no-line", "unknown-rod", "future")  # checks for which an entry is refused
# How an entry of each kind is said anew.
VERB_OF: Final = {
    "line_out": "lure",
    "line_change": "lure",
    "catch": "catch",
    "bottom_hit": "hit",
    "sonar_mark": "sonar",
    "note": "note",
    "conditions": "",
    "strike_missed": "miss",
    "line_in": "in",
}
WORD_OF: Final = {
    "sky": "sky",
    "wind_m_s": "wind",
    "wind_from": "wind",
    "surface_temp_c": "temp",
    "clarity_m": "clarity",
}


@dataclass(frozen=True)
class Crew:
    """What the words of one boat's crew are read by.

    Attributes
    ----------
    now : datetime
        The present, with its zone.
    zone : str or None
        The zone's name.
    shelf : callable
        Gives the tackle aboard, when a line goes out or changes: it takes a second to load.
    system : System
        How figures are said.
    species : callable
        What people call a fish to its one name; None for what is no fish.
    weigh : callable, optional
        A fish's name and length [m] to its weight [kg], where that is known.
    place : (float or None, float or None)
        Where it is said, latitude and longitude [degrees].
    anyway : bool
        Whether odd things are to be logged with a flag rather than refused.
    """

    now: datetime
    zone: str | None
    shelf: Callable[[], Shelf]
    system: System
    species: Callable[[str], str | None]
    weigh: Weigh | None = None
    place: tuple[float | None, float | None] = (None, None)
    anyway: bool = False

    def on_day(self, day: str) -> Crew:
        """Give the crew writing a day down afterwards: its end is their present."""
        date = parse_day(day, day_at(self.now))
        if date > day_at(self.now):
            raise ArgumentError("day", f' "{one_line(day, 20)}" is still to come')
        end = begin_of(date + timedelta(days=1), self.now.tzinfo) - timedelta(seconds=1)
        return replace(self, now=min(end, self.now))


def lines_of(path: Path) -> list[str]:
    """Read a file of lines of words; those that begin with "#" are empty.

    Raises
    ------
    InputError
        Where it cannot be read, or holds too many.
    """
    from towscope.files import read_text

    text = read_text(path, expected="lines such as: 07:42 catch port 21.5in released")
    lines = [line.strip() for line in text.splitlines()]
    lines = ["" if line.startswith("#") else line for line in lines]
    if (many := sum(map(bool, lines))) > MOST_LINES:
        raise InputError(f"{one_line(path, 80)}: {many} lines; expected at most {MOST_LINES}")
    return lines


def written(store: Store, crew: Crew, lines: Sequence[str], at: str = "") -> EntryWriter:
    """Turn lines of words into entries, all or none, and add them.

    Parameters
    ----------
    store : Store
        The journal; where its file is damaged a new one is begun: logging stops for nothing.
    crew : Crew
        What the words are read by.
    lines : sequence of str
        The lines.
    at : str
        The time, where it was given apart from the words.

    Raises
    ------
    InputError
        Naming the line, where there are several, and what is wrong with it.
    """
    try:
        writer = EntryWriter(store, crew).read(lines, at)
    except DamagedError:
        store.begin_anew()
        writer = EntryWriter(store, crew).read(lines, at)
    store.append(writer.made)
    return writer


class EntryWriter:
    """Turns lines of words into entries, each read against the day with those before it.

    Attributes
    ----------
    made : list of AnyEvent
        The entries.
    remarks : list of str
        What the crew should be told about how they were read.
    words_for : dict of str to str
        What undoing or correcting came to, by the entry's id.
    """

    def __init__(self, store: Store, crew: Crew) -> None:
        self.store, self.crew = store, crew
        self.now = crew.now
        self.device = device_name()
        self.made: list[AnyEvent] = []
        self.remarks: list[str] = []
        self.words_for: dict[str, str] = {}
        self._days: dict[str, list[AnyEvent]] = {}

    def read(self, lines: Sequence[str], at: str) -> EntryWriter:
        """Read lines of words, the empty ones passed over, and hold them against the day."""
        for number, line in enumerate(lines, 1):
            if len(lines) > 1 and not line:
                continue
            try:
                self.take(line, at)
            except DamagedError:
                raise
            except InputError as error:
                where = f"line {number}: " if len(lines) > 1 else ""
                raise InputError(f"{where}{error}") from None
        self.check()
        return self

    def words(self, event: AnyEvent) -> str:
        """Say in a few words what an entry says."""
        return self.words_for.get(event.id) or self._said(event)

    def _said(self, event: AnyEvent) -> str:
        return describe(event, self.crew.system, self.crew.weigh)

    # -- the day with what is pending

    def state(self, day: str, *, also: str = "") -> StandingEntries:
        """Give a day as it stands with what was made here; `also` is where its entries were."""
        raw: list[AnyEvent] = []
        for name in {day, also} - {""}:
            if name not in self._days:
                self._days[name] = self.store.raw_day(name)
            raw += self._days[name]
        came = self.store.came(day, now_s=self.now.timestamp())
        return settle_day([*raw, *self.made], day, came)

    def state_with(self, event: AnyEvent) -> StandingEntries | None:
        """Give the day of an entry made here; None for one that mends another."""
        return None if isinstance(event, (Undo, Correct, Clock)) else self.state(event.day)

    # -- taking words

    def take(self, line: str, at: str) -> None:
        """Read one line."""
        first, _, rest = line.strip().partition(" ")
        verb = first.lower()
        if verb in ("undo", "redo"):
            self.undo(rest.strip(), redo=verb == "redo")
            return
        if verb in ("fix", "correct"):
            self.fix(rest.strip(), at)
            return

        aboard = self.aboard(self.now, line)
        said = read_words([line], aboard, at or None)
        if day_at(said[0].at) != day_at(self.now):  # "yesterday 18:30": that day's rods count
            aboard = self.aboard(said[0].at, line)
            said = read_words([line], aboard, at or None)
        for one in said:
            self.made.append(self.event(one.kind, one.at, one.fields))
            self.remarks.extend(one.remarks)

    def aboard(self, moment: datetime, line: str) -> PhraseContext:
        """Say what words are read against: rods, lines out and, where needed, the tackle."""
        day = day_at(moment).isoformat()
        earlier = self.store.day_before(day)
        journal = self.state(day)
        before = self.store.day(earlier).spans() if earlier else ()
        last: dict[str, LineSpan] = {span.rod: span for span in (*before, *journal.spans())}
        told = PhraseContext(
            now=self.now, out=journal.out(), last=last, species=self.crew.species,
            anyway=self.crew.anyway,
        )  # fmt: skip
        # only what goes on a line needs the tackle
        if not any(
            VERBS.get(word.lower()) in ("out", "set", "change") for word in line.split()[:2]
        ):
            return told
        shelf = self.crew.shelf()

        def let_out(text: str, rig: str, lure: str) -> float:
            own = shelf.changed(rig, lure=lure if lure in shelf.lures else "")
            return round(arguments.let_out(text, own.tow(rig), "line out"), 5)

        return replace(
            told,
            rigs={name: rig.lure for name, rig in shelf.rigs.items()},
            lures={name: (lure.body, lure.size, lure.colour) for name, lure in shelf.lures.items()},
            let_out=let_out,
        )

    def event(self, kind: str, at: datetime, fields: dict[str, Any], after: str = "") -> AnyEvent:
        """Make an entry of this device's, here and now; `after` the id it mends."""
        body: dict[str, Any] = {
            "id": new_id(after or None),
            "device": self.device,
            "kind": kind,
            "at": at.replace(microsecond=0).isoformat(),
            **fields,
        }
        if self.crew.zone:
            body["zone"] = self.crew.zone
        here = zip(("lat", "lon"), self.crew.place, strict=True)
        body.update({name: value for name, value in here if value is not None})
        return read_event(body)

    def undo(self, words: str, *, redo: bool) -> None:
        """Take an entry back, or bring it back."""
        if words and words.lower() != "last":
            target = self.store.find(words)
        else:
            recent = self.recent()
            gone = self.gone(recent)
            fit = [e for e in recent if isinstance(e, Undo) == redo and e.id not in gone]
            if not fit:
                raise InputError(f"nothing of this device's to {'redo' if redo else 'undo'}")
            target = fit[0]
        if target.id in self.gone([target, *self.store.mends_of(target.id)]):
            raise InputError(f"entry {target.id[-6:]} is taken back already; redo brings it back")
        event = self.event("undo", self.now, {"target": target.id}, after=target.id)
        self.made.append(event)
        verb = "brought back" if isinstance(target, Undo) else "took back"
        shown: AnyEvent = target
        if isinstance(target, Undo):
            with contextlib.suppress(InputError):  # not here, or not to be used
                shown = self.store.find(target.target)
        self.words_for[event.id] = f"{verb}: {shown.at:%H:%M} {self._said(shown)}"

    def recent(self) -> list[AnyEvent]:
        """Give this device's entries, the one made last first, whatever its clock said."""
        made = [*reversed(self.made), *self.store.latest(limit=200)]
        return [e for e in made if e.device == self.device]

    @staticmethod
    def gone(events: Iterable[AnyEvent]) -> set[str]:
        """Give the ids of those among them that are taken back."""
        return set(settle(events, check=False).undone)

    def fix(self, words: str, at: str) -> None:
        """Correct an entry: "last 22in", "ID at 7:40am"."""
        which, _, rest = words.partition(" ")
        if not which or not (rest.strip() or at):
            raise InputError('expected which entry and what is right: "fix last 22in"')
        if which.lower() == "last":
            recent = self.recent()
            gone = self.gone(recent)
            fit = [e for e in recent if not isinstance(e, (Undo, Correct)) and e.id not in gone]
            if not fit:
                raise InputError("nothing of this device's to fix")
            target: AnyEvent = fit[0]
        else:
            target = self.store.find(which)
        if isinstance(target, (Undo, Correct)) or target.kind == "clock":
            raise InputError(f"entry {target.id[-6:]} is itself a mending; undo it instead")
        changes = self.changes(target, rest.strip(), at)
        event = self.event(
            "correct", self.now, {"target": target.id, "changes": changes}, after=target.id
        )
        self.made.append(event)
        assert isinstance(event, Correct)
        state = self.state(event.moved_to or target.day, also=target.day)
        fixed = next((e for e in state.events if e.id == target.id), None)
        bad = [m.text for m in state.checks_of(target.id) if m.code == "uncorrected"]
        if bad or fixed is None:
            raise InputError(bad[0] if bad else f"entry {target.id[-6:]} was taken back")
        self.words_for[event.id] = f"now {fixed.at:%H:%M} {self._said(fixed)}"

    def changes(self, target: AnyEvent, words: str, at: str) -> dict[str, Any]:
        """Read what is right of an entry: fields to their new values."""
        if words.lower().startswith("rod "):
            return {"rod": words.split()[1].lower()}
        if words.lower().startswith("without "):
            field = words.split()[1].lower()
            names = [f for f in type(target).model_fields if f.split("_")[0] == field.split("_")[0]]
            if not names:
                raise InputError(f'the entry has no "{one_line(field, 30)}"')
            return {names[0]: None}
        try:  # a time alone
            moment = parse_time(at or words, self.now)
            if at and words:
                raise InputError("time and words")
            return {"at": moment.replace(microsecond=0).isoformat()}
        except InputError:
            pass
        rod = getattr(target, "rod", None)
        verb = VERB_OF[target.kind]
        if target.kind == "conditions":
            fields = {WORD_OF[f] for f in WORD_OF if getattr(target, f) is not None}
            verb = (
                "" if words.split()[:1] and words.split()[0] in WORD_OF.values() else fields.pop()
            )
        aboard = self.aboard(target.at, f"{verb} {words}")
        if rod:
            span = aboard.out.get(rod) or aboard.last.get(rod) or LineSpan(rod, 0.0, 0.0)
            aboard = replace(aboard, out={**aboard.out, rod: span}, now=self.now)
        line = [word for word in (verb, rod or "", words) if word]
        said: list[Said] = read_words(line, aboard, at or None)
        changes = {k: v for k, v in said[0].fields.items() if k != "rod"}
        if said[0].at != self.now:
            changes["at"] = said[0].at.replace(microsecond=0).isoformat()
        if said[0].kind == "line_change" and target.kind == "line_out":
            return changes
        if said[0].kind != target.kind:
            raise InputError(
                f"the entry is a {target.kind.replace('_', ' ')}; expected words for it"
            )
        return changes

    def check(self) -> None:
        """Refuse what does not fit, unless it is to be logged anyway."""
        if self.crew.anyway:
            return
        for event in self.made:
            state = self.state_with(event)
            for check in state.checks_of(event.id) if state else []:
                if check.code in ODD:
                    raise InputError(f"{check.text}; --anyway logs it, flagged")
