"""Rods and lures aboard, as the crew says, else as the journal knows them."""

from __future__ import annotations

from collections.abc import Sequence

from towscope.effort.stint import Stint
from towscope.errors import NoAnswer
from towscope.journal.replay import StandingEntries
from towscope.pattern.binning import LureLook
from towscope.pattern.next import Aboard, RodAboard


def aboard_of(
    effort: Sequence[Stint], state: StandingEntries | None = None, given: Aboard | None = None
) -> Aboard:
    """Say what there is to fish with.

    Parameters
    ----------
    effort : sequence of Stint
        All effort there is: its lures are aboard where the crew named none.
    state : StandingEntries, optional
        The last day's entries: lines still out run on; with none out it is a fresh start on the
        rods last used. Without it the rods of the last day in `effort` count.
    given : Aboard, optional
        What the crew says; where it names rods or lures, these count.

    Raises
    ------
    NoAnswer
        Where no rod is known.
    """
    rods: tuple[RodAboard, ...] = given.rods if given else ()
    lures = {x.name: x for x in given.lures} if given else {}
    if not rods and state is not None:
        rods = tuple(RodAboard(name, span.lure) for name, span in state.out().items())
        rods = rods or tuple(RodAboard(name) for name in state.rods())
    elif not rods:
        last = {s.rod: s for s in sorted(effort, key=lambda s: s.end_s) if s.rod}
        newest = max((s.day for s in effort), default="")
        rods = tuple(RodAboard(name, s.lure) for name, s in last.items() if s.day == newest)
    if not rods:
        raise NoAnswer(
            "no line is out; log one with `towscope log out`, or list your rods and lures: "
            "--aboard FILE"
        )
    if not lures:
        for s in sorted(effort, key=lambda s: s.end_s):
            if s.lure:
                lures[s.lure] = LureLook(s.lure, s.body, s.size_m, s.colour)
    return Aboard(rods, tuple(lures.values()), given.copies if given else {})
