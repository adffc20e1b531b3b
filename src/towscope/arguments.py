"""Arguments as people give them, text with units or figures in SI: read, checked, in SI."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Final

from towscope.errors import ArgumentError, InputError
from towscope.tackle.validate import (
    MAX_DEPTH,
    MAX_LET_OUT,
    check_depth,
    check_let_out,
    check_setting,
    check_speed,
    color_of,
)
from towscope.units import KINDS, parse

if TYPE_CHECKING:
    from towscope.towing.tow import Setting, Tow
    from towscope.water import Water

MAX_SERIES: Final = 100
Layers = tuple[tuple[float, float, float], ...]

_LAYER: Final = re.compile(
    r"\s*(?P<speed>.+?)(?:\s+(?P<way>with|against|from\s+port|from\s+starboard))?"
    r"(?:\s+at\s+(?P<depth>.+?))?\s*"
)


def quantity(
    value: str | float, kind: str, name: str, color_length_m: float | None = None
) -> float:
    """Read a quantity.

    Parameters
    ----------
    value : str or float
        Text with a unit, or a figure in SI.
    kind : str
        What it should be, a key of `towscope.units.KINDS`.
    name : str
        The argument's name, for the message.
    color_length_m : float, optional
        Length of one colour [m], where colours may be counted.

    Returns
    -------
    float
        In SI.

    Raises
    ------
    InputError
        Naming the argument, what is wrong and what is expected.
    """
    if isinstance(value, (str, bool)) or not isinstance(value, (int, float)):
        try:
            return parse(value, kind, color_length_m=color_length_m)
        except InputError as error:
            raise ArgumentError(name, f": {error}") from None
    spec = KINDS[kind]
    if not (math.isfinite(value) and spec.low <= value <= spec.high):
        raise ArgumentError(
            name, f": {value} is out of all reason; expected such as {spec.examples}"
        )
    return float(value)


@contextmanager
def of_argument(name: str) -> Iterator[None]:
    """Say of a refusal that begins with an argument's name that it is of that argument."""
    try:
        yield
    except ArgumentError:
        raise
    except InputError as error:
        text = str(error)
        if not text.startswith(name):
            raise
        raise ArgumentError(name, text.removeprefix(name)) from None


def _shown(value: object, name: str, unit: str = "m") -> str:
    if isinstance(value, (int, float)):
        return f"{name} {value:g} {unit}"
    return f'{name} "{value}"' if isinstance(value, str) else name


def speed(value: str | float, name: str = "speed") -> float:
    """Read a towing speed [m/s]."""
    with of_argument(name):
        return check_speed(quantity(value, "speed", name), _shown(value, name, "m/s"))


def depth(value: str | float, name: str = "depth") -> float:
    """Read a depth of the lure [m]."""
    with of_argument(name):
        return check_depth(quantity(value, "length", name), _shown(value, name))


def let_out(value: str | float, tow: Tow, name: str = "let_out") -> float:
    """Read line out [m]; colours are counted past the leader."""
    coded = color_of(tow)
    color, before, held = coded if coded is not None else (None, 0.0, 0.0)
    in_colours = isinstance(value, str) and "col" in value.lower()
    length = quantity(value, "length", name, color) + (before if in_colours else 0.0)
    if color and in_colours and before + held + 1e-6 < length <= MAX_LET_OUT:
        raise ArgumentError(name, f' "{value}": the rig holds {held / color:g} colours')
    with of_argument(name):
        return check_let_out(length, tow, _shown(value, name))


def setting(
    speed: str | float,
    current: str | Sequence[tuple[float, float, float]] | None = None,
    names: tuple[str, str] = ("speed", "current"),
) -> Setting:
    """Read a speed and a current.

    Parameters
    ----------
    speed : str or float
        Over ground.
    current : str or sequence of (depth, along, across), optional
        As `layers` reads it, or layers in SI [m, m/s, m/s].
    names : (str, str)
        The arguments' names, for messages.
    """
    of_speed, of_current = names
    read = layers(current, of_current) if isinstance(current, str) and current else current
    with of_argument(of_speed), of_argument(of_current):
        return check_setting(
            quantity(speed, "speed", of_speed),
            [(float(d), float(a), float(c)) for d, a, c in read or ()],
            _shown(speed, of_speed, "m/s"),
            _shown(current, of_current),
        )


def layers(text: str, name: str = "current") -> Layers:
    """Read a current: layers of (depth, along, across) [m, m/s, m/s], from the top down.

    >>> layers("0.5 m/s against")
    ((0.0, -0.5, 0.0),)
    """
    found = []
    parts = text.split(",")
    for part in parts:
        match = _LAYER.fullmatch(part)
        if match is None or not part.strip():
            raise ArgumentError(
                name,
                f' "{text}": expected such as "0.3 mph against" or '
                '"0.4 mph with at 0 ft, 0 mph at 30 ft"',
            )
        drift = quantity(match["speed"], "speed", name)
        way = " ".join((match["way"] or "").split())
        if not way and drift != 0.0:
            raise ArgumentError(
                name,
                f' "{part.strip()}": expected which way: with, against, from port or from '
                "starboard",
            )
        if not 0.0 <= drift <= 3.0:
            raise ArgumentError(name, f' "{part.strip()}": expected 0 to 3 m/s')
        if match["depth"] is None and len(parts) > 1:
            raise ArgumentError(name, f' "{part.strip()}": expected its depth too, "at 30 ft"')
        deep = quantity(match["depth"], "length", name) if match["depth"] else 0.0
        if not 0.0 <= deep <= MAX_DEPTH:
            raise ArgumentError(
                name, f' "{part.strip()}": expected a depth of 0 to {MAX_DEPTH:g} m'
            )
        along = {"with": drift, "against": -drift}.get(way, 0.0)
        across = {"from port": drift, "from starboard": -drift}.get(way, 0.0)
        found.append((deep, along, across))
    depths = [layer[0] for layer in found]
    if sorted(set(depths)) != depths:
        raise ArgumentError(name, f' "{text}": expected layers from the top down, each depth once')
    return tuple(found)


def series(value: str | Sequence[str | float], kind: str, name: str) -> list[float]:
    """Read rising quantities, in SI: a list ("10, 20, 30 ft"), a range, or one after the other.

    >>> [round(v, 3) for v in series("10 to 20 ft by 5", "length", "depths")]
    [3.048, 4.572, 6.096]
    """
    if not isinstance(value, str):
        return [quantity(each, kind, name) for each in value]
    last = re.search(r"([A-Za-z][A-Za-z/]*)\s*(?:by\s+[\d.]+\s*)?$", value)

    def one(item: str) -> float:
        bare = re.fullmatch(r"\s*[\d.]+\s*", item)
        return quantity(f"{item.strip()} {last[1]}" if bare and last else item, kind, name)

    if match := re.fullmatch(r"\s*(.+?)\s+to\s+(.+?)\s+by\s+(.+?)\s*", value):
        low, high, step = (one(match[i]) for i in (1, 2, 3))
        if step <= 0.0 or high < low or (high - low) / step > MAX_SERIES:
            raise ArgumentError(
                name, f' "{value}": expected a rising range, {MAX_SERIES} steps at most'
            )
        return [low + i * step for i in range(int((high - low) / step + 1e-6) + 1)]
    items = value.split(",")
    if len(items) > MAX_SERIES:
        raise ArgumentError(name, f": expected at most {MAX_SERIES} values, not {len(items)}")
    values = [one(item) for item in items]
    if sorted(set(values)) != values:
        raise ArgumentError(name, f' "{value}": expected rising values')
    return values


def water(value: str | float, name: str = "water") -> Water:
    """Read fresh water by its temperature."""
    from towscope.water import fresh_water

    with of_argument(name):
        return fresh_water(quantity(value, "temperature", name))


def place(latitude: str | float, longitude: str | float) -> tuple[float, float]:
    """Read a place [degrees, WGS 84], latitude first.

    >>> place("48.4012°", -91.8961)
    (48.4012, -91.8961)
    """
    return _degrees(latitude, "latitude", 90.0), _degrees(longitude, "longitude", 180.0)


def _degrees(value: str | float, name: str, limit: float) -> float:
    text = str(value).replace("−", "-")
    try:
        found = float(text.strip().rstrip("°"))
    except ValueError:
        found = math.nan
    if not math.isfinite(found):
        raise ArgumentError(name, f' "{text}": expected degrees such as 48.4012 or -91.8961')
    if abs(found) > limit:
        swapped = "; latitude comes first" if limit < abs(found) <= 180.0 else ""
        raise ArgumentError(name, f' "{text}": expected {-limit:g} to {limit:g} degrees{swapped}')
    return found
