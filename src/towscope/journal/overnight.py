"""Lines carried over where the trip shows it went on: what stayed out past three o'clock.

A line that is out at the end of a day is either still fishing or was brought in without a word. It
counts as still fishing only where something shows that the trip went on: an entry soon after, an
entry on one of those rods before a line is let out on it anew, or a track that goes on across the
border. Otherwise it ends with its day's last entry, marked as never brought in.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from towscope.journal.events import AnyEvent, LineOut
from towscope.journal.replay import LineSpan, StandingEntries

SOON_S: Final = 4 * 3600.0  # entries no further apart are of one trip
LATEST_S: Final = 12 * 3600.0  # no trip is silent for longer than this
NEAR_S: Final = 600.0  # a track with points this near on both sides of the border crosses it


def stayed_out(
    before: StandingEntries,
    after: Sequence[AnyEvent],
    border_s: float,
    *,
    track: bool = False,
    now_s: float | None = None,
) -> tuple[LineSpan, ...]:
    """Give the lines that stayed out across the border between two days.

    Parameters
    ----------
    before : StandingEntries
        The day that ends.
    after : sequence of AnyEvent
        The next day's entries, in time order.
    border_s : float
        When the one becomes the other, unix time [s].
    track : bool
        Whether the boat's track goes on across it.
    now_s : float, optional
        The present, unix time [s]: soon after the last entry the trip goes on.

    Returns
    -------
    tuple of LineSpan
        Each as it lies in the day that ends; empty where the trip had ended.
    """
    out = before.out()
    if not out or not before.events:
        return ()
    last = before.events[-1].at_s
    if not (track or _went_on(out, after, last, now_s if now_s and now_s >= border_s else None)):
        return ()
    return tuple(replace(span, end_s=border_s, open=False) for span in out.values())


def _went_on(
    out: dict[str, LineSpan], after: Sequence[AnyEvent], last: float, now_s: float | None
) -> bool:
    first = after[0].at_s if after else now_s
    if first is not None and first - last <= SOON_S:
        return True
    anew: set[str] = set()
    for event in after:
        rod = getattr(event, "rod", None)
        if event.at_s - last > LATEST_S:
            break
        if isinstance(event, LineOut):
            anew.add(event.rod)
        elif rod in out and rod not in anew:
            return True
    return False


def as_came(spans: Sequence[LineSpan]) -> tuple[LineSpan, ...]:
    """Give lines that stayed out as the next day has them: from its beginning on."""
    return tuple(replace(span, start_s=span.end_s, open=False) for span in spans)
