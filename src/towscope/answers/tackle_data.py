"""Tackle as the portable core takes it: every line, lure and rig in the kernels' own figures.

What a phone needs to answer by itself, as one JSON object: rigs made ready by the same code that
makes them ready for the kernels here, and the figures of lines and lures to make others of them.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final

from towscope.calibration.calibrated_rig import calibrated_tow, told_of
from towscope.constants import YARD
from towscope.errors import InputError, NoAnswer
from towscope.tackle.families import line_words
from towscope.tackle.models import Lure
from towscope.tackle.rating import DRAG_PER_SIZE_SQUARED
from towscope.tackle.shelf import LIGHTEST_SD, TRIM

if TYPE_CHECKING:
    from towscope.tackle.shelf import Shelf
    from towscope.towing.tow import Tow

FORM: Final = 1
"""Raised where what is written changes, so that an older app does not read it wrong."""


def tackle_data(shelf: Shelf, *, calibrated: bool = True) -> dict[str, Any]:
    """Give all tackle in the kernels' own figures.

    Parameters
    ----------
    shelf : Shelf
        The tackle.
    calibrated : bool
        Whether what readings taught goes along.

    Returns
    -------
    dict
        `form`; `medium`, as `towscope.towing.tow.Tow` has it; `lines` and `lures` by name, SI, and
        whether readings taught something of each;
        `unknown_lure`, what is taken of one of which only a package tells;
        `rigs` by name, as `Tow` has them, and `calibrated` the same with what readings taught, of
        those that have some. A part or rig that cannot be towed is left out. NaN is None.

    Examples
    --------
    What does the stock's first rig hold, from the lure up?

    >>> from towscope.tackle.shelf import stock
    >>> tackle_data(stock(), calibrated=False)["rigs"]["demo"]["names"]
    ['fluoro-12', 'thin-core-18', 'braid-20']
    """
    told = told_of() if calibrated else frozenset()
    rigs, taught = {}, {}
    for name in shelf.rigs:
        try:
            rigs[name] = _tow(shelf.tow(name))
            if calibrated:
                tow = calibrated_tow(shelf, name)
                if tow.learnt is not None:
                    taught[name] = _tow(tow)
        except (InputError, NoAnswer):
            continue
    lures = {}
    for name in shelf.lures:
        try:
            lures[name] = {**_lure(shelf, name), "taught": f"lure:{name}" in told}
        except (InputError, NoAnswer):
            continue
    made: dict[str, Any] = _exact(
        {
            "form": FORM,
            "medium": shelf.stack([(next(iter(shelf.lines)), 1.0)], next(iter(lures)), 1.0).medium,
            "lines": {
                name: {**_line(shelf, name), "taught": f"line:{name}" in told}
                for name in shelf.lines
            },
            "lures": lures,
            "unknown_lure": _unknown(),
            "rigs": rigs,
            "calibrated": taught,
        }
    )
    return made


def _line(shelf: Shelf, name: str) -> dict[str, Any]:
    line = shelf.lines[name]
    tow = shelf.stack([(name, 1.0)], next(iter(shelf.lures)), 1.0)
    return {
        "words": line_words(name),
        "piece": tow.pieces[0],
        "mass": line.mass,
        "solid": line.solid,
        "color_length": line.color_length,
        "strength": line.strength,
        "sd": [line.drag_sd, line.friction_sd, line.weight_sd],
    }


def _lure(shelf: Shelf, name: str) -> dict[str, Any]:
    rating = shelf.lures[name].rating
    tow = shelf.stack([(next(iter(shelf.lines)), 1.0)], name, 1.0)
    return {
        "lure": tow.lure,
        "sd": tow.doubt.of_lure,
        "rating": None
        if rating is None
        else {
            "depth": rating.depth,
            "let_out": rating.let_out,
            "line": rating.line,
            "speed": rating.speed,
            "tip": rating.tip_height,
        },
    }


def _unknown() -> dict[str, Any]:
    usual = Lure.model_validate({"body": "minnow", "size": "1 m"})
    return {
        "drag_per_size_squared": DRAG_PER_SIZE_SQUARED,
        "drag_sd": usual.drag_sd,
        "dive_sd": usual.dive_sd,
        "weight_sd": LIGHTEST_SD,
        "trim": TRIM,
        "tip": YARD,
    }


def _tow(tow: Tow) -> dict[str, Any]:
    doubt, learnt = tow.doubt, tow.learnt
    return {
        "pieces": tow.pieces,
        "lure": tow.lure,
        "medium": tow.medium,
        "tip": tow.tip,
        "names": tow.names,
        "color_length": tow.color_length,
        "strength": tow.strength,
        "group": doubt.group,
        "line_sd": list(zip(doubt.drag, doubt.friction, doubt.weight, strict=True)),
        "lure_sd": doubt.of_lure,
        "counter_factor": tow.counter_factor,
        "learnt": None
        if learnt is None
        else {
            "drag": learnt.drag,
            "friction": learnt.friction,
            "weight": learnt.weight,
            "lures": learnt.lures,
            "let_out_scale": learnt.let_out_scale,
            "along": learnt.along,
            "since": learnt.since or None,
            "readings": learnt.readings,
        },
    }


def _exact(value: Any) -> Any:
    """Give what JSON can hold, to the last digit."""
    if isinstance(value, dict):
        return {key: _exact(item) for key, item in value.items()}
    if hasattr(value, "tolist"):
        return _exact(value.tolist())
    if isinstance(value, (list, tuple)):
        return [_exact(item) for item in value]
    return None if isinstance(value, float) and not math.isfinite(value) else value
