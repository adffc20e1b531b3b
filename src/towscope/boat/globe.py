"""How many metres east and north of the track's start is a place on the globe, and back."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from towscope.arrays import Array

# WGS 84 (NIMA TR8350.2, 3rd edition, 2000): half the long axis [m], flattening.
SEMI_MAJOR, FLATTENING = 6_378_137.0, 1.0 / 298.257223563
ECCENTRICITY_2 = FLATTENING * (2.0 - FLATTENING)


@dataclass(frozen=True)
class Globe:
    """Level metres about one place: x east and y north of it, along the surface of the globe.

    Distances and bearings from the place itself are true (azimuthal equidistant) to 2 mm
    within 50 km; elsewhere distances are out by the share d^2 / 6 R^2, 1 part in 100,000 at 50 km.
    There is no seam: a track may cross the 180th meridian.

    Attributes
    ----------
    latitude, longitude : float
        The place [degrees, WGS 84].

    References
    ----------
    Snyder, J. P. (1987), Map Projections: A Working Manual, USGS Professional Paper 1395,
    pp. 191-202; Torge, W. & Mueller, J. (2012), Geodesy, 4th ed., sec. 4.1 (normal sections).

    Examples
    --------
    How far did the boat get on a thousandth of a degree to the north at 48.4 N?

    >>> x, y = Globe(48.4, -91.9).to_metres([48.4, 48.401], [-91.9, -91.9])
    >>> round(float(y[1] - y[0]), 1)
    111.2
    """

    latitude: float
    longitude: float

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
        offset = _cartesian(latitude, longitude) - self._centre
        east, north, _ = self._axes @ offset
        chord = np.sqrt((offset**2).sum(axis=0))
        level = np.hypot(east, north)
        with np.errstate(invalid="ignore", divide="ignore"):
            # level metres are a little short: the arc over the chord, in that direction's radius
            radius = self._radius(east, north, level)
            arc = 2.0 * radius * np.arcsin(np.minimum(chord / (2.0 * radius), 1.0))
            scale = np.where(level > 0.0, arc / level, 1.0)
        return east * scale, north * scale

    def to_globe(self, x: npt.ArrayLike, y: npt.ArrayLike) -> tuple[Array, Array]:
        """Give latitude and longitude.

        Parameters
        ----------
        x, y : (n,) array
            East and north of the place [m].

        Returns
        -------
        tuple of (n,) array
            Latitude, and longitude from -180 up to 180 [degrees].
        """
        x, y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
        # a step on the radii of curvature, mended by where it really leads: each pass gains the
        # share d / R, so four end below a micrometre
        lat, lon = np.full(x.shape, self.latitude), np.full(x.shape, self.longitude)
        for _ in range(6):
            here_x, here_y = self.to_metres(lat, lon)
            sine = np.sin(np.radians(lat))
            w = 1.0 - ECCENTRICITY_2 * sine**2
            prime = SEMI_MAJOR / np.sqrt(w)
            meridian = SEMI_MAJOR * (1.0 - ECCENTRICITY_2) / w**1.5
            lat = np.clip(lat + np.degrees((y - here_y) / meridian), -90.0, 90.0)
            lon = lon + np.degrees(
                (x - here_x) / (prime * np.maximum(np.cos(np.radians(lat)), 1e-9))
            )
        return lat, (lon + 180.0) % 360.0 - 180.0

    @property
    def _centre(self) -> Array:
        return _cartesian([self.latitude], [self.longitude])

    @property
    def _axes(self) -> Array:
        lat, lon = math.radians(self.latitude), math.radians(self.longitude)
        sl, cl, so, co = math.sin(lat), math.cos(lat), math.sin(lon), math.cos(lon)
        return np.array([[-so, co, 0.0], [-sl * co, -sl * so, cl], [cl * co, cl * so, sl]])

    def _radius(self, east: Array, north: Array, level: Array) -> Array:
        """Radius of curvature in the direction of a point [m] (Euler)."""
        w = 1.0 - ECCENTRICITY_2 * math.sin(math.radians(self.latitude)) ** 2
        prime, meridian = SEMI_MAJOR / math.sqrt(w), SEMI_MAJOR * (1.0 - ECCENTRICITY_2) / w**1.5
        with np.errstate(invalid="ignore", divide="ignore"):
            cos2 = np.where(level > 0.0, (north / level) ** 2, 1.0)
        return np.asarray(1.0 / (cos2 / meridian + (1.0 - cos2) / prime))


def _cartesian(latitude: npt.ArrayLike, longitude: npt.ArrayLike) -> Array:
    """Give places on the ellipsoid in geocentric metres, (3, n)."""
    lat = np.radians(np.asarray(latitude, dtype=float))
    lon = np.radians(np.asarray(longitude, dtype=float))
    prime = SEMI_MAJOR / np.sqrt(1.0 - ECCENTRICITY_2 * np.sin(lat) ** 2)
    return np.stack(
        [
            prime * np.cos(lat) * np.cos(lon),
            prime * np.cos(lat) * np.sin(lon),
            prime * (1.0 - ECCENTRICITY_2) * np.sin(lat),
        ]
    )
