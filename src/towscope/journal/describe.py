"""An entry in a few words, for a line on the screen or in a report."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from towscope.constants import INCH
from towscope.errors import one_line
from towscope.journal.events import (
    AnyEvent,
    BottomHit,
    Catch,
    Clock,
    Conditions,
    Correct,
    LineChange,
    LineOut,
    Note,
    SonarMark,
    Undo,
)
from towscope.units import System

Weigh = Callable[[str, float], float | None]
_HEAD = {
    "line_out": "line out",
    "line_change": "change",
    "line_in": "line in",
    "catch": "catch",
    "strike_missed": "missed strike",
    "bottom_hit": "hit bottom",
    "sonar_mark": "sonar mark",
    "conditions": "now",
    "note": "note",
    "undo": "undo",
    "correct": "correction",
    "clock": "clock",
}

# Least effort that a rate is stated for [rod-hours]: a rule of thumb, without a source.
EARLY_HOURS: Final = 0.25


def describe(
    event: AnyEvent,
    system: System,
    weigh: Weigh | None = None,
    called: Callable[[str], str] | None = None,
) -> str:
    """Give an entry in words.

    Parameters
    ----------
    event : AnyEvent
        The entry.
    system : System
        How figures are shown.
    weigh : callable, optional
        What a fish of this name and length [m] weighs [kg], where that is known.
    called : callable, optional
        What the crew calls the rig of this key.

    Examples
    --------
    >>> from towscope.journal.events import read_event
    >>> from towscope.units import US
    >>> describe(read_event({"id": "017f22e2-79b0-7cc3-98c4-dc0c0c07398f", "device": "phone",
    ...     "kind": "catch", "rod": "port", "at": "2026-08-14T07:42:00-05:00",
    ...     "species": "walleye", "length_m": 0.5461, "kept": False}), US)
    'catch port: walleye 21.5 in, released'
    """
    rod = getattr(event, "rod", None)
    parts: list[str] = []
    if isinstance(event, (LineOut, LineChange)):
        parts = [event.lure or "", event.colour or ""]
        if event.let_out_m is not None:
            parts.append(f"{system.given(event.let_out_m, 'length')} out")
        if event.rig:
            parts.append(f"rig {event.rig if called is None else called(event.rig)}")
    elif isinstance(event, Catch):
        parts = _fish(event, system, weigh)
    elif isinstance(event, (BottomHit, SonarMark)):
        if event.depth_m is not None:
            parts = [f"at {system.given(event.depth_m, 'length')}"]
        if isinstance(event, SonarMark) and event.count:
            parts.append(f"{event.count} of them")
    elif isinstance(event, Conditions):
        parts = conditions(event, system)
    elif isinstance(event, Note):
        parts = [one_line(event.text, 200)]
    elif isinstance(event, (Undo, Correct)):
        parts = [f"of {event.target[-6:]}"]
        if isinstance(event, Correct):
            parts.extend(f"{key} {one_line(value, 40)}" for key, value in event.changes.items())
    elif isinstance(event, Clock):
        side = "ahead" if event.ahead_s >= 0 else "behind"
        parts = [f"{event.of} ran {abs(event.ahead_s) / 60:g} min {side}"]
    head = f"{_HEAD[event.kind]} {rod}" if rod else _HEAD[event.kind]
    told = ", ".join(part for part in parts if part)
    return f"{head}: {told}" if told else head


def length(metres: float, system: System) -> str:
    """Give a fish's length: inches to a tenth, or centimetres."""
    return f"{metres / INCH:.1f} in" if system.name == "us" else f"{metres * 100:.1f} cm"


def _fish(event: Catch, system: System, weigh: Weigh | None) -> list[str]:
    name = event.species or "fish"
    size = f" {length(event.length_m, system)}" if event.length_m is not None else ""
    parts = [name + size]
    if event.kept is not None:
        parts.append("kept" if event.kept else "released")
    if event.weight_kg is not None:
        parts.append(system.show(event.weight_kg, "mass"))
    elif event.length_m is not None and event.species and weigh is not None:
        weight = weigh(event.species, event.length_m)
        if weight is not None:
            parts.append(f"about {system.show(weight, 'mass')}")
    if event.hook:
        parts.append(f"hooked in the {event.hook}" if event.hook != "outside" else "foul-hooked")
    if event.bled:
        parts.append("bled")
    if event.depth_m is not None:
        parts.append(f"at {system.show(event.depth_m, 'length')}")
    if event.who:
        parts.append(event.who)
    return parts


def conditions(event: Conditions, system: System) -> list[str]:
    """Give sky and water in words, one for each."""
    parts = [event.sky or ""]
    if event.wind_m_s is not None:
        wind = "calm" if event.wind_m_s == 0 else f"wind {system.show(event.wind_m_s, 'speed', 0)}"
        parts.append(f"{wind} {event.wind_from}" if event.wind_from else wind)
    elif event.wind_from:
        parts.append(f"wind from {event.wind_from}")
    if event.surface_temp_c is not None:
        parts.append(f"surface {system.show(event.surface_temp_c, 'temperature')}")
    if event.clarity_m is not None:
        parts.append(f"clear to {system.show(event.clarity_m, 'length')}")
    return [part for part in parts if part]


def caught_rate(catches: int, hours: float) -> str:
    """Say fish per rod-hour; from a quarter of a rod-hour on, before which any figure misleads.

    >>> caught_rate(3, 6.0), caught_rate(1, 0.001), caught_rate(0, 0.0)
    ('0.50', 'too early to say', '')
    """
    if hours <= 0.0:
        return ""
    return "too early to say" if hours < EARLY_HOURS else f"{catches / hours:.2f}"
