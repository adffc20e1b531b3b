"""Pure function of the set of entries, in any order: the journal's state, with its checks.

The order in which entries arrive, and how often, makes no difference. What contradicts the rest is
kept and marked, never mended in silence.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import Final

from pydantic import BaseModel

from towscope.errors import InputError
from towscope.journal.events import (
    AnyEvent,
    BottomHit,
    Catch,
    Clock,
    Conditions,
    Correct,
    LineChange,
    LineIn,
    LineOut,
    StrikeMissed,
    Undo,
    read_event,
)

# How far a clock may run before its entries are marked: two phones on network time agree within a
# second or so, and people enter things a little late, never early.
FUTURE_S: Final = 120.0
_ON_ROD: Final = (LineChange, LineIn, Catch, StrikeMissed, BottomHit)


@dataclass(frozen=True)
class Check:
    """Something about an entry that the crew should see.

    Attributes
    ----------
    event : str
        The entry's id; "" where it concerns the day.
    code : str
        A short name: "future", "no-line", "unknown-rod", "clock", "undone-nothing", "left-out",
        "corrected", "uncorrected".
    text : str
        What is odd, in words.
    """

    event: str
    code: str
    text: str


@dataclass(frozen=True)
class LineSpan:
    """A rod with a line out and nothing changed, from one entry to the next.

    Attributes
    ----------
    rod : str
        The rod.
    start_s, end_s : float
        The span, unix time [s].
    rig, lure, body, colour : str
        What was on; "" where not said.
    size_m, let_out_m : float or None
        The lure's length and the line out [m].
    open : bool
        Whether no entry ended it: `end_s` is then the last that is known of the day.
    """

    rod: str
    start_s: float
    end_s: float
    rig: str = ""
    lure: str = ""
    body: str = ""
    colour: str = ""
    size_m: float | None = None
    let_out_m: float | None = None
    open: bool = False


@dataclass(frozen=True)
class StandingEntries:
    """Entries as they stand once undone, corrected and set to one clock.

    Attributes
    ----------
    events : tuple of AnyEvent
        In time order; undos, corrections and clock entries have done their work and are not in it.
    checks : tuple of Check
        What is odd about them.
    undone : tuple of str
        Ids of what was taken back.
    came : tuple of LineSpan
        Lines that were out as the day began, from the day before: they start with it.
    went : tuple of LineSpan
        Lines that stayed out into the next day: they end with this one.
    """

    events: tuple[AnyEvent, ...]
    checks: tuple[Check, ...]
    undone: tuple[str, ...]
    came: tuple[LineSpan, ...] = ()
    went: tuple[LineSpan, ...] = ()

    def checks_of(self, event: str) -> list[Check]:
        """Give the checks of one entry."""
        return [check for check in self.checks if check.event == event]

    def rods(self) -> list[str]:
        """Name the rods that had a line out, in order of their first."""
        came = [span.rod for span in self.came]
        return list(dict.fromkeys([*came, *(e.rod for e in self.events if isinstance(e, LineOut))]))

    def spans(self, until_s: float | None = None) -> list[LineSpan]:
        """Give what each rod had out and when.

        Parameters
        ----------
        until_s : float, optional
            Where lines still out end, unix time [s]; the last entry without it.
        """
        return _spans(self.events, until_s, self.came, self.went)[0]

    def out(self) -> dict[str, LineSpan]:
        """Give the rods with a line out after the last entry."""
        return {span.rod: span for span in self.spans() if span.open}


def settle(
    events: Iterable[AnyEvent],
    *,
    check: bool = True,
    came: tuple[LineSpan, ...] = (),
    went: tuple[LineSpan, ...] = (),
) -> StandingEntries:
    """Give the state that a set of entries adds up to.

    Parameters
    ----------
    events : iterable of AnyEvent
        In any order, any of them more than once.
    check : bool
        Whether to look for contradictions too.
    came, went : tuple of LineSpan
        For one day's entries: lines out as it began, and out still as it ended.

    Returns
    -------
    StandingEntries
        The same for every order of the same entries.
    """
    every = {event.id: event for event in events}
    checks: list[Check] = []
    gone = _undone(every, checks)
    standing: dict[str, AnyEvent] = {
        k: e for k, e in every.items() if k not in gone and not isinstance(e, Undo)
    }
    _correct(standing, checks)
    clocks = sorted((e for e in standing.values() if isinstance(e, Clock)), key=lambda e: e.id)
    settled = [
        _reset(event, clocks)
        for event in standing.values()
        if not isinstance(event, (Correct, Clock))
    ]
    settled.sort(key=lambda e: (e.at_s, e.id))
    if check:
        checks.extend(_contradictions(settled, came, went))
    checks.sort(key=lambda m: (m.event, m.code, m.text))
    return StandingEntries(tuple(settled), tuple(checks), tuple(sorted(gone)), came, went)


def settle_day(
    raw: Sequence[AnyEvent],
    day: str,
    came: tuple[LineSpan, ...] = (),
    went: tuple[LineSpan, ...] = (),
) -> StandingEntries:
    """Give one day's state from entries that may hold other days' too.

    Parameters
    ----------
    raw : sequence of AnyEvent
        As they were made, with all that mends them.
    day : str
        Local date; an entry counts to the day it stands on once corrected.
    came, went : tuple of LineSpan
        Lines out as it began, and out still as it ended; `towscope.journal.overnight` finds them.
    """
    whole = settle(raw, check=False)
    by_id = {event.id: event for event in raw}
    mine = {event.id for event in whole.events if event.day == day}
    mine |= {name for name in whole.undone if by_id[name].day == day}
    mends: dict[str, list[str]] = {}
    for event in by_id.values():
        if isinstance(event, (Undo, Correct)):
            mends.setdefault(event.target, []).append(event.id)
            mine.discard(event.id)
    mine |= {event.id for event in by_id.values() if isinstance(event, Clock)}
    ask = list(mine)
    while ask:
        ask = [m for name in ask for m in mends.get(name, ()) if m not in mine]
        mine.update(ask)
    return settle([by_id[name] for name in mine], came=came, went=went)


def _undone(every: dict[str, AnyEvent], checks: list[Check]) -> set[str]:
    """Name what was taken back: only entries named before the undo, so there is no circle."""
    gone: set[str] = set()
    undos = sorted((e for e in every.values() if isinstance(e, Undo)), key=lambda e: e.id)
    for undo in reversed(undos):
        if undo.id in gone:
            continue
        if undo.target in every and undo.target < undo.id:
            gone.add(undo.target)
        else:
            checks.append(Check(undo.id, "undone-nothing", "takes back an entry that is not here"))
    return gone


def _correct(standing: dict[str, AnyEvent], checks: list[Check]) -> None:
    corrections = sorted(
        (e for e in standing.values() if isinstance(e, Correct)),
        key=lambda e: (e.at_s, e.id),  # a name goes by its phone's clock, which may be off
    )
    for correction in corrections:
        target = standing.get(correction.target)
        if target is None or target.id >= correction.id or isinstance(target, Correct):
            checks.append(Check(correction.id, "uncorrected", "corrects an entry that is not here"))
            continue
        body = target.model_dump(mode="json", exclude_none=True)
        for key, value in correction.changes.items():
            if value is None:
                body.pop(key, None)
            else:
                body[key] = value
        try:
            standing[target.id] = read_event(body)
        except InputError as error:
            checks.append(Check(target.id, "uncorrected", f"a correction does not fit: {error}"))
        else:
            units = ("_m", "_kg", "_c", "_m_s")
            names = ", ".join(
                next((k.removesuffix(u) for u in reversed(units) if k.endswith(u)), k).replace(
                    "_", " "
                )
                for k in sorted(correction.changes)
            )
            checks.append(Check(target.id, "corrected", f"corrected: {names}"))


def _reset(event: AnyEvent, clocks: Sequence[Clock]) -> AnyEvent:
    """Set an entry to the crew's clock; the last word on a device's clock counts."""
    for clock in reversed(clocks):
        if clock.of == event.device and clock.since <= event.at <= clock.until:
            return event.model_copy(update={"at": event.at - timedelta(seconds=clock.ahead_s)})
    return event


def _spans(
    events: Sequence[AnyEvent],
    until_s: float | None = None,
    came: Sequence[LineSpan] = (),
    went: Sequence[LineSpan] = (),
) -> tuple[list[LineSpan], list[Check]]:
    """Walk the entries once: what was out when, and what does not fit."""
    out = {span.rod: span for span in came}
    known = set(out)
    done: list[LineSpan] = []
    checks: list[Check] = []
    rods_ever = known | {e.rod for e in events if isinstance(e, LineOut)}
    for event in events:
        if isinstance(event, LineOut):
            if event.rod in out:
                done.append(replace(out.pop(event.rod), end_s=event.at_s))
            known.add(event.rod)
            out[event.rod] = _told(LineSpan(event.rod, event.at_s, event.at_s), event)
        elif isinstance(event, _ON_ROD) and event.rod is not None:
            line = out.get(event.rod)
            if line is None:
                checks.append(_no_line(event, known, rods_ever))
            elif isinstance(event, LineChange):
                done.append(replace(line, end_s=event.at_s))
                out[event.rod] = _told(replace(line, start_s=event.at_s), event)
            elif isinstance(event, LineIn):
                done.append(replace(out.pop(event.rod), end_s=event.at_s))
    last = events[-1].at_s if events else max((span.end_s for span in came), default=0.0)
    end = last if until_s is None else max(last, until_s)
    done.extend(replace(out.pop(s.rod), end_s=s.end_s) for s in went if s.rod in out)
    done.extend(replace(line, end_s=end, open=True) for line in out.values())
    done.sort(key=lambda s: (s.start_s, s.rod, s.end_s))
    return done, checks


def _told(span: LineSpan, event: LineOut | LineChange) -> LineSpan:
    new_lure = event.lure is not None and event.lure != span.lure
    if new_lure:  # what the old lure looked like says nothing about the new one
        span = replace(span, body="", colour="", size_m=None)
    return replace(
        span,
        rig=span.rig if event.rig is None else event.rig,
        lure=span.lure if event.lure is None else event.lure,
        body=span.body if event.body is None else event.body,
        colour=span.colour if event.colour is None else event.colour,
        size_m=span.size_m if event.size_m is None else event.size_m,
        let_out_m=span.let_out_m if event.let_out_m is None else event.let_out_m,
    )


_DONE: Final = {
    "catch": "a fish",
    "strike_missed": "a missed strike",
    "bottom_hit": "a bottom hit",
    "line_in": "a line brought in",
    "line_change": "a change",
}


def _no_line(event: AnyEvent, known: set[str], ever: set[str]) -> Check:
    rod = getattr(event, "rod", "")
    what = _DONE[event.kind]
    if rod not in ever:
        return Check(event.id, "unknown-rod", f"{what} on {rod}, a rod with no line out all day")
    if rod not in known:
        return Check(event.id, "no-line", f"{what} on {rod} before its line went out")
    return Check(event.id, "no-line", f"{what} on {rod} after its line came in")


def _contradictions(
    events: list[AnyEvent], came: Sequence[LineSpan] = (), went: Sequence[LineSpan] = ()
) -> list[Check]:
    checks = [
        Check(e.id, "future", f"happened {(e.at_s - e.made_s) / 60:.0f} min after it was entered")
        for e in events
        if e.at_s - e.made_s > FUTURE_S
    ]
    by_day: dict[str, list[AnyEvent]] = {}
    for event in events:
        by_day.setdefault(event.day, []).append(event)
    for day_events in by_day.values():
        spans, odd = _spans(day_events, came=came, went=went)
        checks.extend(odd)
        checks.extend(
            Check("", "left-out", f"the line on {span.rod} was never brought in")
            for span in spans
            if span.open
        )
        if odd:
            checks.extend(suspect_clocks(day_events, len(odd), {span.rod for span in came}))
    return checks


def suspect_clocks(
    events: Sequence[AnyEvent], odd: int | None = None, came: Collection[str] = ()
) -> list[Check]:
    """Say which device's clock seems wrong: whose shift would remove the contradictions.

    Shifts of half hours up to 14 h are tried, for these are what a wrong time zone or summer time
    leaves. Nothing is shifted: an entry of kind ``clock`` does that, once the crew has looked.

    Parameters
    ----------
    events : sequence of AnyEvent
        One day's, in time order.
    odd : int, optional
        How many contradictions they hold, where known.
    came : collection of str
        Rods whose lines were out as the day began.

    Returns
    -------
    list of Check
        At most one for each device.
    """
    before = len(_spans(events)[1]) if odd is None else odd
    devices = sorted({e.device for e in events})
    if len(devices) < 2 or before < 2:
        return []
    rows = [
        (e.at_s, e.id, e.device, e.kind, e.rod)
        for e in events
        if isinstance(e, (LineOut, *_ON_ROD)) and e.rod is not None
    ]
    halves = sorted((n for n in range(-28, 29) if n), key=abs)
    checks = []
    for device in devices:
        for half_hours in halves:
            shift = half_hours * 1800.0
            moved = sorted(
                (at + shift if of == device else at, name, kind, rod)
                for at, name, of, kind, rod in rows
            )
            if _odd_in(moved, came):
                continue
            side = "behind" if shift > 0 else "ahead"
            checks.append(
                Check(
                    "",
                    "clock",
                    f"the clock of {device} may run {abs(half_hours) / 2:g} h {side}: "
                    f"that would explain {before} entries that do not fit",
                )
            )
            break
    return checks


def _odd_in(rows: Iterable[tuple[float, str, str, str]], came: Collection[str] = ()) -> bool:
    """Say whether anything on a rod falls outside its line's time: `_spans` without the spans."""
    out = set(came)
    for _, _, kind, rod in rows:
        if kind == "line_out":
            out.add(rod)
        elif rod not in out:
            return True
        elif kind == "line_in":
            out.discard(rod)
    return False


@dataclass(frozen=True)
class Weather:
    """Sky and water as last noted.

    Attributes
    ----------
    sky, wind_from : str or None
        In the crew's words.
    wind_m_s : float or None
        Wind speed [m/s].
    surface_temp_c : float or None
        Surface temperature [degC].
    clarity_m : float or None
        How far down a disc is seen [m].
    """

    sky: str | None = None
    wind_m_s: float | None = None
    wind_from: str | None = None
    surface_temp_c: float | None = None
    clarity_m: float | None = None


def weather(events: Iterable[AnyEvent]) -> list[tuple[float, Weather]]:
    """Give sky and water from each noted change on, as (unix time [s], what is known then)."""
    now, out = Weather(), []
    for event in events:
        if isinstance(event, Conditions):
            told = {
                name: getattr(event, name)
                for name in Weather.__dataclass_fields__
                if getattr(event, name) is not None
            }
            now = replace(now, **told)
            out.append((event.at_s, now))
    return out


def plain(event: BaseModel) -> dict[str, object]:
    """Give an entry's fields as plain values, for JSON."""
    return event.model_dump(mode="json", exclude_none=True)
