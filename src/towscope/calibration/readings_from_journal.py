"""The journal's bottom hits as readings, each with the place of its lure."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from towscope.calibration.readings import KINDS, Reading, check
from towscope.errors import InputError

if TYPE_CHECKING:
    from towscope.boat.track import BoatTrack
    from towscope.journal.events import BottomHit
    from towscope.journal.store import Store
    from towscope.journal.track import LoggedTrack
    from towscope.tackle.shelf import Shelf
    from towscope.towing.tow import Tow

Bottom = Callable[[float, float], tuple[float, float, float]]
TowOf = Callable[[str, str], "Tow"]

AT_BOAT = 0.6  # [m]; how far the bottom at the lure may differ from that under the boat
AROUND = 330.0  # [s]
LATE = 2.0  # [s]


@dataclass(frozen=True)
class LoggedHit:
    """A bottom hit in the journal, and what was on that rod then.

    Attributes
    ----------
    event : BottomHit
        The entry.
    rig, lure : str
        What was on the rod; "" where the journal does not say.
    let_out : float or None
        Line past the rod tip [m].
    track : towscope.journal.track.Track
        The boat's way of that day.
    """

    event: BottomHit
    rig: str
    lure: str
    let_out: float | None
    track: LoggedTrack


def bottom_of(lake: str) -> Bottom:
    """Give depth, its standard error [m] and slope of a kept lake's bed by place on the globe."""
    from towscope.bed.store import load

    bed = load(lake)

    def at(latitude: float, longitude: float) -> tuple[float, float, float]:
        x, y = (float(v[0]) for v in bed.place.to_metres([latitude], [longitude]))
        if not bed.on_water(x, y):
            return math.nan, math.nan, math.nan
        depth, east, north, sd = (float(v) for v in bed.sample([x], [y])[0])
        return depth, sd, math.hypot(east, north)

    return at


def place_readings(
    readings: list[Reading],
    way: BoatTrack,
    tow_of: TowOf,
    bottom: Bottom | None,
    mount: tuple[float, float] = (0.0, 0.0),
    *,
    own_speed: bool = True,
) -> list[Reading]:
    """Give readings their place under the lure, along a track.

    Parameters
    ----------
    readings : list of Reading
        As read.
    way : BoatTrack
        The boat's way.
    tow_of : callable
        Gives the tow of a rig and a lure.
    bottom : callable or None
        The lake's bottom by place on the globe.
    mount : tuple of float
        Rod tip ahead and to starboard of where the fixes are taken [m].
    own_speed : bool
        Whether a reading's own speed stands, where it has one.

    Raises
    ------
    InputError
        Where a reading has no time, or the track does not hold it.
    """
    from towscope.calibration.lure_at_reading import behind, under_lure

    if bottom is not None and way.globe is None:
        raise InputError("the track is not on the globe; --lake needs latitudes and longitudes")
    placed = []
    for reading in readings:
        if reading.time is None:
            raise InputError(f"{reading.where}: no time; expected one, to find it on the track")
        at = reading.time - (way.epoch or 0.0)
        own = [
            (a, b) for a, b in way.stretches if way.time[a] - LATE <= at <= way.time[b - 1] + LATE
        ]
        if not own:
            raise InputError(f"{reading.where}: the track holds no fix at its time")
        under = None
        if bottom is not None and way.globe is not None:
            globe, ask = way.globe, bottom

            def under(x: float, y: float) -> tuple[float, float, float]:
                latitude, longitude = globe.to_globe([x], [y])  # noqa: B023
                return ask(float(latitude[0]), float(longitude[0]))  # noqa: B023

        tow = tow_of(reading.rig, reading.lure)
        try:
            found = behind(tow, reading.let_out, way.at, at, float(way.time[own[0][0]]), mount)
        except InputError as error:
            raise InputError(f"{reading.where}: {error}") from None
        placed.append(under_lure(reading, found, under, own_speed=own_speed))
    return placed


def logged_hits(store: Store, day: str = "") -> Iterator[LoggedHit]:
    """Give the bottom hits that the journal holds, on one day or on all."""
    from towscope.journal.events import BottomHit

    for date in [day] if day else [row.day for row in store.days()]:
        journal = store.day(date)
        found = [e for e in journal.events if isinstance(e, BottomHit)]
        if not found:
            continue
        spans = journal.spans()
        track = store.track(date)
        for event in found:
            span = next(
                (s for s in spans
                 if s.rod == event.rod and s.start_s <= event.at_s <= s.end_s and s.let_out_m),
                None,
            )  # fmt: skip
            yield LoggedHit(
                event,
                span.rig or "" if span is not None else "",
                span.lure or "" if span is not None else "",
                span.let_out_m if span is not None else None,
                track,
            )


def reading_of(
    hit: LoggedHit,
    shelf: Shelf,
    tow_of: TowOf,
    bottom: Bottom | None,
    mount: tuple[float, float] = (0.0, 0.0),
) -> Reading:
    """Make a reading of a bottom hit.

    The bottom is that under the lure where a lake is given; else what was read under the boat,
    which is less sure of the lure's.

    Raises
    ------
    InputError
        Where the journal does not say enough of it; says what.
    """
    event, on = hit.event, hit.rig
    if hit.let_out is None or on not in shelf.rigs:
        raise InputError("no rig and line out known for that rod then")
    lure = hit.lure if hit.lure in shelf.lures else shelf.rig(on).lure
    reading = Reading(
        rig=on,
        lure=lure,
        let_out=hit.let_out,
        speed=math.nan,
        depth=math.nan if event.depth_m is None else event.depth_m,
        kind="bottom hit",
        error=KINDS["bottom hit"],
        time=event.at_s,
        day=event.day,
        where=f"the bottom hit of {event.at:%Y-%m-%d %H:%M}",
    )
    part = _way(hit.track, event.at_s)
    reading = place_readings([reading], part, tow_of, bottom, mount)[0]
    if bottom is None:
        if event.depth_m is None:
            raise InputError("no depth was read, and no lake is given")
        reading = replace(reading, error=math.hypot(reading.error, AT_BOAT))
    check(reading, tow_of(on, lure))
    return reading


def journal_readings(
    store: Store,
    rig: str,
    shelf: Shelf,
    tow_of: TowOf,
    bottom: Bottom | None,
    mount: tuple[float, float] = (0.0, 0.0),
    *,
    only: Collection[str] | None = None,
    done: Callable[[int], None] = lambda _: None,
) -> tuple[list[Reading], list[str]]:
    """Give the bottom hits of a rig, and of rigs with its line or lure, that the journal holds.

    Parameters
    ----------
    store : Store
        The journal.
    rig : str
        The rig, for messages.
    shelf, tow_of : Shelf, callable
        The tackle, and what gives the tow of a rig and a lure.
    bottom : callable or None
        The lake's bottom by place on the globe.
    mount : tuple of float
        Rod tip ahead and to starboard of where the fixes are taken [m].
    only : collection of str, optional
        Ids of the bottom hits to take; all where it is left out.
    done : callable
        Told how many have been gone through.

    Returns
    -------
    tuple
        The readings, and what is to be known of those passed over.
    """
    readings: list[Reading] = []
    passed = seen = 0
    why = ""
    for hit in logged_hits(store):
        if only is not None and hit.event.id not in only:
            continue
        try:
            readings.append(reading_of(hit, shelf, tow_of, bottom, mount))
        except InputError as error:
            passed, why = passed + 1, str(error)
        seen += 1
        done(seen)
    if not readings:
        raise InputError(
            f"the journal has no bottom hit for {rig}"
            + (f" ({passed} passed over: {why})" if passed else "")
        )
    notes = [f"{passed} bottom hits passed over, the last: {why}"] if passed else []
    return readings, notes


def _way(track: LoggedTrack, at_s: float) -> BoatTrack:
    """Give the boat's way for some minutes before a moment."""
    from towscope.boat.clean import clean
    from towscope.boat.track import Fixes

    part = track.between(at_s - AROUND, at_s + 10.0)
    if len(part) < 5:
        raise InputError("the journal's track holds no way there")
    return clean(Fixes(part.t_s, part.lat, part.lon, on_globe=True, dated=True))
