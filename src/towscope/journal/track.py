"""The boat's track as arrays, and as the small blocks of bytes that the store keeps.

A block holds the points of one stretch in whole numbers (milliseconds, ten-millionths of a degree,
millimetres per second, millimetres, hundredths of a degree Celsius), each column as differences,
its bytes regrouped by weight and deflated: about 5 to 8 bytes for a point.
"""

from __future__ import annotations

import hashlib
import struct
import zlib
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from towscope.arrays import Array
from towscope.errors import InputError
from towscope.journal.times import EARLIEST, LATEST

_MAGIC: Final = b"TWT1"
_HEAD: Final = struct.Struct("<4sIB")
_COLUMN: Final = struct.Struct("<qqBI")
# What one unit of the stored whole numbers is worth; the order is the order in the block.
_STEP: Final = (1e-3, 1e-7, 1e-7, 1e-3, 1e-3, 1e-2)
_MISSING: Final = -(1 << 40)
MAX_POINTS: Final = 1_000_000
_FIRST_S: Final = EARLIEST.timestamp()
_LAST_S: Final = LATEST.timestamp()
_WILD: Final = 1e6  # [m, m/s, degC]; no instrument means it, and it would not fit the block
EARTH_RADIUS_M: Final = 6371008.8  # mean radius, IUGG (Moritz 2000), Geodetic Reference System 1980


@dataclass(frozen=True)
class LoggedTrack:
    """The boat's way, in time order.

    Attributes
    ----------
    t_s : ndarray (n,)
        Unix time [s].
    lat, lon : ndarray (n,)
        Place [deg, WGS 84].
    speed_m_s : ndarray (n,)
        Speed as the boat's instrument gave it [m/s]; nan where it gave none.
    depth_m : ndarray (n,)
        Water depth under the boat [m]; nan where unknown.
    surface_temp_c : ndarray (n,)
        Surface temperature [degC]; nan where unknown.
    """

    t_s: Array
    lat: Array
    lon: Array
    speed_m_s: Array
    depth_m: Array
    surface_temp_c: Array

    def __len__(self) -> int:
        return int(self.t_s.size)

    @property
    def columns(self) -> tuple[Array, ...]:
        """The arrays in their fixed order."""
        return (self.t_s, self.lat, self.lon, self.speed_m_s, self.depth_m, self.surface_temp_c)

    def between(self, start_s: float, end_s: float) -> LoggedTrack:
        """Give the part from `start_s` up to and including `end_s` [s]."""
        a = int(np.searchsorted(self.t_s, start_s, side="left"))
        b = int(np.searchsorted(self.t_s, end_s, side="right"))
        return LoggedTrack(*(column[a:b] for column in self.columns))


def make_track(
    t_s: ArrayLike,
    lat: ArrayLike,
    lon: ArrayLike,
    speed_m_s: ArrayLike | None = None,
    depth_m: ArrayLike | None = None,
    surface_temp_c: ArrayLike | None = None,
) -> LoggedTrack:
    """Make a track: put in time order, doubled times dropped, impossible points refused.

    Parameters
    ----------
    t_s, lat, lon : array_like (n,)
        Unix time [s] and place [deg].
    speed_m_s, depth_m, surface_temp_c : array_like (n,), optional
        As in `LoggedTrack`; nan where unknown.

    Raises
    ------
    InputError
        Where the arrays differ in length or a time or place is not a number or out of range.
    """
    t = np.atleast_1d(np.asarray(t_s, dtype=np.float64))
    given = [t]
    for column in (lat, lon, speed_m_s, depth_m, surface_temp_c):
        array = np.full(t.shape, np.nan) if column is None else np.asarray(column, np.float64)
        array = np.atleast_1d(array)
        if array.shape != t.shape:
            raise InputError(f"a track's columns differ in length ({t.size} and {array.size})")
        given.append(array)
    with np.errstate(invalid="ignore"):
        sane = (t >= _FIRST_S) & (t <= _LAST_S)
        good = (np.abs(given[1]) <= 90) & (np.abs(given[2]) <= 180) & sane
    if not bool(good.all()):
        first = int(np.argmin(good))
        raise InputError(
            f"track point {first + 1} has no sane time and place "
            f"(time {t[first]:.0f} s, lat {given[1][first]}, lon {given[2][first]})"
        )
    for number, column in enumerate(given[3:]):
        given[3 + number] = np.where(np.abs(column) < _WILD, column, np.nan)
    order = np.argsort(t, kind="stable")
    ordered = [column[order] for column in given]
    first_of = np.ones(t.size, dtype=bool)
    first_of[1:] = np.diff(ordered[0]) > 0
    return LoggedTrack(*(column[first_of] for column in ordered))


def join(parts: list[LoggedTrack]) -> LoggedTrack:
    """Join stretches, from one device or several, into one track in time order."""
    if not parts:
        return LoggedTrack(*(np.empty(0) for _ in _STEP))
    if len(parts) == 1:
        return parts[0]
    columns = [np.concatenate(group) for group in zip(*(p.columns for p in parts), strict=True)]
    if bool((np.diff(columns[0]) > 0).all()):
        return LoggedTrack(*columns)
    return make_track(*columns)


def encode(track: LoggedTrack) -> bytes:
    """Pack a track into one block of bytes; `decode` gives it back to the step of each column.

    Raises
    ------
    InputError
        Where it holds no point or more than `MAX_POINTS`.
    """
    if not 0 < len(track) <= MAX_POINTS:
        raise InputError(f"a track block holds 1 to {MAX_POINTS} points, not {len(track)}")
    out = [_HEAD.pack(_MAGIC, len(track), len(_STEP))]
    for column, step in zip(track.columns, _STEP, strict=True):
        if bool(np.isnan(column).all()):
            out.append(_COLUMN.pack(0, 0, 0, 0))
            continue
        whole = np.where(
            np.isfinite(column), np.rint(np.nan_to_num(column) / step), _MISSING
        ).astype(np.int64)
        first = np.diff(whole)
        slope = int(first[0]) if first.size else 0
        change = np.diff(first)  # a boat holds its course: second differences are small
        folded = ((change << 1) ^ (change >> 63)).astype(np.uint64)
        top = int(folded.max()) if folded.size else 0
        width = max(1, (top.bit_length() + 7) // 8)
        planes = folded.astype("<u8").view(np.uint8).reshape(-1, 8)[:, :width].T
        packed = zlib.compress(np.ascontiguousarray(planes).tobytes(), 6)
        out.extend((_COLUMN.pack(int(whole[0]), slope, width, len(packed)), packed))
    return b"".join(out)


def decode(block: bytes) -> LoggedTrack:
    """Give back the track of a block.

    Raises
    ------
    InputError
        Where the block is damaged or no track block.
    """
    damaged = InputError("a track block is damaged: restore a copy, or import the track again")
    try:
        magic, count, columns = _HEAD.unpack_from(block)
        if magic != _MAGIC or columns != len(_STEP) or not 0 < count <= MAX_POINTS:
            raise damaged
        at, arrays = _HEAD.size, []
        for step in _STEP:
            start, slope, width, size = _COLUMN.unpack_from(block, at)
            at += _COLUMN.size
            if width == 0:
                arrays.append(np.full(count, np.nan))
                continue
            if width > 8:
                raise damaged
            raw = zlib.decompress(block[at : at + size])
            at += size
            arrays.append(_column(raw, start, slope, width, count, step))
    except (struct.error, zlib.error, ValueError):
        raise damaged from None
    return LoggedTrack(*arrays)


def _column(raw: bytes, start: int, slope: int, width: int, count: int, step: float) -> Array:
    steps = max(count - 2, 0)
    wide = np.zeros((steps, 8), dtype=np.uint8)
    wide[:, :width] = np.frombuffer(raw, np.uint8).reshape(width, steps).T
    folded = wide.reshape(-1).view("<u8").astype(np.uint64)
    change = (folded >> np.uint64(1)).astype(np.int64) ^ -(folded & np.uint64(1)).astype(np.int64)
    first = np.empty(max(count - 1, 0), dtype=np.int64)
    if first.size:
        first[0] = slope
        first[1:] = slope + np.cumsum(change)
    whole = np.empty(count, dtype=np.int64)
    whole[0] = start
    whole[1:] = start + np.cumsum(first)
    # dividing by the whole reciprocal gives the nearest double, so packing again changes nothing
    values = whole / np.rint(1.0 / step)
    values[whole == _MISSING] = np.nan
    return np.asarray(values)


def block_name(device: str, block: bytes) -> str:
    """Name a block by its content, so that the same file read twice is kept once."""
    return hashlib.sha256(device.encode() + b"\x00" + block).hexdigest()[:32]


def distance_m(lat_a: Array, lon_a: Array, lat_b: Array, lon_b: Array) -> Array:
    """Give the distance between places, pair by pair.

    Parameters
    ----------
    lat_a, lon_a, lat_b, lon_b : ndarray (n,)
        Places [deg].

    Returns
    -------
    ndarray (n,)
        Distances [m] on the sphere (haversine), within 0.6 % of the ellipsoid's.

    References
    ----------
    Sinnott, R. W. (1984), "Virtues of the Haversine", Sky and Telescope 68, 159.
    """
    a, b = np.radians(lat_a), np.radians(lat_b)
    east = np.radians(np.asarray(lon_b) - np.asarray(lon_a))
    h = np.sin((b - a) / 2) ** 2 + np.cos(a) * np.cos(b) * np.sin(east / 2) ** 2
    return np.asarray(2 * EARTH_RADIUS_M * np.arcsin(np.sqrt(np.clip(h, 0, 1))))


def speeds(track: LoggedTrack, *, window_s: float = 10.0) -> Array:
    """Give the boat's speed at each point, smoothed against the receiver's jitter.

    The instrument's own speed where it gave one, else the distance made good across `window_s`: the
    sum of single steps would count the receiver's jitter as way.

    Parameters
    ----------
    track : LoggedTrack
        The track.
    window_s : float
        Width of the smoothing [s].

    Returns
    -------
    ndarray (n,)
        Speed [m/s]; nan for a single point and across gaps over two minutes.
    """
    n = len(track)
    if n < 2:
        return track.speed_m_s.copy()
    t = track.t_s
    low = np.clip(np.searchsorted(t, t - window_s / 2, side="left"), 0, n - 1)
    high = np.clip(np.searchsorted(t, t + window_s / 2, side="right") - 1, 0, n - 1)
    single = low == high
    low = np.where(single, np.maximum(low - 1, 0), low)
    high = np.where(single & (low == np.arange(n)), np.minimum(high + 1, n - 1), high)
    span = t[high] - t[low]
    way = distance_m(track.lat[low], track.lon[low], track.lat[high], track.lon[high])
    with np.errstate(divide="ignore", invalid="ignore"):
        ground = np.where((span > 0) & (span <= 120), way / span, np.nan)
    return np.where(np.isfinite(track.speed_m_s), track.speed_m_s, ground)
