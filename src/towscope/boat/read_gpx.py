"""What track does a GPX file hold, be it huge, cut off in the middle, or meant to do harm.

Read as a stream, point by point: a file of any length takes the same little memory, and one that
breaks off gives what stands before the break. Declarations of document types and entities, which
GPX has no use for and with which a small file can swell to fill a machine, are refused.
"""

from __future__ import annotations

import math
from array import array
from pathlib import Path
from xml.parsers import expat

import numpy as np

from towscope.boat.iso import unix_times
from towscope.boat.track import MOST_FIXES, Fixes
from towscope.errors import InputError, one_line

CHUNK = 1_000_000  # bytes
MOST_BYTES = 600_000_000  # two months of a fix every second
LONGEST_TIME = 40  # letters


class _Hostile(Exception):  # noqa: N818 - said to the user in other words
    """The document declares what no GPX needs."""


class _Points:
    """Gathers track points from the parts of a document, as they go by."""

    def __init__(self) -> None:
        self.lat, self.lon = array("d"), array("d")
        self.times: list[bytes] = []
        self.starts: list[int] = []
        self.others = 0
        self.root = ""
        self._inside = False
        self._text = ""
        self.parser = expat.ParserCreate()
        self.parser.buffer_text = True
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end
        # what stands in a document type can fetch files or swell without end
        self.parser.StartDoctypeDeclHandler = self._refuse
        self.parser.EntityDeclHandler = self._refuse
        self.parser.UnparsedEntityDeclHandler = self._refuse
        self.parser.ExternalEntityRefHandler = self._refuse

    def _refuse(self, *_: object) -> int:
        raise _Hostile

    def _start(self, tag: str, attributes: dict[str, str]) -> None:
        name = tag.rpartition(":")[2]
        if name == "trkpt":
            self.lat.append(_degrees(attributes.get("lat")))
            self.lon.append(_degrees(attributes.get("lon")))
            self.times.append(b"")
            self._inside = True
        elif name == "time":
            if self._inside:
                self._text = ""
                self.parser.CharacterDataHandler = self._data
        elif name == "trkseg":
            if self.times:
                self.starts.append(len(self.times))
        elif name in ("rtept", "wpt"):
            self.others += 1
        elif not self.root:
            self.root = name

    def _data(self, text: str) -> None:
        if len(self._text) < LONGEST_TIME:
            self._text += text[:LONGEST_TIME]

    def _end(self, tag: str) -> None:
        name = tag.rpartition(":")[2]
        if name == "time" and self._inside:
            self.parser.CharacterDataHandler = None
            self.times[-1] = _zoned(self._text.strip()[:LONGEST_TIME])
        elif name == "trkpt":
            self._inside = False

    def drop_unfinished(self) -> None:
        """Forget a point that the file breaks off in."""
        if self._inside and not self.times[-1]:
            self.times.pop()
            self.lat.pop()
            self.lon.pop()


def _degrees(text: str | None) -> float:
    try:
        return float(text or "nan")
    except ValueError:
        return math.nan


def _zoned(text: str) -> bytes:
    # GPX 1.1 says that times are in UTC; a file that leaves out the letter means the same
    bare = (
        len(text) >= 19
        and not text.endswith(("Z", "z"))
        and not any(mark in text[19:] for mark in "+-")
    )
    return (text + "Z" if bare else text).encode("ascii", "replace")


def read_gpx(path: Path) -> Fixes:
    """Read a track from GPX (1.0 or 1.1).

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    Fixes
        Its track points; `starts` where its track segments begin.

    Raises
    ------
    InputError
        Where it is no GPX, holds no track or no times, or declares entities.

    References
    ----------
    GPX 1.1 Schema Documentation, topografix.com/GPX/1/1 (2004).
    """
    shown = one_line(path.name, 60)
    expected = "a track as GPX 1.1"
    size = path.stat().st_size
    if size > MOST_BYTES:
        raise InputError(
            f"{shown} is {size / 1e6:.0f} MB; expected {expected} of at most "
            f"{MOST_BYTES / 1e6:.0f} MB: cut it by days"
        )
    points = _Points()
    notes: list[str] = []
    broken = ""
    with path.open("rb") as stream:
        while not broken:
            chunk = stream.read(CHUNK)
            try:
                points.parser.Parse(chunk, not chunk)
            except _Hostile:
                raise InputError(
                    f"{shown} declares a document type or entities, which no GPX needs and which "
                    f"can do harm: not read; expected {expected}"
                ) from None
            except (expat.ExpatError, ValueError, LookupError) as error:
                broken = one_line(error, 80)
            if len(points.times) > MOST_FIXES:
                raise InputError(
                    f"{shown} holds over {MOST_FIXES / 1e6:.0f} million points; expected fewer: "
                    "cut it by days"
                )
            if not chunk:
                break
    if broken:
        if points.root != "gpx" or not points.times:
            raise InputError(f"{shown} is no whole GPX ({broken}); expected {expected}")
        points.drop_unfinished()
        notes.append(
            f"the file breaks off ({broken}): the {len(points.times)} track points before that "
            "are used"
        )
    if points.root != "gpx":
        root = one_line(points.root, 40)
        raise InputError(f'{shown} is XML, but of "{root}"; expected {expected}')
    if not points.times:
        what = "a planned way or marks, no track" if points.others else "no track"
        raise InputError(f"{shown} holds {what}; expected track points with times")
    time = unix_times(np.array(points.times, dtype=f"S{LONGEST_TIME + 1}"))
    missing = int(np.isnan(time).sum())
    if missing == len(time):
        raise InputError(
            f"{shown}: none of its {missing} track points has a time; expected a track as it was "
            "recorded, with times"
        )
    if missing:
        notes.append(f"left out {missing} track points without a time")
    keep = np.isfinite(time)
    before = np.concatenate([[0], np.cumsum(keep)])
    starts = sorted({int(before[min(s, len(keep))]) for s in points.starts} - {0, int(before[-1])})
    return Fixes(
        time[keep],
        np.array(points.lat)[keep],
        np.array(points.lon)[keep],
        True,
        True,
        tuple(starts),
        tuple(notes),
        shown,
    )
