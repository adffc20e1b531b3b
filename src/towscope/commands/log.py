"""`towscope log`: what just happened, in a few words."""

from __future__ import annotations

import contextlib
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from towscope.commands.common import Json, Tackle, Units, console, emit, system
from towscope.commands.journalling import (
    Place,
    aboard_at,
    plain,
    present,
    store_at,
)
from towscope.errors import InputError, one_line

if TYPE_CHECKING:
    from datetime import datetime

    from towscope.journal.events import AnyEvent
    from towscope.journal.phrase_parser import Said
    from towscope.journal.replay import Journal
    from towscope.journal.store import Store
    from towscope.units import System

HELP = """Log what just happened, in a few words.

out port rig demo 170 ft  |  lure port small-spoon silver  |  change port 180 ft  |  in port, in all

catch port 21.5in released walleye lip  |  miss port  |  hit bottom port 31ft  |  sonar 31ft x3

sky cloudy  |  wind 8 mph NW  |  temp 71F  |  clarity 9ft  |  note WORDS

undo  |  redo  |  undo ID  |  fix last 22in  |  fix ID at 7:40am

A time may stand anywhere: "10 min ago", "7:40am", "yesterday 18:30".
"""
MAX_LINES = 5000


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command("log", help=HELP)
    def log(
        words: Annotated[list[str] | None, typer.Argument(metavar="WORDS...")] = None,
        rig: Annotated[str, typer.Option("--rig", help="The rig on the rod.")] = "",
        lure: Annotated[str, typer.Option("--lure", help="The lure on it.")] = "",
        colour: Annotated[str, typer.Option("--colour", "--color", help="Its colour.")] = "",
        out: Annotated[str, typer.Option("--out", help='Line out: "170 ft", "4.5 colors".')] = "",
        at: Annotated[str, typer.Option("--at", help='When: "10 min ago", "7:40am".')] = "",
        by: Annotated[str, typer.Option("--by", help="Who of the crew.")] = "",
        lat: Annotated[float | None, typer.Option("--lat", help="Where [deg].")] = None,
        lon: Annotated[float | None, typer.Option("--lon", help="Where [deg].")] = None,
        file: Annotated[
            Path | None,
            typer.Option("--file", help="Read lines of words, a time first in each; all or none."),
        ] = None,
        day: Annotated[str, typer.Option("--day", help="The day the file's times are of.")] = "",
        anyway: Annotated[
            bool, typer.Option("--anyway", help="Log what does not fit anyway, flagged.")
        ] = False,
        tackle: Tackle = None,
        journal: Place = "",
        units: Units = "us",
        as_json: Json = False,
    ) -> None:
        shown = system(units)
        said = list(words or [])
        for name, value in (("rig", rig), ("lure", lure), ("colour", colour), ("out", out)):
            if value:
                said += [name, value]
        if by:
            said += ["by", by]
        if file is not None and said:
            raise InputError("either words or --file, not both")
        lines = _lines(file) if file is not None else [(0, " ".join(said))]
        from towscope.journal.copies import copy_if_due
        from towscope.journal.store import DamagedError
        from towscope.journal.times import day_at

        with store_at(journal) as store:
            place = lat, lon
            try:
                writer = _written(store, tackle, day, anyway, place, shown, lines, at)
            except DamagedError:  # logging stops for nothing
                store.begin_anew()
                writer = _written(store, tackle, day, anyway, place, shown, lines, at)
            store.append(writer.made)
            if store.path is not None:
                copy_if_due(store.path, day_at(writer.now))
        if as_json:
            emit(
                {
                    "added": [plain(e, writer.state_with(e)) for e in writer.made],
                    "remarks": writer.remarks,
                }
            )
            return
        from towscope.fish import weigh
        from towscope.journal.describe import describe

        screen = console()
        for event in writer.made:
            what = writer.words_for.get(event.id) or describe(event, shown, weigh)
            screen.print(f"{event.at:%H:%M}  {what}  [{event.id[-6:]}]", soft_wrap=True)
            state = writer.state_with(event)
            for check in state.checks_of(event.id) if state else []:
                screen.print(f"       Check: {check.text}", soft_wrap=True)
        for remark in writer.remarks:
            screen.print(f"       {remark}", soft_wrap=True)


def _written(
    store: Store,
    tackle: list[Path] | None,
    day: str,
    anyway: bool,
    place: tuple[float | None, float | None],
    shown: System,
    lines: list[tuple[int, str]],
    at: str,
) -> _Writer:
    """Turn lines of words into entries, ready to be added."""
    from towscope.journal.store import DamagedError

    writer = _Writer(store, tackle, day, anyway, place, shown)
    for number, line in lines:
        try:
            writer.take(line, at)
        except DamagedError:
            raise
        except InputError as error:
            where = f"line {number}: " if number else ""
            raise InputError(f"{where}{error}") from None
    writer.check()
    return writer


def _lines(path: Path) -> list[tuple[int, str]]:
    from towscope.files import read_text

    text = read_text(path, expected="lines such as: 07:42 catch port 21.5in released")
    lines = [
        (number, line.strip())
        for number, line in enumerate(text.splitlines(), 1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if len(lines) > MAX_LINES:
        raise InputError(f"{one_line(path, 80)}: {len(lines)} lines; expected at most {MAX_LINES}")
    return lines


class _Writer:
    """Turns lines of words into entries, each read against the day with those before it."""

    def __init__(
        self,
        store: Store,
        tackle: list[Path] | None,
        day: str,
        anyway: bool,
        place: tuple[float | None, float | None],
        shown: System,
    ) -> None:
        from datetime import timedelta

        from towscope.journal.store import device_name
        from towscope.journal.times import begin_of, day_at, parse_day

        self.store, self.tackle, self.anyway, self.place = store, tackle, anyway, place
        self.shown = shown
        self.now, self.zone = present()
        if day:
            date = parse_day(day, day_at(self.now))
            end = begin_of(date + timedelta(days=1), self.now.tzinfo) - timedelta(seconds=1)
            if date > day_at(self.now):
                raise InputError(f'--day "{one_line(day, 20)}" is still to come')
            self.now = min(end, self.now)
        self.device = device_name()
        self.made: list[AnyEvent] = []
        self.remarks: list[str] = []
        self.words_for: dict[str, str] = {}
        self._days: dict[str, list[AnyEvent]] = {}

    # -- the day with what is pending

    def state(self, day: str, *, also: str = "") -> Journal:
        """Give a day as it stands with what was made here; `also` is where its entries were."""
        from towscope.journal.replay import settle_day

        raw: list[AnyEvent] = []
        for name in {day, also} - {""}:
            if name not in self._days:
                self._days[name] = self.store.raw_day(name)
            raw += self._days[name]
        came = self.store.came(day, now_s=self.now.timestamp())
        return settle_day([*raw, *self.made], day, came)

    def state_with(self, event: AnyEvent) -> Journal | None:
        from towscope.journal.events import Clock, Correct, Undo

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
        from towscope.journal.phrase_parser import read_words
        from towscope.journal.times import day_at

        aboard = self.aboard(self.now, line)
        said = read_words([line], aboard, at or None)
        if day_at(said[0].at) != day_at(self.now):  # "yesterday 18:30": that day's rods count
            aboard = self.aboard(said[0].at, line)
            said = read_words([line], aboard, at or None)
        for one in said:
            self.made.append(self.event(one.kind, one.at, one.fields))
            self.remarks.extend(one.remarks)

    def aboard(self, moment: datetime, line: str) -> Any:
        from dataclasses import replace

        from towscope.journal.phrase_parser import VERBS
        from towscope.journal.times import day_at

        day = day_at(moment).isoformat()
        earlier = self.store.day_before(day)
        before = self.store.day(earlier) if earlier else None
        # only what goes on a line needs the tackle, which takes a second to load
        dressing = any(
            VERBS.get(word.lower()) in ("out", "set", "change") for word in line.split()[:2]
        )
        aboard = aboard_at(self.state(day), before, self.now, self.tackle, self.anyway, dressing)
        return replace(aboard, now=self.now)

    def event(self, kind: str, at: datetime, fields: dict[str, Any], after: str = "") -> AnyEvent:
        from towscope.journal.events import read_event
        from towscope.journal.ids import new_id

        body: dict[str, Any] = {
            "id": new_id(after or None),
            "device": self.device,
            "kind": kind,
            "at": at.replace(microsecond=0).isoformat(),
            **fields,
        }
        if self.zone:
            body["zone"] = self.zone
        here = zip(("lat", "lon"), self.place, strict=True)
        body.update({name: value for name, value in here if value is not None})
        return read_event(body)

    def undo(self, words: str, *, redo: bool) -> None:
        from towscope.fish import weigh
        from towscope.journal.describe import describe
        from towscope.journal.events import Undo

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
        self.words_for[event.id] = f"{verb}: {shown.at:%H:%M} {describe(shown, self.shown, weigh)}"

    def recent(self) -> list[AnyEvent]:
        """Give this device's entries, the one made last first, whatever its clock said."""
        made = [*reversed(self.made), *self.store.latest(limit=200)]
        return [e for e in made if e.device == self.device]

    @staticmethod
    def gone(events: list[AnyEvent]) -> set[str]:
        from towscope.journal.replay import settle

        return set(settle(events, check=False).undone)

    def fix(self, words: str, at: str) -> None:
        from towscope.fish import weigh
        from towscope.journal.describe import describe
        from towscope.journal.events import Correct, Undo

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
        self.words_for[event.id] = f"now {fixed.at:%H:%M} {describe(fixed, self.shown, weigh)}"

    def changes(self, target: AnyEvent, words: str, at: str) -> dict[str, Any]:
        from dataclasses import replace

        from towscope.journal.phrase_parser import read_words
        from towscope.journal.times import parse_time

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
        verbs = {
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
        rod = getattr(target, "rod", None)
        verb = verbs[target.kind]
        if target.kind == "conditions":
            told = {
                "sky": "sky",
                "wind_m_s": "wind",
                "wind_from": "wind",
                "surface_temp_c": "temp",
                "clarity_m": "clarity",
            }
            fields = {told[f] for f in told if getattr(target, f) is not None}
            verb = "" if words.split()[:1] and words.split()[0] in told.values() else fields.pop()
        aboard = self.aboard(target.at, f"{verb} {words}")
        if rod:
            from towscope.journal.replay import Span

            span = aboard.out.get(rod) or aboard.last.get(rod) or Span(rod, 0.0, 0.0)
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
        if self.anyway:
            return
        for event in self.made:
            state = self.state_with(event)
            for check in state.checks_of(event.id) if state else []:
                if check.code in ("no-line", "unknown-rod", "future"):
                    raise InputError(f"{check.text}; --anyway logs it, flagged")
