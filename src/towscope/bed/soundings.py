"""One shape for soundings from every kind of file: what the sounder said, and where."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
import numpy.typing as npt

from towscope.arrays import Array
from towscope.constants import FOOT
from towscope.errors import ArgumentError, InputError

Rows = npt.NDArray[np.int64]
Says = Literal["depth", "height", "unclear"]

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
    shore : bool
        Whether a depth of 0 is the shore, as on a chart, and no lost bottom.
    """

    source: str
    latitude: Array
    longitude: Array
    depth: Array
    row: Rows
    notes: tuple[str, ...] = ()
    track: bool = True
    shore: bool = False

    @property
    def size(self) -> int:
        """How many soundings."""
        return int(self.depth.size)


@dataclass(frozen=True)
class FileOptions:
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
    surface : float or None
        Height of the water [m] where the file gives heights of the bottom, above the same level.
    """

    unit: str | None = None
    down: bool | None = None
    columns: dict[str, str] = field(default_factory=dict)
    crs: str | None = None
    transducer: float = 0.0
    box: tuple[float, float, float, float] | None = None
    surface: float | None = None


UNITS = {"m": 1.0, "ft": FOOT, "fathom": 6.0 * FOOT}
_NAMES = {
    "m": "m", "meter": "m", "meters": "m", "metre": "m", "metres": "m", "mtr": "m",
    "f": "ft", "ft": "ft", "foot": "ft", "feet": "ft",
    "fathom": "fathom", "fathoms": "fathom", "fm": "fathom", "ftm": "fathom",
}  # fmt: skip


def unit_named(text: str) -> str | None:
    """Give the depth unit that a word names: ``"feet"`` is ``"ft"``; None where it names none."""
    return _NAMES.get(text.strip(" ._()[]").lower())


def checked_unit(text: str | None, name: str = "depth_unit") -> str | None:
    """Give the depth unit of an option, or refuse it by name."""
    if text is None:
        return None
    unit = unit_named(text)
    if unit is None:
        raise ArgumentError(name, f' "{text}": expected m, ft or fathom')
    return unit


def columns_of(text: str, name: str = "columns") -> dict[str, str]:
    """Read which column of a file holds what.

    >>> columns_of("lat=Y, lon=X, depth=Z")
    {'lat': 'Y', 'lon': 'X', 'depth': 'Z'}
    """
    found: dict[str, str] = {}
    for part in text.split(",") if text else []:
        key, equals, value = part.partition("=")
        key = key.strip().lower()
        if not equals or key not in ("lat", "lon", "x", "y", "depth", "z") or not value.strip():
            raise ArgumentError(
                name, f' "{text}": expected lat=NAME,lon=NAME,depth=NAME (or x=, y= with --crs)'
            )
        found[key] = value.strip()
    return found


def sign(
    depth: Array, how: FileOptions, source: str, says: Says = "unclear"
) -> tuple[Array, str | None]:
    """Turn a file's figures into depths, positive down; ask where they may be something else.

    Parameters
    ----------
    depth : (n,) array
        The figures [m].
    how : FileOptions
        What the file does not say.
    source : str
        The file, for messages.
    says : str
        What the file calls them: ``"depth"``, ``"height"``, or ``"unclear"``.

    Returns
    -------
    depth : (n,) array
        Positive down [m].
    note : str or None
        What was assumed.

    Raises
    ------
    InputError
        Where they may as well be heights.
    """
    if how.surface is not None:
        return how.surface - depth, f"depths are {how.surface:g} m less the heights in the file"
    known = depth[np.isfinite(depth) & (depth != 0.0)]
    if how.down is not None:
        return (depth if how.down else -depth), None
    if not known.size:
        return depth, None
    below = float(np.mean(known < 0.0))
    note = None
    if below > 0.9:
        depth, known = -depth, -known
        note = "depths are negative: read as heights, negative down"
    elif below > 0.1:
        raise InputError(
            f"{source}: {100 * below:.0f} % of the depths are negative and the rest positive; "
            "expected one sign: set --sign down or --sign up"
        )
    _near_zero(known, source, says, below > 0.9, how.box is not None)
    return depth, note


# How near to 0 the shallowest hundredth of a lake's figures comes, by what they are called: a
# lake has shallows, heights have none. Common practice, no source.
_SHALLOWEST = {"depth": 100.0, "unclear": 30.0, "height": 30.0}  # [m]
_SHARE = 0.4  # of the deepest


def _near_zero(known: Array, source: str, says: Says, up: bool, part: bool) -> None:
    low, high = (float(v) for v in np.quantile(known, (0.01, 0.99)))
    away = low > _SHALLOWEST[says]
    away |= says != "depth" and not part and low > _SHARE * high > 2.0
    if (says == "height" and not up) or away:
        least, most = float(known.min()), float(known.max())
        span = f"from {least:,.5g} to {most:,.5g} m" if least < most else f"all {least:,.5g} m"
        raise InputError(
            f"{source}: its figures are {span}: depths, or heights of the bottom? For depths set "
            '--sign down; for heights set the height of the water: --surface "432 m"'
        )
