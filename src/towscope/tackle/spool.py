"""Layers of line on a spool: whether it fits, its backing, and what a turn counter misreads.

A spool between its flanges is a ring: width w, arbor diameter a, filled to a diameter D,

    volume = pi / 4 w (D^2 - a^2).

A line of diameter d wound on it takes up pi / 4 d^2 over the packing for each unit of length. A
counter that counts turns multiplies them by one circumference, true at one fill only.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from towscope.errors import InputError
from towscope.tackle.models import Reel
from towscope.units import parse

SQUARE = math.pi / 4.0
"""Packing of round line whose turns lie side by side and straight above one another; turns that
nest reach pi / (2 sqrt 3), 0.907. A reel's rating is taken to be filled at `Reel.packing`."""

_CAPACITY = re.compile(r"\s*(.+?)\s+(?:of|/)\s+(.+?)\s*")


@dataclass(frozen=True)
class Fill:
    """How a stack of line lies on a spool.

    Attributes
    ----------
    share : float
        Share of the spool that the rig's own line fills.
    fits : bool
        Whether it fits.
    backing : float
        Length of further backing to wind on first, to fill the spool [m]; 0 where it is full.
    over : float
        Line of the last kind (at the arbor) that must come off for the rest to fit [m].
    width : float
        Width of the spool [m]; NaN where its diameters are not known.
    """

    share: float
    fits: bool
    backing: float
    over: float
    width: float


def capacity(text: str, place: str = "capacity") -> float:
    """Volume of line that a rating means, packing left out: length times section.

    Parameters
    ----------
    text : str
        A rating such as "200 yd of 0.32 mm".
    place : str
        Where it stands, for messages.

    Returns
    -------
    float
        Volume of the line itself [m^3].

    Raises
    ------
    InputError
        Where it cannot be read.

    Examples
    --------
    >>> round(capacity("200 yd of 0.32 mm") * 1e6, 1)
    14.7
    """
    match = _CAPACITY.fullmatch(text)
    if match is None:
        raise InputError(f'{place}: "{text[:60]}"; expected such as "200 yd of 0.32 mm"')
    try:
        length, diameter = parse(match[1], "length"), parse(match[2], "length")
    except InputError as error:
        raise InputError(f"{place}: {error}") from None
    if not (1.0 <= length <= 5000.0 and 5e-5 <= diameter <= 3e-3):
        raise InputError(
            f'{place}: "{text[:60]}" is no reel; expected 1 to 5000 m of line 0.05 to 3 mm thick'
        )
    return length * SQUARE * diameter**2


def fill(reel: Reel, parts: list[tuple[float, float]], place: str = "reel") -> Fill:
    """Wind a stack of line on a reel.

    Parameters
    ----------
    reel : Reel
        The reel.
    parts : list of (float, float)
        Length and diameter of each piece, from the lure up [m, m]; the last lies at the arbor.
    place : str
        Where the reel stands, for messages.

    Returns
    -------
    Fill
        How it lies. The line is taken to pack as the rated line does.

    Examples
    --------
    Ten colours of core a third of a millimetre thicker than rated, on a small spool:

    >>> small = Reel(capacity="120 yd of 0.30 mm")
    >>> fill(small, [(91.4, 0.6e-3)]).fits
    False
    """
    room = capacity(reel.capacity, f"{place}.capacity")
    used = sum(SQUARE * d**2 * length for length, d in parts)
    last = SQUARE * parts[-1][1] ** 2
    spare = room - used
    return Fill(
        share=used / room,
        fits=spare >= -1e-12,
        backing=max(spare, 0.0) / last,
        over=max(-spare, 0.0) / last,
        width=_width(reel, room),
    )


def counter(
    reel: Reel, parts: list[tuple[float, float]], let_out: float, place: str = "reel"
) -> float:
    """Give what a counter that counts turns shows when this much line is really out.

    Parameters
    ----------
    reel : Reel
        The reel, with both its diameters.
    parts : list of (float, float)
        Length and diameter of each piece on it, from the lure up [m, m].
    let_out : float
        Line really past the rod tip [m].
    place : str
        Where the reel stands, for messages.

    Returns
    -------
    float
        What the counter shows [m]; it is taken to be true on a spool filled to `full_diameter`.

    Raises
    ------
    InputError
        Where the reel's diameters are not known, or the stack does not fit.

    Examples
    --------
    Fifty metres of thin core off a reel that it fills: as the spool shrinks, the same line takes
    more turns, and the counter shows too much.

    >>> reel = Reel(capacity="200 yd of 0.36 mm", full_diameter="48 mm", arbor_diameter="22 mm")
    >>> round(counter(reel, [(65.0, 0.6e-3)], 50.0))
    62
    """
    if reel.full_diameter is None or reel.arbor_diameter is None:
        raise InputError(
            f"{place}: expected full_diameter and arbor_diameter to tell what the counter misreads"
        )
    state = fill(reel, parts, place)
    if not state.fits:
        raise InputError(
            f"{place}: the line fills {state.share * 100:.0f} % of the spool; take "
            f"{state.over:.0f} m off before asking what the counter shows"
        )
    room = capacity(reel.capacity)
    per_area = SQUARE * state.width  # volume of spool for each square of diameter
    packing = room / (per_area * (reel.full_diameter**2 - reel.arbor_diameter**2))
    used = sum(SQUARE * d**2 * length for length, d in parts)
    diameter = math.sqrt(reel.arbor_diameter**2 + used / packing / per_area)
    turns, out = 0.0, 0.0
    for length, d in parts:
        going = min(length, let_out - out)
        if going <= 0.0:
            break
        # Leaving line takes area from the ring: D dD = -c ds; turns = integral of ds / (pi D).
        c = SQUARE * d**2 / packing / per_area
        after = math.sqrt(max(diameter**2 - c * going, reel.arbor_diameter**2))
        turns += 2.0 * (diameter - after) / (math.pi * c)
        diameter = after
        out += going
    return turns * math.pi * reel.full_diameter


def _width(reel: Reel, room: float) -> float:
    if reel.full_diameter is None or reel.arbor_diameter is None:
        return float("nan")
    ring = SQUARE * (reel.full_diameter**2 - reel.arbor_diameter**2)
    return room / reel.packing / ring
