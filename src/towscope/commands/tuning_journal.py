"""What the tune command takes from afloat: marks in the journal, marks along a track."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from towscope.commands.afloat import mount_of
from towscope.errors import InputError

if TYPE_CHECKING:
    from towscope.boat.track import Track
    from towscope.journal.track import Track as Kept
    from towscope.tackle.shelf import Shelf
    from towscope.towing.tow import Tow
    from towscope.tuning.marks import Mark

Bottom = Callable[[float, float], tuple[float, float, float]]
TowOf = Callable[[str, str], "Tow"]

AT_BOAT = 0.6  # [m]; how far the bottom at the lure may differ from that under the boat
AROUND = 330.0  # [s]
LATE = 2.0  # [s]


def place_marks(
    marks: list[Mark],
    way: Track,
    tow_of: TowOf,
    bottom: Bottom | None,
    tip: str = "",
    *,
    own_speed: bool = True,
) -> list[Mark]:
    """Give marks their place under the lure, along a track.

    Raises
    ------
    InputError
        Where a mark has no time, or the track does not hold it.
    """
    from towscope.tuning.afloat import behind, under_lure

    mount = mount_of(tip) if tip else (0.0, 0.0)
    if bottom is not None and way.globe is None:
        raise InputError("the track is not on the globe; --lake needs latitudes and longitudes")
    placed = []
    for mark in marks:
        if mark.time is None:
            raise InputError(f"{mark.where}: no time; expected one, to find it on the track")
        at = mark.time - (way.epoch or 0.0)
        own = [
            (a, b) for a, b in way.stretches if way.time[a] - LATE <= at <= way.time[b - 1] + LATE
        ]
        if not own:
            raise InputError(f"{mark.where}: the track holds no fix at its time")
        under = None
        if bottom is not None and way.globe is not None:
            globe, ask = way.globe, bottom

            def under(x: float, y: float) -> tuple[float, float, float]:
                latitude, longitude = globe.to_globe([x], [y])  # noqa: B023
                return ask(float(latitude[0]), float(longitude[0]))  # noqa: B023

        tow = tow_of(mark.rig, mark.lure)
        try:
            found = behind(tow, mark.let_out, way.at, at, float(way.time[own[0][0]]), mount)
        except InputError as error:
            raise InputError(f"{mark.where}: {error}") from None
        placed.append(under_lure(mark, found, under, own_speed=own_speed))
    return placed


def journal_marks(
    rig: str, shelf: Shelf, tow_of: TowOf, bottom: Bottom | None, tip: str
) -> tuple[list[Mark], list[str]]:
    """Give the touches of a rig, and of rigs with its line or lure, that the journal holds.

    The bottom is that under the lure where a lake is given; else what was read under the boat,
    which is less sure of the lure's.
    """
    from towscope.commands.journalling import store_at
    from towscope.journal.events import Touch
    from towscope.journal.state import settle_day
    from towscope.tuning.marks import KINDS, Mark, check

    marks: list[Mark] = []
    passed = 0
    why = ""
    with store_at("", create=False) as store:
        for row in store.days():
            journal = settle_day(store.raw_day(row.day), row.day)
            touches = [e for e in journal.events if isinstance(e, Touch)]
            if not touches:
                continue
            spans = journal.spans()
            track = store.track(row.day)
            for touch in touches:
                span = next(
                    (s for s in spans
                     if s.rod == touch.rod and s.start_s <= touch.at_s <= s.end_s and s.let_out_m),
                    None,
                )  # fmt: skip
                on = span.rig if span is not None else ""
                if span is None or span.let_out_m is None or on not in shelf.rigs:
                    passed, why = passed + 1, "no rig and let-out known for that rod then"
                    continue
                lure = span.lure if span.lure in shelf.lures else shelf.rig(on).lure
                mark = Mark(
                    rig=on,
                    lure=lure,
                    let_out=span.let_out_m,
                    speed=math.nan,
                    depth=math.nan if touch.depth_m is None else touch.depth_m,
                    kind="touch",
                    error=KINDS["touch"],
                    time=touch.at_s,
                    day=touch.day,
                    where=f"the touch of {touch.at:%Y-%m-%d %H:%M}",
                )
                try:
                    part = _way(track, touch.at_s)
                    mark = place_marks([mark], part, tow_of, bottom, tip)[0]
                    if bottom is None:
                        if touch.depth_m is None:
                            raise InputError("no depth was read, and no --lake is given")
                        mark = replace(mark, error=math.hypot(mark.error, AT_BOAT))
                    check(mark, tow_of(on, lure))
                except InputError as error:
                    passed, why = passed + 1, str(error)
                    continue
                marks.append(mark)
    if not marks:
        raise InputError(
            f"the journal holds no touch that tells of {rig}"
            + (f" ({passed} passed over: {why})" if passed else "")
        )
    notes = [f"{passed} touches passed over, the last: {why}"] if passed else []
    return marks, notes


def _way(track: Kept, at_s: float) -> Track:
    """Give the boat's way for some minutes before a moment."""
    from towscope.boat.clean import clean
    from towscope.boat.track import Fixes

    part = track.between(at_s - AROUND, at_s + 10.0)
    if len(part) < 5:
        raise InputError("the journal's track holds no way there")
    return clean(Fixes(part.t_s, part.lat, part.lon, on_globe=True, dated=True))
