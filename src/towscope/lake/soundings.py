"""What did the sounder say, where: one shape for soundings from every kind of file."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from towscope.errors import InputError

Array = npt.NDArray[np.float64]
Rows = npt.NDArray[np.int64]

# Most soundings taken from one file: what the grid solver was measured with, and room beyond.
MOST = 20_000_000


@dataclass(frozen=True)
class Log:
    """The soundings of one file, as read: nothing dropped, nothing corrected.

    Attributes
    ----------
    source : str
        The file's name.
    latitude, longitude : (n,) array
        Places [degrees, WGS 84]; NaN where the file had no figure.
    depth : (n,) array
        Depths, positive down [m]; NaN where the file had no figure.
    row : (n,) array of int
        Line, sentence or record in the file, from 1, for messages.
    notes : tuple of str
        What was assumed in reading; shown to the user.
    track : bool
        Whether the order is the order they were made in.
    """

    source: str
    latitude: Array
    longitude: Array
    depth: Array
    row: Rows
    notes: tuple[str, ...] = ()
    track: bool = True

    @property
    def size(self) -> int:
        """How many soundings."""
        return int(self.depth.size)


@dataclass(frozen=True)
class Reading:
    """How a file is to be read, where the file does not say.

    Attributes
    ----------
    unit : str or None
        ``"m"``, ``"ft"`` or ``"fathom"`` for the depths.
    down : bool or None
        Whether depths are positive down; recognised from the figures where None.
    columns : dict
        Which column holds what: keys ``lat``, ``lon`` (or ``x``, ``y``) and ``depth``.
    crs : str or None
        Coordinate system where the file does not name one: ``"EPSG:26915"``.
    transducer : float
        How far the transducer hangs below the surface [m]; added to depths below transducer.
    box : tuple or None
        South, west, north, east [degrees]: read only this much of a large grid.
    """

    unit: str | None = None
    down: bool | None = None
    columns: dict[str, str] = field(default_factory=dict)
    crs: str | None = None
    transducer: float = 0.0
    box: tuple[float, float, float, float] | None = None


UNITS = {"m": 1.0, "ft": 0.3048, "fathom": 1.8288}
_NAMES = {
    "m": "m", "meter": "m", "meters": "m", "metre": "m", "metres": "m", "mtr": "m",
    "f": "ft", "ft": "ft", "foot": "ft", "feet": "ft",
    "fathom": "fathom", "fathoms": "fathom", "fm": "fathom", "ftm": "fathom",
}  # fmt: skip


def unit_named(text: str) -> str | None:
    """Give the depth unit that a word names: ``"feet"`` is ``"ft"``; None where it names none."""
    return _NAMES.get(text.strip(" ._()[]").lower())


def checked_unit(text: str | None) -> str | None:
    """Give the depth unit of an option, or refuse it by name."""
    if text is None:
        return None
    unit = unit_named(text)
    if unit is None:
        raise InputError(f'--depth-unit "{text}": expected m, ft or fathom')
    return unit


def columns_of(text: str, option: str) -> dict[str, str]:
    """Read which column of a file holds what.

    >>> columns_of("lat=Y, lon=X, depth=Z", "--columns")
    {'lat': 'Y', 'lon': 'X', 'depth': 'Z'}
    """
    found: dict[str, str] = {}
    for part in text.split(",") if text else []:
        key, equals, value = part.partition("=")
        key = key.strip().lower()
        if not equals or key not in ("lat", "lon", "x", "y", "depth", "z") or not value.strip():
            raise InputError(
                f'{option} "{text}": expected lat=NAME,lon=NAME,depth=NAME (or x=, y= with --crs)'
            )
        found[key] = value.strip()
    return found


def sign(depth: Array, down: bool | None, source: str) -> tuple[Array, str | None]:
    """Turn depths positive down.

    Returns
    -------
    depth : (n,) array
        Positive down.
    note : str or None
        What was assumed.
    """
    known = depth[np.isfinite(depth) & (depth != 0.0)]
    if down is not None:
        return (depth if down else -depth), None
    if not known.size:
        return depth, None
    below = float(np.mean(known < 0.0))
    if below > 0.9:
        return -depth, "depths are negative: read as heights, negative down"
    if below > 0.1:
        raise InputError(
            f"{source}: {100 * below:.0f} % of the depths are negative and the rest positive; "
            "expected one sign: set --sign down or --sign up"
        )
    return depth, None
