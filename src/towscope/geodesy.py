"""Level metres about a place on the globe, and back: two map projections, both by PROJ.

All that turns degrees into metres stands here: the boat's way about a fix (`Globe`), a lake about
its middle (`Place`).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, ClassVar

import numpy as np
import numpy.typing as npt

from towscope.arrays import Array
from towscope.errors import InputError

if TYPE_CHECKING:
    from pyproj import Transformer


@dataclass(frozen=True)
class LevelFrame:
    """A flat frame: x east and y north of one place [m].

    Attributes
    ----------
    latitude, longitude : float
        The place [degrees, WGS 84].
    """

    latitude: float
    longitude: float
    projection: ClassVar[str]

    @cached_property
    def _transformer(self) -> Transformer:
        # pyproj takes a fifth of a second and 20 MB, and may be used from several threads this way
        from pyproj import Transformer

        # written as Python's own figures: PROJ takes what it cannot read for 0
        lat, lon = float(self.latitude), float(self.longitude)
        return Transformer.from_pipeline(
            "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad "
            f"+step +proj={self.projection} +lat_0={lat!r} +lon_0={lon!r} +ellps=WGS84"
        )

    def to_metres(self, latitude: npt.ArrayLike, longitude: npt.ArrayLike) -> tuple[Array, Array]:
        """Give metres east and north.

        Parameters
        ----------
        latitude, longitude : (n,) array
            Places [degrees].

        Returns
        -------
        tuple of (n,) array
            East and north of the place [m].
        """
        x, y = self._transformer.transform(
            np.asarray(longitude, dtype=float), np.asarray(latitude, dtype=float)
        )
        return np.asarray(x, dtype=float), np.asarray(y, dtype=float)

    def to_globe(self, x: npt.ArrayLike, y: npt.ArrayLike) -> tuple[Array, Array]:
        """Give latitude and longitude.

        Parameters
        ----------
        x, y : (n,) array
            East and north of the place [m].

        Returns
        -------
        tuple of (n,) array
            Latitude and longitude [degrees].
        """
        lon, lat = self._transformer.transform(
            np.asarray(x, dtype=float), np.asarray(y, dtype=float), direction="INVERSE"
        )
        return np.asarray(lat, dtype=float), np.asarray(lon, dtype=float)


@dataclass(frozen=True)
class Globe(LevelFrame):
    """Level metres about one place: x east and y north of it, along the surface of the globe.

    Distances and bearings from the place itself are true (azimuthal equidistant); elsewhere
    distances are out by the share d^2 / 6 R^2, 1 part in 100,000 at 50 km. There is no seam: a
    track may cross the 180th meridian.

    Attributes
    ----------
    latitude, longitude : float
        The place [degrees, WGS 84].

    References
    ----------
    Snyder, J. P. (1987), Map Projections: A Working Manual, USGS Professional Paper 1395,
    pp. 191-202.

    Examples
    --------
    How far did the boat get on a thousandth of a degree to the north at 48.4 N?

    >>> x, y = Globe(48.4, -91.9).to_metres([48.4, 48.401], [-91.9, -91.9])
    >>> round(float(y[1] - y[0]), 1)
    111.2
    """

    projection: ClassVar[str] = "aeqd"


@dataclass(frozen=True)
class Place(LevelFrame):
    """The lake's own metres: x east and y north of its middle.

    A transverse Mercator projection about the lake's own middle, so that a metre on the map is a
    metre on the water: the scale is off by 3 parts in a million 15 km from the middle.

    Attributes
    ----------
    latitude, longitude : float
        The middle [degrees, WGS 84].

    References
    ----------
    Snyder, J. P. (1987), Map Projections: A Working Manual, USGS Professional Paper 1395,
    pp. 48-64.

    Examples
    --------
    How far is it from one end of the reef to the other?

    >>> x, y = Place(48.4, -91.9).to_metres([48.4, 48.401], [-91.9, -91.9])
    >>> round(float(y[1] - y[0]), 1)
    111.2
    """

    projection: ClassVar[str] = "tmerc"

    def __post_init__(self) -> None:
        if not (-85.0 <= self.latitude <= 85.0 and -180.0 <= self.longitude <= 180.0):
            raise InputError(
                f"{self.latitude:g}, {self.longitude:g} is no place for a lake; "
                "expected latitude, longitude in degrees"
            )

    @property
    def definition(self) -> str:
        """The projection as PROJ writes it."""
        return (
            f"+proj=tmerc +lat_0={self.latitude:.6f} +lon_0={self.longitude:.6f} +k=1 "
            "+x_0=0 +y_0=0 +datum=WGS84 +units=m +no_defs"
        )

    @classmethod
    def about(cls, latitude: Array, longitude: Array) -> Place:
        """Give the frame about the middle of some places."""
        return cls(round(float(np.median(latitude)), 4), round(float(np.median(longitude)), 4))
