"""What does a GPX file with depths say of the bottom."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np

from towscope.errors import InputError, one_line
from towscope.lake.soundings import UNITS, Log, Reading

LIMIT = 500_000_000


def read(path: Path, how: Reading) -> Log:
    """Read a GPX file whose points carry a depth in an extension.

    Any extension element called depth counts, in whatever namespace; it is metres below the
    surface unless `how` says otherwise.

    Raises
    ------
    InputError
        Where the file is no GPX, tries to expand entities, or has no depths.
    """
    from xml.etree.ElementTree import ParseError

    import defusedxml.ElementTree as Safe
    from defusedxml.common import DefusedXmlException

    name = one_line(path.name, 60)
    if path.stat().st_size > LIMIT:
        raise InputError(f"{name} is over {LIMIT / 1e6:.0f} MB; expected a GPX file with depths")
    rows: list[tuple[float, float, float]] = []
    depth, seen = math.nan, False
    try:
        for event, element in Safe.iterparse(path, events=("start", "end"), forbid_dtd=True):
            tag = element.tag.rpartition("}")[2]
            if event == "start":
                if not seen and tag != "gpx":
                    raise InputError(f"{name} is XML but no GPX; expected a GPX file with depths")
                seen = True
                if tag in ("trkpt", "wpt", "rtept"):
                    depth = math.nan
                continue
            if tag.lower() in ("depth", "waterdepth"):
                depth = _figure(element.text)
            elif tag in ("trkpt", "wpt", "rtept"):
                rows.append((_figure(element.get("lat")), _figure(element.get("lon")), depth))
                element.clear()
            elif tag in ("trkseg", "rte"):
                element.clear()
    except DefusedXmlException:
        raise InputError(
            f"{name} declares document types or entities, which no GPX needs: refused"
        ) from None
    except ParseError as error:
        line, column = error.position
        raise InputError(
            f"{name}, line {line}, column {column}: broken XML; expected a whole GPX file"
        ) from None
    data = np.array(rows, float).reshape(-1, 3)
    if not data.size or not np.isfinite(data[:, 2]).any():
        raise InputError(
            f"{name} holds {len(data):,} points and no depth on any; expected a depth in each "
            "point's extensions"
        )
    unit = how.unit or "m"
    down = -1.0 if how.down is False else 1.0
    return Log(
        name, data[:, 0], data[:, 1], data[:, 2] * UNITS[unit] * down, np.arange(1, len(data) + 1)
    )


def _figure(text: str | None) -> float:
    try:
        return float(text) if text is not None else math.nan
    except ValueError:
        return math.nan
