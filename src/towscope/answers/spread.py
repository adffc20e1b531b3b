"""Several lines at once: do they tangle on a run and in a turn, and what to change.

>>> import towscope as ts
>>> ts.spread("demo", draws=1)
4 lines at 2.0 mph, straight on: no tangles
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

from towscope import arguments
from towscope.calibration.calibrated_rig import calibrated_tow
from towscope.errors import ArgumentError, InputError, one_line
from towscope.spreads.answer import SpreadAnswer, ask
from towscope.spreads.plan import SIDES, RodLine, SpreadPlan, Turn
from towscope.spreads.reading import board_of, read
from towscope.tackle import load

if TYPE_CHECKING:
    from towscope.spreads.models import SpreadFile
    from towscope.tackle.shelf import Shelf

Text = str | float
MAX_DRAWS: Final = 256
_TURN: Final = re.compile(r"\s*(?P<radius>.+?)\s+(?:to\s+)?(?P<side>port|starboard)\s*")


def spread(
    file: str | Path,
    *,
    turn: str | None = None,
    through: Text | None = None,
    speed: Text | None = None,
    bottom: Text | None = None,
    apart: Text | None = None,
    draws: int = 24,
    water: Text | None = None,
    calibrated: bool = True,
    tackle: str | Path | Iterable[str | Path] = (),
) -> SpreadAnswer:
    """Check several lines for tangles on a run and in a turn, and say what to change.

    Parameters
    ----------
    file : str or path
        A spread file, or ``"demo"``.
    turn : str, optional
        Radius and side of a turn: ``"60 ft to port"``; a straight run if left out.
    through : str or float, optional
        Angle of the turn [deg]; 180 if left out.
    speed : str or float, optional
        Another speed over ground than the file's [m/s].
    bottom : str or float, optional
        Depth of the water [m], to check for bottom hits.
    apart : str or float, optional
        How far apart the lines must stay [m].
    draws : int
        How many what-if runs; 1 for the best estimate only.
    water : str or float, optional
        Temperature of the water [degC].
    calibrated : bool
        Whether what readings taught counts.
    tackle : path or iterable of path
        Tackle files laid over the stock and the crew's own.

    Returns
    -------
    SpreadAnswer
        The verdict, every pair and rod, the tightest turn, the order to set and fetch, changes.

    Raises
    ------
    InputError
        One line that names the argument or the place in the file, and what is expected.

    Examples
    --------
    How tight can the demo's four lines be turned to port [ft]?

    >>> import towscope as ts
    >>> found = ts.spread("demo", turn="60 ft to port", draws=1)
    >>> [round(limit.radius / 0.3048) for limit in found.tightest]
    [34]
    """
    if not 1 <= draws <= MAX_DRAWS:
        raise ArgumentError("draws", f" {draws}: expected 1 to {MAX_DRAWS}")
    if through is not None and turn is None:
        raise ArgumentError("through", " needs `turn`, the radius and side of the turn")
    asked = None if turn is None else turn_of(turn, through)
    depth = None if bottom is None else _length(bottom, "bottom", 0.5, 300.0)
    plan = spread_plan(
        file, speed=speed, apart=apart, water=water, calibrated=calibrated, tackle=tackle
    )
    return ask(plan, asked, bottom=depth, draws=draws)


def spread_plan(
    file: str | Path,
    *,
    speed: Text | None = None,
    apart: Text | None = None,
    water: Text | None = None,
    calibrated: bool = True,
    tackle: str | Path | Iterable[str | Path] = (),
) -> SpreadPlan:
    """Read a spread file and make its rods ready; parameters as `spread` takes them."""
    said, shown = read(Path(file))
    files = [tackle] if isinstance(tackle, (str, Path)) else list(tackle)
    shelf = load([Path(each) for each in files]).over(said, shown)
    if water is not None:
        shelf = replace(shelf, water=arguments.water(water))
    setting = arguments.setting(
        said.boat.speed if speed is None else speed,
        said.boat.current,
        ("speed", f"{shown}: boat.current"),
    )
    rods = tuple(_rod(said, name, shelf, shown, calibrated) for name in said.rods)
    keep = said.apart if apart is None else _length(apart, "apart", 0.05, 20.0)
    return SpreadPlan(setting, rods, keep)


def _rod(said: SpreadFile, name: str, shelf: Shelf, shown: str, calibrated: bool) -> RodLine:
    rod, place = said.rods[name], f"{shown}: rods.{name}"
    try:
        shelf.rig(rod.rig)
    except InputError as error:
        raise InputError(f"{place}.rig: {error}") from None
    own = shelf.changed(rod.rig, lure=rod.lure or "", place=f"{place}.lure")
    tow = calibrated_tow(own, rod.rig, calibrated=calibrated)
    height = rod.tip_height if rod.tip_height is not None else tow.tip
    tow = replace(tow, tip=height)
    let_out = arguments.let_out(rod.let_out, tow, f"{place}.let_out")
    board = None
    if rod.board is not None:
        board = board_of(said.boards, rod.board.kind, rod.board.line, height, f"{place}.board")
    side = SIDES[rod.side]
    made = RodLine(
        name, side, -rod.aft, (side or 1) * rod.across, height, rod.rig, tow, let_out, board
    )
    if made.out * tow.counter_factor > tow.length:
        raise InputError(
            f"{place}.let_out: {made.out:.1f} m of line in all, and rig "
            f'"{rod.rig}" holds {tow.length:.1f} m; expected no more than that'
        )
    return made


def turn_of(text: str, through: Text | None = None) -> Turn:
    """Read a turn: radius and side, and its angle [deg]."""
    match = _TURN.fullmatch(text)
    if match is None:
        raise ArgumentError(
            "turn", f' "{one_line(text, 60)}": expected a radius and a side, "60 ft to port"'
        )
    radius = _length(match["radius"], "turn", 2.0, 2000.0)
    angle = 180.0 if through is None else arguments.quantity(through, "angle", "through")
    if not 5.0 <= angle <= 720.0:
        raise ArgumentError("through", f' "{one_line(through, 40)}": expected 5 to 720 deg')
    return Turn(radius, math.radians(angle) * (1.0 if match["side"] == "starboard" else -1.0))


def _length(value: Text, name: str, low: float, high: float) -> float:
    length = arguments.quantity(value, "length", name)
    if not low <= length <= high:
        raise ArgumentError(name, f' "{one_line(value, 40)}": expected {low:g} to {high:g} m')
    return length
