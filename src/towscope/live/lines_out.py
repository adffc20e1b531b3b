"""Lines that are out by the journal, each made ready for the engine."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from towscope.calibration.calibrated_rig import calibrated_tow
from towscope.errors import InputError, one_line
from towscope.journal.replay import LineSpan
from towscope.tackle.counting import count
from towscope.tackle.shelf import Shelf
from towscope.towing.moving import SHORTEST
from towscope.towing.tow import Tow

# Where a rod stands by its name: how far behind the fixes' place, and to starboard [m].
# Common practice, no source: rod holders near the stern of a boat two metres wide.
ASTERN: Final = -1.0
OUT: Final = 1.2
FARTHER_OUT: Final = 2.5
_SIDES: Final = (
    (re.compile(r"\b(port|left)\b", re.I), -1.0),
    (re.compile(r"\b(starboard|stbd|right)\b", re.I), 1.0),
)
_FAR: Final = re.compile(r"\b(outer|outside|far|wide|long)\b", re.I)


@dataclass(frozen=True)
class Out:
    """A line that is out.

    Attributes
    ----------
    span : LineSpan
        What the journal says of it.
    tow : Tow
        What it is for the engine, as its readings leave it.
    let_out : float
        Line past the rod tip, as the counter reads [m].
    mount : tuple of float
        Rod tip ahead and to starboard of where the fixes are taken, and above the water [m].
    colors : float or None
        The same line out in colours.
    """

    span: LineSpan
    tow: Tow
    let_out: float
    mount: tuple[float, float, float]
    colors: float | None

    @property
    def same_line(self) -> tuple[object, ...]:
        """What must stay for the line to be followed on: all but how much is out."""
        return (self.span.rod, self.span.rig, self.span.lure, self.mount)


def mount_of(rod: str, tip: float) -> tuple[float, float, float]:
    """Say where a rod's tip is by the rod's name.

    >>> mount_of("port outer", 0.9)
    (-1.0, -2.5, 0.9)
    """
    side = next((sign for words, sign in _SIDES if words.search(rod)), 0.0)
    return (ASTERN, side * (FARTHER_OUT if _FAR.search(rod) else OUT), tip)


def lines_out(spans: dict[str, LineSpan], shelf: Shelf) -> tuple[list[Out], dict[str, str]]:
    """Make the lines ready that the journal says are out.

    Parameters
    ----------
    spans : dict
        Rod to what is out on it.
    shelf : Shelf
        The tackle aboard.

    Returns
    -------
    tuple
        Lines that can be followed, and for each rod that can't why, in words.
    """
    found: list[Out] = []
    why: dict[str, str] = {}
    for rod, span in spans.items():
        if not span.rig:
            why[rod] = "no rig was named when this line went out; expected which"
        elif span.let_out_m is None:
            why[rod] = "no line out was logged; expected how much"
        else:
            try:
                tow = calibrated_tow(shelf.changed(span.rig, lure=span.lure), span.rig)
            except InputError as error:
                why[rod] = one_line(error)
                continue
            true = span.let_out_m * tow.counter_factor
            if not SHORTEST <= true <= tow.length:
                why[rod] = (
                    f"{span.let_out_m:.0f} m of line is out, and this rig has {tow.length:.0f} m"
                    if true > tow.length
                    else "hardly any line is out"
                )
                continue
            colors = count(tow, true).colors
            found.append(Out(span, tow, span.let_out_m, mount_of(rod, tow.tip), colors))
    return found, why
