"""What points does a GPX file hold, be it long, cut off in the middle, or meant to do harm.

defusedxml walks the document as a stream and refuses what can do harm; gpxpy reads each point. To
hand gpxpy the whole document would cost 1.7 kB of memory a point (measured on 200,000 points of
116 bytes: 340 MB), and the whole file for one figure that is none or for one missing end tag. So
the file is read to its last whole point, and every point on its own.

References
----------
GPX 1.1 Schema Documentation, topografix.com/GPX/1/1 (2004), and 1.0 (2002).
"""

from __future__ import annotations

import math
from array import array
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import Element, ParseError

import numpy as np
import numpy.typing as npt
from defusedxml.common import DefusedXmlException
from defusedxml.ElementTree import iterparse
from gpxpy.gpx import GPXException, GPXTrackPoint
from gpxpy.gpxfield import gpx_fields_from_xml

from towscope.errors import InputError, one_line

Array = npt.NDArray[np.float64]

MOST_BYTES = 600_000_000
# 48 hours at 10 points a second, and some: two minutes or so of reading
MOST_POINTS = 2_000_000
DEEPEST = 100  # elements inside each other; GPX has five, and its extensions a few
_POINTS = ("trkpt", "rtept", "wpt")
_DEPTHS = ("depth", "waterdepth")


@dataclass(frozen=True)
class Gpx:
    """The points of a GPX file, in its order: track points, route points and waypoints.

    Attributes
    ----------
    source : str
        Name of the file, for messages.
    latitude, longitude : (n,) array
        Places [degrees, WGS 84]; NaN where the file has no figure.
    time : (n,) array
        Unix times [s]; NaN where the file has none. A time without a zone is UTC, as GPX says.
    depth : (n,) array
        What an extension called depth says, in its own unit; NaN where there is none.
    track : (n,) array of bool
        Whether a point is of a track.
    starts : tuple of int
        Where in the track points a segment begins, the first not counted.
    broken : str
        Why the file breaks off after these points; empty where it is whole.
    """

    source: str
    latitude: Array
    longitude: Array
    time: Array
    depth: Array
    track: npt.NDArray[np.bool_]
    starts: tuple[int, ...]
    broken: str

    def repair(self, what: str, count: int) -> tuple[str, ...]:
        """Say, where the file breaks off, that what stands before the break is used."""
        if not self.broken:
            return ()
        return (f"the file breaks off ({self.broken}): the {count} {what} before that are used",)


class _TimedPlace(GPXTrackPoint):
    """A point of which gpxpy reads no more than we take."""

    __slots__ = ()
    gpx_11_fields = [  # noqa: RUF012 - as gpxpy has it
        field
        for field in GPXTrackPoint.gpx_11_fields
        if getattr(field, "name", "") in ("latitude", "longitude", "time")
    ]


class _Hostile(Exception):  # noqa: N818 - said to the user in other words
    """The document nests deeper than any GPX."""


def read(
    path: Path, *, expected: str, most_bytes: int = MOST_BYTES, most_points: int = MOST_POINTS
) -> Gpx:
    """Read the points of a GPX file (1.0 or 1.1).

    Parameters
    ----------
    path : Path
        The file.
    expected : str
        What it should hold, for the messages: "a track as GPX 1.1".
    most_bytes, most_points : int
        The largest file taken.

    Returns
    -------
    Gpx
        Its points; at least one where the file breaks off.

    Raises
    ------
    InputError
        Where it is missing, too large, no GPX, breaks off before its first point, or declares a
        document type or entities.
    """
    shown = one_line(path.name, 60)
    latitude, longitude, time, depth = array("d"), array("d"), array("d"), array("d")
    track = bytearray()
    starts: list[int] = []
    on_track = 0
    broken = ""
    try:
        size = path.stat().st_size
        if size > most_bytes:
            raise InputError(
                f"{shown} is {size / 1e6:.0f} MB; expected {expected} of at most "
                f"{most_bytes / 1e6:.0f} MB: cut it by days"
            )
        for name, point, deep in _walk(path, shown, expected):
            if point is None:
                starts.append(on_track)
                continue
            if len(track) >= most_points:
                raise InputError(
                    f"{shown} holds over {most_points / 1e6:g} million points; expected fewer: "
                    "cut it by days"
                )
            latitude.append(math.nan if point.latitude is None else point.latitude)
            longitude.append(math.nan if point.longitude is None else point.longitude)
            time.append(_unix(point.time))
            depth.append(deep)
            track.append(name == "trkpt")
            on_track += track[-1]
    except InputError:
        raise
    except DefusedXmlException:
        raise InputError(
            f"{shown} declares a document type or entities, which no GPX needs and which "
            f"can do harm: not read; expected {expected}"
        ) from None
    except _Hostile:
        raise InputError(
            f"{shown} nests over {DEEPEST} elements, which no GPX needs; expected {expected}"
        ) from None
    except OSError as error:
        raise InputError(f"{shown}: {error.strerror or error}; expected {expected}") from None
    except (ParseError, ValueError, LookupError) as error:
        # no XML any more, or letters that cannot be told
        broken = one_line(error, 80)
        if not track:
            raise InputError(f"{shown} is no whole GPX ({broken}); expected {expected}") from None
    return Gpx(
        shown,
        np.array(latitude),
        np.array(longitude),
        np.array(time),
        np.array(depth),
        np.frombuffer(bytes(track), dtype=np.bool_),
        tuple(sorted({start for start in starts if 0 < start < on_track})),
        broken,
    )


def _walk(
    path: Path, shown: str, expected: str
) -> Iterator[tuple[str, GPXTrackPoint | None, float]]:
    """Give each whole point with its kind and depth; None in its place where a segment begins."""
    above: list[Element] = []
    inside: Element | None = None
    when: str | None = None
    depth = math.nan
    with path.open("rb") as stream:
        for event, element in iterparse(stream, events=("start", "end"), forbid_dtd=True):
            name = element.tag.rpartition("}")[2]
            if event == "start":
                if not above and name != "gpx":
                    raise InputError(
                        f'{shown} is XML, but of "{one_line(name, 40)}": no GPX; '
                        f"expected {expected}"
                    )
                above.append(element)
                if len(above) > DEEPEST:
                    raise _Hostile
                if name in _POINTS and inside is None:
                    inside, when, depth = element, None, math.nan
                elif name == "trkseg":
                    yield name, None, math.nan
                continue
            above.pop()
            if inside is not None and element is inside:
                yield name, _point(element, when), depth
                inside = None
            elif inside is not None and name == "time" and above[-1] is inside:
                when = element.text
            elif inside is not None and name.lower() in _DEPTHS:
                depth = _figure(element.text)
            if above:
                above[-1].remove(element)  # or the whole file would gather in memory


def _point(element: Element, when: str | None) -> GPXTrackPoint:
    """Have gpxpy read a point: its place, and its time if it has one."""
    bare = Element("trkpt", {key: element.get(key, "nan") for key in ("lat", "lon")})
    if when:
        time = Element("time")
        time.text = when.strip()
        bare.append(time)
    try:
        return _fields(bare)
    except GPXException:  # a figure that is none; the fix is then one without a place
        bare.attrib.update(lat="nan", lon="nan")
        return _fields(bare)


def _fields(element: Any) -> GPXTrackPoint:
    # what gpxpy's own parser calls for every point of a document
    point: GPXTrackPoint = gpx_fields_from_xml(_TimedPlace, element, "1.1")
    return point


def _unix(moment: datetime | None) -> float:
    if moment is None:
        return math.nan
    try:
        return (moment if moment.tzinfo else moment.replace(tzinfo=UTC)).timestamp()
    except (ValueError, OverflowError):  # a zone of more than a day
        return math.nan


def _figure(text: str | None) -> float:
    try:
        return float(text or "nan")
    except ValueError:
        return math.nan
