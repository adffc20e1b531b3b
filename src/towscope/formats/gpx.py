"""Streaming GPX reader that bounds what it keeps: points of long, torn or hostile files.

The standard library's parser, guarded by defusedxml, walks the document and calls us for each
element; nothing of it is kept but figures. So a file of any length takes 33 bytes a point, a
missing end tag or a figure that is none costs no more than its point, and 100 MB (a million points)
take some ten seconds.

References
----------
GPX 1.1 Schema Documentation, topografix.com/GPX/1/1 (2004), and 1.0 (2002).
"""

from __future__ import annotations

import math
from array import array
from dataclasses import dataclass
from pathlib import Path
from xml.sax import SAXParseException
from xml.sax.handler import ContentHandler
from xml.sax.xmlreader import AttributesImpl

import numpy as np
import numpy.typing as npt
from defusedxml.common import DefusedXmlException
from defusedxml.expatreader import create_parser

from towscope.arrays import Array
from towscope.errors import InputError, one_line
from towscope.formats.iso import unix_time
from towscope.words import counted

MOST_BYTES = 600_000_000
# 48 hours at 10 points a second, and some: two minutes or so of reading
MOST_POINTS = 2_000_000
PIECE = 1 << 18  # [bytes]
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
        are = "is" if count == 1 else "are"
        return (
            f"the file breaks off ({self.broken}): the {counted(count, what)} before that {are} "
            "used",
        )


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
    points = _Points(shown, expected, most_points)
    parser = create_parser(forbid_dtd=True)
    parser.setContentHandler(points)
    broken = ""
    try:
        size = path.stat().st_size
        if size > most_bytes:
            raise InputError(
                f"{shown} is {size / 1e6:.0f} MB; expected {expected} of at most "
                f"{most_bytes / 1e6:.0f} MB: cut it by days"
            )
        with path.open("rb") as stream:
            while piece := stream.read(PIECE):
                parser.feed(piece)
        parser.close()
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
    except (SAXParseException, ValueError, LookupError) as error:
        # no XML any more, or letters that cannot be told
        broken = one_line(_reason(error), 80)
    if not points.opened and not broken:
        broken = "nothing in it"
    if broken and not points.track:
        raise InputError(f"{shown} is no whole GPX ({broken}); expected {expected}")
    on_track = sum(points.track)
    return Gpx(
        shown,
        np.array(points.latitude),
        np.array(points.longitude),
        np.array(points.time),
        np.array(points.depth),
        np.frombuffer(bytes(points.track), dtype=np.bool_),
        tuple(sorted({start for start in points.starts if 0 < start < on_track})),
        broken,
    )


def _reason(error: Exception) -> str:
    if isinstance(error, SAXParseException):
        return f"{error.getMessage()}: line {error.getLineNumber()}"
    return str(error)


class _Points(ContentHandler):
    """What the parser calls: gathers whole points, and where segments begin."""

    def __init__(self, shown: str, expected: str, most: int) -> None:
        super().__init__()
        self.latitude, self.longitude = array("d"), array("d")
        self.time, self.depth = array("d"), array("d")
        self.track = bytearray()
        self.starts: list[int] = []
        self._shown, self._expected, self._most = shown, expected, most
        self.opened = False
        self._level = 0
        self._point = 0  # level of the point that is open; 0 outside of one
        self._place = ("", "")
        self._when = ""
        self._deep = math.nan
        self._on_track = 0
        self._text: list[str] | None = None  # of a time or a depth that is open
        self._named = ""

    def startElement(self, name: str, attrs: AttributesImpl) -> None:  # noqa: N802 - the library's
        if ":" in name:
            name = name.rpartition(":")[2]
        self._level = level = self._level + 1
        self.opened = True
        if level == 1 and name != "gpx":
            raise InputError(
                f'{self._shown} is XML, but of "{one_line(name, 40)}": no GPX; '
                f"expected {self._expected}"
            )
        if level > DEEPEST:
            raise _Hostile
        if self._point:
            timed = name == "time" and level == self._point + 1
            self._text = [] if timed or name.lower() in _DEPTHS else None
            self._named = name
        elif name in _POINTS:
            self._point = self._level
            self._place = (attrs.get("lat", ""), attrs.get("lon", ""))
            self._when, self._deep = "", math.nan
        elif name == "trkseg":
            self.starts.append(self._on_track)

    def characters(self, content: str) -> None:
        if self._text is not None:
            self._text.append(content)

    def endElement(self, name: str) -> None:  # noqa: N802
        if self._text is not None:
            text, self._text = "".join(self._text), None
            if self._named == "time":
                self._when = text
            else:
                self._deep = _figure(text)
        elif self._level == self._point:
            self._point = 0
            self._take(name.rpartition(":")[2] == "trkpt")
        self._level -= 1

    def _take(self, on_track: bool) -> None:
        if len(self.track) >= self._most:
            raise InputError(
                f"{self._shown} holds over {self._most / 1e6:g} million points; expected fewer: "
                "cut it by days"
            )
        lat, lon = _figure(self._place[0]), _figure(self._place[1])
        placed = math.isfinite(lat) and math.isfinite(lon)  # one of two figures is no place
        self.latitude.append(lat if placed else math.nan)
        self.longitude.append(lon if placed else math.nan)
        self.time.append(_unix(self._when))
        self.depth.append(self._deep)
        self.track.append(on_track)
        self._on_track += on_track


def _unix(text: str) -> float:
    """Give a point's time; GPX says that one without a zone is UTC."""
    words = text.strip()
    if not words:
        return math.nan
    for spelled in (words, f"{words}Z"):
        try:
            return unix_time(spelled)
        except (ValueError, OverflowError):
            continue
    return math.nan


def _figure(text: str) -> float:
    try:
        return float(text) if "_" not in text else math.nan
    except ValueError:
        return math.nan
