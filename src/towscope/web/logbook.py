"""The day's entries in words, and what is aboard to choose from, for the log's screen."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import datetime
from typing import Any, Final

from towscope.effort.timeline import entry_figures
from towscope.errors import InputError, NoAnswer
from towscope.fish import likely_weight, species_table
from towscope.journal.describe import describe
from towscope.journal.events import AnyEvent, BottomHit, Catch, LineChange, LineOut, Undo
from towscope.journal.phrase_tokens import SKIES
from towscope.journal.replay import LineSpan, StandingEntries
from towscope.journal.store import Store
from towscope.journal.sync import Complete
from towscope.live.engine import Live
from towscope.tackle.shelf import Shelf
from towscope.tackle.validate import color_of
from towscope.units import SYSTEMS
from towscope.words.hooks import HOOKS

NOW_S: Final = 20.0  # an entry sent sooner than this after it happened happened here
DAYS_BACK: Final = 14  # how far back the crew's habits are looked for
COLOURS: Final = (
    "perch",
    "silver",
    "gold",
    "black",
    "white",
    "blue",
    "green",
    "chartreuse",
    "orange",
    "red",
    "pink",
    "purple",
)


def completing(live: Live | None, shelf: Callable[[], Shelf], now: datetime | None) -> Complete:
    """Give what adds to a phone's entry what it left out: the place, the sounder's depth, the lure.

    Parameters
    ----------
    live : Live or None
        What follows the boat.
    shelf : callable
        Gives the tackle aboard.
    now : datetime or None
        The boat's time, by which the entries are told; None where the phone did not tell its own,
        so that how long ago they happened is not known.
    """

    def complete(event: AnyEvent) -> AnyEvent:
        told: dict[str, Any] = {}
        fresh = now is not None and -5.0 <= now.timestamp() - event.at_s <= NOW_S
        if fresh and live is not None and (place := live.place) is not None:
            if event.lat is None:
                told.update(lat=place[0], lon=place[1])
            boat = live.run.boat
            if (
                isinstance(event, BottomHit)
                and event.depth_m is None
                and boat.depth_from == "sounder"
            ):
                told["depth_m"] = boat.depth_m
        if isinstance(event, (LineOut, LineChange)) and (event.lure or event.rig):
            told.update(_dressed(event, shelf()))
        return event.model_copy(update=told) if told else event

    return complete


def _dressed(event: LineOut | LineChange, shelf: Shelf) -> dict[str, Any]:
    """Say what lure a rig carries and what it looks like, where the tackle knows."""
    told: dict[str, Any] = {}
    name = event.lure
    if name is None and isinstance(event, LineOut) and event.rig in shelf.rigs:
        name = told["lure"] = shelf.rigs[event.rig].lure
    lure = shelf.lures.get(name) if name is not None else None
    if lure is not None:
        looks = {"body": lure.body, "size_m": lure.size, "colour": lure.colour}
        told |= {k: v for k, v in looks.items() if v and getattr(event, k) is None}
    return told


def words_of(event: AnyEvent, called: Callable[[str], str] | None = None) -> dict[str, str]:
    """Give an entry in words, in each system of units."""
    return {
        name: describe(event, system, likely_weight, called) for name, system in SYSTEMS.items()
    }


def day_of(
    store: Store,
    day: str,
    now_s: float | None = None,
    called: Callable[[str], str] | None = None,
) -> dict[str, Any]:
    """Give a day's log.

    Parameters
    ----------
    store : Store
        The journal.
    day : str
        Local date, ISO 8601.
    now_s : float, optional
        The present, unix time [s].
    called : callable, optional
        What the crew calls the rig of this key.

    Returns
    -------
    dict
        Entries as they stand, those taken back, checks on the day, rods, those with a line out as
        the day began, and all ids that the journal has of it.
    """
    raw = store.raw_day(day)
    state = store.settled(raw, day, now_s=now_s)
    by_id = {event.id: event for event in raw}
    undos = {e.target: e.id for e in raw if isinstance(e, Undo) and e.id not in state.undone}
    return {
        "day": day,
        "entries": [_entry(event, state, called) for event in state.events],
        "undone": [
            {**_entry(by_id[name], None, called), "undo": undos[name]}
            for name in state.undone
            if name in undos and by_id[name].day == day and by_id[name].kind not in _MENDS
        ],
        "checks": [{"code": m.code, "text": m.text} for m in state.checks if not m.event],
        "rods": rods_of(state),
        "came": [_rod(replace(span, open=True)) for span in state.came],
        "known": sorted(by_id),
    }


_MENDS: Final = ("undo", "correct", "clock")


def _entry(
    event: AnyEvent, state: StandingEntries | None, called: Callable[[str], str] | None
) -> dict[str, Any]:
    figures = entry_figures(event, state)
    checks = figures.pop("checks", [])
    return {
        "id": event.id,
        "kind": event.kind,
        "at": event.at,
        "rod": getattr(event, "rod", None) or "",
        "device": event.device,
        "words": words_of(event, called),
        "fields": figures,
        "checks": checks,
    }


def rods_of(state: StandingEntries) -> list[dict[str, Any]]:
    """Give each rod with what is out on it, or was last."""
    spans: dict[str, LineSpan] = {}
    for span in state.spans():
        spans[span.rod] = span
    return [_rod(span) for span in spans.values()]


def _rod(span: LineSpan) -> dict[str, Any]:
    return {
        "rod": span.rod,
        "out": span.open,
        "rig": span.rig,
        "lure": span.lure,
        "body": span.body,
        "colour": span.colour,
        "size_m": span.size_m,
        "let_out_m": span.let_out_m,
    }


def aboard(store: Store, shelf: Shelf) -> dict[str, Any]:
    """Give what there is to choose from, what the crew used last first.

    Parameters
    ----------
    store : Store
        The journal.
    shelf : Shelf
        The tackle aboard.
    """
    states = _lately(store)
    events = [event for state in states for event in state.events]  # latest day first
    events.sort(key=lambda event: event.at_s, reverse=True)
    rods: dict[str, dict[str, Any]] = {}
    for state in states:
        for rod in rods_of(state):
            rods.setdefault(rod["rod"], rod)
    dressed = [e for e in events if isinstance(e, (LineOut, LineChange))]
    names = list(species_table())
    return {
        "rods": list(rods.values()),
        "rigs": [
            _rig(shelf, name)
            for name in _first(_told(dressed, "rig"), shelf.rigs)
            if name in shelf.rigs
        ],
        "lures": [
            _lure(shelf, name, dressed) for name in _first(_told(dressed, "lure"), shelf.lures)
        ],
        "colours": _first(_told(dressed, "colour"), COLOURS),
        "species": _often([e.species for e in events if isinstance(e, Catch)], names),
        "hooks": list(HOOKS),
        "skies": list(SKIES),
        "crew": _often([event.who for event in events], []),
    }


def _lately(store: Store) -> list[StandingEntries]:
    states: list[StandingEntries] = []
    day = store.last_day()
    while day is not None and len(states) < DAYS_BACK:
        states.append(store.day(day))
        day = store.day_before(day)
    return states


def _told(events: Sequence[AnyEvent], field: str) -> list[str]:
    return [value for event in events if (value := getattr(event, field))]


def _first(used: Iterable[str], all_of_them: Iterable[str]) -> list[str]:
    """Put first what was used last."""
    return list(dict.fromkeys([*used, *all_of_them]))


def _often(used: Iterable[str | None], all_of_them: Iterable[str]) -> list[str]:
    """Put first what was used most."""
    counted = Counter(value for value in used if value)
    return list(dict.fromkeys([*(name for name, _ in counted.most_common()), *all_of_them]))


def _rig(shelf: Shelf, name: str) -> dict[str, Any]:
    coded = None
    with suppress(InputError, NoAnswer):  # what can't be towed can be logged
        coded = color_of(shelf.tow(name))
    return {
        "name": name,
        "title": shelf.title(name),
        "own": shelf.origin.get(f"rigs.{name}", "stock") != "stock",
        "lure": shelf.rigs[name].lure,
        "color_m": None if coded is None else round(coded[0], 5),
        "before_color_m": None if coded is None else round(coded[1], 5),
    }


def _lure(shelf: Shelf, name: str, dressed: Sequence[AnyEvent]) -> dict[str, Any]:
    """Say what a lure looks like: as the tackle has it, else as the crew last said."""
    lure = shelf.lures.get(name)
    seen = [e for e in dressed if isinstance(e, (LineOut, LineChange)) and e.lure == name]
    told = {
        field: next((value for e in seen if (value := getattr(e, field))), None)
        for field in ("body", "size_m", "colour")
    }
    return {
        "name": name,
        "body": (lure.body if lure is not None else told["body"]) or "",
        "size_m": lure.size if lure is not None else told["size_m"],
        "colour": told["colour"] or (lure.colour if lure is not None else ""),
    }
